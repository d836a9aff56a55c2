//! Calls told by hand. What is read follows from the circuit that stands beside each, by what a lamp and a tester do between
//! line and neutral; nothing is worked out by the program.

use lath::files::{packs, parse_str};
use lath::house::Role;
use lath::show::Style;
use lath::verdict::{DefectFound, Verdict};
use lath::wiring::Options;

pub fn verdict(job: &str) -> Verdict {
    let call = parse_str("told by hand", job).unwrap().call;
    lath::verdict::reach(&call, &packs::embedded().unwrap(), Options::default())
}

pub fn assert_likely(verdict: &Verdict, roles: &[(&str, Role)]) {
    for &(wire, role) in roles {
        let found = verdict.wires.iter().find(|found| found.wire == wire).unwrap();
        assert!(found.role == role && found.p >= 0.9, "{found:?}");
    }
}

fn named<'v>(verdict: &'v Verdict, what: &str) -> Option<&'v DefectFound> {
    verdict.defects.iter().find(|defect| defect.what == what)
}

/// Panel to the pantry by an armoured cable, line on the white; black of the second cable from the switch to the lamp's
/// center. The shell is on the metal of the box, which the armour takes back to the panel; the white beside it is capped.
const ARMOUR: &str = r#"
lath: 1
call: {goal: repair, complaint: "The light flickers."}
house: {region: us, built: 1958, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, sheath: armored, wires: [black, white]}, {tag: b, sheath: armored, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.white, switch.s1], [a.black, b.white], [b.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, sheath: armored, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [metal, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [0, 120, 0]}
  - {do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: up}, lamp: in, reads: [0, 120, 120]}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: up}, lamp: out, reads: [120, 0]}
"#;

#[test]
fn armour_that_does_the_work_of_a_neutral_is_named() {
    let verdict = verdict(ARMOUR);
    let found = named(&verdict, "ground-as-neutral").unwrap_or_else(|| panic!("{:?}", verdict.defects));
    assert!(found.p >= 0.9 && found.at == "ceiling", "{found:?}");
    assert!(verdict.contradiction.is_none() && verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
    assert_likely(
        &verdict,
        &[("pantry/a.white", Role::Line), ("pantry/a.black", Role::Neutral), ("ceiling/a.black", Role::Load)],
    );
}

/// Panel to the ceiling: black on the lamp's center, white joined to the white of the leg to the switch; the leg's black
/// comes back from the switch to the shell. With the switch off the lamp takes the line through to its black.
const IN_THE_NEUTRAL: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1951, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.white, switch.s1], [a.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, b.white], [b.black, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white], to: earth, with: high-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [120, 0]}
  - {do: volts, at: pantry, points: [a.black, a.white], to: earth, with: high-impedance, breaker: on,
     switches: {pantry: up}, lamp: in, reads: [0, 0]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black], to: earth, with: high-impedance, breaker: on,
     switches: {pantry: up}, lamp: out, reads: [120, 0, 0]}
"#;

#[test]
fn a_switch_in_the_neutral_is_an_arrangement_and_no_defect() {
    let verdict = verdict(IN_THE_NEUTRAL);
    let arrangement = verdict.arrangement.as_ref().unwrap();
    assert_eq!(arrangement.scheme, "switched-neutral", "{}", arrangement.text);
    assert!(arrangement.scheme_p >= 0.9 && verdict.defects.is_empty(), "{:?}", verdict.defects);
    assert!(arrangement.text.contains("breaks the neutral"), "{}", arrangement.text);
    assert_likely(
        &verdict,
        &[
            ("ceiling/a.black", Role::Line),
            ("ceiling/a.white", Role::Neutral),
            ("pantry/a.white", Role::Neutral),
        ],
    );
}

