//! The walls: what is joined to what behind the plaster, and nothing else.

use super::defect::Fault;
use super::facts::FixedJoint;
use super::netlist::Screws;
use crate::house::{DeviceId, DeviceKind, Terminal};

/// A group of points that are joined behind the plaster, by a small number.
pub type Group = u8;

/// A device in a box nobody has opened: what it is, and the group of each of its terminals in the kind's order
/// ([`Walls::LOOSE`] where a terminal is joined to nothing).
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct DarkDevice {
    /// The device.
    pub device: DeviceId,
    /// What it is.
    pub kind: DeviceKind,
    /// Group of each terminal.
    pub groups: Vec<Group>,
}

/// What is joined to what outside the boxes that were opened: a partition of the wire ends seen, the terminals of
/// devices in unopened boxes and the poles of the feed; and what is joined in opened boxes where nobody could see. All
/// readings at opened boxes depend on this and on the joints in those boxes, on nothing else; two wirings with equal walls
/// cannot be told apart by any reading.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Walls {
    /// The group of each wire end, in file order.
    pub wires: Vec<Group>,
    /// The group of the feed's line.
    pub line: Group,
    /// The group of the feed's neutral.
    pub neutral: Group,
    /// The group of another circuit's line, if one comes in. Neutrals are one group: they are joined in the panel.
    pub other: Option<Group>,
    /// By which of the house's feeds the line comes, and another circuit's.
    pub breakers: [u8; 2],
    /// Another circuit's line is on the other leg: the supply twice over between the two lines.
    pub opposite: bool,
    /// Cables that take line and neutral on to the rest of the house: the groups of the two.
    pub onward: Vec<[Group; 2]>,
    /// Devices nobody has looked at.
    pub devices: Vec<DarkDevice>,
    /// How many groups there are.
    pub groups: u8,
    /// Unmarked devices in opened boxes: which screw is which.
    pub screws: Vec<Screws>,
    /// Receptacles whose tab between the line screws is broken away.
    pub broken: Vec<DeviceId>,
    /// Joints in opened boxes that were not seen, each with all of its points.
    pub hidden: Vec<FixedJoint>,
    /// What has failed besides: nothing, mostly.
    pub faults: Vec<Fault>,
}

impl Walls {
    /// The first feed that is named for the line, the second for another circuit's.
    pub const BREAKERS: [u8; 2] = [0, 1];

    /// The group of a terminal that is joined to nothing.
    pub const LOOSE: Group = u8::MAX;

    /// The group of a terminal in an unopened box, if it is in one and joined to something.
    pub fn terminal(&self, device: DeviceId, terminal: Terminal) -> Option<Group> {
        let dark = self.devices.iter().find(|dark| dark.device == device)?;
        let at = dark.kind.terminals().iter().position(|t| *t == terminal)?;
        dark.groups.get(at).copied().filter(|group| *group != Walls::LOOSE)
    }

    /// Whether a switch or the panel may join a group to more.
    pub(super) fn is_open(&self, group: Group) -> bool {
        let mut dark = self.devices.iter().flat_map(|dark| &dark.groups);
        let poles = [Some(self.line), Some(self.neutral), self.other];
        dark.any(|g| *g == group) || poles.contains(&Some(group))
    }

    /// How many points are in a group.
    pub(super) fn members(&self, group: Group) -> usize {
        let dark = self.devices.iter().flat_map(|dark| &dark.groups);
        let poles = [Some(self.line), Some(self.neutral), self.other];
        self.wires.iter().chain(dark).chain(poles.iter().flatten()).filter(|g| **g == group).count()
    }

    /// The same walls with one failure more.
    pub(super) fn with_fault(&self, fault: Fault) -> Walls {
        let mut walls = self.clone();
        walls.faults.push(fault);
        walls
    }

    /// A group of its own.
    pub(super) fn new_group(&mut self) -> Group {
        self.groups += 1;
        self.groups - 1
    }

    /// Makes two groups one.
    pub(super) fn merge(&mut self, into: Group, from: Group) {
        let dark = self.devices.iter_mut().flat_map(|dark| &mut dark.groups);
        let poles = [&mut self.line, &mut self.neutral].into_iter().chain(&mut self.other);
        let onward = self.onward.iter_mut().flatten();
        self.wires
            .iter_mut()
            .chain(dark)
            .chain(poles)
            .chain(onward)
            .filter(|g| **g == from)
            .for_each(|g| *g = into);
    }
}
