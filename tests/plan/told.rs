//! What is suggested in calls told by hand. What is expected is common practice, no source, but where a source is named.

use lath::call::Call;
use lath::files::{packs, parse_str};
use lath::plan::{self, Next, Wish};
use lath::verdict::{Landing, State, Verdict};
use lath::wiring::{Options, Space};

fn call(job: &str) -> Call {
    parse_str("told by hand", job).unwrap().call
}

fn next(job: &str) -> Next {
    let (call, knowledge) = (call(job), packs::embedded().unwrap());
    let space = Space::of_call(&call, &knowledge, Options::default());
    plan::next(&call, &knowledge, &space, Wish { top: 60, ..Wish::default() })
}

fn verdict(job: &str) -> Verdict {
    lath::verdict::reach(&call(job), &packs::embedded().unwrap(), Options::default())
}

/// A pair of three-ways and a light; what is said of the call, of the boxes, and what was read.
fn pair(goal: &str, hall: &str, landing: &str, readings: &str) -> String {
    format!(
        r#"
lath: 1
call: {{{goal}}}
house:
  {{region: us, built: 1952, supply: 120, grounds: none, feeds: [{{name: "4"}}],
   reference: {{what: "a rod driven by the cellar door", proven: 120}}}}
instruments: [high-impedance, low-impedance, continuity]
boxes:
  - {{name: hall, kind: switch, {hall}}}
  - {{name: landing, kind: switch, {landing}}}
  - {{name: ceiling, kind: light, opened: false, devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]}}
readings: [{readings}]
"#
    )
}

const SHUT: &str = "opened: false, devices: [{name: switch, kind: three-way}]";

const COMPLAINT: &str = "goal: identify, complaint: It does not do what it should.";

/// The black of a three-wire cable on the common, the others on the travelers.
const SEEN: &str = "opened: true, cables: [{tag: a, wires: [black, red, white]}], \
                    devices: [{name: switch, kind: three-way}], \
                    joints: [[a.black, switch.common], [a.red, switch.t1], [a.white, switch.t2]]";

/// A suggestion with any breaker on.
fn is_live(suggestion: &plan::Suggestion) -> bool {
    let written = serde_json::to_value(suggestion).unwrap();
    written["breaker"].to_string().contains("on")
}

/// 29 CFR 1910.334(b)(2), from memory: after a protective device opened a circuit it is not energised again until it has been determined
/// that this can safely be done.
#[test]
fn a_breaker_that_opened_stays_off_until_that_is_explained() {
    let tripped = |hall: &str, landing: &str| {
        let at = format!("switches: {{hall: {hall}, landing: {landing}}}");
        format!("{{do: watch, light: ceiling, breaker: \"on\", {at}, lamp: in, reads: trips}}")
    };
    let once = tripped("up", "up");
    let all =
        ["up", "down"].map(|hall| ["up", "down"].map(|landing| tripped(hall, landing))).concat().join(", ");
    for (hall, readings) in [(SHUT, &once), (SHUT, &all), (SEEN, &once), (SEEN, &all)] {
        let job = pair(COMPLAINT, hall, SHUT, readings);
        let next = next(&job);
        for suggestion in &next.suggestions {
            assert!(!is_live(suggestion), "{suggestion:?}");
            let said = suggestion.cautions.iter().any(|caution| caution.contains("breaker opened"));
            assert!(said, "{:?}", suggestion.cautions);
        }
        let contradiction = verdict(&job).contradiction.unwrap_or_default();
        assert!(!contradiction.contains("Take these again"), "{contradiction}");
    }
}

/// Nothing is read under power where metal is live.
#[test]
fn metal_that_reads_live_turns_the_breaker_off() {
    let metal = "{do: volts, at: hall, between: [metal, earth], with: low-impedance, breaker: \"on\", \
                 switches: {hall: up, landing: up}, lamp: in, reads: 119}";
    let job = pair(COMPLAINT, SEEN, SHUT, metal);
    let hall = call(&job).house.box_ids().next().unwrap();
    assert_eq!(call(&job).live_metal(), [hall]);
    let next = next(&job);
    assert!(!next.suggestions.is_empty());
    for suggestion in &next.suggestions {
        assert!(!is_live(suggestion), "{suggestion:?}");
        assert!(suggestion.cautions.iter().any(|caution| caution.contains("Metal reads live")));
    }
    // Measured again, and dead.
    let again = format!("{metal}, {}", metal.replace("119", "0"));
    assert!(call(&pair(COMPLAINT, SEEN, SHUT, &again)).live_metal().is_empty());
}

/// Nobody has opened a box or read anything: nothing is settled of how wires are landed.
#[test]
fn a_repair_begins_with_something_to_do() {
    let job = pair("goal: repair", SHUT, SHUT, "");
    assert_eq!(verdict(&job).state, State::Open);
    assert!(!next(&job).suggestions.is_empty());
}

