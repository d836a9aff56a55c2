//! Jobs that are right, and what they mean.

use crate::bench::{Bench, STAIR, changed};
use lath::call::{Ask, InstrumentKind, LampState, Level, Ohms, Seen, Source, Volts, Watch};
use lath::files::{Loaded, parse_str};
use lath::house::{Apart, BoxId, DeviceKind, Goal, LocalPoint, Terminal};

fn load(text: &str) -> Loaded {
    parse_str("job.yaml", text).unwrap_or_else(|failure| panic!("{failure}"))
}

/// The answer to one more reading at the hall box of the example.
fn answered(reading: &str) -> Vec<Seen> {
    let text = changed("readings:\n", &format!("readings:\n  - {reading}\n"));
    load(&text).call.readings[0].seen.clone()
}

#[test]
fn the_example_is_good() {
    let ended = Bench::new().check(STAIR.as_bytes());
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    assert_eq!(ended.out, "job.yaml: ok: 3 boxes (2 opened), 3 cable ends, 3 devices, 5 readings\n");
}

#[test]
fn what_is_not_said_is_told() {
    let ended = Bench::new().check(STAIR.as_bytes());
    let notes: Vec<&str> = ended.err.lines().collect();
    assert_eq!(notes.len(), 3, "{}", ended.err);
    assert!(
        notes[0].starts_with("job.yaml:50: note: readings[0]: not said: the lamp of stair ceiling/light;")
    );
    assert!(notes[1].contains("the position of upper landing/switch, the lamp of stair ceiling/light;"));
    assert!(!notes[1].contains("hall/switch"), "a switch that is out has no position to be known");
    assert!(!notes[1].contains("breaker"), "ohms are dead unless said otherwise");
    assert!(notes.iter().all(|note| note.ends_with("unknown and weighed over")));
}

#[test]
fn the_example_means_what_it_says() {
    let call = load(STAIR).call;
    let house = &call.house;
    assert_eq!(call.goal, Goal::Identify);
    assert!(call.complaint);
    assert_eq!(call.worked_before, Some(true));
    assert_eq!((house.supply, house.built, house.feeds[0].name.as_str()), (120.0, Some(1948), "7"));
    let hall = house.outlet(BoxId(0));
    let joints: Vec<Vec<String>> = hall
        .joints
        .iter()
        .map(|joint| joint.points.iter().map(|&point| house.local_name(point)).collect())
        .collect();
    let expected = [
        ["a.black", "switch.common"],
        ["b.black", "switch.t1"],
        ["b.red", "switch.t2"],
        ["a.white", "b.white"],
    ];
    assert_eq!(joints, expected);
    assert!(!house.outlet(BoxId(2)).opened);

    let [lit, volts, several, ohms, amps] = call.readings.as_slice() else { panic!("five readings") };
    assert_eq!((lit.by, lit.seen.as_slice()), (Source::Customer, &[Seen::Bin(Watch::Lit as u8)][..]));
    assert_eq!(lit.conditions.positions, [Some(false), Some(false)]);
    assert_eq!(lit.conditions.lamps, [None]);
    assert_eq!(volts.with.unwrap().ohms, Some(3000.0), "the instrument owned");
    assert_eq!(volts.conditions.positions, [Some(false), Some(true)]);
    assert_eq!(volts.conditions.lamps, [Some(LampState::In)]);
    let Ask::Volts(pairs) = &several.ask else { panic!("{several:?}") };
    let names: Vec<String> = pairs.iter().map(|&(from, _)| house.point_name(from)).collect();
    assert_eq!(names, ["hall/a.white", "hall/b.red", "hall/b.white"]);
    assert_eq!(several.conditions.out.len(), 1);
    assert_eq!(ohms.with.unwrap().kind, InstrumentKind::HighImpedance);
    assert_eq!(ohms.conditions.breakers, [Some(false)]);
    assert!(matches!(amps.ask, Ask::AmpsCable(_)));
    assert_eq!(amps.with.unwrap().resolves, Some(0.1));
}