/// Panel to the pantry by cable a, line on the black; b goes up to a light whose box is shut, line on its black too. What
/// comes back from the shell on its white goes to the switch, and from there to the neutral.
const IN_THE_NEUTRAL_SHUT: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1951, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, b.black], [b.white, switch.s1], [a.white, switch.s2]]
  - {name: ceiling, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]}
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white, b.white], to: earth, with: high-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [120, 0, 120]}
  - {do: volts, at: pantry, points: [a.black, a.white, b.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [120, 0, 119]}
  - {do: volts, at: pantry, points: [a.black, a.white, b.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: out, reads: [120, 0, 0]}
  - {do: volts, at: pantry, points: [a.black, a.white, b.white], to: earth, with: high-impedance, breaker: on,
     switches: {pantry: up}, lamp: in, reads: [120, 0, 0]}
  - {do: ohms, at: pantry, points: [a.white, b.black], to: b.white, breaker: "off", switches: {pantry: down}, lamp: in,
     reads: [open, 18]}
  - {do: ohms, at: pantry, points: [a.white, b.black], to: b.white, breaker: "off", switches: {pantry: down}, lamp: out,
     reads: [open, open]}
"#;

/// Nothing is apart: there is nothing to land, and what is said is about the switch where it is.
#[test]
fn a_switch_in_the_neutral_of_a_shut_light_is_told_as_such() {
    let call = parse_str("told by hand", IN_THE_NEUTRAL_SHUT).unwrap().call;
    let knowledge = packs::embedded().unwrap();
    let verdict = lath::verdict::reach(&call, &knowledge, Options::default());
    let arrangement = verdict.arrangement.as_ref().unwrap();
    assert!(arrangement.scheme == "switched-neutral" && arrangement.scheme_p >= 0.9, "{arrangement:?}");
    assert!(arrangement.text.contains("breaks the neutral"), "{}", arrangement.text);
    assert!(verdict.landing.is_empty() && verdict.defects.is_empty(), "{:?}", verdict.landing);
    let text = lath::show::verdict::text(&call, &verdict, &knowledge.cautions, &Style::default());
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("its holder and the wires up to the switch stay live"), "{text}");
    assert_likely(
        &verdict,
        &[("pantry/a.black", Role::Line), ("pantry/a.white", Role::Neutral), ("pantry/b.white", Role::Load)],
    );
}

/// A double-pole switch at the pantry, between the panel and a light: `a1` is joined to `b1` and `a2` to `b2` when it is on.
fn double_pole(joints: &str) -> String {
    format!(
        r#"
lath: 1
call: {{goal: identify}}
house: {{region: us, built: 1955, supply: 120, grounds: none, feeds: [{{name: "7"}}],
        reference: {{what: water pipe, proven: 120}}}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [black, white]}}]
    devices: [{{name: switch, kind: double-pole}}]
    joints: {joints}
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{{tag: a, wires: [black, white]}}]
    devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {{do: watch, light: ceiling, breaker: on, switches: {{pantry: up}}, lamp: in, reads: lit}}
  - {{do: watch, light: ceiling, breaker: on, switches: {{pantry: down}}, lamp: in, reads: dark}}
  - {{do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {{pantry: down}}, lamp: in, reads: [120, 0, 0]}}
  - {{do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {{pantry: up}}, lamp: out, reads: [120, 0, 120]}}
  - {{do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {{pantry: up}}, lamp: in, reads: [120, 0, 120]}}
"#
    )
}

#[test]
fn a_double_pole_switch_is_told_with_one_pole_used_or_both() {
    let one = verdict(&double_pole("[[a.black, switch.a1], [b.black, switch.b1], [a.white, b.white]]"));
    let both = verdict(&double_pole(
        "[[a.black, switch.b2], [b.black, switch.a2], [a.white, switch.b1], [b.white, switch.a1]]",
    ));
    for (verdict, scheme) in [(&one, "one-pole-of-two"), (&both, "both-poles")] {
        let arrangement =
            verdict.arrangement.as_ref().unwrap_or_else(|| panic!("{:?}", verdict.contradiction));
        assert!(arrangement.scheme == scheme && verdict.contradiction.is_none(), "{arrangement:?}");
        assert_likely(
            verdict,
            &[
                ("pantry/a.black", Role::Line),
                ("pantry/a.white", Role::Neutral),
                ("pantry/b.black", Role::Load),
            ],
        );
    }
    assert_likely(&one, &[("pantry/b.white", Role::Neutral)]);
    // Beyond the switch neither is a neutral that always is there.
    assert_likely(&both, &[("pantry/b.white", Role::Load)]);
}

