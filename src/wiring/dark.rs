//! Whether boxes nobody has looked into can do what the nets ask of them.
//!
//! Between two dark boxes runs at most one cable, with the nets it needs and no others. Each group of points that are
//! joined in the dark takes a tree of such cables over the boxes it touches; a tree may pass through a box on its way.

use super::closing::{Closing, DarkGroup};
use super::facts::{Facts, base_colour};
use super::pairing::{Entry, Search};
use super::space::Dest;
use crate::house::Place;
use std::collections::BTreeSet;

/// A set of cables between dark boxes, one bit a pair of boxes.
pub(super) type Cables = u32;

/// More dark boxes than this are taken to be linked somehow: their trees are too many to list.
const MOST: usize = 5;

impl Search<'_> {
    /// Whether the cables between dark boxes that each net can do with come to a run that hangs together, where each
    /// buried box has reason to be there.
    pub(super) fn dark_can(&self, labels: &[u8], closings: &[&Closing]) -> bool {
        let mut unions: Vec<Cables> = vec![0];
        for closing in closings {
            let Some(ways) = &closing.cables else { return true };
            if ways[..] == [0] {
                continue;
            }
            unions = unions.iter().flat_map(|union| ways.iter().map(move |way| union | way)).collect();
            unions.sort_unstable();
            unions.dedup();
        }
        let pairs = pairs(self.dark.len());
        unions.iter().any(|&cables| {
            // Where one box at most is dark, what was chosen before hangs together.
            (pairs.is_empty() || self.hangs_together(cables, &pairs))
                && self.buried_have_reason(labels, cables, &pairs)
        })
    }

    /// The sets of cables that can join all groups of one net; no cable carries a net twice.
    pub(super) fn cables_for(&self, net: usize, groups: &[DarkGroup]) -> Option<Vec<Cables>> {
        if self.dark.len() > MOST {
            return None;
        }
        let pairs = pairs(self.dark.len());
        let ring = self.netlist.is_neutral(net);
        let alone = |d: usize| groups.iter().filter(|group| group.at[d] > 0).count() == 1;
        let mut ways: BTreeSet<Cables> = BTreeSet::from([0]);
        for group in groups {
            let joins = joins(&group.at, &pairs, ring, alone);
            let apart =
                |way: Cables| joins.iter().filter(move |join| *join & way == 0).map(move |join| join | way);
            ways = ways.iter().flat_map(|&way| apart(way)).collect();
        }
        Some(ways.into_iter().collect())
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

/// The sets of cables that join the points of a group: a tree over joints. It may pass through boxes without points, and
/// leave a box and come back to it when its points there are kept in two joints. Tips have points, or the net would end
/// unseen. (More than one ring among dark boxes is only considered for a net that may close rings.)
fn joins(at: &[u8], pairs: &[(usize, usize)], ring: bool, alone: impl Fn(usize) -> bool) -> Vec<Cables> {
    let sound = |&cables: &Cables| match shape(cables, at, pairs) {
        None => false,
        Some(Shape { rings: 0, .. }) => true,
        Some(_) if ring => true,
        Some(Shape { rings: 1, round, degree }) => {
            round.iter().any(|&d| usize::from(at[d]) + degree[d] >= 4 && (at[d] == 0 || alone(d)))
        }
        Some(_) => false,
    };
    (0..1u32 << pairs.len()).filter(sound).collect()
}

/// What a set of cables looks like.
struct Shape {
    rings: usize,
    /// Boxes on a ring.
    round: Vec<usize>,
    degree: Vec<usize>,
}

/// `None` where the cables do not join all boxes with points in one piece, go somewhere else too, or end without points.
fn shape(cables: Cables, at: &[u8], pairs: &[(usize, usize)]) -> Option<Shape> {
    let edges: Vec<(usize, usize)> =
        pairs.iter().enumerate().filter(|(bit, _)| cables & (1 << bit) != 0).map(|(_, pair)| *pair).collect();
    let mut degree = vec![0usize; at.len()];
    edges.iter().for_each(|&(one, other)| {
        degree[one] += 1;
        degree[other] += 1;
    });
    let used: Vec<usize> = (0..at.len()).filter(|&d| at[d] > 0 || degree[d] > 0).collect();
    let tips_sound = used.iter().all(|&d| degree[d] != 1 || at[d] > 0);
    let (count, rings) = pieces(&edges, at.len(), &used);
    let round = used
        .iter()
        .copied()
        .filter(|&d| {
            let without: Vec<_> = edges.iter().copied().filter(|&(a, b)| a != d && b != d).collect();
            let others: Vec<usize> = used.iter().copied().filter(|&o| o != d).collect();
            pieces(&without, at.len(), &others).1 < rings
        })
        .collect();
    (tips_sound && count == 1).then_some(Shape { rings, round, degree })
}

/// How many pieces the used boxes fall into, and how many rings the edges close.
fn pieces(edges: &[(usize, usize)], boxes: usize, used: &[usize]) -> (usize, usize) {
    let mut parent: Vec<usize> = (0..boxes).collect();
    let (mut pieces, mut rings) = (used.len(), 0);
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
