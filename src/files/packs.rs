//! The packs that are compiled in.

use super::{Complaint, conditions, yaml};
use crate::call::job::{Path, Problem, any_of};
use crate::knowledge::{Attachment, Cautions, Defects, Effort, Habits, Instruments, Knowledge, Scheme};
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
    let file = File { name, text };
    let node = yaml::parse(text).map_err(|error| {
        vec![file.complaint(error.line, format!("{}; write {}", error.what, error.instead))]
    })?;
    let Some((_, kind)) = SIGNS.iter().find(|(key, _)| node.get(key).is_some()) else {
        let keys: Vec<&str> = SIGNS.iter().map(|(key, _)| *key).collect();
        let what = format!("this is no pack; write one of {} at its top", any_of(keys));
        return Err(vec![file.complaint(1, what)]);
    };
    let problems = match kind {
        Kind::Scheme => return file.scheme(),
        Kind::Attachment => {
            let attachment: Attachment = file.read()?;
            [file.misnamed("attachment", &attachment.attachment), attachment.problems()].concat()
        }
        Kind::Defects => file.read::<Defects>()?.problems(),
        Kind::Habits => file.read::<Habits>()?.problems(),
        Kind::Instruments => file.read::<Instruments>()?.problems(),
        Kind::Effort => file.read::<Effort>().map(|_| Vec::new())?,
        Kind::Cautions => file.read::<Cautions>().map(|_| Vec::new())?,
        Kind::Conditions => {
            let other = |pack: &&(&str, &str)| base(pack.0) != base(name);
            let mut files: Vec<(&str, &str)> = CONDITIONS.iter().filter(other).copied().collect();
            files.push((name, text));
            conditions::read(&files).map(|_| Vec::new())?
        }
    };
    file.sound(problems)?;
    Ok(Checked::from(*kind))
}

/// A file's name without its folders.
/// The schemes that are compiled in: a file is named as its scheme.
pub(super) fn scheme_names() -> impl Iterator<Item = &'static str> {
    SCHEMES.iter().map(|(name, _)| base(name).trim_end_matches(".yaml"))
}

fn base(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
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
        // The library's own words name the line.
        yaml::pack(self.name, self.text).map_err(|what| {
            let told = what.strip_prefix(&format!("{}: ", self.name)).unwrap_or(&what);
            vec![self.complaint(line_in(told), told.to_owned())]
        })
    }

    /// Problems as complaints, each with its line.
    fn sound(&self, problems: Vec<Problem>) -> Result<(), Vec<Complaint>> {
        let located =
            |problem: &Problem| self.complaint(yaml::locate(self.text, &problem.spot), problem.to_string());
        if problems.is_empty() { Ok(()) } else { Err(problems.iter().map(located).collect()) }
    }

    /// A pack that has a file of its own is called as that file.
    fn misnamed(&self, key: &str, found: &str) -> Vec<Problem> {
        let stem = base(self.name).trim_end_matches(".yaml");
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

/// The line that a message of the library names; the first where it names none.
fn line_in(message: &str) -> usize {
    let after = message.rsplit_once("at line ").map_or("", |(_, after)| after);
    let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap_or(1)
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
