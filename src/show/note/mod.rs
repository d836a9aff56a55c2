//! The note that a customer keeps: one document, built once, written out in several forms.

mod build;
mod document;
mod found;
mod header;
pub mod markdown;
mod record;
pub mod terminal;

pub use build::document;
pub use document::{Block, Document};
pub use header::{Header, Proof};
