//! How often verdicts on drawn houses are right, and whether they are as sure as they ought to be: after the first of the
//! readings and after all of them, all true and 3 % wrong, without a defect and with one.
//!
//! `LATH_HOUSES=1000` draws so many fault-free houses, and half as many with a defect; `LATH_ONLY=wrong` takes only the parts
//! whose name has the word in it.

#![allow(
    missing_docs,
    dead_code,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark prints its figures, and shares its judge with a test"
)]

#[path = "../houses/faulty.rs"]
mod faulty;
#[path = "../houses/judge.rs"]
mod judge;

use judge::{Measured, Statement, measure, measure_in, statements, weigh};
use lath::files::{packs, to_yaml};
use lath::knowledge::Knowledge;
use lath::practice::{FAULTS, Features, Slips};

/// Shares of the readings after which a verdict is asked for.
const STAGES: [f64; 4] = [0.1, 0.3, 0.6, 1.0];
/// Where one class of statements ends and the next begins.
const BOUNDS: [f64; 9] = [0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 0.999, 1.0 + 1e-9];
/// Of 100 readings one comes out wrong whenever it is taken, and two by chance.
const SLIPS: [f64; 2] = [0.02, 0.01];

/// Statements by how sure they are: how many, the sum of what was stated, how many are right.
#[derive(Default, Clone)]
struct Reliability {
    classes: [(usize, f64, usize); BOUNDS.len() - 1],
    squares: f64,
}

impl Reliability {
    fn add(&mut self, p: f64, right: bool) {
        let class = BOUNDS[1..].iter().position(|bound| p < *bound).unwrap_or(BOUNDS.len() - 2);
        let (count, stated, held) = &mut self.classes[class];
        *count += 1;
        *stated += p;
        *held += usize::from(right);
        self.squares += (p - f64::from(u8::from(right))).powi(2);
    }

    fn print(&self, name: &str) {
        let all: usize = self.classes.iter().map(|class| class.0).sum();
        let right: usize = self.classes.iter().map(|class| class.2).sum();
        let n = all.max(1) as f64;
        println!(
            "\n{name}: {all} statements, {:.2} % right, Brier score {:.5}",
            100.0 * right as f64 / n,
            self.squares / n
        );
        println!("  stated          count   mean stated   right   95 % of such");
        for (at, (count, stated, held)) in self.classes.iter().enumerate().filter(|(_, class)| class.0 > 0) {
            let (low, high) = wilson(*held, *count);
            println!(
                "  {:5.3} to {:5.3} {count:6}        {:7.4}  {:6.4}   {low:.4} to {high:.4}",
                BOUNDS[at],
                BOUNDS[at + 1].min(1.0),
                stated / *count as f64,
                *held as f64 / *count as f64,
            );
        }
    }
}

/// E. B. Wilson's interval for a share (Journal of the American Statistical Association 22, 1927), 95 %.
fn wilson(right: usize, of: usize) -> (f64, f64) {
    let (n, z) = (of as f64, 1.96);
    let share = right as f64 / n;
    let middle = share + z * z / (2.0 * n);
    let half = z * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z * z / n;
    ((middle - half) / whole, (middle + half) / whole)
}

/// The verdict after some of the readings, held against what was drawn.
fn stages(measured: &Measured, knowledge: &Knowledge, tables: &mut [Reliability]) {
    let readings = measured.job.readings.clone().unwrap_or_default();
    for (share, table) in STAGES.iter().zip(tables) {
        let mut job = measured.job.clone();
        let kept = (share * readings.len() as f64).ceil() as usize;
        job.readings = Some(readings[..kept].to_vec());
        let verdict = weigh("house", &to_yaml(&job), knowledge);
        for Statement { said, p, drawn, .. } in statements(measured, &verdict) {
            table.add(p, said == drawn);
        }
    }
}

fn main() {
    let houses: u64 = std::env::var("LATH_HOUSES").ok().and_then(|n| n.parse().ok()).unwrap_or(10);
    let only = std::env::var("LATH_ONLY").unwrap_or_default();
    let knowledge = packs::embedded().unwrap();
    for (noise, slips) in [("true readings", [0.0; 2]), ("3 % wrong", SLIPS)] {
        let at = |seed: u64| Slips::at(slips[0], slips[1], seed);
        let part = |name: &str, houses: u64, measured: &dyn Fn(u64) -> Option<Measured>| {
            let name = format!("{name}, {noise}");
            if !name.contains(&only) {
                return;
            }
            let mut tables = vec![Reliability::default(); STAGES.len()];
            for measured in (0..houses).filter_map(measured) {
                stages(&measured, &knowledge, &mut tables);
            }
            print_all(&name, &tables);
        };
        let features = Features { apart: [0.0; 2], ..Features::default() };
        part("fault-free", houses, &|seed| Some(measure(seed, &features, at(seed))));
        part("one defect", houses / 2, &|seed| {
            let what = FAULTS[(seed % FAULTS.len() as u64) as usize];
            faulty::spoilt(seed, what).map(|(building, _)| measure_in(seed, building, at(seed)))
        });
    }
}

fn print_all(name: &str, tables: &[Reliability]) {
    for (share, table) in STAGES.iter().zip(tables) {
        table.print(&format!("{name}, first {:.0} % of the readings", 100.0 * share));
    }
}
