//! What testers show, by prediction, against tables worked by hand.
//!
//! Devices fitted, standard circuit, travelers straight (connectivity by hand; that the idle traveler is held at the
//! neutral through the lamp while the light is off, and floats while it is on, follows from the lamp's filament).

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::call::{Ask, Instrument, InstrumentKind, LampState};
use lath::files::{self, packs};
use lath::house::{DeviceId, DeviceKind, EndId, House, LocalPoint, Point, WireId};
use lath::predict::{Scene, Setup, Tester, answer};
use lath::wiring::{DarkDevice, Facts, Fault, Walls};

const LIT: usize = 0;
const DARK: usize = 3;
const NONE: usize = 0;
const GHOST: usize = 1;
const LINE: usize = 3;

fn house() -> House {
    let text = "
lath: 1
house: {region: us, supply: 120, feeds: [{name: \"1\"}]}
boxes:
  - name: s0
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, red, white]}]
    devices: [{name: switch, kind: three-way}]
    joints: [[a.black, switch.common], [b.black, switch.t1], [b.red, switch.t2], [a.white, b.white]]
  - name: s1
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, red, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: switch, kind: three-way}]
    joints: [[a.black, switch.t1], [a.red, switch.t2], [b.black, switch.common], [a.white, b.white]]
  - {name: l, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]}
";
    files::parse_str("table", text).unwrap().call.house
}

/// Line 0, neutral 1 (in s0's cable from the panel), travelers 2 and 3, neutral 4 between, load 5, neutral 6 on.
fn walls(lamp: [u8; 2], groups: u8) -> Walls {
    let dark = DarkDevice { device: DeviceId(2), kind: DeviceKind::Light, groups: lamp.to_vec() };
    Walls {
        wires: vec![0, 1, 2, 3, 4, 2, 3, 4, 5, 6],
        line: 0,
        neutral: 1,
        devices: vec![dark],
        groups,
        ..Walls::default()
    }
}

fn tester(kind: InstrumentKind) -> Tester {
    let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
    Tester::new(plain, &packs::embedded().unwrap().instruments)
}

/// The bin of volts from a wire to earth.
fn bin(walls: &Walls, setup: &Setup, thrown: u32, wire: (u8, u8), kind: InstrumentKind) -> usize {
    bin_in(&house(), walls, setup, thrown, wire, kind)
}

fn bin_in(
    house: &House,
    walls: &Walls,
    setup: &Setup,
    thrown: u32,
    wire: (u8, u8),
    kind: InstrumentKind,
) -> usize {
    let facts = Facts::new(house);
    let scene = Scene::new(house, &facts);
    let point = Point::At(LocalPoint::Wire(WireId { end: EndId(wire.0), wire: wire.1 }));
    let bins =
        answer(&scene, walls, setup, thrown, &Ask::Volts(vec![(point, Point::Earth)]), tester(kind))[0];
    (0..5).max_by(|&a, &b| bins[a].total_cmp(&bins[b])).unwrap()
}

fn on(lamp: LampState) -> Setup {
    Setup { power: lath::predict::ALL_ON, lamps: vec![lamp], ..Setup::default() }
}

const FEED: (u8, u8) = (0, 0);
const T1: (u8, u8) = (1, 0);
const T2: (u8, u8) = (1, 1);
const LOAD: (u8, u8) = (3, 0);

#[test]
fn devices_fitted_on_a_low_impedance_meter() {
    use InstrumentKind::LowImpedance as Low;
    // s0 and s1 as thrown (0 is T1): line, T1, T2, load.
    let lit = [(0b00, [LINE, LINE, NONE, LINE]), (0b11, [LINE, NONE, LINE, LINE])];
    let off = [(0b10, [LINE, LINE, NONE, NONE]), (0b01, [LINE, NONE, LINE, NONE])];
    for (thrown, expected) in lit.into_iter().chain(off) {
        for lamp in [LampState::In, LampState::Out] {
            let found = [FEED, T1, T2, LOAD].map(|wire| bin(&walls([5, 6], 7), &on(lamp), thrown, wire, Low));
            assert_eq!(found, expected, "{thrown:02b}");
        }
    }
}

#[test]
fn the_idle_traveler_is_held_when_off_and_floats_when_on() {
    use InstrumentKind::HighImpedance as High;
    let walls = walls([5, 6], 7);
    assert_eq!(bin(&walls, &on(LampState::In), 0b10, T2, High), NONE, "off, lamp in: held through the lamp");
    assert_eq!(bin(&walls, &on(LampState::In), 0b00, T2, High), GHOST, "on: floats beside a live traveler");
    assert_eq!(bin(&walls, &on(LampState::Out), 0b10, T2, High), GHOST, "off, lamp out: floats");
    assert_eq!(bin(&walls, &on(LampState::Out), 0b10, LOAD, High), GHOST, "so does the load");
}

