//! Where what is found differs from what was meant, or something has failed.

use super::facts::WireIndex;
use super::walls::Group;
use crate::house::{BoxId, DeviceId, EndId, LocalPoint};
use crate::knowledge::DefectName;

/// Where a defect is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum DefectAt {
    /// In a box.
    Box(BoxId),
    /// At a device.
    Device(DeviceId),
    /// In a cable, told by one of its ends.
    End(EndId),
    /// Where the feed comes in, in a place nobody has looked into.
    Feed,
}

/// One defect.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Defect {
    /// Its name.
    pub what: DefectName,
    /// Where it is.
    pub at: DefectAt,
    /// The points concerned.
    pub detail: Vec<LocalPoint>,
}

/// The far side of a broken wire.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum FarSide {
    /// Its other end was seen: a wire of its own.
    Seen(WireIndex),
    /// It was not: what the wire was joined to there.
    Dark(Group),
}

/// A failure that changes what a reading shows though every cable runs where it should.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Fault {
    /// A wire in an opened box is away from its joint.
    OpenSplice(WireIndex),
    /// A wire in an opened box touches its joint through so many ohms.
    BadJoint(WireIndex, u32),
    /// A wire is broken on its way: what is left of it on the far side lies in the cable up to there.
    Broken(WireIndex, FarSide),
    /// A switch makes no contact when thrown so.
    DeadThrow(DeviceId, bool),
    /// A switch always stands as when thrown so.
    Stuck(DeviceId, bool),
    /// The lamp of a light does not burn; another one would.
    LampOut(DeviceId),
    /// Nothing burns at a light, whatever lamp is in it: it is turned off there, or its socket makes no contact.
    LightOff(DeviceId),
    /// The circuit stays on when its breaker is off.
    WrongBreaker,
    /// A wire touches the metal of its box.
    LiveMetal(BoxId, WireIndex),
    /// The metal of a box reaches earth by armour or pipe.
    Bonded(BoxId),
    /// Another load on the circuit, of so many ohms, ties points that have lost their way to the panel's neutral to the
    /// line.
    PulledUp(Group, u32),
    /// A screw of a receptacle is joined to its twin though the tab should be broken, or the other way.
    Tab(DeviceId),
}
