//! What was changed and is a job all the same is worked out to the last page: any survey that can be written down has a
//! verdict, a suggestion, a diagram, a note.

use crate::mutate::{Dice, cases, jobs, mutated, seed, tried};
use lath::call::Call;
use lath::files::{self, Loaded, packs, parse_bytes, yaml};
use lath::knowledge::Knowledge;
use lath::plan::{self, Wish};
use lath::show::note::{self, Header, Note, Reader};
use lath::show::{self, Style};
use lath::verdict::Verdict;
use lath::wiring::{Options, Space};

/// Surveys that are worked out at once.
const QUICK: [&str; 8] = [
    "examples/single-pole-loop.yaml",
    "examples/feed-at-switch.yaml",
    "examples/feed-at-upper-switch.yaml",
    "examples/feed-at-light-two-legs.yaml",
    "tests/oracle/wirings/surveys/loop.yaml",
    "tests/oracle/wirings/surveys/loop-apart.yaml",
    "tests/oracle/wirings/surveys/one-box.yaml",
    "tests/oracle/wirings/surveys/in-line.yaml",
];

#[test]
fn whatever_is_a_job_has_a_verdict() {
    let knowledge = packs::embedded().unwrap();
    let jobs: Vec<String> =
        jobs().into_iter().filter(|(name, _)| QUICK.contains(&name.as_str())).map(|(_, text)| text).collect();
    assert_eq!(jobs.len(), QUICK.len());
    let (all, mut worked) = (cases(40), 0);
    let mut case = 0;
    while worked < all {
        case += 1;
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let text = dice.one(&jobs).clone();
        let given = mutated(&text, &jobs, &mut dice);
        if given == text.as_bytes() {
            continue;
        }
        let Ok(loaded) = parse_bytes("job.yaml", &given) else { continue };
        tried("a job", case, &given, || worked_out(&loaded, &knowledge));
        worked += 1;
    }
    eprintln!("{worked} changed jobs worked out, of {case} changed");
}

fn worked_out(loaded: &Loaded, knowledge: &Knowledge) {
    let call = &loaded.call;
    let space = Space::of_call(call, knowledge, Options { buried: 0 });
    let (verdict, next) = plan::advise(
        call,
        knowledge,
        &space,
        &mut lath::weigh::Ledger::default(),
        Wish { top: 3, ..Wish::default() },
    );
    makes_sense(&verdict);
    for suggestion in &next.suggestions {
        assert!(suggestion.minutes > 0.0 && suggestion.bits.is_finite(), "{suggestion:?}");
    }
    pages(loaded, &verdict, knowledge);
    show::next::text(call, &next, &Style::of_width(80));
    serde_json::to_string(&next).unwrap();
}

/// A share is a share.
pub fn makes_sense(verdict: &Verdict) {
    for wire in &verdict.wires {
        let all: f64 = wire.p + wire.others.values().sum::<f64>();
        assert!((0.0..=1.0).contains(&wire.p) && all < 1.0 + 1e-5, "{wire:?}");
    }
    assert!((0.0..=1.0).contains(&verdict.candidates.uncovered), "{:?}", verdict.candidates);
    assert!(verdict.candidates.bits >= 0.0, "{:?}", verdict.candidates);
}

fn pages(loaded: &Loaded, verdict: &Verdict, knowledge: &Knowledge) {
    let (call, cautions) = (&loaded.call, &knowledge.cautions);
    let house = &call.house;
    let pack = files::conditions::embedded().unwrap();
    for style in [Style::of_width(80), Style { plain: true, ..Style::of_width(50) }] {
        show::verdict::text(call, verdict, cautions, &style);
        show::tags::text(house, verdict, cautions, &style);
        show::draw::text(house, verdict, &style);
    }
    show::picture::svg::file(&show::picture::picture(house, verdict));
    show::draw::dot(house, verdict);
    let header = Header::of(&loaded.job);
    let note = Note { header: &header, call, verdict, cautions, pack: &pack, reader: Reader::Customer };
    note::html::text(&note::document(&note, &Style::of_width(80)));
}

/// A scheme, habits or figures that were changed and are still a pack do not bring down what is worked out with them.
#[test]
fn whatever_is_a_pack_can_be_worked_with() {
    let packs = packs::all();
    let texts: Vec<String> = packs.iter().map(|(_, _, text)| (*text).to_owned()).collect();
    let (_, text) = jobs().into_iter().find(|(name, _)| name == QUICK[0]).unwrap();
    let call = files::parse_str("job", &text).unwrap().call;
    let known = packs::embedded().unwrap();
    let (all, mut worked, mut case) = (cases(25), 0, 0);
    while worked < all {
        case += 1;
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let (name, kind, text) = dice.one(&packs);
        let given = mutated(text, &texts, &mut dice);
        if given == text.as_bytes() {
            continue;
        }
        let Some(knowledge) =
            String::from_utf8(given.clone()).ok().and_then(|text| with(&known, name, *kind, &text))
        else {
            continue;
        };
        tried("a pack", case, &given, || settled(&call, &knowledge));
        worked += 1;
    }
    eprintln!("{worked} changed packs worked with, of {case} changed");
}

fn settled(call: &Call, knowledge: &Knowledge) {
    let space = Space::of_call(call, knowledge, Options { buried: 0 });
    makes_sense(&plan::reach(call, knowledge, &space));
}

/// The packs with another text for one of them, where it is one.
fn with(known: &Knowledge, name: &str, kind: packs::Kind, text: &str) -> Option<Knowledge> {
    let mut knowledge = known.clone();
    packs::check(name, text).ok()?;
    match kind {
        packs::Kind::Scheme => {
            let scheme: lath::knowledge::Scheme = yaml::pack(name, text).ok()?;
            let stem = name.rsplit('/').next()?.trim_end_matches(".yaml");
            let place = knowledge.schemes.iter_mut().find(|known| known.scheme == stem)?;
            *place = scheme;
        }
        packs::Kind::Attachment => knowledge.attachments.push(yaml::pack(name, text).ok()?),
        packs::Kind::Defects => knowledge.defects = yaml::pack(name, text).ok()?,
        packs::Kind::Habits => knowledge.habits = yaml::pack(name, text).ok()?,
        packs::Kind::Effort => knowledge.effort = yaml::pack(name, text).ok()?,
        packs::Kind::Instruments => knowledge.instruments = yaml::pack(name, text).ok()?,
        packs::Kind::Cautions | packs::Kind::Conditions => return None,
    }
    Some(knowledge)
}
