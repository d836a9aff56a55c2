//! Who is asked: a person at a terminal, a person with a screen reader, or a file.

use std::collections::VecDeque;
use std::io::{self, BufRead, Write};

/// Why there is no answer.
#[derive(Debug)]
pub enum Ended {
    /// The person had enough.
    Stopped,
    /// The answers are used up.
    NoAnswer,
    /// The terminal is gone.
    Broken(io::Error),
}

impl From<io::Error> for Ended {
    fn from(error: io::Error) -> Ended {
        match error.kind() {
            io::ErrorKind::Interrupted | io::ErrorKind::UnexpectedEof => Ended::Stopped,
            _ => Ended::Broken(error),
        }
    }
}

/// Gives an answer to the card that was just shown.
pub trait Asker {
    /// The answer, as typed.
    fn ask(&mut self, out: &mut dyn Write) -> Result<String, Ended>;
}

/// A line that can be edited.
pub struct Rich;

impl Asker for Rich {
    fn ask(&mut self, _: &mut dyn Write) -> Result<String, Ended> {
        let input = dialoguer::Input::<String>::new().with_prompt("Answer").allow_empty(true);
        input
            .interact_text_on(&dialoguer::console::Term::stdout())
            .map_err(|dialoguer::Error::IO(error)| error.into())
    }
}

/// A plain line.
pub struct Plain;

impl Asker for Plain {
    fn ask(&mut self, out: &mut dyn Write) -> Result<String, Ended> {
        write!(out, "Answer: ")?;
        out.flush()?;
        let mut line = String::new();
        match io::stdin().lock().read_line(&mut line)? {
            0 => Err(Ended::Stopped),
            _ => Ok(line.trim_end_matches(['\n', '\r']).to_owned()),
        }
    }
}

/// Answers from a file, shown where they are given.
pub struct Scripted {
    left: VecDeque<String>,
}

impl Scripted {
    /// The lines of a text, but for remarks.
    pub fn new(text: &str) -> Scripted {
        let lines = text.lines().filter(|line| !line.starts_with('#'));
        Scripted { left: lines.map(|line| line.trim().to_owned()).collect() }
    }
}

impl Asker for Scripted {
    fn ask(&mut self, out: &mut dyn Write) -> Result<String, Ended> {
        let answer = self.left.pop_front().ok_or(Ended::NoAnswer)?;
        writeln!(out, "Answer: {}", crate::show::text::sanitize(&answer))?;
        Ok(answer)
    }
}
