//! Joining one net where nobody has looked: in boxes taken apart and in the dark.
//!
//! A net must come out as a tree over its joints (the neutral may close a ring). Seen from here its fragments are
//! already trees; what is left is to say which of their ends, and which terminals, meet in which joint of each such
//! place. All dark boxes together are one place: how cables between them do it is `dark`'s question.

use super::dark::Cables;
use super::facts::is_apart;
use super::facts::{Facts, FixedJoint, WireIndex};
use super::filling::{Filled, every_way};
use super::hints::Hints;
use super::laying::{Fragment, FragmentSet, Fragments, members};
use super::pairing::{Dark, Entry, Search};
use crate::house::{BoxId, DeviceId, House, LocalPoint, Terminal};
use crate::knowledge::Pole;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Points of one net that are joined in the dark.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub(super) struct DarkGroup {
    pub(super) wires: Vec<WireIndex>,
    pub(super) terminals: Vec<(DeviceId, Terminal)>,
    pub(super) poles: Vec<Pole>,
    /// How many of them are in each dark box.
    pub(super) at: Vec<u8>,
}

impl DarkGroup {
    /// Whether a switch or the panel may join it to more.
    pub(super) fn is_open(&self) -> bool {
        !self.terminals.is_empty() || !self.poles.is_empty()
    }

    /// How many readings speak against all these points being joined; `None` where too many do.
    fn against(&self, hints: &Hints, breakers: [u8; 2]) -> Option<usize> {
        let to_pole = |wire: &WireIndex| self.poles.iter().any(|p| hints.not_pole(*wire, *p, breakers));
        let pairs =
            || (0..self.wires.len()).flat_map(|at| self.wires[at + 1..].iter().map(move |o| (at, *o)));
        let against = || pairs().map(|(at, other)| hints.against(self.wires[at], other)).sum();
        (!self.wires.iter().any(to_pole)).then(against)
    }
}

/// How many readings found wires joined that these groups keep apart.
fn parted(hints: &Hints, groups: &[DarkGroup]) -> usize {
    let between = |one: &DarkGroup, other: &DarkGroup| {
        let closed = |&wire: &WireIndex| {
            other.wires.iter().map(|&there| hints.read_closed(wire, there)).sum::<usize>()
        };
        one.wires.iter().map(closed).sum::<usize>()
    };
    let with_later = |(at, one): (usize, &DarkGroup)| {
        groups[at + 1..].iter().map(|other| between(one, other)).sum::<usize>()
    };
    groups.iter().enumerate().map(with_later).sum()
}

/// One way to join a net, before it is asked how cables in the dark can do it.
pub(super) struct Way {
    pub(super) groups: Vec<DarkGroup>,
    pub(super) hidden: Vec<FixedJoint>,
    pub(super) closed: bool,
}

/// One way to join a net: its groups in the dark, and whether it closes a ring.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Closing {
    pub(super) groups: Vec<DarkGroup>,
    /// Joints in opened boxes that were not seen.
    pub(super) hidden: Vec<FixedJoint>,
    pub(super) closed: bool,
    /// With how many readings its groups are at odds.
    pub(super) cost: usize,
    /// The sets of cables between dark boxes that can do it; none where there are too many to list.
    pub(super) cables: Option<Vec<Cables>>,
}

impl Closing {
    /// Of a net that is nowhere.
    fn nothing() -> Closing {
        Closing { groups: Vec::new(), hidden: Vec::new(), closed: false, cost: 0, cables: Some(vec![0]) }
    }
}

/// What was answered, for each question that came up.
#[derive(Default)]
pub(super) struct Answered(FxHashMap<Asked, Rc<[Closing]>>);

/// All that the ways to join a net depend on, within one search.
#[derive(PartialEq, Eq, Hash)]
struct Asked {
    net: usize,
    budget: usize,
    fragments: usize,
    loops: usize,
    items: Vec<(Site, Item)>,
    found: Vec<FoundJoint>,
}

