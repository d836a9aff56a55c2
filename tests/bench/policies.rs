//! Minutes and readings to settle, by ways to choose the next reading: lath's; what tells most whatever it costs; anything
//! that tells something; and two orders of readings written down as scripts. All go through the same drawn houses, with the
//! same prices, and stop by the same rule. For houses with few wirings left, lath beside the least that any way could take.
//!
//! `LATH_HOUSES=300` draws so many plain pairs of three-ways, `LATH_USUAL=30` so many houses of the usual kind, which take
//! longer (a tenth as many unless given); `LATH_SEED=7` begins there, `LATH_TALK=1` prints each house. `LATH_WRONG=FOLDER` writes
//! down each call that settled a role wrong, with what is in the walls. `LATH_ONLY=optimum` or `LATH_ONLY=policies` does one half,
//! `LATH_WAYS=1` goes by the first of the ways alone.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark prints its figures"
)]

#[path = "policies/optimum.rs"]
mod optimum;
#[path = "policies/scripts.rs"]
mod scripts;
#[path = "policies/visit.rs"]
mod visit;

use lath::files::packs;
use lath::knowledge::Knowledge;
use lath::plan::{self, Next, Rule, Wish};
use lath::practice::{Building, Chance, Features, Scheme, draw};
use lath::verdict::State;
use std::time::Instant;
use visit::{Act, Choice, Desk, Outcome, checked, visit};

/// The ways, in the order they are printed.
const WAYS: [&str; 5] = ["lath", "most bits", "any that tells", "careful script", "experienced script"];

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Goes through a house by one of the ways.
fn by(way: usize, seed: u64, building: &Building, knowledge: &Knowledge) -> Outcome {
    let mut chance = Chance::new(seed);
    match way {
        0 => visit(building, knowledge, |desk| {
            chosen(plan::advise(&desk.call, desk.knowledge, &desk.space, &mut desk.ledger, Wish::default()).1)
        }),
        1 => visit(building, knowledge, |desk| {
            let rule = &mut Rule::MostBits;
            chosen(plan::by_rule(&desk.call, desk.knowledge, &desk.space, &mut desk.ledger, rule).1)
        }),
        2 => visit(building, knowledge, |desk| {
            let mut below = |n: usize| chance.below(n);
            let rule = &mut Rule::Any(&mut below);
            chosen(plan::by_rule(&desk.call, desk.knowledge, &desk.space, &mut desk.ledger, rule).1)
        }),
        _ => scripted(building, knowledge, way == 3),
    }
}

/// The first suggestion, or why there is none.
fn chosen(next: Next) -> Choice {
    match next.suggestions.into_iter().next() {
        Some(first) => {
            Choice::Act(Box::new(Act { question: first.question(), minutes: Some(first.minutes) }))
        }
        None if next.state == State::Settled => Choice::Settled,
        None => Choice::Exhausted,
    }
}

fn scripted(building: &Building, knowledge: &Knowledge, careful: bool) -> Outcome {
    let mut all = building.clone();
    all.outlets.iter_mut().for_each(|outlet| {
        outlet.opened |= outlet.known && outlet.reach != lath::house::Reach::Blocked;
    });
    let (shut, open) = (checked(&building.survey()), checked(&all.survey()));
    let acts = if careful { scripts::careful(&shut, &open) } else { scripts::experienced(&shut, &open) };
    let mut acts = acts.into_iter();
    visit(building, knowledge, |desk: &mut Desk| {
        let (_, done) = plan::answered(&desk.call, desk.knowledge, &desk.space, &mut desk.ledger);
        match (done, acts.next()) {
            (true, _) => Choice::Settled,
            (false, None) => Choice::Exhausted,
            (false, Some(act)) => Choice::Act(Box::new(act)),
        }
    })
}

/// The value that this share of some values does not exceed (nearest rank).
fn rank(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let rank = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(rank.clamp(1, sorted.len().max(1)) - 1).copied().unwrap_or(f64::NAN)
}

/// Median with quartiles, and the mean.
fn spread(values: &[f64]) -> String {
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    let [low, middle, high] = [0.25, 0.5, 0.75].map(|share| rank(values, share));
    format!("{middle:6.1} ({low:5.1} to {high:6.1}), mean {mean:6.2}")
}

