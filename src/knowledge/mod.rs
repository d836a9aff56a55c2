//! The packs: their types and the text they are shipped as.

mod cautions;

pub use cautions::{Caution, Cautions};