/// A point of the net whose joint is not a fact.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) enum Item {
    Wire { wire: WireIndex, fragment: usize },
    Terminal(DeviceId, Terminal),
    Pole(Pole),
}

/// Where a point is: a box taken apart, or a dark box.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) enum Site {
    Apart(BoxId),
    Dark(Dark),
}

/// One net's open question.
pub(super) struct Open<'a> {
    house: &'a House,
    facts: &'a Facts,
    hints: Option<&'a Hints>,
    breakers: [u8; 2],
    /// How many readings more a way may be at odds with.
    pub(super) budget: usize,
    /// How many fragments the net has: they are numbered as they come up in its points.
    pub(super) fragments: usize,
    /// Points to be joined, each with its place, boxes taken apart first.
    pub(super) items: Vec<(Site, Item)>,
    /// Joints as found in boxes apart, or seen, in part, which points there may join.
    pub(super) found: Vec<FoundJoint>,
    /// How often fragments already close on themselves.
    pub(super) loops: usize,
    /// May close a ring.
    pub(super) ring: bool,
    /// A wire may end alone in a box taken apart.
    end: bool,
    pub(super) dark: usize,
}

impl<'a> Search<'a> {
    /// Every way to join a net that consists of a set of fragments, told apart by what is joined where nobody has looked.
    pub(super) fn closings(&mut self, fragments: &Fragments, net: usize, set: FragmentSet) -> Rc<[Closing]> {
        if set == 0 && self.is_needless(net) {
            return Rc::new([Closing::nothing()]);
        }
        let ring = self.netlist.is_neutral(net);
        let fixed = self.fixed_items(net);
        if self.falls_apart(fragments, &fixed, set, ring) {
            return Rc::new([]);
        }
        let open = self.open(fragments, net, set, fixed);
        let asked = open.asked(net);
        if let Some(closings) = self.answered.0.get(&asked) {
            return closings.clone();
        }
        // Many pairings differ in what is seen, and leave the same open.
        let closings: Rc<[Closing]> = self.closings_of(&open, net).into();
        self.answered.0.insert(asked, closings.clone());
        closings
    }

    fn closings_of(&mut self, open: &Open, net: usize) -> Vec<Closing> {
        let ways = self.all_ways(open);
        let breakers = self.supplies.breakers();
        let against = |groups: &[DarkGroup]| {
            let odds = |hints| {
                let joined =
                    groups.iter().map(|group| group.against(hints, breakers)).sum::<Option<usize>>()?;
                Some(joined + parted(hints, groups))
            };
            self.hints.map_or(Some(0), odds)
        };
        let mut beyond = usize::MAX;
        let with_cables = |Way { groups, hidden, closed }: Way| {
            let cost = against(&groups)?;
            if cost > open.budget {
                beyond = beyond.min(cost);
                return None;
            }
            let cables = self.cables_for(net, &groups);
            let some = cables.as_ref().is_none_or(|cables| !cables.is_empty());
            some.then_some(Closing { groups, hidden, closed, cost, cables })
        };
        let closings = ways.into_iter().filter_map(with_cables).collect();
        self.found.leave_out(beyond.saturating_add(self.cost));
        closings
    }

    fn all_ways(&mut self, open: &Open) -> Vec<Way> {
        match open.joined_fully() {
            Joined::Apart => Vec::new(),
            Joined::Tree if open.found.is_empty() => open.only_way(),
            Joined::Tree | Joined::Ring => match every_way(open) {
                Some(Filled { ways, tried, beyond }) => {
                    self.found.try_joints(tried);
                    self.found.leave_out(beyond.saturating_add(self.cost));
                    ways
                }
                None => {
                    self.found.give_up();
                    Vec::new()
                }
            },
        }
    }

