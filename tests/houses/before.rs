//! Joints that somebody remembers from before boxes were taken apart: those that were meant in drawn houses, or others.

use super::judge::{Measured, judge, measure, measure_in};
use lath::call::job::{Job, JobAnswer, JobBox, JobJoint, JobReading, JobReads, items};
use lath::files::{packs, parse_str, to_yaml};
use lath::knowledge::Knowledge;
use lath::practice::{Building, Chance, Features, Scheme, Slips, draw};
use lath::verdict::{self, SETTLED, Verdict, WireFound};
use lath::wiring::{Options, Space, Wiring};

/// Every switch box apart.
fn apart(scheme: Scheme) -> Features {
    Features { apart: [1.0; 2], ..Features::bare(scheme) }
}

/// The joints that were meant in the boxes that `told` wants written down, as they were.
fn remember(building: &Building, job: &mut Job, told: impl Fn(&JobBox) -> bool) {
    for seen in job.boxes.iter_mut().flatten().filter(|seen| told(seen)) {
        let outlet = building.outlets.iter().find(|outlet| seen.name == *outlet.name).unwrap();
        let joint = |joint: &lath::practice::Joint| JobJoint {
            points: joint.spots.iter().map(|&spot| building.local_name(spot)).collect(),
            sure: None,
        };
        seen.was = Some(outlet.meant.iter().filter(|joint| joint.spots.len() > 1).map(joint).collect());
    }
}

fn is_apart(seen: &JobBox) -> bool {
    seen.apart.is_some()
}

/// The verdict on the first so many readings.
fn after(job: &Job, readings: usize, knowledge: &Knowledge) -> Verdict {
    let taken: Vec<JobReading> = items(&job.readings).iter().take(readings).cloned().collect();
    let job = Job { readings: Some(taken), ..job.clone() };
    verdict::reach(&parse_str("a drawn house", &to_yaml(&job)).unwrap().call, knowledge, Options::default())
}

/// Readings of several points one by one.
fn one_by_one(job: &mut Job) {
    let each = |reading: &JobReading| match (&reading.points, &reading.reads) {
        (Some(points), Some(JobReads::List(answers))) => {
            let one = |(point, answer): (&String, &JobAnswer)| JobReading {
                points: Some(vec![point.clone()]),
                reads: Some(JobReads::List(vec![answer.clone()])),
                ..reading.clone()
            };
            points.iter().zip(answers).map(one).collect()
        }
        _ => vec![reading.clone()],
    };
    job.readings = Some(items(&job.readings).iter().flat_map(each).collect());
}

/// After how many readings every role is likely first, as it was drawn, of so many; and how often one that was settled on the
/// way is other than drawn.
fn likely_after(measured: &Measured, most: usize, knowledge: &Knowledge) -> (Option<usize>, usize) {
    let mut wrong = 0;
    for readings in 0..=most {
        let verdict = after(&measured.job, readings, knowledge);
        wrong += judge(measured, &verdict).0.wrong;
        let drawn = |wire: &WireFound| measured.truth.wires[&wire.wire].role == wire.role;
        if verdict.wires.iter().all(|wire| wire.p >= 0.9 && drawn(wire)) {
            return (Some(readings), wrong);
        }
    }
    (None, wrong)
}

#[test]
fn what_was_there_before_spares_readings() {
    let knowledge = packs::embedded().unwrap();
    let mut spared = 0;
    for seed in 2..2 + super::houses(2) {
        let shut = Features { light_shut: 0.5, ..apart(Scheme::Conventional) };
        let mut measured = measure(seed, &shut, Slips::none());
        one_by_one(&mut measured.job);
        let plain = measured.job.clone();
        remember(&measured.building, &mut measured.job, is_apart);
        let (with, wrong) = likely_after(&measured, 40, &knowledge);
        let with = with.unwrap_or_else(|| panic!("house {seed}: not every role is likely"));
        measured.job = plain;
        let (without, _) = likely_after(&measured, with, &knowledge);
        println!("house {seed}: {with} readings with what was there before, {without:?} without");
        assert!(without.is_none_or(|without| without == with) && wrong == 0, "house {seed}: {wrong} wrong");
        spared += usize::from(without.is_none());
    }
    assert!(spared > 0);
}