/// Feed at the hall, from there to the ceiling, where the light is dead: with its lamp in, and the switch on, both its wires
/// are live, for the white is open somewhere on its way.
const OPEN_WHITE: &str = r#"
lath: 1
call: {goal: repair, complaint: "The light is dead."}
house: {region: us, built: 1958, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: hall
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, switch.s1], [b.black, switch.s2], [a.white, b.white]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: dark}
  - {do: watch, light: ceiling, breaker: on, switches: {hall: down}, lamp: in, reads: dark}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: up}, lamp: in, reads: [120, 120]}
"#;

/// Where a white is dead, its ends read open to each other and nobody has lifted it, it may be broken in its cable or lie
/// loose in a joint at either end: ghosts do not tell how far along a break is.
const BROKEN: &str = r#"  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: up}, lamp: in, reads: [120, 0]}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: high-impedance, breaker: on,
     switches: {hall: up}, lamp: out, reads: [120, SHOWN]}
"#;

#[test]
fn ghosts_alone_do_not_tell_where_a_wire_is_open() {
    for shown in ["0", "31", "58"] {
        let verdict = verdict(&(OPEN_WHITE.to_owned() + &BROKEN.replace("SHOWN", shown)));
        let chances: Vec<(&str, f64)> =
            verdict.defects.iter().map(|defect| (defect.what.as_str(), defect.p)).collect();
        assert!(chances.iter().any(|(what, _)| *what == "open-wire"), "{shown}: {chances:?}");
        assert!(chances.iter().all(|(_, p)| *p < 0.95), "{shown}: {chances:?}");
    }
}

/// The whites go into a taped bundle at the hall, and that of the leg to the lamp is not in its splice: dead, it reads through
/// to the lamp and open to the other white beside it.
const BUNDLE: &str = r#"  - {do: ohms, between: [hall/a.white, earth], breaker: off, switches: {hall: down}, lamp: out, reads: 0.2}
  - {do: ohms, between: [hall/b.white, ceiling/a.white], breaker: off, switches: {hall: down}, lamp: out, reads: 0.2}
  - {do: ohms, between: [hall/b.white, hall/a.white], breaker: off, switches: {hall: down}, lamp: out, reads: open}
"#;