    /// A quick look that most sets do not pass: whether, with all that can be joined joined, something is left over.
    fn falls_apart(
        &self,
        fragments: &Fragments,
        fixed: &[(Site, Item)],
        set: FragmentSet,
        ring: bool,
    ) -> bool {
        let site_bit = |site: Site| match site {
            Site::Dark(_) => 1u64 << 63,
            Site::Apart(at) => 1u64 << (at.0 % 63),
        };
        let mut pending = set;
        let mut wanted = fixed.iter().fold(0, |sites, (site, _)| sites | site_bit(*site));
        let mut reached = wanted & wanted.wrapping_neg();
        if reached == 0 {
            let Some(first) = members(pending).next() else { return true };
            pending &= !(1 << first);
            reached = fragments.all[first].sites(self.facts, &site_bit);
        }
        loop {
            let here = |f: &usize| fragments.all[*f].sites(self.facts, &site_bit) & reached != 0;
            let Some(next) = members(pending).find(here) else { break };
            pending &= !(1 << next);
            reached |= fragments.all[next].sites(self.facts, &site_bit);
        }
        wanted &= !reached;
        let loops = || members(set).any(|f| fragments.all[f].loops > 0);
        pending != 0 || wanted != 0 || (!ring && loops())
    }

    /// Terminals and poles of a net whose joint is not a fact.
    fn fixed_items(&self, net: usize) -> Vec<(Site, Item)> {
        let mut items = Vec::new();
        for &(device, terminal) in &self.netlist.nets[net].terminals {
            if self.is_free_terminal(device, terminal) && !self.served_by_tab(device, terminal) {
                let at = self.house.device(device).at;
                let site = self.dark_at(at).map_or(Site::Apart(at), Site::Dark);
                items.push((site, Item::Terminal(device, terminal)));
            }
        }
        for (entry, pole) in self.feed.iter().zip(Pole::ALL) {
            if let (Some(Entry::Dark(d)), true) = (entry, self.pole_net(pole) == Some(net)) {
                items.push((Site::Dark(*d), Item::Pole(pole)));
            }
        }
        items
    }

    fn open(
        &self,
        fragments: &Fragments,
        net: usize,
        set: FragmentSet,
        fixed: Vec<(Site, Item)>,
    ) -> Open<'a> {
        let of = |f: usize| {
            fragments.all[f].open.iter().map(move |&(site, wire)| (site, Item::Wire { wire, fragment: f }))
        };
        let mut items: Vec<(Site, Item)> = members(set).flat_map(of).chain(fixed).collect();
        items.sort_unstable();
        let apart_here = |at: &BoxId| items.iter().any(|(site, _)| *site == Site::Apart(*at));
        let joint =
            |fragment: usize, joint: usize| FoundJoint { at: self.facts.joints[joint].at, fragment, joint };
        let joints = members(set).flat_map(|f| fragments.all[f].joints.iter().map(move |&j| joint(f, j)));
        let mut found: Vec<FoundJoint> = joints.filter(|found| apart_here(&found.at)).collect();
        found.sort_unstable_by_key(|found| found.joint);
        number(&mut items, &mut found);
        Open {
            house: self.house,
            facts: self.facts,
            hints: self.hints,
            breakers: self.supplies.breakers(),
            budget: self.budget.saturating_sub(self.cost),
            loops: members(set).map(|f| fragments.all[f].loops).sum(),
            fragments: members(set).count(),
            items,
            found,
            ring: self.netlist.is_neutral(net),
            end: self.may_end() & 1 << net != 0,
            dark: self.dark.len(),
        }
    }
}

impl Fragment {
    fn sites(&self, facts: &Facts, bit: &impl Fn(Site) -> u64) -> u64 {
        let open = self.open.iter().fold(0, |sites, (site, _)| sites | bit(*site));
        // Points to be joined in a box may join a joint as found there.
        self.joints.iter().fold(open, |sites, joint| sites | bit(Site::Apart(facts.joints[*joint].at)))
    }
}

