//! Joining one net where nobody has looked: in boxes taken apart and in the dark.
//!
//! A net must come out as a tree over its joints (the neutral may close a ring). Seen from here its fragments are
//! already trees; what is left is to say which of their ends, and which terminals, meet in which joint of each such
//! place. All dark boxes together are one place: how cables between them do it is `dark`'s question.

use super::dark::Cables;
use super::facts::is_apart;
use super::facts::{Facts, FixedJoint, WireIndex};
use super::hints::Hints;
use super::laying::{Fragment, FragmentSet, Fragments, members};
use super::pairing::{Dark, Entry, Search};
use crate::house::{BoxId, DeviceId, House, LocalPoint, Terminal};
use crate::knowledge::Pole;
use std::collections::BTreeMap;

/// A ring with more points to be joined than this has too many ways to list.
const MOST_POINTS: usize = 12;

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
    /// Whether readings leave it that all these points are joined.
    fn is_possible(&self, hints: &Hints) -> bool {
        let pole = |pole: &Pole| usize::from(*pole == Pole::Neutral);
        let to_pole = |wire: WireIndex| self.poles.iter().any(|p| hints.not_pole(wire, pole(p)));
        let apart = |at: usize| {
            let one = self.wires[at];
            to_pole(one) || self.wires[at + 1..].iter().any(|&other| hints.apart(one, other))
        };
        !(0..self.wires.len()).any(apart)
    }
}

/// One way to join a net, before it is asked how cables in the dark can do it.
struct Way {
    groups: Vec<DarkGroup>,
    hidden: Vec<FixedJoint>,
    closed: bool,
}

/// One way to join a net: its groups in the dark, and whether it closes a ring.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Closing {
    pub(super) groups: Vec<DarkGroup>,
    /// Joints in opened boxes that were not seen.
    pub(super) hidden: Vec<FixedJoint>,
    pub(super) closed: bool,
    /// The sets of cables between dark boxes that can do it; none where there are too many to list.
    pub(super) cables: Option<Vec<Cables>>,
}

/// A point of the net whose joint is not a fact.
#[derive(Clone, Copy, Debug)]
enum Item {
    Wire { wire: WireIndex, fragment: usize },
    Terminal(DeviceId, Terminal),
    Pole(Pole),
}

/// Where a point is: a box taken apart, or a dark box.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Site {
    Apart(BoxId),
    Dark(Dark),
}

/// What is joined in the dark and in joints that were not seen, and whether that takes a ring.
type Ways = BTreeMap<(Vec<DarkGroup>, Vec<FixedJoint>), bool>;

/// One net's open question.
struct Open<'a> {
    house: &'a House,
    facts: &'a Facts,
    /// Fragments of the net, by number.
    fragments: Vec<usize>,
    /// Points to be joined, each with its place, boxes taken apart first.
    items: Vec<(Site, Item)>,
    /// Joints as found in boxes apart, or seen, in part, which points there may join.
    found: Vec<FoundJoint>,
    /// How often fragments already close on themselves.
    loops: usize,
    /// May close a ring.
    ring: bool,
    /// A wire may end alone in a box taken apart.
    end: bool,
    dark: usize,
}

impl<'a> Search<'a> {
    /// Every way to join a net that consists of a set of fragments, told apart by what is joined where nobody has looked.
    pub(super) fn closings(&mut self, fragments: &Fragments, net: usize, set: FragmentSet) -> Vec<Closing> {
        let ring = self.pole_net(Pole::Neutral) == Some(net);
        let fixed = self.fixed_items(net);
        if self.falls_apart(fragments, &fixed, set, ring) {
            return Vec::new();
        }
        let open = self.open(fragments, net, set, fixed);
        let ways = self.all_ways(&open);
        let possible = |way: &Way| {
            self.hints.is_none_or(|hints| way.groups.iter().all(|group| group.is_possible(hints)))
        };
        let with_cables = |Way { groups, hidden, closed }: Way| {
            let cables = self.cables_for(net, &groups);
            let some = cables.as_ref().is_none_or(|cables| !cables.is_empty());
            some.then_some(Closing { groups, hidden, closed, cables })
        };
        ways.into_iter().filter(possible).filter_map(with_cables).collect()
    }

