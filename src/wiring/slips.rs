//! The joints of one box as found, and every slip that may have led to them.

use super::defect::{Defect, DefectAt};
use super::facts::Facts;
use super::netlist::automorphisms;
use crate::house::{BoxId, DeviceId, DeviceKind, House, LocalPoint, Terminal};
use crate::knowledge::DefectName;
use std::collections::{BTreeMap, BTreeSet};

/// For each point of a box the joint it is in.
pub(super) type Homes = Vec<Option<usize>>;

/// One slip: the joint of each point after it is undone.
#[derive(PartialEq)]
pub(super) struct Slip {
    pub(super) home: Homes,
    pub(super) defect: Defect,
    /// How likely it is beside others of its name.
    weight: f64,
}

/// Two wires exchanged, beside one that was moved: that takes two hands' turns. A judgement, common practice, no source.
const EXCHANGED: f64 = 0.2;

/// And two wires of one cable: mostly it is a cable whose colours nobody kept to. A judgement as well.
const REVERSED: f64 = 0.02;

/// A device where another belongs: the joints as they would be with the other.
pub(super) struct Exchange {
    /// What belongs there.
    pub(super) kind: DeviceKind,
    pub(super) device: DeviceId,
    pub(super) joints: Vec<Vec<LocalPoint>>,
    pub(super) defect: Defect,
}

/// The joints of a box as found, and every way to undo one slip in them.
pub(super) struct Layout<'a> {
    pub(super) house: &'a House,
    pub(super) facts: &'a Facts,
    pub(super) at: BoxId,
    pub(super) points: Vec<LocalPoint>,
    /// The joint of each point.
    pub(super) home: Homes,
    pub(super) slips: Vec<Slip>,
    /// What the slips of each name weigh together.
    weights: BTreeMap<DefectName, f64>,
}

/// Joints numbered in the order in which points are in them: equal where the same points are joined.
fn numbered(home: &[Option<usize>]) -> Homes {
    let mut known: Vec<usize> = Vec::new();
    let mut number = |joint: usize| {
        known.iter().position(|other| *other == joint).unwrap_or_else(|| {
            known.push(joint);
            known.len() - 1
        })
    };
    home.iter().map(|joint| joint.map(&mut number)).collect()
}

