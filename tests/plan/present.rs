//! How things stand: what is proved dead, what is known to be earth, where one stands and what has to be climbed for a reading.

use super::play::{Truth, play, reparsed};
use lath::call::job::items;
use lath::house::{BoxId, House, Reach};
use lath::plan::{self, Here, Suggestion, Wish};
use lath::wiring::{Options, Space};
use std::collections::BTreeSet;

/// Minutes by hand from `knowledge/effort.yaml`: a box proved dead.
const PROVE: f64 = 1.0;

fn named(house: &House, name: &str) -> BoxId {
    house.box_ids().find(|&at| house.outlet(at).name == name).unwrap()
}

/// The boxes whose points a suggestion names.
fn boxes(suggestion: &Suggestion) -> BTreeSet<String> {
    let points =
        suggestion.points.iter().flatten().chain(suggestion.between.iter().flatten()).chain(&suggestion.to);
    points.filter_map(|point| point.split_once('/')).map(|(place, _)| place.to_owned()).collect()
}

fn proves(suggestion: &Suggestion) -> usize {
    suggestion.first.iter().filter(|step| step.starts_with("Prove ")).count()
}

/// In one off-period a box is proved once. Whoever comes back to it proves it again, and that takes its minute.
#[test]
fn a_proof_holds_only_where_it_is_said_to() {
    let truth = Truth::of("feed-at-switch.yaml");
    let played = play(&truth, Wish { dead_only: true, ..Wish::default() });
    let mut compared = 0;
    for step in
        played.steps.iter().filter(|step| step.suggestion.ask == "ohms" && proves(&step.suggestion) == 0)
    {
        let space = Space::of_call(&step.call, &truth.knowledge, Options::default());
        let with = |proven: &[BoxId]| {
            let here = Some(Here { at: None, proven });
            let wish = Wish { top: 40, dead_only: true, here, ..Wish::default() };
            let question = step.suggestion.question();
            let all = plan::next(&step.call, &truth.knowledge, &space, wish).suggestions;
            all.into_iter().find(|other| other.question() == question)
        };
        let here: Vec<BoxId> = boxes(&step.suggestion).iter().map(|at| named(&step.call.house, at)).collect();
        let held = with(&here).unwrap();
        assert_eq!((&held.first, held.minutes), (&step.suggestion.first, step.suggestion.minutes));
        let Some(lapsed) = with(&[]) else { continue };
        assert_eq!(proves(&lapsed), here.len(), "{lapsed:?}");
        let more = lapsed.minutes - held.minutes;
        assert!((more - PROVE * here.len() as f64).abs() < 1e-3, "{more} minutes more: {lapsed:?}");
        compared += 1;
    }
    assert!(compared > 0);
}

/// Where nothing is at hand that is earth, it is found before the first reading to it, once; with it nothing is said of that.
#[test]
fn what_is_earth_is_found_before_anything_is_read_to_it() {
    let mut truth = Truth::of("feed-at-switch.yaml");
    let finds = |suggestion: &Suggestion| {
        suggestion.first.iter().any(|step| step.starts_with("Find something that is earth"))
    };
    let to_earth = |suggestion: &Suggestion| {
        let ends = suggestion.between.iter().flatten().chain(&suggestion.to);
        ends.into_iter().any(|point| point == "earth")
    };
    let known = play(&truth, Wish::default());
    assert!(known.steps.iter().any(|step| to_earth(&step.suggestion)));
    assert!(!known.steps.iter().any(|step| finds(&step.suggestion)));
    truth.job.house.as_mut().unwrap().reference = None;
    let unknown = play(&truth, Wish::default());
    let read: Vec<&Suggestion> = unknown.steps.iter().map(|step| &step.suggestion).collect();
    let first = read.iter().position(|suggestion| to_earth(suggestion));
    let found: Vec<usize> = (0..read.len()).filter(|at| finds(read[*at])).collect();
    assert_eq!(found, first.into_iter().collect::<Vec<_>>());
}

/// Of two boxes that tell the same, the one that is reached from the floor is read at.
#[test]
fn what_is_reached_from_the_floor_comes_first() {
    let mut truth = Truth::of("feed-at-light-two-legs.yaml");
    truth.identify_with(&[]);
    for up in ["front hall", "bedroom passage"] {
        for reach in [Reach::Steps, Reach::Ladder] {
            let mut job = truth.job.clone();
            for outlet in job.boxes.iter_mut().flatten() {
                let floor = if outlet.name == up { reach } else { Reach::Stand };
                outlet.reach = Some(if outlet.opened == Some(true) { floor } else { Reach::Blocked });
                outlet.floor = Some(1);
            }
            let call = reparsed(&job);
            let space = Space::of_call(&call, &truth.knowledge, Options::default());
            let wish = Wish { top: 8, ..Wish::default() };
            let all = plan::next(&call, &truth.knowledge, &space, wish).suggestions;
            let first = all.iter().find_map(|suggestion| suggestion.at.as_deref());
            assert!(first.is_some_and(|at| at != up), "{up}: {first:?}");
            assert!(items(&job.readings).is_empty());
        }
    }
}

/// Whoever begins anew with the supply off sees first that it still is, wherever anything is touched before it goes on; that
/// takes no minutes. With the supply on, or while one is there, nothing is said of it.
#[test]
fn a_supply_that_was_off_before_is_looked_at_first() {
    let looks = |step: &String| step.starts_with("See that nobody has turned ");
    let (mut dead, mut live) = (0, 0);
    for name in ["feed-at-switch.yaml", "feed-at-light-line-to-near.yaml"] {
        let truth = Truth::of(name);
        for wish in [Wish::default(), Wish { dead_only: true, ..Wish::default() }] {
            for step in play(&truth, wish).steps {
                let space = Space::of_call(&step.call, &truth.knowledge, Options::default());
                let anew = plan::next(&step.call, &truth.knowledge, &space, Wish { resumed: true, ..wish });
                let (here, anew) = (&step.suggestion, &anew.suggestions[0]);
                assert!(!here.first.iter().any(looks), "{here:?}");
                assert_eq!((here.question(), here.minutes), (anew.question(), anew.minutes));
                let power = ["Turn ", "Everybody clear"];
                let switched =
                    here.first.iter().position(|step| power.iter().any(|word| step.starts_with(word)));
                let was_on = step
                    .call
                    .readings
                    .last()
                    .is_some_and(|reading| reading.conditions.breakers[0] == Some(true));
                if was_on || (switched == Some(0)) || (switched.is_none() && here.live) {
                    assert_eq!(anew.first, here.first);
                    live += 1;
                } else if switched.is_none() {
                    assert!(looks(&anew.first[0]), "{anew:?}");
                    assert_eq!(anew.first[1..], here.first);
                    dead += 1;
                }
            }
        }
    }
    assert!(dead > 1 && live > 0, "{dead} dead, {live} live");
}
