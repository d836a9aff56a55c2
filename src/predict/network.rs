//! The same situation uncontracted: every wire a resistor, every cable a capacitor, the meter in place.

use super::failed::{Failed, burns};
use super::scene::{Opened, Scene, Spot};
use super::{FARADS_PER_METRE, FARADS_TO_EARTH, HERTZ, HOT_OVER_COLD, OtherLoad};
use crate::circuit::copper::{Awg, Conductor};
use crate::circuit::{CircuitError, Element, Network, Node, Resistance};
use crate::house::{DeviceId, Point};
use crate::wiring::{Fault, Walls};

/// What is assumed of a house that nobody measured.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Assumed {
    /// Length of every cable in metres.
    pub metres: f64,
    /// What else hangs between line and neutral.
    pub other: OtherLoad,
    /// Volts, line to neutral.
    pub supply: f64,
}

/// A whole network, and where the house's points are in it.
pub struct Full {
    /// The network.
    pub network: Network,
    wires: Vec<Node>,
    terminals: Vec<Node>,
    conductors: Vec<Element>,
    lamps: Vec<(DeviceId, Node, Node)>,
}

/// Resistance of a closed contact, and of the service behind the feed, in ohms. Estimates.
const CONTACT: f64 = 0.02;
const SERVICE: f64 = 0.05;

impl Full {
    /// Builds the network for walls, opened boxes and one way the switches are thrown. With `cold`, lamps have their cold
    /// resistance.
    ///
    /// # Errors
    /// When a figure is out of range for a network element.
    pub fn build(
        scene: &Scene,
        walls: &Walls,
        opened: &Opened,
        thrown: u32,
        assumed: Assumed,
        cold: bool,
    ) -> Result<Full, CircuitError> {
        let mut network = Network::new();
        let groups: Vec<Node> = (0..walls.groups).map(|_| network.add_node()).collect::<Result<_, _>>()?;
        let switches: Vec<DeviceId> = scene.house.switches().collect();
        let failed = Failed::new(walls, thrown, &switches);
        let Points { wires, terminals, away } = points(&mut network, scene, opened, &failed)?;
        let mut full = Full { network, wires, terminals, conductors: Vec::new(), lamps: Vec::new() };
        for (fault, &away) in walls.faults.iter().zip(&away) {
            if let Fault::BadJoint(wire, ohms) = *fault {
                full.network.resistor(full.wires[wire], away, f64::from(ohms))?;
            }
        }
        let half = Conductor::copper(Awg::new(14)?).ohms_per_metre(20.0)? * assumed.metres / 2.0;
        for (wire, &node) in full.wires.iter().enumerate() {
            let group = groups[usize::from(walls.wires[wire])];
            full.conductors.push(full.network.resistor(node, group, half)?);
        }
        full.add_supply(walls, failed.on(opened), &groups, assumed)?;
        full.add_contacts(scene, walls, opened, &groups, &failed)?;
        full.add_lamps(walls, opened, &groups, cold)?;
        full.add_capacitance(scene, assumed.metres)?;
        for spot in opened.earthed.iter().copied().chain(failed.bonded(opened).map(Spot::Terminal)) {
            let node = full.node(Some(spot));
            full.network.resistor(node, Node::REFERENCE, CONTACT)?;
        }
        Ok(full)
    }

    fn add_supply(
        &mut self,
        walls: &Walls,
        [own_on, other_on]: [bool; 2],
        groups: &[Node],
        assumed: Assumed,
    ) -> Result<(), CircuitError> {
        let (line, neutral) = (groups[usize::from(walls.line)], groups[usize::from(walls.neutral)]);
        self.network.resistor(neutral, Node::REFERENCE, SERVICE)?;
        if own_on {
            self.network.source(line, Node::REFERENCE, assumed.supply, SERVICE)?;
        }
        if let Some(other) = walls.other.filter(|_| other_on) {
            let volts = if walls.opposite { -assumed.supply } else { assumed.supply };
            self.network.source(groups[usize::from(other)], Node::REFERENCE, volts, SERVICE)?;
        }
        if let Some(ohms) = assumed.other.at_feed {
            let other = walls.other.map(|other| groups[usize::from(other)]).filter(|other| *other != line);
            for line in [Some(line), other].into_iter().flatten() {
                self.network.resistor(line, neutral, ohms)?;
            }
        }
        for [line, neutral] in walls.onward.iter().map(|pair| pair.map(|group| groups[usize::from(group)])) {
            if let Some(ohms) = assumed.other.beyond.filter(|_| line != neutral) {
                self.network.resistor(line, neutral, ohms)?;
            }
        }
        for fault in &walls.faults {
            if let Fault::PulledUp(group, ohms) = *fault
                && groups[usize::from(group)] != line
            {
                self.network.resistor(line, groups[usize::from(group)], f64::from(ohms))?;
            }
        }
        Ok(())
    }

    fn add_contacts(
        &mut self,
        scene: &Scene,
        walls: &Walls,
        opened: &Opened,
        groups: &[Node],
        failed: &Failed,
    ) -> Result<(), CircuitError> {
        for (one, other) in failed.contacts(opened).chain(failed.tabs(opened)) {
            if self.terminals[one] != self.terminals[other] {
                self.network.resistor(self.terminals[one], self.terminals[other], CONTACT)?;
            }
        }
        if let Some((metal, wire)) = failed.live_metal(opened)
            && self.terminals[metal] != self.wires[wire]
        {
            self.network.resistor(self.terminals[metal], self.wires[wire], CONTACT)?;
        }
        for dark in &walls.devices {
            let Some(at) = scene.switch(dark.device) else { continue };
            for (one, other) in failed.closed(dark.kind, at) {
                let ends = (walls.terminal(dark.device, *one), walls.terminal(dark.device, *other));
                if let (Some(one), Some(other)) = ends
                    && one != other
                {
                    self.network.resistor(groups[usize::from(one)], groups[usize::from(other)], CONTACT)?;
                }
            }
        }
        Ok(())
    }

