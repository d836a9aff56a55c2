//! The closed word lists of the job file.

use super::field::words;
use crate::call::{InstrumentKind, LampState, Source};
use crate::house::{BoxKind, DeviceKind, FeedKind, Grounds, LampKind, Metal, Reach, Sheath};
use schemars::JsonSchema;

words!(BoxKind, "the kind of a box", {
    "switch" => BoxKind::Switch,
    "light" => BoxKind::Light,
    "junction" => BoxKind::Junction,
    "receptacle" => BoxKind::Receptacle,
});

words!(Reach, "how the box is reached", {
    "stand" => Reach::Stand,
    "steps" => Reach::Steps,
    "ladder" => Reach::Ladder,
    "blocked" => Reach::Blocked,
});

words!(Sheath, "what the cable is covered with", {
    "cloth-nm" => Sheath::ClothNm,
    "nm" => Sheath::Nm,
    "armored" => Sheath::Armored,
    "knob-and-tube" => Sheath::KnobAndTube,
    "conduit" => Sheath::Conduit,
    "lead" => Sheath::Lead,
});

words!(Metal, "what the wires are made of", {
    "copper" => Metal::Copper,
    "aluminum" => Metal::Aluminum,
});

words!(DeviceKind, "the kind of a device", {
    "single-pole" => DeviceKind::SinglePole,
    "three-way" => DeviceKind::ThreeWay,
    "four-way" => DeviceKind::FourWay,
    "double-pole" => DeviceKind::DoublePole,
    "dimmer" => DeviceKind::Dimmer,
    "electronic" => DeviceKind::Electronic,
    "switch" => DeviceKind::Switch,
    "light" => DeviceKind::Light,
    "pull-chain" => DeviceKind::PullChain,
    "receptacle" => DeviceKind::Receptacle,
});

words!(LampKind, "the kind of a lamp", {
    "incandescent" => LampKind::Incandescent,
    "led" => LampKind::Led,
    "cfl" => LampKind::Cfl,
    "unknown" => LampKind::Unknown,
});

words!(FeedKind, "what protects the circuit", {
    "breaker" => FeedKind::Breaker,
    "fuse" => FeedKind::Fuse,
    "gfci" => FeedKind::Gfci,
    "afci" => FeedKind::Afci,
});

words!(Grounds, "how many cables have a grounding conductor", {
    "none" => Grounds::None,
    "some" => Grounds::Some,
    "all" => Grounds::All,
});

words!(InstrumentKind, "a kind of instrument", {
    "high-impedance" => InstrumentKind::HighImpedance,
    "low-impedance" => InstrumentKind::LowImpedance,
    "two-pole" => InstrumentKind::TwoPole,
    "solenoid" => InstrumentKind::Solenoid,
    "neon" => InstrumentKind::Neon,
    "test-lamp" => InstrumentKind::TestLamp,
    "continuity" => InstrumentKind::Continuity,
    "non-contact" => InstrumentKind::NonContact,
    "clamp" => InstrumentKind::Clamp,
});

words!(LampState, "what is in the lampholder", {
    "in" => LampState::In,
    "out" => LampState::Out,
    "test" => LampState::Test,
});

words!(Source, "who says so", {
    "technician" => Source::Technician,
    "customer" => Source::Customer,
});

impl LampState {
    /// The words of the file, for schemas.
    pub(super) const WORDS: [&'static str; 3] = ["in", "out", "test"];
}

/// A question by its word.
#[derive(Clone, Copy, PartialEq, Eq, Debug, JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub enum Do {
    /// Volts between points.
    Volts,
    /// Ohms between points, power off.
    Ohms,
    /// A clamp round a cable or a wire.
    Amps,
    /// A test lamp between points.
    Load,
    /// Looking at the light.
    Watch,
    /// Opening a box (suggested or skipped; never a reading).
    Open,
}

words!(Do, "the question", {
    "volts" => Do::Volts,
    "ohms" => Do::Ohms,
    "amps" => Do::Amps,
    "load" => Do::Load,
    "watch" => Do::Watch,
    "open" => Do::Open,
});

impl Do {
    /// Its word in the file.
    pub fn word(self) -> &'static str {
        match self {
            Do::Volts => "volts",
            Do::Ohms => "ohms",
            Do::Amps => "amps",
            Do::Load => "load",
            Do::Watch => "watch",
            Do::Open => "open",
        }
    }
}

/// Why a suggestion was skipped.
#[derive(Clone, Copy, PartialEq, Eq, Debug, JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub enum Why {
    /// Not now.
    Later,
    /// It cannot be done.
    Cannot,
}

words!(Why, "why it was skipped", {
    "later" => Why::Later,
    "cannot" => Why::Cannot,
});

/// What proving a box dead found.
#[derive(Clone, Copy, PartialEq, Eq, Debug, JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub enum Found {
    /// Every point in reach tested dead, the tester proved before and after.
    Dead,
    /// Something was live.
    Live,
}

words!(Found, "what the tester showed", {
    "dead" => Found::Dead,
    "live" => Found::Live,
});

/// Whether a device's screws can be told apart.
#[derive(Clone, Copy, PartialEq, Eq, Debug, JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub enum Screws {
    /// By colour or marking.
    Marked,
    /// No: they are `x1`, `x2`, …
    Unmarked,
}

words!(Screws, "whether the screws can be told apart", {
    "marked" => Screws::Marked,
    "unmarked" => Screws::Unmarked,
});

/// Whether a breaker is on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Power {
    /// On.
    On,
    /// Off.
    Off,
}

words!(Power, "whether the breaker is on", {
    "on" => Power::On,
    "off" => Power::Off,
});
