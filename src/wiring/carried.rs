//! What readings of volts to earth say of the net that a wire carries.
//!
//! A wire reads the supply only where its net can be live, through switches whichever way they stand and through lamps that are
//! in; a line that is on reads nothing else, and a neutral reads nothing. A wiring is at odds with readings of which that does
//! not hold. Where they are so many that wrong readings do not explain them, it is not thought of, as long as nothing speaks for
//! a failure: behind one open joint a line reads dead whatever it is asked.

use super::facts::{Facts, WireIndex};
use super::hints::{Level, Tried, level, touching};
use super::netlist::Netlist;
use super::pairing::{Mask, SPARE};
use super::space::Label;
use crate::call::{Ask, Conditions, InstrumentKind, LampState, Reading};
use crate::house::{DeviceId, House};
use crate::knowledge::Pole;
use std::collections::BTreeMap;

/// A wire behind a failure may read so often what it is not: it counts for no more readings than that.
const BEHIND: u8 = 2;

/// What was read of volts to earth.
#[derive(Clone, Debug)]
pub(super) struct Levels {
    all: BTreeMap<Conditions, Vec<LevelRead>>,
    lights: Vec<DeviceId>,
    /// Joints are facts everywhere.
    whole: bool,
    /// Something may have failed.
    failing: bool,
}

#[derive(Clone, Debug)]
struct LevelRead {
    /// What the point touches: wires of one joint.
    wires: Vec<WireIndex>,
    level: Level,
    /// The instrument draws enough that a wire joined to nothing reads nothing.
    firm: bool,
}

impl Levels {
    /// Those among some readings.
    pub(super) fn new(house: &House, facts: &Facts, readings: &[&Reading], whole: bool) -> Levels {
        let mut all: BTreeMap<Conditions, Vec<LevelRead>> = BTreeMap::new();
        for reading in readings.iter().filter(|reading| reading.conditions.jumpers.is_empty()) {
            let (Ask::Volts(pairs) | Ask::Load(pairs)) = &reading.ask else { continue };
            let with = reading.with.map(|with| with.kind);
            let firm = matches!(reading.ask, Ask::Load(_)) || with == Some(InstrumentKind::LowImpedance);
            for ((p, q), seen) in pairs.iter().zip(&reading.seen) {
                let touched = |point| touching(house, facts, &reading.conditions, point);
                let ((Some(wires), None) | (None, Some(wires))) = (touched(*p), touched(*q)) else {
                    continue;
                };
                if let Some(level) = level(&reading.ask, *seen, house.supply) {
                    let here = all.entry(reading.conditions.clone()).or_default();
                    here.push(LevelRead { wires, level, firm });
                }
            }
        }
        Levels { all, lights: house.lights().collect(), whole, failing: false }
    }

    /// The same where something may have failed.
    pub(super) fn failing(self) -> Levels {
        Levels { failing: true, ..self }
    }

    /// Whether there are none.
    pub(super) fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// What nets can be under some conditions, with the lines by these feeds.
    fn live(&self, netlist: &Netlist, breakers: [u8; 2], conditions: &Conditions) -> Live {
        let all_on = conditions.breakers.iter().all(|on| *on == Some(true));
        let [mut can, mut must] = [0, 0];
        for (pole, feed) in [Pole::Line, Pole::OtherLine].into_iter().zip(breakers) {
            let bit = netlist.net_of_pole(pole).map_or(0, |net| 1 << net);
            // Of a feed that nobody named it is not known which breaker it is.
            let on = conditions.breakers.get(usize::from(feed)).copied().unwrap_or(all_on.then_some(true));
            can |= if on == Some(false) { 0 } else { bit };
            must |= if on == Some(true) { bit } else { 0 };
        }
        // With a joint undone a neutral may be live through a lamp.
        let as_found = self.whole && conditions.out.is_empty() && conditions.lifted.is_empty();
        let neutrals = (0..netlist.nets.len()).filter(|&net| netlist.is_neutral(net));
        let dead = if as_found { neutrals.fold(0, |mask, net| mask | 1 << net) } else { 0 };
        let through = self.through(netlist, conditions);
        loop {
            let before = can;
            for nets in through.values().filter(|nets| *nets & before != 0) {
                can |= nets & !dead;
            }
            if can == before {
                let on = conditions.breakers.contains(&Some(true));
                let only = |mask, holds| if holds { mask } else { 0 };
                return Live { can, must: only(must, as_found), dead: only(dead, on) };
            }
        }
    }

