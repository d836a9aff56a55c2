//! The neutrals of two circuits in one joint: seen there, and meant for two.
//!
//! Each joint of wires is taken as two in every way, and the wirings are listed in which one of the two is the one circuit's
//! neutral and the other the other's.

use super::collection::Found;
use super::defect::{Defect, DefectAt};
use super::errors::{Allowance, Slipped, Slips};
use super::facts::{Facts, WireIndex};
use super::netlist::Netlist;
use crate::house::{BoxId, Joint, LocalPoint};
use crate::knowledge::{DefectName, Pole};

/// No more work than this is spent.
const MOST_WORK: u64 = 1_000_000;

/// A joint of more points than this is not taken apart: there are too many ways.
const MOST_POINTS: usize = 8;

impl Slipped<'_> {
    /// The wirings in which a joint in the box `at` has the neutrals of two circuits.
    pub(super) fn joined_neutrals(&self, at: BoxId) -> Slips {
        let mut slips = Slips::default();
        let mut allowance = Allowance::of(MOST_WORK);
        let joints = &self.call.house.outlet(at).joints;
        let places = joints.iter().filter(|joint| may_be_two(joint)).count();
        for (nth, joint) in joints.iter().enumerate().filter(|(_, joint)| may_be_two(joint)) {
            let defect = Defect {
                what: DefectName::JoinedNeutrals,
                at: DefectAt::Box(at),
                detail: joint.points.clone(),
            };
            let ways = 1_usize << (joint.points.len() - 1);
            // Which wires are whose is not chance: the cables say it.
            let share = self.chance(defect.what) / places as f64;
            // The first point stays; at least one goes.
            for way in 1..ways {
                let goes = |place: usize| place > 0 && way >> (place - 1) & 1 == 1;
                let part = |gone: bool| {
                    let points = joint.points.iter().enumerate();
                    points.filter(|(place, _)| goes(*place) == gone).map(|(_, point)| *point).collect()
                };
                let parts: [Vec<LocalPoint>; 2] = [part(false), part(true)];
                let others = joints.iter().enumerate().filter(|(other, _)| *other != nth);
                let split = others.map(|(_, joint)| joint.points.clone()).chain(parts.clone());
                let house = self.with_joints(at, split.filter(|points| points.len() > 1).collect());
                let facts = Facts::new(&house);
                for (netlist, found, factor) in self.listed(&house, &facts, &mut allowance, &|_| true) {
                    if self.are_neutrals(&netlist, &found, &parts) {
                        slips.keep(&netlist, found, factor * share, std::slice::from_ref(&defect));
                    }
                }
            }
        }
        slips
    }

    /// Whether the wires of two joints carry the neutral of one circuit each.
    fn are_neutrals(&self, netlist: &Netlist, found: &Found, parts: &[Vec<LocalPoint>; 2]) -> bool {
        let wire = |point: &LocalPoint| match point {
            LocalPoint::Wire(wire) => Some(self.facts.index(*wire)),
            _ => None,
        };
        let carry = |part: &[LocalPoint], pole: Pole| {
            let net = netlist.net_of_pole(pole);
            let is_it = |wire: WireIndex| Some(usize::from(found.wiring.labels[wire].0)) == net;
            part.iter().filter_map(wire).all(is_it)
        };
        let [one, other] = parts;
        let (own, there) = (Pole::Neutral, Pole::OtherNeutral);
        (carry(one, own) && carry(other, there)) || (carry(one, there) && carry(other, own))
    }
}

fn may_be_two(joint: &Joint) -> bool {
    let is_wire = |point: &&LocalPoint| matches!(point, LocalPoint::Wire(_));
    let wires = joint.points.iter().filter(is_wire).count();
    wires >= 2 && (3..=MOST_POINTS).contains(&joint.points.len())
}
