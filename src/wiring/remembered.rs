//! How joints were before somebody changed them: what is remembered speaks for wirings whose wires were meant for it.
//!
//! Whatever joins these points now, they were together while the light worked, so they should carry the same net. Memory errs,
//! and what was there may have been wrong: a joint that a wiring has otherwise makes it rarer, and rules nothing out.

use super::facts::Facts;
use super::netlist::Netlist;
use super::space::{Label, Wiring};
use super::turning;
use crate::house::{BoxId, DeviceId, House, Joint, LocalPoint};
use crate::knowledge::{Knowledge, RunHabits};

/// For each netlist what a wiring with it should have as it was.
pub(super) struct Remembered {
    /// By box: each way its devices may be turned that leaves what they do.
    boxes: Vec<Vec<Vec<Turned>>>,
    /// How likely it is that all that is remembered of a box is wrong.
    never_so: f64,
}

/// The joints of a box that are remembered, its devices turned in one way.
type Turned = Vec<Before>;

/// A joint as it was.
struct Before {
    wires: Vec<usize>,
    /// What its screws are meant for.
    screws: Vec<Label>,
    /// What a wiring that has it otherwise is multiplied by.
    unlike: f64,
}

impl Remembered {
    pub(super) fn new(
        house: &House,
        facts: &Facts,
        knowledge: &Knowledge,
        netlists: &[Netlist],
    ) -> Remembered {
        let of_box = |netlist: &Netlist, at: BoxId| {
            let was = &house.outlet(at).was;
            let turns = turning::every_turn(house, netlist, &devices(was));
            turns.iter().map(|turn| turned(was, turn, facts, &knowledge.habits.run)).collect()
        };
        let never_so = knowledge.habits.run.never_so.min(1.0);
        let told: Vec<BoxId> = house.box_ids().filter(|&at| !house.outlet(at).was.is_empty()).collect();
        if told.is_empty() {
            return Remembered { boxes: Vec::new(), never_so };
        }
        let of_netlist = |netlist| told.iter().map(|&at| of_box(netlist, at)).collect();
        Remembered { boxes: netlists.iter().map(of_netlist).collect(), never_so }
    }

    /// How well a wiring agrees with all that is remembered: 1 where it agrees with everything. It is no part of how common a
    /// wiring is among those of its stratum: what is remembered may tell one stratum from another.
    pub(super) fn factor(&self, wiring: &Wiring) -> f64 {
        let boxes = self.boxes.get(wiring.netlist).map_or(&[][..], Vec::as_slice);
        // Screws that do the same are the same to whoever remembers: of the ways to turn devices the one that agrees best.
        let best = |turns: &Vec<Turned>| turns.iter().map(|turn| agreement(turn, wiring)).fold(0.0, f64::max);
        // A photo may be of another box, and two wires are remembered for each other in one mistake: of one box memory alone
        // settles little.
        let of_box = |turns: &Vec<Turned>| self.never_so + (1.0 - self.never_so) * best(turns);
        boxes.iter().map(of_box).product()
    }
}

/// The devices on which somebody remembers a joint.
fn devices(was: &[Joint]) -> Vec<DeviceId> {
    let device = |point: &LocalPoint| match point {
        LocalPoint::Terminal(device, _) => Some(*device),
        _ => None,
    };
    let mut devices: Vec<DeviceId> = was.iter().flat_map(|joint| &joint.points).filter_map(device).collect();
    devices.sort_unstable();
    devices.dedup();
    devices
}

fn turned(was: &[Joint], netlist: &Netlist, facts: &Facts, run: &RunHabits) -> Turned {
    let screw = |point: &LocalPoint| match *point {
        LocalPoint::Terminal(device, terminal) => {
            // A screw that is of no net should hold nothing, or a wire that carries nothing.
            Some(netlist.net_of(device, terminal).map_or(Label::SPARE, |net| Label(net as u8)))
        }
        _ => None,
    };
    let wire = |point: &LocalPoint| match *point {
        LocalPoint::Wire(wire) => Some(facts.index(wire)),
        _ => None,
    };
    let before = |joint: &Joint| Before {
        wires: joint.points.iter().filter_map(wire).collect(),
        screws: joint.points.iter().filter_map(screw).collect(),
        unlike: if joint.sure { run.unlike_before } else { run.perhaps_unlike_before },
    };
    was.iter().map(before).collect()
}

/// Once for each joint whose points should not all carry the same.
fn agreement(turn: &Turned, wiring: &Wiring) -> f64 {
    let factor = |before: &Before| {
        let wires = before.wires.iter().map(|&wire| wiring.labels[wire]);
        let mut all = wires.chain(before.screws.iter().copied());
        let first = all.next();
        if all.all(|label| Some(label) == first) { 1.0 } else { before.unlike }
    };
    turn.iter().map(factor).product()
}
