//! What most commands start from: a job, the packs, and the verdict on it.

use super::exit::Trouble;
use crate::files::{self, Loaded};
use crate::knowledge::Knowledge;
use crate::plan;
use crate::verdict::Verdict;
use crate::wiring::{Options, Space};
use std::path::PathBuf;

/// Arguments that say which job, and how far to look.
#[derive(clap::Args, Debug)]
pub struct JobArguments {
    /// The job file.
    pub(super) job: PathBuf,
    /// How many boxes nobody knows of there may be: 0 to 2. With 2 it can take long.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=2), value_name = "N")]
    pub(super) buried: u8,
}

/// A job and what is to be said of it.
pub struct Reached {
    /// The job file.
    pub loaded: Loaded,
    /// The packs.
    pub knowledge: Knowledge,
    /// The verdict.
    pub verdict: Verdict,
}

impl JobArguments {
    /// Reads the job and reaches its verdict.
    pub fn reach(&self) -> Result<Reached, Trouble> {
        Reached::of(files::load(&self.job)?, Options { buried: self.buried })
    }
}

impl Reached {
    /// Reaches the verdict on a job.
    pub fn of(loaded: Loaded, options: Options) -> Result<Reached, Trouble> {
        let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
        let space = Space::of_call(&loaded.call, &knowledge, options);
        let verdict = plan::reach(&loaded.call, &knowledge, &space);
        Ok(Reached { loaded, knowledge, verdict })
    }
}