#[test]
fn a_wire_that_is_not_in_the_splice_of_a_bundle_is_named() {
    let bundled = OPEN_WHITE.replace(", [a.white, b.white]]", "]\n    complete: false");
    let verdict = verdict(&(bundled + BUNDLE));
    // No reading tells whether it lies in the splice and does not touch it.
    let names = ["left-out", "open-splice"].map(|what| named(&verdict, what));
    let found: Vec<&DefectFound> = names.into_iter().flatten().collect();
    assert!(found.iter().all(|defect| defect.at == "hall"), "{:?}", verdict.defects);
    assert!(found.iter().map(|defect| defect.p).sum::<f64>() >= 0.85, "{:?}", verdict.defects);
    assert!(found.iter().any(|defect| defect.detail == ["hall/b.white"]), "{:?}", verdict.defects);
    assert!(verdict.contradiction.is_none() && verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
    assert_likely(&verdict, &[("hall/b.black", Role::Load), ("ceiling/a.black", Role::Load)]);
}

/// Panel to the hall, from there to the light and on to the rest of the house. With the feed's black lifted the feed is live and
/// what goes on is dead; dead, what hangs beyond is met on the black that goes on, and not on the feed's.
const BEYOND: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1958, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: hall
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}, {tag: c, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, c.black, switch.s1], [b.black, switch.s2], [a.white, b.white, c.white]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {hall: down}, lamp: in, reads: dark}
  - {do: volts, at: hall, points: [a.black, c.black, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: in, lifted: [hall/a.black], reads: [120, 0, 0]}
  - {do: ohms, at: hall, points: [a.black, c.black], to: a.white, with: high-impedance, breaker: off,
     switches: {hall: down}, lamp: in, lifted: [hall/a.black], reads: [open, 150]}
  - {do: ohms, at: hall, between: [c.black, c.white], with: high-impedance, breaker: off,
     switches: {hall: down}, lamp: out, lifted: [hall/a.black], reads: 150}
"#;

#[test]
fn what_hangs_beyond_a_cable_that_goes_on_is_met_with_the_feed_lifted() {
    let verdict = verdict(BEYOND);
    assert!(verdict.disbelieved.is_empty() && verdict.defects.is_empty(), "{:?}", verdict.disbelieved);
    let goes = |end: &str| verdict.cables.iter().find(|cable| cable.ends.contains(&end.to_owned())).unwrap();
    for (end, to) in [("hall/a", "panel"), ("hall/b", "ceiling/a"), ("hall/c", "onward")] {
        let cable = goes(end);
        assert!(cable.ends.contains(&to.to_owned()) && cable.p >= 0.85, "{cable:?}");
    }
    assert_likely(&verdict, &[("hall/a.black", Role::Line), ("hall/c.black", Role::Line)]);
}

/// Panel to the attic; from there to the switch and to the light. The white that comes back from the switch and the light's
/// white are each in the other's splice: the switch closes line to neutral, and the light has both its wires in one splice.
const EXCHANGED: &str = r#"
lath: 1
call: {goal: repair, complaint: "The breaker trips."}
house: {region: us, built: 1958, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: attic
    kind: junction
    opened: true
    reach: ladder
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}, {tag: c, wires: [black, white]}]
    joints: [[a.black, b.black], [a.white, b.white], [c.black, c.white]]
  - name: hall
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, switch.s1], [a.white, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: trips}
  - {do: watch, light: ceiling, breaker: on, switches: {hall: down}, lamp: in, reads: dark}
  - {do: volts, at: attic, points: [a.black, a.white, c.black], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: in, reads: [120, 0, 0]}
  - {do: volts, at: attic, points: [a.black, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: in, lifted: [attic/a.black], reads: [120, 0]}
  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: in, reads: [120, 0]}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: out, reads: [0, 0]}
"#;

#[test]
fn two_wires_in_each_others_splices_are_named() {
    let verdict = verdict(EXCHANGED);
    let found = named(&verdict, "wrong-splice").unwrap_or_else(|| panic!("{:?}", verdict.defects));
    assert!(found.p >= 0.8 && found.at == "attic", "{found:?}");
    assert!(verdict.contradiction.is_none() && verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
    assert_likely(&verdict, &[("attic/a.black", Role::Line), ("attic/a.white", Role::Neutral)]);
    for (wire, role) in [("attic/b.white", Role::Load), ("attic/c.white", Role::Neutral)] {
        let found = verdict.wires.iter().find(|found| found.wire == wire).unwrap();
        assert_eq!(found.role, role, "{found:?}");
    }
}

/// Line to the hall switch and the load back through the loft, which is shut; another circuit passes the light's box, its joints
/// in the taped bundle there with the light's own lines. With 3 off it stays live.
const PASSING: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1968, supply: 122, grounds: all, feeds: [{name: "3"}, {name: "8"}],
        reference: {what: water pipe, proven: 122}}
