//! What must not be made of a reading: ghosts, volts through a lamp, and volts that are none.
//!
//! Common practice: a coupled volt reading proves nothing of a wire; a neutral is proven by a load from a proven line,
//! or by dead ohms, never by the absence of volts.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::files::{self, packs};
use lath::verdict::{self, Role, SETTLED, Verdict};
use lath::wiring::Options;

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

/// A call with these readings in place of its own.
fn only(text: &str, readings: &str) -> String {
    let (readings_at, proofs) = (text.find("\nreadings:").unwrap(), text.find("\nproofs:").unwrap());
    format!("{}\nreadings:\n{readings}{}", &text[..readings_at], &text[proofs..])
}

fn role(verdict: &Verdict, wire: &str) -> (Role, bool) {
    let found = verdict.wires.iter().find(|found| found.wire == wire).unwrap();
    (found.role, found.p >= SETTLED)
}

#[test]
fn a_ghost_on_a_traveler_changes_no_role_and_no_belief() {
    let text = example("feed-at-light-two-legs");
    let before = reached(&text);
    for (black, red) in [(88, 43), (40, 100), (100, 40), (64, 64)] {
        let ghosts = format!(
            "  - {{do: volts, at: front hall, points: [a.black, a.red], to: earth, with: high-impedance, breaker: on,\n     \
             switches: {{front hall: up, bedroom passage: up}}, lamp: out,\n     \
             out: [front hall/switch, bedroom passage/switch], lifted: [], reads: [{black}, {red}]}}\n"
        );
        let after = reached(&with(&text, &ghosts));
        assert!(after.disbelieved.is_empty(), "{black}, {red}");
        assert_eq!(before.wires.len(), after.wires.len());
        for (was, is) in before.wires.iter().zip(&after.wires) {
            assert_eq!((&was.wire, was.role), (&is.wire, is.role), "{black}, {red}");
            assert!(is.p >= was.p - 0.005, "{}: {} became {}", is.wire, was.p, is.p);
        }
        for wire in ["front hall/a.black", "front hall/a.red"] {
            assert_eq!(role(&after, wire), (Role::Traveler, true));
        }
    }
}

