//! What every wire carries.
//!
//! Once every cable end has its destination, the wires fall into fragments. A net is a set of fragments, at most one
//! wire of each cable, that can be joined into a tree; which sets those are does not depend on the other nets. So each
//! net's sets are listed first, and a wiring is a choice of one set a net, none sharing a fragment; what is left over is
//! spare.

use super::closing::{Closing, DarkGroup, Site};
use super::collection::Found;
use super::continuity::Joined;
use super::facts::{FixedJoint, WireFact, WireIndex};
use super::netlist::Netlist;
use super::pairing::{Entry, GROUND, Mask, SPARE, Search};
use super::space::{Dest, Label, Wiring};
use super::supply::Supply;
use super::turning::turned_least;
use super::walls::{DarkDevice, Group, Walls};
use crate::house::{BoxId, Grounds, Place};
use crate::knowledge::Pole;
use std::rc::Rc;

/// What laying one pairing costs beside other steps of the search.
const LAYING: u64 = 50;

/// What looking for the ways to close one net costs.
const CLOSING: u64 = 10;

/// To hold all that is joined against ohms readings is the work of trying so many joints.
const REFUTING: u64 = 2;

/// A set of fragments, one bit each.
pub(super) type FragmentSet = u64;

/// The fragments of one pairing.
pub(super) struct Fragments {
    /// For each wire, which fragment.
    pub(super) of_wire: Vec<usize>,
    /// The fragments, in order.
    pub(super) all: Vec<Fragment>,
}

/// Wires and joints as found that hang together.
#[derive(Clone, Debug, Default)]
pub(super) struct Fragment {
    /// Labels it may have.
    pub(super) mask: Mask,
    /// Its wire ends whose joint is not a fact, with their places.
    pub(super) open: Vec<(Site, WireIndex)>,
    /// Joints as found that belong to it.
    pub(super) joints: Vec<usize>,
    /// How often it closes on itself.
    pub(super) loops: usize,
    /// Fragments it shares a cable with.
    beside: FragmentSet,
}

/// Names of what is joined behind the plaster.
struct Names {
    of_wire: Vec<usize>,
    of_group: Vec<usize>,
    of_pole: [Option<usize>; 4],
}

/// A set of fragments that one net can be, and the ways to join it.
struct NetWay {
    set: FragmentSet,
    closings: Rc<[Closing]>,
}

