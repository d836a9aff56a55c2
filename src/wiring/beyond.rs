//! What a box nobody has opened takes on to the rest of the house.

use super::facts::Facts;
use super::netlist::Netlist;
use super::space::{Dest, Wiring};
use super::walls::{Group, Walls};
use crate::house::{BoxId, House, Place};
use crate::knowledge::Pole;
use std::collections::BTreeSet;

/// The same walls with a cable more that goes on, with line and neutral, from a box nobody has opened: once for each
/// place where what hangs on it shows. On the poles of the feed it does not.
pub(super) fn unseen(
    house: &House,
    facts: &Facts,
    netlist: &Netlist,
    walls: &Walls,
    wiring: &Wiring,
) -> Vec<Walls> {
    let on = |at: BoxId, pole: Pole, of_feed: Group| -> BTreeSet<Group> {
        let Some(net) = netlist.nets.iter().position(|net| net.poles.contains(&pole)) else {
            return BTreeSet::new();
        };
        let there = |wire: &usize| {
            let end = usize::from(facts.wires[*wire].end.0);
            wiring.dests[end] == Dest::Box(at) && usize::from(wiring.labels[*wire].0) == net
        };
        let wires = (0..facts.wires.len()).filter(there).map(|wire| walls.wires[wire]);
        let feed = (wiring.feed == Place::Box(at)).then_some(of_feed);
        wires.chain(feed).collect()
    };
    let mut all = Vec::new();
    for at in house.box_ids().filter(|&at| !house.outlet(at).opened) {
        let neutrals = on(at, Pole::Neutral, walls.neutral);
        for line in on(at, Pole::Line, walls.line) {
            let pairs = neutrals.iter().map(|&neutral| [line, neutral]);
            let shows =
                |pair: &[Group; 2]| *pair != [walls.line, walls.neutral] && !walls.onward.contains(pair);
            all.extend(pairs.filter(shows).map(|pair| {
                let mut walls = walls.clone();
                walls.onward.push(pair);
                walls.onward.sort_unstable();
                walls
            }));
        }
    }
    all
}
