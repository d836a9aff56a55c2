//! Hostile and unsettled notes, and a sheet of tags, in a headless Chromium, by `tests/oracle/browser.py`; `.ci/run` puts the
//! examples' notes through it.

use crate::fixture::{self, HOSTILE};
use crate::html::documents;
use lath::show::note::html;
use lath::show::tags;
use std::process::Command;

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracle/browser.py");

/// Whether all that the script takes is there. In CI it must be.
#[expect(clippy::print_stderr, reason = "says what was not checked")]
fn there() -> bool {
    let asked = Command::new("python3").args([SCRIPT, "--there"]).output();
    if asked.as_ref().is_ok_and(|output| output.status.success()) {
        return true;
    }
    let said = asked.map_or_else(|error| error.to_string(), |output| format!("{output:?}"));
    assert!(std::env::var_os("CI").is_none(), "in CI a browser must be there: {said}");
    eprintln!("the HTML was not opened in a browser: {said}");
    false
}

#[test]
fn a_real_browser_shows_prints_and_reads_out_what_was_said_and_asks_for_nothing() {
    if !there() {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let mut files = Vec::new();
    let mut write = |name: &str, text: String| {
        let path = folder.path().join(format!("{}.html", name.replace(' ', "-")));
        std::fs::write(&path, text).expect("a file");
        files.push(path);
    };
    let wanted = ["hostile for Customer", "unsettled for Technician"];
    let documents: Vec<_> =
        documents().into_iter().filter(|(name, _)| wanted.contains(&name.as_str())).collect();
    assert_eq!(documents.len(), wanted.len());
    documents.iter().for_each(|(name, document)| write(name, html::text(document)));
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let (call, verdict, _) = fixture::hostile();
    let sheet = tags::sheet(Some(HOSTILE), &call.house, &verdict, &knowledge.cautions);
    write("tags", html::text(&sheet));
    let output = Command::new("python3").arg(SCRIPT).args(&files).output().expect("the script runs");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(said.lines().filter(|line| line.contains("rules passed")).count(), files.len(), "{said}");
}
