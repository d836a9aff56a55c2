//! What testers show, by prediction, against tables worked by hand; and what must not be made of a reading.
//!
//! Devices fitted, standard circuit, travelers straight (connectivity by hand; that the idle traveler is held at the
//! neutral through the lamp while the light is off, and floats while it is on, follows from the lamp's filament).

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::call::{Ask, Instrument, InstrumentKind, LampState};
use lath::files::{self, packs};
use lath::house::{DeviceId, DeviceKind, EndId, House, LocalPoint, Point, WireId};
use lath::predict::{Scene, Setup, Tester, answer};
use lath::verdict::{self, Role, SETTLED, Verdict};
use lath::wiring::{DarkDevice, Facts, Options, Walls};

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
    Walls { wires: vec![0, 1, 2, 3, 4, 2, 3, 4, 5, 6], line: 0, neutral: 1, devices: vec![dark], groups }
}

fn tester(kind: InstrumentKind) -> Tester {
    let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
    Tester::new(plain, &packs::embedded().unwrap().instruments)
}

/// The bin of volts from a wire to earth.
fn bin(walls: &Walls, setup: &Setup, thrown: u32, wire: (u8, u8), kind: InstrumentKind) -> usize {
    let house = house();
    let facts = Facts::new(&house);
    let scene = Scene::new(&house, &facts);
    let point = Point::At(LocalPoint::Wire(WireId { end: EndId(wire.0), wire: wire.1 }));
    let bins =
        answer(&scene, walls, setup, thrown, &Ask::Volts(vec![(point, Point::Earth)]), tester(kind))[0];
    (0..5).max_by(|&a, &b| bins[a].total_cmp(&bins[b])).unwrap()
}

fn on(lamp: LampState) -> Setup {
    Setup { power: true, lamps: vec![lamp], ..Setup::default() }
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

fn reached(text: &str) -> Verdict {
    let call = files::parse_str("call", text).unwrap().call;
    verdict::reach(&call, &packs::embedded().unwrap(), Options::default())
}

fn example(name: &str) -> String {
    std::fs::read_to_string(format!("{}/examples/{name}.yaml", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// A call with more readings put before its proofs.
fn with(text: &str, readings: &str) -> String {
    let at = text.find("\nproofs:").unwrap();
    format!("{}\n{readings}{}", &text[..at], &text[at..])
}

fn role(verdict: &Verdict, wire: &str) -> (Role, bool) {
    let found = verdict.wires.iter().find(|found| found.wire == wire).unwrap();
    (found.role, found.p >= SETTLED)
}

#[test]
fn a_ghost_does_not_make_a_traveler_a_line() {
    let before = example("feed-at-light-two-legs");
    let ghosts = "  - {do: volts, at: front hall, points: [a.black, a.red], to: earth, with: high-impedance, breaker: on,\n     \
                  switches: {front hall: up, bedroom passage: up}, lamp: out,\n     \
                  out: [front hall/switch, bedroom passage/switch], lifted: [], reads: [88, 43]}\n";
    let verdict = reached(&with(&before, ghosts));
    for wire in ["front hall/a.black", "front hall/a.red"] {
        assert_eq!(role(&verdict, wire), (Role::Traveler, true));
    }
    assert!(verdict.disbelieved.is_empty());
}

#[test]
fn volts_through_a_lamp_do_not_make_a_feed() {
    let text = "
lath: 1
call: {goal: identify}
house: {region: us, supply: 120, feeds: [{name: \"3\"}]}
instruments: [high-impedance, low-impedance]
boxes:
  - name: porch
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: []
    apart: true
  - {name: porch light, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]}
readings:
  - {do: volts, at: porch, points: [a.black, a.white, b.black, b.white], to: earth, with: low-impedance, breaker: on,
     switches: {porch: up}, lamp: out, out: [porch/switch], lifted: [], reads: [120, 0, 0.1, 0.1]}
  - {do: ohms, at: porch, between: [a.white, earth], breaker: off, with: high-impedance,
     switches: {porch: up}, lamp: out, out: [porch/switch], lifted: [], reads: 0.3}
  - {do: volts, at: porch, between: [a.black, b.black], with: low-impedance, breaker: on,
     switches: {porch: up}, lamp: in, out: [porch/switch], lifted: [], reads: 0.1}
  - {do: ohms, at: porch, between: [b.black, b.white], breaker: off, with: high-impedance,
     switches: {porch: up}, lamp: in, out: [porch/switch], lifted: [], reads: 16}
proofs: []
";
    let verdict = reached(text);
    assert_eq!(role(&verdict, "porch/a.black"), (Role::Line, true));
    for wire in ["porch/b.black", "porch/b.white"] {
        assert_ne!(role(&verdict, wire).0, Role::Line, "{wire}");
    }
}

#[test]
fn no_volts_prove_no_neutral() {
    let text = example("feed-at-switch");
    let end = text.find("\nreadings:").unwrap();
    let proofs = text.find("\nproofs:").unwrap();
    let only = |readings: &str| format!("{}\nreadings:\n{readings}{}", &text[..end], &text[proofs..]);
    let switches = "switches: {hall: up, upper landing: up}";
    let zero = format!(
        "  - {{do: volts, at: hall, between: [a.white, earth], with: low-impedance, breaker: on, {switches}, lamp: out,\n     \
         out: [], lifted: [], reads: 0}}\n"
    );
    let proven = |text: &str| {
        let verdict = reached(text);
        verdict
            .boxes
            .iter()
            .find(|roles| roles.at == "hall")
            .and_then(|roles| roles.neutral.as_ref())
            .map(|n| n.proven)
    };
    assert_eq!(proven(&only(&zero)), Some(false));
    let ohms = format!(
        "  - {{do: ohms, at: hall, points: [a.white, b.white], to: earth, with: high-impedance, breaker: off, {switches},\n     \
         lamp: out, out: [hall/switch, upper landing/switch], lifted: [], reads: [0.3, 0.3]}}\n"
    );
    assert_eq!(proven(&only(&(zero + &ohms))), Some(true));
    // Through a jumper to earth anything reads closed.
    let bridged = ohms.replace("lifted: []", "lifted: [], jumpers: [[a.white, earth]]");
    assert_eq!(proven(&only(&bridged)), Some(false));
}
