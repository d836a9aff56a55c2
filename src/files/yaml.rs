//! YAML into types: the one place that names the parser.

use serde::de::DeserializeOwned;

/// Reads the text of a pack, known to people as `name`, into a type; an error says where in the text it went wrong.
pub fn pack<T: DeserializeOwned>(name: &str, text: &str) -> Result<T, String> {
    serde_yaml::from_str(text).map_err(|error| format!("{name}: {error}"))
}
