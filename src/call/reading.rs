//! Readings: a question, the conditions, and what was read.

use crate::house::{BoxId, DeviceId, EndId, Point, WireId};
use serde::{Deserialize, Serialize};

/// What was asked of the circuit.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Ask {
    /// Volts between pairs of points.
    Volts(Vec<(Point, Point)>),
    /// Ohms between pairs of points, power off.
    Ohms(Vec<(Point, Point)>),
    /// A test lamp between pairs of points.
    Load(Vec<(Point, Point)>),
    /// A clamp round a whole cable (net current).
    AmpsCable(EndId),
    /// A clamp round one wire.
    AmpsWire(WireId),
    /// Looking at lights.
    Watch(Vec<DeviceId>),
}

/// Kinds of tester.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum InstrumentKind {
    /// Digital multimeter, ordinary input.
    HighImpedance,
    /// Multimeter in a low-impedance mode.
    LowImpedance,
    /// Two-pole contact tester.
    TwoPole,
    /// Solenoid tester.
    Solenoid,
    /// Neon tester.
    Neon,
    /// Test lamp.
    TestLamp,
    /// Continuity beeper.
    Continuity,
    /// Non-contact tester.
    NonContact,
    /// Clamp meter.
    Clamp,
}

/// An instrument owned or used.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Instrument {
    /// Its kind.
    pub kind: InstrumentKind,
    /// Input resistance in ohms (for a beeper: the resistance up to which it beeps), where it is not the usual one.
    pub ohms: Option<f64>,
    /// Test lamp watts.
    pub watts: Option<f64>,
    /// Clamp resolution in amperes.
    pub resolves: Option<f64>,
}

/// What is in a lampholder while a reading is taken.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum LampState {
    /// The lamp that belongs there.
    In,
    /// Nothing.
    Out,
    /// A known good incandescent lamp.
    Test,
}

/// The conditions a reading was taken under. `None` is *not written down*, and is weighed over.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Conditions {
    /// One entry a feed: on or off.
    pub breakers: Vec<Option<bool>>,
    /// One entry a switch, in the order of `House::switches`: the first label (`up`, `left`, `1`) is `false`,
    /// the second (`down`, `right`, `2`) is `true`.
    pub positions: Vec<Option<bool>>,
    /// One entry a light, in the order of `House::lights`.
    pub lamps: Vec<Option<LampState>>,
    /// Devices taken off, ordered.
    pub out: Vec<DeviceId>,
    /// Wires away from their joint, ordered.
    pub lifted: Vec<WireId>,
    /// Points bridged.
    pub jumpers: Vec<(Point, Point)>,
}

/// A bin of a volt reading.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Volts {
    /// Nothing.
    None,
    /// Coupled, on a wire connected to nothing.
    Ghost,
    /// Real, but short of the supply.
    Part,
    /// The supply.
    Line,
}

/// A bin of an ohm reading.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Ohms {
    /// Metal.
    Closed,
    /// One lamp filament.
    Filament,
    /// Some load.
    Load,
    /// Open.
    Open,
}

/// A bin of a test-lamp reading.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Level {
    /// Dark.
    None,
    /// Dim.
    Dim,
    /// Full.
    Bright,
}

/// A bin of watching a light.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Watch {
    /// At 90 % of supply or more.
    Lit,
    /// 20 to 90 %.
    Dim,
    /// A faint light of an LED or CFL.
    Glow,
    /// Dark.
    Dark,
}

/// How well an answer fits each bin of its question, in the bins' order; a bin that is certain has 1 and the
/// others 0, a number on the border of two has weight in both. The last place of each is `trips`.
pub type Bins = [f64; 5];

/// What was read, as written, before it is fitted to bins.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Seen {
    /// A number in the question's unit, with the half-width of the range it was given as (0 when plain).
    Number {
        /// The middle.
        value: f64,
        /// Half the range.
        spread: f64,
    },
    /// Off the scale of an ohmmeter.
    Overload,
    /// A bin by name, by its place in the question's bins (0 to 3).
    Bin(u8),
    /// A beeper beeped, or not.
    Beep(bool),
    /// A non-contact tester alarmed, or not.
    Alarm(bool),
    /// The breaker opened.
    Trips,
}

/// Who says so.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Source {
    /// The technician.
    #[default]
    Technician,
    /// The customer.
    Customer,
}

/// A reading: question, conditions, answers. `seen` has one entry a pair or light of the question.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// What was asked.
    pub ask: Ask,
    /// What it was asked with.
    pub with: Option<Instrument>,
    /// The conditions.
    pub conditions: Conditions,
    /// The answers.
    pub seen: Vec<Seen>,
    /// Who says so.
    pub by: Source,
}

/// Volts from which a wire counts as live, to a tester that holds ghosts down. From memory.
const LIVE: f64 = 30.0;

/// And to one on which a ghost may show nearly as much as a live wire. From memory.
const LIVE_OR_GHOST: f64 = 100.0;

impl Reading {
    /// Where every breaker was off: for each two points whether they read live.
    pub fn live_when_off(&self) -> Vec<((Point, Point), bool)> {
        let off = self.conditions.breakers.iter().all(|on| *on == Some(false));
        if off { self.live() } else { Vec::new() }
    }

    /// For each two points whether they read live. Nothing but a voltage is a test of that, an alarm without contact least
    /// of all.
    pub fn live(&self) -> Vec<((Point, Point), bool)> {
        let kind = self.with.map(|with| with.kind);
        let (Ask::Volts(pairs) | Ask::Load(pairs)) = &self.ask else { return Vec::new() };
        if kind == Some(InstrumentKind::NonContact) {
            return Vec::new();
        }
        let (volts, bin) = match (&self.ask, kind) {
            (Ask::Load(_), _) => (LIVE, 1),
            (_, None | Some(InstrumentKind::HighImpedance)) => (LIVE_OR_GHOST, Volts::Line as u8),
            (_, Some(_)) => (LIVE, Volts::Part as u8),
        };
        let live = |seen: &Seen| match *seen {
            Seen::Number { value, .. } => value >= volts,
            Seen::Bin(seen) => seen >= bin,
            Seen::Trips => true,
            Seen::Overload | Seen::Beep(_) | Seen::Alarm(_) => false,
        };
        pairs.iter().copied().zip(self.seen.iter().map(live)).collect()
    }
}

/// What was suggested and not done.
#[derive(Clone, PartialEq, Debug)]
pub enum Undone {
    /// Opening a box.
    Open(BoxId),
    /// A reading.
    Reading(Box<Question>),
}

/// A reading without its answer.
#[derive(Clone, PartialEq, Debug)]
pub struct Question {
    /// What is asked.
    pub ask: Ask,
    /// What it is asked with.
    pub with: Option<Instrument>,
    /// The conditions.
    pub conditions: Conditions,
}

/// A suggestion that was not followed.
#[derive(Clone, PartialEq, Debug)]
pub struct Skipped {
    /// What it was.
    pub what: Undone,
    /// Whether it cannot be done at all; otherwise it was put off.
    pub cannot: bool,
}