/// Memory alone points to what was there, and settles nothing.
#[test]
fn what_was_there_before_is_a_lead_and_no_proof() {
    let knowledge = packs::embedded().unwrap();
    for seed in 0..super::houses(4) {
        let measured = measure(seed, &apart(Scheme::Conventional), Slips::none());
        let right = |verdict: &Verdict| {
            let is = |wire: &&WireFound| measured.truth.wires[&wire.wire].role == wire.role;
            verdict.wires.iter().filter(is).map(|wire| wire.p).sum::<f64>()
        };
        let mut job = measured.job.clone();
        let without = after(&job, 0, &knowledge);
        remember(&measured.building, &mut job, is_apart);
        let with = after(&job, 0, &knowledge);
        assert!(right(&with) > right(&without) + 1e-3, "house {seed}: {} {}", right(&with), right(&without));
        assert!(with.wires.iter().all(|wire| wire.p < SETTLED), "house {seed}");
    }
}

/// The wires on the common and on a traveler screw remembered for each other.
fn exchange(job: &mut Job) -> bool {
    for seen in job.boxes.iter_mut().flatten() {
        let joints = seen.was.get_or_insert_default();
        let on = |joints: &[JobJoint], screw: &str| {
            joints.iter().position(|joint| joint.points.iter().any(|point| point.ends_with(screw)))
        };
        let (Some(one), Some(other)) = (on(joints, ".common"), on(joints, ".t1")) else { continue };
        let wire = |joint: &JobJoint| joint.points.iter().position(|point| !point.starts_with("switch"));
        let (Some(first), Some(second)) = (wire(&joints[one]), wire(&joints[other])) else { continue };
        let kept = joints[one].points[first].clone();
        joints[one].points[first] = std::mem::replace(&mut joints[other].points[second], kept);
        return true;
    }
    false
}

/// What is remembered wrong gives way to readings.
#[test]
fn a_memory_that_errs_settles_nothing_against_readings() {
    let knowledge = packs::embedded().unwrap();
    let mut exchanged = 0;
    for seed in 0..super::houses(4) {
        let mut measured = measure(seed, &apart(Scheme::Conventional), Slips::none());
        let plain = judge(&measured, &after(&measured.job, usize::MAX, &knowledge)).0;
        remember(&measured.building, &mut measured.job, is_apart);
        exchanged += usize::from(exchange(&mut measured.job));
        let (tally, notes) = judge(&measured, &after(&measured.job, usize::MAX, &knowledge));
        assert_eq!((tally.wrong, tally.failing), (0, 0), "house {seed}: {notes:?}");
        assert!(tally.settled >= plain.settled, "house {seed}: {} of {}", tally.settled, plain.settled);
    }
    assert!(exchanged > 2, "{exchanged}");
}

/// In a box that nobody took apart a wire is out of its splice: what the splice was says so too.
#[test]
fn a_joint_that_was_there_speaks_for_a_wire_left_out() {
    let knowledge = packs::embedded().unwrap();
    let mut raised = 0;
    for seed in 0..super::houses(4) {
        let mut building = draw(seed, &Features::bare(Scheme::Conventional));
        if !building.spoil("left-out", &mut Chance::new(seed)) {
            continue;
        }
        let mut measured = measure_in(seed, building, Slips::none());
        let named = |verdict: &Verdict| {
            let of = verdict.defects.iter().find(|defect| defect.what == "left-out");
            of.map_or(0.0, |defect| defect.p)
        };
        let before = named(&after(&measured.job, usize::MAX, &knowledge));
        remember(&measured.building, &mut measured.job, |seen| seen.opened == Some(true));
        let verdict = after(&measured.job, usize::MAX, &knowledge);
        println!("house {seed}: left out {before}, {} with what was there", named(&verdict));
        assert!(named(&verdict) >= before - 1e-6 && judge(&measured, &verdict).0.wrong == 0, "house {seed}");
        raised += usize::from(named(&verdict) > before || before > 0.99);
    }
    assert!(raised > 0);
}

