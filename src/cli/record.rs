//! `lath record`: writes a reading, an opened box or a skipped suggestion into a job, or takes the last step back.

mod flags;

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::call::check::check;
use crate::call::edit::{self, Edit, Said};
use crate::call::job::{Do, Job, JobReading, Node, Path, Problem, Step, Why, items};
use crate::files::{self, Held, Keep};
use crate::show::palette::Tone;
use crate::show::readings;
use crate::show::text::count;
use flags::Flags;
use std::path::PathBuf;

/// Arguments of `lath record`.
#[derive(clap::Args, Debug)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["reading", "skip", "undo", "watch", "volts", "ohms", "amps", "load"])))]
#[command(override_usage = USAGE)]
pub struct Arguments {
    /// The job file.
    job: PathBuf,
    /// A reading as JSON: a suggestion's own fields, with "reads" added; or {"do":"open","at":BOX,"box":{...}}.
    #[arg(long, value_name = "JSON")]
    reading: Option<String>,
    /// A suggestion, as JSON, that is not followed.
    #[arg(long, value_name = "JSON", requires = "why")]
    skip: Option<String>,
    /// Why it is not followed: later or cannot.
    #[arg(long, value_enum, requires = "skip", hide_possible_values = true)]
    why: Option<WhySkipped>,
    /// Take back the last thing that was recorded.
    #[arg(long)]
    undo: bool,
    #[command(flatten)]
    flags: Flags,
}

const USAGE: &str = "lath record [OPTIONS] JOB --volts 119 --at BOX --between POINT POINT ...
       lath record [OPTIONS] JOB --reading JSON
       lath record [OPTIONS] JOB --skip JSON --why later|cannot
       lath record [OPTIONS] JOB --undo";

/// Why a suggestion is not followed.
#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum WhySkipped {
    /// Not now.
    Later,
    /// It cannot be done.
    Cannot,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    if let Some(wrong) = arguments.misplaced() {
        return Err(Trouble::Usage(wrong));
    }
    let mut held = Held::open(&arguments.job, Keep::Moment)?;
    if arguments.undo {
        return undo(&mut held, screen);
    }
    let said = arguments.said(&held.loaded().job).map_err(|problems| refused(&problems, None, &held))?;
    let job = &held.loaded().job;
    let (edit, place) = match &said {
        Said::Open(outlet) => {
            let at = items(&job.boxes).iter().position(|known| known.name == outlet.name);
            (Edit::outlet(job, outlet), ("boxes", at.unwrap_or(items(&job.boxes).len())))
        }
        Said::Reading(question) if question.why.is_some() => {
            let known = |skip: &JobReading| edit::same_question(skip, question);
            let at = items(&job.skipped).iter().position(known);
            (Edit::skip(job, question), ("skipped", at.unwrap_or(items(&job.skipped).len())))
        }
        Said::Reading(reading) => (Edit::reading(job, reading), ("readings", items(&job.readings).len())),
    };
    let after = edit.apply(job).map_err(|problems| refused(&problems, Some(place), &held))?;
    let (_, warnings) = check(&after).map_err(|problems| refused(&problems, Some(place), &held))?;
    held.save(&after)?;
    for warning in warnings.iter().filter(|warning| within(&warning.spot.path, place).is_some()) {
        let note = screen.err_palette.paint(Tone::Caution, "note:");
        writeln!(screen.err, "{note} {}", warning.what)?;
    }
    tell(&held, &said, screen)
}

/// Says what was recorded.
fn tell(held: &Held, said: &Said, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = held.loaded();
    let line = match said {
        Said::Open(outlet) => {
            let ends = items(&outlet.cables);
            let wires: usize = ends.iter().map(|cable| cable.wires.len()).sum();
            format!(
                "Opened {}: {}, {}.",
                outlet.name,
                count(ends.len(), "cable", "cables"),
                count(wires, "wire", "wires")
            )
        }
        Said::Reading(question) if question.why.is_some() => {
            format!("Skipped: {}.", readings::asked(question))
        }
        Said::Reading(_) => {
            let reading = loaded.call.readings.last();
            let said =
                reading.map_or_else(String::new, |reading| readings::reading(&loaded.call.house, reading));
            format!("Reading {}: {said}.", loaded.call.readings.len())
        }
    };
    write!(screen.out, "{}", crate::show::paragraph(&line, &screen.style()))?;
    Ok(Exit::Done)
}

