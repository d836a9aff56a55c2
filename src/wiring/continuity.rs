//! What ohms readings say of the wires as a whole: which of them hang together.
//!
//! Wires and joints that read closed to each other are one class, whichever way they are joined. A pairing of cable ends
//! joins some of them for good; where that parts a class, or puts classes together that read open, so many readings or
//! failures at least have to explain it. A search is cut by this long before every end has its destination.

use super::facts::{Facts, WireIndex};
use super::hints::{closed, touching};
use crate::call::{Ask, Conditions, LampState, Reading};
use crate::house::{DeviceId, House, LocalPoint};
use std::collections::BTreeMap;

/// More nodes than this are not compared: no space of so many wires is listed.
const MOST_NODES: usize = 64;

/// The ohms readings of a call, one entry for each set of conditions under which they were taken.
#[derive(Clone, Debug, Default)]
pub(super) struct Continuity(Vec<Probed>);

/// What is joined behind the plaster, as far as it is decided.
pub(super) struct Joined<'a> {
    /// For each wire a name of what it is joined to.
    pub(super) group: &'a dyn Fn(WireIndex) -> usize,
    /// Whether a wire may be joined to more than that.
    pub(super) more: &'a dyn Fn(WireIndex) -> bool,
}

/// Readings taken under the same conditions.
#[derive(Clone, Debug)]
struct Probed {
    /// For each wire the first of those it touches in sight.
    node: Vec<WireIndex>,
    /// Whether a wire may touch, at its box, more than that.
    loose: Vec<bool>,
    /// For each wire that was measured its class.
    class: Vec<Option<usize>>,
    /// For each class those that read open to it, one bit each.
    open: Vec<u64>,
}

impl Continuity {
    pub(super) fn new(house: &House, facts: &Facts, readings: &[&Reading]) -> Continuity {
        let mut votes: BTreeMap<&Conditions, BTreeMap<[WireIndex; 2], i32>> = BTreeMap::new();
        for reading in readings.iter().filter(|reading| reading.conditions.jumpers.is_empty()) {
            let Ask::Ohms(pairs) = &reading.ask else { continue };
            for ((p, q), seen) in pairs.iter().zip(&reading.seen) {
                let node = |point| {
                    let wires = touching(house, facts, &reading.conditions, point)?;
                    wires.into_iter().find(|wire| !facts.wires[*wire].ground)
                };
                let (Some(p), Some(q), Some(closed)) = (node(*p), node(*q), closed(*seen)) else { continue };
                let of = votes.entry(&reading.conditions).or_default();
                *of.entry([p.min(q), p.max(q)]).or_default() += if closed { 1 } else { -1 };
            }
        }
        let probed =
            votes.iter().filter_map(|(conditions, votes)| Probed::new(house, facts, conditions, votes));
        Continuity(probed.collect())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many readings or failures at least it takes to explain that wires are joined so.
    pub(super) fn at_odds(&self, joined: &Joined) -> usize {
        self.0.iter().map(|probed| probed.at_odds(joined)).max().unwrap_or(0)
    }
}

impl Probed {
    fn new(
        house: &House,
        facts: &Facts,
        conditions: &Conditions,
        votes: &BTreeMap<[WireIndex; 2], i32>,
    ) -> Option<Probed> {
        let (node, loose) = in_sight(house, facts, conditions);
        let mut nodes: Vec<WireIndex> = votes.keys().flatten().map(|wire| node[*wire]).collect();
        nodes.sort_unstable();
        nodes.dedup();
        let at = |wire: WireIndex| nodes.binary_search(&node[wire]).unwrap_or(0);
        let mut between = vec![vec![0; nodes.len()]; nodes.len()];
        for (&[p, q], vote) in votes.iter().filter(|([p, q], _)| node[*p] != node[*q]) {
            between[at(p)][at(q)] += vote;
            between[at(q)][at(p)] += vote;
        }
        if nodes.len() > MOST_NODES || between.iter().flatten().all(|vote| *vote == 0) {
            return None;
        }
        let (of_node, open) = classes(between);
        let measured = |wire: WireIndex| nodes.binary_search(&node[wire]).ok().map(|at| of_node[at]);
        let class = (0..node.len()).map(measured).collect();
        Some(Probed { node, loose, class, open })
    }

