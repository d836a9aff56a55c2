//! A building under given conditions as an electrical network: every wire a resistance, every cable its capacitances,
//! lamps that warm up, the meter in its place.
//!
//! Written apart from the predictor's network, from the building and not from joined nets, so that the two can be held
//! against each other. Figures: copper from its resistivity; 69 pF a metre between wires of flat plastic cable
//! (R. Duffy, "The Capacitance Connection", Nuts & Volts); the two-wire line for singles in air; old armour 2.83 ohm in
//! 100 ft (Dini, Residential Electrical System Aging Research Project, 2008); a filament's cold resistance 1/11 to 1/15
//! of its hot one. The others are estimates.

use super::building::{Building, Far, Joint, Lamp, Pole, Spot};
use super::names::Probe;
use crate::call::LampState;
use crate::circuit::copper::{Awg, Conductor};
use crate::circuit::{CircuitError, Element, Kind, Network, Node, Resistance, Solution, Workspace};
use crate::house::{LampKind, Sheath, Terminal};
use num_complex::Complex64;
use std::collections::{BTreeMap, BTreeSet};

/// Line frequency.
const HERTZ: f64 = 60.0;
/// A closed contact, a screw at the panel, a jumper, two bare wires that touch.
const CONTACT: f64 = 0.02;
/// The service behind a breaker.
const SERVICE: f64 = 0.1;
/// A breaker opens at once from here on, in amperes. A 15 A breaker takes five times its rating and more for that; what
/// lies between is never met in these houses.
const TRIPS: f64 = 40.0;
/// Volts that lamps are made for.
const RATED: f64 = 120.0;
/// An electronic lamp starts at this share of them, and lets this much through below, and on an ohmmeter.
const STARTS: f64 = 0.4;
const ELECTRONIC_OFF: f64 = 5e5;
const ELECTRONIC_DEAD: f64 = 3e6;
/// Enough for a faint light of one that does not run, in amperes: what long travelers couple.
const GLOWS: f64 = 10e-6;
/// Ohms of old armour, a metre.
const ARMOR: f64 = 2.83 / 30.48;

/// What holds while something is measured; one entry a circuit, or a device, of the building.
#[derive(Clone, PartialEq, Debug)]
pub struct Situation {
    /// Circuits that are on.
    pub power: Vec<bool>,
    /// Contacts thrown.
    pub thrown: Vec<bool>,
    /// What is in each lampholder.
    pub lamps: Vec<LampState>,
    /// Devices taken off.
    pub out: BTreeSet<usize>,
    /// Wires away from their joint.
    pub lifted: BTreeSet<Spot>,
    /// Points bridged.
    pub jumpers: Vec<(Probe, Probe)>,
}

impl Situation {
    /// Everything in place, every handle as its contacts lie, all circuits on or off.
    pub fn plain(building: &Building, power: bool) -> Situation {
        Situation {
            power: vec![power; building.circuits.len()],
            thrown: vec![false; building.fixtures.len()],
            lamps: vec![LampState::In; building.fixtures.len()],
            out: BTreeSet::new(),
            lifted: BTreeSet::new(),
            jumpers: Vec::new(),
        }
    }
}

/// A lamp in the network.
#[derive(Clone, Copy, Debug)]
struct Burning {
    fixture: usize,
    ends: [Node; 2],
    lamp: Lamp,
    element: Element,
}

/// A building on the bench: its network, and where its spots are in it.
#[derive(Clone, Debug)]
pub struct Bench {
    network: Network,
    nodes: BTreeMap<Spot, Node>,
    strands: BTreeMap<(usize, usize), Element>,
    lamps: Vec<Burning>,
    sources: Vec<Element>,
    live: bool,
    supply: f64,
}

