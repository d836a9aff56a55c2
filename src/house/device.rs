//! Devices and their terminals.

use serde::{Deserialize, Serialize};

/// What sits in a box.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum DeviceKind {
    /// Two screws, one contact.
    SinglePole,
    /// A common and two traveler screws.
    ThreeWay,
    /// Two pairs of traveler screws.
    FourWay,
    /// Two contacts that move together.
    DoublePole,
    /// A dimmer with two leads.
    Dimmer,
    /// A timer, sensor or other control that may need a neutral.
    Electronic,
    /// A switch whose type was not seen.
    Switch,
    /// A luminaire.
    Light,
    /// A luminaire with a switch of its own.
    PullChain,
    /// A duplex receptacle.
    Receptacle,
}

/// What the two positions of a switch's handle are called. The words tell them apart and say nothing else.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Positions {
    /// `up` and `down`.
    #[default]
    UpDown,
    /// `left` and `right`.
    LeftRight,
    /// `1` and `2`.
    OneTwo,
}

impl Positions {
    /// All of them.
    pub const ALL: [Positions; 3] = [Positions::UpDown, Positions::LeftRight, Positions::OneTwo];

    /// The words of the first and the second position.
    pub fn words(self) -> [&'static str; 2] {
        match self {
            Positions::UpDown => ["up", "down"],
            Positions::LeftRight => ["left", "right"],
            Positions::OneTwo => ["1", "2"],
        }
    }
}

/// A screw or lead of a device.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Terminal {
    /// Three-way: the odd-coloured screw.
    Common,
    /// Three-way: one traveler screw.
    T1,
    /// Three-way: the other traveler screw.
    T2,
    /// Four-way: first pair, first screw.
    A1,
    /// Four-way: first pair, second screw.
    A2,
    /// Four-way: second pair, first screw.
    B1,
    /// Four-way: second pair, second screw.
    B2,
    /// Single-pole or dimmer: one screw.
    S1,
    /// Single-pole or dimmer: the other screw.
    S2,
    /// Light: the center contact.
    Center,
    /// Light: the screw shell.
    Shell,
    /// Receptacle: upper line screw.
    H1,
    /// Receptacle: lower line screw.
    H2,
    /// Receptacle: upper neutral screw.
    N1,
    /// Receptacle: lower neutral screw.
    N2,
    /// An unmarked screw, from 1.
    X(u8),
}

impl Terminal {
    /// The word for it in job files and on screens.
    pub fn word(self) -> std::borrow::Cow<'static, str> {
        use Terminal::*;
        std::borrow::Cow::Borrowed(match self {
            Common => "common",
            T1 => "t1",
            T2 => "t2",
            A1 => "a1",
            A2 => "a2",
            B1 => "b1",
            B2 => "b2",
            S1 => "s1",
            S2 => "s2",
            Center => "center",
            Shell => "shell",
            H1 => "h1",
            H2 => "h2",
            N1 => "n1",
            N2 => "n2",
            X(n) => return std::borrow::Cow::Owned(format!("x{n}")),
        })
    }
}

impl Terminal {
    /// The terminal a word names.
    pub fn from_word(word: &str) -> Option<Terminal> {
        use Terminal::*;
        let marked = [Common, T1, T2, A1, A2, B1, B2, S1, S2, Center, Shell, H1, H2, N1, N2];
        let number = word.strip_prefix('x').and_then(|digits| digits.parse().ok());
        let unmarked = number.filter(|n| (1..=4).contains(n)).map(X);
        marked.into_iter().find(|terminal| terminal.word() == word).or(unmarked)
    }
}

impl DeviceKind {
    /// All of them.
    pub const ALL: [DeviceKind; 10] = [
        DeviceKind::SinglePole,
        DeviceKind::ThreeWay,
        DeviceKind::FourWay,
        DeviceKind::DoublePole,
        DeviceKind::Dimmer,
        DeviceKind::Electronic,
        DeviceKind::Switch,
        DeviceKind::Light,
        DeviceKind::PullChain,
        DeviceKind::Receptacle,
    ];

    /// Which terminals are joined inside the device, by position (`thrown` or not). Which position of the handle is
    /// which is unknown for every switch.
    pub fn contacts(self, thrown: bool) -> &'static [(Terminal, Terminal)] {
        use Terminal::*;
        match (self, thrown) {
            (DeviceKind::SinglePole | DeviceKind::Dimmer | DeviceKind::Electronic, true) => &[(S1, S2)],
            (DeviceKind::ThreeWay, false) => &[(Common, T1)],
            (DeviceKind::ThreeWay, true) => &[(Common, T2)],
            (DeviceKind::FourWay, false) => &[(A1, B1), (A2, B2)],
            (DeviceKind::FourWay, true) => &[(A1, B2), (A2, B1)],
            (DeviceKind::DoublePole, true) => &[(A1, B1), (A2, B2)],
            _ => &[],
        }
    }

    /// The terminals that the kind has when its screws are marked.
    pub fn terminals(self) -> &'static [Terminal] {
        use Terminal::*;
        match self {
            DeviceKind::SinglePole | DeviceKind::Dimmer => &[S1, S2],
            DeviceKind::ThreeWay => &[Common, T1, T2],
            DeviceKind::FourWay | DeviceKind::DoublePole => &[A1, A2, B1, B2],
            DeviceKind::Electronic => &[S1, S2, N1],
            DeviceKind::Switch => &[X(1), X(2), X(3), X(4)],
            DeviceKind::Light | DeviceKind::PullChain => &[Center, Shell],
            DeviceKind::Receptacle => &[H1, H2, N1, N2],
        }
    }

    /// Whether it is a switch of any type.
    pub fn is_switch(self) -> bool {
        !matches!(self, DeviceKind::Light | DeviceKind::PullChain | DeviceKind::Receptacle)
    }

    /// Whether it is a luminaire.
    pub fn is_light(self) -> bool {
        matches!(self, DeviceKind::Light | DeviceKind::PullChain)
    }
}

/// What burns in a luminaire.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Debug,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum LampKind {
    /// A filament.
    Incandescent,
    /// An LED lamp.
    Led,
    /// A compact fluorescent lamp.
    Cfl,
    /// Not looked at.
    #[default]
    Unknown,
}
