//! Texts that are nearly right: made from right ones by a few changes, drawn from a seed.

use std::ops::Range;

/// Numbers that follow from a seed alone (xorshift64*, Vigna 2016).
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        // Neighbouring seeds have nothing in common once they went through a multiplication and a shift.
        let mixed = seed.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        Dice((mixed ^ (mixed >> 29)) | 1)
    }

    pub fn number(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 16
    }

    /// One of 0 up to and without `end`; 0 where there is nothing to choose from.
    pub fn below(&mut self, end: usize) -> usize {
        (self.number() % end.max(1) as u64) as usize
    }

    pub fn one<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }

    /// One of some texts.
    pub fn word<'a>(&mut self, all: &'a [impl AsRef<str>]) -> &'a str {
        self.one(all).as_ref()
    }

    /// Once in so many.
    pub fn once_in(&mut self, many: usize) -> bool {
        self.below(many) == 0
    }
}

/// What stands in no right text, or does and means something else: limits of number types, words YAML takes for others,
/// signs of its grammar, names that are reserved, letters that are none.
pub const TRAPS: &[&str] = &[
    "",
    "0",
    "-1",
    "1",
    "2",
    "255",
    "256",
    "257",
    "65536",
    "4294967296",
    "9223372036854775807",
    "-9223372036854775808",
    "18446744073709551616",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    ".inf",
    "-.inf",
    ".nan",
    "0.1",
    "1.10",
    "0x1F",
    "null",
    "~",
    "true",
    "false",
    "on",
    "off",
    "[]",
    "{}",
    "[[[[",
    "]]",
    "}",
    "{",
    ":",
    ": ",
    "- ",
    "? ",
    "!x ",
    "&a ",
    "*a",
    "<<: ",
    "#",
    "|",
    ">",
    "'",
    "\"",
    "\t",
    "\r",
    "\n\n",
    "\u{0}",
    "\u{feff}",
    "\u{202e}",
    "\u{1b}[31m",
    "é",
    "😀",
    "\u{301}",
    "panel",
    "onward",
    "earth",
    "buried-1",
    "metal",
    "bare",
    "green",
    "w1",
    "black1",
    "black2",
    "x1",
    "switch.common",
    "light.center",
    "a.black",
    "b.white",
    "hall/a.black",
    "/",
    ".",
    "a.",
    ".a",
    "a/b/c.d",
    "up",
    "down",
    "left",
    "1/0",
    "about 60",
    "110-120",
    "120-110",
    "-5-3",
    "OL",
    "trips",
    "lit",
    "dark",
    "beep",
    "none",
    "line",
    "three-way",
    "four-way",
    "double-pole",
    "dimmer",
    "electronic",
    "switch",
    "receptacle",
    "pull-chain",
    "light",
    "junction",
    "unmarked",
    "led",
    "open",
    "watch",
    "volts",
    "ohms",
    "amps",
    "load",
    "continuity",
    "high-impedance",
    "clamp",
    "neon",
    "test-lamp",
    "2026-02-30",
    "0000-00-00",
    "99:99",
    "neutral-at hall",
    "identify",
    "repair",
];

/// A text with a change or a few; `others` lend passages.
pub fn mutated(text: &str, others: &[String], dice: &mut Dice) -> Vec<u8> {
    let mut text = text.to_owned();
    let more = if dice.once_in(3) { 1 + dice.below(3) } else { 0 };
    for _ in 0..=more {
        text = once(&text, others, dice);
    }
    let mut bytes = text.into_bytes();
    if dice.once_in(12) && !bytes.is_empty() {
        let at = dice.below(bytes.len());
        bytes[at] = dice.number() as u8;
    }
    bytes
}

fn once(text: &str, others: &[String], dice: &mut Dice) -> String {
    let words = words(text);
    let word = dice.one(&words).clone();
    match dice.below(9) {
        0 => replaced(text, word, dice.word(TRAPS)),
        1 | 2 => {
            let other = dice.one(&words).clone();
            replaced(text, word, &text[other])
        }
        3 => replaced(text, word, ""),
        4 => lines(text, dice, |lines, dice| {
            let at = dice.below(lines.len());
            lines.remove(at);
        }),
        5 => lines(text, dice, |lines, dice| {
            let (from, to) = (dice.below(lines.len()), dice.below(lines.len()));
            lines.insert(to, lines[from].clone());
        }),
        6 => lines(text, dice, |lines, dice| {
            let (one, other) = (dice.below(lines.len()), dice.below(lines.len()));
            lines.swap(one, other);
        }),
        7 if !others.is_empty() => {
            let lender = dice.one(others);
            let lent: Vec<&str> = lender.lines().collect();
            let from = dice.below(lent.len());
            let count = 1 + dice.below(4);
            let passage: Vec<String> =
                lent.iter().skip(from).take(count).map(|line| (*line).to_owned()).collect();
            lines(text, dice, |lines, dice| {
                let at = dice.below(lines.len());
                lines.splice(at..at, passage);
            })
        }
        _ => {
            // Every place where a word stands, as somebody who renames something does.
            let old = &text[word];
            let new = dice.one(&words).clone();
            if old.len() < 2 { text.to_owned() } else { text.replace(old, &text[new]) }
        }
    }
}

/// Where the words and the signs of a text are.
fn words(text: &str) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for (at, letter) in text.char_indices() {
        let end = at + letter.len_utf8();
        let plain = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_');
        match found.last_mut() {
            Some(last) if last.end == at && plain(letter) && text[last.clone()].chars().all(plain) => {
                last.end = end
            }
            _ if letter == ' ' || letter == '\n' => {}
            _ => found.push(at..end),
        }
    }
    if found.is_empty() {
        found.push(0..0);
    }
    found
}

fn replaced(text: &str, at: Range<usize>, new: &str) -> String {
    format!("{}{new}{}", &text[..at.start], &text[at.end..])
}

fn lines(text: &str, dice: &mut Dice, change: impl FnOnce(&mut Vec<String>, &mut Dice)) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if lines.is_empty() {
        return text.to_owned();
    }
    change(&mut lines, dice);
    lines.join("\n") + "\n"
}

/// How many cases: so many, or `LATH_FUZZ` times as many.
pub fn cases(plain: usize) -> usize {
    plain * from_env("LATH_FUZZ").unwrap_or(1) as usize
}

/// The seed of a run.
pub fn seed() -> u64 {
    from_env("LATH_SEED").unwrap_or(1)
}

fn from_env(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name}={text} is no number")))
}

/// Runs a case; where it panics, says which, so that it can be run again, and what it was given.
pub fn tried<T>(what: &str, case: usize, given: &[u8], run: impl FnOnce() -> T) -> T {
    match std::panic::catch_unwind(std::panic::AssertUnwindSafe(run)) {
        Ok(value) => value,
        Err(_) => panic!("{what}, seed {}, case {case}:\n{}", seed(), String::from_utf8_lossy(given)),
    }
}

/// The job files that are texts of this project.
pub fn jobs() -> Vec<(String, String)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for folder in ["examples", "tests/handbooks", "tests/oracle/wirings/surveys", "tests/jobfile"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.ends_with(".yaml") && !name.ends_with(".expected.yaml") {
                found.push((format!("{folder}/{name}"), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() > 15);
    found
}