    fn at_odds(&self, joined: &Joined) -> usize {
        let wires = self.node.len();
        let mut parent: Vec<usize> = self.node.clone();
        let mut first: Vec<Option<WireIndex>> = vec![None; 2 * wires];
        for wire in 0..wires {
            let group = (joined.group)(wire);
            if group >= first.len() {
                first.resize(group + 1, None);
            }
            let twin = *first[group].get_or_insert(wire);
            let (a, b) = (root(&parent, wire), root(&parent, twin));
            parent[a] = b;
        }
        // For each piece its classes, and whether it may be part of a larger one.
        let mut pieces: Vec<(u64, bool)> = vec![(0, false); wires];
        for wire in 0..wires {
            let (classes, more) = &mut pieces[root(&parent, wire)];
            *classes |= self.class[wire].map_or(0, |class| 1 << class);
            *more |= self.loose[wire] || (joined.more)(wire);
        }
        let breaks: usize = pieces.iter().map(|(classes, _)| self.apart(*classes).saturating_sub(1)).sum();
        // The pieces a class is in: the first of those that may be larger may hold it together with all the others.
        let (mut once, mut twice, mut larger) = (0u64, 0, 0);
        for &(classes, more) in &pieces {
            if more {
                larger |= classes;
            } else {
                twice += (once & classes).count_ones();
                once |= classes;
            }
        }
        breaks + (twice + (once & larger).count_ones()) as usize
    }

    /// How many of some classes read open to each other, all of them: not always the most there are.
    fn apart(&self, classes: u64) -> usize {
        let (mut left, mut kept) = (classes, 0u64);
        while left != 0 {
            let class = left.trailing_zeros() as usize;
            left &= left - 1;
            if kept & !self.open[class] == 0 {
                kept |= 1 << class;
            }
        }
        kept.count_ones() as usize
    }
}

/// For each wire the first it touches in sight under these conditions; and whether it may touch more at its box.
pub(super) fn in_sight(house: &House, facts: &Facts, conditions: &Conditions) -> (Vec<WireIndex>, Vec<bool>) {
    let mut node: Vec<WireIndex> = (0..facts.wires.len()).collect();
    let mut loose: Vec<bool> = facts.wires.iter().map(|wire| wire.ground || wire.hidden).collect();
    for &wire in &conditions.lifted {
        let wire = facts.index(wire);
        loose[wire] = facts.wires[wire].ground;
    }
    for outlet in &house.boxes {
        for joint in &outlet.joints {
            let wire = |point: &LocalPoint| match point {
                LocalPoint::Wire(wire) if !conditions.lifted.contains(wire) => Some(facts.index(*wire)),
                _ => None,
            };
            let wires: Vec<WireIndex> = joint.points.iter().filter_map(wire).collect();
            let device = |point: &LocalPoint| match point {
                LocalPoint::Terminal(device, _) => Some(*device),
                _ => None,
            };
            let off = |device: &DeviceId| conditions.out.contains(device);
            let mut devices = joint.points.iter().filter_map(device);
            // Wires under one screw part when it is taken off, or they do not.
            let parts = devices.clone().any(|device| off(&device)) && !outlet.doubled.is_empty();
            let conducts = devices.any(|device| !off(&device) && !is_dark(house, conditions, device));
            let on_metal = joint.points.iter().any(|point| matches!(point, LocalPoint::Metal(_)));
            let sure = joint.sure && !parts;
            for &wire in &wires {
                loose[wire] |= conducts || on_metal || !sure;
                if sure {
                    node[wire] = wires[0];
                }
            }
        }
    }
    (node, loose)
}

/// Whether a device is a light with no lamp in it.
fn is_dark(house: &House, conditions: &Conditions, device: DeviceId) -> bool {
    let mut lights = house.lights().zip(&conditions.lamps);
    lights.any(|(light, lamp)| light == device && *lamp == Some(LampState::Out))
}

/// The class of each node, and for each class those that read open to it. Classes are put together as long as more
/// readings between them say closed than open.
fn classes(mut between: Vec<Vec<i32>>) -> (Vec<usize>, Vec<u64>) {
    let nodes = between.len();
    let mut into: Vec<usize> = (0..nodes).collect();
    let mut alive: Vec<usize> = (0..nodes).collect();
    loop {
        let pairs = alive.iter().flat_map(|&a| alive.iter().map(move |&b| (a, b))).filter(|(a, b)| a < b);
        let Some((a, b)) = pairs.max_by_key(|&(a, b)| between[a][b]).filter(|&(a, b)| between[a][b] > 0)
        else {
            break;
        };
        alive.retain(|&other| other != b);
        into.iter_mut().filter(|class| **class == b).for_each(|class| *class = a);
        for &other in alive.iter().filter(|other| **other != a) {
            let vote = between[b][other];
            between[a][other] += vote;
            between[other][a] += vote;
        }
    }
    let number = |class: usize| alive.iter().position(|a| *a == class).unwrap_or(0);
    let open = |a: &usize| {
        let apart = alive.iter().enumerate().filter(|(_, b)| between[*a][**b] < 0);
        apart.fold(0, |set, (at, _)| set | 1 << at)
    };
    (into.iter().map(|&class| number(class)).collect(), alive.iter().map(open).collect())
}

fn root(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}

#[cfg(test)]
mod tests {
    use super::{Joined, Probed, WireIndex, classes};

