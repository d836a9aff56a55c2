//! Ghosts: what a meter shows on a net that nothing holds.
//!
//! Such a net is coupled by capacitance to its neighbours in its cables, and by the meter's own resistance to
//! wherever the other lead is. The cables' lengths are unknown; several are tried. What is solved is the small network
//! of floating nets, kept by what it depends on.

use super::bins::{NONE, only};
use super::nets::{NetId, Nets};
use super::{FARADS_BETWEEN_SINGLES, FARADS_PER_METRE, FARADS_TO_EARTH, HERTZ, METRES};
use crate::call::Bins;
use crate::circuit::{Network, Node};
use crate::wiring::Facts;
use std::collections::BTreeMap;

/// What couples two nets: how many pairs of wires lie side by side in a cable, and how many are singles of one box.
type Couplings = Vec<(u8, u8, [u8; 2])>;

/// Answers for floating nets, remembered.
pub struct Ghosts {
    /// Pairs of wires that share a cable (0), or are singles of one box (1), by wire number.
    beside: Vec<(usize, usize, usize)>,
    wires: usize,
    known: BTreeMap<(Couplings, [u8; 2], u64, u64), Bins>,
}

/// Numbers in a canonical network: line, neutral, then floating nets as they come.
const LINE: u8 = 0;
const NEUTRAL: u8 = 1;

impl Ghosts {
    /// Looks at which wires lie side by side.
    pub fn new(facts: &Facts) -> Ghosts {
        let in_end = |end: &crate::wiring::facts::EndFact| {
            let wires = end.wires();
            wires.clone().flat_map(move |one| (one + 1..wires.end).map(move |other| (one, other, 0)))
        };
        let mut beside: Vec<_> = facts.ends.iter().flat_map(in_end).collect();
        let singles: Vec<_> = facts.ends.iter().filter(|end| end.count == 1).collect();
        for (at, one) in singles.iter().enumerate() {
            let others = singles[at + 1..].iter().filter(|other| other.at == one.at);
            beside.extend(others.map(|other| (one.first, other.first, 1)));
        }
        Ghosts { beside, wires: facts.wires.len(), known: BTreeMap::new() }
    }

    /// Volts between two nets of which at least one floats: a distribution over the lengths tried.
    pub(super) fn between(&mut self, nets: &Nets, p: NetId, q: NetId, ohms: f64, farads: f64) -> Bins {
        let mut names: Vec<(NetId, u8)> = vec![(nets.line, LINE), (nets.neutral, NEUTRAL)];
        // A net that lamps hold sits with what holds it.
        for lamp in nets.lamps.iter().chain(nets.lamps.iter().rev()) {
            let name = |net| names.iter().find(|(n, _)| *n == net).map(|(_, name)| *name);
            match (name(lamp.ends[0]), name(lamp.ends[1])) {
                (Some(held), None) => names.push((lamp.ends[1], held)),
                (None, Some(held)) => names.push((lamp.ends[0], held)),
                _ => {}
            }
        }
        let mut next = NEUTRAL + 1;
        let mut name = |net: NetId| match names.iter().find(|(n, _)| *n == net) {
            Some((_, name)) => *name,
            None => {
                names.push((net, next));
                next += 1;
                next - 1
            }
        };
        let ends = [name(p), name(q)];
        let mut pairs: BTreeMap<(u8, u8), [u8; 2]> = BTreeMap::new();
        for &(one, other, kind) in &self.beside {
            let (a, b) = (nets.walls.wires[one], nets.walls.wires[other]);
            let (a, b) = (name(nets.of_group(a)), name(nets.of_group(b)));
            if a != b && (a > NEUTRAL || b > NEUTRAL) {
                pairs.entry((a.min(b), a.max(b))).or_default()[kind] += 1;
            }
        }
        for wire in 0..self.wires {
            let net = name(nets.of_group(nets.walls.wires[wire]));
            if net > NEUTRAL {
                // A net's own capacitance to earth, kept as a coupling to itself.
                pairs.entry((net, net)).or_default()[0] += 1;
            }
        }
        let couplings: Couplings = pairs.into_iter().map(|((a, b), n)| (a, b, n)).collect();
        let key = (couplings, ends, ohms.to_bits(), farads.to_bits());
        if let Some(bins) = self.known.get(&key) {
            return *bins;
        }
        let share = 1.0 / METRES.len() as f64;
        let mut bins = [0.0; 5];
        for metres in METRES {
            let volts = coupled(&key.0, ends, next, metres, ohms, farads).unwrap_or(0.0);
            let bin = if volts < super::fit::NOTHING { NONE } else { only(1) };
            bins.iter_mut().zip(bin).for_each(|(sum, bin)| *sum += share * bin);
        }
        self.known.insert(key, bins);
        bins
    }
}

/// The share of the supply on the meter.
fn coupled(
    couplings: &Couplings,
    ends: [u8; 2],
    count: u8,
    metres: f64,
    ohms: f64,
    farads: f64,
) -> Option<f64> {
    let mut network = Network::new();
    let mut nodes = vec![network.add_node().ok()?, Node::REFERENCE];
    for _ in 2..count {
        nodes.push(network.add_node().ok()?);
    }
    network.source(nodes[0], Node::REFERENCE, 1.0, 1.0).ok()?;
    for &(a, b, pairs) in couplings {
        let far = if a == b { NEUTRAL } else { b };
        let per_metre =
            if a == b { [FARADS_TO_EARTH, 0.0] } else { [FARADS_PER_METRE, FARADS_BETWEEN_SINGLES] };
        let sum: f64 = pairs.iter().zip(per_metre).map(|(&pairs, farads)| f64::from(pairs) * farads).sum();
        let farads = sum * metres;
        network.capacitor(nodes[usize::from(a)], nodes[usize::from(far)], farads).ok()?;
    }
    let [p, q] = ends.map(|end| nodes[usize::from(end)]);
    network.resistor(p, q, ohms).ok()?;
    if farads > 0.0 {
        network.capacitor(p, q, farads).ok()?;
    }
    network.solve_ac(HERTZ).ok()?.volts(p, q).ok()
}
