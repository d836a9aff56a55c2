//! A walk that is answered with anything: right keys, words of its own commands, and what makes no sense. After every
//! answer the job is one that can be saved and read; at the end all of it is taken back.

use crate::mutate::{Dice, TRAPS, cases, seed, tried};
use lath::call::Call;
use lath::call::job::{Job, items};
use lath::files::{packs, parse_str, to_yaml};
use lath::knowledge::Knowledge;
use lath::plan::{Here, Next, Suggestion};
use lath::show::Style;
use lath::verdict::{self, Verdict};
use lath::walk::{Advice, Adviser, Screen, Walk};
use lath::wiring::{Options, Space};
use std::collections::BTreeMap;

#[path = "../walk/hand.rs"]
#[allow(dead_code, reason = "a walk here is not answered rightly")]
pub mod hand;

use hand::{Listed, before, example, nothing_yet, now};

/// What may be said at any question, and answers that are right at some.
const SAID: &[&str] = &[
    "",
    "y",
    "n",
    "d",
    "l",
    "s",
    "1",
    "2",
    "3",
    "1 2",
    "1 3",
    "2 3",
    "2 2",
    "3 3",
    "0",
    "t",
    "l",
    "i",
    "u",
    "x",
    "?",
    "7",
    "hall",
    "hall, 2",
    "119",
    "119v",
    "OL",
    "0.4",
    "lit",
    "dark",
    "beep",
    "about 60",
    "kitchen receptacle",
    "water pipe",
    "120",
    "undo",
    "skip",
    "skip cannot",
    "skip later",
    "why",
    "state",
    "help",
    "change",
    "change 1",
    "change 99",
    "own",
    "own volts a.white to earth",
    "volts a.black to earth at hall",
    "on, lamp out",
    "off, out switch",
    "a.white 121 volts",
    "stop",
    "black,blue",
    "c2",
    "t t",
    "1 2 t",
    "about 1948",
    "Tarrow, Tarrow & Daughter",
    "l dark",
    "open hall",
    "change hall",
];

/// Asks what the example asks, then says how that stands, not looking further than the known boxes.
struct Quick<'a> {
    listed: Listed<'a>,
    known: Option<(Call, Verdict)>,
}

impl Adviser for Quick<'_> {
    fn advise(&mut self, call: &Call, _: Option<Here>) -> Advice {
        let suggestions: Vec<Suggestion> = self.listed.suggestion(call).into_iter().collect();
        let verdict = if suggestions.is_empty() { self.verdict(call) } else { nothing_yet() };
        let candidates = verdict.candidates.clone();
        let next = Next {
            lath: 1,
            state: verdict.state,
            wires_settled: false,
            candidates,
            suggestions,
            still_on: Vec::new(),
            would_help: Vec::new(),
        };
        Advice { verdict, next }
    }
}

impl Quick<'_> {
    fn verdict(&mut self, call: &Call) -> Verdict {
        if let Some((known, verdict)) = &self.known
            && known == call
        {
            return verdict.clone();
        }
        let space = Space::of_call(call, self.listed.knowledge, Options { buried: 0 });
        let verdict = verdict::within(call, self.listed.knowledge, &space);
        self.known = Some((call.clone(), verdict.clone()));
        verdict
    }
}

fn quick<'a>(job: &Job, knowledge: &'a Knowledge) -> Quick<'a> {
    Quick { listed: Listed::of(job, knowledge), known: None }
}

#[test]
fn a_walk_that_is_answered_with_anything() {
    let knowledge = packs::embedded().unwrap();
    let examples = ["single-pole-loop.yaml", "feed-at-switch.yaml"].map(example);
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let (walks, mut answers, mut changes) = (cases(60), 0, 0);
    for case in 0..walks {
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let whole = dice.one(&examples).clone();
        let start = match case % 3 {
            0 => Job::default(),
            1 => before(&whole),
            _ => Job { history: None, ..whole.clone() },
        };
        let mut said: Vec<String> = Vec::new();
        let (count, changed) = walked(&start, &whole, &knowledge, &mut dice, &mut said, &mut seen, case);
        answers += count;
        changes += changed;
    }
    eprintln!(
        "{walks} walks: {answers} answers, {changes} of them taken, at {} of the questions",
        seen.len()
    );
    assert!(changes * 5 > answers && seen.len() > 25, "{seen:?}");
}