impl Bench {
    /// The network of a building in a situation, its lamps as warm as they get.
    ///
    /// # Errors
    /// When a figure is out of range, or the network has no solution.
    pub fn new(building: &Building, situation: &Situation) -> Result<Bench, CircuitError> {
        let mut bench = Bench {
            network: Network::new(),
            nodes: BTreeMap::new(),
            strands: BTreeMap::new(),
            lamps: Vec::new(),
            sources: Vec::new(),
            live: situation.power.contains(&true),
            supply: building.supply,
        };
        bench.join(building, situation)?;
        bench.add_panel(building, situation)?;
        for cable in 0..building.cables.len() {
            bench.add_cable(building, cable)?;
        }
        bench.add_singles(building)?;
        bench.add_devices(building, situation)?;
        for (one, other, ohms) in &building.loads {
            let (one, other) = (bench.nodes[one], bench.nodes[other]);
            bench.network.resistor(one, other, *ohms)?;
        }
        for (one, other) in &situation.jumpers {
            let (one, other) = (bench.node(*one), bench.node(*other));
            if one != other {
                bench.network.resistor(one, other, CONTACT)?;
            }
        }
        if bench.live {
            settle(&mut bench.network, &bench.lamps)?;
        }
        Ok(bench)
    }

    /// One node for all that touches, and a resistance for what only seems to.
    fn join(&mut self, building: &Building, situation: &Situation) -> Result<(), CircuitError> {
        let mut up: BTreeMap<Spot, Spot> = BTreeMap::new();
        let mut poor = Vec::new();
        for joint in building.outlets.iter().flat_map(|outlet| &outlet.joints) {
            let held = holding(joint, situation);
            let bad = |spot: &Spot| joint.poor.iter().find(|(poor, _)| poor == spot).map(|(_, ohms)| *ohms);
            let sound: Vec<Spot> = held.iter().copied().filter(|spot| bad(spot).is_none()).collect();
            for pair in sound.windows(2) {
                let (a, b) = (root(&up, pair[0]), root(&up, pair[1]));
                if a != b {
                    up.insert(a, b);
                }
            }
            let loose = held.iter().filter_map(|spot| bad(spot).flatten().map(|ohms| (*spot, ohms)));
            poor.extend(loose.filter_map(|(spot, ohms)| sound.first().map(|&to| (spot, to, ohms))));
        }
        let mut by_root: BTreeMap<Spot, Node> = BTreeMap::new();
        for spot in all_spots(building) {
            let root = root(&up, spot);
            let node = match by_root.get(&root) {
                Some(node) => *node,
                None => self.network.add_node()?,
            };
            by_root.insert(root, node);
            self.nodes.insert(spot, node);
        }
        for (at, outlet) in building.outlets.iter().enumerate() {
            if let Some(wire) = outlet.chafed
                && self.nodes[&wire] != self.nodes[&Spot::Metal(at)]
            {
                self.network.resistor(self.nodes[&wire], self.nodes[&Spot::Metal(at)], CONTACT)?;
            }
        }
        for (spot, to, ohms) in poor {
            self.network.resistor(self.nodes[&spot], self.nodes[&to], ohms)?;
        }
        Ok(())
    }

    /// Breakers, bars, and what else hangs on each circuit.
    fn add_panel(&mut self, building: &Building, situation: &Situation) -> Result<(), CircuitError> {
        let mut bars = Vec::new();
        for (circuit, on) in building.circuits.iter().zip(&situation.power) {
            let (line, neutral) = (self.network.add_node()?, self.network.add_node()?);
            if *on {
                let source =
                    self.network.source(line, Node::REFERENCE, circuit.leg * building.supply, SERVICE)?;
                self.sources.push(source);
            }
            if !circuit.neutral_lost {
                self.network.resistor(neutral, Node::REFERENCE, CONTACT)?;
            }
            if let Some(ohms) = circuit.other_load {
                self.network.resistor(line, neutral, ohms)?;
            }
            bars.push((line, neutral));
        }
        for (c, cable) in building.cables.iter().enumerate() {
            for side in (0..2).filter(|&side| cable.ends[side] == Far::Panel) {
                for (wire, strand) in cable.strands.iter().enumerate() {
                    let bar = match strand.pole {
                        Some((circuit, Pole::Line)) => bars[circuit].0,
                        Some((circuit, Pole::Neutral)) => bars[circuit].1,
                        Some((_, Pole::Ground)) => Node::REFERENCE,
                        None => continue,
                    };
                    self.network.resistor(self.nodes[&Spot::Wire(c, wire, side)], bar, CONTACT)?;
                }
            }
        }
        Ok(())
    }

