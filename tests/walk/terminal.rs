//! The program itself, at a pseudo-terminal and away from one.

use super::desk::Desk;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("call.yaml");
    (folder, job)
}

/// Answers that begin a call, with the words of the questions.
const BEGIN: [(&str, &str); 8] = [
    ("Is that so?", "y"),
    ("What is the call?", "Stair light"),
    ("Where, and for whom?", ""),
    ("Who works", ""),
    ("What does the customer report", ""),
    ("What was changed last", ""),
    ("Which year", ""),
    ("What is at hand?", ""),
];

#[test]
fn at_a_terminal_the_file_is_current_and_a_kill_loses_nothing() {
    for options in [&[][..], &["--plain"]] {
        let (_folder, job) = folder();
        let mut desk = Desk::at(&job, options);
        for (question, answer) in BEGIN {
            desk.answer(question, answer);
        }
        desk.wait("Input resistance");
        desk.wait("Answer:");
        // Half an answer is typed when the power of the machine goes.
        desk.keys.write_all(b"30").unwrap();
        desk.child.kill().unwrap();
        desk.child.wait().unwrap();
        let text = std::fs::read_to_string(&job).unwrap();
        assert!(text.contains("Stair light") && text.contains("two-pole"), "{text}");

        let mut desk = Desk::at(&job, options);
        desk.wait("Going on with");
        desk.answer("Input resistance", "");
        desk.answer("Which breaker or fuse", "stop");
        desk.wait("Stopped.");
        assert_eq!(desk.status(), 130);
        let left = std::fs::read_dir(job.parent().unwrap()).unwrap().count();
        assert!(left <= 2, "something was left lying about");
    }
}

/// Arrows are no text, half a line before the end of everything is no answer, and a number that is not shown is no choice.
#[test]
fn what_is_no_answer_is_not_taken_for_one() {
    let (_folder, job) = folder();
    let mut desk = Desk::at(&job, &[]);
    desk.answer("Is that so?", "1");
    desk.wait("none of the answers");
    desk.answer("Is that so?", "y");
    desk.answer("What is the call?", "\u{1b}[A\u{1b}[B");
    desk.wait("A few words");
    desk.wait("Answer:");
    desk.type_raw(b"Half a tit\x04\x04");
    desk.wait("Stopped.");
    assert_eq!(desk.status(), 130);
    assert!(!std::fs::read_to_string(&job).unwrap().contains("Half"));
    // Where they are shown, they are.
    let mut desk = Desk::at(&job, &["--plain"]);
    for (question, answer) in &BEGIN[1..6] {
        desk.answer(question, if answer.is_empty() { "x" } else { answer });
    }
    desk.answer("Did it work before that?", "2");
    desk.wait("Which year");
    let left = lath::files::load(&job).unwrap().job;
    assert_eq!(left.call.unwrap().worked_before, Some(false));
}

#[test]
fn ctrl_c_ends_with_130_and_the_file_whole() {
    for options in [&[][..], &["--plain"]] {
        let (_folder, job) = folder();
        let mut desk = Desk::at(&job, options);
        desk.answer("Is that so?", "y");
        desk.wait("What is the call?");
        desk.wait("Answer:");
        desk.keys.write_all(b"\x03").unwrap();
        desk.keys.flush().unwrap();
        let status = desk.child.wait().unwrap();
        assert!(status.exit_code() == 130 || status.signal().is_some(), "{status:?}");
        assert!(!desk.text.contains("\x1b[?25l"), "the cursor was hidden");
        assert!(std::fs::read_to_string(&job).unwrap().contains("accepted"));
    }
}

/// Somebody closes the window.
#[test]
fn a_terminal_that_is_gone_ends_it_with_the_file_whole() {
    let (_folder, job) = folder();
    let mut desk = Desk::at(&job, &[]);
    desk.answer("Is that so?", "y");
    desk.wait("What is the call?");
    let Desk { mut child, keys, pty, .. } = desk;
    drop((keys, pty));
    let status = child.wait().unwrap();
    assert!(!status.success());
    assert!(std::fs::read_to_string(&job).unwrap().contains("accepted"));
    let (status, out, _) = away(&["--answers", "/dev/null"], &job);
    assert_eq!(status, 4);
    assert!(out.contains("What is the call?"), "{out}");
}