boxes:
  - name: hall
    kind: switch
    opened: true
    cables: [{tag: a, wires: [bare, black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.white, switch.s1], [a.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [bare, black, white]}, {tag: b, wires: [bare, black, red, white]},
             {tag: c, wires: [bare, black, white]}, {tag: d, wires: [bare, black, white]},
             {tag: e, wires: [bare, black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.white, b.white, c.white, light.shell], [b.red, light.center]]
    complete: false
  - {name: loft, kind: junction, opened: false, reach: steps}
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {hall: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {hall: down}, lamp: in, reads: dark}
  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: up}, lamp: out, reads: [121, 122]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.red, b.white, c.black, c.white, d.black, d.white,
     e.black, e.white], to: earth, with: low-impedance, breaker: on, switches: {hall: up}, lamp: out, reads: [123,
     0.2, 122, 122, 0.2, 122, 0.2, 122, 0.2, 122, 0.2]}
  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: down}, lamp: in, reads: [0.2, 123]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.red, b.white, c.black, c.white, d.black, d.white,
     e.black, e.white], to: earth, with: low-impedance, breaker: on, switches: {hall: down}, lamp: in, reads: [122,
     0.2, 122, 0.2, 0.2, 122, 0.2, 123, 0.2, 121, 0.2]}
  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {hall: up}, lamp: out, out: [hall/switch], reads: [0.1, 123]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.red, b.white, c.black, c.white, d.black, d.white,
     e.black, e.white], to: earth, with: low-impedance, breaker: on, switches: {hall: up}, lamp: out,
     out: [hall/switch], reads: [122, 0.2, 122, 0.1, 0.2, 123, 0.2, 122, 0.2, 121, 0.2]}
  - {do: volts, at: hall, points: [a.black, a.white], to: earth, with: low-impedance, breaker: {"3": off, "8": on},
     switches: {hall: up}, lamp: out, reads: [0.0, 0.0]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.red, b.white, c.black, c.white, d.black, d.white,
     e.black, e.white], to: earth, with: low-impedance, breaker: {"3": off, "8": on}, switches: {hall: up}, lamp: out,
     reads: [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 122, 0.2, 122, 0.2]}
  - {do: ohms, at: hall, points: [ceiling/a.black, ceiling/a.white, ceiling/b.black, ceiling/b.red, ceiling/b.white,
     ceiling/c.black, ceiling/c.white, ceiling/d.black, ceiling/d.white, ceiling/e.black, ceiling/e.white],
     to: a.black, with: high-impedance, breaker: off, switches: {hall: up}, lamp: out, out: [hall/switch],
     reads: [open, open, open, 0.1, open, open, open, open, open, open, open]}
  - {do: ohms, at: hall, points: [ceiling/a.black, ceiling/a.white, ceiling/b.black, ceiling/b.red, ceiling/b.white,
     ceiling/c.black, ceiling/c.white, ceiling/d.black, ceiling/d.white, ceiling/e.black, ceiling/e.white],
     to: a.white, with: high-impedance, breaker: off, switches: {hall: up}, lamp: out, out: [hall/switch],
     reads: [0.1, 60.4, 0.1, open, 59.9, 0.1, 60.3, 140.8, 60.1, 140.8, 60.6]}
  - {do: ohms, at: hall, points: [a.black, a.white], to: earth, with: high-impedance, breaker: off,
     switches: {hall: up}, lamp: in, out: [hall/switch], reads: [17.9, 60.2]}
  - {do: ohms, at: ceiling, points: [a.black, a.white, b.black, b.red, b.white, c.black, c.white, d.black, d.white,
     e.black, e.white], to: earth, with: high-impedance, breaker: off, switches: {hall: up}, lamp: in,
     out: [hall/switch], reads: [60.7, 0.1, 60.0, 17.8, 0.1, 60.6, 0.1, 81.1, 0.1, 80.3, 0.1]}
"#;

#[test]
fn what_stays_live_with_the_breaker_off_is_another_circuit_s() {
    let verdict = verdict(PASSING);
    let lines = ["hall/a.white", "ceiling/a.black", "ceiling/b.black", "ceiling/c.black"]
        .map(|wire| (wire, Role::Line));
    assert_likely(&verdict, &lines);
    assert_likely(&verdict, &[("hall/a.black", Role::Load), ("ceiling/b.red", Role::Load)]);
    assert_likely(&verdict, &[("ceiling/d.black", Role::Other), ("ceiling/e.black", Role::Other)]);
    assert!(verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
}

/// Panel to the pantry, where the leg to the ceiling and a circuit that nobody named come by as well; which of the splices the
/// wires lie in was not seen. With the only breaker that has a name off, two of them are live.
const NOBODY_NAMED: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1948, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}, {tag: c, wires: [black, white]},
             {tag: d, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, switch.s1], [b.black, switch.s2]]
    complete: false
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white, b.black, b.white, c.black, c.white, d.black, d.white], to: earth,
     with: low-impedance, breaker: on, switches: {pantry: down}, lamp: in, reads: [120, 0, 0, 0, 119, 0.2, 119, 0.2]}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: up}, lamp: in, reads: [119, 0.3]}
  - {do: volts, at: pantry, points: [a.black, a.white, b.black, b.white, c.black, c.white, d.black, d.white], to: earth,
     with: low-impedance, breaker: off, switches: {pantry: down}, lamp: in, reads: [0, 0, 0, 0, 119, 0.2, 119, 0.2]}
