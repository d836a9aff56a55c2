//! Landing errors in opened boxes: wirings whose intended joints in one box differ by one slip from those found there.
//!
//! For each box whose joints are facts, wirings are listed as if that box were apart: what each wire carries then says
//! how its joints were meant. Where one slip (two screws exchanged, a wire in another joint or in none) leads from what
//! was meant to what is found, the wiring with that slip is a candidate.

use super::compose;
use super::defect::{Defect, DefectAt};
use super::facts::{Facts, WireIndex};
use super::netlist::Netlist;
use super::pairing::Search;
use super::space::{Collection, Dest, Found, Label};
use super::turning;
use super::weights::Judge;
use crate::house::{Apart, BoxId, DeviceKind, House, LocalPoint};
use crate::knowledge::{DefectName, Knowledge, Pole};
use std::collections::BTreeMap;

/// A box that, taken as apart, leaves more wirings than this is not searched for slips.
const MOST_WIRINGS: usize = 20_000;

/// Nor is one that takes more steps than this.
const MOST_STEPS: u64 = 100_000;

/// Wirings with a slip in one box.
#[derive(Default)]
pub(super) struct Slips {
    /// The wirings; their netlists are counted in `netlists`. A weight is the wiring's factor times the chance of the
    /// slip.
    pub(super) found: Vec<Found>,
    /// The netlists they refer to.
    pub(super) netlists: Vec<Netlist>,
    /// For each family and number of cables that go onward: the sum of factors of all wirings with this box apart.
    pub(super) whole: BTreeMap<(String, usize), f64>,
}

/// The wirings of a house with one slip in the box `at`, which is opened and whole.
pub(super) fn slips(
    house: &House,
    facts: &Facts,
    knowledge: &Knowledge,
    at: BoxId,
    complaint: bool,
) -> Slips {
    let mut apart = house.clone();
    let outlet = &mut apart.boxes[usize::from(at.0)];
    outlet.apart = Apart::All;
    outlet.joints.clear();
    outlet.doubled.clear();
    let free = Facts::new(&apart);
    let netlists = compose::netlists(&apart, &knowledge.schemes, &knowledge.attachments, &|device| {
        super::space::is_fixed(&apart, device)
    });
    let layout = Layout::new(house, facts, at);
    let judge = Judge { facts: &free, knowledge, netlists: &netlists };
    let mut slips = Slips::default();
    let mut families: Vec<&str> = netlists.iter().map(|netlist| netlist.family.as_str()).collect();
    families.dedup();
    for family in families {
        let mut collection = Collection::new(MOST_WIRINGS, MOST_STEPS);
        for (named, netlist) in netlists.iter().enumerate().filter(|(_, n)| n.family == family) {
            Search::new(&apart, &free, netlist, named, 0, &mut collection).run();
        }
        if collection.is_full() {
            continue;
        }
        for found in collection.into_all() {
            let factor = judge.factor(&found.wiring, found.closed);
            let onward = found.wiring.dests.iter().filter(|dest| **dest == Dest::Onward).count();
            *slips.whole.entry((family.to_owned(), onward)).or_default() += factor;
            layout.explain(&netlists[found.wiring.netlist], &found, &mut slips, &|name, count| {
                factor * knowledge.defects.mass(name, complaint) / count as f64
            });
        }
    }
    slips
}

/// One slip: the joint of each point after it is undone.
struct Slip {
    home: Vec<Option<usize>>,
    defect: Defect,
}

/// The joints of a box as found, and every way to undo one slip in them.
struct Layout<'a> {
    house: &'a House,
    facts: &'a Facts,
    at: BoxId,
    points: Vec<LocalPoint>,
    /// The joint of each point.
    home: Vec<Option<usize>>,
    slips: Vec<Slip>,
    /// How many slips of each name there are.
    counts: BTreeMap<DefectName, usize>,
}