/// Takes back the last step. A history that no longer fits is cleared, so that it cannot mislead later either.
fn undo(held: &mut Held, screen: &mut Screen) -> Result<Exit, Trouble> {
    let job = held.loaded().job.clone();
    match edit::undo(&job) {
        Ok(undone) => {
            held.save(&undone.job)?;
            let left = items(&undone.job.history).len();
            writeln!(
                screen.out,
                "Taken back: {}. {} left.",
                gone(&job, &undone.job),
                count(left, "step", "steps")
            )?;
            Ok(Exit::Done)
        }
        Err(edit::Stuck::Nothing) => Err(Trouble::Usage(edit::Stuck::Nothing.to_string())),
        Err(stuck) => {
            held.save(&Job { history: None, ..job })?;
            Err(Trouble::Refused(format!("{}: {stuck}", files::shown(held.path()))))
        }
    }
}

/// What an undo took away, in words.
fn gone(before: &Job, after: &Job) -> String {
    let (readings_before, readings_after) = (items(&before.readings), items(&after.readings));
    if readings_before.len() > readings_after.len() {
        return format!("reading {}", readings_before.len());
    }
    let changed = |outlet: &&crate::call::job::JobBox| !items(&after.boxes).contains(outlet);
    if let Some(outlet) = items(&before.boxes).iter().find(changed) {
        return format!("what was written of {}", outlet.name);
    }
    if items(&before.skipped).len() > items(&after.skipped).len() {
        return "a skipped suggestion".to_owned();
    }
    "the last step".to_owned()
}

impl Arguments {
    /// Conditions beside what says its own.
    fn misplaced(&self) -> Option<String> {
        if self.why.is_some() && self.skip.is_none() {
            return Some("--why belongs to --skip".to_owned());
        }
        let whole = self.reading.is_some() || self.skip.is_some() || self.undo;
        let flag = self.flags.given().filter(|_| whole)?;
        Some(format!("{flag} belongs to a reading given by --watch, --volts, --ohms, --amps or --load"))
    }

    /// What is to be recorded.
    fn said(&self, job: &Job) -> Result<Said, Vec<Problem>> {
        let Some(text) = self.reading.as_ref().or(self.skip.as_ref()) else {
            return Ok(Said::Reading(Box::new(self.flags.reading()?)));
        };
        let node: Node = serde_json::from_str(text).map_err(|error| {
            let instead = "one JSON object: {\"do\": \"volts\", …, \"reads\": 119}";
            vec![Problem::new(Path::top(), format!("this is not JSON: {error}"), text.as_str(), instead)]
        })?;
        let said = edit::said(job, &node)?;
        match (said, self.why) {
            (Said::Reading(question), Some(why)) => Ok(Said::Reading(Box::new(JobReading {
                why: Some(match why {
                    WhySkipped::Later => Why::Later,
                    WhySkipped::Cannot => Why::Cannot,
                }),
                ..*question
            }))),
            (Said::Open(_), Some(_)) => {
                let instead = "do and at alone";
                Err(vec![Problem::new(
                    Path::top().key("box"),
                    "a box that was opened is not skipped",
                    "box",
                    instead,
                )])
            }
            (Said::Reading(reading), None) if reading.ask == Do::Open => {
                let instead = "box: {…}, as a box of the job file";
                Err(vec![Problem::new(
                    Path::top(),
                    "it is not said what was seen in the box",
                    "open",
                    instead,
                )])
            }
            (Said::Reading(reading), None) if reading.why.is_some() => {
                let what = "why says that something was skipped, and this is a reading";
                Err(vec![Problem::new(Path::top().key("why"), what, "why", "--skip JSON --why later")])
            }
            (said, None) => Ok(said),
        }
    }
}

/// The rest of a path below an item of a list.
fn within(path: &Path, (list, at): (&str, usize)) -> Option<Path> {
    match path.0.as_slice() {
        [Step::Key(key), Step::Index(index), rest @ ..] if key == list && *index == at => {
            Some(Path(rest.to_vec()))
        }
        _ => None,
    }
}

/// What is wrong: with what was said where that is so, else with the job as it would be.
fn refused(problems: &[Problem], place: Option<(&str, usize)>, held: &Held) -> Trouble {
    let name = files::shown(held.path());
    let lines: Vec<String> = problems
        .iter()
        .map(|problem| {
            let mut shown = problem.clone();
            match place.map(|place| within(&problem.spot.path, place)) {
                Some(Some(rest)) => {
                    shown.spot.path = rest;
                    format!("not recorded: {shown}")
                }
                Some(None) => format!("not recorded: in {name} it would make this wrong: {shown}"),
                None => format!("not recorded: {shown}"),
            }
        })
        .collect();
    Trouble::Refused(lines.join("\n"))
}
