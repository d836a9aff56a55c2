//! `lath note`: the customer's note of found conditions.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::{JobArguments, Reached};
use crate::show::note::{self, Header};
use crate::show::{Palette, Style};

/// Arguments of `lath note`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// In which form.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Forms of the note.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Format {
    /// For the terminal.
    Text,
    /// Markdown.
    Md,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let reached = arguments.job.reach()?;
    let text = match arguments.format {
        Format::Text => terminal(&reached, &screen.style()),
        Format::Md => {
            let style = Style { palette: Palette::default(), ..Style::of_width(80) };
            note::markdown::text(&document(&reached, &style))
        }
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}

/// The note as the terminal shows it.
pub fn terminal(reached: &Reached, style: &Style) -> String {
    note::terminal::text(&document(reached, style), style)
}

fn document(reached: &Reached, style: &Style) -> note::Document {
    let header = Header::of(&reached.loaded.job);
    note::document(&header, &reached.loaded.call, &reached.verdict, &reached.knowledge.cautions, style)
}
