//! What is for paper: a PDF goes to a file, and never to a terminal.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::show::note::{Document, pdf};

/// Papers.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Paper {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 mm.
    A4,
}

impl From<Paper> for pdf::Paper {
    fn from(paper: Paper) -> pdf::Paper {
        match paper {
            Paper::Letter => pdf::Paper::Letter,
            Paper::A4 => pdf::Paper::A4,
        }
    }
}

/// Refuses a terminal, before any work is done for it.
pub fn no_terminal(screen: &Screen, command: &str) -> Result<(), Trouble> {
    if screen.terminal {
        return Err(Trouble::Usage(format!(
            "a PDF is not for a terminal: send it to a file, as in: lath {command} JOB --format pdf > {command}.pdf"
        )));
    }
    Ok(())
}

/// Writes a document as a PDF.
pub fn write(screen: &mut Screen, document: &Document, paper: Paper) -> Result<Exit, Trouble> {
    let file = pdf::file(document, paper.into()).map_err(Trouble::Internal)?;
    screen.out.write_all(&file)?;
    Ok(Exit::Done)
}
