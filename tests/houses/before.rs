//! Joints that somebody remembers from before boxes were taken apart: those that were meant in drawn houses, or others.

use super::judge::{Measured, judge, measure, measure_in};
use lath::call::job::{Job, JobBox, JobJoint, JobReading, items};
use lath::files::{packs, parse_str, to_yaml};
use lath::knowledge::Knowledge;
use lath::practice::{Building, Chance, Features, Scheme, Slips, draw};
use lath::verdict::{self, SETTLED, State, Verdict};
use lath::wiring::Options;

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

/// How many readings settle every role, and whether any that was settled on the way is other than drawn.
fn readings_it_takes(measured: &Measured, knowledge: &Knowledge) -> (usize, usize) {
    let mut wrong = 0;
    for readings in 0..=items(&measured.job.readings).len() {
        let verdict = after(&measured.job, readings, knowledge);
        wrong += judge(measured, &verdict).0.wrong;
        if verdict.state == State::Settled {
            return (readings, wrong);
        }
    }
    (usize::MAX, wrong)
}

#[test]
fn what_was_there_before_spares_readings() {
    let knowledge = packs::embedded().unwrap();
    let mut sum = [0; 2];
    for seed in 0..super::houses(3) {
        let mut measured = measure(seed, &apart(Scheme::Conventional), Slips::none());
        let (without, _) = readings_it_takes(&measured, &knowledge);
        remember(&measured.building, &mut measured.job, is_apart);
        let (with, wrong) = readings_it_takes(&measured, &knowledge);
        println!("house {seed}: {without} readings, {with} with what was there before");
        assert!(with <= without && wrong == 0, "house {seed}: {with} after {without}, {wrong} wrong");
        sum = [sum[0] + without, sum[1] + with];
    }
    assert!(sum[1] < sum[0], "{sum:?}");
}

/// Memory alone points to what was there, and settles nothing.
#[test]
fn what_was_there_before_is_a_lead_and_no_proof() {
    let knowledge = packs::embedded().unwrap();
    for seed in 0..super::houses(4) {
        let measured = measure(seed, &apart(Scheme::Conventional), Slips::none());
        let right = |verdict: &Verdict| {
            let is = |wire: &&lath::verdict::WireFound| measured.truth.wires[&wire.wire].role == wire.role;
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