"#;

#[test]
fn what_stays_live_with_the_only_named_breaker_off_is_another_circuit_s() {
    let verdict = verdict(NOBODY_NAMED);
    assert_likely(&verdict, &[("pantry/a.black", Role::Line), ("pantry/b.black", Role::Load)]);
    assert_likely(&verdict, &[("pantry/c.black", Role::Other), ("pantry/d.black", Role::Other)]);
    assert!(verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
}

/// Panel to the ceiling, and a leg from there to the switch: line goes down on its white and comes back on its black. That lies
/// on the shell, and the feed's white on the center; the splice of line was not pulled out.
const IN_A_CROWDED_BOX: &str = r#"
lath: 1
call: {goal: identify, complaint: "A shock from the bulb."}
house: {region: us, built: 1948, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.white, switch.s1], [a.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[b.black, light.shell], [a.white, light.center]]
    complete: false
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [0, 120]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [120, 0, 0, 120]}
  - {do: volts, at: ceiling, points: [a.black, a.white, b.black, b.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: up}, lamp: in, reads: [120, 0.2, 119, 119]}
"#;

#[test]
fn wires_on_each_others_screws_are_named_where_not_every_splice_was_seen() {
    let verdict = verdict(IN_A_CROWDED_BOX);
    let found = named(&verdict, "swapped-landing").unwrap_or_else(|| panic!("{:?}", verdict.defects));
    assert!(found.p >= 0.9 && found.at == "ceiling/light", "{found:?}");
    assert!(verdict.contradiction.is_none() && verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
    assert_likely(&verdict, &[("ceiling/a.black", Role::Line), ("ceiling/a.white", Role::Neutral)]);
    assert_likely(&verdict, &[("ceiling/b.black", Role::Load), ("ceiling/b.white", Role::Line)]);
}

/// Panel to the pantry by armoured cable, line on the black; from the switch to the lamp. Both boxes are at earth by the armour,
/// and no wire goes to their metal.
const ARMOURED: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1956, supply: 120, grounds: none, feeds: [{name: "7"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, sheath: armored, wires: [black, white]}, {tag: b, sheath: armored, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.black, switch.s1], [a.white, b.white], [b.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, sheath: armored, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, light.center], [a.white, light.shell]]
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: on, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white, b.black], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: down}, lamp: in, reads: [120, 0, 0]}
  - {do: volts, at: ceiling, points: [a.black, a.white], to: earth, with: low-impedance, breaker: on,
     switches: {pantry: up}, lamp: out, reads: [120, 0]}
"#;

/// A line reads the supply to metal that is at earth, and metal to earth reads closed: NFPA 70 250.118 counts the armour of
/// such cable among what may ground (from memory). Metal that touches nothing reads neither.
#[test]
fn metal_at_earth_by_armour_is_no_contradiction() {
    let live = "  - {do: volts, at: pantry, between: [a.black, metal], with: low-impedance, breaker: on, \
                switches: {pantry: down}, lamp: in, reads: 119}\n";
    let closed = ["pantry", "ceiling"].map(|at| {
        format!(
            "  - {{do: ohms, at: {at}, between: [metal, earth], breaker: off, switches: {{pantry: down}}, reads: 0.4}}\n"
        )
    });
    for more in [live.to_owned(), closed.concat(), closed.concat() + live] {
        for sheath in ["armored", "cloth-nm"] {
            let verdict = verdict(&(ARMOURED.replace("armored", sheath) + &more));
            let odd = (&verdict.contradiction, &verdict.disbelieved);
            assert!(
                verdict.contradiction.is_none() && verdict.disbelieved.is_empty(),
                "{sheath}, {more}: {odd:?}"
            );
            assert!(verdict.defects.is_empty(), "{sheath}, {more}: {:?}", verdict.defects);
            assert_likely(&verdict, &[("pantry/a.black", Role::Line), ("pantry/a.white", Role::Neutral)]);
        }
    }
}

