//! The note as a PDF: text as text, fonts and diagram in the file, and a structure that a screen reader can follow.
//!
//! `face` measures, `lines` breaks text into lines, `set` (with `table` and `figure`) makes pieces of blocks, `pages` puts
//! pieces on pages, and `paint` writes the file. Only `paint` knows the crate that does it.

mod face;
mod figure;
mod lines;
mod pages;
mod paint;
mod piece;
mod set;
mod table;

use super::document::{Block, Document};
use face::Faces;

/// The paper.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Paper {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 mm.
    A4,
}

impl Paper {
    /// Width and height in points.
    pub fn size(self) -> (f64, f64) {
        match self {
            Paper::Letter => (612.0, 792.0),
            // ISO 216, at 72 points an inch.
            Paper::A4 => (595.28, 841.89),
        }
    }
}

/// Left and right of what is written.
const SIDE: f64 = 46.0;
/// Above it.
const TOP: f64 = 38.0;
/// Below it, with the foot of the page in there.
const BOTTOM: f64 = 40.0;

/// The document as a file of its own. Nothing in it acts, and equal documents give equal bytes.
pub fn file(note: &Document, paper: Paper) -> Result<Vec<u8>, String> {
    let faces = Faces::new()?;
    let (width, height) = paper.size();
    let title = note.blocks().iter().find_map(|block| match block {
        Block::Heading { level: 1, text } => Some(text.clone()),
        _ => None,
    });
    let title = title.unwrap_or_else(|| "Found conditions".to_owned());
    let area = (width - 2.0 * SIDE, height - TOP - BOTTOM);
    let set = set::set(note, &faces, area);
    let mut pages = pages::pages(set.flow, area.1);
    pages::foot(&mut pages, &faces, &title, area);
    paint::file(
        &paint::Book { title, size: (width, height), origin: (SIDE, TOP), pages, tree: set.tree },
        &faces,
    )
}