/// What comes of joining everything that can be joined.
enum Joined {
    /// It still falls apart: no way at all.
    Apart,
    /// A tree: there is no other way.
    Tree,
    /// A ring, or more: some joints may be kept apart.
    Ring,
}

/// A joint as found that points may join.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct FoundJoint {
    pub(super) at: BoxId,
    pub(super) fragment: usize,
    /// Its number among all joints as found.
    pub(super) joint: usize,
}

/// A joint to be: the points put into it, and the joint as found that it extends.
#[derive(Clone, Debug)]
pub(super) struct Bin {
    pub(super) site: Site,
    pub(super) found: Option<FoundJoint>,
    pub(super) items: Vec<usize>,
}

/// Numbers fragments as they come up, so that the same points are the same question.
fn number(items: &mut [(Site, Item)], found: &mut [FoundJoint]) {
    let mut known: Vec<usize> = Vec::new();
    let mut number = |fragment: &mut usize| {
        let at = known.iter().position(|one| one == fragment);
        *fragment = at.unwrap_or_else(|| {
            known.push(*fragment);
            known.len() - 1
        });
    };
    for (_, item) in items {
        if let Item::Wire { fragment, .. } = item {
            number(fragment);
        }
    }
    found.iter_mut().for_each(|found| number(&mut found.fragment));
}

