//! How time and memory grow with boxes, switches and defects: `cargo bench --bench growth`.
//!
//! Houses as `lath::practice` draws them, switch boxes open and the lights' boxes shut; of each a verdict and the next
//! reading, from the survey alone and after every reading worth taking, each in a process of its own, so that its peak is
//! its own. `LATH_HOUSES=20` draws so many houses a row (3 unless given), `LATH_SECONDS=120` is how long a process may
//! take (20 unless given); one that takes longer is ended and counted as not done.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a benchmark prints its figures"
)]

use lath::files::{self, packs, to_yaml};
use lath::plan::{self, Wish};
use lath::practice::{Building, Chance, FAULTS, Features, Scheme, Slips, draw, technician};
use lath::wiring::{Options, Space};
use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// As in the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Names the job that a process of its own is to work out.
const JOB: &str = "LATH_GROWTH";

/// What came of one job: wirings listed, prior mass that was not, seconds, and the peak in MB (0 where the system does not
/// say).
struct Grown {
    wirings: f64,
    uncovered: f64,
    verdict: f64,
    next: f64,
    peak: f64,
}

/// Works a job out and prints what it took.
fn work_out(job: &OsString) {
    let knowledge = packs::embedded().unwrap();
    let call = files::load(Path::new(job)).unwrap().call;
    let start = Instant::now();
    let space = Space::of_call(&call, &knowledge, Options::default());
    let listed: usize = space.rows.iter().map(|row| row.wirings.len()).sum();
    let verdict = plan::reach(&call, &knowledge, &space);
    let reached = start.elapsed().as_secs_f64();
    let next = plan::next(&call, &knowledge, &space, Wish::default());
    let both = start.elapsed().as_secs_f64();
    std::hint::black_box(next);
    let uncovered = verdict.candidates.uncovered;
    println!("{listed} {uncovered} {reached} {} {}", both - reached, peak());
}

/// The most memory this process has held, in MB.
fn peak() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kilobytes = line.and_then(|line| line.trim().trim_end_matches(" kB").trim().parse::<f64>().ok());
    kilobytes.unwrap_or(0.0) / 1e3
}

