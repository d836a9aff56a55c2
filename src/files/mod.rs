//! The only room that touches the disk, and the only one that knows YAML.

pub mod yaml;
