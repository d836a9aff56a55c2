//! Whether boxes nobody has looked into can do what the nets ask of them.
//!
//! Between two dark boxes runs at most one cable, with the nets it needs and no others. Each group of points that are
//! joined in the dark takes a tree of such cables over the boxes it touches; a tree may pass through a box on its way.

use super::closing::{Closing, DarkGroup};
use super::facts::{Facts, base_colour};
use super::pairing::{Entry, Search};
use super::space::Dest;
use crate::house::Place;
use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// A set of cables between dark boxes, one bit a pair of boxes.
pub(super) type Cables = u32;

/// More dark boxes than this are taken to be linked somehow: their trees are too many to list.
const MOST: usize = 5;

impl Search<'_> {
    /// Whether the cables between dark boxes that each net can do with come to a run that hangs together, where each
    /// buried box has reason to be there. More cables never take a run apart, nor a box its reason: so of the sets of
    /// cables only the largest are asked about.
    pub(super) fn dark_can(&mut self, labels: &[u8], closings: &[&Closing]) -> bool {
        let pairs = pairs(self.dark.len());
        let can = |search: &Self, cables: Cables| {
            // Where one box at most is dark, what was chosen before hangs together.
            (pairs.is_empty() || search.hangs_together(cables, &pairs))
                && search.buried_have_reason(labels, cables, &pairs)
        };
        let mut of_nets = Vec::with_capacity(closings.len());
        for closing in closings {
            let Some(ways) = &closing.cables else { return true };
            of_nets.push(&ways[..]);
        }
        of_nets.sort_by_key(|ways| Reverse(ways.first().map(|way| way.count_ones())));
        let mut unions: Vec<Cables> = vec![0];
        for ways in of_nets.into_iter().filter(|ways| **ways != [0]) {
            self.found.try_joints((unions.len() * ways.len()) as u64);
            unions = largest(unions.iter().flat_map(|union| ways.iter().map(move |way| union | way)));
            if unions.iter().any(|&cables| can(self, cables)) {
                return true;
            }
        }
        unions == [0] && can(self, 0)
    }

    /// The sets of cables that can join all groups of one net, no cable carrying it twice: those that are in no other.
    pub(super) fn cables_for(&self, net: usize, groups: &[DarkGroup]) -> Option<Vec<Cables>> {
        let shapes = shapes(self.dark.len())?;
        let ring = self.netlist.is_neutral(net);
        let alone = |d: usize| groups.iter().filter(|group| group.at[d] > 0).count() == 1;
        let mut ways: BTreeSet<Cables> = BTreeSet::from([0]);
        for group in groups {
            let joins = joins(&group.at, shapes, ring, alone);
            let apart =
                |way: Cables| joins.iter().filter(move |join| *join & way == 0).map(move |join| join | way);
            ways = ways.iter().flat_map(|&way| apart(way)).collect();
        }
        Some(largest(ways))
    }

    pub(super) fn hangs_together(&self, cables: Cables, pairs: &[(usize, usize)]) -> bool {
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
    fn buried_have_reason(&self, labels: &[u8], cables: Cables, pairs: &[(usize, usize)]) -> bool {
        (0..self.dark.len()).filter(|&d| matches!(self.dark[d], Place::Buried(_))).all(|d| {
            let seen: Vec<usize> =
                (0..self.dests.len()).filter(|&e| self.dark_of(self.dests[e]) == Some(d)).collect();
            let dark = pairs
                .iter()
                .enumerate()
                .filter(|(bit, pair)| cables & (1 << bit) != 0 && (pair.0 == d || pair.1 == d));
            let here = |entry: &Option<Entry>| *entry == Some(Entry::Dark(d));
            // Both poles of a circuit come in one cable.
            let feeds = self.feed.chunks(2).map(|poles| match poles {
                [line, neutral] if line == neutral => usize::from(here(line)),
                poles => poles.iter().filter(|entry| here(entry)).count(),
            });
            let feeds: usize = feeds.sum();
            match (seen.len(), dark.count() + feeds) {
                (0, _) => false,
                (2, 0) => self.changes_colours(labels, seen[0], seen[1]),
                (seen, others) => seen + others >= 3,
            }
        })
    }

    fn changes_colours(&self, labels: &[u8], one: usize, other: usize) -> bool {
        let Facts { ends, wires, .. } = self.facts;
        let differ = |a: usize, b: usize| {
            let (one, other) = (base_colour(&wires[a].colour), base_colour(&wires[b].colour));
            usize::from(labels[a]) < self.netlist.nets.len()
                && labels[a] == labels[b]
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

/// Of some sets those that are no part of another, the largest first.
fn largest(sets: impl IntoIterator<Item = Cables>) -> Vec<Cables> {
    let mut all: Vec<Cables> = sets.into_iter().collect();
    all.sort_unstable_by_key(|set| (Reverse(set.count_ones()), *set));
    all.dedup();
    let mut kept: Vec<Cables> = Vec::new();
    for set in all {
        if kept.iter().all(|other| set & !other != 0) {
            kept.push(set);
        }
    }
    kept
}

/// The sets of cables that join the points of a group: a tree over joints. It may pass through boxes without points, and
/// leave a box and come back to it when its points there are kept in two joints. Tips have points, or the net would end
/// unseen. (More than one ring among dark boxes is only considered for a net that may close rings.)
fn joins(at: &[u8], shapes: &[Shape], ring: bool, alone: impl Fn(usize) -> bool) -> Vec<Cables> {
    let points = boxes(at.len(), |d| at[d] > 0);
    let comes_back = |shape: &Shape, d: usize| {
        shape.round & 1 << d != 0 && at[d] + shape.degree[d] >= 4 && (at[d] == 0 || alone(d))
    };
    let sound = |shape: &Shape| match shape.rings {
        _ if !shape.holds(points) => false,
        0 => true,
        1 => ring || (0..at.len()).any(|d| comes_back(shape, d)),
        _ => ring,
    };
    let all = shapes.iter().zip(0..);
    all.filter(|(shape, _)| sound(shape)).map(|(_, cables)| cables).collect()
}

/// A set of dark boxes, one bit each.
type Boxes = u8;

fn boxes(count: usize, of: impl Fn(usize) -> bool) -> Boxes {
    (0..count).filter(|&d| of(d)).fold(0, |set, d| set | 1 << d)
}

/// What a set of cables looks like.
struct Shape {
    /// Boxes that a cable comes into.
    used: Boxes,
    /// Those with one cable.
    tips: Boxes,
    /// Whether these hang together.
    whole: bool,
    rings: usize,
    /// Boxes on a ring.
    round: Boxes,
    degree: [u8; MOST],
}

impl Shape {
    fn new(cables: Cables, count: usize, pairs: &[(usize, usize)]) -> Shape {
        let edges = pairs.iter().enumerate().filter(|(bit, _)| cables & (1 << bit) != 0);
        let edges: Vec<(usize, usize)> = edges.map(|(_, pair)| *pair).collect();
        let mut degree = [0; MOST];
        edges.iter().flat_map(|&(one, other)| [one, other]).for_each(|d| degree[d] += 1);
        let (used, tips) = (boxes(count, |d| degree[d] > 0), boxes(count, |d| degree[d] == 1));
        let (pieces, rings) = pieces(&edges, used);
        let opens = |d: usize| {
            let without: Vec<_> = edges.iter().copied().filter(|&(a, b)| a != d && b != d).collect();
            self::pieces(&without, used & !(1 << d)).1 < rings
        };
        let round = boxes(count, |d| used & 1 << d != 0 && opens(d));
        Shape { used, tips, whole: pieces <= 1, rings, round, degree }
    }

    /// Whether the cables join all these boxes in one piece, go nowhere else, and end at none but these.
    fn holds(&self, points: Boxes) -> bool {
        let joined = if self.used == 0 { points.count_ones() == 1 } else { points & !self.used == 0 };
        self.whole && joined && self.tips & !points == 0
    }
}

/// Every set of cables between so many boxes; none where they are too many to list.
fn shapes(count: usize) -> Option<&'static [Shape]> {
    static OF: [OnceLock<Vec<Shape>>; MOST + 1] = [const { OnceLock::new() }; MOST + 1];
    let all = || {
        let pairs = pairs(count);
        (0..1 << pairs.len()).map(|cables| Shape::new(cables, count, &pairs)).collect()
    };
    Some(OF.get(count)?.get_or_init(all))
}

/// How many pieces the used boxes fall into, and how many rings the edges close.
fn pieces(edges: &[(usize, usize)], used: Boxes) -> (usize, usize) {
    let mut parent: Vec<usize> = (0..MOST).collect();
    let (mut pieces, mut rings) = (used.count_ones() as usize, 0);
    for &(one, other) in edges {
        let (a, b) = (find(&parent, one), find(&parent, other));
        if a == b {
            rings += 1;
        } else {
            parent[a] = b;
            pieces -= 1;
        }
    }
    (pieces, rings)
}

fn find(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}
