//! What can have failed behind plaster and plates: each likely wiring with one failure more.

use super::beyond;
use super::defect::{Defect, DefectAt, FarSide, Fault};
use super::facts::{Facts, FixedJoint, WireIndex};
use super::space::{Dest, Rows, Space, Wiring};
use super::walls::{Group, Walls};
use crate::house::{DeviceId, DeviceKind, EndId, House, LocalPoint, Terminal, WireId};
use crate::knowledge::DefectName;
use std::collections::{BTreeMap, BTreeSet};

/// Ohms that a bad joint is taken to have: a lamp goes dim through the one and dark through the other.
const BAD_JOINT: [u32; 2] = [300, 3000];

/// Ohms of what else may hang on a circuit that has lost its neutral.
const OTHER_LOADS: [u32; 2] = [40, 1000];

/// How likely something is before anything was read.
pub struct Chances<'a> {
    /// A failure of some kind, anywhere.
    pub failure: &'a dyn Fn(DefectName) -> f64,
    /// A cable that goes on from a box nobody has opened.
    pub onward: f64,
}

impl Space {
    /// The `likely` rows of the space, each as it is and with each failure that reaches far; some rows, the `parents`, with one
    /// failure added in every way; and rows with more defects than that, as they are. Wirings that had `already` so many
    /// defects get one more. What goes on from boxes that are shut is thought of as well: it is no failure, but shows as rarely.
    pub fn with_faults(
        &self,
        house: &House,
        facts: &Facts,
        chances: &Chances,
        likely: &BTreeSet<usize>,
        parents: &[usize],
        already: usize,
    ) -> Space {
        let mut rows = Rows::default();
        for (row, parent) in self.rows.iter().enumerate() {
            let near = parents.contains(&row);
            let tried = near || likely.contains(&row);
            // A landing error may be what explains the readings, however rare it is.
            if tried || parent.wirings.iter().any(|wiring| wiring.defects.len() > already) {
                rows.of(parent.walls.clone()).extend(parent.wirings.iter().cloned());
            }
            if !tried {
                continue;
            }
            if near {
                for wiring in &parent.wirings {
                    let unseen =
                        beyond::unseen(house, facts, &self.netlists[wiring.netlist], &parent.walls, wiring);
                    let weight = wiring.weight * chances.onward / unseen.len().max(1) as f64;
                    for walls in unseen {
                        rows.of(walls).push(Wiring { weight, ..wiring.clone() });
                    }
                }
            }
            // Whether a run goes straight from box to box or through a dark one says which wires there are to break.
            let mut by_runs: BTreeMap<Runs, Vec<&Wiring>> = BTreeMap::new();
            for wiring in parent.wirings.iter().filter(|wiring| wiring.defects.len() == already) {
                by_runs.entry(runs(wiring)).or_default().push(wiring);
            }
            for (runs, wirings) in by_runs {
                let failures = Failures { house, facts, walls: &parent.walls, runs };
                let failures = if near { failures.all() } else { failures.far_reaching() };
                let mut counts: BTreeMap<DefectName, f64> = BTreeMap::new();
                failures.iter().for_each(|(defect, _)| *counts.entry(defect.what).or_default() += 1.0);
                for (defect, walls) in failures {
                    let chance = (chances.failure)(defect.what) / counts[&defect.what];
                    let others = wirings.iter().filter(|wiring| !wiring.defects.contains(&defect));
                    let failed = others.map(|wiring| Wiring {
                        weight: wiring.weight * chance,
                        defects: wiring.defects.iter().chain([&defect]).cloned().collect(),
                        ..(*wiring).clone()
                    });
                    rows.of(walls).extend(failed);
                }
            }
        }
        let rows = rows.sorted(&self.netlists);
        Space { netlists: self.netlists.clone(), rows, sound: self.sound.clone(), ..*self }
    }
}

/// For each cable end the other end of its run, where that was seen as well.
type Runs = Vec<Option<EndId>>;

fn runs(wiring: &Wiring) -> Runs {
    let seen = |dest: &Dest| match dest {
        Dest::End(end) => Some(*end),
        _ => None,
    };
    wiring.dests.iter().map(seen).collect()
}

/// The failures that some walls can have.
struct Failures<'a> {
    house: &'a House,
    facts: &'a Facts,
    walls: &'a Walls,
    runs: Runs,
}

