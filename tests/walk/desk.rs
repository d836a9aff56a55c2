//! The program at a pseudo-terminal.

use portable_pty::{Child, CommandBuilder, NativePtySystem, PtySize, PtySystem};
use std::io::{Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

/// The program at a terminal.
pub struct Desk {
    pub child: Box<dyn Child + Send + Sync>,
    pub keys: Box<dyn Write + Send>,
    seen: Receiver<Vec<u8>>,
    pub text: String,
    pub pty: Box<dyn portable_pty::MasterPty + Send>,
}

impl Desk {
    /// On a job, without colour.
    pub fn at(job: &Path, options: &[&str]) -> Desk {
        Desk::with(job, options, &[("NO_COLOR", "1")])
    }

    /// On a job, with these variables beside an ordinary terminal's.
    pub fn with(job: &Path, options: &[&str], variables: &[(&str, &str)]) -> Desk {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pty = NativePtySystem::default().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_lath"));
        command.env("TERM", "xterm");
        command.env_remove("NO_COLOR");
        variables.iter().for_each(|(name, value)| command.env(name, value));
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
        Desk { child, keys, seen, text: String::new(), pty: pty.master }
    }

    /// Waits until a text is shown, and forgets what was shown up to it.
    pub fn wait(&mut self, text: &str) {
        self.wait_for(&[text]);
    }

    /// Waits until one of several texts is shown: what was shown up to it, and which it is.
    fn wait_for<'t>(&mut self, texts: &[&'t str]) -> (String, &'t str) {
        loop {
            let first = texts.iter().filter_map(|text| Some((self.text.find(text)?, *text))).min();
            if let Some((at, text)) = first {
                let shown = self.text.drain(..at + text.len()).collect();
                return (shown, text);
            }
            match self.seen.recv_timeout(Duration::from_secs(20)) {
                Ok(bytes) => self.text.push_str(&String::from_utf8_lossy(&bytes)),
                Err(_) => panic!("{texts:?} was not shown: {:?}, {:?}", self.text, self.child.try_wait()),
            }
        }
    }

    /// Types an answer when the next question is there.
    pub fn answer(&mut self, question: &str, text: &str) {
        self.wait(question);
        self.wait("Answer:");
        self.keys.write_all(format!("{text}\r").as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    pub fn status(&mut self) -> u32 {
        self.child.wait().unwrap().exit_code()
    }

    /// Waits for the next question, leafing through what is longer than the screen.
    pub fn next_question(&mut self) {
        self.question();
    }

    /// What is shown up to the next question, leafing through what is longer than the screen.
    pub fn question(&mut self) -> String {
        let mut shown = String::new();
        loop {
            let (text, mark) = self.wait_for(&["Answer:", "n: enough."]);
            shown.push_str(&text);
            if mark == "Answer:" {
                return shown;
            }
            self.type_line("");
        }
    }

    /// Types a line.
    pub fn type_line(&mut self, text: &str) {
        self.type_raw(format!("{text}\r").as_bytes());
    }

    /// Presses keys.
    pub fn type_raw(&mut self, keys: &[u8]) {
        self.keys.write_all(keys).unwrap();
        self.keys.flush().unwrap();
    }

    /// Whether the terminal still takes lines and shows what is typed, as a shell needs it.
    #[cfg(unix)]
    pub fn is_sane(&self) -> bool {
        let modes = format!("{:?}", self.pty.get_termios().unwrap().local_flags);
        ["ICANON", "ECHO", "ISIG"].iter().all(|mode| modes.contains(mode))
    }

    /// What is still shown until it ends.
    pub fn rest(&mut self) -> String {
        while let Ok(bytes) = self.seen.recv_timeout(Duration::from_secs(2)) {
            self.text.push_str(&String::from_utf8_lossy(&bytes));
        }
        std::mem::take(&mut self.text)
    }

    /// Kills it as nothing can be caught.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}
