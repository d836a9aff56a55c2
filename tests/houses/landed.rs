//! Boxes that were apart, told by hand, and how they are put back: by common practice, no source. What is read follows from
//! the circuit that stands beside each.

use crate::told::{assert_likely, verdict};
use lath::house::Role;
use lath::verdict::{Landing, Verdict};
use std::collections::BTreeSet;

/// The hall: cable a from the panel, b to the light, c on to the rest of the house, each with line on the black. A lamp of
/// 60 W has 240 ohms when it burns and a thirteenth of that when it is cold.
fn hall(joints: &str, apart: &str, readings: &str) -> String {
    format!(
        r#"
lath: 1
call: {{goal: repair}}
house:
  {{region: us, built: 1952, supply: 120, grounds: none, feeds: [{{name: "4"}}],
   reference: {{what: "a rod driven by the cellar door", proven: 120}}}}
instruments: [high-impedance, low-impedance, continuity]
boxes:
  - name: hall
    kind: switch
    opened: true
    cables:
      - {{tag: a, wires: [black, white]}}
      - {{tag: b, wires: [black, white]}}
      - {{tag: c, wires: [black, white]}}
    devices: [{{name: switch, kind: single-pole}}]
    joints: {joints}
    apart: {apart}
  - {{name: ceiling, kind: light, opened: false, devices: [{{name: light, kind: light, lamp: incandescent, watts: 60}}]}}
readings:
{readings}"#
    )
}

/// The joints planned for one box, each as a set.
fn planned<'v>(verdict: &'v Verdict, at: &str) -> BTreeSet<BTreeSet<&'v str>> {
    let of_box = |entry: &'v Landing| match entry {
        Landing::Joints { at: there, joints } if there == at => Some(joints),
        _ => None,
    };
    let joints = verdict.landing.iter().find_map(of_box).unwrap_or_else(|| panic!("{:?}", verdict.landing));
    joints.iter().map(|joint| joint.iter().map(String::as_str).collect()).collect()
}

/// Whether a plan is one of these, each written with its joints parted by semicolons.
fn assert_one_of(found: &BTreeSet<BTreeSet<&str>>, ways: &[&str]) {
    let joint = |text: &str| text.split(' ').map(str::to_owned).collect::<BTreeSet<_>>();
    let plan = |way: &&str| way.split("; ").map(joint).collect::<BTreeSet<_>>();
    let found = found.iter().map(|joint| joint.iter().map(|&point| point.to_owned()).collect());
    let found: BTreeSet<BTreeSet<String>> = found.collect();
    assert!(ways.iter().any(|way| plan(way) == found), "{found:?}");
}

/// The switch is out and the light's black off it; the splices were left. The screw goes back on the splice of line.
#[test]
fn a_screw_goes_back_to_the_splice_that_was_left() {
    let verdict = verdict(&hall(
        "[[a.white, b.white, c.white], [a.black, c.black]]",
        "[switch.s1, switch.s2, b.black]",
        r#"
  - {do: volts, at: hall, points: [a.black, b.black, a.white], to: earth, with: low-impedance, breaker: "on", lamp: in,
     reads: [120, 0, 0]}
  - {do: ohms, at: hall, between: [b.black, b.white], breaker: "off", lamp: in, out: [hall/switch], reads: 18}
  - {do: ohms, at: hall, between: [b.black, b.white], breaker: "off", lamp: out, out: [hall/switch], reads: open}
"#,
    ));
    let whites = "a.white b.white c.white";
    assert_one_of(
        &planned(&verdict, "hall"),
        &[
            &format!("{whites}; a.black c.black switch.s1; b.black switch.s2"),
            &format!("{whites}; a.black c.black switch.s2; b.black switch.s1"),
        ],
    );
}

/// Everything is apart. No reading in the hall tells the wires of c apart, which go on to the rest of the house: they stay
/// capped, and the light is put back without them.
#[test]
fn what_cannot_be_told_stays_capped_where_the_light_works_without() {
    let verdict = verdict(&hall(
        "[]",
        "true",
        r#"
  - {do: volts, at: hall, points: [a.black, a.white, b.black, b.white, c.black, c.white], to: earth, with: low-impedance,
     breaker: "on", lamp: in, reads: [120, 0, 0, 0, 0, 0]}
  - {do: ohms, at: hall, points: [a.white, b.black, b.white, c.black, c.white], to: earth, breaker: "off", lamp: in,
     reads: [0.3, open, open, open, open]}
  - {do: ohms, at: hall, points: [b.white, c.black, c.white], to: b.black, breaker: "off", lamp: in, reads: [18, open, open]}
  - {do: ohms, at: hall, between: [b.black, b.white], breaker: "off", lamp: out, reads: open}
  - {do: ohms, at: hall, between: [c.black, c.white], breaker: "off", lamp: out, reads: 45}
"#,
    ));
    assert_one_of(
        &planned(&verdict, "hall"),
        &[
            "a.white b.white; a.black switch.s1; b.black switch.s2",
            "a.white b.white; a.black switch.s2; b.black switch.s1",
        ],
    );
}

