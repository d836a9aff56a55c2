//! What must not matter: what boxes, cables and colours are called, in which order things are written down. And what must
//! always hold: probabilities are shares of one whole, however many readings there are and whatever they say.
//!
//! That undo is exact and that what is written is read again is held by `tests/jobfile/`, that a true reading never removes
//! the true wiring by `tests/truth.rs`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests may fail as a test does")]

use lath::call::Call;
use lath::call::job::{Field, Job, JobAnswer, JobReading, JobReads, Node, items, read_job};
use lath::files::{self, packs, parse_str, to_yaml};
use lath::plan;
use lath::predict::Scene;
use lath::verdict::{self, Landing, Verdict};
use lath::weigh::{Evidence, Ledger, Posterior};
use lath::wiring::{Facts, Options, Space};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Figures of a verdict are given to six places; sums in another order end in another last digit.
const CLOSE: f64 = 5e-6;

fn example(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(format!("{name}.yaml"));
    Job { history: None, ..files::load(&path).unwrap().job }
}

/// Examples that are worked out at once, one of them with a box taken apart.
const EXAMPLES: [&str; 5] =
    ["single-pole-loop", "feed-at-switch", "feed-at-upper-switch", "feed-at-light-two-legs", "knob-and-tube"];

fn verdict(job: &Job) -> Verdict {
    // Through the file, as a person would have it.
    let call = parse_str("job", &to_yaml(job)).unwrap_or_else(|wrong| panic!("{wrong}")).call;
    let knowledge = packs::embedded().unwrap();
    let space = Space::of_call(&call, &knowledge, Options { buried: 0 });
    plan::reach(&call, &knowledge, &space)
}

/// Other names for things. What has none here keeps its own.
#[derive(Clone, Debug, Default)]
struct Names {
    boxes: BTreeMap<String, String>,
    tags: BTreeMap<String, String>,
    colours: BTreeMap<String, String>,
}

impl Names {
    fn local(&self, name: &str) -> String {
        let of = |map: &BTreeMap<String, String>, name: &str| map.get(name).cloned();
        match name.split_once('.') {
            Some((tag, wire)) => match of(&self.tags, tag) {
                Some(tag) => format!("{tag}.{}", self.wire(wire)),
                None => name.to_owned(),
            },
            None => of(&self.tags, name).unwrap_or_else(|| self.wire(name)),
        }
    }

    fn wire(&self, wire: &str) -> String {
        let colour = wire.trim_end_matches(|letter: char| letter.is_ascii_digit());
        match self.colours.get(colour) {
            Some(new) => format!("{new}{}", &wire[colour.len()..]),
            None => wire.to_owned(),
        }
    }

    /// A point, a wire, a cable end, a box.
    fn name(&self, name: &str) -> String {
        if let Some(new) = self.boxes.get(name) {
            return new.clone();
        }
        match name.split_once('/') {
            Some((outlet, rest)) => {
                format!("{}/{}", self.boxes.get(outlet).map_or(outlet, String::as_str), self.local(rest))
            }
            None => self.local(name),
        }
    }

    fn node(&self, node: &Node) -> Node {
        match node {
            Node::Text(text) => Node::Text(self.name(text)),
            Node::List(items) => Node::List(items.iter().map(|item| self.node(item)).collect()),
            Node::Map(fields) => {
                Node::Map(fields.iter().map(|(key, value)| (self.name(key), self.node(value))).collect())
            }
            other => other.clone(),
        }
    }

    fn job(&self, job: &Job) -> Job {
        let mut renamed: Job = read_job(&self.node(&job.write())).unwrap();
        if let Some(call) = &mut renamed.call {
            let goal = call.goal.as_deref();
            let at = goal.and_then(|goal| goal.strip_prefix("neutral-at "));
            call.goal = at.map(|at| format!("neutral-at {}", self.name(at))).or(call.goal.clone());
        }
        renamed
    }
}

