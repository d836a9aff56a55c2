//! `lath note`: the customer's note of found conditions.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::paper::{self, Paper};
use super::reached::{JobArguments, Reached};
use crate::files;
use crate::show::note::{self, Header, Note, Reader};
use crate::show::{Palette, Style};

/// Arguments of `lath note`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// In which form: text, md, html, or pdf (not to a terminal).
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    format: Format,
    /// The paper of a PDF: letter or a4.
    #[arg(long, value_enum, default_value_t = Paper::Letter, hide_possible_values = true)]
    paper: Paper,
    /// Whom it is for: the customer, or the technician (names of wires, figures, provisions).
    #[arg(long = "for", value_enum, default_value_t = For::Customer, value_name = "READER")]
    #[arg(hide_possible_values = true)]
    reader: For,
}

/// Forms of the note.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Format {
    /// For the terminal.
    Text,
    /// Markdown.
    Md,
    /// One HTML file, for screen and print.
    Html,
    /// A PDF file, for print; not to a terminal.
    Pdf,
}

/// Readers of the note.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum For {
    /// Plain words first, the record behind.
    Customer,
    /// Names of wires, figures and provisions.
    Technician,
}

impl From<For> for Reader {
    fn from(reader: For) -> Reader {
        match reader {
            For::Customer => Reader::Customer,
            For::Technician => Reader::Technician,
        }
    }
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    if arguments.format == Format::Pdf {
        paper::no_terminal(screen, "note")?;
    }
    let reached = arguments.job.reach()?;
    let reader = arguments.reader.into();
    // A page has no terminal's width and no colour.
    let page = Style { palette: Palette::default(), ..Style::of_width(80) };
    let text = match arguments.format {
        Format::Text => terminal(&reached, reader, &screen.style())?,
        Format::Md => note::markdown::text(&document(&reached, reader, &page)?),
        Format::Html => note::html::text(&document(&reached, reader, &page)?),
        Format::Pdf => {
            return paper::write(screen, &document(&reached, reader, &page)?, arguments.paper);
        }
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}

/// The note as the terminal shows it.
pub fn terminal(reached: &Reached, reader: Reader, style: &Style) -> Result<String, Trouble> {
    Ok(note::terminal::text(&document(reached, reader, style)?, style))
}

fn document(reached: &Reached, reader: Reader, style: &Style) -> Result<note::Document, Trouble> {
    let pack = files::conditions::embedded().map_err(Trouble::Internal)?;
    let Reached { loaded, knowledge, verdict } = reached;
    let header = Header::of(&loaded.job);
    let (call, cautions) = (&loaded.call, &knowledge.cautions);
    Ok(note::document(&Note { header: &header, call, verdict, cautions, pack: &pack, reader }, style))
}
