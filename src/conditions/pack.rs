//! The packs of conditions as types.

use super::facts::Scope;
use super::fill::FillRule;
use super::rule::Rule;
use crate::knowledge::Caution;

/// A step of the scale of seriousness; the gravest comes first.
#[derive(Clone, PartialEq, Debug)]
pub struct Level {
    /// Its name in packs.
    pub name: String,
    /// What the note calls it.
    pub words: String,
    /// What it means for the customer.
    pub means: String,
    /// Conditions of this level are told from this probability on.
    pub from: f64,
}

/// An electrical code and where it applies.
#[derive(Clone, PartialEq, Debug)]
pub struct Code {
    /// What it is called here.
    pub code: String,
    /// Regions where it applies.
    pub regions: Vec<String>,
    /// What people write for it.
    pub names: Vec<String>,
    /// The newest edition that the packs know of.
    pub newest: i64,
}

/// Something to be seen at a box, by name.
#[derive(Clone, PartialEq, Debug)]
pub struct Observation {
    /// Its name in job files.
    pub name: String,
    /// The same in words.
    pub words: String,
}

/// How the text of a provision was checked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Checked {
    /// The code itself was opened, at the place named.
    Text,
    /// Its words were read as others quote them, at the source named.
    Quoted,
    /// What others write about it was read, at the source named.
    Reported,
    /// Nobody looked it up: from memory.
    Memory,
}

impl Checked {
    /// In words, for the list of provisions.
    pub fn words(self) -> &'static str {
        match self {
            Checked::Text => "verified in the code itself",
            Checked::Quoted => "as others quote it, not verified in the code itself",
            Checked::Reported => "as others report it, not verified",
            Checked::Memory => "from memory, not looked up",
        }
    }
}

/// A provision of a code that stands behind a condition.
#[derive(Clone, PartialEq, Debug)]
pub struct Provision {
    /// The code.
    pub code: String,
    /// The section or rule, numbered as in the newest edition known here.
    pub section: String,
    /// The edition it came in with; `None` where it is as old as anything of interest, or not known.
    pub since: Option<i64>,
    /// The last edition that has it so.
    pub until: Option<i64>,
    /// What it asks, in short.
    pub says: String,
    /// How that was checked.
    pub checked: Checked,
    /// Where.
    pub source: String,
}

/// What triggers a condition at one kind of thing.
#[derive(Clone, PartialEq, Debug)]
pub struct Trigger {
    /// The kind of thing.
    pub about: Scope,
    /// What has to hold there.
    pub when: Rule,
}

/// A condition.
#[derive(Clone, PartialEq, Debug)]
pub struct Condition {
    /// Its name.
    pub name: String,
    /// A few words.
    pub title: String,
    /// Its place on the scale, from 0.
    pub level: usize,
    /// Where it applies; everywhere where empty.
    pub regions: Vec<String>,
    /// What triggers it.
    pub found: Vec<Trigger>,
    /// What it means, in plain words.
    pub says: String,
    /// What is usually done.
    pub usually: String,
    /// How it was judged when installed, where that is no matter of one provision.
    pub installed: Option<String>,
    /// Cautions that belong to it.
    pub cautions: Vec<Caution>,
    /// The provisions behind it.
    pub provisions: Vec<Provision>,
}

/// All that the packs say about conditions.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Pack {
    /// The scale of seriousness, the gravest first.
    pub scale: Vec<Level>,
    /// Codes.
    pub codes: Vec<Code>,
    /// Observations.
    pub observations: Vec<Observation>,
    /// How boxes are counted, by code and edition.
    pub fill: Vec<FillRule>,
    /// The schemes that rules may name.
    pub schemes: Vec<String>,
    /// Conditions, in file order.
    pub conditions: Vec<Condition>,
}

impl Pack {
    /// The words of an observation; what was written where it is none of the packs'.
    pub fn observation<'a>(&'a self, seen: &'a str) -> &'a str {
        let known = self.observations.iter().find(|one| one.name == seen);
        known.map_or(seen, |one| &one.words)
    }

    /// The condition of that name.
    pub fn condition(&self, name: &str) -> Option<&Condition> {
        self.conditions.iter().find(|condition| condition.name == name)
    }

    /// The step of the scale that a condition is on.
    pub fn level(&self, condition: &Condition) -> Option<&Level> {
        self.scale.get(condition.level)
    }
}
