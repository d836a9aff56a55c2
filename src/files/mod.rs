//! The only room that touches the disk: job files in and out.

pub mod conditions;
mod emit;
mod held;
mod lock;
pub mod packs;
mod patch;
mod save;
pub mod yaml;

pub use emit::to_yaml;
pub use held::Held;
pub use lock::Keep;
pub use patch::patched;
pub use save::{SaveError, save};

use crate::call::Call;
use crate::call::check::check;
use crate::call::job::{Job, Problem, Spot, Warning, inert, read_job};
use std::fmt;
use std::io::Read;
use std::path::Path;

/// Largest job file that is read, in bytes. A call with a hundred boxes is a twentieth of it.
pub const LARGEST: u64 = 1 << 20;

/// Most problems, or notes, that are listed: a file with more has one cause, and each line is looked up in the text.
const MOST: usize = 40;

/// Why a job could not be loaded.
#[derive(thiserror::Error, Debug)]
pub enum Failure {
    /// A new file was wanted, and there is one.
    #[error("{0}: is there already, and is not written over; write another name")]
    Exists(String),
    /// The disk said no.
    #[error("{name}: cannot be read: {source}; write the name of a file that exists and may be read")]
    Read {
        /// The file.
        name: String,
        /// Why.
        source: std::io::Error,
    },
    /// It is no job file of any call.
    #[error("{name}:1: the file is larger than 1 MiB ({bytes} bytes), no job is; write one call to a file")]
    TooLarge {
        /// The file.
        name: String,
        /// How large it is.
        bytes: u64,
    },
    /// Somebody else is working on it.
    #[error(
        "{name}: another lath is working on this job; finish or stop that one first; nothing was changed"
    )]
    Busy {
        /// The file.
        name: String,
    },
    /// It cannot be kept for oneself.
    #[error(
        "{name}: cannot be kept from other writers, in this folder no file can be made: {source}; nothing was changed"
    )]
    Lock {
        /// The file.
        name: String,
        /// Why.
        source: std::io::Error,
    },
    /// It cannot be written.
    #[error(transparent)]
    Save(#[from] SaveError),
    /// What it says is wrong.
    #[error("{}", lines(.0))]
    Wrong(Vec<Complaint>),
}

/// One thing wrong with a file, ready to be shown: `FILE:LINE: what; found "TEXT"; write … instead`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Complaint {
    /// The file.
    pub name: String,
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, what was found, what to write.
    pub what: String,
}

impl fmt::Display for Complaint {
    fn fmt(&self, out: &mut fmt::Formatter) -> fmt::Result {
        write!(out, "{}:{}: {}", self.name, self.line, self.what)
    }
}

fn lines(complaints: &[Complaint]) -> String {
    let lines: Vec<String> = complaints.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// A job that was read and checked.
#[derive(Clone, PartialEq, Debug)]
pub struct Loaded {
    /// What the file says.
    pub job: Job,
    /// What it means.
    pub call: Call,
    /// What the person should know about it.
    pub warnings: Vec<Complaint>,
}

/// Reads and checks a job file.
///
/// # Errors
/// A file that cannot be read, is too large, or does not say what a job file says; with every problem found.
pub fn load(path: &Path) -> Result<Loaded, Failure> {
    let name = shown(path);
    parse_bytes(&name, &read(path, &name)?)
}

/// The name of a file as messages show it. A file may be called anything.
pub fn shown(path: &Path) -> String {
    inert(&path.display().to_string())
}

/// Writes a file that is no job: the old one or the new one is there at any instant.
///
/// # Errors
/// Where it cannot be written.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), SaveError> {
    save::write_whole(path, bytes)
}

/// The text of a pack file.
///
/// # Errors
/// A file that cannot be read, is too large, or is no text.
pub fn text(path: &Path) -> Result<String, Failure> {
    let name = shown(path);
    let bytes = read(path, &name)?;
    String::from_utf8(bytes).map_err(|_| {
        let what = "the text is not UTF-8; write the file as UTF-8 text".to_owned();
        Failure::Wrong(vec![Complaint { name, line: 1, what }])
    })
}

/// Checks the bytes of a job file.
///
/// # Errors
/// As [`load`].
pub fn parse_bytes(name: &str, bytes: &[u8]) -> Result<Loaded, Failure> {
    match std::str::from_utf8(bytes) {
        Ok(text) => parse_str(name, text),
        Err(error) => {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = 1 + before.iter().filter(|&&byte| byte == b'\n').count();
            let found =
                bytes.get(error.valid_up_to()).map_or_else(String::new, |byte| format!("byte {byte:#04x}"));
            let what = format!("the text is not UTF-8; found \"{found}\"; write the file as UTF-8 text");
            Err(Failure::Wrong(vec![Complaint { name: name.to_owned(), line, what }]))
        }
    }
}

/// Checks the text of a job; `name` is what messages call it.
///
/// # Errors
/// As [`load`].
pub fn parse_str(name: &str, text: &str) -> Result<Loaded, Failure> {
    // Some editors put a byte order mark in front; it says nothing.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let node = yaml::parse(text).map_err(|error| {
        let found = text.lines().nth(error.line.saturating_sub(1)).unwrap_or_default().trim();
        let found = crate::call::job::shorten(found);
        let what = format!("{}; found \"{found}\"; write {}", error.what, error.instead);
        Failure::Wrong(vec![Complaint { name: name.to_owned(), line: error.line, what }])
    })?;
    let job = read_job(&node).map_err(|problems| wrong(name, text, &problems))?;
    let (call, warnings) = check(&job).map_err(|problems| wrong(name, text, &problems))?;
    let warnings =
        listed(name, text, &warnings, |warning: &Warning| &warning.spot, "more notes of this kind");
    Ok(Loaded { job, call, warnings })
}

fn wrong(name: &str, text: &str, problems: &[Problem]) -> Failure {
    Failure::Wrong(listed(
        name,
        text,
        problems,
        |problem| &problem.spot,
        "more problems; write these right first",
    ))
}

/// The first so many of a list, each with its line, in the order of the file.
fn listed<T: fmt::Display>(
    name: &str,
    text: &str,
    all: &[T],
    spot: impl Fn(&T) -> &Spot,
    more: &str,
) -> Vec<Complaint> {
    let complaint = |line, what| Complaint { name: name.to_owned(), line, what };
    let shown = all.iter().take(MOST);
    let mut list: Vec<Complaint> =
        shown.map(|one| complaint(yaml::locate(text, spot(one)), one.to_string())).collect();
    list.sort_by_key(|complaint| complaint.line);
    if all.len() > MOST {
        let line = list.last().map_or(1, |complaint| complaint.line);
        list.push(complaint(line, format!("and {} {more}", all.len() - MOST)));
    }
    list
}

/// Reads a file that is not larger than a job may be.
fn read(path: &Path, name: &str) -> Result<Vec<u8>, Failure> {
    let failed = |source| Failure::Read { name: name.to_owned(), source };
    let file = std::fs::File::open(path).map_err(failed)?;
    let known = file.metadata().map_err(failed)?;
    if known.is_dir() {
        return Err(failed(std::io::Error::from(std::io::ErrorKind::IsADirectory)));
    }
    let mut bytes = Vec::new();
    // One byte past the limit tells a file that is too large even where its length is not known (a pipe).
    file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > LARGEST {
        return Err(Failure::TooLarge { name: name.to_owned(), bytes: known.len().max(bytes.len() as u64) });
    }
    Ok(bytes)
}