/// What a verdict says, in the order of names, under other names.
#[derive(PartialEq, Debug)]
struct Said {
    words: BTreeSet<String>,
    figures: BTreeMap<String, f64>,
}

fn said(verdict: &Verdict, names: &Names) -> Said {
    let mut words = BTreeSet::new();
    let mut figures = BTreeMap::new();
    words.insert(format!("{:?}", verdict.state));
    if let Some(arrangement) = &verdict.arrangement {
        words.insert(arrangement.scheme.clone());
        words.insert(format!("fed at {}", names.name(&arrangement.feed.at)));
        figures.insert("scheme".to_owned(), arrangement.scheme_p);
        figures.insert("feed".to_owned(), arrangement.feed.p);
    }
    for wire in &verdict.wires {
        let name = names.name(&wire.wire);
        words.insert(format!("{name} {:?} {:?}", wire.role, wire.circuit));
        figures.insert(name.clone(), wire.p);
        // Shares at the edge of what is told may be told or not.
        let told = wire.others.iter().filter(|(_, p)| **p > 2e-3);
        figures.extend(told.map(|(role, p)| (format!("{name} {role:?}"), *p)));
    }
    for cable in &verdict.cables {
        let mut ends = cable.ends.clone().map(|end| names.name(&end));
        ends.sort();
        figures.insert(ends.join(" - "), cable.p);
    }
    for landing in &verdict.landing {
        match landing {
            Landing::Joints { at, joints } => {
                let joint =
                    |points: &Vec<String>| points.iter().map(|p| names.name(p)).collect::<BTreeSet<_>>();
                let joints: BTreeSet<_> = joints.iter().map(joint).collect();
                words.insert(format!("{}: {joints:?}", names.name(at)));
            }
            Landing::Refused { at, .. } => drop(words.insert(format!("{} refused", names.name(at)))),
        }
    }
    for defect in &verdict.defects {
        figures.insert(format!("{:?} {}", defect.what, names.name(&defect.at)), defect.p);
    }
    Said { words, figures }
}

fn same(one: &Said, other: &Said, what: &str) -> Result<(), TestCaseError> {
    prop_assert_eq!(&one.words, &other.words, "{}", what);
    let keys = |said: &Said| said.figures.keys().cloned().collect::<BTreeSet<_>>();
    prop_assert_eq!(keys(one), keys(other), "{}", what);
    for (key, figure) in &one.figures {
        let other = other.figures[key];
        prop_assert!((figure - other).abs() < CLOSE, "{}: {}: {} and {}", what, key, figure, other);
    }
    Ok(())
}

fn run<S: Strategy>(cases: u32, strategy: &S, test: impl Fn(S::Value) -> Result<(), TestCaseError>) {
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    if let Err(wrong) = TestRunner::new(config).run(strategy, test) {
        panic!("{wrong}");
    }
}

fn shuffled<T: Clone + std::fmt::Debug + 'static>(all: &[T]) -> impl Strategy<Value = Vec<T>> + use<T> {
    Just(all.to_vec()).prop_shuffle()
}

/// Words that are no names in any example.
const OTHER: [&str; 8] = ["zinc", "alder", "moss", "quay", "10", "brick", "lower e", "No 3"];
const LETTERS: [&str; 6] = ["z", "k", "m1", "q", "2", "left"];

fn renamed(old: impl Iterator<Item = String>, new: &[&str]) -> BTreeMap<String, String> {
    let old: BTreeSet<String> = old.collect();
    assert!(old.len() <= new.len());
    old.into_iter().zip(new.iter().map(|name| (*name).to_owned())).collect()
}

