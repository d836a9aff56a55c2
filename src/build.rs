//! Lists the packs of which there may be any number, so that a new one is compiled in by being there.

#![allow(clippy::print_stdout, reason = "this is how cargo is told what a build depends on")]

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Folders below `knowledge/`, and what the list of each is called.
const FOLDERS: [(&str, &str); 3] =
    [("schemes", "SCHEMES"), ("attachments", "ATTACHMENTS"), ("conditions", "CONDITIONS")];

fn main() -> io::Result<()> {
    let of =
        |name: &str| env::var_os(name).map(PathBuf::from).ok_or_else(|| io::Error::other(name.to_owned()));
    let (root, out) = (of("CARGO_MANIFEST_DIR")?, of("OUT_DIR")?);
    println!("cargo::rerun-if-changed=src/build.rs");
    println!("cargo::rerun-if-changed=knowledge");
    let mut text = String::new();
    for (folder, list) in FOLDERS {
        text += &listed(&root.join("knowledge"), folder, list)?;
    }
    fs::write(out.join("packs.rs"), text)
}

/// A list of the YAML files of a folder, each by its name with its text, in the order of their names.
fn listed(knowledge: &Path, folder: &str, list: &str) -> io::Result<String> {
    let entries = fs::read_dir(knowledge.join(folder))?.collect::<io::Result<Vec<_>>>()?;
    let mut paths: Vec<PathBuf> = entries.into_iter().map(|entry| entry.path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "yaml"));
    paths.sort();
    let mut text = format!("pub(super) const {list}: &[(&str, &str)] = &[\n");
    for path in paths {
        let base = path.file_name().unwrap_or_default().to_string_lossy();
        let name = format!("{folder}/{base}");
        writeln!(text, "    ({name:?}, include_str!({path:?})),").map_err(io::Error::other)?;
    }
    Ok(text + "];\n")
}
