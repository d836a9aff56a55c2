//! Schemes thrown through every position: those of the packs as wirings and as `lath knowledge check` tries them on plain
//! devices, and others that are wrong in ways the trade knows.
//!
//! Patterns: the two-switch stair circuit of Hawkins Electrical Guide vol. 4 (1917) lights in two of four positions. All
//! others are counted by hand as closed paths from line to neutral (the trade's connectivity tables, common practice, no
//! source): k sound switches light in half of 2^k positions; with the lamp between the commons one dark position has both
//! its contacts live and the other neither; a common misplaced lights once in four where the line is on one common, three
//! times where the commons are joined, and trips twice where the lamp is between them.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::expect_used,
    reason = "a helper of tests may fail as a test does"
)]

use lath::call::LampState;
use lath::files::{self, packs, yaml};
use lath::house::{House, Terminal};
use lath::practice::proof::{Control, Proof, Shown};
use lath::predict::{Scene, Setup, watch};
use lath::wiring::{Facts, Options, Space};
use std::fmt::Write;

/// The schemes of whose patterns something is known here. Others may stand beside them.
const KNOWN: [&str; 8] = [
    "single-pole",
    "both-poles",
    "one-pole-of-two",
    "switched-neutral",
    "conventional",
    "commons-joined",
    "lamp-between-commons",
    "two-feeds",
];

/// A house in which nobody has opened anything: so many three-ways with four-ways between them, and a light.
fn unopened(switches: usize) -> House {
    let mut job = "lath: 1\nhouse: {region: us, supply: 120, feeds: [{name: \"1\"}]}\nboxes:\n".to_owned();
    for switch in 0..switches {
        let kind = match (switches, switch) {
            (1, _) => "single-pole",
            (_, at) if at == 0 || at + 1 == switches => "three-way",
            _ => "four-way",
        };
        writeln!(
            job,
            "  - {{name: s{switch}, kind: switch, opened: false, devices: [{{name: switch, kind: {kind}}}]}}"
        )
        .unwrap();
    }
    job.push_str("  - {name: l, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent}]}\n");
    files::parse_str("unopened", &job).unwrap().call.house
}

/// For each scheme that fits, whether the light is lit at each way the switches are thrown; `None` where it trips.
fn lit(switches: usize) -> Vec<(String, Vec<Option<bool>>)> {
    let house = unopened(switches);
    let knowledge = packs::embedded().unwrap();
    let space = Space::new(&house, &knowledge, Options { buried: 0 });
    let facts = Facts::new(&house);
    let scene = Scene::new(&house, &facts);
    let opened =
        scene.opened(&Setup { power: lath::predict::ALL_ON, lamps: vec![LampState::In], ..Setup::default() });
    let mut patterns = Vec::new();
    for row in &space.rows {
        let pattern = (0..1u32 << switches)
            .map(|thrown| {
                let bins = watch(&scene, &row.walls, &opened, thrown)[0];
                (bins[4] == 0.0).then_some(bins[0] > 0.5)
            })
            .collect();
        patterns.push((space.netlists[row.wirings[0].netlist].scheme.clone(), pattern));
    }
    patterns
}

#[test]
fn every_switch_changes_the_light_in_every_position() {
    for switches in 1..=4 {
        let patterns = lit(switches);
        assert!(!patterns.is_empty(), "{switches} switches: no scheme");
        for (scheme, pattern) in patterns.into_iter().filter(|(scheme, _)| KNOWN.contains(&scheme.as_str())) {
            let lit: Vec<bool> = pattern.into_iter().map(|lit| lit.expect("it trips")).collect();
            assert_eq!(lit.iter().filter(|lit| **lit).count(), 1 << (switches - 1), "{scheme}");
            for thrown in 0..lit.len() {
                for switch in 0..switches {
                    assert_ne!(lit[thrown], lit[thrown ^ (1 << switch)], "{scheme}, {switches} switches");
                }
            }
        }
    }
}

#[test]
fn two_three_ways_have_three_schemes_at_least() {
    let schemes: Vec<String> = lit(2).into_iter().map(|(scheme, _)| scheme).collect();
    for scheme in ["commons-joined", "conventional", "lamp-between-commons"] {
        assert!(schemes.iter().any(|found| found == scheme), "{scheme}");
    }
}

fn shipped(scheme: &str) -> &'static str {
    let name = format!("schemes/{scheme}.yaml");
    packs::all().into_iter().find(|(file, ..)| *file == name).unwrap().2
}