/// One walk, back to its start; how many answers it was, and how many were taken.
fn walked(
    start: &Job,
    whole: &Job,
    knowledge: &Knowledge,
    dice: &mut Dice,
    said: &mut Vec<String>,
    seen: &mut BTreeMap<String, usize>,
    case: usize,
) -> (usize, usize) {
    let mut walk = Walk::resume(start.clone(), quick(whole, knowledge)).unwrap();
    let (mut count, mut changed) = (0, 0);
    for _ in 0..50 {
        *seen.entry(format!("{:?}", walk.place().stage)).or_default() += 1;
        let given = said.join("\n");
        let screen = tried("a walk", case, given.as_bytes(), || {
            for columns in [80, 50] {
                walk.screen().text(&Style::of_width(columns), None);
            }
            walk.screen()
        });
        let answer = answer(&screen, whole, dice);
        said.push(answer.clone());
        let given = said.join("\n");
        let turn = tried("a walk", case, given.as_bytes(), || walk.answer(&answer, &now()));
        count += 1;
        if turn.changed {
            changed += 1;
            let read = parse_str("walked", &to_yaml(walk.job()))
                .unwrap_or_else(|wrong| panic!("{given}\n{wrong}"))
                .job;
            assert_eq!(read, *walk.job(), "{given}");
            if dice.once_in(8) {
                let stage = walk.place().stage;
                walk = Walk::resume(read, quick(whole, knowledge)).unwrap();
                assert_eq!(walk.place().stage, stage, "{given}");
            }
        }
    }
    let given = said.join("\n");
    tried("an undo", case, given.as_bytes(), || while walk.answer("undo", &now()).changed {});
    assert_eq!(walk.job(), start, "{given}");
    (count, changed)
}

/// Mostly one of the answers that are offered, so that a walk gets anywhere.
fn answer(screen: &Screen, whole: &Job, dice: &mut Dice) -> String {
    let key = |dice: &mut Dice| {
        screen.choices.get(dice.below(screen.choices.len())).map(|choice| choice.key.clone())
    };
    match dice.below(10) {
        0..=4 => key(dice).unwrap_or_else(|| dice.word(SAID).to_owned()),
        5 => [key(dice), key(dice)].into_iter().flatten().collect::<Vec<_>>().join(" "),
        6 => {
            let names: Vec<&str> = items(&whole.boxes).iter().map(|outlet| outlet.name.as_str()).collect();
            dice.word(&names).to_owned()
        }
        7 => dice.word(TRAPS).to_owned(),
        8 => format!("{} {}", dice.word(SAID), dice.word(TRAPS)),
        _ => dice.word(SAID).to_owned(),
    }
}

/// A place in the history that no walk wrote is no place to go on from, and no panic.
#[test]
fn a_place_that_nobody_wrote() {
    let knowledge = packs::embedded().unwrap();
    let whole = example("single-pole-loop.yaml");
    let stages = [
        "landing",
        "position",
        "to-neutral",
        "screw",
        "splice",
        "confirm",
        "conditions",
        "instead",
        "customer",
        "shell",
        "work",
    ];
    for stage in stages {
        for more in ["", ", step: 99", ", step: -1", ", step: 9223372036854775807"] {
            let text = to_yaml(&Job { history: None, ..whole.clone() });
            let text = format!("{text}history:\n  - {{undo: [], place: {{stage: {stage}{more}}}}}\n");
            let Ok(loaded) = parse_str("placed", &text) else { continue };
            tried("a place", 0, text.as_bytes(), || {
                let mut walk = Walk::resume(loaded.job, quick(&whole, &knowledge)).unwrap();
                for answer in ["y", "1", "d", "119", "", "undo", "state", "change", "1"] {
                    walk.screen().text(&Style::of_width(80), None);
                    walk.answer(answer, &now());
                }
            });
        }
    }
}