    /// Two cables of two wires: 0 and 1 read closed, 2 and 3 read closed, all else open.
    fn probed() -> Probed {
        Probed {
            node: vec![0, 1, 2, 3],
            loose: vec![false; 4],
            class: vec![Some(0), Some(0), Some(1), Some(1)],
            open: vec![0b10, 0b01],
        }
    }

    fn at_odds(groups: [usize; 4], open_ended: &[WireIndex]) -> usize {
        let more = |wire: WireIndex| open_ended.contains(&wire);
        probed().at_odds(&Joined { group: &|wire| groups[wire], more: &more })
    }

    #[test]
    fn what_is_joined_as_it_read_is_at_odds_with_nothing() {
        assert_eq!(at_odds([0, 0, 1, 1], &[]), 0);
    }

    /// Two cables break, and each pair is joined some other way.
    #[test]
    fn wires_joined_across_are_at_odds_with_a_break_and_a_bridge_each() {
        assert_eq!(at_odds([0, 1, 0, 1], &[]), 4);
    }

    /// What may yet be joined is no odds; what cannot be any more is.
    #[test]
    fn a_class_in_two_pieces_takes_a_bridge_unless_one_may_grow_to_the_other() {
        assert_eq!(at_odds([0, 1, 2, 2], &[]), 1);
        assert_eq!(at_odds([0, 1, 2, 2], &[1]), 1);
        assert_eq!(at_odds([0, 1, 2, 2], &[0, 1]), 0);
    }

    /// 1 and 3 read closed by mistake: three readings between the pairs say open.
    #[test]
    fn a_wrong_reading_does_not_make_two_classes_one() {
        let (closed, open) = (1, -1);
        let between = vec![
            vec![0, closed, open, open],
            vec![closed, 0, open, closed],
            vec![open, open, 0, closed],
            vec![open, closed, closed, 0],
        ];
        let (class, apart) = classes(between);
        assert_eq!((class[0] == class[1], class[2] == class[3], class[0] == class[2]), (true, true, false));
        assert_eq!(apart[class[0]], 1 << class[2]);
    }
}
