//! What is wrong with a job, and where.

use std::fmt;

/// One step into a document.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Step {
    /// The value under a key.
    Key(String),
    /// An item of a list, from 0.
    Index(usize),
}

/// A place in a document, from its top.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct Path(pub Vec<Step>);

impl Path {
    /// The whole document.
    pub fn top() -> Path {
        Path::default()
    }

    /// The value under `key` here.
    pub fn key(&self, key: &str) -> Path {
        self.then(Step::Key(key.to_owned()))
    }

    /// Item `index` here.
    pub fn index(&self, index: usize) -> Path {
        self.then(Step::Index(index))
    }

    fn then(&self, step: Step) -> Path {
        let mut steps = Vec::with_capacity(self.0.len() + 1);
        steps.extend_from_slice(&self.0);
        steps.push(step);
        Path(steps)
    }
}

impl fmt::Display for Path {
    fn fmt(&self, out: &mut fmt::Formatter) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            match step {
                Step::Index(index) => write!(out, "[{index}]")?,
                Step::Key(key) if i == 0 => out.write_str(key)?,
                Step::Key(key) => write!(out, ".{key}")?,
            }
        }
        Ok(())
    }
}

/// A place to point at: a value, or the key before it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Spot {
    /// The place.
    pub path: Path,
    /// Points at the key that ends the path, and says which one where it stands there several times (from 0).
    pub key: Option<usize>,
}

impl From<Path> for Spot {
    fn from(path: Path) -> Spot {
        Spot { path, key: None }
    }
}

/// One thing wrong with a job.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Problem {
    /// Where.
    pub spot: Spot,
    /// What is wrong, in plain words.
    pub what: String,
    /// The offending text.
    pub found: String,
    /// What to write instead: the words that follow "write".
    pub instead: String,
}

impl Problem {
    /// A problem with a value.
    pub fn new(
        path: Path,
        what: impl Into<String>,
        found: impl Into<String>,
        instead: impl Into<String>,
    ) -> Problem {
        Problem {
            spot: path.into(),
            what: what.into(),
            found: super::node::shorten(&found.into()),
            instead: instead.into(),
        }
    }

    /// The same problem, pointing at the key in front of the value; `nth` where the key repeats.
    pub fn at_key(mut self, nth: usize) -> Problem {
        self.spot.key = Some(nth);
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, out: &mut fmt::Formatter) -> fmt::Result {
        if !self.spot.path.0.is_empty() {
            write!(out, "{}: ", self.spot.path)?;
        }
        write!(out, "{}; found \"{}\"; write {}", self.what, self.found, self.instead)
    }
}

/// Something that is allowed, and that the person should know.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Warning {
    /// Where.
    pub spot: Spot,
    /// What, in plain words.
    pub what: String,
}

impl Warning {
    /// A warning about a value.
    pub fn new(path: Path, what: impl Into<String>) -> Warning {
        Warning { spot: path.into(), what: what.into() }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, out: &mut fmt::Formatter) -> fmt::Result {
        if !self.spot.path.0.is_empty() {
            write!(out, "{}: ", self.spot.path)?;
        }
        out.write_str(&self.what)
    }
}

/// The word of `known` that was probably meant by `text`: at most two slips away, and nearer than its own length.
pub fn likely<'a>(text: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let text = text.to_lowercase();
    // A word this long is not a slip of any known one, and the distance costs its square.
    if text.len() > 64 {
        return None;
    }
    known
        .into_iter()
        .map(|word| (distance(&text, &word.to_lowercase()), word))
        .filter(|(slips, word)| *slips <= 2 && 2 * *slips < word.chars().count().max(2))
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, word)| word)
}

/// Letters to add, drop, change or swap to turn one word into the other.
fn distance(from: &str, to: &str) -> usize {
    let (from, to): (Vec<char>, Vec<char>) = (from.chars().collect(), to.chars().collect());
    let width = to.len() + 1;
    let mut table = vec![0; (from.len() + 1) * width];
    for i in 0..=from.len() {
        for j in 0..=to.len() {
            table[i * width + j] = if i == 0 || j == 0 {
                i + j
            } else {
                let same = usize::from(from[i - 1] != to[j - 1]);
                let mut best = (table[(i - 1) * width + j] + 1)
                    .min(table[i * width + j - 1] + 1)
                    .min(table[(i - 1) * width + j - 1] + same);
                if i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1] {
                    best = best.min(table[(i - 2) * width + j - 2] + 1);
                }
                best
            };
        }
    }
    table[from.len() * width + to.len()]
}

/// `a, b or c`.
pub fn any_of<T: AsRef<str>>(words: impl IntoIterator<Item = T>) -> String {
    let words: Vec<T> = words.into_iter().collect();
    match words.as_slice() {
        [] => "nothing".to_owned(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", first.join(", "), last.as_ref())
        }
    }
}