/// A porch light with its switch taken apart: which of the two cables goes to the lamp is not known beforehand.
fn porch(readings: &str) -> String {
    format!(
        "
lath: 1
call: {{goal: identify}}
house: {{region: us, supply: 120, feeds: [{{name: \"3\"}}]}}
instruments: [high-impedance, low-impedance]
boxes:
  - name: porch
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [black, white]}}]
    devices: [{{name: switch, kind: single-pole}}]
    joints: []
    apart: true
  - {{name: porch light, kind: light, opened: false, devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]}}
readings:
{readings}proofs: []
"
    )
}

/// One question at the porch, everything capped.
fn at_porch(ask: &str, lamp: &str, more: &str) -> String {
    format!(
        "  - {{{ask}, at: porch, switches: {{porch: up}}, lamp: {lamp}, out: [porch/switch], lifted: [], {more}}}\n"
    )
}

#[test]
fn volts_through_a_lamp_do_not_make_a_feed() {
    let low = "with: low-impedance, breaker: on";
    let dead = "with: high-impedance, breaker: off";
    let all = "do: volts, points: [a.black, a.white, b.black, b.white], to: earth";
    let readings = at_porch(all, "out", &format!("{low}, reads: [120, 0, 0.1, 0.1]"))
        + &at_porch("do: ohms, between: [a.white, earth]", "out", &format!("{dead}, reads: 0.3"))
        + &at_porch("do: volts, between: [a.black, b.black]", "in", &format!("{low}, reads: 0.1"))
        + &at_porch("do: ohms, between: [b.black, b.white]", "in", &format!("{dead}, reads: 16"));
    let verdict = reached(&porch(&readings));
    assert_eq!(role(&verdict, "porch/a.black"), (Role::Line, true));
    for wire in ["porch/b.black", "porch/b.white"] {
        assert_ne!(role(&verdict, wire).0, Role::Line, "{wire}");
    }
}

/// With the lamp's neutral parted at the switch, its white reads the supply through a cold filament on 3 kilohms (119.4
/// of 120 V, a voltage divider), and nothing with the lamp out.
#[test]
fn a_white_live_through_a_lamp_is_no_line() {
    let text = example("feed-at-switch");
    let read = |lamp: &str, hall: &str, volts: &str| {
        format!(
            "  - {{do: volts, at: hall, points: [a.black, b.white], to: earth, with: low-impedance, breaker: on,\n     \
             switches: {{hall: {hall}, upper landing: up}}, lamp: {lamp}, out: [], lifted: [b.white], reads: [120, {volts}]}}\n"
        )
    };
    // The example's light is on with the hall switch down.
    let verdict = reached(&with(&text, &(read("in", "down", "119") + &read("out", "down", "0.1"))));
    assert!(verdict.disbelieved.is_empty());
    assert_eq!(role(&verdict, "hall/a.black"), (Role::Line, true));
    assert_eq!(role(&verdict, "hall/b.white"), (Role::Neutral, true));
    // Nor is it one when nothing else was read: the pair of readings alone keeps it from being called a line.
    let verdict = reached(&only(&text, &(read("in", "down", "119") + &read("out", "down", "0.1"))));
    assert_ne!(role(&verdict, "hall/b.white").0, Role::Line);
}

const SWITCHES: &str = "switches: {hall: up, upper landing: up}";

/// Whether the neutral at the hall is proven by these readings alone.
fn proven(readings: &str) -> bool {
    let verdict = reached(&only(&example("feed-at-switch"), readings));
    let hall = verdict.boxes.iter().find(|roles| roles.at == "hall").unwrap();
    hall.neutral.as_ref().is_some_and(|neutral| neutral.proven)
}

fn volts(point: &str, lamp: &str, switches: &str, reads: &str) -> String {
    format!(
        "  - {{do: volts, at: hall, between: [{point}, earth], with: low-impedance, breaker: on, {switches}, lamp: {lamp},\n     \
         out: [], lifted: [], reads: {reads}}}\n"
    )
}

fn ohms(switches: &str, out: &str, reads: &str) -> String {
    format!(
        "  - {{do: ohms, at: hall, between: [a.white, earth], with: high-impedance, breaker: off, {switches}, lamp: out,\n     \
         out: {out}, lifted: [], reads: {reads}}}\n"
    )
}

fn load(from: &str, lamp: &str, reads: &str) -> String {
    format!(
        "  - {{do: load, at: hall, between: [{from}, a.white], with: test-lamp, breaker: on, {SWITCHES}, lamp: {lamp},\n     \
         out: [], lifted: [], reads: {reads}}}\n"
    )
}

const ALL: [&str; 4] = [
    SWITCHES,
    "switches: {hall: up, upper landing: down}",
    "switches: {hall: down, upper landing: up}",
    "switches: {hall: down, upper landing: down}",
];

#[test]
fn no_volts_prove_no_neutral() {
    let zeros: String = ["in", "out"]
        .iter()
        .flat_map(|lamp| ALL.iter().map(|switches| volts("a.white", lamp, switches, "0")))
        .collect();
    assert!(!proven(&zeros), "0 V in every position, lamp in and out");
    let from_line = zeros.clone()
        + &format!(
            "  - {{do: volts, at: hall, between: [a.black, a.white], with: low-impedance, breaker: on, {SWITCHES},\n     \
             lamp: in, out: [], lifted: [], reads: 119}}\n"
        );
    assert!(!proven(&from_line), "nor 119 V from line with a lamp in");
}

#[test]
fn dead_ohms_prove_a_neutral_in_every_position_or_with_the_switches_out() {
    let both = "[hall/switch, upper landing/switch]";
    assert!(proven(&ohms(SWITCHES, both, "0.3")), "both switches out: no position is left");
    let everywhere = |reads: &str| ALL.iter().map(|switches| ohms(switches, "[]", reads)).collect::<String>();
    assert!(proven(&everywhere("0.3")), "devices in, all four positions");
    assert!(!proven(&ALL[..3].iter().map(|s| ohms(s, "[]", "0.3")).collect::<String>()), "three of four");
    assert!(!proven(&ohms(SWITCHES, "[hall/switch]", "0.3")), "one switch out, the other in one position");
    assert!(!proven(&everywhere("2")), "2 ohm is not under 2");
    // Through a jumper to earth anything reads closed.
    let bridged =
        ohms(SWITCHES, both, "0.3").replace("lifted: []", "lifted: [], jumpers: [[a.white, earth]]");
    assert!(!proven(&bridged), "bridged");
}

#[test]
fn a_bright_load_proves_a_neutral_from_a_proven_line_with_the_lamp_out() {
    let line = volts("a.black", "out", SWITCHES, "120");
    assert!(proven(&(line.clone() + &load("a.black", "out", "bright"))));
    assert!(!proven(&(line.clone() + &load("a.black", "in", "bright"))), "the lamp was in");
    assert!(!proven(&(line.clone() + &load("a.black", "out", "dim"))), "the load was dim");
    assert!(!proven(&load("a.black", "out", "bright")), "the line was not proven");
    let held = volts("a.black", "in", SWITCHES, "120");
    assert!(!proven(&(held + &load("a.black", "out", "bright"))), "the line was read with the lamp in");
}
