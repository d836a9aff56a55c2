//! Walls and opened boxes contracted: everything that ideal conductors join is one net.

use super::HOT_OVER_COLD;
use super::failed::{Failed, burns};
use super::scene::{LampIn, Opened, Spot};
use crate::house::{DeviceId, LampKind, Terminal};
use crate::wiring::{Fault, Walls};

/// A net by number.
pub(super) type NetId = u8;

/// More nodes than any house that a job file can hold would need.
pub(super) const NODES: usize = 256;

/// A lamp between two nets.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct LampEdge {
    pub(super) ends: [NetId; 2],
    pub(super) hot: f64,
    pub(super) cold: f64,
    pub(super) kind: LampKind,
}

impl LampEdge {
    /// Its resistance, cold or hot.
    pub(super) fn ohms(&self, cold: bool) -> f64 {
        if cold { self.cold } else { self.hot }
    }

    /// What has the same resistance hot and cold.
    fn resistor(ends: [NetId; 2], ohms: f64) -> LampEdge {
        LampEdge { ends, hot: ohms, cold: ohms, kind: LampKind::Incandescent }
    }
}

/// The contracted situation for one way the switches are thrown.
pub struct Nets<'a> {
    pub(super) walls: &'a Walls,
    parent: [NetId; NODES],
    groups: usize,
    pub(super) line: NetId,
    pub(super) neutral: NetId,
    /// The line of another circuit, where both are on and not one net.
    pub(super) second: Option<NetId>,
    /// Whether two circuits that are on meet, and are on opposite legs of the service.
    legs_meet: bool,
    pub(super) lamps: Vec<LampEdge>,
    pub(super) power: bool,
}

