//! What testers do to the circuit, and how often a reading is wrong.

use crate::call::InstrumentKind;
use serde::Deserialize;
use std::collections::BTreeMap;

/// How often a reading is wrong.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ErrorRates {
    /// Drawn anew with each repeat.
    pub transient: f64,
    /// Comes back with each repeat of the same reading.
    pub persistent: f64,
}

/// What a kind of tester is, where the job does not say.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct InstrumentFacts {
    /// Input resistance in ohms (for a beeper: the resistance up to which it beeps).
    pub ohms: Option<f64>,
    /// Input capacitance in picofarads.
    pub picofarads: Option<f64>,
    /// Test lamp watts.
    pub watts: Option<f64>,
    /// Clamp resolution in amperes.
    pub resolves: Option<f64>,
}

/// Testers and the people who use them.
#[derive(Clone, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instruments {
    /// Error rates by source: `technician`, `customer`.
    pub errors: BTreeMap<String, ErrorRates>,
    /// Facts by kind.
    pub instruments: BTreeMap<InstrumentKind, InstrumentFacts>,
}
