//! The note that a customer keeps: one document, built once, written out in several forms.

mod build;
mod document;
mod findings;
mod found;
mod header;
pub mod html;
pub mod markdown;
pub mod pdf;
mod places;
mod record;
pub mod terminal;
mod tried;
mod words;

pub use build::{Note, Reader, document};
pub use document::{Block, Document, Finding};
pub use header::{Header, Proof};