/// Metal that is at no earth though the cable has armour, and that a line touches.
#[test]
fn metal_that_is_live_is_named_whatever_covers_the_cables() {
    let live = "  - {do: volts, at: pantry, between: [metal, earth], with: low-impedance, breaker: on, \
                switches: {pantry: down}, lamp: in, reads: 120}\n  - {do: ohms, at: pantry, between: [metal, a.black], \
                breaker: off, switches: {pantry: down}, reads: 0.3}\n";
    let verdict = verdict(&(ARMOURED.to_owned() + live));
    let found = named(&verdict, "live-metal").unwrap_or_else(|| panic!("{:?}", verdict.defects));
    assert!(found.p >= 0.9 && found.at == "pantry", "{found:?}");
}

/// A house at 108 V, where the reference was proved with so much. ANSI C84.1 allows 104 V where it is used (range B; from
/// memory).
#[test]
fn a_low_supply_is_no_contradiction() {
    let low = ARMOURED.replace("proven: 120", "proven: 108").replace("[120, 0", "[108, 0");
    let verdict = verdict(&low);
    assert!(verdict.contradiction.is_none() && verdict.disbelieved.is_empty(), "{:?}", verdict.disbelieved);
    assert_likely(&verdict, &[("pantry/a.black", Role::Line), ("ceiling/a.black", Role::Load)]);
}

/// Circuit 7 comes into the ceiling box, to a switch and back to the lamp. Circuit 9 passes through the same box. The whites
/// of both circuits are in one joint with the shell.
const BOTH_NEUTRALS: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1951, supply: 120, grounds: none, feeds: [{name: "7"}, {name: "9"}],
        reference: {what: water pipe, proven: 120}}
boxes:
  - name: pantry
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}]
    devices: [{name: switch, kind: single-pole}]
    joints: [[a.white, switch.s1], [a.black, switch.s2]]
  - name: ceiling
    kind: light
    opened: true
    reach: steps
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}, {tag: c, wires: [black, white]},
             {tag: d, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints: [[a.black, b.white], [b.black, light.center], [c.black, d.black], [a.white, light.shell, c.white, d.white]]
readings:
  - {do: watch, light: ceiling, breaker: {"7": on, "9": off}, switches: {pantry: up}, lamp: in, reads: lit}
  - {do: watch, light: ceiling, breaker: {"7": on, "9": off}, switches: {pantry: down}, lamp: in, reads: dark}
  - {do: watch, light: ceiling, breaker: {"7": off, "9": on}, switches: {pantry: up}, lamp: in, reads: dark}
  - {do: volts, at: pantry, points: [a.black, a.white], to: earth, with: low-impedance, breaker: {"7": on, "9": off},
     switches: {pantry: down}, lamp: in, reads: [0, 120]}
  - {do: volts, at: ceiling, points: [a.black, b.black, c.black, a.white], to: earth, with: low-impedance,
     breaker: {"7": on, "9": off}, switches: {pantry: down}, lamp: in, reads: [120, 0, 0, 0]}
  - {do: volts, at: ceiling, points: [a.black, b.black, c.black, a.white], to: earth, with: low-impedance,
     breaker: {"7": off, "9": on}, switches: {pantry: down}, lamp: in, reads: [0, 0, 120, 0]}
"#;

/// NFPA 70 200.4 (from memory): a neutral serves one circuit. Nothing is settled of the whites that were joined but what both
/// ways of wiring them have in common.
#[test]
fn the_joined_neutrals_of_two_circuits_are_named() {
    let verdict = verdict(BOTH_NEUTRALS);
    let found = named(&verdict, "joined-neutrals").unwrap_or_else(|| panic!("{:?}", verdict.defects));
    assert!(found.p >= 0.5 && found.at == "ceiling", "{found:?}");
    assert_likely(
        &verdict,
        &[("ceiling/a.black", Role::Line), ("pantry/a.white", Role::Line), ("ceiling/b.black", Role::Load)],
    );
}
