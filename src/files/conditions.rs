//! The packs of conditions: those compiled in, and the texts of others beside them.

use super::{Complaint, packs, yaml};
use crate::conditions::{self, Misread, Pack};
use std::collections::BTreeSet;

/// Parses the packs of conditions that are compiled in. An error is a fault in a pack and names it.
pub fn embedded() -> Result<Pack, String> {
    read(packs::CONDITIONS).map_err(|wrong| {
        let lines: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        lines.join("\n")
    })
}

/// Reads the texts of packs of conditions together, each known to people by its name.
///
/// # Errors
/// Everything that is wrong with them, each with its file and line.
pub fn read<S: AsRef<str>>(files: &[(S, S)]) -> Result<Pack, Vec<Complaint>> {
    read_with(files, std::iter::empty())
}

/// The same where rules may name other schemes beside those that are compiled in.
///
/// # Errors
/// As [`read`].
pub fn read_with<'a, S: AsRef<str>>(
    files: &[(S, S)],
    schemes: impl Iterator<Item = &'a str>,
) -> Result<Pack, Vec<Complaint>> {
    let mut nodes = Vec::new();
    let mut wrong = Vec::new();
    for (name, text) in files {
        match yaml::parse(text.as_ref()) {
            Ok(node) => nodes.push(node),
            Err(error) => wrong.push(Complaint {
                name: name.as_ref().to_owned(),
                line: error.line,
                what: format!("{}; write {}", error.what, error.instead),
            }),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let schemes: BTreeSet<String> =
        packs::scheme_names().map(str::to_owned).chain(schemes.map(str::to_owned)).collect();
    let schemes = schemes.into_iter().collect();
    conditions::read(&nodes, schemes).map_err(|misread| {
        let complaint = |Misread { file, problem }: Misread| {
            let (name, text) =
                files.get(file).map_or(("", ""), |(name, text)| (name.as_ref(), text.as_ref()));
            let line = yaml::locate(text, &problem.spot);
            Complaint { name: name.to_owned(), line, what: problem.to_string() }
        };
        misread.into_iter().map(complaint).collect()
    })
}
