//! The README's blocks, run: the job in it is a job, and its console blocks are what the program prints.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests may fail as a test does")]

use std::path::Path;
use std::process::Command;

/// The text of every block in a language, in order.
fn blocks(language: &str) -> Vec<String> {
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let fence = format!("```{language}\n");
    readme.split(&fence).skip(1).map(|rest| rest.split("```").next().unwrap().to_owned()).collect()
}

#[test]
fn console_blocks_are_what_the_program_prints() {
    let folder = tempfile::tempdir().unwrap();
    let [job] = &blocks("yaml")[..] else { panic!("one job in the README") };
    std::fs::write(folder.path().join("hall.yaml"), job).unwrap();
    let console = blocks("console");
    assert!(console.len() >= 2);
    for block in console {
        let (command, expected) = block.split_once('\n').unwrap();
        let words: Vec<&str> = command.strip_prefix("$ lath ").unwrap().split(' ').collect();
        let output = Command::new(env!("CARGO_BIN_EXE_lath"))
            .args(words)
            .current_dir(folder.path())
            .env("NO_COLOR", "1")
            .output()
            .unwrap();
        assert!(output.status.success(), "{command}");
        assert_eq!(String::from_utf8_lossy(&output.stdout), expected, "{command}");
    }
}

#[test]
fn the_first_paragraph_says_the_job() {
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let first = readme.split("\n\n").nth(1).unwrap();
    assert!(
        first.contains("service call")
            && first.contains("unmarked lighting circuit")
            && first.contains("note")
    );
}