impl<'a> Layout<'a> {
    pub(super) fn new(house: &'a House, facts: &'a Facts, at: BoxId) -> Layout<'a> {
        let outlet = house.outlet(at);
        let wires = house.wires().filter(|wire| house.end(wire.end).at == at).map(LocalPoint::Wire);
        let terminals = outlet.devices.iter().flat_map(|&device| {
            house.device(device).terminals().into_iter().map(move |t| LocalPoint::Terminal(device, t))
        });
        let points: Vec<LocalPoint> = wires.chain(terminals).collect();
        let joint = |point: &LocalPoint| outlet.joints.iter().position(|j| j.points.contains(point));
        let home = points.iter().map(joint).collect();
        let mut layout =
            Layout { house, facts, at, points, home, slips: Vec::new(), weights: BTreeMap::new() };
        layout.list_slips();
        for slip in &layout.slips {
            *layout.weights.entry(slip.defect.what).or_default() += slip.weight;
        }
        layout
    }

    /// The share of a slip in what slips of its name weigh.
    pub(super) fn share(&self, slip: &Slip) -> f64 {
        slip.weight / self.weights[&slip.defect.what]
    }

    fn list_slips(&mut self) {
        let mut slips = Vec::new();
        for one in 0..self.points.len() {
            for other in one + 1..self.points.len() {
                slips.extend(self.exchanged(one, other));
            }
            slips.extend(self.moved(one));
        }
        // The same joints come of an exchange of two others too.
        let mut known: BTreeSet<Homes> = slips.iter().map(|slip: &Slip| numbered(&slip.home)).collect();
        for one in 0..self.points.len() {
            let with = (one + 1..self.points.len()).filter_map(|other| self.wires_exchanged(one, other));
            slips.extend(with.filter(|slip| known.insert(numbered(&slip.home))));
        }
        self.slips = slips;
    }

    /// Two wires, each in the other's joint: in two splices, or in one and under a screw.
    fn wires_exchanged(&self, one: usize, other: usize) -> Option<Slip> {
        let is_wire =
            |p: usize| matches!(self.points[p], LocalPoint::Wire(_)) && !self.is_ground(self.points[p]);
        let on_screw = |p: usize| {
            let here = |q: &usize| self.home[*q] == self.home[p];
            (0..self.points.len()).filter(here).any(|q| matches!(self.points[q], LocalPoint::Terminal(..)))
        };
        let apart =
            self.home[one].is_some() && self.home[other].is_some() && self.home[one] != self.home[other];
        if !apart || !is_wire(one) || !is_wire(other) || (on_screw(one) && on_screw(other)) {
            return None;
        }
        let mut home = self.home.clone();
        home.swap(one, other);
        let (first, second) = if on_screw(other) { (other, one) } else { (one, other) };
        let mut defect = self.name(first, &home);
        defect.detail.push(self.points[second]);
        let of_one_cable = match (self.points[one], self.points[other]) {
            (LocalPoint::Wire(one), LocalPoint::Wire(other)) => one.end == other.end,
            _ => false,
        };
        let weight = if of_one_cable { REVERSED } else { EXCHANGED };
        Some(Slip { home, defect, weight })
    }

    /// Two screws exchanged, with all that is on them.
    fn exchanged(&self, one: usize, other: usize) -> Option<Slip> {
        let (LocalPoint::Terminal(device, t), LocalPoint::Terminal(second, u)) =
            (self.points[one], self.points[other])
        else {
            return None;
        };
        if device != second {
            return self.exchanged_between(one, other);
        }
        let marked = self.house.device(device).marked;
        let renames_only = marked
            && automorphisms(self.house.device(device).kind).iter().any(|turn| {
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
        // A lamp does not care which way round it is lit; whoever changes it does.
        let renames_only = renames_only && !self.house.device(device).kind.is_light();
        if renames_only || self.home[one] == self.home[other] {
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
        Some(Slip { home, defect: Defect { what, at: DefectAt::Device(device), detail }, weight: 1.0 })
    }

    /// Wires on screws of two switches, each on the other's.
    fn exchanged_between(&self, one: usize, other: usize) -> Option<Slip> {
        let on_switch = |p: usize| match self.points[p] {
            LocalPoint::Terminal(device, _) => self.house.device(device).kind.is_switch(),
            _ => false,
        };
        let apart =
            self.home[one].is_some() && self.home[other].is_some() && self.home[one] != self.home[other];
        if !apart || !on_switch(one) || !on_switch(other) {
            return None;
        }
        let mut home = self.home.clone();
        home.swap(one, other);
        let detail = vec![self.points[one], self.points[other]];
        let defect = Defect { what: DefectName::SwappedLanding, at: DefectAt::Box(self.at), detail };
        Some(Slip { home, defect, weight: 1.0 })
    }

    /// A wire, or a lead or screw among other points, moved to another joint, out of every joint, or together with a
    /// point that is in none.
    fn moved(&self, one: usize) -> Vec<Slip> {
        // A screw with one wire on it is moved by moving the wire.
        let others = |p: &usize| *p != one && self.home[*p].is_some() && self.home[*p] == self.home[one];
        let is_wire = matches!(self.points[one], LocalPoint::Wire(_));
        let company = self.home[one].map_or(0, |joint| {
            let metal = |point: &&LocalPoint| matches!(point, LocalPoint::Metal(_));
            (0..self.points.len()).filter(others).count()
                + self.house.outlet(self.at).joints[joint].points.iter().filter(metal).count()
        });
        if !is_wire && company == 1 {
            return Vec::new();
        }
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
        let out = self.home[one].filter(|_| is_wire).map(|_| {
            let mut home = self.home.clone();
            home[one] = None;
            home
        });
        let slip = |home: Homes| {
            let defect = self.name(one, &home);
            Slip { home, defect, weight: 1.0 }
        };
        to_joint.chain(to_loose).chain(out).map(slip).collect()
    }

    /// What it is called that a point is where it is and not where `home` has it.
    fn name(&self, one: usize, home: &[Option<usize>]) -> Defect {
        let screw_with = |homes: &[Option<usize>]| {
            let joint = homes[one];
            let here = |p: &usize| *p != one && joint.is_some() && homes[*p] == joint;
            (0..self.points.len()).filter(here).find_map(|p| match self.points[p] {
                LocalPoint::Terminal(device, _) => Some((device, self.points[p])),
                _ => None,
            })
        };
        let grounds = |joint: Option<usize>| {
            let here = |p: usize| joint.is_some() && self.home[p] == joint;
            (0..self.points.len())
                .find(|&p| here(p) && self.is_ground(self.points[p]))
                .map(|p| self.points[p])
        };
        let found_on = screw_with(&self.home);
        let meant_for = screw_with(home);
        let is_screw = matches!(self.points[one], LocalPoint::Terminal(..));
        let ground = grounds(self.home[one]).filter(|_| is_screw);
        let (what, device) = match (self.home[one], found_on, meant_for) {
            _ if self.is_ground(self.points[one]) || ground.is_some() => (DefectName::GroundAsNeutral, None),
            (None, _, _) => (DefectName::LeftOut, None),
            _ if is_screw => (DefectName::WrongSplice, None),
            (_, Some((device, _)), _) | (_, None, Some((device, _))) => {
                (DefectName::WrongScrew, Some(device))
            }
            _ => (DefectName::WrongSplice, None),
        };
        let other = found_on.map(|(_, point)| point).filter(|_| !is_screw);
        let detail = ground.into_iter().chain([self.points[one]]).chain(other).collect();
        Defect { what, at: device.map_or(DefectAt::Box(self.at), DefectAt::Device), detail }
    }

    fn is_ground(&self, point: LocalPoint) -> bool {
        matches!(point, LocalPoint::Wire(wire) if self.facts.wires[self.facts.index(wire)].ground)
    }

    /// The joints of the box once a slip is undone.
    pub(super) fn mended(&self, home: &[Option<usize>]) -> Vec<Vec<LocalPoint>> {
        let found = &self.house.outlet(self.at).joints;
        let metal = |joint: usize| {
            let points = found.get(joint).map_or(&[][..], |joint| &joint.points);
            points.iter().copied().filter(|point| matches!(point, LocalPoint::Metal(_))).collect()
        };
        let mut joints: Vec<Vec<LocalPoint>> = (0..=found.len()).map(metal).collect();
        for (&point, home) in self.points.iter().zip(home) {
            home.iter().for_each(|&joint| joints[joint].push(point));
        }
        joints.retain(|points| points.len() > 1);
        joints
    }

    /// Every way in which another kind of switch may have sat where one sits now. Its screws hold what the screws found
    /// hold, or wires that were found capped.
    pub(super) fn exchanges(&self) -> Vec<Exchange> {
        let devices = self.house.outlet(self.at).devices.iter().filter(|&&d| self.house.device(d).marked);
        let of = |&device: &DeviceId| {
            let others = others_of(self.house.device(device).kind);
            others.iter().flat_map(move |&kind| self.with_kind(device, kind))
        };
        devices.flat_map(of).collect()
    }

    fn with_kind(&self, device: DeviceId, kind: DeviceKind) -> Vec<Exchange> {
        let is_its = |point: &LocalPoint| matches!(point, LocalPoint::Terminal(d, _) if *d == device);
        let others = |points: Vec<LocalPoint>| points.into_iter().filter(|point| !is_its(point)).collect();
        let (on_it, rest): (Vec<_>, Vec<_>) =
            self.mended(&self.home).into_iter().partition(|points| points.iter().any(is_its));
        let held: Vec<Vec<LocalPoint>> = on_it.into_iter().map(others).collect();
        let capped = self.points.iter().zip(&self.home).filter(|(point, home)| {
            home.is_none() && matches!(point, LocalPoint::Wire(_)) && !self.is_ground(**point)
        });
        // A splice may have lost the lead to a screw that the found device does not have.
        let is_wire = |p: &LocalPoint| matches!(p, LocalPoint::Wire(_)) && !self.is_ground(*p);
        let splices: Vec<usize> = (0..rest.len()).filter(|&at| rest[at].iter().all(is_wire)).collect();
        let capped: Vec<Vec<LocalPoint>> = capped.map(|(point, _)| vec![*point]).collect();
        let first_splice = held.len() + capped.len();
        let free: Vec<Option<Vec<LocalPoint>>> = held
            .iter()
            .chain(&capped)
            .chain(splices.iter().map(|&at| &rest[at]))
            .cloned()
            .map(Some)
            .chain(std::iter::repeat_n(None, kind.terminals().len()))
            .collect();
        let turns = automorphisms(kind);
        let terminals = kind.terminals();
        let mut known = BTreeSet::new();
        let mut all = Vec::new();
        for places in chosen(free.len(), terminals.len()) {
            // Every wire found on the device has its screw, and ways that only turn it are one.
            let kept = (0..held.len()).all(|at| places.contains(&at));
            let least =
                turns.iter().map(|turn| turned(terminals, turn, &places, free.len() - terminals.len()));
            if !kept || !known.insert(least.min()) {
                continue;
            }
            let screw = |(&at, &t): (&usize, &Terminal)| {
                free[at].as_ref().map(|held| [held.as_slice(), &[LocalPoint::Terminal(device, t)]].concat())
            };
            let led_off = |at: &usize| {
                let splice = splices.iter().position(|splice| splice == at);
                splice.is_some_and(|nth| places.contains(&(first_splice + nth)))
            };
            let left = (0..rest.len()).filter(|at| !led_off(at)).map(|at| rest[at].clone());
            let joints = left.chain(places.iter().zip(terminals).filter_map(screw)).collect();
            let defect =
                Defect { what: DefectName::WrongDevice, at: DefectAt::Device(device), detail: Vec::new() };
            all.push(Exchange { kind, device, joints, defect });
        }
        all
    }
}

/// The kinds of switch that one of this kind may have been put in for.
fn others_of(found: DeviceKind) -> &'static [DeviceKind] {
    use DeviceKind::{DoublePole, FourWay, SinglePole, ThreeWay};
    match found {
        SinglePole => &[ThreeWay],
        ThreeWay => &[SinglePole, FourWay],
        FourWay => &[ThreeWay],
        DoublePole => &[FourWay],
        _ => &[],
    }
}

/// Every way to choose so many of some items, in order.
fn chosen(items: usize, count: usize) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for _ in 0..count {
        let more = |before: &Vec<usize>| {
            let left = (0..items).filter(|item| !before.contains(item));
            left.map(|item| [before.as_slice(), &[item]].concat()).collect::<Vec<_>>()
        };
        all = all.iter().flat_map(more).collect();
    }
    all
}

/// What is on each terminal of a device once it is turned; empty screws are alike.
fn turned(
    terminals: &[Terminal],
    turn: &[(Terminal, Terminal)],
    places: &[usize],
    empty: usize,
) -> Vec<usize> {
    let on = |terminal: Terminal| {
        let to = turn.iter().find(|(from, _)| *from == terminal).map_or(terminal, |(_, to)| *to);
        terminals.iter().position(|t| *t == to).map_or(empty, |at| places[at].min(empty))
    };
    terminals.iter().map(|&terminal| on(terminal)).collect()
}