#[test]
fn answers_in_every_form() {
    let volts = |reads: &str| {
        answered(&format!("{{do: volts, at: hall, between: [a.black, earth], reads: {reads}}}"))
    };
    assert_eq!(volts("119.5"), [Seen::Number { value: 119.5, spread: 0.0 }]);
    assert_eq!(volts("\"110-120\""), [Seen::Number { value: 115.0, spread: 5.0 }]);
    assert_eq!(volts("110 – 120"), [Seen::Number { value: 115.0, spread: 5.0 }]);
    assert_eq!(volts("about 60"), [Seen::Number { value: 60.0, spread: 6.0 }]);
    assert_eq!(volts("ghost"), [Seen::Bin(Volts::Ghost as u8)]);
    assert_eq!(volts("trips"), [Seen::Trips]);
    assert_eq!(volts("silent"), [Seen::Alarm(false)]);
    let ohms =
        |reads: &str| answered(&format!("{{do: ohms, at: hall, between: [a.black, b.red], reads: {reads}}}"));
    assert_eq!(ohms("OL"), [Seen::Overload]);
    assert_eq!(ohms("open"), [Seen::Bin(Ohms::Open as u8)]);
    assert_eq!(ohms("beep"), [Seen::Beep(true)]);
    let load = "{do: load, at: hall, points: [a.black, b.red], to: a.white, reads: [bright, dim]}";
    assert_eq!(answered(load), [Seen::Bin(Level::Bright as u8), Seen::Bin(Level::Dim as u8)]);
    assert_eq!(answered("{do: amps, at: hall, around: a.black, reads: some}"), [Seen::Bin(1)]);
    assert_eq!(answered("{do: watch, reads: {stair ceiling: glow}}"), [Seen::Bin(Watch::Glow as u8)]);
    assert_eq!(
        answered("{do: volts, at: hall, points: [a.black], with: non-contact, reads: [alarm]}"),
        [Seen::Alarm(true)]
    );
}

#[test]
fn words_that_another_writer_changed() {
    // A YAML 1.1 writer turns on and off into truth values, and the circuit's name into a number.
    let text = STAIR.replace("breaker: on", "breaker: true").replace("breaker: off", "breaker: false");
    let text =
        text.replace("{name: \"7\"", "{name: 7").replace("two-pole, on: kitchen", "two-pole, true: kitchen");
    let text = text.replace(
        "breaker: true, switches: {hall: up, upper landing: up}, reads: 0",
        "breaker: {7: true}, reads: 0",
    );
    let loaded = load(&text);
    assert_eq!(loaded.call.house.feeds[0].name, "7");
    assert_eq!(loaded.call.readings[0].conditions.breakers, [Some(true)]);
    assert_eq!(loaded.call.readings[4].conditions.breakers, [Some(true)]);
    assert_eq!(loaded.job.proofs.unwrap()[0].on.as_deref(), Some("kitchen receptacle"));
}

#[test]
fn a_number_as_a_name_keeps_its_figures() {
    let text = changed("licence: \"E-1044\"", "licence: 1.10").replace("code: NEC 2020 ", "code: 2020.10 ");
    let head = load(&text).job.call.unwrap();
    assert_eq!((head.licence.as_deref(), head.code.as_deref()), (Some("1.10"), Some("2020.10")));
}

#[test]
fn what_one_is_not_sure_of() {
    let text = changed("- [b.red, switch.t2]", "- {points: [b.red, switch.t2], sure: false}")
        .replace("{tag: b, sheath", "{tag: b, sure: false, sheath")
        .replace("complete: true ", "complete: false ")
        .replace("    apart: []", "    doubled: []\n    apart: []");
    let house = load(&text).call.house;
    let hall = house.outlet(BoxId(0));
    assert_eq!(hall.joints.iter().map(|joint| joint.sure).collect::<Vec<_>>(), [true, true, false, true]);
    assert!(!house.end(hall.ends[1]).sure);
    assert!(!hall.complete);
}

#[test]
fn unmarked_screws_are_numbered() {
    let text = changed(
        "devices: [{name: switch, kind: three-way}],\n     joints: [[a.black, switch.t1], [a.red, switch.common], [a.white, switch.t2]]",
        "devices: [{name: switch, kind: three-way, screws: unmarked}],\n     joints: [[a.black, switch.x1], [a.red, switch.x2], [a.white, switch.x3]]",
    );
    let house = load(&text).call.house;
    let landing = house.outlet(BoxId(1));
    let screws = landing.joints.iter().map(|joint| joint.points[1]).collect::<Vec<_>>();
    let device = landing.devices[0];
    let expected = [1, 2, 3].map(|n| LocalPoint::Terminal(device, Terminal::X(n)));
    assert_eq!(screws, expected);
}

