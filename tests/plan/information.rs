//! Expected information against numpy, which works it out from the tables by brute force over every possible answer
//! (tests/oracle/information.py).
//!
//! With numpy at hand the comparison is live, on random tables and on those behind real suggestions, and the committed
//! figures for the random ones must still be what numpy says. Without it the committed figures are used, and standard
//! error says so; where the environment has `CI=true`, a missing numpy is a failure. `LATH_WRITE_REFERENCE=1` writes the
//! committed figures anew.

use crate::play::{Truth, play};
use lath::plan::{self, Row, Table, Wish};
use lath::wiring::{Options, Space};
use serde_json::{Value, json};
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// Random tables.
const CASES: u64 = 60;
/// Agreement asked for, in bits.
const BITS: f64 = 1e-9;

/// Steele, Lea and Flood's SplitMix64 (OOPSLA 2014).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// Weights that add up to `whole`, some of them nothing.
    fn shares(&mut self, n: usize, whole: f64) -> Vec<f64> {
        let weights: Vec<f64> =
            (0..n).map(|_| if self.below(3) == 0 { 0.0 } else { self.unit() }).map(|w| w * w).collect();
        let sum: f64 = weights.iter().sum();
        if sum > 0.0 {
            weights.into_iter().map(|weight| weight / sum * whole).collect()
        } else {
            (0..n).map(|at| if at == 0 { whole } else { 0.0 }).collect()
        }
    }
}

fn random(seed: u64) -> Table {
    let mut draw = Draw(seed);
    let (kinds, targets, answers) = (1 + draw.below(6), 1 + draw.below(4), 1 + draw.below(4));
    let words: Vec<usize> = (0..answers).map(|_| 2 + draw.below(4)).collect();
    let other = draw.unit() * 0.05;
    let states = 1 + draw.below(12);
    let p = draw.shares(states, 1.0 - other);
    let row = |p| Row { p, target: draw.below(targets), kind: draw.below(kinds) };
    let states = p.into_iter().map(row).collect();
    let errors = words.iter().map(|_| 0.001 + draw.unit() * 0.05).collect();
    let blind = words.iter().map(|&n| vec![1.0 / 5.0; n]).collect();
    let kinds = (0..kinds).map(|_| words.iter().map(|&n| draw.shares(n, 1.0)).collect()).collect();
    Table { states, targets, other, errors, blind, kinds }
}

/// The tables behind what is offered on the way through some examples.
fn real() -> Vec<Table> {
    let mut tables = Vec::new();
    for name in ["feed-at-switch.yaml", "knob-and-tube.yaml", "single-pole-loop.yaml"] {
        let truth = Truth::of(name);
        let played = play(&truth, Wish::default());
        for step in &played.steps {
            let space = Space::of_call(&step.call, &truth.knowledge, Options::default());
            let offered =
                plan::tables(&step.call, &truth.knowledge, &space, Wish { top: 4, ..Wish::default() });
            for (suggestion, table) in offered {
                let Some(table) = table else { continue };
                assert!((table.weigh().bits - suggestion.bits).abs() <= 1e-6, "{suggestion:?}");
                tables.push(table);
            }
        }
    }
    tables
}

fn exported(table: &Table) -> Value {
    let told: Vec<Vec<u8>> = table.weigh().outcomes.into_iter().map(|outcome| outcome.words).collect();
    json!({ "table": table, "told": told })
}

fn oracle(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/oracle").join(name)
}

/// What numpy makes of tables, or why it does not; twice a table: with answers told apart as here, and with all of them.
fn numpy(tables: &[Table]) -> Result<Vec<[f64; 2]>, String> {
    let mut child = Command::new("python3")
        .arg(oracle("information.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|error| error.to_string())?;
    let sent = serde_json::to_string(&tables.iter().map(exported).collect::<Vec<_>>()).unwrap();
    // Where python has ended already its standard error says why.
    let _ = child.stdin.take().unwrap().write_all(sent.as_bytes());
    let ended = child.wait_with_output().unwrap();
    if ended.status.success() {
        Ok(serde_json::from_slice(&ended.stdout).unwrap())
    } else {
        Err(String::from_utf8_lossy(&ended.stderr).into_owned())
    }
}

fn assert_agree(tables: &[Table], figures: &[[f64; 2]]) {
    assert_eq!(tables.len(), figures.len());
    let mut most: f64 = 0.0;
    for (table, [told, all]) in tables.iter().zip(figures) {
        let bits = table.weigh().bits;
        assert!((bits - told).abs() <= BITS, "{bits} and {told}: {table:?}");
        // What is taken together can only tell less.
        assert!(bits <= all + BITS, "{bits} and {all}");
        most = most.max(all - bits);
    }
    println!("{} tables; answers taken together cost {most:.4} bits at most", tables.len());
}

#[test]
fn expected_information_is_what_numpy_says() {
    let tables: Vec<Table> = (0..CASES).map(random).collect();
    let path = oracle("information.json");
    match numpy(&tables) {
        Ok(figures) => {
            assert_agree(&tables, &figures);
            let real = real();
            assert!(real.len() >= 12, "{}", real.len());
            assert_agree(&real, &numpy(&real).unwrap());
            if std::env::var_os("LATH_WRITE_REFERENCE").is_some() {
                std::fs::write(&path, serde_json::to_string_pretty(&figures).unwrap() + "\n").unwrap();
            }
            let committed: Vec<[f64; 2]> = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
            let apart = figures.iter().flatten().zip(committed.iter().flatten()).map(|(a, b)| (a - b).abs());
            assert!(figures.len() == committed.len() && apart.fold(0.0, f64::max) <= BITS);
        }
        Err(why) => {
            assert!(std::env::var_os("CI").is_none(), "numpy is needed: {why}");
            eprintln!("no numpy: the committed figures are used ({})", why.lines().last().unwrap_or(""));
            let committed: Vec<[f64; 2]> = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
            assert_agree(&tables, &committed);
        }
    }
}
