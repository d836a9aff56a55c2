//! The packs that are compiled in.

use super::{Complaint, conditions, yaml};
use crate::call::job::{Node, Path, Problem, any_of, read_node};
use crate::knowledge::{Attachment, Cautions, Defects, Habits, Instruments, Knowledge, Prices, Scheme};
use crate::practice::proof::{self, Proof};
use serde::de::DeserializeOwned;

// SCHEMES, ATTACHMENTS and CONDITIONS: each file of their folders, as `src/build.rs` found them.
include!(concat!(env!("OUT_DIR"), "/packs.rs"));
const DEFECTS: &str = include_str!("../../knowledge/defects.yaml");
const HABITS: &str = include_str!("../../knowledge/habits.yaml");
const EFFORT: &str = include_str!("../../knowledge/effort.yaml");
const INSTRUMENTS: &str = include_str!("../../knowledge/instruments.yaml");

/// What a pack file is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Kind {
    /// A scheme.
    Scheme,
    /// What else hangs on a scheme's cables.
    Attachment,
    /// Defects.
    Defects,
    /// Habits of runs and colours.
    Habits,
    /// Instruments.
    Instruments,
    /// What work costs.
    Effort,
    /// Cautions.
    Cautions,
    /// Conditions, or what they are told with.
    Conditions,
}

impl Kind {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Scheme => "scheme",
            Kind::Attachment => "attachment",
            Kind::Defects => "defects",
            Kind::Habits => "habits",
            Kind::Instruments => "instruments",
            Kind::Effort => "effort",
            Kind::Cautions => "cautions",
            Kind::Conditions => "conditions",
        }
    }
}

/// Every pack file that is compiled in: its name, its kind, its text.
pub fn all() -> Vec<(&'static str, Kind, &'static str)> {
    let of = |kind| move |(name, text): &(&'static str, &'static str)| (*name, kind, *text);
    let mut all: Vec<_> = SCHEMES.iter().map(of(Kind::Scheme)).collect();
    all.extend(ATTACHMENTS.iter().map(of(Kind::Attachment)));
    all.push(("defects.yaml", Kind::Defects, DEFECTS));
    all.push(("habits.yaml", Kind::Habits, HABITS));
    all.push(("instruments.yaml", Kind::Instruments, INSTRUMENTS));
    all.push(("effort.yaml", Kind::Effort, EFFORT));
    all.push(("cautions.yaml", Kind::Cautions, Cautions::TEXT));
    all.extend(CONDITIONS.iter().map(of(Kind::Conditions)));
    all
}

/// A key that only packs of a kind have at their top.
const SIGNS: &[(&str, Kind)] = &[
    ("scheme", Kind::Scheme),
    ("attachment", Kind::Attachment),
    ("on-complaint", Kind::Defects),
    ("defects", Kind::Defects),
    ("prior", Kind::Habits),
    ("colours", Kind::Habits),
    ("instruments", Kind::Instruments),
    ("errors", Kind::Instruments),
    ("travel", Kind::Effort),
    ("work", Kind::Effort),
    ("qualified-person", Kind::Cautions),
    ("scale", Kind::Conditions),
    ("codes", Kind::Conditions),
    ("observations", Kind::Conditions),
    ("fill", Kind::Conditions),
    ("conditions", Kind::Conditions),
];

/// A pack file that is as it should be.
#[derive(Clone, PartialEq, Debug)]
pub struct Checked {
    /// What it is about.
    pub kind: Kind,
    /// What a scheme does on plain devices, for each number and each kind of them.
    pub proofs: Vec<Proof>,
}

impl From<Kind> for Checked {
    fn from(kind: Kind) -> Checked {
        Checked { kind, proofs: Vec::new() }
    }
}

/// Checks a pack file, known to people as `name`: its shape, whether what it says can be so, and what a scheme does in
/// every position; as it would be read in place of or beside those that are compiled in.
///
/// # Errors
/// Everything that is wrong with it.
pub fn check(name: &str, text: &str) -> Result<Checked, Vec<Complaint>> {
    check_beside(name, text, &[(name, text)])
}

/// The same for one of some files that are given together: a condition may name a scheme or an observation that is in
/// another of them. What is wrong with the others is not said.
///
/// # Errors
/// As [`check`].
pub fn check_beside(name: &str, text: &str, given: &[(&str, &str)]) -> Result<Checked, Vec<Complaint>> {
    let file = File { name, text };
    if yaml::is_empty(text) {
        return Err(vec![file.no_pack("the file is empty")]);
    }
    let node = yaml::parse(text).map_err(|error| vec![file.told(error)])?;
    if node.get("lath").is_some() {
        let what = "this is a job file and no pack; write `lath check` before its name";
        return Err(vec![file.complaint(1, what.to_owned())]);
    }
    let Some(kind) = kind(&node) else { return Err(vec![file.no_pack("this is no pack")]) };
    file.sound(read_node::<Node>(&node).err().unwrap_or_default())?;
    let problems = match kind {
        Kind::Scheme => return file.scheme(),
        Kind::Attachment => {
            let attachment: Attachment = file.read()?;
            [file.misnamed("attachment", &attachment.attachment), attachment.problems()].concat()
        }
        Kind::Defects => file.read::<Defects>()?.problems(),
        Kind::Habits => file.read::<Habits>()?.problems(),
        Kind::Instruments => file.read::<Instruments>()?.problems(),
        Kind::Effort => file.read::<Prices>()?.problems(),
        Kind::Cautions => file.read::<Cautions>().map(|_| Vec::new())?,
        Kind::Conditions => file.conditions(given).map(|()| Vec::new())?,
    };
    file.sound(problems)?;
    Ok(Checked::from(kind))
}

