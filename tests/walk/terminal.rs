//! The program itself, at a pseudo-terminal and away from one.

use portable_pty::{Child, CommandBuilder, NativePtySystem, PtySize, PtySystem};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// The program at a terminal.
struct Desk {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    seen: Receiver<Vec<u8>>,
    text: String,
    _pty: Box<dyn portable_pty::MasterPty + Send>,
}

impl Desk {
    fn at(job: &Path, options: &[&str]) -> Desk {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pty = NativePtySystem::default().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_lath"));
        command.env("TERM", "xterm");
        command.env("NO_COLOR", "1");
        command.args(["walk", job.to_str().unwrap()]);
        command.args(options);
        let child = pty.slave.spawn_command(command).unwrap();
        let mut reader = pty.master.try_clone_reader().unwrap();
        let (sender, seen) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                if sender.send(bytes[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
        let keys = pty.master.take_writer().unwrap();
        Desk { child, keys, seen, text: String::new(), _pty: pty.master }
    }

    /// Waits until a text is shown, and forgets what was shown up to it.
    fn wait(&mut self, for_text: &str) {
        loop {
            if let Some(at) = self.text.find(for_text) {
                self.text.drain(..at + for_text.len());
                return;
            }
            match self.seen.recv_timeout(Duration::from_secs(60)) {
                Ok(bytes) => self.text.push_str(&String::from_utf8_lossy(&bytes)),
                Err(_) => panic!("{for_text:?} was not shown: {}", self.text),
            }
        }
    }

    /// Types an answer when the next question is there.
    fn answer(&mut self, question: &str, text: &str) {
        self.wait(question);
        self.wait("Answer:");
        self.keys.write_all(format!("{text}\r").as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    fn status(&mut self) -> u32 {
        self.child.wait().unwrap().exit_code()
    }
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("call.yaml");
    (folder, job)
}

/// Answers that begin a call, with the words of the questions.
const BEGIN: [(&str, &str); 5] = [
    ("Is that so?", "y"),
    ("What is the call?", "Stair light"),
    ("What does the customer report", ""),
    ("What was changed last", ""),
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
        desk.answer("breaker or fuse", "stop");
        desk.wait("Stopped.");
        assert_eq!(desk.status(), 130);
        let left = std::fs::read_dir(job.parent().unwrap()).unwrap().count();
        assert!(left <= 2, "something was left lying about");
    }
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
    std::fs::write(&answers, "# the beginning\ny\nStair light\n\n\n\n").unwrap();
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