/// The landing's switch hangs free, and nobody has marked its screws: an ohmmeter tells its common, dead, by the screw that
/// closes to one of the others in either position. Then it can be landed.
#[test]
fn a_switch_with_no_wires_on_it_is_rung_out() {
    let free = "opened: true, cables: [{tag: a, wires: [black, red, white]}, {tag: b, wires: [black, white]}], \
                devices: [{name: switch, kind: three-way, screws: unmarked}], joints: [], apart: true";
    let hall = "opened: true, cables: [{tag: a, wires: [black, red, white]}, {tag: b, wires: [black, white]}], \
                devices: [{name: switch, kind: three-way}], \
                joints: [[b.black, switch.common], [a.red, switch.t1], [a.black, switch.t2], [a.white, b.white]]";
    let volts = |at: &str, points: &str, hall: &str, reads: &str| {
        format!(
            "{{do: volts, at: {at}, points: [{points}], to: earth, with: low-impedance, breaker: \"on\", \
             switches: {{hall: {hall}, landing: up}}, lamp: in, reads: [{reads}]}}"
        )
    };
    let wires = "a.black, a.red, a.white, b.black, b.white";
    // Panel to the hall on b; the light on b of the landing.
    let readings = [
        volts("landing", wires, "up", "0, 120, 0, 0, 0"),
        volts("landing", wires, "down", "120, 0, 0, 0, 0"),
        volts("hall", "b.black, b.white", "up", "120, 0"),
        "{do: ohms, at: landing, between: [b.black, b.white], with: high-impedance, breaker: \"off\", lamp: in, reads: 18}"
            .to_owned(),
        "{do: ohms, at: landing, between: [b.black, b.white], with: high-impedance, breaker: \"off\", lamp: out, \
         reads: open}"
            .to_owned(),
        "{do: ohms, at: landing, between: [a.white, earth], with: high-impedance, breaker: \"off\", lamp: out, reads: 0.3}"
            .to_owned(),
    ];
    let job = |more: &str| pair("goal: repair", hall, free, &(readings.join(", ") + more));
    let asked = next(&job("")).suggestions;
    let screws = |suggestion: &plan::Suggestion| {
        let named = suggestion.between.iter().flatten().chain(suggestion.points.iter().flatten());
        suggestion.ask == "ohms"
            && !is_live(suggestion)
            && named.into_iter().any(|point| point.contains("switch.x"))
    };
    assert!(asked.iter().any(screws), "{asked:?}");
    let rung = |landing: &str, reads: &str| {
        format!(
            ", {{do: ohms, at: landing, points: [switch.x1, switch.x2], to: switch.x3, with: high-impedance, \
             breaker: \"off\", switches: {{landing: {landing}}}, reads: [{reads}]}}"
        )
    };
    let rung = rung("up", "0.1, open") + &rung("down", "open, 0.1");
    let landing = verdict(&job(&rung)).landing;
    let [Landing::Joints { joints, .. }] = landing.as_slice() else { panic!("{landing:?}") };
    let on = |screw: &str| joints.iter().find(|joint| joint.iter().any(|point| point == screw)).unwrap();
    assert!(on("switch.x3").iter().any(|point| point == "b.black"), "{joints:?}");
}

/// Panel to the switch, from there to the lamp, both boxes open.
fn loop_of_one(call: &str, readings: &str) -> String {
    format!(
        r#"
lath: 1
call: {{{call}}}
house:
  {{region: us, built: 1952, supply: 120, grounds: none, feeds: [{{name: "4"}}],
   reference: {{what: "a rod driven by the cellar door", proven: 120}}}}
instruments: [high-impedance, low-impedance, two-pole]
boxes:
  - name: hall
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [black, white]}}]
    devices: [{{name: switch, kind: single-pole}}]
    joints: [[a.black, switch.s1], [a.white, b.white], [b.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    cables: [{{tag: a, wires: [black, white]}}]
    devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {{do: volts, at: hall, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {{hall: down}}, lamp: in, reads: [120, 0, 0]}}
  - {{do: volts, at: hall, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {{hall: up}}, lamp: in, reads: [120, 0, 120]}}
{readings}
"#
    )
}

#[test]
fn a_known_good_lamp_is_tried_where_the_lamp_may_be_out() {
    let dark = "  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: dark}\n  - {do: volts, \
                at: ceiling, between: [a.black, a.white], with: low-impedance, breaker: on, switches: {hall: up}, lamp: in, \
                reads: 120}";
    let next = next(&loop_of_one(COMPLAINT, dark));
    let tries = |suggestion: &plan::Suggestion| {
        serde_json::to_value(suggestion).unwrap()["lamp"].to_string().contains("test")
    };
    assert!(next.suggestions.iter().any(tries), "{:?}", next.suggestions);
}

/// Metal that read live once is not explained by a wrong reading alone: it is asked about dead, until it is told.
#[test]
fn metal_that_read_live_is_asked_about_dead() {
    let lit = "  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: lit}\n  - {do: watch, light: \
               ceiling, breaker: on, switches: {hall: down}, lamp: in, reads: dark}\n  - {do: volts, at: hall, between: [metal, \
               earth], with: low-impedance, breaker: on, switches: {hall: down}, lamp: in, reads: 119}\n";
    let once = next(&loop_of_one("goal: identify", lit));
    assert_eq!(once.state, State::Open);
    for suggestion in &once.suggestions {
        assert!(!is_live(suggestion), "{suggestion:?}");
    }
    let metal = |suggestion: &plan::Suggestion| {
        serde_json::to_value(suggestion).unwrap().to_string().contains("hall/metal")
    };
    assert!(once.suggestions.iter().any(metal), "{:?}", once.suggestions);
}
