//! By which breakers the lines come.

use super::carried::Carried;
use super::hints::Hints;
use super::netlist::Netlist;
use super::walls::Walls;
use crate::house::House;

/// Of more feeds than this, the first are tried.
const MOST_FEEDS: usize = 3;

/// One way for the lines to come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Supply {
    /// By which of the feeds the line comes, and another circuit's; past those that are named: one nobody named.
    pub(super) breakers: [u8; 2],
    /// The two are on two legs.
    pub(super) opposite: bool,
}

/// Ways of which readings say the same, and what they say.
#[derive(Default)]
pub(super) struct Supplies {
    pub(super) all: Vec<Supply>,
    pub(super) carried: Carried,
}

impl Supplies {
    /// Every way, those together of which readings say the same.
    pub(super) fn every(house: &House, netlist: &Netlist, hints: Option<&Hints>) -> Vec<Supplies> {
        let mut every: Vec<Supplies> = Vec::new();
        for supply in ways(house, netlist) {
            let carried = hints.map(|hints| hints.carried(netlist, supply.breakers)).unwrap_or_default();
            let lines = |other: [u8; 2]| hints.is_none_or(|hints| hints.same_lines(other, supply.breakers));
            match every.iter_mut().find(|one| one.carried == carried && lines(one.breakers())) {
                Some(one) => one.all.push(supply),
                None => every.push(Supplies { all: vec![supply], carried }),
            }
        }
        every
    }

    /// The feeds by which the line and another circuit's come, or others of which readings say the same.
    pub(super) fn breakers(&self) -> [u8; 2] {
        self.all.first().map_or(Walls::BREAKERS, |supply| supply.breakers)
    }
}

/// Which of the feeds that are named can be the line's, and which another circuit's; and whether they can be on two legs.
fn ways(house: &House, netlist: &Netlist) -> Vec<Supply> {
    let named = house.feeds.len();
    let feeds = 0..named.clamp(1, MOST_FEEDS) as u8;
    if !netlist.has_other_circuit() {
        return feeds.map(|own| Supply { breakers: [own, named as u8], opposite: false }).collect();
    }
    let others = |own: u8| feeds.clone().chain((named == 1).then_some(1)).filter(move |there| *there != own);
    let pairs = feeds.clone().flat_map(|own| others(own).map(move |there| [own, there]));
    let leg = |feed: u8| house.feeds.get(usize::from(feed)).and_then(|feed| feed.leg.as_ref());
    let legs = |[own, there]: [u8; 2]| match (leg(own), leg(there)) {
        (Some(one), Some(other)) => vec![one != other],
        _ => vec![false, true],
    };
    let on_legs = |pair| legs(pair).into_iter().map(move |opposite| Supply { breakers: pair, opposite });
    pairs.flat_map(on_legs).collect()
}
