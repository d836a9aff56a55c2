//! One folder, one job file, one run of the binary.

use std::path::PathBuf;
use std::process::{Command, Output};

/// The call of the design's example, with its left-out parts filled in.
pub const STAIR: &str = include_str!("stair.yaml");

/// A folder of its own that goes away with it.
pub struct Bench {
    folder: tempfile::TempDir,
}

/// How a run ended.
pub struct Ended {
    /// Exit status.
    pub status: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Bench {
    pub fn new() -> Bench {
        Bench { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self) -> PathBuf {
        self.folder.path().join("job.yaml")
    }

    pub fn write(&self, bytes: &[u8]) {
        std::fs::write(self.path(), bytes).unwrap();
    }

    pub fn files(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// `lath` with these arguments, in the folder, in an empty environment.
    pub fn lath(&self, arguments: &[&str]) -> Ended {
        let output: Output = Command::new(env!("CARGO_BIN_EXE_lath"))
            .args(arguments)
            .current_dir(self.folder.path())
            .env_clear()
            .output()
            .unwrap();
        Ended {
            status: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Checks `job.yaml` with these bytes in it, and that the check left the folder as it was.
    pub fn check(&self, bytes: &[u8]) -> Ended {
        self.write(bytes);
        let ended = self.lath(&["check", "job.yaml"]);
        assert_eq!(std::fs::read(self.path()).unwrap(), bytes, "the file was touched");
        assert_eq!(self.files(), ["job.yaml"], "something was left beside the file");
        ended
    }
}

/// The line of the only place where `marker` stands, from 1.
pub fn line_of(text: &str, marker: &str) -> usize {
    assert_eq!(text.matches(marker).count(), 1, "the marker {marker:?} must stand once in:\n{text}");
    1 + text[..text.find(marker).unwrap()].matches('\n').count()
}

/// Expects exactly one complaint: at the line of `marker`, showing `found`, saying to write `instead`.
pub fn refused(text: &str, marker: &str, found: &str, instead: &str) {
    let ended = Bench::new().check(text.as_bytes());
    let line = line_of(text, marker);
    assert_eq!(ended.status, Some(3), "{}{}", ended.out, ended.err);
    assert_eq!(ended.out, "", "a refusal is no result");
    assert_eq!(ended.err.lines().count(), 1, "one mistake, one complaint:\n{}", ended.err);
    let start = format!("job.yaml:{line}: ");
    assert!(ended.err.starts_with(&start), "expected {start:?} in front of:\n{}", ended.err);
    let (_, rest) =
        ended.err.split_once("; found \"").unwrap_or_else(|| panic!("nothing found:\n{}", ended.err));
    let (shown, remedy) =
        rest.split_once("\"; write ").unwrap_or_else(|| panic!("no remedy:\n{}", ended.err));
    assert_eq!(shown, found, "the offending text in:\n{}", ended.err);
    assert!(remedy.contains(instead), "expected {instead:?} in the remedy of:\n{}", ended.err);
}

/// The example with one passage changed, which must be there.
pub fn changed(old: &str, new: &str) -> String {
    assert!(STAIR.contains(old), "the example has no {old:?}");
    STAIR.replacen(old, new, 1)
}