/// 119.4 of 120 V behind a cold 60 W filament on 3 kilohms (voltage divider, V²/P hot and a thirteenth of it cold).
#[test]
fn a_lost_neutral_reads_line_through_the_lamp() {
    use InstrumentKind::LowImpedance as Low;
    // The lamp's neutral side is a group of its own that the white at s1 reaches, and the splice there is lifted.
    let walls = walls([5, 6], 7);
    let lost = Setup { lifted: vec![9], ..on(LampState::In) };
    assert_eq!(bin(&walls, &lost, 0b00, (3, 1), Low), LINE, "light on");
    assert_eq!(
        bin(&walls, &Setup { lifted: vec![9], ..on(LampState::Out) }, 0b00, (3, 1), Low),
        NONE,
        "lamp out"
    );
}

/// A lamp that is burnt out stays dark where another one lights; at a light that is off by itself no lamp does. (Two
/// positions of four light a healthy pair of three-ways; common practice, no source: a known good lamp is tried first.)
#[test]
fn a_test_lamp_lights_where_the_lamp_is_out() {
    let house = house();
    let facts = Facts::new(&house);
    let scene = Scene::new(&house, &facts);
    let light = DeviceId(2);
    let watched = |fault: Option<Fault>, lamp: LampState| {
        let walls = Walls { faults: fault.into_iter().collect(), ..walls([5, 6], 7) };
        [0b00, 0b01, 0b10, 0b11].map(|thrown| {
            let ask = Ask::Watch(vec![light]);
            let bins = answer(&scene, &walls, &on(lamp), thrown, &ask, tester(InstrumentKind::TestLamp))[0];
            (0..5).max_by(|&a, &b| bins[a].total_cmp(&bins[b])).unwrap()
        })
    };
    let healthy = [LIT, DARK, DARK, LIT];
    for (fault, own, other) in [
        (None, healthy, healthy),
        (Some(Fault::LampOut(light)), [DARK; 4], healthy),
        (Some(Fault::LightOff(light)), [DARK; 4], [DARK; 4]),
    ] {
        assert_eq!(watched(fault, LampState::In), own, "{fault:?}");
        assert_eq!(watched(fault, LampState::Test), other, "{fault:?}");
    }
}

/// The feed reversed: what breaks the circuit is in the neutral, and everything mirrors.
#[test]
fn the_switches_in_the_neutral() {
    use InstrumentKind::{HighImpedance as High, LowImpedance as Low};
    // The cable from the panel brings neutral on its first wire and line on its second, which goes on to the lamp.
    let walls = Walls { line: 1, neutral: 0, ..walls([5, 6], 7) };
    for kind in [Low, High] {
        // Off: the load and the idle traveler are at the supply through the lamp; the live traveler of old is neutral.
        let off = [FEED, T1, T2, LOAD].map(|wire| bin(&walls, &on(LampState::In), 0b10, wire, kind));
        assert_eq!(off, [NONE, NONE, LINE, LINE], "{kind:?}");
    }
    let lit = [FEED, T1, LOAD, (3, 1)].map(|wire| bin(&walls, &on(LampState::In), 0b00, wire, Low));
    assert_eq!(
        lit,
        [NONE, NONE, NONE, LINE],
        "on: the load is the neutral itself, the lamp's other wire line"
    );
    assert_eq!(bin(&walls, &on(LampState::In), 0b00, T2, High), GHOST, "on: the idle traveler floats");
    let out = on(LampState::Out);
    assert_eq!(bin(&walls, &out, 0b10, LOAD, Low), NONE, "lamp out: nothing is left to bring the supply");
}

/// Two switches whose plain screws have two wires common to both, and a third wire at each common.
fn odd_house() -> House {
    let one = |name: &str| {
        format!(
            "  - name: {name}
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [w1]}}]
    devices: [{{name: switch, kind: three-way}}]
    joints: [[b.w1, switch.common], [a.black, switch.t1], [a.white, switch.t2]]
"
        )
    };
    let text = format!(
        "lath: 1\nhouse: {{region: us, supply: 120, feeds: [{{name: \"1\"}}]}}\nboxes:\n{}{}  \
         - {{name: l, kind: light, opened: false, devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]}}\n",
        one("s0"),
        one("s1")
    );
    files::parse_str("table", &text).unwrap().call.house
}

