//! Ghosts: what a meter shows on a net that nothing holds.
//!
//! Such a net is coupled by capacitance to its neighbours in its cables, and by the meter's own resistance to
//! wherever the other lead is. The cables' lengths are unknown; several are tried. What is solved is the small network
//! of floating nets, kept by what it depends on.

use super::bins::{NONE, only};
use super::nets::{NODES, NetId, Nets};
use super::{FARADS_BETWEEN_SINGLES, FARADS_PER_METRE, FARADS_TO_EARTH, HERTZ, METRES};
use crate::call::Bins;
use crate::circuit::{Network, Node};
use crate::wiring::{Facts, FarSide, Fault};
use rustc_hash::FxHashMap;

/// A meter of this resistance or less pulls down whatever a house can couple: 3.1 microamperes a metre of live
/// neighbour at 120 V, so four neighbours over 20 m put less than 2.5 V on it. (Between the legs of a service there is
/// twice as much: where both are near, it is worked out.)
const PULLS_DOWN: f64 = 1e4;

/// How often what floats shows otherwise than its neighbours in sight tell, or a length that was tried: a wire may be
/// broken anywhere along its cable, and lie beside others behind the plaster.
const OTHERWISE: f64 = 0.1;

/// Two wires that lie side by side: in a cable, or as singles of one box.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Beside {
    one: usize,
    other: usize,
    single: bool,
}

impl Beside {
    /// The same with another wire in the place of one of the two.
    fn with(self, wire: usize, other: usize) -> Option<Beside> {
        match self {
            Beside { one, .. } if one == wire => Some(Beside { one: other, ..self }),
            Beside { other: there, .. } if there == wire => Some(Beside { other, ..self }),
            _ => None,
        }
    }
}

/// Where along its cable a wire may be broken.
#[derive(Clone, Copy)]
enum Break {
    Near,
    Midway,
    Far,
}

impl Break {
    /// What is left on the near side, in halves of the whole.
    fn halves(self) -> u8 {
        match self {
            Break::Near => 0,
            Break::Midway => 1,
            Break::Far => 2,
        }
    }
}

/// What the voltage on a floating net depends on: nets by name, line and neutral first, the two the meter is on, and how
/// many pairs of wires couple each two names.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
struct Coupled {
    names: u8,
    ends: [u8; 2],
    /// For names `a <= b`, two from `2 * (a * names + b)` on: pairs in cables and pairs of singles; a net with itself: its
    /// wires.
    pairs: Vec<u8>,
    /// The other leg of the service, and names that lamps tie to several poles: each with its share of the supply.
    held: Vec<(u8, u64)>,
    meter: [u64; 2],
}

/// Answers for floating nets, remembered.
pub struct Ghosts {
    beside: Vec<Beside>,
    wires: usize,
    known: FxHashMap<Coupled, Bins>,
}

const LINE: u8 = 0;
const NEUTRAL: u8 = 1;
const UNNAMED: u8 = u8::MAX;

impl Ghosts {
    /// Looks at which wires lie side by side.
    pub fn new(facts: &Facts) -> Ghosts {
        let mut beside = Vec::new();
        for end in &facts.ends {
            let pairs = end.wires().flat_map(|one| (one + 1..end.wires().end).map(move |other| (one, other)));
            beside.extend(pairs.map(|(one, other)| Beside { one, other, single: false }));
        }
        let singles: Vec<_> = facts.ends.iter().filter(|end| end.count == 1).collect();
        for (at, one) in singles.iter().enumerate() {
            let others = singles[at + 1..].iter().filter(|other| other.at == one.at);
            beside.extend(others.map(|other| Beside { one: one.first, other: other.first, single: true }));
        }
        Ghosts { beside, wires: facts.wires.len(), known: FxHashMap::default() }
    }

    /// Volts between two nets of which at least one floats: a distribution over the lengths tried.
    pub(super) fn between(&mut self, nets: &Nets, p: NetId, q: NetId, ohms: f64, farads: f64) -> Bins {
        if ohms <= PULLS_DOWN && nets.other_leg().is_none() {
            return NONE;
        }
        let meter = [ohms.to_bits(), farads.to_bits()];
        if !nets.walls.faults.iter().any(|fault| matches!(fault, Fault::Broken(..))) {
            return self.shown(self.coupled(nets, p, q, meter, Break::Midway));
        }
        // Where along its cable a wire is broken is not known.
        let mut bins = [0.0; 5];
        for at in [Break::Near, Break::Midway, Break::Far] {
            let shown = self.shown(self.coupled(nets, p, q, meter, at));
            bins.iter_mut().zip(shown).for_each(|(sum, bin)| *sum += bin / 3.0);
        }
        bins
    }

