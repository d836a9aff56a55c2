//! From the job as written to the call as meant: every rule of the job file, each problem with its place.
//!
//! What is left out means what an electrician would take it to mean, and where that is a guess a warning says so:
//!
//! - no `feeds`: one circuit whose breaker nobody has named, called `circuit`;
//! - no `supply`: 120 V; no `region`: `us`; no `floor`: 1; no `reach`: from the floor;
//! - `opened` left out: not opened;
//! - an unopened switch or light box that lists no `devices`: one switch of a type not seen, or one light. `[]` says
//!   that there is none;
//! - `apart: true` beside joints: the joints are as they were found, everything else had been undone;
//! - `with` left out: a multimeter for ohms as numbers, a beeper for `beep`, a test lamp for `load`, a clamp for
//!   `amps`, a non-contact tester for `alarm`; for volts it stays unknown;
//! - `watch` with no light named, in a house with one light: that light;
//! - `breaker` left out in an ohms reading: off, all of them.

mod asks;
mod conditions;
mod header;
mod joints;
mod names;
mod readings;
mod reads;
mod survey;

use crate::call::job::{Job, Path, Problem, Warning, items};
use crate::call::{Call, Reading, Source};
use crate::house::{BoxId, House};
use conditions::Labels;
pub use header::SUPPLY;
use names::{Miss, Names};

/// Collects what is wrong, and what should be known.
#[derive(Default)]
struct Report {
    problems: Vec<Problem>,
    warnings: Vec<Warning>,
}

impl Report {
    fn wrong(
        &mut self,
        path: &Path,
        what: impl Into<String>,
        found: impl Into<String>,
        instead: impl Into<String>,
    ) {
        self.problems.push(Problem::new(path.clone(), what, found, instead));
    }

    /// The same, pointing at the key that ends the path.
    fn wrong_key(
        &mut self,
        path: &Path,
        what: impl Into<String>,
        found: impl Into<String>,
        instead: impl Into<String>,
    ) {
        self.problems.push(Problem::new(path.clone(), what, found, instead).at_key(0));
    }

    fn warn(&mut self, path: &Path, what: impl Into<String>) {
        self.warnings.push(Warning::new(path.clone(), what));
    }

    /// What a name stands for; a miss is reported with the text that missed.
    fn found<T>(&mut self, found: Result<T, Miss>, path: &Path, text: &str) -> Option<T> {
        found.map_err(|miss| self.wrong(path, miss.what, text, miss.instead)).ok()
    }

    /// The same for a name that is a key.
    fn found_key<T>(&mut self, found: Result<T, Miss>, path: &Path, text: &str) -> Option<T> {
        found.map_err(|miss| self.wrong_key(path, miss.what, text, miss.instead)).ok()
    }

    /// A number that must be above zero, where it is given.
    fn positive(&mut self, value: Option<f64>, path: &Path, unit: &str) -> Option<f64> {
        if let Some(number) = value
            && number <= 0.0
        {
            let instead = format!("the {unit} as a number above 0, or leave it out");
            self.wrong(path, format!("that many {unit} cannot be"), number.to_string(), instead);
        }
        value
    }
}

/// Checks a job.
///
/// # Errors
/// All that is wrong with it, in the order of the rooms of the file.
pub fn check(job: &Job) -> Result<(Call, Vec<Warning>), Vec<Problem>> {
    let mut report = Report::default();
    if !survey::fits(job, &mut report) {
        return Err(report.problems);
    }
    let mut house = survey::house(job, &mut report);
    add_joints(job, &mut house, &mut report);
    header::house(job, &mut house, &mut report);
    let names = Names::of(&house);
    let mut call = header::call(job, &names, &mut report);
    let mut labels = Labels::default();
    call.readings = readings::all(job, &names, &call.instruments, &mut labels, &mut report);
    call.skipped = readings::skipped(job, &names, &call.instruments, &mut labels, &mut report);
    call.proofs = header::records(job, &names, &mut report);
    if house.boxes.is_empty() {
        report.warn(&Path::top(), "no box is described yet, so nothing can be worked out");
    }
    house.positions = labels.0;
    let by_technician = call.readings.iter().filter(|reading| reading.by == Source::Technician);
    house.live_when_off = by_technician.flat_map(Reading::live_when_off).any(|(_, live)| live);
    call.house = house;
    if report.problems.is_empty() { Ok((call, report.warnings)) } else { Err(report.problems) }
}

fn add_joints(job: &Job, house: &mut House, report: &mut Report) {
    for (i, outlet) in items(&job.boxes).iter().enumerate() {
        let path = Path::top().key("boxes").index(i);
        let found = joints::joints(outlet, BoxId(i as u8), &path, house, report);
        if let Some(seen) = house.boxes.get_mut(i) {
            seen.joints = found.joints;
            seen.apart = found.apart;
            seen.was = found.was;
            seen.doubled = found.doubled;
        }
    }
}