    /// For each device that is in place, and each light with a lamp in it, the nets on it.
    fn through(&self, netlist: &Netlist, conditions: &Conditions) -> BTreeMap<DeviceId, Mask> {
        let lamps = self.lights.iter().zip(&conditions.lamps);
        let empty =
            |device| lamps.clone().any(|(light, lamp)| *light == device && *lamp == Some(LampState::Out));
        let mut through: BTreeMap<DeviceId, Mask> = BTreeMap::new();
        for (at, net) in netlist.nets.iter().enumerate() {
            let closed = |device: &DeviceId| !conditions.out.contains(device) && !empty(*device);
            for device in net.terminals.iter().map(|(device, _)| *device).filter(closed) {
                *through.entry(device).or_default() |= 1 << at;
            }
        }
        through
    }
}

/// What nets can be under some conditions.
struct Live {
    /// These may be live, and no others.
    can: Mask,
    /// These are live, joints being as they were found.
    must: Mask,
    /// These are dead, though something is on.
    dead: Mask,
}

impl LevelRead {
    /// The labels that the reading speaks against, the bit past so many nets standing for none: those that nothing which is
    /// open explains, and those of wires that may be behind a failure.
    fn against(&self, live: &Live, nets: usize) -> [Mask; 2] {
        let odd = match self.level {
            _ if !self.firm => 0,
            Level::Supply => !live.can,
            Level::Between => 1 << nets,
            Level::Nothing => 0,
        };
        let must = if self.level == Level::Supply { 0 } else { live.must };
        let dead = if self.level == Level::Nothing { 0 } else { live.dead };
        [odd, must | dead]
    }
}

/// What readings say of the labels of each wire, for one netlist and one choice of breakers.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Carried {
    /// For each wire the labels that are out of the question.
    never: Vec<Mask>,
    /// For each wire, with how many readings each net is at odds, and last carrying none; readings of a joint count for the
    /// first of its wires.
    doubts: Vec<Vec<u8>>,
}

impl Carried {
    /// By some readings of so many wires.
    pub(super) fn new(levels: &Levels, wires: usize, netlist: &Netlist, breakers: [u8; 2]) -> Carried {
        let nets = netlist.nets.len();
        let mut tried = vec![vec![Tried::default(); nets + 1]; wires];
        let mut doubts = vec![vec![0_u8; nets + 1]; wires];
        let most_behind = if levels.failing { BEHIND } else { u8::MAX };
        for (conditions, here) in &levels.all {
            let live = levels.live(netlist, breakers, conditions);
            // A reading that could speak against nothing speaks for nothing.
            for read in here.iter().filter(|read| read.firm || live.must | live.dead != 0) {
                let against = read.against(&live, nets);
                for (nth, &wire) in read.wires.iter().enumerate() {
                    for label in 0..=nets {
                        let [odd, behind] = against.map(|mask| mask >> label & 1 == 1);
                        tried[wire][label].add(odd || (behind && !levels.failing));
                        let most = if odd { u8::MAX } else { most_behind };
                        let doubts = &mut doubts[wire][label];
                        *doubts += u8::from(nth == 0 && (odd || behind) && *doubts < most);
                    }
                }
            }
        }
        let refuted = |of_wire: &Vec<Tried>| {
            let bit = |label: usize| if label == nets { SPARE } else { 1 << label };
            let labels = (0..=nets).filter(|&label| of_wire[label].refuted());
            labels.fold(0, |mask, label| mask | bit(label))
        };
        Carried { never: tried.iter().map(refuted).collect(), doubts }
    }

    /// The labels that readings rule out for a wire.
    pub(super) fn never(&self, wire: WireIndex) -> Mask {
        self.never.get(wire).copied().unwrap_or(0)
    }

    /// With how many readings it is at odds that the wires have these labels.
    pub(super) fn all_doubts(&self, labels: &[u8]) -> usize {
        labels.iter().enumerate().map(|(wire, &label)| self.doubts(wire, label)).sum()
    }

    /// With how many readings it is at odds that a wire has a label.
    pub(super) fn doubts(&self, wire: WireIndex, label: u8) -> usize {
        let Some(of_wire) = self.doubts.get(wire) else { return 0 };
        let none = of_wire.len() - 1;
        match label {
            label if label == Label::GROUND.0 => 0,
            label => usize::from(of_wire[usize::from(label).min(none)]),
        }
    }
}
