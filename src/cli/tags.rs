//! `lath tags`: what to write on each wire.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::paper::{self, Paper};
use super::reached::JobArguments;
use crate::show;
use crate::show::note::Header;

/// Arguments of `lath tags`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// In which form: text, or pdf (a sheet to print; not to a terminal).
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    format: Format,
    /// The paper of a PDF: letter or a4.
    #[arg(long, value_enum, default_value_t = Paper::Letter, hide_possible_values = true)]
    paper: Paper,
}

/// Forms of the tags.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Format {
    /// For the terminal.
    Text,
    /// A sheet to print, as one HTML file.
    Html,
    /// A sheet to print, as a PDF file; not to a terminal.
    Pdf,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    if arguments.format == Format::Pdf {
        paper::no_terminal(screen, "tags")?;
    }
    let reached = arguments.job.reach()?;
    let (house, cautions) = (&reached.loaded.call.house, &reached.knowledge.cautions);
    let sheet = || {
        let title = Header::of(&reached.loaded.job).title;
        show::tags::sheet(title.as_deref(), house, &reached.verdict, cautions)
    };
    let text = match arguments.format {
        Format::Text => show::tags::text(house, &reached.verdict, cautions, &screen.style()),
        Format::Html => show::note::html::text(&sheet()),
        Format::Pdf => return paper::write(screen, &sheet(), arguments.paper),
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}