impl<'a> Layout<'a> {
    fn new(house: &'a House, facts: &'a Facts, at: BoxId) -> Layout<'a> {
        let outlet = house.outlet(at);
        let wires = house.wires().filter(|wire| house.end(wire.end).at == at).map(LocalPoint::Wire);
        let terminals = outlet.devices.iter().flat_map(|&device| {
            house.device(device).terminals().into_iter().map(move |t| LocalPoint::Terminal(device, t))
        });
        let points: Vec<LocalPoint> = wires.chain(terminals).collect();
        let joint = |point: &LocalPoint| outlet.joints.iter().position(|j| j.points.contains(point));
        let home = points.iter().map(joint).collect();
        let mut layout =
            Layout { house, facts, at, points, home, slips: Vec::new(), counts: BTreeMap::new() };
        layout.list_slips();
        for slip in &layout.slips {
            *layout.counts.entry(slip.defect.what).or_default() += 1;
        }
        layout
    }

    fn list_slips(&mut self) {
        let mut slips = Vec::new();
        for one in 0..self.points.len() {
            for other in one + 1..self.points.len() {
                slips.extend(self.exchanged(one, other));
            }
            slips.extend(self.moved(one));
        }
        self.slips = slips;
    }

    /// Two screws of one device exchanged, with all that is on them.
    fn exchanged(&self, one: usize, other: usize) -> Option<Slip> {
        let (LocalPoint::Terminal(device, t), LocalPoint::Terminal(same, u)) =
            (self.points[one], self.points[other])
        else {
            return None;
        };
        let renames_only = super::netlist::automorphisms(self.house.device(device).kind).iter().any(|turn| {
            turn.iter().all(|&(from, to)| {
                to == if from == t {
                    u
                } else if from == u {
                    t
                } else {
                    from
                }
            })
        });
        if device != same || renames_only || self.home[one] == self.home[other] {
            return None;
        }
        let mut home = self.home.clone();
        home.swap(one, other);
        let what = if self.house.device(device).kind == DeviceKind::FourWay {
            DefectName::PairsCrossed
        } else {
            DefectName::SwappedLanding
        };
        let detail = vec![self.points[one], self.points[other]];
        Some(Slip { home, defect: Defect { what, at: DefectAt::Device(device), detail } })
    }

    /// A wire moved to another joint, out of every joint, or together with a wire that is in none.
    fn moved(&self, one: usize) -> Vec<Slip> {
        let LocalPoint::Wire(_) = self.points[one] else { return Vec::new() };
        let joints = self.house.outlet(self.at).joints.len();
        let loose = (0..self.points.len()).filter(|&p| p != one && self.home[p].is_none());
        let to_joint = (0..joints).filter(|&joint| self.home[one] != Some(joint)).map(|joint| {
            let mut home = self.home.clone();
            home[one] = Some(joint);
            home
        });
        let to_loose = loose.map(|other| {
            let mut home = self.home.clone();
            home[one] = Some(joints);
            home[other] = Some(joints);
            home
        });
        let out = self.home[one].map(|_| {
            let mut home = self.home.clone();
            home[one] = None;
            home
        });
        let slip = |home: Vec<Option<usize>>| {
            let defect = self.name(one, &home);
            Slip { home, defect }
        };
        to_joint.chain(to_loose).chain(out).map(slip).collect()
    }

    /// What it is called that a wire is where it is and not where `home` has it.
    fn name(&self, wire: usize, home: &[Option<usize>]) -> Defect {
        let screw_in = |joint: Option<usize>| {
            let here = |p: &usize| joint.is_some() && self.home[*p] == joint;
            (0..self.points.len()).filter(here).find_map(|p| match self.points[p] {
                LocalPoint::Terminal(device, _) => Some((device, self.points[p])),
                _ => None,
            })
        };
        let is_ground = match self.points[wire] {
            LocalPoint::Wire(w) => self.facts.wires[self.facts.index(w)].ground,
            _ => false,
        };
        let found_on = screw_in(self.home[wire]);
        let meant_for = screw_in(home[wire]);
        let (what, device) = match (self.home[wire], found_on, meant_for) {
            _ if is_ground => (DefectName::GroundAsNeutral, None),
            (None, _, _) => (DefectName::LeftOut, None),
            (_, Some((device, _)), _) | (_, None, Some((device, _))) => {
                (DefectName::WrongScrew, Some(device))
            }
            _ => (DefectName::WrongSplice, None),
        };
        let screw = found_on.map(|(_, point)| point);
        let detail = std::iter::once(self.points[wire]).chain(screw).collect();
        Defect { what, at: device.map_or(DefectAt::Box(self.at), DefectAt::Device), detail }
    }

    /// Adds what one slip makes of a wiring that was listed with this box apart.
    fn explain(
        &self,
        netlist: &Netlist,
        found: &Found,
        slips: &mut Slips,
        weight: &dyn Fn(DefectName, usize) -> f64,
    ) {
        let devices = &self.house.outlet(self.at).devices;
        for turned in turning::every_turn(self.house, netlist, devices) {
            let meant: Vec<Option<u8>> =
                self.points.iter().map(|&point| self.meant(&turned, found, point)).collect();
            if self.is_sound(&turned, found, &meant, &self.home) {
                return;
            }
            let mut at = None;
            for slip in &self.slips {
                if !self.is_sound(&turned, found, &meant, &slip.home) {
                    continue;
                }
                let number = *at.get_or_insert_with(|| numbered(&mut slips.netlists, &turned));
                let mut one = found.clone();
                one.wiring.netlist = number;
                one.wiring.weight = weight(slip.defect.what, self.counts[&slip.defect.what]);
                one.wiring.defects = vec![slip.defect.clone()];
                slips.found.push(one);
            }
        }
    }

    /// What a point was meant to carry.
    fn meant(&self, netlist: &Netlist, found: &Found, point: LocalPoint) -> Option<u8> {
        match point {
            LocalPoint::Wire(wire) => Some(found.wiring.labels[self.facts.index(wire)].0),
            LocalPoint::Terminal(device, terminal) => netlist.net_of(device, terminal).map(|net| net as u8),
            LocalPoint::Metal(_) => None,
        }
    }

    /// Whether joints do what every point is meant for: one net a joint, no point that needs a joint without, each net
    /// a tree (the neutral may close a ring).
    fn is_sound(
        &self,
        netlist: &Netlist,
        found: &Found,
        meant: &[Option<u8>],
        home: &[Option<usize>],
    ) -> bool {
        let pole = |pole| netlist.net_of_pole(pole).map(|net| net as u8);
        let (line, neutral) = (pole(Pole::Line), pole(Pole::Neutral));
        let may_end = |label: Option<u8>| label == line || label == neutral || label >= Some(Label::SPARE.0);
        let served = |p: usize| {
            let LocalPoint::Terminal(device, terminal) = self.points[p] else { return false };
            netlist.linked(device, terminal).is_some_and(|other| {
                let twin = LocalPoint::Terminal(device, other);
                self.points.iter().zip(home).any(|(point, home)| *point == twin && home.is_some())
            })
        };
        let mut of_joint: BTreeMap<usize, Option<u8>> = BTreeMap::new();
        for (p, (&meant, &home)) in meant.iter().zip(home).enumerate() {
            let terminal = matches!(self.points[p], LocalPoint::Terminal(..));
            let fits = match home {
                Some(joint) => *of_joint.entry(joint).or_insert(meant) == meant,
                None if terminal => meant.is_none() || served(p),
                None => may_end(meant),
            };
            if !fits {
                return false;
            }
        }
        let shapes = |net: usize| {
            let (pieces, rings) = self.shape(found, home, Label(net as u8));
            pieces <= 1 && (rings == 0 || neutral == Some(net as u8))
        };
        (0..netlist.nets.len()).all(shapes)
    }

    /// The pieces a net falls into, and how many rings it closes.
    fn shape(&self, found: &Found, home: &[Option<usize>], label: Label) -> (usize, usize) {
        let groups = usize::from(found.walls.groups);
        let others = self.facts.joints.len();
        let here = self.points.len() + 1;
        let mut graph = Pieces::new(groups + others + here);
        let wires = self.facts.wires.iter().enumerate().filter(|(w, _)| found.wiring.labels[*w] == label);
        for (wire, fact) in wires {
            let group = usize::from(found.walls.wires[wire]);
            graph.take(group);
            let joint = if fact.at == self.at {
                self.home_of(wire, home).map(|j| groups + others + j)
            } else {
                fact.joint.map(|j| groups + j)
            };
            joint.iter().for_each(|&joint| graph.link(group, joint));
        }
        graph.shape()
    }

    fn home_of(&self, wire: WireIndex, home: &[Option<usize>]) -> Option<usize> {
        let same = |point: &LocalPoint| matches!(point, LocalPoint::Wire(w) if self.facts.index(*w) == wire);
        self.points.iter().position(same).and_then(|p| home[p])
    }
}

fn numbered(netlists: &mut Vec<Netlist>, netlist: &Netlist) -> usize {
    netlists.iter().position(|other| other == netlist).unwrap_or_else(|| {
        netlists.push(netlist.clone());
        netlists.len() - 1
    })
}

/// Nodes that hang together.
struct Pieces {
    parent: Vec<usize>,
    used: Vec<bool>,
    rings: usize,
}

impl Pieces {
    fn new(nodes: usize) -> Pieces {
        Pieces { parent: (0..nodes).collect(), used: vec![false; nodes], rings: 0 }
    }

    fn take(&mut self, node: usize) {
        self.used[node] = true;
    }

    fn root(&self, mut node: usize) -> usize {
        while self.parent[node] != node {
            node = self.parent[node];
        }
        node
    }

    fn link(&mut self, one: usize, other: usize) {
        self.take(one);
        self.take(other);
        let (a, b) = (self.root(one), self.root(other));
        self.rings += usize::from(a == b);
        self.parent[a] = b;
    }

    /// Pieces and rings.
    fn shape(&self) -> (usize, usize) {
        let roots = (0..self.parent.len()).filter(|&node| self.used[node] && self.parent[node] == node);
        (roots.count(), self.rings)
    }
}
