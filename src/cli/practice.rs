//! `lath practice`: a simulated house to try oneself on.
//!
//! Questions come in as JSON lines, answers go out as JSON lines; at the end of the questions stands what was in the walls.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::call::check::check;
use crate::call::edit::{self, Edit, Said};
use crate::call::job::{Do, Field, Job, JobReading, Node};
use crate::files;
use crate::house::Role;
use crate::knowledge::Knowledge;
use crate::plan::{self, Wish};
use crate::practice::{Building, Chance, FAULTS, Features, Slips, Teller, draw};
use crate::verdict;
use crate::wiring::{Options, Space};
use std::io::BufRead;
use std::path::PathBuf;

/// Arguments of `lath practice`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// Which house: the same number is always the same house.
    #[arg(long, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// What kind of house.
    #[arg(long, value_enum, default_value_t = Level::Usual, value_name = "LEVEL")]
    level: Level,
    /// Follow the suggestions to the end instead of reading questions.
    #[arg(long)]
    auto: bool,
    /// Write what was found into a new job file.
    #[arg(long, value_name = "JOB")]
    save: Option<PathBuf>,
}

/// How hard a house is.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Level {
    /// Cable, colours by habit, every box open, nothing wrong.
    Easy,
    /// As houses are: shut and buried boxes, old colours, things taken apart.
    Usual,
    /// With more on the same cables, and readings that come out wrong now and then.
    Hard,
    /// With one thing wrong.
    Faulty,
}

impl Level {
    fn features(self) -> Features {
        let usual = Features::default();
        match self {
            Level::Easy => {
                let bare = Features::bare(crate::practice::Scheme::Conventional);
                Features { schemes: usual.schemes, ..bare }
            }
            Level::Usual => usual,
            Level::Hard => Features {
                four_way: 0.3,
                second_light: 0.2,
                receptacle: 0.3,
                other_light: 0.1,
                unmarked: 0.1,
                ..usual
            },
            Level::Faulty => Features { apart: [0.0; 2], ..usual },
        }
    }

    fn slips(self, seed: u64) -> Slips {
        if self == Level::Hard { Slips::at(0.02, 0.01, seed) } else { Slips::none() }
    }

    /// The house of a number.
    fn house(self, seed: u64) -> Building {
        let mut building = draw(seed, &self.features());
        if self == Level::Faulty {
            let mut chance = Chance::new(seed);
            // Not every house has a place for every defect.
            let tried = (0..100).filter_map(|_| chance.pick(&FAULTS)).collect::<Vec<_>>();
            let _ = tried.into_iter().any(|what| building.spoil(what, &mut chance));
        }
        building
    }
}

/// A house, and what is known of it so far.
struct Visit<'a> {
    building: Building,
    teller: Teller<'a>,
    job: Job,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let building = arguments.level.house(arguments.seed);
    // Whatever is opened later is answered for from the start.
    let mut all = building.clone();
    all.outlets.iter_mut().for_each(|outlet| outlet.opened |= outlet.known);
    let teller = Teller::new(&all, arguments.level.slips(arguments.seed));
    let job = building.survey();
    write!(screen.out, "{}", files::to_yaml(&job))?;
    let mut visit = Visit { building, teller, job };
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    if arguments.auto {
        visit.follow(&knowledge, screen)?
    } else {
        visit.listen(screen)?
    }
    if let Some(path) = &arguments.save {
        files::Held::create(path, &visit.job)?;
    }
    visit.compare(&knowledge, screen)?;
    Ok(Exit::Done)
}

