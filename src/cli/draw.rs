//! `lath draw`: the wiring as a diagram.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::JobArguments;
use crate::show;

/// Arguments of `lath draw`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// In which form: text, svg (a picture), or dot (a graph for layout programs).
    #[arg(long, value_enum, default_value_t = Format::Text, hide_possible_values = true)]
    format: Format,
}

/// Forms of the diagram.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Format {
    /// For the terminal.
    Text,
    /// A picture.
    Svg,
    /// A graph description for layout programs.
    Dot,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let reached = arguments.job.reach()?;
    let house = &reached.loaded.call.house;
    let text = match arguments.format {
        Format::Text => show::draw::text(house, &reached.verdict, &screen.style()),
        Format::Svg => show::picture::svg::file(&show::picture::picture(house, &reached.verdict)),
        Format::Dot => show::draw::dot(house, &reached.verdict),
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}