/// A switch box that is apart, with a light that was never opened; no reading.
fn loft(was: &str) -> String {
    format!(
        r#"
lath: 1
call: {{goal: identify}}
house: {{region: us, supply: 120, grounds: none, feeds: [{{name: "3"}}]}}
boxes:
  - name: loft
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [w1, w2]}}, {{tag: b, wires: [w1, w2]}}]
    devices: [{{name: switch, kind: single-pole}}]
    apart: true
    was: {was}
  - {{name: ceiling, kind: light, opened: false, devices: [{{name: light, kind: light}}]}}
"#
    )
}

/// The share of the wirings of which something holds, before any reading.
fn share(job: &str, holds: impl Fn(&Space, &Wiring) -> bool) -> f64 {
    let call = parse_str("told by hand", job).unwrap().call;
    let space = Space::new(&call.house, &packs::embedded().unwrap(), Options::default());
    let wirings = space.rows.iter().flat_map(|row| &row.wirings);
    wirings.filter(|wiring| holds(&space, wiring)).map(|wiring| wiring.weight).sum()
}

/// Whether the joints `a.w1 b.w1`, `a.w2` on one screw and `b.w2` on the other can have been: by the numbers of the wires.
fn as_it_was(_: &Space, wiring: &Wiring) -> bool {
    let [a1, a2, b1, b2] = [0, 1, 2, 3].map(|wire| wiring.labels[wire]);
    a1 == b1 && a2 != b2 && a1 != a2 && a1 != b2
}

#[test]
fn what_was_there_tells_wirings_apart_by_joints_not_by_their_number() {
    let (told, partly) = ("[[a.w1, b.w1], [a.w2, switch.s1], [b.w2, switch.s2]]", "[[a.w1, b.w1]]");
    let unsure = "[{points: [a.w1, b.w1], sure: false}]";
    let [none, told, partly, unsure] = ["[]", told, partly, unsure].map(|was| share(&loft(was), as_it_was));
    assert!(
        none < unsure && unsure < partly && partly < told && told > 0.8,
        "{none} {unsure} {partly} {told}"
    );
    // The screws of a single-pole switch are alike: which was which says nothing.
    let turned = share(&loft("[[a.w1, b.w1], [a.w2, switch.s2], [b.w2, switch.s1]]"), as_it_was);
    assert!((turned - told).abs() < 1e-9, "{turned} {told}");
}

/// Schemes have their mass whatever they are made of: what is remembered would be lost if each were given its own back. The
/// blacks in one splice, and the switch between the whites: it breaks the neutral, for the black goes to the lamp's center.
#[test]
fn what_was_there_tells_one_scheme_from_another() {
    let job = |was: &str| {
        format!(
            r#"
lath: 1
call: {{goal: identify}}
house: {{region: us, supply: 120, grounds: none, feeds: [{{name: "3"}}]}}
boxes:
  - name: loft
    kind: switch
    opened: true
    cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [black, white]}}]
    devices: [{{name: switch, kind: single-pole}}]
    apart: true
    was: {was}
  - name: ceiling
    kind: light
    opened: true
    cables: [{{tag: a, wires: [black, white]}}]
    devices: [{{name: light, kind: light}}]
    joints: [[a.black, light.center], [a.white, light.shell]]
"#
        )
    };
    let in_the_neutral =
        |space: &Space, wiring: &Wiring| space.netlists[wiring.netlist].scheme == "switched-neutral";
    let odds = |was: &str| {
        let p = share(&job(was), in_the_neutral);
        p / (1.0 - p)
    };
    let (before, after) =
        (odds("[]"), odds("[[a.black, b.black], [a.white, switch.s1], [b.white, switch.s2]]"));
    assert!(after > 10.0 * before && before > 0.0, "{before} {after}");
}
