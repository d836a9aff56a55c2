//! The ten examples, walked: to the verdict of their files, dropped at every question, with every detour there is, and back
//! to the start.

use super::MOST;
use super::hand::{Hand, Listed, before, example, lines, now, proving};
use lath::call::Call;
use lath::call::edit::{same_question, undo};
use lath::call::job::{Job, JobReading, items};
use lath::files::{self, packs};
use lath::knowledge::Knowledge;
use lath::verdict::{self, Verdict};
use lath::walk::{Stage, Walk};
use lath::wiring::Options;
use std::cell::RefCell;
use std::rc::Rc;

const EXAMPLES: [&str; 10] = [
    "single-pole-loop.yaml",
    "feed-at-switch.yaml",
    "feed-at-light-two-legs.yaml",
    "feed-at-light-line-to-far.yaml",
    "feed-at-light-line-to-near.yaml",
    "feed-at-upper-switch.yaml",
    "four-wire-legs.yaml",
    "knob-and-tube.yaml",
    "open-ring.yaml",
    "taken-apart.yaml",
];

/// What happens between the answers of a walk.
#[derive(Clone, Copy, PartialEq)]
enum Between {
    /// Nothing.
    Straight,
    /// The program is gone, and started again from the file.
    Dropped,
    /// Something else is said first, or the answer is taken back and given again.
    Detours,
}

/// An example that is walked by somebody who knows what is in it.
struct Example<'a> {
    name: &'a str,
    job: Job,
    knowledge: &'a Knowledge,
    known: Rc<RefCell<Option<(Call, Verdict)>>>,
}

impl<'a> Example<'a> {
    fn new(name: &'a str, knowledge: &'a Knowledge) -> Example<'a> {
        Example { name, job: example(name), knowledge, known: Rc::default() }
    }

    fn walk(&self, job: Job) -> Walk<Listed<'a>> {
        let known = Rc::clone(&self.known);
        Walk::resume(job, Listed { known, ..super::listed(&self.job, self.knowledge) }).unwrap()
    }

    /// Walks it to the end: the job, the answers, and how often something was between them.
    fn to_the_end(&self, between: Between) -> (Job, usize, usize) {
        let readings = items(&self.job.readings).to_vec();
        let shows = |question: &JobReading| {
            readings.iter().find(|reading| same_question(reading, question)).unwrap().reads.clone().unwrap()
        };
        let mut hand = Hand::new(&self.job, shows);
        let mut walk = self.walk(before(&self.job));
        let mut times = 0;
        for count in 0..MOST {
            if walk.place().stage == Stage::Done {
                return (walk.job().clone(), count, times);
            }
            let screen = walk.screen();
            let (at80, at50) = (lines(&screen, 80), lines(&screen, 50));
            assert!(at80 <= 22 && at50 <= 20, "{}: {at80} and {at50} lines: {screen:?}", self.name);
            let proving = proving(&screen);
            if between == Between::Detours {
                times += detour(&mut walk, &mut hand, count);
            }
            let answer = hand.answer(&walk);
            let turn = walk.answer(&answer, &now());
            assert!(turn.changed, "{}: {answer:?} at {:?}: {:?}", self.name, walk.screen(), turn.says);
            // A proof lapses with the walk, so whoever drops it after each would never get past one.
            if between == Between::Dropped && !proving {
                walk = self.dropped(&walk);
                times += 1;
            }
        }
        panic!("{}: no end", self.name);
    }

    /// The walk as it goes on from the text of its file.
    fn dropped(&self, walk: &Walk<Listed<'a>>) -> Walk<Listed<'a>> {
        let text = files::to_yaml(walk.job());
        let again = self.walk(files::parse_str("dropped", &text).unwrap().job);
        let (place, there) = (walk.place(), again.place());
        assert_eq!(
            (there.stage, there.step, &there.draft),
            (place.stage, place.step, &place.draft),
            "{}",
            self.name
        );
        assert_eq!(again.job(), walk.job());
        assert!(items(&there.proven).is_empty(), "{}: a proof outlived the walk", self.name);
        again
    }
}

