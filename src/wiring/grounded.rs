//! A grounding conductor that does the work of a neutral, where that is seen: in a joint with something else than grounds
//! and metal.
//!
//! Such joints are taken as two, the grounds in one and the rest in the other. What is then left alone may be on the neutral
//! by way of the ground, and the wirings are listed like that.

use super::defect::{Defect, DefectAt, Fault};
use super::errors::{Allowance, Slipped, Slips};
use super::facts::Facts;
use crate::house::{Joint, LocalPoint};
use crate::knowledge::DefectName;

/// No more work than this is spent.
const MOST_WORK: u64 = 1_000_000;

impl Slipped<'_> {
    /// The wirings in which grounds do the work of neutrals in every joint that has both.
    pub(super) fn on_grounds(&self) -> Slips {
        let mut slips = Slips::default();
        let mut house = self.call.house.clone();
        let (mut alone, mut defects, mut bonded) = (Vec::new(), Vec::new(), Vec::new());
        for (outlet, at) in house.boxes.iter_mut().zip(self.call.house.box_ids()) {
            for joint in std::mem::take(&mut outlet.joints) {
                let (grounds, rest): (Vec<LocalPoint>, Vec<LocalPoint>) =
                    joint.points.iter().partition(|&&point| self.is_ground_or_metal(point));
                let is_wire = |point: &&LocalPoint| matches!(point, LocalPoint::Wire(_));
                // Metal may do the same, by armour or pipe that reaches the box.
                let ground = grounds.iter().find(is_wire).or(grounds.first()).copied();
                let Some(ground) = ground.filter(|_| joint.sure && !rest.is_empty()) else {
                    outlet.joints.push(joint);
                    continue;
                };
                defects.push(Defect {
                    what: DefectName::GroundAsNeutral,
                    at: DefectAt::Box(at),
                    detail: vec![ground, rest[0]],
                });
                if !grounds.iter().any(|point| is_wire(&point)) {
                    bonded.push(Fault::Bonded(at));
                }
                if let [LocalPoint::Terminal(device, terminal)] = rest[..] {
                    alone.push((device, terminal));
                }
                let parts = [grounds, rest].into_iter().filter(|points| points.len() > 1);
                outlet.joints.extend(parts.map(|points| Joint { points, sure: true }));
            }
        }
        if defects.is_empty() {
            return slips;
        }
        let facts = Facts { on_ground: alone, ..Facts::new(&house) };
        let chance = self.chance(DefectName::GroundAsNeutral);
        let mut allowance = Allowance::of(MOST_WORK);
        for (netlist, mut found, factor) in self.listed(&house, &facts, &mut allowance, &|_| true) {
            found.walls.faults.extend(bonded.iter().copied());
            slips.keep(&netlist, found, factor * chance, &defects);
        }
        slips
    }

    fn is_ground_or_metal(&self, point: LocalPoint) -> bool {
        match point {
            LocalPoint::Wire(wire) => self.facts.wires[self.facts.index(wire)].ground,
            LocalPoint::Metal(_) => true,
            LocalPoint::Terminal(..) => false,
        }
    }
}
