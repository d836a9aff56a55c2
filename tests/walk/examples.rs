//! The ten examples, walked: to the verdict of their files, dropped at every question, with every detour there is, and back
//! to the start.

use super::MOST;
use super::hand::{self, Hand, Listed, before, example, fits, now, proving};
use lath::call::edit::{same_question, undo};
use lath::call::job::{AllOrEach, Do, Field, Job, JobReading, Pair, items};
use lath::files::{self, packs};
use lath::knowledge::Knowledge;
use lath::verdict::Verdict;
use lath::walk::{Screen, Stage, Walk};

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
    /// No reading is taken as it is suggested: each is asked for in the technician's own words.
    Own,
    /// Each reading is taken down wrong, and changed.
    Changed,
}

/// An example that is walked by somebody who knows what is in it.
struct Example<'a> {
    name: &'a str,
    job: Job,
    knowledge: &'a Knowledge,
}

impl<'a> Example<'a> {
    fn new(name: &'a str, knowledge: &'a Knowledge) -> Example<'a> {
        Example { name, job: example(name), knowledge }
    }

    fn walk(&self, job: Job) -> Walk<Listed<'a>> {
        Walk::resume(job, super::Listed::of(&self.job, self.knowledge)).unwrap()
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
            fits(&walk);
            let proving = proving(&screen);
            match between {
                Between::Detours => times += detour(&mut walk, &mut hand, count),
                Between::Own => times += own(&mut walk),
                Between::Changed if changed(&mut walk, &mut hand, readings.len()) => {
                    times += 1;
                    continue;
                }
                Between::Changed => {}
                Between::Straight | Between::Dropped => {}
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

    /// The verdict on a job as its file says it.
    fn verdict_on(&self, job: &Job) -> Verdict {
        let call = files::parse_str("walked", &files::to_yaml(job)).unwrap().call;
        super::Listed::of(&self.job, self.knowledge).verdict(&call)
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
    let back = match count % 7 {
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
        2 => {
            let changed = say("change").changed;
            fits(walk);
            changed && walk.answer("", &now()).changed
        }
        3 => say("own").changed && say("").changed,
        4 => say("skip").changed && say("undo").changed,
        5 => return looked(walk, screen),
        _ => say("own").changed && !say("volts nothing to nowhere").changed && say("undo").changed,
    };
    // Power that was on may want a proof again.
    if back && !proving(&walk.screen()) {
        assert_eq!((walk.screen().title, walk.screen().ask), (screen.title, screen.ask));
    }
    assert_eq!(walk.job().readings, job.readings);
    assert_eq!(walk.job().boxes, job.boxes);
    usize::from(back)
}

/// A look at the light in between: the same question after it, and with it taken back the same job.
fn looked(walk: &mut Walk<Listed<'_>>, screen: Screen) -> usize {
    let job = walk.job().clone();
    let reads = |walk: &Walk<_>| Some(walk.advice()?.next.suggestions.first()?.ask != "open");
    if walk.place().stage == Stage::Work && reads(walk) == Some(true) {
        return 0;
    }
    if !walk.answer("own watch", &now()).changed {
        return 0;
    }
    for answer in ["", "d"] {
        assert!(walk.answer(answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    assert_eq!(items(&walk.job().readings).len(), items(&job.readings).len() + 1);
    // What is suggested next depends on what was read, and power that was on may want a proof again.
    let there = walk.screen();
    if walk.place().stage != Stage::Work && !proving(&there) {
        assert_eq!((there.title, there.ask), (screen.title, screen.ask));
    }
    (0..3).for_each(|_| assert!(walk.answer("undo", &now()).changed));
    assert_eq!(*walk.job(), job);
    1
}

/// The reading that is suggested, asked for in words instead; whether there is one.
fn own(walk: &mut Walk<Listed<'_>>) -> usize {
    let Some(question) = suggested(walk) else { return 0 };
    let differs = differs(&question, items(&walk.job().readings).last());
    for answer in [format!("own {}", words(&question)), differs] {
        let turn = walk.answer(&answer, &now());
        assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
    }
    let asked = walk.place().question.clone().unwrap();
    assert!(same_question(&asked, &question), "{asked:?} and not {question:?}");
    1
}

/// The reading that is suggested, where one is, and nothing else is asked first.
fn suggested(walk: &Walk<Listed<'_>>) -> Option<JobReading> {
    let place = walk.place();
    if place.stage != Stage::Work || place.question.is_some() || proving(&walk.screen()) {
        return None;
    }
    let question = walk.advice()?.next.suggestions.first()?.question();
    (question.ask != Do::Open).then_some(question)
}

/// A question as somebody types it.
pub fn words(question: &JobReading) -> String {
    let word = question.ask.write().excerpt();
    let points = match (&question.between, &question.points) {
        (Some(Pair(from, to)), _) => format!("{from} to {to}"),
        (None, Some(points)) => format!("{} to {}", points.join(", "), question.to.clone().unwrap()),
        (None, None) => question.light.clone().or(question.around.clone()).unwrap(),
    };
    let at = question.at.as_ref().map_or(String::new(), |at| format!(" at {at}"));
    format!("{word} {points}{at}")
}

/// The conditions that are not those of the last reading, as somebody types them.
pub fn differs(question: &JobReading, last: Option<&JobReading>) -> String {
    let mut parts = Vec::new();
    let Some(AllOrEach::All(power)) = &question.breaker else { panic!("a breaker of several") };
    parts.push(power.write().excerpt());
    parts.extend(question.switches.iter().flatten().map(|(name, position)| format!("{name} {position}")));
    if let Some(AllOrEach::All(lamp)) = &question.lamp {
        parts.push(format!("lamp {}", lamp.write().excerpt()));
    }
    let full = |of: &JobReading, list: &Option<Vec<String>>| -> Vec<String> {
        let at = of.at.clone().unwrap_or_default();
        let name = |name: &String| if name.contains('/') { name.clone() } else { format!("{at}/{name}") };
        items(list).iter().map(name).collect()
    };
    let mut lists = |of: fn(&JobReading) -> &Option<Vec<String>>, add: &str, take: &str| {
        let (was, is) =
            (last.map(|last| full(last, of(last))).unwrap_or_default(), full(question, of(question)));
        parts.extend(is.iter().filter(|name| !was.contains(name)).map(|name| format!("{add} {name}")));
        parts.extend(was.iter().filter(|name| !is.contains(name)).map(|name| format!("{take} {name}")));
    };
    lists(|reading| &reading.out, "out", "in");
    lists(|reading| &reading.lifted, "lifted", "joined");
    parts.extend(question.with.map(|with| format!("with {}", with.kind.write().excerpt())));
    parts.join(", ")
}

/// The reading that is suggested taken down wrong, then changed to what it is; whether there is one.
fn changed(walk: &mut Walk<Listed<'_>>, hand: &mut Hand<'_>, of: usize) -> bool {
    let number = items(&walk.job().readings).len() + 1;
    // A verdict on the last one wrong is a long one, and says no more.
    let Some(question) = suggested(walk).filter(|_| number < of) else { return false };
    let wrong = match question.ask {
        Do::Watch => "glow",
        Do::Load => "dim",
        _ => "7",
    };
    let wrong = vec![wrong; items(&question.points).len().max(1)].join(", ");
    let right = hand::typed(&(hand.shows)(&question));
    for answer in [wrong, format!("change {number}"), right] {
        assert!(walk.answer(&answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    true
}

#[test]
fn examples_come_to_the_verdict_of_their_files_whatever_is_between() {
    let knowledge = packs::embedded().unwrap();
    for name in EXAMPLES {
        let walked = Example::new(name, &knowledge);
        let (whole, count, _) = walked.to_the_end(Between::Straight);
        let (expected, found) = (walked.verdict_on(&walked.job), walked.verdict_on(&whole));
        assert_eq!(found.wires.len(), expected.wires.len());
        for (found, expected) in found.wires.iter().zip(&expected.wires) {
            assert_eq!((&found.wire, found.role), (&expected.wire, expected.role), "{name}");
        }
        // Which rows are left unweighed, and stated as such, depends on the order of the readings.
        assert_eq!(found.cables.len(), expected.cables.len(), "{name}");
        for (found, expected) in found.cables.iter().zip(&expected.cables) {
            assert_eq!(found.ends, expected.ends, "{name}");
            assert!((found.p - expected.p).abs() < 2e-4, "{name}: {found:?}, {expected:?}");
        }
        assert!(!items(&whole.proofs).is_empty(), "{name}: nothing was proved dead");
        assert!(
            items(&whole.done).iter().any(|said| said.contains("line to neutral")),
            "{name}: {:?}",
            whole.done
        );
        let readings = items(&whole.readings).len();
        for between in [Between::Dropped, Between::Detours, Between::Own, Between::Changed] {
            let (other, answers, times) = walked.to_the_end(between);
            // What was seen and read is the same, and so is the verdict on it.
            assert_eq!(other.boxes, whole.boxes, "{name}");
            assert_eq!(items(&other.readings).len(), readings);
            for (other, one) in items(&other.readings).iter().zip(items(&whole.readings)) {
                assert!(same_question(other, one) && other.reads == one.reads, "{name}: {other:?}, {one:?}");
            }
            let least = if matches!(between, Between::Own | Between::Changed) { readings - 1 } else { 26 };
            assert!(times >= least, "{name}: {times}");
            match between {
                Between::Dropped => println!("{name}: dropped {times} times in {answers} answers"),
                Between::Detours => println!("{name}: {count} answers; {times} detours"),
                Between::Own => println!("{name}: {times} readings of one's own"),
                _ => println!("{name}: {times} readings changed"),
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
