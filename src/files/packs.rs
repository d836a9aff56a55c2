//! The packs that are compiled in.

use super::{Complaint, yaml};
use crate::call::job::any_of;
use crate::conditions::{self, Misread, Pack};
use crate::knowledge::{Cautions, Habits, Instruments, Knowledge, Scheme};

const SCHEMES: &[(&str, &str)] = &[
    ("schemes/commons-joined.yaml", include_str!("../../knowledge/schemes/commons-joined.yaml")),
    ("schemes/conventional.yaml", include_str!("../../knowledge/schemes/conventional.yaml")),
    ("schemes/lamp-between-commons.yaml", include_str!("../../knowledge/schemes/lamp-between-commons.yaml")),
    ("schemes/single-pole.yaml", include_str!("../../knowledge/schemes/single-pole.yaml")),
];
const CONDITIONS: &[(&str, &str)] = &[
    ("conditions/boxes.yaml", include_str!("../../knowledge/conditions/boxes.yaml")),
    ("conditions/codes.yaml", include_str!("../../knowledge/conditions/codes.yaml")),
    ("conditions/danger.yaml", include_str!("../../knowledge/conditions/danger.yaml")),
    ("conditions/faults.yaml", include_str!("../../knowledge/conditions/faults.yaml")),
    ("conditions/fill.yaml", include_str!("../../knowledge/conditions/fill.yaml")),
    ("conditions/grounds.yaml", include_str!("../../knowledge/conditions/grounds.yaml")),
    ("conditions/materials.yaml", include_str!("../../knowledge/conditions/materials.yaml")),
    ("conditions/neutrals.yaml", include_str!("../../knowledge/conditions/neutrals.yaml")),
    ("conditions/observations.yaml", include_str!("../../knowledge/conditions/observations.yaml")),
    ("conditions/scale.yaml", include_str!("../../knowledge/conditions/scale.yaml")),
    ("conditions/wires.yaml", include_str!("../../knowledge/conditions/wires.yaml")),
];
const HABITS: &str = include_str!("../../knowledge/habits.yaml");
const INSTRUMENTS: &str = include_str!("../../knowledge/instruments.yaml");

/// What a pack file is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Kind {
    /// A scheme.
    Scheme,
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
    all.push(("habits.yaml", Kind::Habits, HABITS));
    all.push(("instruments.yaml", Kind::Instruments, INSTRUMENTS));
    all.push(("cautions.yaml", Kind::Cautions, Cautions::TEXT));
    all.extend(CONDITIONS.iter().map(of(Kind::Conditions)));
    all
}

/// A key that only packs of a kind have at their top.
const SIGNS: &[(&str, Kind)] = &[
    ("scheme", Kind::Scheme),
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
        Kind::Habits => shape(yaml::pack::<Habits>(name, text).map(drop))?,
        Kind::Instruments => shape(yaml::pack::<Instruments>(name, text).map(drop))?,
        Kind::Cautions => shape(yaml::pack::<Cautions>(name, text).map(drop))?,
        Kind::Conditions => {
            let base = name.rsplit(['/', '\\']).next().unwrap_or(name);
            let other = |pack: &&(&str, &str)| pack.0.rsplit('/').next() != Some(base);
            let mut files: Vec<(&str, &str)> = CONDITIONS.iter().filter(other).copied().collect();
            files.push((name, text));
            read_conditions(&files)?;
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
    Ok(Knowledge {
        schemes,
        habits: yaml::pack("habits.yaml", HABITS)?,
        instruments: yaml::pack("instruments.yaml", INSTRUMENTS)?,
        cautions: yaml::pack(Cautions::NAME, Cautions::TEXT)?,
    })
}

/// Parses the packs of conditions that are compiled in. An error is a fault in a pack and names it.
pub fn conditions() -> Result<Pack, String> {
    read_conditions(CONDITIONS).map_err(|wrong| {
        let lines: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        lines.join("\n")
    })
}

/// Reads the texts of packs of conditions together, each known to people by its name.
///
/// # Errors
/// Everything that is wrong with them, each with its file and line.
pub fn read_conditions<S: AsRef<str>>(files: &[(S, S)]) -> Result<Pack, Vec<Complaint>> {
    let mut nodes = Vec::new();
    let mut wrong = Vec::new();
    for (name, text) in files {
        match yaml::parse(text.as_ref()) {
            Ok(node) => nodes.push(node),
            Err(error) => wrong.push(Complaint {
                name: name.as_ref().to_owned(),
                line: error.line,
                what: format!("{}; write {}", error.what, error.instead),
            }),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    conditions::read(&nodes).map_err(|misread| {
        let complaint = |Misread { file, problem }: Misread| {
            let (name, text) =
                files.get(file).map_or(("", ""), |(name, text)| (name.as_ref(), text.as_ref()));
            let line = yaml::locate(text, &problem.spot);
            Complaint { name: name.to_owned(), line, what: problem.to_string() }
        };
        misread.into_iter().map(complaint).collect()
    })
}