/// What a scheme is shown to do, or all that is wrong with it.
fn checked(text: &str) -> Result<Vec<Proof>, String> {
    let name = text.lines().next().unwrap().trim_start_matches("scheme: ");
    let wrong =
        |wrong: Vec<files::Complaint>| wrong.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    packs::check(&format!("{name}.yaml"), text).map(|checked| checked.proofs).map_err(wrong)
}

fn proofs(text: &str) -> Vec<Proof> {
    checked(text).unwrap_or_else(|wrong| panic!("{wrong}"))
}

/// How many positions are lit, and how many trip.
fn counts(proof: &Proof) -> (usize, usize, usize) {
    (proof.shown(Shown::Lit).len(), proof.shown(Shown::Trips).len(), proof.throws.len())
}

#[test]
fn the_packs_do_what_the_trade_says() {
    for scheme in KNOWN {
        let all = proofs(shipped(scheme));
        assert!(!all.is_empty(), "{scheme}");
        for proof in all {
            let switches = proof.chain.len();
            assert_eq!(counts(&proof), (1 << (switches - 1), 0, 1 << switches), "{scheme}");
            let always = (0..switches).all(|switch| proof.control(switch) == Control::Always);
            assert!(always, "{scheme}");
            let live = [Terminal::Center, Terminal::Shell].map(|contact| proof.live_when_off(contact));
            if ["lamp-between-commons", "switched-neutral"].contains(&scheme) {
                assert_eq!(live[0].len(), 1, "{live:?}");
                assert_eq!(live[0], live[1]);
            } else {
                assert!(live.iter().all(Vec::is_empty), "{scheme}: {live:?}");
            }
        }
    }
    let lengths: Vec<usize> = proofs(shipped("conventional")).iter().map(|proof| proof.chain.len()).collect();
    assert_eq!(lengths, [2, 3, 4]);
}

/// A chain of two three-ways, or of what stands in their places.
fn scheme(kinds: &str, nets: &str, more: &str) -> String {
    format!(
        "scheme: tried\ntitle: a try\nsentence: It is tried.\nweight: 0.01\n{more}switches:\n  - {{as: one, kinds: [{kinds}]}}\n  \
         - {{as: other, kinds: [{kinds}]}}\nnets:\n{nets}"
    )
}

const THREE_WAYS: &str = "three-way, switch";

#[test]
fn a_misplaced_common_is_told_by_its_count() {
    let once = "  - [feed.line, one.t1]\n  - [one.common, other.t1]\n  - [one.t2, other.t2]\n  \
                - [other.common, light.center]\n  - [feed.neutral, light.shell]\n";
    let thrice = "  - [feed.line, one.common, other.t1]\n  - [one.t2, other.t2, light.center]\n  \
                  - [one.t1, other.common]\n  - [feed.neutral, light.shell]\n";
    for (nets, lit) in [(once, 1), (thrice, 3)] {
        let all = proofs(&scheme(THREE_WAYS, nets, ""));
        assert_eq!(all.iter().map(counts).collect::<Vec<_>>(), [(lit, 0, 4)]);
        assert_eq!([0, 1].map(|switch| all[0].control(switch)), [Control::Sometimes; 2]);
    }
}

#[test]
fn what_trips_must_be_said() {
    let between = "  - [feed.line, one.common, other.t1]\n  - [feed.neutral, one.t2, other.t2]\n  \
                   - [one.t1, light.center]\n  - [other.common, light.shell]\n";
    let across = "  - [feed.line, one.common]\n  - [feed.neutral, other.common]\n  \
                  - [one.t1, other.t1, light.center]\n  - [one.t2, other.t2, light.shell]\n";
    for nets in [between, across] {
        let wrong = checked(&scheme(THREE_WAYS, nets, "")).unwrap_err();
        assert!(wrong.contains("tried.yaml:9: nets: line meets neutral in some position"), "{wrong}");
        assert!(wrong.contains("write a caution that says that it trips"), "{wrong}");
        let mute = checked(&scheme(THREE_WAYS, nets, "caution: An old hazard.\n")).unwrap_err();
        assert!(mute.contains("tried.yaml:5: caution: line meets neutral"), "{mute}");
        let said = "caution: It trips in two positions, and both contacts of the light may be live.\n";
        let all = proofs(&scheme(THREE_WAYS, nets, said));
        assert_eq!(counts(&all[0]).1, 2, "two of four");
    }
}

