//! The next reading: what is suggested can be written down as it stands, never endangers anybody, and leads to the end.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a helper of tests may fail as a test does"
)]

mod drawn;
mod information;
mod jumpers;
mod play;
mod present;
mod safe;
mod told;
mod unknown;

use lath::call::job::{Do, Found, Job, JobAnswer, JobInstrument, JobProof, JobReading, JobReads, Why, items};
use lath::call::{Instrument, InstrumentKind};
use lath::files::yaml;
use lath::house::Goal;
use lath::plan::{self, Reads, Suggestion, Wish};
use lath::verdict::{Role, SETTLED, State};
use lath::wiring::{Depth, Options, Space};
use play::{Played, Truth, play, reparsed};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// What the verdict must be, derived by hand; the fields are described in tests/expected/feed-at-switch.yaml.
#[derive(Deserialize)]
struct Expected {
    roles: BTreeMap<String, Role>,
    neutral: BTreeMap<String, Option<Vec<String>>>,
    #[serde(default)]
    free: Vec<[String; 2]>,
}

fn expected(name: &str) -> Expected {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/expected").join(name);
    yaml::pack(name, &std::fs::read_to_string(path).unwrap()).unwrap()
}

/// Settled roles that are not those derived by hand.
fn wrong_roles(played: &Played, expected: &Expected) -> Vec<String> {
    let settled = played.verdict.wires.iter().filter(|wire| wire.p >= SETTLED);
    let free = |wire: &str| expected.free.iter().flatten().any(|name| name == wire);
    let wrong = settled.filter(|wire| expected.roles[&wire.wire] != wire.role && !free(&wire.wire));
    wrong
        .map(|wire| format!("{}: {:?}, not {:?}", wire.wire, wire.role, expected.roles[&wire.wire]))
        .collect()
}

/// Every suggestion offered on the way, a dozen at each step, with the call that it is for.
fn offered(
    truth: &Truth,
    played: &Played,
    wish: Wish,
    mut each: impl FnMut(&play::Step, &Space, &[Suggestion]),
) {
    for step in &played.steps {
        let space = Space::of_call(&step.call, &truth.knowledge, Options::default());
        let next = plan::next(&step.call, &truth.knowledge, &space, Wish { top: 12, ..wish });
        each(step, &space, &next.suggestions);
    }
}

/// A suggestion written down with some answer is a job that checks; each of its outcomes is such an answer.
fn written_down(job: &Job, suggestion: &Suggestion) -> Option<lath::call::Reading> {
    let question = suggestion.question();
    let mut job = job.clone();
    if suggestion.ask == "open" {
        job.skipped.get_or_insert_default().push(JobReading { why: Some(Why::Later), ..question });
        reparsed(&job);
        return None;
    }
    let mut reading = None;
    assert!(!suggestion.outcomes.is_empty(), "{suggestion:?}");
    for outcome in &suggestion.outcomes {
        let word = |word: &String| JobAnswer::Word(word.clone());
        let reads = match &outcome.reads {
            Reads::One(one) => JobReads::One(word(one)),
            Reads::List(all) => JobReads::List(all.iter().map(word).collect()),
        };
        let mut with = job.clone();
        with.readings.get_or_insert_default().push(JobReading { reads: Some(reads), ..question.clone() });
        reading = reparsed(&with).readings.pop();
    }
    reading
}

/// Examples whose wirings are quickly listed.
fn quick() -> Vec<String> {
    let slow = ["four-wire-legs.yaml", "open-ring.yaml", "taken-apart.yaml"];
    play::examples().into_iter().filter(|name| !slow.contains(&name.as_str())).collect()
}

