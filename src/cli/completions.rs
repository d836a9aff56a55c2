//! `lath completions`: what a shell must know to complete a command line.

use super::Screen;
use super::exit::{Exit, Trouble};
use clap_complete::Shell;

/// Arguments of `lath completions`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// Which shell.
    #[arg(value_enum)]
    shell: Shell,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut super::command(), "lath", &mut script);
    screen.out.write_all(&script)?;
    Ok(Exit::Done)
}
