//! The only room that touches the disk.

pub mod packs;
pub mod yaml;