    fn shown(&mut self, coupled: Coupled) -> Bins {
        if let Some(bins) = self.known.get(&coupled) {
            return *bins;
        }
        let [ohms, farads] = coupled.meter.map(f64::from_bits);
        // Which singles of a box run side by side, if any, is not known: both are tried.
        let tries =
            METRES.iter().flat_map(|&metres| [0.0, FARADS_BETWEEN_SINGLES].map(|single| (metres, single)));
        let share = 0.5 * (1.0 - OTHERWISE) / METRES.len() as f64;
        let mut bins = [0.5 * OTHERWISE, 0.5 * OTHERWISE, 0.0, 0.0, 0.0];
        for (metres, single) in tries {
            let volts = coupled.share(metres, single, ohms, farads).unwrap_or(0.0);
            // Against what it is coupled to, a long run gives a meter that draws next to nothing nearly all there is.
            let bin = match volts {
                volts if volts < super::fit::NOTHING => NONE,
                volts if volts < 0.9 => only(1),
                _ => only(3),
            };
            bins.iter_mut().zip(bin).for_each(|(sum, bin)| *sum += share * bin);
        }
        self.known.insert(coupled, bins);
        bins
    }

    fn coupled(&self, nets: &Nets, p: NetId, q: NetId, meter: [u64; 2], at: Break) -> Coupled {
        let mut names = Names::new(nets);
        let ends = [names.of(p), names.of(q)];
        let mut wires: Vec<u8> =
            (0..self.wires).map(|wire| names.of(nets.of_group(nets.walls.wires[wire]))).collect();
        let Broken { beyond, lengths } = self.broken(nets, at, &mut wires, &mut names);
        let length =
            |wire: usize| lengths.iter().find(|(at, _)| *at == wire).map_or(1, |(_, length)| *length);
        let Names { next, held, .. } = names;
        let mut pairs = vec![0; 2 * usize::from(next) * usize::from(next)];
        let place = |a: u8, b: u8| 2 * (usize::from(a.min(b)) * usize::from(next) + usize::from(a.max(b)));
        for beside in self.beside.iter().chain(&beyond) {
            let (a, b) = (wires[beside.one], wires[beside.other]);
            if a != b && (a > NEUTRAL || b > NEUTRAL) {
                pairs[place(a, b) + usize::from(beside.single)] += length(beside.one) * length(beside.other);
            }
        }
        for (wire, &name) in wires.iter().enumerate().filter(|(_, name)| **name > NEUTRAL) {
            // What is left of a wire that is broken at its very end is a stub, and no net is nowhere.
            pairs[place(name, name)] += length(wire).max(1);
        }
        Coupled { names: next, ends, pairs, held, meter }
    }

    /// What is left of a broken wire on either side lies beside the others of its cable, more or less far.
    fn broken(&self, nets: &Nets, at: Break, wires: &mut Vec<u8>, names: &mut Names) -> Broken {
        let (mut beyond, mut lengths) = (Vec::new(), Vec::new());
        for fault in &nets.walls.faults {
            let Fault::Broken(wire, far) = *fault else { continue };
            let (near, of_far, far) = match far {
                FarSide::Seen(far) => (at.halves(), 2 - at.halves(), far),
                FarSide::Dark(group) => {
                    let far = wires.len();
                    wires.push(names.of(nets.of_group(group)));
                    let in_cable = self.beside.iter().filter(|beside| !beside.single);
                    beyond.extend(in_cable.filter_map(|beside| beside.with(wire, far)));
                    (at.halves().min(1), (2 - at.halves()).min(1), far)
                }
            };
            lengths.extend([(wire, near), (far, of_far)]);
        }
        Broken { beyond, lengths }
    }
}

