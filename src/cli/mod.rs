//! Commands: arguments in, core called, output chosen.
//!
//! A command is a variant of `Command` and a file with its arguments and a `run`. What it prints as its result goes
//! to standard output through `Screen`; everything else goes to standard error.

mod check;
mod color;
mod completions;
mod demo;
mod draw;
pub mod exit;
mod knowledge;
mod man;
mod next;
mod note;
mod paper;
mod practice;
mod reached;
mod record;
mod schema;
mod tags;
mod verdict;
mod walk;

use crate::show::Style;
use crate::show::palette::{ColorChoice, Palette, Surroundings};
use clap::{CommandFactory, Parser, Subcommand};
use exit::{Exit, Trouble};
use std::ffi::OsString;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;

/// What is behind the plaster: how an unmarked lighting circuit is fed and wired.
#[derive(Parser, Debug)]
#[command(name = "lath", version, about, max_term_width = 80, after_help = exit::HELP)]
struct Arguments {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

/// Options that every command takes.
#[derive(clap::Args, Debug)]
struct Common {
    /// When to use colour: auto (at a terminal that takes it), always or never.
    #[arg(long, global = true, value_enum, default_value_t = ColorChoice::Auto, value_name = "WHEN")]
    #[arg(hide_possible_values = true, display_order = 100)]
    color: ColorChoice,
    /// Plain lines without colour or drawing, for screen readers.
    #[arg(long, global = true, display_order = 101)]
    plain: bool,
}

/// What to do.
#[derive(Subcommand, Debug)]
enum Command {
    /// Walk through a call, question by question.
    Walk(walk::Arguments),
    /// Say what survey and readings settle.
    Verdict(verdict::Arguments),
    /// Say what to measure next, and why.
    Next(next::Arguments),
    /// Say what to write on each wire.
    Tags(tags::Arguments),
    /// Draw the wiring.
    Draw(draw::Arguments),
    /// Write the customer's note of found conditions.
    Note(note::Arguments),
    /// Write a reading or an opened box into a job file.
    Record(Box<record::Arguments>),
    /// Check a job file.
    Check(check::Arguments),
    /// Replay a whole recorded call.
    Demo(demo::Arguments),
    /// Practise on a simulated house.
    Practice(practice::Arguments),
    /// List, show and check the knowledge packs.
    Knowledge(knowledge::Arguments),
    /// Print the JSON Schema of a document.
    Schema(schema::Arguments),
    /// Print what a shell must know to complete a command line.
    Completions(completions::Arguments),
    /// Print or write the manual pages.
    Man(man::Arguments),
}

impl Command {
    fn run(&self, screen: &mut Screen) -> Result<Exit, Trouble> {
        match self {
            Command::Walk(arguments) => walk::run(arguments, screen),
            Command::Verdict(arguments) => verdict::run(arguments, screen),
            Command::Next(arguments) => next::run(arguments, screen),
            Command::Tags(arguments) => tags::run(arguments, screen),
            Command::Draw(arguments) => draw::run(arguments, screen),
            Command::Note(arguments) => note::run(arguments, screen),
            Command::Record(arguments) => record::run(arguments, screen),
            Command::Check(arguments) => check::run(arguments, screen),
            Command::Demo(arguments) => demo::run(arguments, screen),
            Command::Practice(arguments) => practice::run(arguments, screen),
            Command::Knowledge(arguments) => knowledge::run(arguments, screen),
            Command::Schema(arguments) => schema::run(arguments, screen),
            Command::Completions(arguments) => completions::run(arguments, screen),
            Command::Man(arguments) => man::run(arguments, screen),
        }
    }
}

/// The command line as data: for completions and manual pages.
fn command() -> clap::Command {
    Arguments::command()
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
    /// Columns that results may take.
    pub width: usize,
    /// Whether results go to a terminal.
    pub terminal: bool,
    /// Lines that are seen at a time, at a terminal.
    pub height: Option<usize>,
}

impl Screen<'_> {
    /// How results are laid out.
    pub fn style(&self) -> Style {
        Style { width: self.width, plain: self.plain, palette: self.out_palette }
    }
}

/// Results take the terminal's width up to this; what goes elsewhere is laid out for 80 columns.
const WIDEST: usize = 100;

fn width(terminal: bool) -> usize {
    let columns = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    columns.filter(|_| terminal).unwrap_or(80).min(WIDEST)
}

fn height(terminal: bool) -> Option<usize> {
    terminal_size::terminal_size().map(|(_, height)| usize::from(height.0)).filter(|_| terminal)
}

/// Runs one command line and says how it ended.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    // The latter is not locked for long: should a worker panic, it says so there.
    let (stdout, mut stderr) = (std::io::stdout(), std::io::stderr());
    let around = Surroundings::of(|name| std::env::var(name).ok());
    let args: Vec<OsString> = args.into_iter().collect();
    let arguments = match Arguments::try_parse_from(&args) {
        Ok(arguments) => arguments,
        Err(error) => return ended(explain(&error, &args, &around)),
    };
    // A console of Windows takes colours once it is told to; where it does not, they would be shown as signs.
    let codes = anstyle_query::windows::enable_ansi_colors() != Some(false);
    let palette =
        |terminal| around.palette(arguments.common.color, arguments.common.plain, terminal && codes);
    let (out_palette, err_palette) = (palette(stdout.is_terminal()), palette(stderr.is_terminal()));
    let width = width(stdout.is_terminal());
    let mut out = std::io::BufWriter::new(stdout.lock());
    let mut screen = Screen {
        out: &mut out,
        err: &mut stderr,
        out_palette,
        err_palette,
        plain: arguments.common.plain,
        width,
        terminal: stdout.is_terminal(),
        height: height(stdout.is_terminal()),
    };
    let result = arguments.command.run(&mut screen);
    let result = result.and_then(|exit| out.flush().map(|()| exit).map_err(Trouble::Output));
    // What was printed before a failure belongs in front of it; a second failure would hide the first.
    let _ = out.flush();
    ended(result)
}

/// Prints help, version, or what is wrong with the arguments, in the colours of everything else.
fn explain(error: &clap::Error, args: &[OsString], around: &Surroundings) -> Result<Exit, Trouble> {
    let asked = |text: &str| args.iter().any(|arg| arg == text);
    let value = |text: &str| {
        asked(&format!("--color={text}"))
            || args.windows(2).any(|pair| pair[0] == "--color" && pair[1] == text)
    };
    // The arguments did not parse, so the option is looked for by hand.
    let choice = match (value("always"), value("never")) {
        (_, true) => ColorChoice::Never,
        (true, false) => ColorChoice::Always,
        (false, false) => ColorChoice::Auto,
    };
    let (mut stdout, mut stderr) = (std::io::stdout(), std::io::stderr());
    let wrong = error.use_stderr();
    let terminal = if wrong { stderr.is_terminal() } else { stdout.is_terminal() };
    let text = error.render();
    let text = if around.palette(choice, asked("--plain"), terminal).paints() {
        text.ansi().to_string()
    } else {
        text.to_string()
    };
    let stream: &mut dyn Write = if wrong { &mut stderr } else { &mut stdout };
    stream.write_all(text.as_bytes()).and_then(|()| stream.flush())?;
    Ok(if wrong { Exit::Usage } else { Exit::Done })
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
