//! `lath tags`: what to write on each wire.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::JobArguments;
use crate::show;

/// Arguments of `lath tags`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let reached = arguments.job.reach()?;
    let house = &reached.loaded.call.house;
    write!(
        screen.out,
        "{}",
        show::tags::text(house, &reached.verdict, &reached.knowledge.cautions, &screen.style())
    )?;
    Ok(Exit::Done)
}