/// Broken wires in a network of floating nets.
struct Broken {
    /// What lies beside their far sides.
    beyond: Vec<Beside>,
    /// How many lengths of cable count for a wire; one where nothing is said.
    lengths: Vec<(usize, u8)>,
}

/// Nets by name, in the order in which they come: poles first.
struct Names {
    of_net: [u8; NODES],
    next: u8,
    /// Names that are held at a share of the supply, in bits.
    held: Vec<(u8, u64)>,
}

impl Names {
    /// Names poles, and what lamps tie together.
    fn new(nets: &Nets) -> Names {
        let mut names = [UNNAMED; NODES];
        names[usize::from(nets.line)] = LINE;
        names[usize::from(nets.neutral)] = NEUTRAL;
        let mut held: Vec<(u8, u64)> = Vec::new();
        let mut next = NEUTRAL + 1;
        if let Some(second) = nets.second {
            names[usize::from(second)] = LINE;
        }
        if let Some(other) = nets.other_leg() {
            names[usize::from(other)] = next;
            held.push((next, f64::to_bits(-1.0)));
            next += 1;
        }
        // What is named by now is a pole; what is named from here on is not.
        let poles = next;
        for net in nets.lamps.iter().flat_map(|lamp| lamp.ends) {
            if names[usize::from(net)] != UNNAMED {
                continue;
            }
            if let Some(share) = nets.between_poles(net) {
                names[usize::from(net)] = next;
                held.push((next, share.to_bits()));
                next += 1;
            }
        }
        let is_held = |name: u8| name >= poles && held.iter().any(|(held, _)| *held == name);
        // Nets that a lamp ties together stand together: against a coupling a lamp is a wire.
        for lamp in nets.lamps.iter().chain(nets.lamps.iter().rev()) {
            let [one, other] = lamp.ends.map(usize::from);
            if is_held(names[one]) || is_held(names[other]) {
                continue;
            }
            match (names[one] == UNNAMED, names[other] == UNNAMED) {
                (false, true) => names[other] = names[one],
                (true, false) => names[one] = names[other],
                (true, true) => {
                    names[one] = next;
                    names[other] = next;
                    next += 1;
                }
                (false, false) => {
                    let (from, to) = (names[one].max(names[other]), names[one].min(names[other]));
                    if from >= poles {
                        names.iter_mut().filter(|name| **name == from).for_each(|name| *name = to);
                    }
                }
            }
        }
        Names { of_net: names, next, held }
    }

    /// The name of a net.
    fn of(&mut self, net: NetId) -> u8 {
        let name = &mut self.of_net[usize::from(net)];
        if *name == UNNAMED {
            *name = self.next;
            self.next += 1;
        }
        *name
    }
}

impl Coupled {
    /// The share of the supply on the meter.
    fn share(&self, metres: f64, single: f64, ohms: f64, farads: f64) -> Option<f64> {
        let mut network = Network::new();
        let mut nodes = vec![network.add_node().ok()?, Node::REFERENCE];
        for _ in 2..self.names {
            nodes.push(network.add_node().ok()?);
        }
        network.source(nodes[0], Node::REFERENCE, 1.0, 1.0).ok()?;
        for (name, share) in &self.held {
            network.source(nodes[usize::from(*name)], Node::REFERENCE, f64::from_bits(*share), 1.0).ok()?;
        }
        for (at, pairs) in self.pairs.chunks_exact(2).enumerate().filter(|(_, pairs)| **pairs != [0; 2]) {
            let (a, b) = (at / usize::from(self.names), at % usize::from(self.names));
            let far = if a == b { usize::from(NEUTRAL) } else { b };
            let per_metre = if a == b { [FARADS_TO_EARTH, 0.0] } else { [FARADS_PER_METRE, single] };
            let sum: f64 =
                pairs.iter().zip(per_metre).map(|(&pairs, farads)| f64::from(pairs) * farads).sum();
            if sum > 0.0 {
                network.capacitor(nodes[a], nodes[far], sum * metres).ok()?;
            }
        }
        let [p, q] = self.ends.map(|end| nodes[usize::from(end)]);
        network.resistor(p, q, ohms).ok()?;
        if farads > 0.0 {
            network.capacitor(p, q, farads).ok()?;
        }
        network.solve_ac(HERTZ).ok()?.volts(p, q).ok()
    }
}