    /// The wires of a cable, its armour, and the capacitances between them: half at each end.
    fn add_cable(&mut self, building: &Building, number: usize) -> Result<(), CircuitError> {
        let cable = &building.cables[number];
        let ohms = Conductor::copper(Awg::new(14)?).ohms_per_metre(20.0)? * cable.metres;
        let [between, earth] = farads(cable.sheath).map(|farads| farads * cable.metres);
        for (wire, strand) in cable.strands.iter().enumerate() {
            let ends = [0, 1].map(|side| self.nodes[&Spot::Wire(number, wire, side)]);
            if strand.broken.is_none() && ends[0] != ends[1] {
                self.strands.insert((number, wire), self.network.resistor(ends[0], ends[1], ohms)?);
            }
            let share = strand.broken.unwrap_or(0.5);
            for (side, share) in [(0, share), (1, 1.0 - share)] {
                let around = self.around(building, number, side);
                self.couple(ends[side], around, earth * share)?;
                for other in wire + 1..cable.strands.len() {
                    let share = match (strand.broken, cable.strands[other].broken, side) {
                        (None, Some(broken), 0) => broken,
                        (None, Some(broken), _) => 1.0 - broken,
                        _ => share,
                    };
                    self.couple(ends[side], self.nodes[&Spot::Wire(number, other, side)], between * share)?;
                }
            }
        }
        for &(one, other) in &cable.shorts {
            let [one, other] = [one, other].map(|wire| self.nodes[&Spot::Wire(number, wire, 0)]);
            self.network.resistor(one, other, CONTACT)?;
        }
        let armor = [0, 1].map(|side| self.around(building, number, side));
        if cable.sheath == Sheath::Armored && armor[0] != armor[1] {
            self.network.resistor(armor[0], armor[1], ARMOR * cable.metres)?;
        }
        Ok(())
    }

    /// What is around a cable at one end: the box that its armour is clamped to, or the earth.
    fn around(&self, building: &Building, cable: usize, side: usize) -> Node {
        let cable = &building.cables[cable];
        match cable.ends[side] {
            Far::Outlet(outlet) if cable.sheath == Sheath::Armored && building.outlets[outlet].metal => {
                self.nodes[&Spot::Metal(outlet)]
            }
            _ => Node::REFERENCE,
        }
    }

    /// Singles of one way run side by side.
    fn add_singles(&mut self, building: &Building) -> Result<(), CircuitError> {
        let single =
            |at: &usize| building.cables[*at].strands.len() == 1 && building.cables[*at].way.is_some();
        let singles: Vec<usize> = (0..building.cables.len()).filter(single).collect();
        for (place, &one) in singles.iter().enumerate() {
            for &other in &singles[place + 1..] {
                let (a, b) = (&building.cables[one], &building.cables[other]);
                if a.way != b.way {
                    continue;
                }
                let [between, _] = farads(a.sheath);
                for side in 0..2 {
                    let [one, other] = [one, other].map(|cable| self.nodes[&Spot::Wire(cable, 0, side)]);
                    self.couple(one, other, between * a.metres.min(b.metres) / 2.0)?;
                }
            }
        }
        Ok(())
    }

    fn couple(&mut self, one: Node, other: Node, farads: f64) -> Result<(), CircuitError> {
        if one != other && farads > 1e-15 {
            self.network.capacitor(one, other, farads)?;
        }
        Ok(())
    }

    /// Closed contacts, and lamps.
    fn add_devices(&mut self, building: &Building, situation: &Situation) -> Result<(), CircuitError> {
        for (at, fixture) in building.fixtures.iter().enumerate() {
            let node = |terminal| self.nodes[&Spot::Screw(at, terminal)];
            for (one, other) in fixture.closed(situation.thrown[at]) {
                let (one, other) = (node(one), node(other));
                if one != other {
                    self.network.resistor(one, other, CONTACT)?;
                }
            }
            let Some(lamp) = burning(fixture.lamp, situation.lamps[at], fixture.chain_off) else { continue };
            let ends = [Terminal::Center, Terminal::Shell].map(node);
            if ends[0] != ends[1] {
                let ohms = if self.live { resistance(&lamp, RATED) } else { dead(&lamp) };
                let element = self.network.resistor(ends[0], ends[1], ohms)?;
                self.lamps.push(Burning { fixture: at, ends, lamp, element });
            }
        }
        Ok(())
    }

