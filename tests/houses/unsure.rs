//! Items of a survey that the person was not sure of, and that are otherwise than written.

use super::judge::{Measured, Tally, judge, measure, weigh};
use lath::call::job::{JobBox, items};
use lath::files::{packs, to_yaml};
use lath::practice::{Features, Scheme, Slips};

/// Two joints of a box written with a wire of each other, both marked unsure; false where it has no two.
fn exchange(seen: &mut JobBox) -> bool {
    let joints = seen.joints.get_or_insert_default();
    let [.., one, other] = joints.as_mut_slice() else { return false };
    let (Some(first), Some(second)) = (one.points.first_mut(), other.points.first_mut()) else {
        return false;
    };
    std::mem::swap(first, second);
    one.sure = Some(false);
    other.sure = Some(false);
    true
}

/// A colour taken for another at one end of a cable that is marked unsure; false where there is none to mistake.
fn recolour(measured: &mut Measured, at: usize) -> bool {
    let boxes = measured.job.boxes.get_or_insert_default();
    let name = boxes[at].name.clone();
    let cables = boxes[at].cables.get_or_insert_default();
    let fits = |wires: &[String]| wires.iter().any(|w| w == "white") && !wires.iter().any(|w| w == "red");
    let Some(cable) = cables.iter_mut().find(|cable| fits(&cable.wires)) else { return false };
    cable.sure = Some(false);
    cable.wires.iter_mut().filter(|wire| *wire == "white").for_each(|wire| *wire = "red".to_owned());
    let (old, new) = (format!("{}.white", cable.tag), format!("{}.red", cable.tag));
    let prefix = format!("{name}/");
    let renamed = |point: &mut String, here: bool| {
        if *point == format!("{prefix}{old}") {
            *point = format!("{prefix}{new}");
        } else if here && *point == old {
            point.clone_from(&new);
        }
    };
    let joints = boxes[at].joints.iter_mut().flatten();
    joints.flat_map(|joint| &mut joint.points).for_each(|point| renamed(point, true));
    for reading in measured.job.readings.iter_mut().flatten() {
        let here = reading.at.as_ref() == Some(&name);
        let lists = [&mut reading.points, &mut reading.lifted];
        lists.into_iter().flatten().flatten().for_each(|point| renamed(point, here));
        let single = [&mut reading.to, &mut reading.around];
        single.into_iter().flatten().for_each(|point| renamed(point, here));
        let pairs = reading.between.iter_mut().chain(reading.jumpers.iter_mut().flatten());
        pairs.flat_map(|pair| [&mut pair.0, &mut pair.1]).for_each(|point| renamed(point, here));
    }
    let (old, new) = (format!("{prefix}{old}"), format!("{prefix}{new}"));
    if let Some(truth) = measured.truth.wires.remove(&old) {
        measured.truth.wires.insert(new, truth);
    }
    true
}

fn judged(spoil: impl Fn(&mut Measured) -> bool) -> Tally {
    let knowledge = packs::embedded().unwrap();
    let plain = Features { four_way: 0.0, junction: 0.0, ..Features::bare(Scheme::Conventional) };
    let mut whole = Tally::default();
    for seed in 0..super::houses(4) {
        let mut measured = measure(seed, &plain, Slips::none());
        if !spoil(&mut measured) {
            continue;
        }
        let verdict = weigh(&format!("house {seed}"), &to_yaml(&measured.job), &knowledge);
        let (tally, notes) = judge(&measured, &verdict);
        whole.houses += 1;
        whole.wires += tally.wires;
        whole.settled += tally.settled;
        whole.wrong += tally.wrong;
        if !notes.is_empty() {
            println!("house {seed}: {}", notes.join("; "));
        }
    }
    println!("{} houses, {} of {} settled, {} wrong", whole.houses, whole.settled, whole.wires, whole.wrong);
    whole
}

#[test]
fn joints_marked_unsure_may_be_otherwise() {
    let whole = judged(|measured| {
        let boxes = measured.job.boxes.get_or_insert_default();
        boxes.iter_mut().filter(|seen| !items(&seen.joints).is_empty()).any(exchange)
    });
    assert!(whole.houses > 3 && whole.wrong == 0);
    assert!(whole.settled * 10 >= whole.wires * 9);
}

#[test]
fn colours_marked_unsure_may_be_otherwise() {
    let whole = judged(|measured| {
        let boxes = items(&measured.job.boxes).len();
        (0..boxes).any(|at| recolour(measured, at))
    });
    assert!(whole.houses > 3 && whole.wrong == 0);
    assert!(whole.settled * 10 >= whole.wires * 9);
}