impl<'a> Nets<'a> {
    /// Contracts. Bit `i` of `thrown` is how switch `i` is thrown inside (not how its handle points).
    pub fn new(walls: &'a Walls, opened: &Opened, thrown: u32, switches: &[DeviceId]) -> Nets<'a> {
        let groups = usize::from(walls.groups);
        let mut parent = [0; NODES];
        for (at, node) in parent.iter_mut().enumerate() {
            *node = at as NetId;
        }
        let failed = Failed::new(walls, thrown, switches);
        let on = failed.on(opened);
        let mut nets = Nets {
            walls,
            parent,
            groups,
            line: 0,
            neutral: 0,
            second: None,
            legs_meet: false,
            lamps: Vec::new(),
            power: on != [false; 2],
        };
        // For each failure the joint's side of a wire that has come away from it.
        let away = |fault: usize| (groups + opened.terminals + fault) as NetId;
        for (one, other) in failed.joined(opened) {
            let side = |spot: Spot| failed.away(spot).map_or_else(|| nets.node(spot), away);
            let (one, other) = (side(one), side(other));
            nets.join(one, other);
        }
        for (one, other) in &opened.bridged {
            nets.join(nets.node(*one), nets.node(*other));
        }
        for (one, other) in failed.contacts(opened).chain(failed.tabs(opened)) {
            nets.join(nets.node(Spot::Terminal(one)), nets.node(Spot::Terminal(other)));
        }
        if let Some((metal, wire)) = failed.live_metal(opened) {
            nets.join(nets.node(Spot::Terminal(metal)), nets.node(Spot::Wire(wire)));
        }
        let bonded = failed.bonded(opened).map(Spot::Terminal);
        for spot in opened.earthed.iter().copied().chain(bonded) {
            nets.join(nets.node(spot), walls.neutral);
        }
        nets.dark_contacts(&failed, switches);
        nets.line = nets.supplied(on);
        nets.neutral = nets.find(walls.neutral);
        let burning = opened.lamps.iter().filter(|lamp| burns(walls, lamp));
        nets.lamps = burning.filter_map(|lamp| nets.lamp(lamp)).collect();
        for (at, fault) in walls.faults.iter().enumerate() {
            let (ends, ohms) = match *fault {
                Fault::BadJoint(wire, ohms) => ([away(at), nets.node(Spot::Wire(wire))], ohms),
                Fault::PulledUp(group, ohms) => ([nets.line, group], ohms),
                _ => continue,
            };
            let ends = ends.map(|end| nets.as_one_line(nets.find(end)));
            nets.lamps.push(LampEdge::resistor(ends, f64::from(ohms)));
        }
        nets
    }

    /// The line of the circuits that are on.
    fn supplied(&mut self, on: [bool; 2]) -> NetId {
        let line = self.find(self.walls.line);
        let Some(other) = self.walls.other.map(|other| self.find(other)) else { return line };
        match on {
            [true, true] => {
                self.second = Some(other).filter(|other| *other != line);
                self.legs_meet = other == line && self.walls.opposite;
                line
            }
            [false, true] => other,
            [_, false] => line,
        }
    }

    /// The other leg, where two circuits on opposite legs are on.
    pub(super) fn other_leg(&self) -> Option<NetId> {
        self.second.filter(|_| self.walls.opposite)
    }

    /// A net, but for the line of another circuit on the same leg the first line: to all there is they are the same.
    pub(super) fn as_one_line(&self, net: NetId) -> NetId {
        if self.second == Some(net) && !self.walls.opposite { self.line } else { net }
    }

    /// The potential of a net that is held hard, as a share of the supply.
    pub(super) fn pole(&self, net: NetId) -> Option<f64> {
        let other_leg = || self.other_leg().filter(|other| *other == net).map(|_| -1.0);
        if net == self.line { Some(1.0) } else { (net == self.neutral).then_some(0.0).or_else(other_leg) }
    }

    /// Switches in boxes nobody has opened.
    fn dark_contacts(&mut self, failed: &Failed, switches: &[DeviceId]) {
        for dark in &self.walls.devices {
            let Some(at) = switches.iter().position(|switch| *switch == dark.device) else { continue };
            for (one, other) in failed.closed(dark.kind, at) {
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
        let ends = ends.map(|end| self.as_one_line(end));
        Some(LampEdge { ends, hot: lamp.hot, cold: lamp.hot / HOT_OVER_COLD, kind: lamp.kind })
    }

    /// The nets of a light's two terminals, lamp or no lamp.
    pub(super) fn light(&self, opened: &Opened, device: DeviceId) -> Option<LampEdge> {
        let burns = |lamp: &&LampIn| lamp.device == device && burns(self.walls, lamp);
        opened.lamps.iter().find(burns).and_then(|lamp| self.lamp(lamp))
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

    /// Whether a point is on another circuit's line, or on the neutral that both have.
    pub(super) fn may_be_another(&self, spot: Spot) -> bool {
        let net = self.find(self.node(spot));
        self.walls.other.is_some_and(|other| net == self.neutral || net == self.find(other))
    }

    /// The nets of the lines, whether on or off, but one that meets the neutral.
    pub(super) fn lines(&self) -> impl Iterator<Item = NetId> + Clone {
        let own = self.find(self.walls.line);
        let other = self.walls.other.map(|other| self.find(other)).filter(|other| *other != own);
        [Some(own), other].into_iter().flatten().filter(|line| *line != self.neutral)
    }

    /// The net of a group of the walls.
    pub(super) fn of_group(&self, group: u8) -> NetId {
        self.find(group)
    }

    /// The poles of what goes on to the rest of the house.
    pub(super) fn poles_beyond(&self) -> Vec<[NetId; 2]> {
        let pairs = self.walls.onward.iter().map(|pair| pair.map(|group| self.find(group)));
        pairs.filter(|[line, neutral]| line != neutral).collect()
    }

    /// The same with a load beyond every cable that goes on; `None` where that changes nothing: the power is off, or the
    /// supply holds both its poles.
    pub(super) fn with_load_beyond(&self, ohms: f64) -> Option<Self> {
        if !self.power || self.walls.onward.is_empty() {
            return None;
        }
        let pairs = self.poles_beyond().into_iter().map(|pair| pair.map(|net| self.as_one_line(net)));
        let held = |pair: &[NetId; 2]| pair.iter().all(|net| self.pole(*net).is_some());
        let loose: Vec<LampEdge> =
            pairs.filter(|pair| !held(pair)).map(|ends| LampEdge::resistor(ends, ohms)).collect();
        (!loose.is_empty()).then(|| self.with_lamps(self.lamps.iter().copied().chain(loose).collect()))
    }

    /// The same contraction with other lamps.
    pub(super) fn with_lamps(&self, lamps: Vec<LampEdge>) -> Self {
        Nets { lamps, ..*self }
    }

    /// Whether line meets neutral, or the line of the other leg, with nothing between.
    pub(super) fn shorted(&self) -> bool {
        self.line == self.neutral || self.second == Some(self.neutral) || self.legs_meet
    }
}