/// Where every wire is told, nothing more is asked; somebody who complains wants to know what is wrong, and nothing read so
/// far tells whether each throw of each switch makes contact (common practice, no source).
#[test]
fn a_complaint_is_not_answered_by_roles() {
    let mut truth = Truth::of("feed-at-switch.yaml");
    let played = play(&truth, Wish::default());
    truth.job.call.get_or_insert_default().complaint = Some("Now and then it stays dark.".into());
    let complained = play(&truth, Wish::default());
    println!("{}\n{}", played.summary(), complained.summary());
    assert!(complained.steps.len() > played.steps.len());
    for played in [played, complained] {
        assert_eq!((played.verdict.state, played.last.state), (State::Settled, State::Settled));
        assert_eq!(wrong_roles(&played, &expected("feed-at-switch.yaml")), Vec::<String>::new());
    }
}

/// OSHA 29 CFR 1910.333(b)(2)(iv)(B), from memory: before it is worked on, what was switched off is tested and verified dead.
#[test]
fn nothing_dead_is_done_while_the_breaker_leaves_something_live() {
    let truth = Truth::of("feed-at-switch.yaml");
    let wish = Wish { top: 12, ..Wish::default() };
    let offered = |job: &Job| {
        let call = reparsed(job);
        let space = Space::of_call(&call, &truth.knowledge, Options::default());
        plan::next(&call, &truth.knowledge, &space, wish).suggestions
    };
    let before = offered(&truth.job);
    let dead = |suggestion: &Suggestion| !suggestion.live;
    let ohms = before.iter().find(|suggestion| suggestion.ask == "ohms").expect("ohms are worth something");
    let question = ohms.question();
    let point = question.between.map(|pair| pair.0).or(question.points.and_then(|all| all.first().cloned()));
    let tested = |volts: f64| JobReading {
        ask: Do::Volts,
        to: Some("earth".to_owned()),
        points: point.clone().map(|point| vec![point]),
        between: None,
        with: Some(InstrumentKind::TwoPole.into()),
        reads: Some(JobReads::List(vec![JobAnswer::Number(volts)])),
        ..ohms.question()
    };
    let mut job = truth.job.clone();
    job.readings.get_or_insert_default().push(tested(120.0));
    let after = offered(&job);
    assert!(!after.is_empty());
    assert!(!after.iter().any(dead), "{after:#?}");
    let proofs = |found: &[Found]| {
        let boxes = items(&job.boxes).iter();
        let each = boxes.flat_map(|outlet| found.iter().map(move |&found| (outlet.name.clone(), found)));
        let with: JobInstrument = InstrumentKind::TwoPole.into();
        Some(each.map(|(at, found)| JobProof { at, time: None, with, on: None, found }).collect())
    };
    let proved = |found: &[Found]| offered(&Job { proofs: proofs(found), ..job.clone() }).iter().any(dead);
    assert!(!proved(&[Found::Dead]), "dead before it was live, for all one knows");
    assert!(!proved(&[Found::Live]));
    assert!(proved(&[Found::Live, Found::Dead]), "what took it off was found");
    job.readings.get_or_insert_default().push(tested(0.0));
    assert!(offered(&job).iter().any(dead), "tested dead again");
}

#[test]
fn examples_are_played_to_the_end() {
    for name in play::examples() {
        let truth = Truth::of(&name);
        let played = play(&truth, Wish::default());
        println!("{name}: {}", played.summary());
        let expected = expected(&name);
        assert_eq!(wrong_roles(&played, &expected), Vec::<String>::new(), "{name}");
        assert_eq!(played.last.state, State::Settled, "{name}");
        assert_eq!(played.verdict.state, State::Settled, "{name}");
        let asked = match reparsed(&played.job).goal {
            Goal::NeutralAt(_) => Vec::new(),
            Goal::Identify | Goal::Repair => played.verdict.wires.iter().collect(),
        };
        assert!(asked.iter().all(|wire| wire.p >= SETTLED), "{name}");
        for (at, neutral) in &expected.neutral {
            let found = played.verdict.boxes.iter().find(|roles| roles.at == *at).unwrap();
            let found = found.neutral.as_ref().map(|neutral| neutral.wires.clone());
            assert!(asked.is_empty() || found.is_some() == neutral.is_some(), "{name} {at}");
        }
    }
}

