//! `lath verdict`: what survey and readings settle.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::files;
use crate::verdict::{self, State};
use crate::wiring::Options;
use std::path::PathBuf;

/// Arguments of `lath verdict`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// The job file.
    job: PathBuf,
    /// Print the documented JSON.
    #[arg(long)]
    json: bool,
    /// End with status 5 unless the goal is answered.
    #[arg(long)]
    require_settled: bool,
    /// How many boxes nobody knows of there may be.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=1))]
    buried: u8,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = files::load(&arguments.job)?;
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    let verdict = verdict::reach(&loaded.call, &knowledge, Options { buried: arguments.buried });
    let text =
        serde_json::to_string_pretty(&verdict).map_err(|error| Trouble::Internal(error.to_string()))?;
    writeln!(screen.out, "{text}")?;
    let unsettled = verdict.state != State::Settled && arguments.require_settled;
    Ok(if unsettled { Exit::NotSettled } else { Exit::Done })
}