#[test]
fn names_of_boxes_and_cables_are_only_names() {
    for name in EXAMPLES {
        let job = example(name);
        let known = verdict(&job);
        run(3, &(shuffled(&OTHER), shuffled(&LETTERS)), |(boxes, tags)| {
            let outlets = items(&job.boxes);
            let cables = outlets.iter().flat_map(|outlet| items(&outlet.cables));
            let names = Names {
                boxes: renamed(outlets.iter().map(|outlet| outlet.name.clone()), &boxes),
                tags: renamed(cables.map(|cable| cable.tag.clone()), &tags),
                ..Names::default()
            };
            same(&said(&known, &names), &said(&verdict(&names.job(&job)), &Names::default()), name)
        });
    }
}

/// Colours about which there is a habit say something; others only tell wires apart.
#[test]
fn colours_without_a_habit_only_tell_wires_apart() {
    let knowledge = packs::embedded().unwrap();
    let plain = ["blue", "brown", "yellow", "orange", "violet"];
    assert!(plain.iter().all(|colour| !knowledge.habits.colours.contains_key(*colour)));
    for name in ["single-pole-loop", "feed-at-switch", "feed-at-upper-switch", "feed-at-light-two-legs"] {
        let colours = |to: &[&str]| {
            let old = ["black", "red", "white"].map(str::to_owned);
            Names { tags: tags(&example(name)), colours: renamed(old.into_iter(), to), ..Names::default() }
        };
        let first = colours(&plain);
        let job = first.job(&example(name));
        let known = said(&verdict(&job), &Names::default());
        run(3, &shuffled(&plain), |to| {
            let again = colours(&to).job(&example(name));
            // Back to the first colours, to compare.
            let back = renamed_back(&to, &plain);
            let names = Names { tags: tags(&example(name)), colours: back, ..Names::default() };
            same(&known, &said(&verdict(&again), &names), name)
        });
    }
}

/// Every tag by its own name, so that what stands behind it is known for a wire.
fn tags(job: &Job) -> BTreeMap<String, String> {
    let cables = items(&job.boxes).iter().flat_map(|outlet| items(&outlet.cables));
    cables.map(|cable| (cable.tag.clone(), cable.tag.clone())).collect()
}

fn renamed_back(from: &[&str], to: &[&str]) -> BTreeMap<String, String> {
    from.iter().zip(to).map(|(from, to)| ((*from).to_owned(), (*to).to_owned())).collect()
}

#[test]
fn the_order_of_readings_is_no_evidence() {
    for name in EXAMPLES {
        let job = example(name);
        let known = said(&verdict(&job), &Names::default());
        run(3, &shuffled(items(&job.readings)), |readings| {
            let other = Job { readings: Some(readings), ..job.clone() };
            same(&known, &said(&verdict(&other), &Names::default()), name)
        });
    }
}

#[test]
fn the_order_in_which_a_survey_is_written_down_is_none_either() {
    for name in EXAMPLES {
        let job = example(name);
        let known = said(&verdict(&job), &Names::default());
        run(3, &(shuffled(items(&job.boxes)), any::<bool>()), |(mut boxes, turn)| {
            for outlet in boxes.iter_mut().filter(|_| turn) {
                outlet.cables.iter_mut().for_each(|all| all.reverse());
                outlet.joints.iter_mut().for_each(|all| all.reverse());
                outlet.joints.iter_mut().flatten().for_each(|joint| joint.points.reverse());
                outlet.cables.iter_mut().flatten().for_each(|cable| cable.wires.reverse());
            }
            let other = Job { boxes: Some(boxes), ..job.clone() };
            same(&known, &said(&verdict(&other), &Names::default()), name)
        });
    }
}

