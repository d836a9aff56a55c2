//! Listing large spaces of wirings, and the answer-set program on the same surveys in the same run.
//!
//! clingo's figure is ground and solve in process, projected models counted; ours is the whole `Space`: wirings with their
//! walls and weights. Both must count the same.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints its figures")]

use criterion::{Criterion, criterion_group, criterion_main};
use lath::files::{self, packs};
use lath::wiring::{Options, Space};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

const CASES: [(&str, u8); 4] = [
    ("open-ring-apart", 1),
    ("near-and-far-apart", 1),
    ("in-line-apart", 1),
    ("both-apart-light-unopened", 0),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/wirings")
}

/// Wirings counted and seconds taken by the answer-set program.
fn clingo(survey: &Path, buried: u8) -> Option<(usize, f64)> {
    let output = Command::new("python3")
        .arg(folder().join("count.py"))
        .arg(survey)
        .args(["--buried", &buried.to_string(), "--time"])
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    let mut numbers =
        text.split(|c: char| !(c.is_ascii_digit() || c == '.')).filter_map(|word| word.parse::<f64>().ok());
    Some((numbers.next()? as usize, numbers.next()?))
}

fn enumeration(criterion: &mut Criterion) {
    let mut knowledge = packs::embedded().unwrap();
    knowledge.schemes.retain(|scheme| ["single-pole", "conventional"].contains(&scheme.scheme.as_str()));
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
        match clingo(&path, buried) {
            Some((theirs, seconds)) => {
                assert_eq!(count, theirs, "{survey}");
                println!(
                    "{survey}, {buried} buried: {count} wirings; {ours:.3} s here, {seconds:.3} s clingo: {:.1} times",
                    seconds / ours
                );
            }
            None => {
                println!("{survey}, {buried} buried: {count} wirings; {ours:.3} s here; no clingo to compare")
            }
        }
        group.bench_function(format!("{survey}-b{buried}"), |bencher| bencher.iter(list));
    }
    group.finish();
}

criterion_group!(benches, enumeration);
criterion_main!(benches);
