//! What every wire carries: each fragment takes one of the labels it may still have, no net twice in a cable, and
//! every net must close.

use super::closing::DarkGroup;
use super::netlist::Netlist;
use super::pairing::{GROUND, Mask, SPARE, Search};
use super::space::{Found, Label, Wiring};
use super::walls::{DarkDevice, Group, Walls};
use crate::house::Place;
use crate::knowledge::Pole;

/// The fragments of one pairing, with the labels they may have.
pub(super) struct Fragments {
    /// Roots, in order.
    pub(super) roots: Vec<usize>,
    /// For each wire, which fragment.
    pub(super) of_wire: Vec<usize>,
    /// For each joint as found, which fragment.
    pub(super) of_joint: Vec<usize>,
    /// For each fragment, the labels it may have; one bit each once laid.
    pub(super) masks: Vec<Mask>,
    /// For each fragment, the fragments it shares a cable with.
    beside: Vec<Vec<usize>>,
}

impl Search<'_> {
    /// All destinations are chosen: tries every way to lay the nets.
    pub(super) fn lay(&mut self) {
        let Some(fragments) = self.fragments() else { return };
        let pending: Vec<usize> =
            (0..fragments.masks.len()).filter(|&f| fragments.masks[f].count_ones() == 1).collect();
        let mut laid = fragments;
        if pending.iter().all(|&f| spread(&mut laid, f)) {
            self.lay_from(laid);
        }
    }

    fn fragments(&self) -> Option<Fragments> {
        let wires = self.facts.wires.len();
        let mut roots: Vec<usize> =
            (0..wires + self.facts.joints.len()).map(|node| self.root(node)).collect();
        let all = roots.clone();
        roots.sort_unstable();
        roots.dedup();
        let number = |root: &usize| roots.binary_search(root).unwrap_or(0);
        let of_wire: Vec<usize> = all[..wires].iter().map(number).collect();
        let of_joint = all[wires..].iter().map(number).collect();
        let mut masks: Vec<Mask> = roots.iter().map(|&root| self.mask(root)).collect();
        let mut beside = vec![Vec::new(); roots.len()];
        for end in &self.facts.ends {
            for wire in end.wires() {
                for other in end.wires().filter(|&other| other != wire) {
                    let (one, two) = (of_wire[wire], of_wire[other]);
                    if one == two {
                        masks[one] &= SPARE | GROUND;
                    } else if !beside[one].contains(&two) {
                        beside[one].push(two);
                    }
                }
            }
        }
        let possible = masks.iter().all(|mask| *mask != 0);
        possible.then_some(Fragments { roots, of_wire, of_joint, masks, beside })
    }

    fn lay_from(&mut self, fragments: Fragments) {
        let open = (0..fragments.masks.len()).filter(|&f| fragments.masks[f].count_ones() > 1);
        let Some(next) = open.min_by_key(|&f| fragments.masks[f].count_ones()) else {
            self.close(&fragments);
            return;
        };
        let mut left = fragments.masks[next];
        while left != 0 {
            let label = left & left.wrapping_neg();
            left &= !label;
            let mut laid = fragments.copy();
            laid.masks[next] = label;
            if spread(&mut laid, next) {
                self.lay_from(laid);
            }
        }
    }

    /// Every fragment has its label: joins each net in the dark, in every way there is.
    fn close(&mut self, laid: &Fragments) {
        let mut ways: Vec<(Vec<Vec<DarkGroup>>, bool)> = vec![(Vec::new(), false)];
        for net in 0..self.netlist.nets.len() {
            let closings = self.closings(laid, net);
            let extend = |(nets, closed): &(Vec<Vec<DarkGroup>>, bool)| {
                let with = |closing: &super::closing::Closing| {
                    ([nets.as_slice(), &[closing.groups.clone()]].concat(), *closed || closing.closed)
                };
                closings.iter().map(with).collect::<Vec<_>>()
            };
            ways = ways.iter().flat_map(extend).collect();
            if ways.is_empty() {
                return;
            }
        }
        for (groups, closed) in ways {
            if self.dark_can(laid, &groups) {
                self.keep(laid, &groups, closed);
            }
        }
    }

    fn keep(&mut self, laid: &Fragments, groups: &[Vec<DarkGroup>], closed: bool) {
        let walls = self.walls(groups);
        let labels = self.labels(laid);
        let feed = match self.feed[0] {
            super::pairing::Entry::Seen(end, _) => Place::Box(self.facts.ends[usize::from(end.0)].at),
            super::pairing::Entry::Dark(d) => self.dark[d],
        };
        let dests: Vec<_> = self.dests.iter().flatten().copied().collect();
        let key = (self.named, feed, dests.clone(), labels.clone(), walls.clone());
        let wiring = Wiring { netlist: self.named, feed, dests, labels, weight: 0.0 };
        let buried = self.buried;
        let kept = self.found.entry(key).or_insert(Found { walls, wiring, closed, buried });
        kept.closed &= closed;
    }

    /// Labels by wire, interchangeable nets numbered in the order in which wires carry them.
    fn labels(&self, laid: &Fragments) -> Vec<Label> {
        let carried: Vec<u8> = laid.of_wire.iter().map(|&f| laid.masks[f].trailing_zeros() as u8).collect();
        let names = canonical(self.netlist, &carried);
        carried.iter().map(|&label| Label(names.get(usize::from(label)).copied().unwrap_or(label))).collect()
    }

    fn walls(&self, groups: &[Vec<DarkGroup>]) -> Walls {
        let wires = self.facts.wires.len();
        // Each wire starts with itself or its partner; a group in the dark pulls its wires together.
        let mut name: Vec<usize> = (0..wires).map(|w| self.partner[w].map_or(w, |p| p.min(w))).collect();
        let all: Vec<&DarkGroup> = groups.iter().flatten().collect();
        for group in &all {
            let Some(&first) = group.wires.iter().min() else { continue };
            group.wires.iter().for_each(|&wire| name[wire] = first);
        }
        let mut order: Vec<usize> = Vec::new();
        let mut number = |name: usize| match order.iter().position(|n| *n == name) {
            Some(at) => at as Group,
            None => {
                order.push(name);
                (order.len() - 1) as Group
            }
        };
        let by_wire: Vec<Group> = name.iter().map(|&n| number(n)).collect();
        let mut poles = [Walls::LOOSE; 2];
        for (at, entry) in self.feed.iter().enumerate() {
            if let super::pairing::Entry::Seen(_, wire) = entry {
                poles[at] = by_wire[*wire];
            }
        }
        // A group without a seen wire gets a name past those of the wires.
        let named: Vec<Group> = all
            .iter()
            .enumerate()
            .map(|(at, group)| group.wires.first().map_or_else(|| number(wires + at), |&w| by_wire[w]))
            .collect();
        for (group, &number) in all.iter().zip(&named) {
            for pole in &group.poles {
                poles[usize::from(*pole == Pole::Neutral)] = number;
            }
        }
        let devices = self.dark_devices(&all, &named);
        let groups = order.len() as u8;
        Walls { wires: by_wire, line: poles[0], neutral: poles[1], devices, groups }
    }

    fn dark_devices(&self, groups: &[&DarkGroup], named: &[Group]) -> Vec<DarkDevice> {
        let in_dark = |device| !self.house.outlet(self.house.device(device).at).opened;
        let kind_of = |device| {
            let resolved = self.netlist.kinds.iter().find(|(d, _)| *d == device).map(|(_, kind)| *kind);
            resolved.unwrap_or(self.house.device(device).kind)
        };
        let devices = self.house.device_ids().filter(|&device| in_dark(device));
        devices
            .map(|device| {
                let kind = kind_of(device);
                let group = |terminal| {
                    let at = groups.iter().position(|group| group.terminals.contains(&(device, terminal)));
                    at.map_or(Walls::LOOSE, |at| named[at])
                };
                let groups = turned_least(kind, kind.terminals().iter().map(|&t| group(t)).collect());
                DarkDevice { device, kind, groups }
            })
            .collect()
    }
}

