//! The only place that names the YAML library.

use serde::de::DeserializeOwned;

/// Parses a pack. The error says which pack, where, and what is wrong.
pub fn parse<T: DeserializeOwned>(name: &str, text: &str) -> Result<T, String> {
    serde_yaml::from_str(text).map_err(|error| format!("{name}: {error}"))
}
