//! `lath verdict`: what survey and readings settle.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::JobArguments;
use crate::show;
use crate::verdict::State;

/// Arguments of `lath verdict`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// Print the documented JSON.
    #[arg(long)]
    json: bool,
    /// End with status 5 unless the goal is answered.
    #[arg(long)]
    require_settled: bool,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let reached = arguments.job.reach()?;
    let text = if arguments.json {
        let json = serde_json::to_string_pretty(&reached.verdict);
        json.map_err(|error| Trouble::Internal(error.to_string()))? + "\n"
    } else {
        let style = screen.style();
        show::verdict::text(&reached.loaded.call, &reached.verdict, &reached.knowledge.cautions, &style)
    };
    write!(screen.out, "{text}")?;
    let unsettled = reached.verdict.state != State::Settled && arguments.require_settled;
    Ok(if unsettled { Exit::NotSettled } else { Exit::Done })
}