fn policies(name: &str, features: &Features, seeds: std::ops::Range<u64>, knowledge: &Knowledge) {
    let mut all: Vec<[Outcome; WAYS.len()]> = Vec::new();
    let mut took = [0.0; WAYS.len()];
    for seed in seeds {
        let building = draw(seed, features);
        let mut outcomes: [Outcome; WAYS.len()] = Default::default();
        let ways = number("LATH_WAYS").map_or(WAYS.len(), |ways| ways as usize);
        for (way, outcome) in outcomes.iter_mut().enumerate().take(ways) {
            let start = Instant::now();
            *outcome = by(way, seed, &building, knowledge);
            took[way] += start.elapsed().as_secs_f64();
        }
        if number("LATH_TALK").is_some() {
            for (way, outcome) in WAYS.iter().zip(&outcomes) {
                println!("{name} {seed} {way}: {outcome:?}");
            }
        }
        all.push(outcomes);
    }
    print(name, &all, &took);
}

fn print(name: &str, all: &[[Outcome; WAYS.len()]], took: &[f64]) {
    let (kept, left): (Vec<_>, Vec<_>) =
        all.iter().partition(|outcomes| outcomes.iter().any(|outcome| outcome.settled));
    println!(
        "\n{name}: {} houses; {} settled by some way, and {} by none, which are left out below",
        all.len(),
        kept.len(),
        left.len()
    );
    println!("who does not settle a house counts with all the minutes spent on it");
    for (way, who) in WAYS.iter().enumerate() {
        let of = |get: &dyn Fn(&Outcome) -> f64| -> Vec<f64> {
            kept.iter().map(|outcomes| get(&outcomes[way])).collect()
        };
        let sum = |get: &dyn Fn(&Outcome) -> usize| -> usize {
            kept.iter().map(|outcomes| get(&outcomes[way])).sum()
        };
        println!("  {who} ({:.0} s of computing)", took[way]);
        println!("    minutes   {}", spread(&of(&|outcome| outcome.minutes)));
        println!("    readings  {}", spread(&of(&|outcome| outcome.readings as f64)));
        println!("    answers   {}", spread(&of(&|outcome| outcome.answers as f64)));
        println!(
            "    settled {} of {}; capped at {}: {}; contradictions {}; of {} wires {} settled right, {} WRONG",
            sum(&|outcome| usize::from(outcome.settled)),
            kept.len(),
            visit::MOST,
            sum(&|outcome| usize::from(outcome.capped)),
            sum(&|outcome| usize::from(outcome.contradiction)),
            sum(&|outcome| outcome.wires),
            sum(&|outcome| outcome.right),
            sum(&|outcome| outcome.wrong),
        );
        if way > 0 {
            against(&kept, way);
        }
    }
}

/// lath's minutes beside another way's, house by house.
fn against(kept: &[&[Outcome; WAYS.len()]], way: usize) {
    let saved: Vec<f64> = kept.iter().map(|outcomes| outcomes[way].minutes - outcomes[0].minutes).collect();
    let share = |which: &dyn Fn(f64) -> bool| {
        100.0 * saved.iter().filter(|saved| which(**saved)).count() as f64 / saved.len().max(1) as f64
    };
    let whole = |way: usize| kept.iter().map(|outcomes| outcomes[way].minutes).sum::<f64>();
    println!(
        "    lath takes {:.2} of its minutes in all; less in {:.0} % of houses, more in {:.0} %; saves {}",
        whole(0) / whole(way).max(1e-9),
        share(&|saved| saved > 1e-6),
        share(&|saved| saved < -1e-6),
        spread(&saved)
    );
}

fn main() {
    let houses = number("LATH_HOUSES").unwrap_or(3);
    let usually = number("LATH_USUAL").unwrap_or(houses.div_ceil(10));
    let first = number("LATH_SEED").unwrap_or(0);
    let knowledge = packs::embedded().unwrap();
    let plain = Features { light_shut: 0.5, ..Features::bare(Scheme::Conventional) };
    let usual = Features { apart: [0.0; 2], four_way: 0.0, junction: 0.0, ..Features::default() };
    let only = std::env::var("LATH_ONLY").unwrap_or_default();
    if only != "optimum" {
        policies("plain pairs of three-ways", &plain, first..first + houses, &knowledge);
        policies("as found", &usual, first..first + usually, &knowledge);
    }
    if only != "policies" {
        let opened = |features: &Features| Features { light_shut: 0.0, switch_shut: 0.0, ..features.clone() };
        optimum::compare("plain pairs, every box open", &opened(&plain), first..first + houses, &knowledge);
        optimum::compare("as found, every box open", &opened(&usual), first..first + usually, &knowledge);
    }
}
