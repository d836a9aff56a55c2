//! The packs that are compiled in.

use super::yaml;
use crate::knowledge::{Cautions, Knowledge};

const SCHEMES: &[(&str, &str)] = &[
    ("schemes/commons-joined.yaml", include_str!("../../knowledge/schemes/commons-joined.yaml")),
    ("schemes/conventional.yaml", include_str!("../../knowledge/schemes/conventional.yaml")),
    ("schemes/lamp-between-commons.yaml", include_str!("../../knowledge/schemes/lamp-between-commons.yaml")),
    ("schemes/single-pole.yaml", include_str!("../../knowledge/schemes/single-pole.yaml")),
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
