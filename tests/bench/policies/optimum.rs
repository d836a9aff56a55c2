//! lath beside the least that any order of readings could take, both reckoned over every answer that may come: answers are
//! right, nothing is broken, and whatever is behind the walls is one of the wirings considered.

use super::rank;
use super::visit::{Desk, checked};
use lath::call::job::{Do, Job, JobAnswer, JobReads};
use lath::knowledge::{ErrorRates, Knowledge};
use lath::plan::{self, Done, Least, Outcome, Reads, Sought, Wish};
use lath::practice::{Features, draw};
use lath::verdict::State;
use std::time::Instant;

/// Houses with more classes are not reckoned.
const MOST_CLASSES: usize = 32;
/// Situations that are looked at for one house before it is given up.
const MOST_SITUATIONS: usize = 150_000;
/// Minutes that differ by less are the same.
const SAME: f64 = 1e-6;
/// Where a call leads with less than this chance it is not followed.
const FAINT: f64 = 2e-3;

/// The packs where no reading is wrong, nothing is broken, and every house is one of the wirings considered.
pub fn exact(knowledge: &Knowledge) -> Knowledge {
    let mut exact = knowledge.clone();
    exact.instruments.errors.values_mut().for_each(|rates| *rates = ErrorRates::default());
    // Not nothing: logs are taken of it.
    exact.habits.prior.something_else = 1e-9;
    exact.defects.prior = 0.0;
    exact
}

/// What lath is expected to take, over all answers; nothing where it ends with the question open or opens a box.
fn by_lath(job: &Job, knowledge: &Knowledge, chance: f64) -> Option<Least> {
    let mut desk = Desk::new(job, knowledge);
    let (_, next) = plan::advise(&desk.call, knowledge, &desk.space, &mut desk.ledger, Wish::default());
    if next.state == State::Settled {
        return Some(Least::default());
    }
    let first = next.suggestions.first().filter(|first| first.question().ask != Do::Open)?;
    let mut sum = Least::default();
    let mut whole = 0.0;
    let likeliest = first.outcomes.iter().map(|outcome| outcome.p).fold(0.0, f64::max);
    // Where all are faint the likeliest stands for them.
    let followed = |outcome: &&Outcome| outcome.p * chance >= FAINT || outcome.p == likeliest;
    for outcome in first.outcomes.iter().filter(followed) {
        let word = |word: &String| JobAnswer::Word(word.clone());
        let mut read = first.question();
        read.reads = Some(match &outcome.reads {
            Reads::One(one) => JobReads::One(word(one)),
            Reads::List(all) => JobReads::List(all.iter().map(word).collect()),
        });
        let mut told = job.clone();
        told.readings.get_or_insert_default().push(read);
        let call = checked(&told);
        let reading = call.readings.last()?;
        let price = plan::price(&desk.call, knowledge, &desk.space, Done::Read(reading))?;
        let rest = by_lath(&told, knowledge, chance * outcome.p)?;
        whole += outcome.p;
        sum.cost += outcome.p * (price.minutes + price.held + rest.cost);
        sum.minutes += outcome.p * (price.minutes + rest.minutes);
        sum.answers += outcome.p * (reading.seen.len() as f64 + rest.answers);
    }
    (whole > 0.0).then(|| Least {
        cost: sum.cost / whole,
        minutes: sum.minutes / whole,
        answers: sum.answers / whole,
    })
}

/// Entropy of what the call asks, in bits.
fn bits(job: &Job, knowledge: &Knowledge) -> f64 {
    let desk = Desk::new(job, knowledge);
    let tables = plan::tables(&desk.call, knowledge, &desk.space, Wish::default());
    let Some((_, Some(table))) = tables.into_iter().next() else { return 0.0 };
    let mut targets = vec![0.0; table.targets];
    table.states.iter().for_each(|row| targets[row.target] += row.p);
    let whole: f64 = targets.iter().sum();
    targets.iter().filter(|p| **p > 0.0).map(|p| -p / whole * (p / whole).log2()).sum()
}

/// Draws houses and prints the ratios.
pub fn compare(name: &str, features: &Features, seeds: std::ops::Range<u64>, knowledge: &Knowledge) {
    let knowledge = exact(knowledge);
    let (mut many, mut given_up, mut open) = (0, 0, 0);
    let mut pairs: Vec<(Least, Least, f64)> = Vec::new();
    let houses = seeds.end - seeds.start;
    for seed in seeds {
        let job = draw(seed, features).survey();
        let mut desk = Desk::new(&job, &knowledge);
        let (verdict, done) = plan::answered(&desk.call, &knowledge, &desk.space, &mut desk.ledger);
        if done || verdict.candidates.classes > MOST_CLASSES || desk.space.uncovered > 0.0 {
            many += 1;
            continue;
        }
        let start = Instant::now();
        let lath = by_lath(&job, &knowledge, 1.0);
        let middle = start.elapsed().as_secs_f64();
        let least = lath
            .map(|lath| plan::least(&desk.call, &knowledge, &desk.space, MOST_SITUATIONS, lath.cost + SAME));
        if std::env::var("LATH_TALK").is_ok() {
            let took = start.elapsed().as_secs_f64() - middle;
            println!(
                "{name} {seed}: {} classes; lath {lath:?} ({middle:.1} s), least {least:?} ({took:.1} s)",
                verdict.candidates.classes
            );
        }
        match (lath, least) {
            (None, _) | (_, None) => open += 1,
            (_, Some(Sought::TooMuch)) => given_up += 1,
            // No order that was looked at does better: lath's is as good as any.
            (Some(lath), Some(Sought::NotBelow)) => pairs.push((lath, lath, bits(&job, &knowledge))),
            // Without the walls that are left out there was no question.
            (_, Some(Sought::Found(least))) if least.cost <= SAME => many += 1,
            (Some(lath), Some(Sought::Found(least))) => pairs.push((lath, least, bits(&job, &knowledge))),
        }
    }
    println!(
        "\n{name}, at most {MOST_CLASSES} classes, no errors: {} of {houses} houses reckoned; {many} with more classes or \
         settled at once, {open} that lath does not settle, {given_up} given up",
        pairs.len()
    );
    print(&pairs);
}

fn print(pairs: &[(Least, Least, f64)]) {
    let row = |what: &str, get: &dyn Fn(&Least) -> f64| {
        let ratio = |(lath, least, _): &(Least, Least, f64)| get(lath) / get(least).max(1e-9);
        let ratios: Vec<f64> = pairs.iter().map(ratio).collect();
        let mean = |of: &dyn Fn(&(Least, Least, f64)) -> f64| {
            pairs.iter().map(of).sum::<f64>() / pairs.len().max(1) as f64
        };
        let (lath, least) = (mean(&|pair| get(&pair.0)), mean(&|pair| get(&pair.1)));
        println!(
            "  {what:34} lath {lath:6.3}, least {least:6.3}: {:.3} in all; house by house median {:.3} ({:.3} to {:.3}), most {:.3}",
            lath / least,
            rank(&ratios, 0.5),
            rank(&ratios, 0.25),
            rank(&ratios, 0.75),
            rank(&ratios, 1.0)
        );
    };
    row("minutes and what is held against", &|least| least.cost);
    row("minutes", &|least| least.minutes);
    row("answers", &|least| least.answers);
    let bound: f64 = pairs.iter().map(|pair| pair.2 / 5.0_f64.log2()).sum();
    let answers: f64 = pairs.iter().map(|pair| pair.0.answers).sum();
    println!(
        "  answers are at most {:.2} times the bound by information (five words to an answer)",
        answers / bound
    );
}
