//! Verdicts on the examples: in process, and as the whole program, from the start of `lath verdict`, or `lath next`, to its
//! end; and the start alone, which is `lath --version`.
//!
//! `LATH_RUNS=200` runs the program so often for each example.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints its figures")]

use criterion::{Criterion, criterion_group, criterion_main};
use lath::files::{self, packs};
use lath::verdict;
use lath::wiring::Options;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "yaml"));
    paths.sort();
    paths
}

fn name(path: &Path) -> String {
    path.file_stem().unwrap().to_string_lossy().into_owned()
}

/// Milliseconds of each run of the program, shortest first.
fn whole_process(arguments: &[&OsStr], runs: usize) -> Vec<f64> {
    let run = |_| {
        let start = Instant::now();
        let output = Command::new(env!("CARGO_BIN_EXE_lath")).args(arguments).output().unwrap();
        let took = start.elapsed().as_secs_f64() * 1e3;
        assert!(output.status.success(), "{arguments:?}");
        took
    };
    let mut times: Vec<f64> = (0..runs).map(run).collect();
    times.sort_by(f64::total_cmp);
    times
}

/// The value that this share of the sorted values does not exceed (nearest rank).
fn percentile(sorted: &[f64], share: f64) -> f64 {
    let rank = (share * sorted.len() as f64).ceil() as usize;
    sorted[rank.clamp(1, sorted.len()) - 1]
}

fn processes(_: &mut Criterion) {
    let runs = std::env::var("LATH_RUNS").ok().and_then(|runs| runs.parse().ok()).unwrap_or(50).max(1);
    let row = |what: &str, arguments: &[&OsStr]| {
        let times = whole_process(arguments, runs);
        println!("{what:40} {:8.1} {:8.1}", percentile(&times, 0.5), percentile(&times, 0.95));
    };
    println!("whole process, {runs} runs each: p50 and p95 in ms");
    row("--version", &["--version".as_ref()]);
    for path in examples() {
        for command in ["verdict", "next"] {
            row(&format!("{command} {}", name(&path)), &[command.as_ref(), path.as_ref(), "--json".as_ref()]);
        }
    }
}

fn verdicts(criterion: &mut Criterion) {
    let knowledge = packs::embedded().unwrap();
    let mut group = criterion.benchmark_group("verdict");
    group.sample_size(10);
    for path in examples() {
        let call = files::load(&path).unwrap().call;
        let reach = || verdict::reach(&call, &knowledge, Options::default());
        group.bench_function(name(&path), |bencher| bencher.iter(reach));
    }
    group.finish();
}

criterion_group!(benches, processes, verdicts);
criterion_main!(benches);
