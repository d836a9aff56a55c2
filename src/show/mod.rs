//! Verdicts as text: screens, tags, diagram, note. Data in, text out; nothing here prints.

mod dot;
pub mod draw;
pub mod knowledge;
mod known;
mod landing;
pub mod next;
pub mod note;
pub mod palette;
pub mod picture;
pub mod proof;
pub mod readings;
pub mod replay;
mod run;
mod sheet;
pub mod tags;
pub mod text;
pub mod verdict;
mod warn;
pub mod words;

pub use palette::{Palette, Tone};
pub(crate) use sheet::Sheet;
pub use sheet::{Style, paragraph};