/// Nothing is sent to a terminal but text: what is never set need not be put right.
#[test]
fn no_terminal_codes_without_colour_and_no_others_with_it() {
    for (variables, codes) in [(&[("NO_COLOR", "1")][..], false), (&[("TERM", "dumb")], false), (&[], true)] {
        let (_folder, job) = folder();
        let mut desk = Desk::with(&job, &[], variables);
        desk.wait("Is that so?");
        desk.type_line("help");
        desk.type_line("stop");
        assert_eq!(desk.status(), 130);
        let text = desk.rest();
        let sent: Vec<&str> = text.split('\u{1b}').skip(1).collect();
        assert!(codes || sent.is_empty(), "{text:?}");
        let is_colour = |code: &str| {
            let end = code.find(|c: char| !c.is_ascii_digit() && !matches!(c, '[' | ';'));
            code.starts_with('[') && end.is_some_and(|end| code[end..].starts_with('m'))
        };
        assert!(sent.iter().all(|code| is_colour(code)), "{sent:?}");
        assert!(desk.is_sane());
    }
}

/// The disk is full: a limit on the size of files stands for it.
#[test]
fn a_full_disk_leaves_the_file_as_it_was_and_says_what_is_not_in_it() {
    let (folder, job) = folder();
    std::fs::write(folder.path().join("first.txt"), format!("y\n{}\n", "Stair light ".repeat(200))).unwrap();
    away(&["--answers", folder.path().join("first.txt").to_str().unwrap()], &job);
    let before = std::fs::read(&job).unwrap();
    assert!(before.len() > 1024);
    std::fs::write(folder.path().join("more.txt"), "9 Quarry Row\n").unwrap();
    let script = format!(
        "trap '' XFSZ; ulimit -f 1; exec '{}' walk call.yaml --answers more.txt",
        env!("CARGO_BIN_EXE_lath")
    );
    let ended = Command::new("bash").args(["-c", &script]).current_dir(folder.path()).output().unwrap();
    let (out, err) = (String::from_utf8(ended.stdout).unwrap(), String::from_utf8(ended.stderr).unwrap());
    assert_eq!(ended.status.code(), Some(3), "{err}");
    assert!(err.contains("cannot be saved") && err.contains("the file is as it was"), "{err}");
    assert!(out.contains("The last answer is not in the file"), "{out}");
    assert_eq!(std::fs::read(&job).unwrap(), before);
}

/// What stands in the way of a save is put right, and the answer is not lost: another program's change stands for it.
#[test]
fn an_answer_that_could_not_be_saved_is_saved_once_it_can_be() {
    let (_folder, job) = folder();
    let mut desk = Desk::at(&job, &[]);
    desk.answer("Is that so?", "y");
    desk.wait("What is the call?");
    let whole = std::fs::read(&job).unwrap();
    std::fs::write(&job, [&whole[..], b"# changed\n"].concat()).unwrap();
    desk.answer("", "Stair light");
    desk.wait("Not saved:");
    desk.wait("try again.");
    std::fs::write(&job, &whole).unwrap();
    desk.type_line("");
    desk.wait("Where, and for whom?");
    assert!(std::fs::read_to_string(&job).unwrap().contains("Stair light"));
    std::fs::write(&job, "lath: 1\n").unwrap();
    desk.answer("", "9 Quarry Row");
    desk.wait("try again.");
    desk.type_line("n");
    desk.wait("The last answer is not in the file");
    assert_eq!(desk.status(), 3);
    assert_eq!(std::fs::read_to_string(&job).unwrap(), "lath: 1\n");
}

#[test]
fn a_second_walk_on_the_same_file_is_refused() {
    let (_folder, job) = folder();
    let mut first = Desk::at(&job, &[]);
    first.wait("Is that so?");
    let mut second = Desk::at(&job, &[]);
    second.wait("another lath is working on this job");
    assert_eq!(second.status(), 3);
    first.child.kill().unwrap();
}

fn away(options: &[&str], job: &Path) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lath"));
    command.arg("walk").arg(job).args(options).stdin(Stdio::null()).env("NO_COLOR", "1");
    let out = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

#[test]
fn without_a_terminal_nobody_is_asked() {
    let (_folder, job) = folder();
    let (status, out, err) = away(&[], &job);
    assert_eq!((status, out.as_str()), (4, ""));
    assert!(err.contains("--answers FILE"), "{err}");
    assert!(!job.exists(), "a file was made for a walk that never began");
}

#[test]
fn answers_come_from_a_file() {
    let (folder, job) = folder();
    let answers = folder.path().join("answers.txt");
    std::fs::write(&answers, "# the beginning\ny\nStair light\n\n\n\n\n\n\n").unwrap();
    let (status, out, err) = away(&["--answers", answers.to_str().unwrap(), "--plain"], &job);
    assert_eq!(status, 4, "{err}");
    assert!(err.contains("the answers end at this question"), "{err}");
    assert!(out.contains("Answer: Stair light"), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80));
    std::fs::write(&answers, "stop\n").unwrap();
    let (status, out, _) = away(&["--answers", answers.to_str().unwrap(), "--plain"], &job);
    assert_eq!(status, 130);
    assert!(out.contains("Input resistance"), "{out}");
}