/// What a pack file is about, by a key at its top.
fn kind(node: &Node) -> Option<Kind> {
    SIGNS.iter().find(|(key, _)| node.get(key).is_some()).map(|(_, kind)| *kind)
}

/// The schemes that are compiled in: a file is named as its scheme.
pub(super) fn scheme_names() -> impl Iterator<Item = &'static str> {
    SCHEMES.iter().map(|(name, _)| stem(name))
}

/// A file's name without its folders.
fn base(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
}

/// The same without its ending.
fn stem(name: &str) -> &str {
    base(name).trim_end_matches(".yaml")
}

/// The text of a pack, and what people know it by.
struct File<'a> {
    name: &'a str,
    text: &'a str,
}

impl File<'_> {
    fn complaint(&self, line: usize, what: String) -> Complaint {
        Complaint { name: self.name.to_owned(), line, what }
    }

    /// The pack as its type.
    fn read<T: DeserializeOwned>(&self) -> Result<T, Vec<Complaint>> {
        yaml::typed(self.text).map_err(|error| vec![self.told(error)])
    }

    fn told(&self, error: yaml::Syntax) -> Complaint {
        self.complaint(error.line, format!("{}; write {}", error.what, error.instead))
    }

    fn no_pack(&self, what: &str) -> Complaint {
        let keys = any_of(SIGNS.iter().map(|(key, _)| *key));
        self.complaint(1, format!("{what}; write one of {keys} at its top"))
    }

    /// Conditions look their words up in all packs together: those that are compiled in and those that are given.
    fn conditions(&self, given: &[(&str, &str)]) -> Result<(), Vec<Complaint>> {
        let kinds: Vec<Option<Kind>> =
            given.iter().map(|(_, text)| yaml::parse(text).ok().and_then(|node| kind(&node))).collect();
        let of = |kind: Kind| {
            let pairs = given.iter().zip(&kinds);
            pairs.filter(move |(_, found)| **found == Some(kind)).map(|(pack, _)| *pack)
        };
        let replaced = |name: &str| of(Kind::Conditions).any(|(other, _)| base(other) == base(name));
        let mut files: Vec<(&str, &str)> =
            CONDITIONS.iter().filter(|(name, _)| !replaced(name)).copied().collect();
        files.extend(of(Kind::Conditions));
        let schemes = of(Kind::Scheme).map(|(name, _)| stem(name));
        let own = |complaint: &Complaint| {
            complaint.name == self.name || given.iter().all(|(other, _)| *other != complaint.name)
        };
        let wrong: Vec<Complaint> = match conditions::read_with(&files, schemes) {
            Ok(_) => Vec::new(),
            Err(wrong) => wrong.into_iter().filter(own).collect(),
        };
        if wrong.is_empty() { Ok(()) } else { Err(wrong) }
    }

    /// Problems as complaints, each with its line.
    fn sound(&self, problems: Vec<Problem>) -> Result<(), Vec<Complaint>> {
        let located =
            |problem: &Problem| self.complaint(yaml::locate(self.text, &problem.spot), problem.to_string());
        if problems.is_empty() { Ok(()) } else { Err(problems.iter().map(located).collect()) }
    }

    /// A pack that has a file of its own is called as that file.
    fn misnamed(&self, key: &str, found: &str) -> Vec<Problem> {
        let stem = stem(self.name);
        let wrong = (found != stem).then(|| {
            let what = "the file is called otherwise";
            Problem::new(Path::top().key(key), what, found, format!("{stem}, or rename the file"))
        });
        wrong.into_iter().collect()
    }

    fn scheme(&self) -> Result<Checked, Vec<Complaint>> {
        let scheme: Scheme = self.read()?;
        self.sound([self.misnamed("scheme", &scheme.scheme), scheme.problems()].concat())?;
        let knowledge = embedded().map_err(|what| vec![self.complaint(1, what)])?;
        let proofs = proof::prove(&scheme, &knowledge);
        self.sound(proof::problems(&scheme, &proofs))?;
        Ok(Checked { kind: Kind::Scheme, proofs })
    }
}

/// Parses the packs that are compiled in. An error is a fault in a pack and names it.
pub fn embedded() -> Result<Knowledge, String> {
    let schemes = SCHEMES.iter().map(|(name, text)| yaml::pack(name, text)).collect::<Result<_, _>>()?;
    let attachments =
        ATTACHMENTS.iter().map(|(name, text)| yaml::pack(name, text)).collect::<Result<_, _>>()?;
    Ok(Knowledge {
        schemes,
        attachments,
        defects: yaml::pack("defects.yaml", DEFECTS)?,
        habits: yaml::pack("habits.yaml", HABITS)?,
        instruments: yaml::pack("instruments.yaml", INSTRUMENTS)?,
        effort: yaml::pack("effort.yaml", EFFORT)?,
        cautions: yaml::pack(Cautions::NAME, Cautions::TEXT)?,
    })
}