#[test]
fn what_is_live_when_off_must_be_said() {
    let text = shipped("lamp-between-commons");
    assert!(text.contains("both lamp terminals may be live") && text.contains("may be live on both sides"));
    let mute = text.replace("be live", "be warm");
    let wrong = checked(&mute).unwrap_err();
    for contact in ["center", "shell"] {
        assert!(wrong.contains(&format!("with the light off its {contact} is live")), "{wrong}");
    }
}

#[test]
fn two_single_poles_control_in_some_positions_only() {
    let series = "  - [feed.line, one.s1]\n  - [one.s2, other.s1]\n  - [other.s2, light.center]\n  - [feed.neutral, light.shell]\n";
    let parallel = "  - [feed.line, one.s1, other.s1]\n  - [one.s2, other.s2, light.center]\n  - [feed.neutral, light.shell]\n";
    for (nets, lit) in [(series, 1), (parallel, 3)] {
        let all = proofs(&scheme("single-pole", nets, ""));
        assert_eq!(counts(&all[0]), (lit, 0, 4));
        assert_eq!([0, 1].map(|switch| all[0].control(switch)), [Control::Sometimes; 2]);
    }
}

#[test]
fn four_way_pairs_mixed_are_dead_in_one_of_its_positions() {
    let text = shipped("conventional").replace("in: [a1, a2], out: [b1, b2]", "in: [a1, b1], out: [a2, b2]");
    let mixed = proofs(&text);
    assert_eq!(mixed.iter().map(|proof| counts(proof).0).collect::<Vec<_>>()[..2], [2, 2]);
}

#[test]
fn a_light_that_no_switch_controls_is_refused() {
    let nets = "  - [feed.line, one.common, light.center]\n  - [one.t1, other.t1]\n  - [feed.neutral, light.shell]\n";
    let wrong = checked(&scheme(THREE_WAYS, nets, "")).unwrap_err();
    assert!(
        wrong.contains("tried.yaml:9: nets: no switch controls the light; found \"lit in every position\""),
        "{wrong}"
    );
    let nets = "  - [feed.line, one.common]\n  - [one.t1, light.center]\n  - [feed.neutral, light.shell]\n";
    let wrong = checked(&scheme(THREE_WAYS, nets, "")).unwrap_err();
    assert!(wrong.contains("tried.yaml:7: switches[1]: a switch changes nothing"), "{wrong}");
}

#[test]
fn a_light_that_never_burns_is_refused() {
    // Both poles on the far side of one double-pole switch: it trips when on, and is dark when off.
    let nets = "  - [feed.line, one.a1]\n  - [feed.neutral, one.b1]\n  - [one.a2, light.center]\n  - [one.b2, light.shell]\n";
    let text = scheme("double-pole", nets, "caution: It trips when it is on.\n");
    let wrong = checked(&text.replace("  - {as: other, kinds: [double-pole]}\n", "")).unwrap_err();
    assert!(wrong.contains("nets: the light never burns; found \"lit in no position\""), "{wrong}");
}