impl Search<'_> {
    /// All destinations are chosen: tries every way to lay the nets.
    pub(super) fn lay(&mut self) {
        if !self.found.step(LAYING) {
            return;
        }
        if self.dark.len() < 2 && !self.hangs_together(0, &[]) {
            return;
        }
        let Some(fragments) = self.fragments() else { return };
        let mut ways = Vec::new();
        for net in 0..self.netlist.nets.len() {
            let of_net = self.net_ways(&fragments, net);
            if of_net.is_empty() {
                return;
            }
            ways.push(of_net);
        }
        let must: FragmentSet = set_of(&fragments, |fragment| fragment.mask & (SPARE | GROUND) == 0);
        let mut order: Vec<usize> = (0..ways.len()).collect();
        order.sort_by_key(|&net| ways[net].len());
        let mut chosen = vec![0; ways.len()];
        self.choose(&fragments, &ways, &order, must, 0, &mut chosen);
    }

    fn fragments(&self) -> Option<Fragments> {
        let wires = self.facts.wires.len();
        let roots: Vec<usize> = (0..wires + self.facts.joints.len()).map(|node| self.root(node)).collect();
        let mut distinct = roots.clone();
        distinct.sort_unstable();
        distinct.dedup();
        let number = |root: &usize| distinct.binary_search(root).unwrap_or(0);
        let of_wire: Vec<usize> = roots[..wires].iter().map(number).collect();
        let start = |&root: &usize| Fragment {
            mask: self.mask(root),
            loops: usize::from(self.loops(root)),
            ..Fragment::default()
        };
        let mut all: Vec<Fragment> = distinct.iter().map(start).collect();
        for (wire, fact) in self.facts.wires.iter().enumerate() {
            let fragment = &mut all[of_wire[wire]];
            if fact.free {
                fragment.open.push((Site::Apart(fact.at), wire));
            }
            if let Some(d) = self.dark_of(self.dests[usize::from(fact.end.0)]) {
                fragment.open.push((Site::Dark(d), wire));
            }
        }
        for (joint, root) in roots[wires..].iter().enumerate() {
            all[number(root)].joints.push(joint);
        }
        for end in &self.facts.ends {
            for (one, other) in end.wires().flat_map(|one| (one + 1..end.wires().end).map(move |o| (one, o)))
            {
                let (one, other) = (of_wire[one], of_wire[other]);
                if one == other {
                    all[one].mask &= SPARE | GROUND;
                } else {
                    all[one].beside |= 1 << other;
                    all[other].beside |= 1 << one;
                }
            }
        }
        let possible =
            all.len() <= FragmentSet::BITS as usize && all.iter().all(|fragment| fragment.mask != 0);
        possible.then_some(Fragments { of_wire, all })
    }

    /// Every set of fragments that a net can be.
    fn net_ways(&mut self, fragments: &Fragments, net: usize) -> Vec<NetWay> {
        let bit: Mask = 1 << net;
        if self.is_absent(net) {
            let closings = self.closings(fragments, net, 0);
            return vec![NetWay { set: 0, closings }];
        }
        let must = set_of(fragments, |fragment| fragment.mask == bit);
        let blocked = members(must).fold(0, |sum, f| sum | fragments.all[f].beside);
        if blocked & must != 0 {
            return Vec::new();
        }
        let may = set_of(fragments, |fragment| fragment.mask & bit != 0) & !must & !blocked;
        let mut ways = Vec::new();
        self.grow(fragments, net, must, may, &mut ways);
        ways
    }

    /// `set` with any of `may` that share no cable.
    fn grow(
        &mut self,
        fragments: &Fragments,
        net: usize,
        set: FragmentSet,
        may: FragmentSet,
        ways: &mut Vec<NetWay>,
    ) {
        if !self.found.step(1) {
            return;
        }
        let Some(next) = members(may).next() else {
            if !self.found.step(CLOSING) {
                return;
            }
            let odds = self.parted(fragments, set) + self.doubts(fragments, set, net as u8);
            if !self.affords(odds) {
                return;
            }
            let closings = self.closings(fragments, net, set);
            if !closings.is_empty() {
                ways.push(NetWay { set, closings });
            }
            return;
        };
        let rest = may & !(1 << next);
        self.grow(fragments, net, set, rest, ways);
        if members(set).any(|other| self.differ(fragments, other, next)) {
            return;
        }
        self.grow(fragments, net, set | 1 << next, rest & !fragments.all[next].beside, ways);
    }

    /// With how many readings it is at odds that these fragments carry a net.
    fn doubts(&self, fragments: &Fragments, set: FragmentSet, net: u8) -> usize {
        let within = fragments.of_wire.iter().enumerate().filter(|(_, fragment)| set >> **fragment & 1 == 1);
        within.map(|(wire, _)| self.supplies.carried.doubts(wire, net)).sum()
    }

    /// How many readings found a wire of these fragments joined to one of others.
    fn parted(&self, fragments: &Fragments, set: FragmentSet) -> usize {
        let Some(hints) = self.hints else { return 0 };
        let within = |wire: WireIndex| set >> fragments.of_wire[wire] & 1 == 1;
        hints.closed().filter(|&(one, other)| within(one) != within(other)).count()
    }

    /// Of the pairs of wires that go into the dark and read closed, how many are of different nets.
    fn strangers(&self, labels: &[u8]) -> usize {
        let Some(hints) = self.hints else { return 0 };
        let dark =
            |wire: WireIndex| self.dark_of(self.dests[usize::from(self.facts.wires[wire].end.0)]).is_some();
        let net =
            |wire: WireIndex| Some(labels[wire]).filter(|&at| usize::from(at) < self.netlist.nets.len());
        let apart = |one, other| net(one).is_none() || net(one) != net(other);
        hints.closed().filter(|&(one, other)| dark(one) && dark(other) && apart(one, other)).count()
    }

    /// Whether ohms readings refute all that is joined, in the dark too.
    fn is_refuted(&mut self, closings: &[&Closing]) -> bool {
        let Some(hints) = self.hints else { return false };
        let wires = self.facts.wires.len();
        let partner = |wire: WireIndex| self.partner[wire].map_or(wire, |other| wire.min(other));
        let mut group: Vec<usize> = (0..wires).map(partner).collect();
        // Neutrals meet in the panel, and what goes onward is not known.
        let beyond =
            |wire: &WireFact| matches!(self.dests[usize::from(wire.end.0)], Some(Dest::Panel | Dest::Onward));
        let mut more: Vec<bool> = self.facts.wires.iter().map(beyond).collect();
        for (at, dark) in closings.iter().flat_map(|closing| &closing.groups).enumerate() {
            for &wire in &dark.wires {
                group[wire] = wires + at;
                more[wire] |= dark.is_open();
            }
        }
        let joined = Joined { group: &|wire| group[wire], more: &|wire| more[wire] };
        let odds = hints.at_odds(&joined);
        !self.affords(odds)
    }

    /// Whether readings speak against two fragments being one net.
    fn differ(&self, fragments: &Fragments, one: usize, other: usize) -> bool {
        let Some(hints) = self.hints else { return false };
        let wires = |f: usize| (0..fragments.of_wire.len()).filter(move |&wire| fragments.of_wire[wire] == f);
        wires(one).any(|a| wires(other).any(|b| hints.differ(a, b)))
    }

    /// Chooses a set for each net in `order`, none sharing a fragment; `must` is left to be carried.
    fn choose(
        &mut self,
        fragments: &Fragments,
        ways: &[Vec<NetWay>],
        order: &[usize],
        must: FragmentSet,
        taken: FragmentSet,
        chosen: &mut Vec<usize>,
    ) {
        if !self.found.step(1) {
            return;
        }
        let Some((&net, rest)) = order.split_first() else {
            if must & !taken == 0 && self.shows_other_circuit(ways, chosen) {
                self.close(fragments, ways, chosen);
            }
            return;
        };
        for (at, way) in ways[net].iter().enumerate() {
            if way.set & taken == 0 {
                chosen[net] = at;
                self.choose(fragments, ways, rest, must, taken | way.set, chosen);
            }
        }
    }

    /// Whether another circuit is anywhere to be seen, if one is to come in.
    fn shows_other_circuit(&self, ways: &[Vec<NetWay>], chosen: &[usize]) -> bool {
        let other = |net: usize| self.netlist.nets[net].poles.iter().any(|pole| pole.is_other());
        let mut nets = (0..ways.len()).filter(|&net| other(net)).peekable();
        nets.peek().is_none() || nets.any(|net| ways[net][chosen[net]].set != 0)
    }

    /// Every net has its set: joins them in the dark, in every way there is.
    fn close(&mut self, fragments: &Fragments, ways: &[Vec<NetWay>], chosen: &[usize]) {
        let of_net: Vec<&NetWay> = ways.iter().zip(chosen).map(|(ways, &at)| &ways[at]).collect();
        let mut labels = self.bare_labels(fragments);
        for (net, way) in of_net.iter().enumerate() {
            let carried = fragments.of_wire.iter().zip(&mut labels).filter(|(f, _)| way.set >> **f & 1 == 1);
            carried.for_each(|(_, label)| *label = net as u8);
        }
        let cost = self.cost + self.strangers(&labels) + self.supplies.carried.all_doubts(&labels);
        self.pick(&of_net, &labels, cost, &mut Vec::new());
    }

    /// Picks a closing for each net, the last first, as long as that is at odds with no more readings than it may.
    fn pick<'c>(&mut self, of_net: &[&'c NetWay], labels: &[u8], cost: usize, picked: &mut Vec<&'c Closing>) {
        if !self.affords(cost) || !self.found.step(1) {
            return;
        }
        let Some((way, others)) = of_net.split_last() else {
            let closings: Vec<&Closing> = picked.iter().rev().copied().collect();
            self.found.try_joints(self.hints.map_or(0, |_| REFUTING));
            if !self.is_refuted(&closings) && self.dark_can(labels, &closings) {
                self.keep(labels, &closings);
            }
            return;
        };
        for closing in way.closings.iter() {
            picked.push(closing);
            self.pick(others, labels, cost + closing.cost, picked);
            picked.pop();
        }
    }

    /// Labels of wires that carry no net.
    fn bare_labels(&self, fragments: &Fragments) -> Vec<u8> {
        let bare = |&f: &usize| {
            let spare = fragments.all[f].mask & SPARE != 0;
            if spare { Label::SPARE.0 } else { Label::GROUND.0 }
        };
        fragments.of_wire.iter().map(bare).collect()
    }

    fn keep(&mut self, carried: &[u8], closings: &[&Closing]) {
        let groups: Vec<&DarkGroup> = closings.iter().flat_map(|closing| &closing.groups).collect();
        let mut hidden: Vec<FixedJoint> =
            closings.iter().flat_map(|closing| &closing.hidden).cloned().collect();
        hidden.extend(self.facts.hidden_grounds.iter().cloned());
        hidden.sort();
        let closed = closings.iter().any(|closing| closing.closed);
        let labels = labels(self.netlist, carried);
        let feed = match self.feed[0] {
            Some(Entry::Seen(end, _)) => Place::Box(self.facts.ends[usize::from(end.0)].at),
            Some(Entry::Dark(d)) => self.dark[d],
            None => Place::Panel,
        };
        let dests = self.dests.iter().flatten().copied().collect();
        let wiring = Wiring { netlist: self.named, feed, dests, labels, weight: 0.0, defects: Vec::new() };
        let doubts = self.supplies.carried.all_doubts(carried);
        for bonded in [true, false] {
            if !bonded && !self.bond_is_unknown() {
                continue;
            }
            let walls = Walls { hidden: hidden.clone(), ..self.walls(carried, &groups, bonded) };
            for &Supply { breakers, opposite } in &self.supplies.all {
                let walls = Walls { breakers, opposite, ..walls.clone() };
                let (wiring, buried) = (wiring.clone(), self.buried);
                self.found.keep(Found { walls, wiring, closed, bonded, buried, doubts });
            }
        }
    }

    /// Whether grounding conductors go where the feed enters unseen, in a house where not every cable has one.
    fn bond_is_unknown(&self) -> bool {
        let into_dark = |fact: &WireFact| self.dark_of(self.dests[usize::from(fact.end.0)]).is_some();
        self.house.grounds != Grounds::All
            && self.neutral_in_dark()
            && self.facts.wires.iter().any(|fact| fact.ground && into_dark(fact))
    }

    fn neutral_in_dark(&self) -> bool {
        let neutrals = self.feed.iter().zip(Pole::ALL).filter(|(_, pole)| pole.is_neutral());
        neutrals.into_iter().any(|(entry, _)| matches!(entry, Some(Entry::Dark(_))))
    }

    fn walls(&self, carried: &[u8], groups: &[&DarkGroup], bonded: bool) -> Walls {
        let names = self.names(groups, bonded);
        let mut order: Vec<usize> = Vec::new();
        let mut number = |name: usize| match order.iter().position(|n| *n == name) {
            Some(at) => at as Group,
            None => {
                order.push(name);
                (order.len() - 1) as Group
            }
        };
        let by_wire: Vec<Group> = names.of_wire.iter().map(|&n| number(n)).collect();
        let poles = names.of_pole.map(|name| name.map(&mut number));
        let named: Vec<Group> = names.of_group.iter().map(|&n| number(n)).collect();
        let devices = self.dark_devices(groups, &named);
        let mut onward: Vec<[Group; 2]> =
            self.poles_onward(carried).into_iter().map(|pair| pair.map(|wire| by_wire[wire])).collect();
        onward.sort_unstable();
        let groups = order.len() as u8;
        let Netlist { screws, broken, .. } = self.netlist;
        Walls {
            wires: by_wire,
            line: poles[0].unwrap_or(Walls::LOOSE),
            neutral: poles[1].unwrap_or(Walls::LOOSE),
            other: poles[2],
            breakers: Walls::BREAKERS,
            opposite: false,
            onward,
            devices,
            groups,
            screws: screws.clone(),
            broken: broken.clone(),
            hidden: Vec::new(),
            faults: Vec::new(),
        }
    }

    /// Of each circuit that goes onward from a box, in a cable or as singles, the wires of line and neutral.
    fn poles_onward(&self, carried: &[u8]) -> Vec<[WireIndex; 2]> {
        let circuits = [[Pole::Line, Pole::Neutral], [Pole::OtherLine, Pole::OtherNeutral]];
        let onward = self.facts.ends.iter().zip(&self.dests).filter(|(_, dest)| **dest == Some(Dest::Onward));
        let mut bundles: Vec<(Option<BoxId>, Vec<WireIndex>)> = Vec::new();
        for (end, _) in onward {
            // Singles of one box run side by side.
            let of_singles = (end.count == 1).then_some(end.at);
            match bundles.iter_mut().find(|(at, _)| at.is_some() && *at == of_singles) {
                Some((_, wires)) => wires.extend(end.wires()),
                None => bundles.push((of_singles, end.wires().collect())),
            }
        }
        let mut pairs = Vec::new();
        for (_, wires) in bundles {
            let on = |pole| {
                let net = self.pole_net(pole)?;
                wires.iter().copied().find(|&wire| usize::from(carried[wire]) == net)
            };
            pairs.extend(circuits.into_iter().filter_map(|[line, neutral]| Some([on(line)?, on(neutral)?])));
        }
        pairs
    }

    /// A name for everything that is joined behind the plaster: the least wire in it, or a number past the wires.
    fn names(&self, groups: &[&DarkGroup], bonded: bool) -> Names {
        let wires = self.facts.wires.len();
        let mut of_wire: Vec<usize> = (0..wires).map(|w| self.partner[w].map_or(w, |p| p.min(w))).collect();
        let name =
            |(at, group): (usize, &&DarkGroup)| group.wires.iter().min().copied().unwrap_or(wires + at);
        let mut of_group: Vec<usize> = groups.iter().enumerate().map(name).collect();
        for (group, &name) in groups.iter().zip(&of_group) {
            group.wires.iter().for_each(|&wire| of_wire[wire] = name);
        }
        let mut of_pole = Pole::ALL.map(|pole| match self.feed[pole as usize]? {
            Entry::Seen(_, wire) => Some(of_wire[wire]),
            Entry::Dark(_) => {
                let holds = |group: &&DarkGroup| group.poles.contains(&pole);
                let past = wires + groups.len() + pole as usize;
                Some(groups.iter().position(holds).map_or(past, |group| of_group[group]))
            }
        });
        // The neutrals of all circuits are joined in the panel.
        of_pole[1] = of_pole[1].or(of_pole[3]);
        if let (Some(neutral), Some(other)) = (of_pole[1], of_pole[3]) {
            let named = of_wire.iter_mut().chain(&mut of_group);
            named.filter(|name| **name == other).for_each(|name| *name = neutral);
        }
        self.name_grounds(&mut of_wire, of_pole[1].unwrap_or(usize::MAX), bonded);
        Names { of_wire, of_group, of_pole }
    }

    /// Grounding conductors that reach the panel are one with the neutral, bonded at the service; those that go into the
    /// dark are joined there, and reach the panel when the feed enters there and they are `bonded`.
    fn name_grounds(&self, of_wire: &mut [usize], neutral: usize, bonded: bool) {
        let fed_in_dark = bonded && self.neutral_in_dark();
        let mut in_dark = None;
        for wire in (0..of_wire.len()).filter(|&wire| self.facts.wires[wire].ground) {
            let dest = self.dests[usize::from(self.facts.wires[wire].end.0)];
            if dest == Some(Dest::Panel) || (fed_in_dark && self.dark_of(dest).is_some()) {
                of_wire[wire] = neutral;
            } else if self.dark_of(dest).is_some() {
                of_wire[wire] = *in_dark.get_or_insert(wire);
            }
        }
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
                    let holds = |terminal| {
                        groups.iter().position(|group| group.terminals.contains(&(device, terminal)))
                    };
                    // A terminal that a tab joins to another needs no wire of its own.
                    let at =
                        holds(terminal).or_else(|| self.netlist.linked(device, terminal).and_then(holds));
                    at.map_or(Walls::LOOSE, |at| named[at])
                };
                let groups =
                    turned_least(kind, kind.terminals().iter().map(|&t| group(t)).collect::<Vec<Group>>());
                DarkDevice { device, kind, groups }
            })
            .collect()
    }
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

/// Labels by wire, interchangeable nets numbered in the order in which wires carry them.
fn labels(netlist: &Netlist, carried: &[u8]) -> Vec<Label> {
    let names = canonical(netlist, carried);
    carried.iter().map(|&label| Label(names.get(usize::from(label)).copied().unwrap_or(label))).collect()
}

fn set_of(fragments: &Fragments, of: impl Fn(&Fragment) -> bool) -> FragmentSet {
    let all = fragments.all.iter().enumerate().filter(|(_, fragment)| of(fragment));
    all.fold(0, |set, (f, _)| set | 1 << f)
}

/// The numbers of the fragments in a set, in order.
pub(super) fn members(mut set: FragmentSet) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let next = (set != 0).then(|| set.trailing_zeros() as usize);
        set &= set.wrapping_sub(1);
        next
    })
}