impl Visit<'_> {
    /// Answers each line of standard input; what cannot be answered is said, and the next line is read.
    fn listen(&mut self, screen: &mut Screen) -> Result<(), Trouble> {
        for line in std::io::stdin().lock().lines() {
            let line = line?;
            if line.trim().is_empty() {
                continue;
            }
            match self.line(&line) {
                Ok(answer) => writeln!(screen.out, "{answer}")?,
                Err(wrong) => writeln!(screen.err, "not done: {wrong}")?,
            }
            screen.out.flush()?;
        }
        Ok(())
    }

    /// Takes the first suggestion until there is none.
    fn follow(&mut self, knowledge: &Knowledge, screen: &mut Screen) -> Result<(), Trouble> {
        const MOST: usize = 80;
        let mut space: Option<Space> = None;
        for _ in 0..MOST {
            let (call, _) =
                check(&self.job).map_err(|problems| Trouble::Internal(format!("{problems:?}")))?;
            let known = space.take().unwrap_or_else(|| Space::of_call(&call, knowledge, Options::default()));
            let next = plan::next(&call, knowledge, &known, Wish::default());
            let Some(suggestion) = next.suggestions.first() else { return Ok(()) };
            let answer = self.question(&suggestion.question()).map_err(Trouble::Internal)?;
            writeln!(screen.out, "{answer}")?;
            screen.out.flush()?;
            space = (suggestion.ask != "open").then_some(known);
        }
        Ok(())
    }

    /// One line of JSON.
    fn line(&mut self, line: &str) -> Result<String, String> {
        let node: Node = serde_json::from_str(line).map_err(|error| format!("this is not JSON: {error}"))?;
        match edit::said(&self.job, &node).map_err(|problems| joined(&problems))? {
            Said::Reading(question) => self.question(&question),
            Said::Open(_) => Err("what is in a box is seen once it is opened: leave out \"box\"".to_owned()),
        }
    }

    /// Takes a reading, or opens a box, and writes it down.
    fn question(&mut self, question: &JobReading) -> Result<String, String> {
        let (edit, answer) = if question.ask == Do::Open {
            let at = question.at.as_deref().and_then(|name| self.building.outlet_called(name));
            let outlet = at.ok_or("there is no such box")?;
            self.building.outlets[outlet].opened = true;
            let seen = self.building.survey_of(outlet);
            (Edit::outlet(&self.job, &seen), seen.write())
        } else {
            let taken = self.teller.take(question)?;
            (Edit::reading(&self.job, &taken), taken.write())
        };
        let after = edit.apply(&self.job).map_err(|problems| joined(&problems))?;
        check(&after).map_err(|problems| joined(&problems))?;
        self.job = after;
        serde_json::to_string(&answer).map_err(|error| error.to_string())
    }

    /// What was in the walls, beside what the readings say.
    fn compare(&self, knowledge: &Knowledge, screen: &mut Screen) -> Result<(), Trouble> {
        let (call, _) = check(&self.job).map_err(|problems| Trouble::Internal(joined(&problems)))?;
        let verdict = verdict::reach(&call, knowledge, Options::default());
        let truth = self.building.truth();
        let style = screen.style();
        let line = format!("In the walls: {}, fed at {}.", truth.scheme.replace('-', " "), truth.feed);
        write!(screen.out, "\n{}", crate::show::paragraph(&line, &style))?;
        for fault in &truth.faults {
            writeln!(screen.out, "Wrong there: {} at {} {}", fault.what, fault.at, fault.detail.join(", "))?;
        }
        for (wire, purpose) in &truth.wires {
            let found = verdict.wires.iter().find(|found| found.wire == *wire);
            let word = |role: Role| role.word();
            let said = found.map_or_else(String::new, |found| {
                let agrees = if found.role == purpose.role { "agrees" } else { "DIFFERS" };
                format!("the readings say {} ({:.3}): {agrees}", word(found.role), found.p)
            });
            writeln!(screen.out, "{wire:28} {:9} {said}", word(purpose.role))?;
        }
        for defect in &verdict.defects {
            writeln!(screen.out, "The readings say {} at {} ({:.3})", defect.what, defect.at, defect.p)?;
        }
        Ok(())
    }
}

fn joined(problems: &[crate::call::job::Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