impl Failures<'_> {
    /// Each failure with the walls it leaves.
    fn all(&self) -> Vec<(Defect, Walls)> {
        let mut all = Vec::new();
        for (id, wire) in self.house.wires().zip(0..) {
            all.extend(self.at_joint(id, wire));
            all.extend(self.not_in(id, wire));
            all.extend(self.broken(id, wire));
            all.extend(self.touching(id, wire));
            all.extend(self.on_metal(id, wire));
        }
        all.extend(self.at_devices());
        all.extend(self.swapped_in_the_dark());
        all.extend(self.touching_in_the_dark());
        all.extend(self.far_reaching());
        all
    }

    /// Failures behind which every reading looks different: nothing says which wirings come near. Those of the feed, and tabs
    /// that make one net of two.
    fn far_reaching(&self) -> Vec<(Defect, Walls)> {
        let mut all = self.of_feed();
        let receptacles = self.house.device_ids().filter(|at| !self.house.device(*at).kind.is_switch());
        for device in receptacles.filter(|at| !self.house.device(*at).kind.is_light()) {
            all.push(self.at_device(device, DefectName::Tab, Fault::Tab(device)));
        }
        all
    }

    /// Failures where the feed comes in.
    fn of_feed(&self) -> Vec<(Defect, Walls)> {
        let lost = self.lost_neutral();
        let pulled_up = |ohms| {
            let pulled_up = lost.with_fault(Fault::PulledUp(self.walls.neutral, ohms));
            (at_feed(DefectName::LostNeutral), pulled_up)
        };
        let mut all: Vec<(Defect, Walls)> = OTHER_LOADS.into_iter().map(pulled_up).collect();
        all.push((at_feed(DefectName::LostNeutral), lost));
        all.push((at_feed(DefectName::WrongBreaker), self.walls.with_fault(Fault::WrongBreaker)));
        all.push((at_feed(DefectName::ReversedFeed), self.reversed()));
        all
    }

    /// A wire that does not touch the joint it lies in, or touches it badly. Of two wires in one joint nothing tells which it
    /// is: the first stands for both.
    fn at_joint(&self, id: WireId, wire: WireIndex) -> Vec<(Defect, Walls)> {
        let fact = &self.facts.wires[wire];
        let Some(joint) = fact.joint.filter(|_| !fact.free).map(|joint| &self.facts.joints[joint]) else {
            return Vec::new();
        };
        let detail = match joint.wires.as_slice() {
            &[first, second] if joint.terminals.is_empty() => {
                if wire == second {
                    return Vec::new();
                }
                [first, second].map(|wire| LocalPoint::Wire(self.facts.id(wire))).to_vec()
            }
            _ => vec![LocalPoint::Wire(id)],
        };
        let defect = |what| Defect { what, at: DefectAt::Box(fact.at), detail: detail.clone() };
        let open = (defect(DefectName::OpenSplice), self.walls.with_fault(Fault::OpenSplice(wire)));
        let bad = BAD_JOINT
            .map(|ohms| (defect(DefectName::BadJoint), self.walls.with_fault(Fault::BadJoint(wire, ohms))));
        std::iter::once(open).chain(bad).collect()
    }

    /// A wire that is in none of the joints nobody sees, or does not touch the one it lies in, where it belongs in one.
    fn not_in(&self, id: WireId, wire: WireIndex) -> Vec<(Defect, Walls)> {
        let holds = |joint: &FixedJoint| joint.wires.contains(&wire);
        if !self.facts.wires[wire].hidden || !self.walls.hidden.iter().any(holds) {
            return Vec::new();
        }
        let mut walls = self.walls.clone();
        walls.hidden.iter_mut().for_each(|joint| joint.wires.retain(|other| *other != wire));
        walls.hidden.retain(|joint| joint.wires.len() + joint.terminals.len() > 1);
        let at = DefectAt::Box(self.facts.wires[wire].at);
        let named = |what| Defect { what, at, detail: vec![LocalPoint::Wire(id)] };
        // No reading tells the two.
        [DefectName::LeftOut, DefectName::OpenSplice].map(|what| (named(what), walls.clone())).to_vec()
    }

    /// A wire broken on its way.
    fn broken(&self, id: WireId, wire: WireIndex) -> Option<(Defect, Walls)> {
        let group = self.walls.wires[wire];
        let alone = self.walls.members(group) < 2;
        let pair = self.walls.members(group) == 2 && self.is_far_end(id.end);
        // The neutral broken on its way to the panel has a name of its own.
        let lost = group == self.walls.neutral && self.walls.members(group) == 2;
        if alone || pair || lost {
            return None;
        }
        let mut walls = self.walls.clone();
        walls.wires[wire] = walls.new_group();
        let far = match self.other_end(id.end) {
            Some(end) => {
                let there = self.facts.ends[usize::from(end.0)].wires();
                there.into_iter().find(|&far| walls.wires[far] == group).map(FarSide::Seen)
            }
            None => Some(FarSide::Dark(group)),
        };
        walls.faults.extend(far.map(|far| Fault::Broken(wire, far)));
        let detail = vec![LocalPoint::Wire(id)];
        Some((Defect { what: DefectName::OpenWire, at: DefectAt::End(id.end), detail }, walls))
    }

    /// Whether an end is the second of a cable that was seen at both: the first stands for both.
    fn is_far_end(&self, end: EndId) -> bool {
        self.other_end(end).is_some_and(|first| first < end)
    }

    fn other_end(&self, end: EndId) -> Option<EndId> {
        self.runs.get(usize::from(end.0)).copied().flatten()
    }

    /// A wire that touches another of its cable.
    fn touching(&self, id: WireId, wire: WireIndex) -> Vec<(Defect, Walls)> {
        if self.is_far_end(id.end) {
            return Vec::new();
        }
        let end = &self.facts.ends[usize::from(id.end.0)];
        let others = (wire + 1..end.first + end.count)
            .filter(|&other| self.walls.wires[wire] != self.walls.wires[other]);
        others
            .map(|other| {
                let mut walls = self.walls.clone();
                walls.merge(walls.wires[wire], walls.wires[other]);
                let detail = vec![LocalPoint::Wire(id), LocalPoint::Wire(self.facts.id(other))];
                (Defect { what: DefectName::Short, at: DefectAt::End(id.end), detail }, walls)
            })
            .collect()
    }

    /// A wire that touches the metal of its box.
    fn on_metal(&self, id: WireId, wire: WireIndex) -> Option<(Defect, Walls)> {
        let fact = &self.facts.wires[wire];
        let detail = vec![LocalPoint::Wire(id)];
        let defect = Defect { what: DefectName::LiveMetal, at: DefectAt::Box(fact.at), detail };
        (!fact.ground).then(|| (defect, self.walls.with_fault(Fault::LiveMetal(fact.at, wire))))
    }

    fn at_devices(&self) -> Vec<(Defect, Walls)> {
        let mut all = Vec::new();
        for device in self.house.device_ids() {
            let kind = self.house.device(device).kind;
            let mut add = |what, fault| all.push(self.at_device(device, what, fault));
            if kind.is_switch() {
                for thrown in [false, true] {
                    add(DefectName::DeadThrow, Fault::DeadThrow(device, thrown));
                    add(DefectName::Stuck, Fault::Stuck(device, thrown));
                }
            } else if kind.is_light() {
                add(DefectName::LampOut, Fault::LampOut(device));
                add(DefectName::LampOut, Fault::LightOff(device));
            }
        }
        all
    }

    fn at_device(&self, device: DeviceId, what: DefectName, fault: Fault) -> (Defect, Walls) {
        let defect = Defect { what, at: DefectAt::Device(device), detail: Vec::new() };
        (defect, self.walls.with_fault(fault))
    }

    /// Wires on each other's screws at a switch nobody has looked at.
    fn swapped_in_the_dark(&self) -> Vec<(Defect, Walls)> {
        let mut all = Vec::new();
        for (at, dark) in self.walls.devices.iter().enumerate() {
            let swaps: &[(usize, usize)] = match dark.kind {
                DeviceKind::ThreeWay => &[(0, 1), (0, 2)],
                DeviceKind::FourWay => &[(1, 2), (0, 2)],
                _ => &[],
            };
            for &(one, other) in swaps {
                let mut walls = self.walls.clone();
                walls.devices[at].groups.swap(one, other);
                let terminals = dark.kind.terminals();
                let point = |t: Terminal| LocalPoint::Terminal(dark.device, t);
                let what = if dark.kind == DeviceKind::FourWay {
                    DefectName::PairsCrossed
                } else {
                    DefectName::SwappedLanding
                };
                let detail = vec![point(terminals[one]), point(terminals[other])];
                all.push((Defect { what, at: DefectAt::Device(dark.device), detail }, walls));
            }
        }
        all
    }

    /// Wires that touch where nobody has looked: at a light, and where the feed comes in.
    fn touching_in_the_dark(&self) -> Vec<(Defect, Walls)> {
        let short = |at, [one, other]: [Group; 2]| {
            let mut walls = self.walls.clone();
            walls.merge(one, other);
            (Defect { what: DefectName::Short, at, detail: Vec::new() }, walls)
        };
        let lights = self.walls.devices.iter().filter(|dark| dark.kind.is_light());
        let poles = |groups: &[Group]| Some([*groups.first()?, *groups.get(1)?]);
        let at_lights = lights.filter_map(|dark| Some((DefectAt::Device(dark.device), poles(&dark.groups)?)));
        let feed = (DefectAt::Feed, [self.walls.line, self.walls.neutral]);
        let apart = |(_, [one, other]): &(DefectAt, [Group; 2])| {
            one != other && ![one, other].contains(&&Walls::LOOSE)
        };
        at_lights.chain([feed]).filter(apart).map(|(at, groups)| short(at, groups)).collect()
    }

    /// Earth is the neutral of the panel; the neutral of the house no longer reaches it. Grounding conductors still do.
    fn lost_neutral(&self) -> Walls {
        let mut walls = self.walls.clone();
        let lost = walls.neutral;
        walls.neutral = walls.new_group();
        self.move_grounds(&mut walls, lost);
        walls
    }

    fn reversed(&self) -> Walls {
        let mut walls = self.walls.clone();
        std::mem::swap(&mut walls.line, &mut walls.neutral);
        self.move_grounds(&mut walls, self.walls.neutral);
        walls
    }

    /// Grounding conductors that were one with the neutral stay one with earth.
    fn move_grounds(&self, walls: &mut Walls, from: Group) {
        for (wire, fact) in self.facts.wires.iter().enumerate() {
            if fact.ground && walls.wires[wire] == from {
                walls.wires[wire] = walls.neutral;
            }
        }
    }
}

fn at_feed(what: DefectName) -> Defect {
    Defect { what, at: DefectAt::Feed, detail: Vec::new() }
}
