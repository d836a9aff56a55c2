//! Fragments that nothing can join any more, though their net goes on elsewhere.
//!
//! Where both ends of all wires of a fragment are decided and none of its points is free or goes into the dark, no choice
//! to come adds to it. If it is of a net, it has to be all of it: else what was chosen leads nowhere.

use super::facts::{Facts, WireIndex};
use super::netlist::Netlist;
use super::pairing::{Entry, GROUND, Mask, SPARE, Search};
use crate::house::{Apart, House};

/// What a fragment has, kept at its root.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Tally {
    /// How many of its points may be joined to more yet.
    pub(super) loose: u16,
    /// Terminals in its joints as found.
    terminals: u16,
}

impl Tally {
    pub(super) fn add(&mut self, other: Tally) {
        self.loose += other.loose;
        self.terminals += other.terminals;
    }

    pub(super) fn take(&mut self, other: Tally) {
        self.loose -= other.loose;
        self.terminals -= other.terminals;
    }

    /// Of each node by itself: the wires, then the joints as found.
    pub(super) fn of_all(house: &House, facts: &Facts, netlist: &Netlist) -> Vec<Tally> {
        let wires = facts.wires.iter().map(|wire| Tally { loose: 1 + u16::from(wire.free), terminals: 0 });
        let joints = facts.joints.iter().map(|joint| {
            let outlet = house.outlet(joint.at);
            // Wires and screws that are free may join it.
            let grows =
                outlet.apart != Apart::No || !outlet.complete || outlet.joints.iter().any(|one| !one.sure);
            let in_net = |&&(device, terminal): &&_| netlist.net_of(device, terminal).is_some();
            Tally { loose: u16::from(grows), terminals: joint.terminals.iter().filter(in_net).count() as u16 }
        });
        wires.chain(joints).collect()
    }
}

/// What a net has to reach.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    /// So many terminals whose joints are facts.
    terminals: u16,
    /// And others, so that no fragment is all of it by itself.
    others: bool,
}

impl Search<'_> {
    /// What each net has to reach.
    pub(super) fn reaches(&self) -> Vec<Reach> {
        let reach = |terminals: &[_]| {
            let in_joint = |&&(device, terminal): &&_| self.facts.joint_of(device, terminal).is_some();
            let other = |&(device, terminal): &_| {
                self.is_free_terminal(device, terminal) && !self.served_by_tab(device, terminal)
            };
            Reach {
                terminals: terminals.iter().filter(in_joint).count() as u16,
                others: terminals.iter().any(other),
            }
        };
        self.netlist.nets.iter().map(|net| reach(&net.terminals)).collect()
    }

    /// Whether what a wire hangs together with is of a net, is not all of it, and cannot be joined to the rest.
    pub(super) fn is_island(&self, wire: WireIndex) -> bool {
        let root = self.root(wire);
        if self.tally(root).loose > 0 || self.mask(root) & (SPARE | GROUND) != 0 {
            return false;
        }
        let nets = 0..self.netlist.nets.len();
        !nets.into_iter().any(|net| self.mask(root) & (1 as Mask) << net != 0 && self.is_all_of(net, root))
    }

    fn is_all_of(&self, net: usize, root: usize) -> bool {
        let Reach { terminals, others } = self.reaches[net];
        let poles = &self.netlist.nets[net].poles;
        let enters = poles.iter().all(|pole| match self.feed[*pole as usize] {
            Some(Entry::Seen(_, wire)) => self.root(wire) == root,
            Some(Entry::Dark(_)) => false,
            None => true,
        });
        !others && terminals == self.tally(root).terminals && enters
    }
}
