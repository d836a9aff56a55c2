//! The README's blocks, run: the job in it is a job, and its console blocks are what the program prints.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests may fail as a test does")]

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    std::fs::read_to_string(root().join("README.md")).unwrap()
}

/// The text of every block in a language, in order.
fn blocks(language: &str) -> Vec<String> {
    let fence = format!("```{language}\n");
    readme().split(&fence).skip(1).map(|rest| rest.split("```").next().unwrap().to_owned()).collect()
}

/// Each command of a console block with what it printed.
fn commands(block: &str) -> Vec<(&str, &str)> {
    let entries = block.strip_prefix("$ ").unwrap().split("\n$ ");
    entries.map(|entry| entry.split_once('\n').unwrap()).collect()
}

/// A folder with the README's own job and the examples, as a reader would have them.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let [job] = &blocks("yaml")[..] else { panic!("one job in the README") };
    std::fs::write(folder.path().join("hall.yaml"), job).unwrap();
    let examples = folder.path().join("examples");
    std::fs::create_dir(&examples).unwrap();
    for entry in std::fs::read_dir(root().join("examples")).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), examples.join(entry.file_name())).unwrap();
    }
    folder
}

/// The first lines of a text, as `head -n` gives them.
fn head(text: &str, lines: usize) -> String {
    text.split_inclusive('\n').take(lines).collect()
}

#[test]
fn console_blocks_are_what_the_program_prints() {
    let folder = folder();
    let console = blocks("console");
    let mut shown = BTreeSet::new();
    for (command, expected) in console.iter().flat_map(|block| commands(block)) {
        let (words, lines) = match command.split_once(" | head -n ") {
            Some((words, lines)) => (words, lines.parse().unwrap()),
            None => (command, usize::MAX),
        };
        let words: Vec<&str> = words.strip_prefix("lath ").unwrap().split(' ').collect();
        if words[0] == "walk" {
            // Somebody answers it: held by the tests of the walk.
            shown.insert(words[0].to_owned());
            continue;
        }
        let output = Command::new(env!("CARGO_BIN_EXE_lath"))
            .args(&words)
            .current_dir(folder.path())
            .env_clear()
            .output()
            .unwrap();
        assert!(output.status.success() && output.stderr.is_empty(), "{command}");
        let printed = head(&String::from_utf8(output.stdout).unwrap(), lines);
        assert_eq!(printed.trim_end(), expected.trim_end(), "{command}");
        assert!(!printed.trim().is_empty(), "{command}");
        shown.insert(words[0].to_owned());
    }
    let must = ["check", "walk", "verdict", "tags", "draw", "note"].map(str::to_owned);
    assert!(must.iter().all(|command| shown.contains(command)), "{shown:?}");
}

/// Every command and option that the README names is one, and every command is named.
#[test]
fn commands_that_are_named_are_there() {
    let help = |words: &[&str]| {
        let output =
            Command::new(env!("CARGO_BIN_EXE_lath")).args(words).arg("--help").env_clear().output().unwrap();
        assert!(output.status.success(), "{words:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let top = help(&[]);
    let (_, list) = top.split_once("Commands:\n").unwrap();
    let commands: Vec<&str> = list
        .lines()
        .take_while(|line| !line.is_empty())
        .map(|line| line.split_whitespace().next().unwrap())
        .filter(|name| *name != "help")
        .collect();
    assert!(commands.len() >= 7);
    let text = readme();
    let table = text.split_once("| command | what it gives |").unwrap().1.split_once("\n\n").unwrap().0;
    for command in &commands {
        assert!(table.contains(&format!("| `lath {command}")), "{command} is not in the README's table");
    }
    let all: String = commands.iter().map(|command| help(&[command])).collect();
    for part in text.split("`").skip(1).step_by(2).filter(|part| !part.contains('\n')) {
        if let Some(rest) = part.strip_prefix("lath ") {
            let command = rest.split(' ').next().unwrap();
            assert!(commands.contains(&command), "`{part}`");
        }
        for option in part.split(' ').filter(|word| word.starts_with("--") && word.len() > 2) {
            let cargos = part.starts_with("cargo ");
            assert!(cargos || all.contains(option), "`{part}`: {option}");
        }
    }
}

#[test]
fn the_first_paragraph_says_the_job() {
    let readme = readme();
    let first = readme.split("\n\n").nth(1).unwrap();
    assert!(
        first.contains("service call")
            && first.contains("unmarked lighting circuit")
            && first.contains("note")
    );
}