    fn node(&self, probe: Probe) -> Node {
        match probe {
            Probe::Earth => Node::REFERENCE,
            Probe::At(spot) => self.nodes.get(&spot).copied().unwrap_or(Node::REFERENCE),
        }
    }

    /// The network, for another solver to work out.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Whether a breaker opens.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn trips(&self) -> Result<bool, CircuitError> {
        let solution = self.network.solve_ac(HERTZ)?;
        for &source in &self.sources {
            if solution.current_magnitude(&self.network, source)? > TRIPS {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Volts between two points on a meter.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn volts(&self, one: Probe, other: Probe, ohms: f64, farads: f64) -> Result<f64, CircuitError> {
        let (one, other) = (self.node(one), self.node(other));
        if one == other || !self.live {
            return Ok(0.0);
        }
        let mut network = self.network.clone();
        network.resistor(one, other, ohms)?;
        if farads > 0.0 {
            network.capacitor(one, other, farads)?;
        }
        settle(&mut network, &self.lamps)?.volts(one, other)
    }

    /// The share of the supply that a test lamp between two points gets.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn load(&self, one: Probe, other: Probe, watts: f64) -> Result<f64, CircuitError> {
        let ends = [self.node(one), self.node(other)];
        if ends[0] == ends[1] || !self.live {
            return Ok(0.0);
        }
        let mut network = self.network.clone();
        let lamp = filament(watts);
        let element = network.resistor(ends[0], ends[1], resistance(&lamp, RATED))?;
        let mut lamps = self.lamps.clone();
        lamps.push(Burning { fixture: usize::MAX, ends, lamp, element });
        Ok(settle(&mut network, &lamps)?.volts(ends[0], ends[1])? / self.supply)
    }

    /// Ohms between two points; `None` is open.
    ///
    /// # Errors
    /// When a node is unknown.
    pub fn ohms(
        &self,
        one: Probe,
        other: Probe,
        workspace: &mut Workspace,
    ) -> Result<Option<f64>, CircuitError> {
        let (one, other) = (self.node(one), self.node(other));
        Ok(match self.network.resistance_between_with(one, other, workspace)? {
            Resistance::Ohms(ohms) => Some(ohms),
            Resistance::Open => None,
        })
    }

    /// Net amperes through wires of a cable.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn amps(&self, cable: usize, wires: &[usize]) -> Result<f64, CircuitError> {
        let solution = self.network.solve_ac(HERTZ)?;
        let mut sum = Complex64::new(0.0, 0.0);
        for &wire in wires {
            if let Some(&element) = self.strands.get(&(cable, wire)) {
                sum += solution.current(&self.network, element)?;
            }
        }
        Ok(libm::hypot(sum.re, sum.im))
    }

    /// What a light does: `lit`, `dim`, `glow` or `dark`. An electronic lamp that does not run glows on a few
    /// microamperes.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn watch(&self, fixture: usize) -> Result<&'static str, CircuitError> {
        let Some(light) = self.lamps.iter().find(|lamp| lamp.fixture == fixture).filter(|_| self.live) else {
            return Ok("dark");
        };
        let solution = self.network.solve_ac(HERTZ)?;
        let share = solution.volts(light.ends[0], light.ends[1])? / self.supply;
        let off = Kind::Resistor { ohms: ELECTRONIC_OFF };
        let runs =
            light.lamp.kind == LampKind::Incandescent || self.network.branch(light.element)?.kind != off;
        Ok(match () {
            () if runs && share >= 0.9 => "lit",
            () if runs && share >= 0.2 => "dim",
            () if !runs && solution.current_magnitude(&self.network, light.element)? > GLOWS => "glow",
            () => "dark",
        })
    }
}

/// The members of a joint that hold together in a situation.
fn holding(joint: &Joint, situation: &Situation) -> Vec<Spot> {
    let off = |spot: &Spot| matches!(spot, Spot::Screw(fixture, _) if situation.out.contains(fixture));
    if joint.doubled && joint.spots.iter().any(off) {
        return Vec::new();
    }
    joint.spots.iter().copied().filter(|spot| !off(spot) && !situation.lifted.contains(spot)).collect()
}