    fn all_ways(&mut self, open: &Open) -> Vec<Way> {
        match open.joined_fully() {
            Joined::Apart => Vec::new(),
            Joined::Tree if open.found.is_empty() => open.only_way(),
            Joined::Tree | Joined::Ring if open.items.len() > MOST_POINTS => {
                self.found.give_up();
                Vec::new()
            }
            Joined::Tree | Joined::Ring => open.every_way(),
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
        for (entry, pole) in self.feed.iter().zip([Pole::Line, Pole::Neutral]) {
            if let (Entry::Dark(d), true) = (entry, self.pole_net(pole) == Some(net)) {
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
        items.sort_by_key(|(site, _)| *site);
        let apart_here = |at: &BoxId| items.iter().any(|(site, _)| *site == Site::Apart(*at));
        let joint =
            |fragment: usize, joint: usize| FoundJoint { at: self.facts.joints[joint].at, fragment, joint };
        let joints = members(set).flat_map(|f| fragments.all[f].joints.iter().map(move |&j| joint(f, j)));
        let found = joints.filter(|found| apart_here(&found.at)).collect();
        Open {
            house: self.house,
            facts: self.facts,
            loops: members(set).map(|f| fragments.all[f].loops).sum(),
            fragments: members(set).collect(),
            items,
            found,
            ring: self.pole_net(Pole::Neutral) == Some(net),
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
#[derive(Clone, Copy, Debug)]
struct FoundJoint {
    at: BoxId,
    fragment: usize,
    /// Its number among all joints as found.
    joint: usize,
}

/// A joint to be: the points put into it, and the joint as found that it extends.
#[derive(Clone, Debug)]
struct Bin {
    site: Site,
    found: Option<FoundJoint>,
    items: Vec<usize>,
}

impl Open<'_> {
    fn joined_fully(&self) -> Joined {
        let place = |site: Site| if let Site::Dark(_) = site { Site::Dark(0) } else { site };
        let mut bins: BTreeMap<Site, Bin> = BTreeMap::new();
        for (at, (site, _)) in self.items.iter().enumerate() {
            let site = place(*site);
            bins.entry(site).or_insert(Bin { site, found: None, items: Vec::new() }).items.push(at);
        }
        let bins: Vec<Bin> = bins.into_values().collect();
        let (pieces, rings) = self.shape(&bins, true);
        match (pieces, rings) {
            (1, 0) => Joined::Tree,
            (1, _) => Joined::Ring,
            _ => Joined::Apart,
        }
    }

    /// The pieces that a choice of joints leaves the net in, and how many independent rings it closes. With `merge`,
    /// joints as found in a box taken apart in part count as one with the points to be joined there.
    fn shape(&self, bins: &[Bin], merge: bool) -> (usize, usize) {
        let count = self.fragments.len() + bins.len();
        let mut parent: Vec<usize> = (0..count).collect();
        let mut pieces = count;
        let mut rings = self.loops;
        let number = |fragment: usize| self.fragments.iter().position(|f| *f == fragment).unwrap_or(0);
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
            let node = self.fragments.len() + at;
            for &item in &bin.items {
                if let Item::Wire { fragment, .. } = self.items[item].1 {
                    link(number(fragment), node);
                }
            }
            bin.found.iter().for_each(|found| link(number(found.fragment), node));
            if merge {
                let here = self.found.iter().filter(|found| bin.site == Site::Apart(found.at));
                here.for_each(|found| link(number(found.fragment), node));
            }
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

    fn sound_apart(&self, items: &[usize], extends: bool) -> bool {
        let alone = || self.end && matches!(self.items[items[0]].1, Item::Wire { .. });
        items.len() >= 2 || extends || (items.len() == 1 && alone())
    }

    /// What touches in a box where some joints were not seen, if these points and a joint as found are one joint.
    fn hidden(&self, at: BoxId, items: &[usize], found: Option<usize>) -> Option<FixedJoint> {
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

    fn dark_group(&self, items: &[usize]) -> DarkGroup {
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

    /// Every way to keep joints apart that leaves one piece, without a ring where none is allowed.
    fn every_way(&self) -> Vec<Way> {
        let found = self.found.iter().map(|&found| Bin {
            site: Site::Apart(found.at),
            found: Some(found),
            items: Vec::new(),
        });
        let mut bins: Vec<Bin> = found.collect();
        let mut ways = Ways::new();
        self.fill(0, &mut bins, &mut ways);
        ways.into_iter().map(|((groups, hidden), closed)| Way { groups, hidden, closed }).collect()
    }

    /// Puts point `at` and those after it into joints, in every way.
    fn fill(&self, at: usize, bins: &mut Vec<Bin>, ways: &mut Ways) {
        if at == self.items.len() {
            self.judge(bins, ways);
            return;
        }
        let site = self.items[at].0;
        let same = |bin: &Bin| match (bin.site, site) {
            (Site::Dark(_), Site::Dark(_)) => true,
            (one, other) => one == other,
        };
        for bin in 0..bins.len() {
            if same(&bins[bin]) {
                bins[bin].items.push(at);
                self.fill(at + 1, bins, ways);
                bins[bin].items.pop();
            }
        }
        let new_here = bins.iter().filter(|bin| same(bin) && bin.found.is_none()).count();
        let room = if let Site::Dark(_) = site { 2 * self.dark } else { 2 };
        if new_here < room {
            bins.push(Bin { site, found: None, items: vec![at] });
            self.fill(at + 1, bins, ways);
            bins.pop();
        }
    }

    fn judge(&self, bins: &[Bin], ways: &mut Ways) {
        let used: Vec<Bin> = bins.iter().filter(|bin| !bin.items.is_empty()).cloned().collect();
        let sound = used.iter().all(|bin| match bin.site {
            Site::Apart(_) => self.sound_apart(&bin.items, bin.found.is_some()),
            Site::Dark(_) => bin.items.len() >= 2,
        });
        if !sound || !self.two_joints_a_box(&used) {
            return;
        }
        let (pieces, rings) = self.shape(&used, false);
        if pieces != 1 || (rings > 0 && !self.ring) {
            return;
        }
        let dark = used.iter().filter(|bin| matches!(bin.site, Site::Dark(_)));
        let mut groups: Vec<DarkGroup> = dark.map(|bin| self.dark_group(&bin.items)).collect();
        groups.sort();
        let hidden = used.iter().filter_map(|bin| match bin.site {
            Site::Apart(at) => self.hidden(at, &bin.items, bin.found.map(|found| found.joint)),
            Site::Dark(_) => None,
        });
        let mut hidden: Vec<FixedJoint> = hidden.collect();
        hidden.sort();
        let closed = ways.entry((groups, hidden)).or_insert(true);
        *closed &= rings > 0;
    }

    /// In one dark box a net has at most two joints.
    fn two_joints_a_box(&self, bins: &[Bin]) -> bool {
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