/// Singles: line comes in at the light and goes down to the hall on b, the load back up on d. The neutral comes from the
/// panel by way of the hall on a, and up on c to the shell and to a load of 120 ohms that the light's box takes on to the
/// rest of the house. With the hall apart, c hangs on the line by that load. A tester of 3,000 ohms reads 120 * 3,000 /
/// 3,120 = 115 V there, and through the cold lamp as much. Elsewhere on the circuit are 40 ohms.
#[test]
fn what_a_shut_box_takes_on_pulls_a_neutral_to_the_line() {
    let all = "points: [a.w1, b.w1, c.w1, d.w1], to: earth, with: low-impedance";
    let readings = format!(
        r#"
  - {{do: volts, at: hall, {all}, breaker: "on", lamp: in, reads: [0, 120, 115, 115]}}
  - {{do: volts, at: hall, {all}, breaker: "on", lamp: out, reads: [0, 120, 115, 0]}}
  - {{do: volts, at: hall, {all}, breaker: "off", lamp: in, reads: [0, 0, 0, 0]}}
  - {{do: ohms, at: hall, points: [b.w1, c.w1, d.w1], to: a.w1, breaker: "off", lamp: in, reads: [40, 160, 178]}}
  - {{do: ohms, at: hall, points: [c.w1, d.w1], to: b.w1, breaker: "off", lamp: in, reads: [120, 138]}}
  - {{do: ohms, at: hall, between: [c.w1, d.w1], breaker: "off", lamp: in, reads: 18}}
  - {{do: ohms, at: hall, between: [c.w1, d.w1], breaker: "off", lamp: out, reads: open}}
  - {{do: ohms, at: hall, between: [a.w1, earth], breaker: "off", lamp: out, reads: 0.3}}
"#
    );
    let singles =
        "{tag: a, wires: [w1]}, {tag: b, wires: [w1]}, {tag: c, wires: [w1]}, {tag: d, wires: [w1]}";
    let job = hall("[]", "true", &readings);
    let (before, after) = job.split_once("cables:").unwrap();
    let (_, after) = after.split_once("    devices").unwrap();
    let found = verdict(&format!("{before}cables: [{singles}]\n    devices{after}"));
    assert_likely(
        &found,
        &[
            ("hall/a.w1", Role::Neutral),
            ("hall/b.w1", Role::Line),
            ("hall/c.w1", Role::Neutral),
            ("hall/d.w1", Role::Load),
        ],
    );
    assert_one_of(
        &planned(&found, "hall"),
        &["a.w1 c.w1; b.w1 switch.s1; d.w1 switch.s2", "a.w1 c.w1; b.w1 switch.s2; d.w1 switch.s1"],
    );
}

/// The call of a box taken apart, with two of its readings turned round and with a third: chance may make two wrong. Taken again,
/// the third is as it was.
#[test]
fn nothing_is_landed_where_three_readings_would_have_to_be_wrong() {
    let job = include_str!("../../examples/taken-apart.yaml");
    let turned = [
        (
            "[120, 0, 0, 0, 0]}\n  - {do: volts, at: back hall",
            "[0, 0, 0, 0, 0]}\n  - {do: volts, at: back hall",
        ),
        ("reads: [0.1, open]}", "reads: [open, open]}"),
        ("reads: 0.3}", "reads: open}"),
    ];
    let with = |count: usize| {
        let turn = |job: String, (from, to): &(&str, &str)| {
            let (before, after) = job.rsplit_once(from).unwrap_or_else(|| panic!("no {from}"));
            format!("{before}{to}{after}")
        };
        turned[..count].iter().fold(job.to_owned(), turn)
    };
    let assert_planned = |job: &str| {
        let landing = verdict(job).landing;
        assert!(landing.iter().all(|entry| matches!(entry, Landing::Joints { .. })), "{landing:?}");
    };
    assert_planned(&with(2));
    let (_, again) = job.split_once("  - {do: ohms, at: back hall, between: [a.white, earth]").unwrap();
    let (again, _) = again.split_once("reads: 0.3}").unwrap();
    let again = format!("  - {{do: ohms, at: back hall, between: [a.white, earth]{again}reads: 0.3}}\n");
    assert_planned(&with(3).replacen("proofs:\n", &format!("{again}{again}proofs:\n"), 1));
    let refused = verdict(&with(3));
    assert!(!refused.landing.is_empty() && refused.contradiction.is_none(), "{:?}", refused.contradiction);
    for entry in &refused.landing {
        let Landing::Refused { refuse, .. } = entry else { panic!("{entry:?}") };
        assert!(refuse.contains("Readings") && refuse.contains("are not believed"), "{refuse}");
    }
}