fn root(up: &BTreeMap<Spot, Spot>, mut spot: Spot) -> Spot {
    while let Some(&next) = up.get(&spot) {
        spot = next;
    }
    spot
}

fn all_spots(building: &Building) -> Vec<Spot> {
    let wires = building.cables.iter().enumerate().flat_map(|(c, cable)| {
        (0..cable.strands.len()).flat_map(move |wire| [Spot::Wire(c, wire, 0), Spot::Wire(c, wire, 1)])
    });
    let fixtures = building.fixtures.iter().enumerate();
    let screws = fixtures.flat_map(|(at, fixture)| fixture.screws().iter().map(move |&t| Spot::Screw(at, t)));
    wires.chain(screws).chain((0..building.outlets.len()).map(Spot::Metal)).collect()
}

/// Farads a metre between two wires of a cable, and from one to what is around.
fn farads(sheath: Sheath) -> [f64; 2] {
    match sheath {
        Sheath::Nm => [69e-12, 15e-12],
        Sheath::ClothNm => [55e-12, 15e-12],
        Sheath::Armored | Sheath::Lead => [80e-12, 90e-12],
        Sheath::KnobAndTube => [5.5e-12, 6e-12],
        Sheath::Conduit => [40e-12, 60e-12],
    }
}

fn filament(watts: f64) -> Lamp {
    Lamp { kind: LampKind::Incandescent, said: LampKind::Incandescent, watts, cold: 13.0, out: false }
}

/// The lamp that burns in a lampholder.
fn burning(lamp: Option<Lamp>, state: LampState, chain_off: bool) -> Option<Lamp> {
    let own = lamp?;
    match state {
        _ if chain_off => None,
        LampState::Out => None,
        LampState::Test => Some(filament(60.0)),
        LampState::In => Some(own).filter(|lamp| !lamp.out),
    }
}

/// Ohms of a lamp at some volts: a filament's rise from cold to hot about as the root of them; an electronic lamp runs
/// or does not.
fn resistance(lamp: &Lamp, volts: f64) -> f64 {
    let hot = RATED * RATED / lamp.watts;
    if lamp.kind == LampKind::Incandescent {
        let cold = hot / lamp.cold;
        cold + (hot - cold) * libm::sqrt((volts / RATED).min(1.5))
    } else if volts >= STARTS * RATED {
        hot
    } else {
        ELECTRONIC_OFF
    }
}

/// Ohms of a lamp on an ohmmeter.
fn dead(lamp: &Lamp) -> f64 {
    if lamp.kind == LampKind::Incandescent { resistance(lamp, 0.0) } else { ELECTRONIC_DEAD }
}

/// Solves until every lamp is as warm as its volts make it. An electronic lamp runs where it can when it draws what it
/// needs; one that cannot stays off, whatever a few microamperes then put on it.
fn settle(network: &mut Network, lamps: &[Burning]) -> Result<Solution, CircuitError> {
    let mut workspace = Workspace::default();
    let mut solution = Solution::default();
    let electronic = |lamp: &&Burning| lamp.lamp.kind != LampKind::Incandescent;
    for lamp in lamps.iter().filter(electronic) {
        network.replace(lamp.element, Kind::Resistor { ohms: resistance(&lamp.lamp, RATED) })?;
    }
    for _ in 0..24 {
        network.solve_ac_into(HERTZ, &mut workspace, &mut solution)?;
        let mut steady = true;
        for lamp in lamps {
            let ohms = resistance(&lamp.lamp, solution.volts(lamp.ends[0], lamp.ends[1])?);
            let before = match network.branch(lamp.element)?.kind {
                Kind::Resistor { ohms } => ohms,
                _ => ohms,
            };
            let revives = electronic(&lamp) && ohms < before;
            if (ohms - before).abs() > 1e-4 * before && !revives {
                network.replace(lamp.element, Kind::Resistor { ohms })?;
                steady = false;
            }
        }
        if steady {
            break;
        }
    }
    Ok(solution)
}
