//! Places a cable can go to, and the small integers that name things.

use serde::{Deserialize, Serialize};

/// A known box, by its order in the job file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BoxId(pub u8);

/// A cable end seen at an opened box, numbered through the whole house in file order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct EndId(pub u8);

/// A device, numbered through the whole house in file order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct DeviceId(pub u8);

/// A feed (a breaker or fuse), by its order in the job file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FeedId(pub u8);

/// Where a cable end can go.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Place {
    /// A known box.
    Box(BoxId),
    /// A box nobody knows of, counted from 1 on screens (`buried-1` is `Buried(0)`).
    Buried(u8),
    /// The panel: the cable is the feed, straight or through boxes of no interest.
    Panel,
    /// The rest of the house.
    Onward,
}

/// What a box is for.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum BoxKind {
    /// A wall box with one or more switches.
    Switch,
    /// A ceiling or wall box with a light.
    Light,
    /// Splices only.
    Junction,
    /// A receptacle.
    Receptacle,
}

/// How a box is reached.
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
pub enum Reach {
    /// Standing on the floor.
    #[default]
    Stand,
    /// From a pair of steps.
    Steps,
    /// From a ladder.
    Ladder,
    /// Not at all today.
    Blocked,
}
