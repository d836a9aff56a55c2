//! The packs that are compiled in.

use super::{Complaint, conditions, yaml};
use crate::call::job::any_of;
use crate::knowledge::{Attachment, Cautions, Defects, Habits, Instruments, Knowledge, Scheme};

const SCHEMES: &[(&str, &str)] = &[
    ("schemes/commons-joined.yaml", include_str!("../../knowledge/schemes/commons-joined.yaml")),
    ("schemes/conventional.yaml", include_str!("../../knowledge/schemes/conventional.yaml")),
    ("schemes/lamp-between-commons.yaml", include_str!("../../knowledge/schemes/lamp-between-commons.yaml")),
    ("schemes/single-pole.yaml", include_str!("../../knowledge/schemes/single-pole.yaml")),
    ("schemes/two-feeds.yaml", include_str!("../../knowledge/schemes/two-feeds.yaml")),
];
const ATTACHMENTS: &[(&str, &str)] = &[
    ("attachments/light-always-on.yaml", include_str!("../../knowledge/attachments/light-always-on.yaml")),
    (
        "attachments/light-in-parallel.yaml",
        include_str!("../../knowledge/attachments/light-in-parallel.yaml"),
    ),
    (
        "attachments/pull-chain-always-on.yaml",
        include_str!("../../knowledge/attachments/pull-chain-always-on.yaml"),
    ),
    (
        "attachments/receptacle-always-on.yaml",
        include_str!("../../knowledge/attachments/receptacle-always-on.yaml"),
    ),
    (
        "attachments/receptacle-half-switched.yaml",
        include_str!("../../knowledge/attachments/receptacle-half-switched.yaml"),
    ),
    (
        "attachments/receptacle-switched.yaml",
        include_str!("../../knowledge/attachments/receptacle-switched.yaml"),
    ),
];
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
    all.push(("cautions.yaml", Kind::Cautions, Cautions::TEXT));
    all.extend(conditions::FILES.iter().map(of(Kind::Conditions)));
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
    ("qualified-person", Kind::Cautions),
    ("scale", Kind::Conditions),
    ("codes", Kind::Conditions),
    ("observations", Kind::Conditions),
    ("fill", Kind::Conditions),
    ("conditions", Kind::Conditions),
];

/// Checks a pack file, known to people as `name`, for its shape, as it would be read in place of or beside those that
/// are compiled in.
///
/// # Errors
/// Everything that is wrong with it.
pub fn check(name: &str, text: &str) -> Result<Kind, Vec<Complaint>> {
    let complaint = |line, what: String| vec![Complaint { name: name.to_owned(), line, what }];
    let node = yaml::parse(text)
        .map_err(|error| complaint(error.line, format!("{}; write {}", error.what, error.instead)))?;
    let Some((_, kind)) = SIGNS.iter().find(|(key, _)| node.get(key).is_some()) else {
        let keys: Vec<&str> = SIGNS.iter().map(|(key, _)| *key).collect();
        return Err(complaint(1, format!("this is no pack; write one of {} at its top", any_of(keys))));
    };
    // The library's own words name the line.
    let shape = |read: Result<(), String>| read.map_err(|what| complaint(line_in(&what), what));
    match kind {
        Kind::Scheme => shape(yaml::pack::<Scheme>(name, text).map(drop))?,
        Kind::Attachment => shape(yaml::pack::<Attachment>(name, text).map(drop))?,
        Kind::Defects => shape(yaml::pack::<Defects>(name, text).map(drop))?,
        Kind::Habits => shape(yaml::pack::<Habits>(name, text).map(drop))?,
        Kind::Instruments => shape(yaml::pack::<Instruments>(name, text).map(drop))?,
        Kind::Cautions => shape(yaml::pack::<Cautions>(name, text).map(drop))?,
        Kind::Conditions => {
            let base = name.rsplit(['/', '\\']).next().unwrap_or(name);
            let other = |pack: &&(&str, &str)| pack.0.rsplit('/').next() != Some(base);
            let mut files: Vec<(&str, &str)> = conditions::FILES.iter().filter(other).copied().collect();
            files.push((name, text));
            conditions::read(&files)?;
        }
    }
    Ok(*kind)
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
