//! What impatient hands type: understood where it can be meant in one way only, and refused with a word where it cannot be meant.

use super::hand::{Hand, Listed, before, example, now, proving, typed};
use lath::call::job::{Do, Job, items};
use lath::files::packs;
use lath::house::DeviceKind;
use lath::walk::{Engine, Stage, Walk};
use lath::wiring::Options;

#[test]
fn a_three_way_is_a_3_and_testers_are_run_together() {
    let knowledge = packs::embedded().unwrap();
    let mut walk = Walk::resume(Job::default(), Engine::new(&knowledge, Options::default())).unwrap();
    let answers = ["y", "Light", "", "", "", "", "", "123", "", "", "", "landing light", "i", "t"];
    let switches = ["hall", "3", "landing", "4-way", "attic", "Three-way"];
    for answer in answers.into_iter().chain(switches) {
        let turn = walk.answer(answer, &now());
        assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
    }
    assert_eq!(items(&walk.job().instruments).len(), 3);
    let kinds: Vec<DeviceKind> =
        items(&walk.job().boxes)[1..].iter().map(|outlet| items(&outlet.devices)[0].kind).collect();
    assert_eq!(kinds, [DeviceKind::ThreeWay, DeviceKind::FourWay, DeviceKind::ThreeWay]);
}

#[test]
fn figures_that_cannot_be_are_typed_again_and_a_wire_has_one_place() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let mut walk = Walk::resume(before(&job), Listed::of(&job, &knowledge)).unwrap();
    let readings = items(&job.readings).to_vec();
    let mut hand = Hand::new(&job, move |asked| {
        let of = readings.iter().find(|reading| lath::call::edit::same_question(reading, asked));
        of.unwrap().reads.clone().unwrap()
    });
    let refused = |walk: &mut Walk<Listed<'_>>, answer: &str, why: &str| {
        let turn = walk.answer(answer, &now());
        assert!(!turn.changed && turn.says.join(" ").contains(why), "{answer:?}: {:?}", turn.says);
    };
    let mut tried = 0;
    while items(&walk.job().readings).len() < 3 {
        let place = walk.place().clone();
        let volts = walk.advice().and_then(|advice| advice.next.suggestions.first().cloned());
        let volts = volts.is_some_and(|suggested| suggested.ask == "volts") && !proving(&walk.screen());
        let answer = match (place.stage, place.index()) {
            // A tester shows a figure, which is no number of an answer.
            (Stage::Work, _) if proving(&walk.screen()) && !walk.screen().choices.is_empty() => {
                refused(&mut walk, "1", "none of the answers");
                "d".to_owned()
            }
            (Stage::Work, _) if proving(&walk.screen()) => {
                refused(&mut walk, "d", "in a word or two");
                "kitchen receptacle".to_owned()
            }
            (Stage::Work, _) if volts => {
                // 121 V is what it is: once with a point too few, once as people say it.
                refused(&mut walk, "1210 0", "Nothing here gives over");
                refused(&mut walk, "121 0 0", "2 answers belong here");
                "121 V 0 V".to_owned()
            }
            (Stage::Screw, 1) => {
                refused(&mut walk, &hand.numbers_on(&place, 0), "already; undo goes back there");
                hand.answer(&walk)
            }
            _ => hand.answer(&walk),
        };
        tried += usize::from(volts);
        let turn = walk.answer(&answer, &now());
        assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
    }
    assert_eq!(tried, 1);
    let last = items(&walk.job().readings).last().unwrap();
    assert_eq!((last.ask, typed(last.reads.as_ref().unwrap())), (Do::Volts, "121, 0".to_owned()));
}
