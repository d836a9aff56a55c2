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

use crate::house::{Apart, BoxId, Goal, House, LocalPoint, Point};
use std::collections::BTreeMap;

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

impl Call {
    /// Readings at which the technician had the breaker open, by their place.
    pub fn tripped(&self) -> impl Iterator<Item = usize> + '_ {
        let tripped =
            |reading: &Reading| reading.by == Source::Technician && reading.seen.contains(&Seen::Trips);
        self.readings.iter().enumerate().filter(move |(_, reading)| tripped(reading)).map(|(at, _)| at)
    }

    /// Whether somebody complains of how it is wired: where boxes were taken apart, that is reason enough.
    pub fn suspects_wiring(&self) -> bool {
        self.complaint && self.house.boxes.iter().all(|outlet| outlet.apart == Apart::No)
    }

    /// Boxes whose metal read live to earth when that was last looked at with power on.
    pub fn live_metal(&self) -> Vec<BoxId> {
        let mut last: BTreeMap<BoxId, bool> = BTreeMap::new();
        let on = |reading: &&Reading| reading.conditions.breakers.iter().any(|on| *on != Some(false));
        for (pair, live) in self.readings.iter().filter(on).flat_map(Reading::live) {
            if let (Point::At(LocalPoint::Metal(at)), Point::Earth)
            | (Point::Earth, Point::At(LocalPoint::Metal(at))) = pair
            {
                last.insert(at, live);
            }
        }
        last.into_iter().filter(|(_, live)| *live).map(|(at, _)| at).collect()
    }
}

/// A test of every point of a box for dead, the tester proved before and after.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Proof {
    /// The box.
    pub at: BoxId,
    /// Whether all of it was dead.
    pub dead: bool,
}