    fn add_lamps(
        &mut self,
        walls: &Walls,
        opened: &Opened,
        groups: &[Node],
        cold: bool,
    ) -> Result<(), CircuitError> {
        use crate::house::Terminal::{Center, Shell};
        let burning = opened.lamps.iter().filter(|lamp| burns(walls, lamp));
        for lamp in burning {
            let ends = match lamp.terminals() {
                Some([one, other]) => Some((self.terminals[one], self.terminals[other])),
                None => {
                    let group =
                        |terminal| walls.terminal(lamp.device, terminal).map(|g| groups[usize::from(g)]);
                    group(Center).zip(group(Shell))
                }
            };
            let Some((one, other)) = ends else { continue };
            self.lamps.push((lamp.device, one, other));
            if one != other {
                self.network.resistor(one, other, if cold { lamp.hot / HOT_OVER_COLD } else { lamp.hot })?;
            }
        }
        Ok(())
    }

    fn add_capacitance(&mut self, scene: &Scene, metres: f64) -> Result<(), CircuitError> {
        for end in &scene.facts.ends {
            for one in end.wires() {
                self.network.capacitor(self.wires[one], Node::REFERENCE, FARADS_TO_EARTH * metres)?;
                for other in one + 1..end.first + end.count {
                    if self.wires[one] != self.wires[other] {
                        let farads = FARADS_PER_METRE * metres;
                        self.network.capacitor(self.wires[one], self.wires[other], farads)?;
                    }
                }
            }
        }
        Ok(())
    }

    fn node(&self, spot: Option<Spot>) -> Node {
        match spot {
            None => Node::REFERENCE,
            Some(Spot::Wire(wire)) => self.wires[wire],
            Some(Spot::Terminal(at)) => self.terminals[at],
        }
    }

    /// The node of a point; earth is the reference.
    pub fn at(&self, scene: &Scene, point: Point) -> Node {
        self.node(scene.spot(point))
    }

    /// Volts between two points, with a meter across them.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn volts(mut self, one: Node, other: Node, ohms: f64, farads: f64) -> Result<f64, CircuitError> {
        if one == other {
            return Ok(0.0);
        }
        self.network.resistor(one, other, ohms)?;
        if farads > 0.0 {
            self.network.capacitor(one, other, farads)?;
        }
        self.network.solve_ac(HERTZ)?.volts(one, other)
    }

    /// Ohms between two points; `None` is open. (Leakage of the order of a meter's range does not count.)
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn ohms(&self, one: Node, other: Node) -> Result<Option<f64>, CircuitError> {
        Ok(match self.network.resistance_between(one, other)? {
            Resistance::Ohms(ohms) => Some(ohms),
            Resistance::Open => None,
        })
    }

    /// Volts across a light, hot.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn across(&self, light: DeviceId) -> Result<f64, CircuitError> {
        let Some((_, one, other)) = self.lamps.iter().find(|(device, ..)| *device == light) else {
            return Ok(0.0);
        };
        if one == other { Ok(0.0) } else { self.network.solve_ac(HERTZ)?.volts(*one, *other) }
    }

    /// Net amperes through a set of wires at one cable end, as a clamp round them shows.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn amps(&self, wires: impl Iterator<Item = usize>) -> Result<f64, CircuitError> {
        let solution = self.network.solve_ac(HERTZ)?;
        let mut sum = num_complex::Complex64::default();
        for wire in wires {
            sum += solution.current(&self.network, self.conductors[wire])?;
        }
        Ok(libm::hypot(sum.re, sum.im))
    }
}

/// The nodes of the points in opened boxes.
struct Points {
    wires: Vec<Node>,
    terminals: Vec<Node>,
    /// For each failure the joint's side of a wire that has come away from it.
    away: Vec<Node>,
}

/// One node for everything that touches in the opened boxes.
fn points(
    network: &mut Network,
    scene: &Scene,
    opened: &Opened,
    failed: &Failed,
) -> Result<Points, CircuitError> {
    let wires = scene.facts.wires.len();
    let number = |spot: Spot| match spot {
        Spot::Wire(wire) => wire,
        Spot::Terminal(at) => wires + at,
    };
    let away = wires + opened.terminals;
    let mut parent: Vec<usize> = (0..away + failed.count()).collect();
    let side = |spot: Spot| failed.away(spot).map_or_else(|| number(spot), |fault| away + fault);
    let joined = failed.joined(opened).map(|(one, other)| (side(one), side(other)));
    let bridged = opened.bridged.iter().map(|(one, other)| (number(*one), number(*other)));
    for (one, other) in joined.chain(bridged) {
        let (a, b) = (find(&parent, one), find(&parent, other));
        parent[a] = b;
    }
    let mut made: Vec<(usize, Node)> = Vec::new();
    let mut nodes = Vec::new();
    for point in 0..parent.len() {
        let root = find(&parent, point);
        let node = match made.iter().find(|(r, _)| *r == root) {
            Some((_, node)) => *node,
            None => {
                let node = network.add_node()?;
                made.push((root, node));
                node
            }
        };
        nodes.push(node);
    }
    let mut terminals = nodes.split_off(wires);
    let away = terminals.split_off(opened.terminals);
    Ok(Points { wires: nodes, terminals, away })
}

fn find(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}