/// Something that is said instead of the answer, and leads back to the same question; how much it was.
fn detour(walk: &mut Walk<Listed<'_>>, hand: &mut Hand<'_>, count: usize) -> usize {
    let (screen, job) = (walk.screen(), walk.job().clone());
    let mut say = |text: &str| walk.answer(text, &now());
    let back = match count % 6 {
        0 => {
            for word in ["help", "why", "state"] {
                let turn = say(word);
                assert!(!turn.changed && !turn.says.is_empty(), "{word} at {screen:?}");
            }
            return 3;
        }
        1 => {
            let answer = hand.answer(walk);
            let turn = walk.answer(&answer, &now());
            assert!(turn.changed && walk.answer("undo", &now()).changed, "{answer:?} at {screen:?}");
            true
        }
        // No boxes, no readings: nothing to change and nowhere to read.
        2 => say("change").changed && say("").changed,
        3 => say("own").changed && say("").changed,
        4 => say("skip").changed && say("undo").changed,
        _ => {
            say("own").changed
                && say("volts nothing to nowhere").changed
                && say("undo").changed
                && say("undo").changed
        }
    };
    // Power that was on may want a proof again.
    if back && !proving(&walk.screen()) {
        assert_eq!((walk.screen().title, walk.screen().ask), (screen.title, screen.ask));
    }
    assert_eq!(walk.job().readings, job.readings);
    assert_eq!(walk.job().boxes, job.boxes);
    usize::from(back)
}

/// The verdict on a job as its file says it.
fn verdict_on(job: &Job, knowledge: &Knowledge) -> Verdict {
    let call = files::parse_str("walked", &files::to_yaml(job)).unwrap().call;
    verdict::reach(&call, knowledge, Options::default())
}

#[test]
fn examples_come_to_the_verdict_of_their_files_whatever_is_between() {
    let knowledge = packs::embedded().unwrap();
    for name in EXAMPLES {
        let walked = Example::new(name, &knowledge);
        let (whole, count, _) = walked.to_the_end(Between::Straight);
        let (expected, found) = (verdict_on(&walked.job, &knowledge), verdict_on(&whole, &knowledge));
        assert_eq!(found.wires.len(), expected.wires.len());
        for (found, expected) in found.wires.iter().zip(&expected.wires) {
            assert_eq!((&found.wire, found.role), (&expected.wire, expected.role), "{name}");
        }
        assert_eq!(found.cables, expected.cables, "{name}");
        assert!(!items(&whole.proofs).is_empty(), "{name}: nothing was proved dead");
        assert!(
            items(&whole.done).iter().any(|said| said.contains("line to neutral")),
            "{name}: {:?}",
            whole.done
        );
        for between in [Between::Dropped, Between::Detours] {
            let (other, answers, times) = walked.to_the_end(between);
            // What was seen and read is the same, and so is the verdict on it.
            assert_eq!((&other.boxes, &other.readings), (&whole.boxes, &whole.readings), "{name}");
            assert!(times > 25, "{name}: {times}");
            match between {
                Between::Dropped => println!("{name}: dropped {times} times in {answers} answers"),
                _ => println!("{name}: {count} answers; {times} detours"),
            }
        }
    }
}

#[test]
fn undo_goes_back_to_the_start() {
    let knowledge = packs::embedded().unwrap();
    let start = before(&example("feed-at-switch.yaml"));
    let (mut job, count, _) = Example::new("feed-at-switch.yaml", &knowledge).to_the_end(Between::Straight);
    // Through the file at each step, as it would be on another day.
    let mut steps = 0;
    while !items(&job.history).is_empty() {
        job = undo(&files::parse_str("undone", &files::to_yaml(&job)).unwrap().job).unwrap().job;
        steps += 1;
    }
    assert_eq!(steps, count);
    assert_eq!(files::to_yaml(&job), files::to_yaml(&start));
}
