//! Walls and opened boxes contracted: everything that ideal conductors join is one net.

use super::scene::{LampIn, Opened, Spot};
use crate::house::{LampKind, Terminal};
use crate::wiring::Walls;

/// A net by number.
pub(super) type NetId = u8;

/// More nodes than any house that a job file can hold would need.
pub(super) const NODES: usize = 256;

/// A lamp between two nets.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct LampEdge {
    pub(super) ends: [NetId; 2],
    pub(super) hot: f64,
    pub(super) kind: LampKind,
}

/// The contracted situation for one way the switches are thrown.
pub struct Nets<'a> {
    pub(super) walls: &'a Walls,
    parent: [NetId; NODES],
    groups: usize,
    pub(super) line: NetId,
    pub(super) neutral: NetId,
    pub(super) lamps: Vec<LampEdge>,
    pub(super) power: bool,
}

impl<'a> Nets<'a> {
    /// Contracts. Bit `i` of `thrown` is how switch `i` is thrown inside (not how its handle points).
    pub fn new(
        walls: &'a Walls,
        opened: &Opened,
        thrown: u32,
        switches: &[crate::house::DeviceId],
    ) -> Nets<'a> {
        let groups = usize::from(walls.groups);
        let mut parent = [0; NODES];
        for (at, node) in parent.iter_mut().enumerate() {
            *node = at as NetId;
        }
        let mut nets =
            Nets { walls, parent, groups, line: 0, neutral: 0, lamps: Vec::new(), power: opened.power };
        for (one, other) in &opened.joined {
            nets.join(nets.node(*one), nets.node(*other));
        }
        for &(switch, when, one, other) in &opened.contacts {
            if (thrown >> switch & 1 == 1) == when {
                nets.join(nets.node(Spot::Terminal(one)), nets.node(Spot::Terminal(other)));
            }
        }
        for &(device, hot, one, other) in &opened.tabs {
            if !(hot && walls.broken.contains(&device)) {
                nets.join(nets.node(Spot::Terminal(one)), nets.node(Spot::Terminal(other)));
            }
        }
        for (one, other) in unmarked_contacts(walls, opened, thrown) {
            nets.join(nets.node(Spot::Terminal(one)), nets.node(Spot::Terminal(other)));
        }
        for spot in &opened.earthed {
            nets.join(nets.node(*spot), walls.neutral);
        }
        nets.dark_contacts(thrown, switches);
        nets.line = nets.find(walls.line);
        nets.neutral = nets.find(walls.neutral);
        nets.lamps = opened.lamps.iter().filter_map(|lamp| nets.lamp(lamp)).collect();
        nets
    }

    /// Switches in boxes nobody has opened.
    fn dark_contacts(&mut self, thrown: u32, switches: &[crate::house::DeviceId]) {
        for dark in &self.walls.devices {
            let Some(at) = switches.iter().position(|switch| *switch == dark.device) else { continue };
            for (one, other) in dark.kind.contacts(thrown >> at & 1 == 1) {
                let groups =
                    (self.walls.terminal(dark.device, *one), self.walls.terminal(dark.device, *other));
                if let (Some(one), Some(other)) = groups {
                    self.join(one, other);
                }
            }
        }
    }

    fn lamp(&self, lamp: &LampIn) -> Option<LampEdge> {
        let ends = match lamp.terminals() {
            Some(terminals) => terminals.map(|t| self.find(self.node(Spot::Terminal(t)))),
            None => {
                let group = |terminal| self.walls.terminal(lamp.device, terminal).map(|g| self.find(g));
                [group(Terminal::Center)?, group(Terminal::Shell)?]
            }
        };
        Some(LampEdge { ends, hot: lamp.hot, kind: lamp.kind })
    }

    /// The nets of a light's two terminals, lamp or no lamp.
    pub(super) fn light(&self, opened: &Opened, device: crate::house::DeviceId) -> Option<LampEdge> {
        opened.lamps.iter().find(|lamp| lamp.device == device).and_then(|lamp| self.lamp(lamp))
    }

    fn node(&self, spot: Spot) -> NetId {
        match spot {
            Spot::Wire(wire) => self.walls.wires[wire],
            Spot::Terminal(at) => (self.groups + at) as NetId,
        }
    }

    fn find(&self, mut node: NetId) -> NetId {
        while self.parent[usize::from(node)] != node {
            node = self.parent[usize::from(node)];
        }
        node
    }

    fn join(&mut self, one: NetId, other: NetId) {
        let (a, b) = (self.find(one), self.find(other));
        self.parent[usize::from(a)] = b;
    }

    /// The net of a point; earth is the neutral, bonded at the service.
    pub(super) fn at(&self, spot: Option<Spot>) -> NetId {
        spot.map_or(self.neutral, |spot| self.find(self.node(spot)))
    }

    /// The net of a group of the walls.
    pub(super) fn of_group(&self, group: u8) -> NetId {
        self.find(group)
    }

    /// The same contraction with other lamps.
    pub(super) fn with_lamps(&self, lamps: Vec<LampEdge>) -> Self {
        Nets { lamps, ..*self }
    }

    /// Whether line meets neutral with nothing between.
    pub(super) fn shorted(&self) -> bool {
        self.line == self.neutral
    }
}

/// Contacts of switches whose screws only the walls tell apart.
pub(super) fn unmarked_contacts<'a>(
    walls: &'a Walls,
    opened: &'a Opened,
    thrown: u32,
) -> impl Iterator<Item = (usize, usize)> + 'a {
    opened.unmarked.iter().flat_map(move |&(device, switch, first)| {
        let screws = walls.screws.iter().find(|screws| screws.device == device);
        let contacts = screws.map_or(&[][..], |screws| screws.kind.contacts(thrown >> switch & 1 == 1));
        let place = move |terminal| match screws.and_then(|screws| screws.screw(terminal)) {
            Some(Terminal::X(n)) => Some(first + usize::from(n) - 1),
            _ => None,
        };
        contacts.iter().filter_map(move |&(one, other)| place(one).zip(place(other)))
    })
}