#[test]
fn what_cannot_be_so_is_named_with_its_line() {
    let good = shipped("conventional");
    assert!(checked(good).is_ok());
    let more = |n: usize| format!("  - {{as: more{n}, kinds: [three-way]}}\n");
    let many = (0..4).map(more).collect::<String>() + "nets:\n";
    let cases = [
        ("as: first", "as: feed", 8, "switches[0].as: nets could not call it so"),
        ("as: last", "as: first", 10, "switches[2].as: two places are called so"),
        (
            "kinds: [three-way, switch], out",
            "kinds: [switch], out",
            8,
            "no switch of a known kind can stand there",
        ),
        (
            "out: [t1, t2]",
            "out: [t1, s2]",
            8,
            "not every kind there has that screw; found \"s2\"; write common, t1 or t2",
        ),
        ("out: [t1, t2]", "out: [t1]", 9, "the screws of neighbours cannot be tied in pairs"),
        (
            "first.common]",
            "frist.common]",
            12,
            "no place is called so; found \"frist.common\"; write first before the dot",
        ),
        ("first.common]", "first.t1]", 12, "the point is joined twice; found \"first.t1\""),
        ("- [feed.line, first.common]", "- [feed.line]", 12, "one point by itself is joined to nothing"),
        ("light.shell]", "last.t2]", 12, "nets: the light hangs in the air; found \"no light.shell\""),
        ("feed.neutral, ", "feed.neutral, feed.line, ", 14, "two poles of the feed in one net"),
        ("feed.line, ", "light.shell, ", 12, "nets: nothing can flow"),
        ("weight: 0.9", "weight: -1", 6, "weight: the figure cannot be so; found \"-1\""),
        ("scheme: conventional", "scheme: other", 1, "scheme: the file is called otherwise"),
        ("nets:\n", many.as_str(), 8, "switches: the chain has too many places; found \"7\""),
        ("first.common]", "first.q9]", 12, "nets[0]: there is no such screw; found \"q9\""),
        (
            "feed.neutral",
            "other.neutral",
            14,
            "this is no point; found \"other.neutral\"; write feed.line, feed.neutral",
        ),
        ("in: [t1, t2]", "in: [t1, q9]", 10, "there is no such screw; found \"q9\""),
        (
            "weight: 0.9",
            "weight: often",
            6,
            "weight: a number belongs here; found \"often\"; write a plain number",
        ),
        ("weight: 0.9", "weight:", 6, "weight: a number belongs here; found \"nothing\""),
        ("weight: 0.9", "weight: 0.9\nweight: 1", 7, "the same key stands twice; found \"weight\""),
        ("weight: 0.9\n", "", 1, "the field weight is missing; write weight: and its value as well"),
        ("repeat: true", "repeat: 2", 9, "true or false belongs here; found \"2\"; write true or false"),
        ("kinds: [four-way, switch]", "kinds: four-way", 9, "a list belongs here; found \"four-way\""),
        (
            "[four-way, switch]",
            "[four-wax, switch]",
            9,
            "there is no such word; found \"four-wax\"; write four-way",
        ),
        ("scheme: conventional", "lath: 1\nscheme: conventional", 1, "this is a job file and no pack"),
        (
            "repeat: true",
            "repeats: true",
            9,
            "there is no such field; found \"repeats\"; write repeat, or take it out",
        ),
    ];
    for (from, to, line, told) in cases {
        assert!(good.contains(from), "{from}");
        let wrong = packs::check("conventional.yaml", &good.replacen(from, to, 1)).unwrap_err();
        let found = wrong.iter().any(|complaint| complaint.line == line && complaint.what.contains(told));
        assert!(found, "{to}: {wrong:?}");
    }
}

/// A scheme that is nothing but a file is told in the words of its file: two single-pole switches one after the other
/// have no commons and no travelers.
#[test]
fn a_scheme_of_another_form_is_told_in_its_own_words() {
    let series = "  - [feed.line, one.s1]\n  - [one.s2, other.s1]\n  - [other.s2, light.center]\n  - [feed.neutral, light.shell]\n";
    let both = "  - [feed.line, one.a1]\n  - [one.b1, light.center]\n  - [feed.neutral, one.a2]\n  - [one.b2, light.shell]\n";
    let single = scheme("double-pole", both, "").replace("  - {as: other, kinds: [double-pole]}\n", "");
    let outlet = |name: &str, kind: &str, screws: [&str; 2], white: &str| {
        let [from, to] = screws;
        format!(
            "  - name: {name}\n    kind: switch\n    opened: true\n    cables: [{{tag: a, wires: [black, white]}}, \
             {{tag: b, wires: [black, white]}}]\n    devices: [{{name: switch, kind: {kind}}}]\n    joints: \
             [[a.black, switch.{from}], [switch.{to}, b.black], {white}]\n"
        )
    };
    let through = "[a.white, b.white]";
    let two = ["one", "other"].map(|name| outlet(name, "single-pole", ["s1", "s2"], through)).concat();
    let one = outlet("one", "double-pole", ["a1", "b1"], "[a.white, switch.a2], [switch.b2, b.white]");
    for (text, boxes) in [(scheme("single-pole", series, ""), two), (single, one)] {
        let mut knowledge = packs::embedded().unwrap();
        // The one that is shipped says the same of a double-pole switch.
        knowledge.schemes.retain(|scheme| scheme.scheme != "both-poles");
        knowledge.schemes.push(yaml::pack("tried.yaml", &text).unwrap());
        let job = format!(
            "lath: 1\nhouse: {{region: us, supply: 120, feeds: [{{name: \"1\"}}]}}\nboxes:\n{boxes}  - {{name: l, kind: \
             light, opened: false, devices: [{{name: light, kind: light, lamp: incandescent}}]}}\n"
        );
        let call = files::parse_str("series", &job).unwrap().call;
        let found = lath::verdict::reach(&call, &knowledge, Options::default()).arrangement.unwrap();
        assert_eq!(found.scheme, "tried", "{}", found.text);
        assert!(found.text.contains("It is tried."), "{}", found.text);
        assert!(
            !["traveler", "common", "load from there"].iter().any(|word| found.text.contains(word)),
            "{}",
            found.text
        );
    }
}
