//! Commands: arguments in, core called, output chosen.
//!
//! A command is a variant of [`Command`] and a file with its arguments and a `run`. What it prints as its result goes
//! to standard output through [`Screen`]; everything else goes to standard error.

mod check;
pub mod exit;
mod schema;

use crate::show::palette::{ColorChoice, Palette, Surroundings};
use clap::{Parser, Subcommand};
use exit::{Exit, Trouble};
use std::ffi::OsString;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;

/// What is behind the plaster: how an unmarked lighting circuit is fed and wired.
#[derive(Parser, Debug)]
#[command(name = "lath", version, about, max_term_width = 100, after_help = exit::HELP)]
struct Arguments {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

/// Options that every command takes.
#[derive(clap::Args, Debug)]
struct Common {
    /// When to use colour.
    #[arg(long, global = true, value_enum, default_value_t = ColorChoice::Auto, value_name = "WHEN")]
    color: ColorChoice,
    /// Plain lines without colour or drawing, for screen readers.
    #[arg(long, global = true)]
    plain: bool,
}

/// What to do.
#[derive(Subcommand, Debug)]
enum Command {
    /// Check a job file.
    Check(check::Arguments),
    /// Print the JSON Schema of a document.
    Schema(schema::Arguments),
}

impl Command {
    fn run(&self, screen: &mut Screen) -> Result<Exit, Trouble> {
        match self {
            Command::Check(arguments) => check::run(arguments, screen),
            Command::Schema(arguments) => schema::run(arguments, screen),
        }
    }
}

/// Where a command writes.
pub struct Screen<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Everything else.
    pub err: &'a mut dyn Write,
    /// Colours for results.
    pub out_palette: Palette,
    /// Colours for everything else.
    pub err_palette: Palette,
    /// Plain lines were asked for.
    pub plain: bool,
}

/// Runs one command line and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let (stdout, stderr) = (std::io::stdout(), std::io::stderr());
    let around = Surroundings::of(|name| std::env::var(name).ok());
    let arguments = match Arguments::try_parse_from(args) {
        Ok(arguments) => arguments,
        // Help and version are asked for; clap knows which stream they go to.
        Err(error) => {
            let printed = error.print();
            let wrong = if error.use_stderr() { Exit::Usage } else { Exit::Done };
            return printed.map_or_else(|error| ended(Err(Trouble::Output(error))), |()| wrong.into());
        }
    };
    let palette = |terminal| around.palette(arguments.common.color, arguments.common.plain, terminal);
    let (out_palette, err_palette) = (palette(stdout.is_terminal()), palette(stderr.is_terminal()));
    let mut out = std::io::BufWriter::new(stdout.lock());
    let mut err = stderr.lock();
    let mut screen =
        Screen { out: &mut out, err: &mut err, out_palette, err_palette, plain: arguments.common.plain };
    let result = arguments.command.run(&mut screen);
    let result = result.and_then(|exit| out.flush().map(|()| exit).map_err(Trouble::Output));
    // What was printed before a failure belongs in front of it; a second failure would hide the first.
    let _ = out.flush();
    drop(err);
    ended(result)
}

/// Says what went wrong, and turns it into an exit status.
fn ended(result: Result<Exit, Trouble>) -> ExitCode {
    match result {
        Ok(exit) => exit.into(),
        Err(trouble) => {
            let exit = trouble.exit();
            if exit != Exit::Done {
                // Where even standard error is gone, nobody is left to tell.
                let _ = writeln!(std::io::stderr(), "{trouble}");
            }
            exit.into()
        }
    }
}
