//! The service call as data: what was asked, and every reading with the conditions it was taken under.

pub mod check;
pub mod edit;
pub mod job;
mod reading;
pub mod typed;

pub use reading::{
    Ask, Bins, Conditions, Instrument, InstrumentKind, LampState, Level, Ohms, Question, Reading, Seen,
    Skipped, Source, Undone, Volts, Watch,
};

use crate::house::{BoxId, Goal, House};

/// A call, checked: everything the engine needs, in types.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Call {
    /// What was seen at the boxes.
    pub house: House,
    /// What the call is to answer.
    pub goal: Goal,
    /// Whether there is a complaint (defects are likelier then).
    pub complaint: bool,
    /// Whether the circuit worked before somebody changed it, if said.
    pub worked_before: Option<bool>,
    /// Whether somebody can stand at the panel.
    pub helper: bool,
    /// Whether a reference is written down for what `earth` means.
    pub reference: bool,
    /// Instruments owned.
    pub instruments: Vec<Instrument>,
    /// Readings in file order; a verdict counts them from 1.
    pub readings: Vec<Reading>,
    /// Suggestions that were not followed.
    pub skipped: Vec<Skipped>,
    /// Tests for dead, in file order.
    pub proofs: Vec<Proof>,
}

/// A test of every point of a box for dead, the tester proved before and after.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Proof {
    /// The box.
    pub at: BoxId,
    /// Whether all of it was dead.
    pub dead: bool,
}
