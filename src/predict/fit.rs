//! What was read, fitted to the bins of its question.

use super::{FARADS_PER_METRE, HERTZ};
use crate::call::{Ask, Bins, Instrument, InstrumentKind, Seen};
use crate::knowledge::Instruments;

/// Below this share of the supply a volt reading is nothing: 2 V of 120.
pub const NOTHING: f64 = 2.0 / 120.0;

/// Up to this share a reading may be what a loaded conductor drops on its way: 5 % from the service to the farthest outlet
/// is what NEC 210.19(A), an informational note, calls reasonable (from memory).
const DROPPED: f64 = 0.05;

/// An instrument with its figures filled in.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tester {
    /// Its kind.
    pub kind: InstrumentKind,
    /// Input resistance in ohms (for a beeper: the resistance up to which it beeps).
    pub ohms: f64,
    /// Input capacitance in farads.
    pub farads: f64,
    /// Test lamp watts.
    pub watts: f64,
    /// Clamp resolution in amperes.
    pub resolves: f64,
}

impl Tester {
    /// Fills in what the job leaves open from the packs.
    pub fn new(instrument: Instrument, packs: &Instruments) -> Tester {
        let facts = packs.instruments.get(&instrument.kind).copied().unwrap_or_default();
        Tester {
            kind: instrument.kind,
            ohms: instrument.ohms.or(facts.ohms).unwrap_or(1e7),
            farads: facts.picofarads.unwrap_or(0.0) * 1e-12,
            watts: instrument.watts.or(facts.watts).unwrap_or(60.0),
            resolves: instrument.resolves.or(facts.resolves).unwrap_or(0.1),
        }
    }

    /// The largest share of the supply that coupling can put on this meter in a house: 30 m beside two live wires only.
    pub fn most_ghost(&self) -> f64 {
        let omega = std::f64::consts::TAU * HERTZ;
        let coupled = FARADS_PER_METRE * 2.0 * 30.0;
        let (g, b) = (1.0 / self.ohms, omega * (coupled + self.farads));
        omega * coupled / libm::sqrt(g * g + b * b)
    }
}

/// How well an answer fits each bin of its question; the last bin is `trips`.
pub fn fit(ask: &Ask, seen: Seen, tester: Option<&Tester>, supply: f64) -> Bins {
    match (ask, seen) {
        (_, Seen::Trips) => [0.0, 0.0, 0.0, 0.0, 1.0],
        (_, Seen::Bin(bin)) => {
            let mut bins = [0.0; 5];
            if let Some(place) = bins.get_mut(usize::from(bin.min(4))) {
                *place = 1.0;
            }
            bins
        }
        (Ask::Volts(_), Seen::Number { value, spread }) => over(value, spread, |v| volts(v / supply, tester)),
        (Ask::Volts(_), Seen::Alarm(alarm)) => alarmed(alarm),
        (Ask::Ohms(_), Seen::Number { value, spread }) => over(value, spread, ohms),
        (Ask::Ohms(_), Seen::Overload) => [0.0, 0.0, 0.1, 1.0, 0.0],
        (Ask::Ohms(_), Seen::Beep(beep)) => beeped(beep, tester.map_or(50.0, |tester| tester.ohms)),
        (Ask::AmpsCable(_) | Ask::AmpsWire(_), Seen::Number { value, spread }) => {
            let least = tester.map_or(0.1, |tester| tester.resolves);
            over(value, spread, |amps| {
                if amps >= least { [0.0, 1.0, 0.0, 0.0, 0.0] } else { [1.0, 0.0, 0.0, 0.0, 0.0] }
            })
        }
        (Ask::Load(_), Seen::Number { value, spread }) => over(value, spread, |v| level(v / supply)),
        _ => [1.0, 1.0, 1.0, 1.0, 0.0],
    }
}

/// The mean over a few values of a range.
fn over(value: f64, spread: f64, bins: impl Fn(f64) -> Bins) -> Bins {
    let mut sum = [0.0; 5];
    for step in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let at = bins((value + step * spread).max(0.0));
        sum.iter_mut().zip(at).for_each(|(sum, bin)| *sum += 0.2 * bin);
    }
    sum
}

/// From this share of the supply on it is the supply.
const LINE: f64 = 0.9;

/// So near to that, as a share of the supply, it may be either: the supply is not known better. From memory.
const BORDER: f64 = 0.02;
const OVER_THE_BORDER: f64 = 0.3;

/// A share of the supply: what a high-impedance meter shows between nothing and the supply may be a ghost or real; what
/// coupling cannot put on this meter is real.
fn volts(share: f64, tester: Option<&Tester>) -> Bins {
    let most = tester.map_or(1.0, Tester::most_ghost);
    let coupled = |weight: f64| if share <= most { weight } else { 0.0 };
    if share < NOTHING {
        [1.0, 0.0, 0.0, 0.0, 0.0]
    } else if share < DROPPED {
        [0.3, coupled(1.0), 1.0, 0.0, 0.0]
    } else if share < LINE {
        let line = if share < LINE - BORDER { 0.0 } else { OVER_THE_BORDER };
        [0.0, coupled(1.0), 1.0, line, 0.0]
    } else if share <= 1.2 {
        let part = if share < LINE + BORDER { OVER_THE_BORDER } else { 0.0 };
        // Few ghosts come this near the supply.
        [0.0, coupled(0.05), part, 1.0, 0.0]
    } else {
        [0.0, 0.0, 0.05, 0.05, 0.0]
    }
}

/// A non-contact tester alarms at line and at many ghosts; its silence says little.
fn alarmed(alarm: bool) -> Bins {
    if alarm { [0.1, 0.8, 0.9, 0.95, 0.0] } else { [0.9, 0.2, 0.1, 0.05, 0.0] }
}

fn ohms(value: f64) -> Bins {
    if value < 2.0 {
        [1.0, 0.0, 0.0, 0.0, 0.0]
    } else if value < 4.0 {
        [0.5, 0.5, 0.0, 0.0, 0.0]
    } else if value < 60.0 {
        [0.0, 1.0, 0.3, 0.0, 0.0]
    } else if value < 80.0 {
        [0.0, 0.5, 1.0, 0.0, 0.0]
    } else if value < 1e6 {
        [0.0, 0.0, 1.0, 0.02, 0.0]
    } else {
        [0.0, 0.0, 0.1, 1.0, 0.0]
    }
}

/// A beeper beeps through anything below its limit: a cold filament, mostly, and with a high limit other loads too.
fn beeped(beep: bool, limit: f64) -> Bins {
    let part = |low: f64, high: f64| {
        let share = (libm::log(limit) - libm::log(low)) / (libm::log(high) - libm::log(low));
        share.clamp(0.0, 1.0)
    };
    let beeps = [1.0, part(4.0, 60.0), part(60.0, 1e6), 0.0, 0.0];
    if beep { beeps } else { [0.0, 1.0 - beeps[1], 1.0 - beeps[2], 1.0, 0.0] }
}

fn level(share: f64) -> Bins {
    if share >= 0.9 {
        [0.0, 0.0, 1.0, 0.0, 0.0]
    } else if share >= 0.2 {
        [0.0, 1.0, 0.0, 0.0, 0.0]
    } else {
        [1.0, 0.0, 0.0, 0.0, 0.0]
    }
}
