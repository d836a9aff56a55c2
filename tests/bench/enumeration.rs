//! Listing large spaces of wirings, and the answer-set program on the same surveys in the same run.
//!
//! clingo's figure is ground and solve in process, projected models counted; ours is the whole `Space`: wirings with their
//! walls and weights. Both must count the same.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a benchmark prints its figures"
)]

use criterion::{Criterion, criterion_group, criterion_main};
use lath::files::{self, packs};
use lath::wiring::{Options, Space};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const CASES: [(&str, u8); 4] = [
    ("open-ring-apart", 1),
    ("near-and-far-apart", 1),
    ("in-line-apart", 1),
    ("both-apart-light-unopened", 0),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/wirings")
}

/// Whether python3 has what the answer-set program needs.
fn has_clingo() -> bool {
    let output = Command::new("python3").args(["-c", "import clingo, yaml"]).output();
    output.is_ok_and(|output| output.status.success())
}

/// Wirings counted and seconds taken by the answer-set program.
fn clingo(survey: &Path, buried: u8) -> (usize, f64) {
    let output = Command::new("python3")
        .arg(folder().join("count.py"))
        .arg(survey)
        .args(["--buried", &buried.to_string(), "--time"])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let [count, seconds] = text.split_whitespace().collect::<Vec<_>>()[..] else { panic!("{text}") };
    (count.parse().unwrap(), seconds.parse().unwrap())
}

fn enumeration(criterion: &mut Criterion) {
    let mut knowledge = packs::embedded().unwrap();
    knowledge.habits.prior.unnamed_circuit = 0.0;
    knowledge.schemes.retain(|scheme| ["single-pole", "conventional"].contains(&scheme.scheme.as_str()));
    let compare = has_clingo();
    let mut group = criterion.benchmark_group("enumeration");
    group.sample_size(10);
    for (survey, buried) in CASES {
        let path = folder().join("surveys").join(format!("{survey}.yaml"));
        let house = files::load(&path).unwrap().call.house;
        let list = || Space::new(&house, &knowledge, Options { buried });
        let start = Instant::now();
        let space = list();
        let ours = start.elapsed().as_secs_f64();
        let count = space.projected();
        drop(space);
        assert!(count >= 10_000, "{survey} is too small to be timed: {count}");
        let here = format!("{survey}, {buried} buried: {count} wirings; {ours:.3} s here");
        if compare {
            let (theirs, seconds) = clingo(&path, buried);
            assert_eq!(count, theirs, "{survey}");
            println!("{here}, {seconds:.3} s clingo, which counts {theirs}: {:.1} times", seconds / ours);
        } else {
            println!("{here}; python3 has no clingo and PyYAML to compare with");
        }
        group.bench_function(format!("{survey}-b{buried}"), |bencher| bencher.iter(list));
    }
    group.finish();
}

criterion_group!(benches, enumeration);
criterion_main!(benches);