/// The common's wire at each switch, for UU, UD, DU and DD (the first switch is the first bit).
fn at_the_commons(walls: &Walls, lamp: LampState, kind: InstrumentKind) -> [[usize; 2]; 4] {
    let house = odd_house();
    [0b00, 0b10, 0b01, 0b11]
        .map(|thrown| [(1, 0), (3, 0)].map(|wire| bin_in(&house, walls, &on(lamp), thrown, wire, kind)))
}

#[test]
fn the_lamp_between_the_commons_hard_live_or_hard_neutral_with_or_without_the_lamp() {
    // Line 0 on the first screws, neutral 1 on the second, a wire of the lamp (2, 3) on each common.
    let dark = DarkDevice { device: DeviceId(2), kind: DeviceKind::Light, groups: vec![2, 3] };
    let walls = Walls {
        wires: vec![0, 1, 2, 0, 1, 3],
        line: 0,
        neutral: 1,
        devices: vec![dark],
        groups: 4,
        ..Walls::default()
    };
    let expected = [[LINE, LINE], [LINE, NONE], [NONE, LINE], [NONE, NONE]];
    for lamp in [LampState::In, LampState::Out] {
        for kind in [InstrumentKind::LowImpedance, InstrumentKind::HighImpedance] {
            assert_eq!(at_the_commons(&walls, lamp, kind), expected, "{lamp:?} {kind:?}");
        }
    }
}

#[test]
fn the_commons_joined_held_through_the_lamp_when_off() {
    use InstrumentKind::{HighImpedance as High, LowImpedance as Low};
    // Line 0 on the first screws, load 1 on the second, the tie 2 between the commons, neutral 3 at the lamp alone.
    let dark = DarkDevice { device: DeviceId(2), kind: DeviceKind::Light, groups: vec![1, 3] };
    let walls = Walls {
        wires: vec![0, 1, 2, 0, 1, 2],
        line: 0,
        neutral: 3,
        devices: vec![dark],
        groups: 4,
        ..Walls::default()
    };
    let tie = [LINE, LINE, LINE, NONE];
    for lamp in [LampState::In, LampState::Out] {
        let found = at_the_commons(&walls, lamp, Low);
        assert_eq!(found.map(|[one, _]| one), tie, "{lamp:?}");
        assert_eq!(found.map(|[_, other]| other), tie, "the tie is one wire");
    }
    assert_eq!(at_the_commons(&walls, LampState::In, High)[3], [NONE, NONE], "off, both down: held");
    let house = odd_house();
    let load = |lamp, kind| {
        [0b00, 0b10, 0b01, 0b11].map(|thrown| bin_in(&house, &walls, &on(lamp), thrown, (0, 1), kind))
    };
    assert_eq!(load(LampState::In, High), [NONE, LINE, LINE, NONE], "the load: held when off");
    assert_eq!(load(LampState::Out, Low), [NONE, LINE, LINE, NONE], "and without the lamp");
    assert_eq!(load(LampState::Out, High)[0], GHOST, "where it floats beside the line");
}

/// What hangs beyond a cable that goes on is a load of its own: none, a small one or a large one, as likely each. With the
/// cable's line lifted off the feed's it is all that ohms between the cable's two wires meet.
#[test]
fn what_hangs_beyond_is_met_there_and_nowhere_else() {
    let house = house();
    let (facts, setup) = (Facts::new(&house), Setup { lamps: vec![LampState::Out], ..Setup::default() });
    let scene = Scene::new(&house, &facts);
    let wire = |end, wire| Point::At(LocalPoint::Wire(WireId { end: EndId(end), wire }));
    let ohms = |walls: &Walls, setup: &Setup, pair| {
        answer(&scene, walls, setup, 0b10, &Ask::Ohms(vec![pair]), tester(InstrumentKind::HighImpedance))[0]
    };
    let near = |found: [f64; 5], expected: [f64; 5]| {
        assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?}");
    };
    // s1's second cable goes on, with line and neutral on it.
    let walls = Walls { onward: vec![[5, 6]], ..walls([7, 8], 9) };
    let beyond = (wire(3, 0), wire(3, 1));
    near(ohms(&walls, &setup, beyond), [0.0, 0.0, 2.0 / 3.0, 1.0 / 3.0, 0.0]);
    near(ohms(&Walls { onward: Vec::new(), ..walls.clone() }, &setup, beyond), [0.0, 0.0, 0.0, 1.0, 0.0]);
}
