//! The whole space: every wiring, grouped by its walls.

use super::facts::Facts;
use super::netlist::{self, Netlist};
use super::pairing::Search;
use super::walls::Walls;
use super::weights;
use crate::house::{BoxId, DeviceId, EndId, House, LocalPoint, Place};
use crate::knowledge::Knowledge;
use std::collections::BTreeMap;

/// How far to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Options {
    /// How many boxes nobody knows of there may be (0 or 1).
    pub buried: u8,
}

impl Default for Options {
    fn default() -> Options {
        Options { buried: 1 }
    }
}

/// Where a seen cable end goes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Dest {
    /// To another end that was seen.
    End(EndId),
    /// Into a box nobody has opened.
    Box(BoxId),
    /// Into a box nobody knows of.
    Buried(u8),
    /// To the panel.
    Panel,
    /// On to the rest of the house.
    Onward,
}

/// What a wire carries: the number of a net of the netlist, or [`Label::SPARE`] or [`Label::GROUND`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Label(pub u8);

impl Label {
    /// Joined to nothing.
    pub const SPARE: Label = Label(30);
    /// A grounding conductor.
    pub const GROUND: Label = Label(31);
}

/// One complete wiring, as far as it makes a difference to anybody.
#[derive(Clone, PartialEq, Debug)]
pub struct Wiring {
    /// Which netlist of the space.
    pub netlist: usize,
    /// Where the feed's line enters.
    pub feed: Place,
    /// Where each seen end goes.
    pub dests: Vec<Dest>,
    /// What each wire end carries; interchangeable nets are numbered in the order in which wires carry them.
    pub labels: Vec<Label>,
    /// Prior weight, normalised over the space.
    pub weight: f64,
}

/// Walls, and the wirings that have them.
#[derive(Clone, PartialEq, Debug)]
pub struct WallsRow {
    /// The walls.
    pub walls: Walls,
    /// The wirings, heaviest first.
    pub wirings: Vec<Wiring>,
}

impl WallsRow {
    /// The prior weight of all wirings with these walls.
    pub fn weight(&self) -> f64 {
        self.wirings.iter().map(|wiring| wiring.weight).sum()
    }
}

/// Every wiring that fits the survey, grouped by walls, heaviest first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Space {
    /// The netlists that wirings refer to.
    pub netlists: Vec<Netlist>,
    /// The wirings.
    pub rows: Vec<WallsRow>,
}

impl Space {
    /// Enumerates the space of a house.
    pub fn new(house: &House, knowledge: &Knowledge, options: Options) -> Space {
        let facts = Facts::new(house);
        let fixed = |device: DeviceId| {
            let outlet = house.outlet(house.device(device).at);
            let terminals = house.device(device).terminals();
            let free =
                |terminal| super::facts::is_apart(&outlet.apart, LocalPoint::Terminal(device, terminal));
            outlet.opened && !terminals.into_iter().any(free)
        };
        let netlists = netlist::netlists(house, &knowledge.schemes, fixed);
        let mut found = BTreeMap::new();
        for buried in 0..=options.buried {
            for netlist in &netlists {
                let same = |other: &Netlist| other.scheme == netlist.scheme && other.order == netlist.order;
                let named = netlists.iter().position(same).unwrap_or(0);
                Search::new(house, &facts, netlist, named, buried, &mut found).run();
            }
        }
        let weighed = weights::weigh(&facts, knowledge, &netlists, found.into_values().collect());
        Space { rows: group(weighed), netlists }
    }

    /// How many wirings there are: those that differ in pairing, in what a wire at an opened box carries, in the feed
    /// box, the scheme or the order of the switches.
    pub fn projected(&self) -> usize {
        let wirings = self.rows.iter().flat_map(|row| &row.wirings);
        let keys = wirings.map(|w| {
            let netlist = &self.netlists[w.netlist];
            (&netlist.scheme, &netlist.order, w.feed, &w.dests, &w.labels)
        });
        keys.collect::<std::collections::BTreeSet<_>>().len()
    }
}

/// A wiring with its walls, before it is weighed.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Found {
    pub(super) walls: Walls,
    pub(super) wiring: Wiring,
    /// The neutral is joined at both ends of a ring.
    pub(super) closed: bool,
    pub(super) buried: u8,
}

fn group(found: Vec<Found>) -> Vec<WallsRow> {
    let mut rows: BTreeMap<Walls, Vec<Wiring>> = BTreeMap::new();
    for Found { walls, wiring, .. } in found {
        rows.entry(walls).or_default().push(wiring);
    }
    let mut rows: Vec<WallsRow> =
        rows.into_iter().map(|(walls, wirings)| WallsRow { walls, wirings }).collect();
    for row in &mut rows {
        row.wirings.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    }
    rows.sort_by(|a, b| b.weight().total_cmp(&a.weight()));
    rows
}