/// The same with every role asked for, with little to measure with, and without power: whatever is settled is right.
#[test]
fn what_is_settled_on_the_way_is_right() {
    let kinds = |kinds: &[InstrumentKind]| -> Vec<Instrument> {
        kinds.iter().map(|&kind| Instrument { kind, ohms: None, watts: None, resolves: None }).collect()
    };
    use InstrumentKind::{Clamp, Continuity, HighImpedance, LowImpedance, TestLamp, TwoPole};
    let cases = [
        (kinds(&[TwoPole, Continuity]), Wish::default()),
        (kinds(&[LowImpedance, TestLamp]), Wish::default()),
        (kinds(&[HighImpedance, Clamp]), Wish { dead_only: true, ..Wish::default() }),
    ];
    for name in quick() {
        for (owned, wish) in &cases {
            let mut truth = Truth::of(&name);
            truth.identify_with(owned);
            let played = play(&truth, *wish);
            println!(
                "{name} with {:?}: {}",
                owned.iter().map(|i| i.kind).collect::<Vec<_>>(),
                played.summary()
            );
            assert_eq!(wrong_roles(&played, &expected(&name)), Vec::<String>::new(), "{name}");
            assert!(matches!(played.last.state, State::Settled | State::Exhausted), "{name}");
            assert_eq!(played.last.would_help.is_empty(), played.last.state == State::Settled, "{name}");
        }
    }
}

#[test]
fn whatever_is_suggested_can_be_written_down_and_endangers_nobody() {
    let mut seen = 0;
    for name in quick() {
        let mut truth = Truth::of(&name);
        truth.identify_with(&[]);
        for wish in [Wish::default(), Wish { dead_only: true, ..Wish::default() }] {
            let played = play(&truth, wish);
            offered(&truth, &played, wish, |step, space, suggestions| {
                for suggestion in suggestions {
                    let asked = written_down(&step.job, suggestion);
                    let dangers = safe::dangers(&truth, &step.call, space, suggestion, asked.as_ref());
                    assert_eq!(dangers, Vec::<String>::new(), "{name}: {suggestion:#?}");
                    assert!(!(wish.dead_only && suggestion.live), "{name}: {suggestion:?}");
                    seen += 1;
                }
            });
        }
    }
    assert!(seen > 100, "{seen}");
}

/// Common practice, no source: where nothing is known, every wire is read to earth, box by box.
#[test]
fn where_too_much_fits_to_be_listed_wires_are_read_to_earth() {
    let knowledge = lath::files::packs::embedded().unwrap();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/feed-at-switch.yaml");
    let mut job = Job { readings: None, history: None, ..lath::files::load(&path).unwrap().job };
    // A stand-in for a house that is too large: listing one takes long.
    let listed = Space::of_call(&reparsed(&job), &knowledge, Options::default());
    let mut space = listed;
    (space.rows, space.uncovered, space.depth) = (Vec::new(), 1.0, Depth::Twice);
    let mut asked = Vec::new();
    for _ in 0..12 {
        let call = reparsed(&job);
        let next = plan::next(&call, &knowledge, &space, Wish::default());
        assert_eq!(next.state, State::Open);
        let suggestion = next.suggestions.first().unwrap();
        assert!(suggestion.live && !suggestion.cautions.is_empty());
        let question = suggestion.question();
        assert_eq!(
            (question.ask, question.with.as_ref()),
            (Do::Volts, Some(&InstrumentKind::LowImpedance.into()))
        );
        assert_eq!(question.to.as_deref(), Some("earth"));
        assert!(!asked.contains(&question), "asked twice: {question:?}");
        let points = question.points.clone().unwrap();
        asked.push(question.clone());
        let reads = Some(JobReads::List(vec![JobAnswer::Number(0.0); points.len()]));
        job.readings.get_or_insert_with(Vec::new).push(JobReading { reads, ..question });
    }
    let dead = plan::next(&reparsed(&job), &knowledge, &space, Wish { dead_only: true, ..Wish::default() });
    assert!(dead.suggestions.iter().all(|suggestion| !suggestion.live));
}