/// Of the ways to turn a device nobody has looked at, the one whose groups come first.
fn turned_least(kind: crate::house::DeviceKind, groups: Vec<Group>) -> Vec<Group> {
    let terminals = kind.terminals();
    let place = |terminal| terminals.iter().position(|t| *t == terminal).unwrap_or(0);
    let turns = super::netlist::automorphisms(kind);
    let turned = turns.iter().map(|turn| turn.iter().map(|&(_, to)| groups[place(to)]).collect::<Vec<_>>());
    turned.min().unwrap_or(groups)
}

/// For each net the number it goes by: the nets of a hop in the order in which wires first carry them.
fn canonical(netlist: &Netlist, carried: &[u8]) -> Vec<u8> {
    let mut names: Vec<u8> = (0..netlist.nets.len() as u8).collect();
    let hops = netlist.nets.iter().filter_map(|net| net.hop).max().map_or(0, |hop| hop + 1);
    for hop in 0..hops {
        let members: Vec<u8> = (0..netlist.nets.len() as u8)
            .filter(|&n| netlist.nets[usize::from(n)].hop == Some(hop))
            .collect();
        let first = |net: u8| carried.iter().position(|&label| label == net).unwrap_or(usize::MAX);
        let mut by_first = members.clone();
        by_first.sort_by_key(|&net| (first(net), net));
        for (name, net) in members.iter().zip(by_first) {
            names[usize::from(net)] = *name;
        }
    }
    names
}

/// A laid fragment takes its label from those beside it in a cable; false when one is left without any.
fn spread(fragments: &mut Fragments, laid: usize) -> bool {
    let label = fragments.masks[laid];
    if label & (SPARE | GROUND) != 0 {
        return true;
    }
    let mut at = 0;
    while at < fragments.beside[laid].len() {
        let other = fragments.beside[laid][at];
        at += 1;
        let before = fragments.masks[other];
        let after = before & !label;
        if after == 0 {
            return false;
        }
        fragments.masks[other] = after;
        if after != before && after.count_ones() == 1 && !spread(fragments, other) {
            return false;
        }
    }
    true
}

impl Fragments {
    fn copy(&self) -> Fragments {
        Fragments {
            roots: self.roots.clone(),
            of_wire: self.of_wire.clone(),
            of_joint: self.of_joint.clone(),
            masks: self.masks.clone(),
            beside: self.beside.clone(),
        }
    }
}