/// Whatever is answered, and however often: what fits, what nothing describes, and what was left out are the whole.
#[test]
fn posteriors_add_up_however_many_readings() {
    let knowledge = packs::embedded().unwrap();
    for name in EXAMPLES {
        let job = example(name);
        let call = parse_str("job", &to_yaml(&job)).unwrap().call;
        let space = Space::of_call(&call, &knowledge, Options { buried: 0 });
        let facts = Facts::new(&call.house);
        let scene = Scene::new(&call.house, &facts);
        let all = items(&job.readings).to_vec();
        let drawn =
            prop::collection::vec((any::<prop::sample::Index>(), any::<[prop::sample::Index; 8]>()), 0..40);
        run(12, &drawn, |drawn| {
            let answered = drawn.iter().map(|(at, answers)| answered(at.get(&all), answers));
            let job = Job { readings: Some(answered.collect()), ..job.clone() };
            let call = parse_str("job", &to_yaml(&job)).unwrap_or_else(|wrong| panic!("{wrong}")).call;
            let evidence = Evidence::new(&scene, &call, &knowledge.instruments);
            let posterior = Posterior::new(&scene, &space, &evidence, knowledge.habits.prior.something_else);
            let rows: f64 = posterior.rows.iter().map(|row| row.p).sum();
            let whole = rows + posterior.something_else;
            prop_assert!(whole <= 1.0 + 1e-9, "{}: {} after {} readings", name, whole, drawn.len());
            prop_assert!(whole + posterior.uncovered >= 1.0 - 1e-9, "{}: {} is missing", name, 1.0 - whole);
            for row in &posterior.rows {
                let senses: f64 = row.senses.iter().sum();
                prop_assert!((senses - row.p).abs() < 1e-9, "{}: {} and {}", name, senses, row.p);
            }
            Ok(())
        });
    }
}

/// The same question with other answers.
fn answered(reading: &JobReading, answers: &[prop::sample::Index]) -> JobReading {
    use lath::call::job::Do;
    let words: &[&str] = match reading.ask {
        Do::Volts => &["0", "119", "60", "20"],
        Do::Ohms => &["0.2", "16", "1000", "open"],
        Do::Amps => &["0", "0.5"],
        Do::Load => &["bright", "dim", "none"],
        Do::Watch => &["lit", "dark", "dim"],
        Do::Open => return reading.clone(),
    };
    let mut answers = answers.iter().cycle();
    let mut answer = || {
        let word = words[answers.next().unwrap().index(words.len())];
        word.parse().map_or_else(|_| JobAnswer::Word(word.to_owned()), JobAnswer::Number)
    };
    let reads = match &reading.reads {
        Some(JobReads::One(_)) => JobReads::One(answer()),
        Some(JobReads::List(all)) => JobReads::List(all.iter().map(|_| answer()).collect()),
        _ => return reading.clone(),
    };
    JobReading { reads: Some(reads), ..reading.clone() }
}

/// What is left unweighed is less than this, and may differ.
const MAY_MISS: f64 = 2e-4;

/// A verdict that goes on from the one before is the one from the start; also when readings were taken back.
#[test]
fn a_verdict_that_goes_on_is_the_one_from_the_start() {
    let knowledge = packs::embedded().unwrap();
    for name in EXAMPLES {
        let call = parse_str("job", &to_yaml(&example(name))).unwrap().call;
        let unread = Call { readings: Vec::new(), ..call.clone() };
        let space = Space::of_call(&unread, &knowledge, Options { buried: 0 });
        let mut ledger = Ledger::default();
        let all = call.readings.len();
        for count in (0..=all).chain([all / 2, all, 0]) {
            let early = Call { readings: call.readings[..count].to_vec(), ..call.clone() };
            let going_on = verdict::following(&early, &knowledge, &space, &mut ledger);
            let anew = verdict::within(&early, &knowledge, &space);
            let said =
                |verdict: &Verdict| (verdict.state, verdict.landing.clone(), verdict.disbelieved.len());
            assert_eq!(said(&going_on), said(&anew), "{name}, {count} readings");
            for (one, other) in going_on.wires.iter().zip(&anew.wires) {
                let same = one.role == other.role && (one.p - other.p).abs() < MAY_MISS;
                assert!(same, "{name}, {count} readings: {one:?} {other:?}");
            }
        }
    }
}