#[test]
fn metal_may_stand_in_a_joint() {
    let house = load(&changed("- [a.white, b.white]", "- [a.white, b.white, metal]")).call.house;
    assert_eq!(house.outlet(BoxId(0)).joints[3].points[2], LocalPoint::Metal(BoxId(0)));
}

#[test]
fn two_wires_under_one_screw() {
    let text = changed("- [a.black, switch.common]", "- [a.black, b.black, switch.common]")
        .replace("      - [b.black, switch.t1]\n", "")
        .replace("    apart: []", "    doubled: [switch.common]\n    apart: []");
    let house = load(&text).call.house;
    let hall = house.outlet(BoxId(0));
    assert_eq!(hall.doubled, [(hall.devices[0], Terminal::Common)]);
}

#[test]
fn taken_apart_wholly_or_in_part() {
    let loose = |apart: &str| {
        let text =
            changed("      - [b.red, switch.t2]\n", "").replace("apart: [] ", &format!("apart: {apart} "));
        let house = load(&text).call.house;
        match house.outlet(BoxId(0)).apart.clone() {
            Apart::Points(points) => points.iter().map(|&point| house.local_name(point)).collect(),
            other => vec![format!("{other:?}")],
        }
    };
    assert_eq!(loose("[b.red, switch.t2]"), ["b.red", "switch.t2"]);
    assert_eq!(loose("true"), ["b.red", "switch.t2"], "what is joined was found joined");
    assert_eq!(loose("false"), ["No"]);
    let bare = "lath: 1\nboxes: [{name: hall, kind: switch, opened: true, apart: true, cables: [{tag: a, wires: [w1]}]}]\n";
    assert_eq!(load(bare).call.house.outlet(BoxId(0)).apart, Apart::All);
}

#[test]
fn a_box_seen_from_outside_has_what_can_be_seen() {
    let text = "lath: 1\nboxes:\n  - {name: hall, kind: switch}\n  - {name: ceiling, kind: light}\n  - {name: attic, kind: junction}\n\
                readings:\n  - {do: watch, breaker: on, switches: {hall: up}, lamp: in, reads: lit}\n";
    let call = load(text).call;
    let kinds: Vec<DeviceKind> = call.house.devices.iter().map(|device| device.kind).collect();
    assert_eq!(kinds, [DeviceKind::Switch, DeviceKind::Light]);
    assert_eq!(call.house.feeds.len(), 1);
    assert!(matches!(&call.readings[0].ask, Ask::Watch(lights) if lights.len() == 1));
}

#[test]
fn dead_volts_between_boxes_are_a_long_lead() {
    let reading = "{do: volts, at: hall, between: [a.black, upper landing/a.black], breaker: off, reads: 0}";
    assert_eq!(answered(reading).len(), 1);
}

#[test]
fn a_call_that_has_only_begun() {
    let ended = Bench::new().check(b"lath: 1\ncall: {title: Stair light}\nboxes:\nreadings:\n");
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    assert!(ended.err.contains("no box is described yet"), "{}", ended.err);
}

#[test]
fn a_byte_order_mark_says_nothing() {
    let ended = Bench::new().check(format!("\u{feff}{STAIR}").as_bytes());
    assert_eq!(ended.status, Some(0), "{}", ended.err);
}

#[test]
fn line_ends_of_another_system() {
    let ended = Bench::new().check(STAIR.replace('\n', "\r\n").as_bytes());
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    let bad = changed("goal: identify ", "goal: guess ").replace('\n', "\r\n");
    let ended = Bench::new().check(bad.as_bytes());
    assert!(ended.err.starts_with("job.yaml:11: "), "{}", ended.err);
}

#[test]
fn a_slip_of_the_decimal_point_is_asked_about() {
    let ended = Bench::new().check(changed("reads: 119", "reads: 1190").as_bytes());
    assert_eq!(ended.status, Some(0));
    assert!(ended.err.contains("a slip of the decimal point?"), "{}", ended.err);
}
