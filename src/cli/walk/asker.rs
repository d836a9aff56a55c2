//! Who is asked: a person at a terminal, or a file.

use dialoguer::theme::{SimpleTheme, Theme};
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

    /// Whether what failed is tried again, once it is put right.
    fn again(&mut self, _: &str, _: &mut dyn Write) -> Result<bool, Ended> {
        Ok(false)
    }

    /// Waits between two parts of something longer than the screen; whether the next part is wanted.
    fn more(&mut self, _: &mut dyn Write) -> Result<bool, Ended> {
        Ok(true)
    }
}

/// What stands before an answer.
fn prompted(prompt: &str) -> Result<String, Ended> {
    let mut line = String::new();
    SimpleTheme
        .format_input_prompt(&mut line, prompt, None)
        .map_err(|_| Ended::Broken(io::Error::other("a prompt could not be written")))?;
    Ok(line)
}

/// A person who types lines. Prompts are dialoguer's, but the terminal itself edits the line: dialoguer's own editing takes it
/// out of its usual mode, and after a kill that nobody can catch there would be nobody to put that right.
pub struct Person;

impl Person {
    fn line(prompt: &str, out: &mut dyn Write) -> Result<String, Ended> {
        write!(out, "{prompt}")?;
        out.flush()?;
        let mut line = Vec::new();
        match io::stdin().lock().read_until(b'\n', &mut line)? {
            // Half a line, and then nothing more: the terminal is gone, and nobody knows what was meant.
            _ if !line.ends_with(b"\n") => Err(Ended::Stopped),
            // A key that sends no text is a wrong answer, and no reason to end.
            _ => Ok(text_of(&String::from_utf8_lossy(&line))),
        }
    }
}

/// What was typed without the keys that send no text: arrows and the like arrive as codes, and what is pasted between such.
fn text_of(line: &str) -> String {
    let mut text = String::new();
    let mut keys = line.chars();
    while let Some(key) = keys.next() {
        match key {
            '\u{1b}' => {
                // One letter ends a code; `[` and `O` only begin it.
                if matches!(keys.next(), Some('[' | 'O')) {
                    keys.find(|key| key.is_ascii_alphabetic() || *key == '~');
                }
            }
            '\t' => text.push(' '),
            key if key.is_control() => {}
            key => text.push(key),
        }
    }
    text
}

impl Asker for Person {
    fn ask(&mut self, out: &mut dyn Write) -> Result<String, Ended> {
        Person::line(&prompted("Answer")?, out)
    }

    fn again(&mut self, failed: &str, out: &mut dyn Write) -> Result<bool, Ended> {
        write!(out, "{failed}")?;
        let said = Person::line("Enter: try again. n: end without it. ", out)?;
        Ok(said.trim().is_empty())
    }

    fn more(&mut self, out: &mut dyn Write) -> Result<bool, Ended> {
        Ok(Person::line("Enter: more. n: enough. ", out)?.trim().is_empty())
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
        writeln!(out, "{}{}", prompted("Answer")?, crate::show::text::sanitize(&answer))?;
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use super::text_of;

    #[test]
    fn keys_that_send_no_text_leave_none() {
        let up_and_down = "\u{1b}[A\u{1b}OB\n";
        assert_eq!(text_of(up_and_down), "");
        assert_eq!(text_of("\u{1b}[200~Stair light\u{1b}[201~\r\n"), "Stair light");
        assert_eq!(text_of("11\u{1b}[1;5D9\u{7}v\t\u{0}\n"), "119v ");
        assert_eq!(text_of("Kök\u{1b}\n"), "Kök");
    }
}