/// The same in a process of its own; nothing where that takes too long.
fn apart(job: &Path, patience: Duration) -> Option<Grown> {
    let program = std::env::current_exe().unwrap();
    let mut child = Command::new(program).env(JOB, job).stdout(Stdio::piped()).spawn().unwrap();
    let start = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if start.elapsed() > patience {
            child.kill().unwrap();
            child.wait().unwrap();
            return None;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    let output = child.wait_with_output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let figures: Vec<f64> = text.split_whitespace().map(|word| word.parse().unwrap()).collect();
    let [wirings, uncovered, verdict, next, peak] = figures[..] else { panic!("{}: {text}", output.status) };
    Some(Grown { wirings, uncovered, verdict, next, peak })
}

/// Houses of one row: what is drawn, and of that what is kept.
struct Row {
    name: String,
    features: Features,
    boxes: Option<usize>,
    switches: usize,
    defects: usize,
}

impl Row {
    /// The house of a seed, if it is one for this row.
    fn house(&self, seed: u64) -> Option<Building> {
        let mut building = draw(seed, &self.features);
        let boxes = building.outlets.iter().filter(|outlet| outlet.known).count();
        let fits =
            self.boxes.is_none_or(|wanted| wanted == boxes) && building.switches().count() == self.switches;
        let mut chance = Chance::new(seed);
        let mut faults = FAULTS;
        chance.shuffle(&mut faults);
        for fault in faults {
            if !fits || building.faults.len() >= self.defects {
                break;
            }
            building.spoil(fault, &mut chance);
        }
        (fits && building.faults.len() == self.defects).then_some(building)
    }
}

fn rows() -> Vec<Row> {
    let shut = |scheme| Features { light_shut: 1.0, ..Features::bare(scheme) };
    let plain = shut(Scheme::Conventional);
    let mut rows = Vec::new();
    for boxes in 3..=10 {
        let more = f64::from(u8::from(boxes > 3));
        let features = Features {
            junction: 0.8 * more,
            second_light: 0.6 * more,
            other_light: 0.6 * more,
            receptacle: 0.6 * more,
            second_chain: f64::from(u8::from(boxes > 8)),
            ..plain.clone()
        };
        let switches = if boxes > 8 { 3 } else { 2 };
        rows.push(Row { name: format!("{boxes} boxes"), features, boxes: Some(boxes), switches, defects: 0 });
    }
    for switches in 1..=4 {
        let scheme = if switches == 1 { Scheme::SinglePole } else { Scheme::Conventional };
        let four_way = [0.0, 0.0, 0.5, 1.0][switches - 1];
        let features = Features { four_way, ..shut(scheme) };
        rows.push(Row { name: format!("{switches} switches"), features, boxes: None, switches, defects: 0 });
    }
    for defects in 0..=2 {
        let name = format!("{defects} defects");
        rows.push(Row { name, features: plain.clone(), boxes: None, switches: 2, defects });
    }
    rows
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

fn most(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::NAN, f64::max)
}

fn print(name: &str, stage: &str, wires: &[f64], all: &[Option<Grown>]) {
    let of = |get: fn(&Grown) -> f64| all.iter().flatten().map(get).collect::<Vec<f64>>();
    let (verdict, next) = (of(|grown| grown.verdict), of(|grown| grown.next));
    println!(
        "{name:11} {stage:12} {:3} {:3} {:5.0} {:9.0} {:9.0} {:8.3} {:8.3} {:8.3} {:8.3} {:6.0} {:9.1e}",
        all.len(),
        all.iter().filter(|grown| grown.is_none()).count(),
        median(wires.to_vec()),
        median(of(|grown| grown.wirings)),
        most(&of(|grown| grown.wirings)),
        median(verdict.clone()),
        most(&verdict),
        median(next.clone()),
        most(&next),
        most(&of(|grown| grown.peak)),
        most(&of(|grown| grown.uncovered)),
    );
}

fn measure(row: &Row, houses: usize, patience: Duration) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.yaml");
    let (mut wires, mut surveys, mut read) = (Vec::new(), Vec::new(), Vec::new());
    for building in (0..5000).filter_map(|seed| row.house(seed)).take(houses) {
        let mut job = building.survey();
        std::fs::write(&path, to_yaml(&job)).unwrap();
        wires.push(files::load(&path).unwrap().call.house.wires().count() as f64);
        surveys.push(apart(&path, patience));
        job.readings = Some(technician::measured(&building, Slips::none()).unwrap());
        std::fs::write(&path, to_yaml(&job)).unwrap();
        read.push(apart(&path, patience));
    }
    print(&row.name, "survey alone", &wires, &surveys);
    print(&row.name, "all read", &wires, &read);
}

fn main() {
    if let Some(job) = std::env::var_os(JOB) {
        return work_out(&job);
    }
    // Only `cargo bench` gives `--bench`; `cargo test` runs it once to see that it runs.
    let timed = std::env::args().any(|argument| argument == "--bench");
    let number = |name: &str, usual: u64| {
        std::env::var(name).ok().and_then(|number| number.parse().ok()).unwrap_or(usual).max(1)
    };
    let (houses, patience) = (number("LATH_HOUSES", 3) as usize, number("LATH_SECONDS", 20));
    println!("seconds: middle and most; peak in MB: most; over: ended after {patience} s");
    println!(
        "{:11} {:12} {:>3} {:>3} {:>5} {:>9} {:>9} {:>8} {:>8} {:>8} {:>8} {:>6} {:>9}",
        "",
        "",
        "n",
        "over",
        "wires",
        "wirings",
        "most",
        "verdict",
        "most",
        "next",
        "most",
        "peak",
        "uncovered"
    );
    let rows = rows();
    for row in rows.iter().take(if timed { rows.len() } else { 1 }) {
        measure(row, if timed { houses } else { 1 }, Duration::from_secs(patience));
    }
}
