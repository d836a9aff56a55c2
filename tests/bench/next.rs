//! From an answer to the next suggestion, as whole processes: `lath record` writes the answer down, `lath next` reads the
//! call anew. Calls in drawn houses, played to their end by what is suggested.
//!
//! `LATH_RUNS=200` times so many answers of each kind of call (20 unless given).

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark prints its figures"
)]

use lath::files::to_yaml;
use lath::plan::Next;
use lath::practice::{Building, Features, Scheme, Slips, Teller, draw};
use std::ffi::OsStr;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// At most so many answers of one call are timed.
const MOST: usize = 15;

fn lath(arguments: &[&OsStr]) -> (f64, Output, f64) {
    let start = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_lath"));
    let child = command.args(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let (id, ended) = (child.id(), AtomicBool::new(false));
    std::thread::scope(|scope| {
        let watcher = scope.spawn(|| {
            let mut peak: f64 = 0.0;
            while !ended.load(Ordering::Relaxed) {
                peak = peak.max(held(id));
                std::thread::sleep(Duration::from_millis(1));
            }
            peak
        });
        let output = child.wait_with_output().unwrap();
        let took = start.elapsed().as_secs_f64() * 1e3;
        ended.store(true, Ordering::Relaxed);
        (took, output, watcher.join().unwrap())
    })
}

/// The most memory that a process has held, in MB; 0 where the system does not say.
fn held(id: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|line| line.trim().trim_end_matches(" kB").trim().parse::<f64>().ok());
    kilobytes.unwrap_or(0.0) / 1e3
}

/// Milliseconds of `lath record`, of `lath next`, the most memory that this held as far as seen, and the prior mass that was
/// not listed.
struct Timed {
    record: f64,
    next: f64,
    peak: f64,
    uncovered: f64,
}

/// Plays a call by what is suggested, until it ends or enough was timed.
fn play(building: &Building, job: &Path, left: usize, timed: &mut Vec<Timed>) {
    std::fs::write(job, to_yaml(&building.survey())).unwrap();
    let mut opened = building.clone();
    opened.outlets.iter_mut().for_each(|outlet| outlet.opened |= outlet.known);
    let mut teller = Teller::new(&opened, Slips::none());
    let next = || {
        let (took, output, peak) = lath(&["next".as_ref(), job.as_ref(), "--json".as_ref()]);
        let text = String::from_utf8(output.stdout).unwrap();
        (took, peak, serde_json::from_str::<Next>(&text).unwrap_or_else(|error| panic!("{error}: {text}")))
    };
    let (.., mut said) = next();
    for _ in 0..left.min(MOST) {
        let Some(first) = said.suggestions.first().filter(|first| first.ask != "open") else { return };
        let Ok(read) = teller.take(&first.question()) else { return };
        let reading = serde_json::to_string(&read).unwrap();
        let (record, output, _) =
            lath(&["record".as_ref(), job.as_ref(), "--reading".as_ref(), reading.as_ref()]);
        assert!(output.status.success(), "{}\n{reading}", String::from_utf8_lossy(&output.stderr));
        let (took, peak);
        (took, peak, said) = next();
        timed.push(Timed { record, next: took, peak, uncovered: said.candidates.uncovered });
    }
}

/// The value that this share of some values does not exceed (nearest rank).
fn rank(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let rank = (share * values.len() as f64).ceil() as usize;
    values.get(rank.clamp(1, values.len().max(1)) - 1).copied().unwrap_or(f64::NAN)
}

fn measure(name: &str, features: &Features, bar: f64, runs: usize) {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("call.yaml");
    let mut timed = Vec::new();
    let mut houses = 0;
    for seed in 0.. {
        if timed.len() >= runs || seed > 20 * runs as u64 {
            break;
        }
        let left = runs - timed.len();
        play(&draw(seed, features), &job, left, &mut timed);
        houses += 1;
    }
    let of = |get: &dyn Fn(&Timed) -> f64, share| rank(timed.iter().map(get).collect(), share);
    println!(
        "{name:56} {:4} answers, {houses:3} houses: next p50 {:7.1}, p95 {:7.1} (bar {bar:.0}); record and next p50 {:7.1}, \
         p95 {:7.1}; {:.0} MB and uncovered {:.4} at most",
        timed.len(),
        of(&|timed| timed.next, 0.5),
        of(&|timed| timed.next, 0.95),
        of(&|timed| timed.record + timed.next, 0.5),
        of(&|timed| timed.record + timed.next, 0.95),
        of(&|timed| timed.peak, 1.0),
        of(&|timed| timed.uncovered, 1.0),
    );
}

fn main() {
    let runs = std::env::var("LATH_RUNS").ok().and_then(|runs| runs.parse().ok()).unwrap_or(20).max(1);
    let bare = Features::bare(Scheme::Conventional);
    let apart = |apart: [f64; 2]| Features { apart, ..bare.clone() };
    let largest = Features { four_way: 1.0, junction: 1.0, buried: 1.0, second_light: 1.0, ..bare.clone() };
    println!("from an answer to the next suggestion, whole processes, milliseconds");
    let rows = [
        ("two three-ways as found", &bare, 20.0),
        ("two three-ways, one box apart", &apart([1.0, 0.0]), 20.0),
        ("two three-ways, both boxes apart", &apart([1.0, 1.0]), 150.0),
        ("three-ways, four-ways, two lights, a buried box", &largest, 150.0),
    ];
    let only = std::env::var("LATH_ONLY").unwrap_or_default();
    for (name, features, bar) in rows.into_iter().filter(|(name, ..)| name.contains(&only)) {
        measure(name, features, bar, runs);
    }
}
