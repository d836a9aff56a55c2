//! Whether boxes nobody has looked into can do what the nets ask of them.
//!
//! Between two dark boxes runs at most one cable, with the nets it needs and no others. Each group of points that are
//! joined in the dark takes a tree of such cables over the boxes it touches; a tree may pass through a box on its way.

use super::closing::DarkGroup;
use super::facts::{Facts, base_colour};
use super::laying::Fragments;
use super::pairing::{Entry, GROUND, SPARE, Search};
use super::space::Dest;
use crate::house::Place;
use std::collections::BTreeSet;

/// A set of cables between dark boxes, one bit a pair of boxes.
type Cables = u32;

/// More dark boxes than this are taken to be linked somehow: their trees are too many to list.
const MOST: usize = 5;

impl Search<'_> {
    /// Whether cables between dark boxes can join `groups` (by net) so that the whole run hangs together and each
    /// buried box has reason to be there.
    pub(super) fn dark_can(&self, laid: &Fragments, groups: &[Vec<DarkGroup>]) -> bool {
        let pairs = pairs(self.dark.len());
        if self.dark.len() > MOST {
            return true;
        }
        let mut unions: BTreeSet<Cables> = BTreeSet::from([0]);
        for net in groups {
            let ways = self.ways_of_net(net, &pairs);
            unions = unions.iter().flat_map(|union| ways.iter().map(move |way| union | way)).collect();
        }
        unions.iter().any(|&cables| {
            self.hangs_together(cables, &pairs) && self.buried_have_reason(laid, cables, &pairs)
        })
    }

    /// The sets of cables that can join all groups of one net; no cable carries a net twice.
    fn ways_of_net(&self, groups: &[DarkGroup], pairs: &[(usize, usize)]) -> BTreeSet<Cables> {
        let mut ways: BTreeSet<Cables> = BTreeSet::from([0]);
        for group in groups {
            let trees = trees(&group.at, pairs);
            let apart =
                |way: Cables| trees.iter().filter(move |tree| *tree & way == 0).map(move |tree| tree | way);
            ways = ways.iter().flat_map(|&way| apart(way)).collect();
        }
        ways
    }

    fn hangs_together(&self, cables: Cables, pairs: &[(usize, usize)]) -> bool {
        let boxes = self.house.boxes.len();
        let index = |place: Place| match place {
            Place::Box(at) => usize::from(at.0),
            Place::Buried(n) => boxes + usize::from(n),
            Place::Panel | Place::Onward => 0,
        };
        let mut parent: Vec<usize> = (0..boxes + usize::from(self.buried)).collect();
        let mut pieces = parent.len();
        let mut link = |one: usize, other: usize| {
            let (a, b) = (find(&parent, one), find(&parent, other));
            if a != b {
                parent[a] = b;
                pieces -= 1;
            }
        };
        for (end, dest) in self.facts.ends.iter().zip(&self.dests) {
            let far = match dest {
                Some(Dest::End(far)) => usize::from(self.facts.ends[usize::from(far.0)].at.0),
                Some(Dest::Box(at)) => usize::from(at.0),
                Some(Dest::Buried(n)) => boxes + usize::from(*n),
                Some(Dest::Panel | Dest::Onward) | None => continue,
            };
            link(usize::from(end.at.0), far);
        }
        for (bit, (one, other)) in pairs.iter().enumerate() {
            if cables & (1 << bit) != 0 {
                link(index(self.dark[*one]), index(self.dark[*other]));
            }
        }
        pieces == 1
    }

    /// A buried box has a cable that was seen, and three cables or a change of colours.
    fn buried_have_reason(&self, laid: &Fragments, cables: Cables, pairs: &[(usize, usize)]) -> bool {
        (0..self.dark.len()).filter(|&d| matches!(self.dark[d], Place::Buried(_))).all(|d| {
            let seen: Vec<usize> =
                (0..self.dests.len()).filter(|&e| self.dark_of(self.dests[e]) == Some(d)).collect();
            let dark = pairs
                .iter()
                .enumerate()
                .filter(|(bit, pair)| cables & (1 << bit) != 0 && (pair.0 == d || pair.1 == d));
            let whole = self.feed[0] == self.feed[1];
            let entries = if whole { &self.feed[..1] } else { &self.feed[..] };
            let feeds = entries.iter().filter(|entry| **entry == Entry::Dark(d)).count();
            match (seen.len(), dark.count() + feeds) {
                (0, _) => false,
                (2, 0) => self.changes_colours(laid, seen[0], seen[1]),
                (seen, others) => seen + others >= 3,
            }
        })
    }

    fn changes_colours(&self, laid: &Fragments, one: usize, other: usize) -> bool {
        let Facts { ends, wires, .. } = self.facts;
        let differ = |a: usize, b: usize| {
            let net = laid.masks[laid.of_wire[a]];
            let (one, other) = (base_colour(&wires[a].colour), base_colour(&wires[b].colour));
            net & (SPARE | GROUND) == 0
                && net == laid.masks[laid.of_wire[b]]
                && !one.is_empty()
                && !other.is_empty()
                && one != other
        };
        ends[one].wires().any(|a| ends[other].wires().any(|b| differ(a, b)))
    }
}

fn pairs(boxes: usize) -> Vec<(usize, usize)> {
    (0..boxes).flat_map(|one| (one + 1..boxes).map(move |other| (one, other))).collect()
}

/// The trees of cables that join the boxes with points in them; their tips have points, or the net would end unseen.
fn trees(at: &[u8], pairs: &[(usize, usize)]) -> Vec<Cables> {
    let touched: Vec<usize> = (0..at.len()).filter(|&d| at[d] > 0).collect();
    if touched.len() < 2 {
        return vec![0];
    }
    (0..1u32 << pairs.len()).filter(|&cables| is_tree(cables, at, &touched, pairs)).collect()
}

fn is_tree(cables: Cables, at: &[u8], touched: &[usize], pairs: &[(usize, usize)]) -> bool {
    let mut degree = vec![0usize; at.len()];
    let mut parent: Vec<usize> = (0..at.len()).collect();
    for (_, &(one, other)) in pairs.iter().enumerate().filter(|(bit, _)| cables & (1 << bit) != 0) {
        degree[one] += 1;
        degree[other] += 1;
        let (a, b) = (find(&parent, one), find(&parent, other));
        if a == b {
            return false;
        }
        parent[a] = b;
    }
    let root = find(&parent, touched[0]);
    let reached = |d: &usize| find(&parent, *d) == root;
    touched.iter().all(reached)
        && (0..at.len()).all(|d| degree[d] == 0 || (reached(&d) && (degree[d] > 1 || at[d] > 0)))
}

fn find(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}