impl Open<'_> {
    fn asked(&self, net: usize) -> Asked {
        Asked {
            net,
            budget: self.budget,
            fragments: self.fragments,
            loops: self.loops,
            items: self.items.clone(),
            found: self.found.clone(),
        }
    }

    fn joined_fully(&self) -> Joined {
        let place = |site: Site| if let Site::Dark(_) = site { Site::Dark(0) } else { site };
        let mut bins: BTreeMap<Site, Bin> = BTreeMap::new();
        for (at, (site, _)) in self.items.iter().enumerate() {
            let site = place(*site);
            bins.entry(site).or_insert(Bin { site, found: None, items: Vec::new() }).items.push(at);
        }
        let bins: Vec<Bin> = bins.into_values().collect();
        let (pieces, rings) = self.shape(&bins);
        match (pieces, rings) {
            (1, 0) => Joined::Tree,
            (1, _) => Joined::Ring,
            _ => Joined::Apart,
        }
    }

    /// The pieces that joints leave the net in, and how many independent rings they close, if joints as found in a box
    /// taken apart in part are one with the points to be joined there.
    fn shape(&self, bins: &[Bin]) -> (usize, usize) {
        let count = self.fragments + bins.len();
        let mut parent: Vec<usize> = (0..count).collect();
        let mut pieces = count;
        let mut rings = self.loops;
        let mut link = |one: usize, other: usize| {
            let (a, b) = (find(&parent, one), find(&parent, other));
            if a == b {
                rings += 1;
            } else {
                parent[a] = b;
                pieces -= 1;
            }
        };
        for (at, bin) in bins.iter().enumerate() {
            let node = self.fragments + at;
            for &item in &bin.items {
                if let Item::Wire { fragment, .. } = self.items[item].1 {
                    link(fragment, node);
                }
            }
            let here = self.found.iter().filter(|found| bin.site == Site::Apart(found.at));
            here.for_each(|found| link(found.fragment, node));
        }
        (pieces, rings)
    }

    /// The way in which all that can be joined is, if every joint has its two points.
    fn only_way(&self) -> Vec<Way> {
        let mut sites: BTreeMap<Option<BoxId>, Vec<usize>> = BTreeMap::new();
        for (at, (site, _)) in self.items.iter().enumerate() {
            let key = if let Site::Apart(b) = site { Some(*b) } else { None };
            sites.entry(key).or_default().push(at);
        }
        let sound = sites.iter().all(|(site, items)| match site {
            Some(_) => self.sound_apart(items, false),
            None => items.len() >= 2,
        });
        let groups = sites.get(&None).map(|items| self.dark_group(items)).into_iter().collect();
        let hidden = sites.iter().filter_map(|(site, items)| self.hidden((*site)?, items, None)).collect();
        if sound { vec![Way { groups, hidden, closed: false }] } else { Vec::new() }
    }

    pub(super) fn sound_apart(&self, items: &[usize], extends: bool) -> bool {
        let alone = || self.end && matches!(self.items[items[0]].1, Item::Wire { .. });
        items.len() >= 2 || extends || (items.len() == 1 && alone())
    }

    /// What touches in a box where some joints were not seen, if these points and a joint as found are one joint.
    pub(super) fn hidden(&self, at: BoxId, items: &[usize], found: Option<usize>) -> Option<FixedJoint> {
        let seen = found.map(|joint| self.facts.joints[joint].clone());
        let none = FixedJoint { at, wires: Vec::new(), terminals: Vec::new() };
        let mut joint = seen.unwrap_or(none);
        for &item in items {
            match self.items[item].1 {
                Item::Wire { wire, .. } if self.facts.wires[wire].hidden => joint.wires.push(wire),
                Item::Terminal(device, terminal) if self.hides(device, terminal) => {
                    joint.terminals.push((device, terminal));
                }
                _ => {}
            }
        }
        joint.wires.sort_unstable();
        joint.terminals.sort_unstable();
        let here = found.map_or(1, |found| {
            let seen = &self.facts.joints[found];
            seen.wires.len() + seen.terminals.len()
        });
        (joint.wires.len() + joint.terminals.len() > here).then_some(joint)
    }

    fn hides(&self, device: DeviceId, terminal: Terminal) -> bool {
        let outlet = self.house.outlet(self.house.device(device).at);
        let point = LocalPoint::Terminal(device, terminal);
        outlet.hides(point) && !is_apart(&outlet.apart, point)
    }

    pub(super) fn dark_group(&self, items: &[usize]) -> DarkGroup {
        let mut group = DarkGroup { at: vec![0; self.dark], ..DarkGroup::default() };
        for &item in items {
            let (site, item) = self.items[item];
            if let Site::Dark(d) = site {
                group.at[d] += 1;
            }
            match item {
                Item::Wire { wire, .. } => group.wires.push(wire),
                Item::Terminal(device, terminal) => group.terminals.push((device, terminal)),
                Item::Pole(pole) => group.poles.push(pole),
            }
        }
        group
    }

    /// How many readings speak against joining two points in the dark; `None` where they are not joined whatever else is.
    pub(super) fn against(&self, one: usize, other: usize) -> Option<usize> {
        let Some(hints) = self.hints else { return Some(0) };
        match (self.items[one].1, self.items[other].1) {
            (Item::Wire { wire, .. }, Item::Wire { wire: other, .. }) => Some(hints.against(wire, other)),
            (Item::Wire { wire, .. }, Item::Pole(pole)) | (Item::Pole(pole), Item::Wire { wire, .. }) => {
                (!hints.not_pole(wire, pole, self.breakers)).then_some(0)
            }
            _ => Some(0),
        }
    }

    /// How many readings speak against keeping two points in the dark apart.
    pub(super) fn read_closed(&self, one: usize, other: usize) -> usize {
        match (self.hints, self.items[one].1, self.items[other].1) {
            (Some(hints), Item::Wire { wire, .. }, Item::Wire { wire: other, .. }) => {
                hints.read_closed(wire, other)
            }
            _ => 0,
        }
    }

    /// In one dark box a net has at most two joints.
    pub(super) fn two_joints_a_box(&self, bins: &[Bin]) -> bool {
        (0..self.dark).all(|d| {
            let here = |bin: &&Bin| bin.items.iter().any(|&item| self.items[item].0 == Site::Dark(d));
            bins.iter().filter(here).count() <= 2
        })
    }
}

fn find(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}
