//! Drawing a house the way somebody once wired it.
//!
//! First what shall control what ([`plan`], [`extras`]), then where the cables run and which of them each net takes ([`routes`]),
//! then cables off the reel and who gets which colour ([`pull`]), and last the joints in each box and what a later
//! visitor finds of them ([`makeup`]).

mod extras;
mod makeup;
mod plan;
mod pull;
mod routes;

use super::building::{Building, Circuit};
use super::chance::Chance;
use super::features::{Features, Scheme};
use crate::house::{Grounds, Terminal};
use std::collections::{BTreeMap, BTreeSet};

/// What a wire was pulled for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Net {
    /// A circuit's line.
    Line(usize),
    /// A circuit's neutral.
    Neutral(usize),
    /// From a chain's last switch to its light.
    Load(usize),
    /// Between two switches of a chain: chain, which hop, which of two.
    Traveler(usize, usize, usize),
    /// Between a chain's commons.
    Tie(usize),
    /// From a common to one side of the lamp: chain, which.
    Lead(usize, usize),
    /// A grounding conductor.
    Ground,
    /// Nothing.
    Spare,
}

/// A screw that a net must reach.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Pin {
    net: Net,
    fixture: usize,
    terminal: Terminal,
}

/// A way between two boxes where cable runs.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Route {
    ends: [usize; 2],
    metres: f64,
}

/// In one box a net's way home is kept apart from its way out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Home {
    outlet: usize,
    net: Net,
    route: usize,
}

struct Draft<'a> {
    chance: Chance,
    features: &'a Features,
    building: Building,
    pins: Vec<Pin>,
    /// Where a net comes from, beside its pins.
    entries: Vec<(Net, usize)>,
    routes: Vec<Route>,
    trails: BTreeMap<Net, BTreeSet<usize>>,
    home: Option<Home>,
    /// What each wire of each cable was pulled for.
    carried: Vec<Vec<Net>>,
    singles: bool,
}

/// Draws the house of a seed.
pub fn draw(seed: u64, features: &Features) -> Building {
    let mut chance = Chance::new(seed);
    // A plan that comes to nothing, such as a junction that joins nothing, is drawn again.
    let mut tries = 0;
    loop {
        let next = Chance::new(chance.next_number());
        tries += 1;
        if let Some(building) = Draft::new(next, features).draw(tries > 200) {
            return building;
        }
    }
}

impl<'a> Draft<'a> {
    fn new(mut chance: Chance, features: &'a Features) -> Draft<'a> {
        let supply = chance.between(115.0, 124.0);
        let built = 1918 + chance.below(56) as i32;
        let other_load =
            chance.weighted(&[(0.4, None), (0.2, Some(25.0)), (0.2, Some(150.0)), (0.2, Some(1200.0))]);
        let circuit = Circuit {
            name: format!("{}", 1 + chance.below(12)),
            listed: true,
            leg: 1.0,
            other_load: other_load.flatten().map(|ohms| ohms * chance.between(0.8, 1.6)),
            neutral_lost: false,
            breaker: 0,
        };
        let building = Building {
            supply,
            built,
            grounds: Grounds::None,
            circuits: vec![circuit],
            outlets: Vec::new(),
            fixtures: Vec::new(),
            cables: Vec::new(),
            loads: Vec::new(),
            scheme: "",
            features: Vec::new(),
            faults: Vec::new(),
            chains: Vec::new(),
        };
        Draft {
            singles: chance.often(features.singles),
            chance,
            features,
            building,
            pins: Vec::new(),
            entries: Vec::new(),
            routes: Vec::new(),
            trails: BTreeMap::new(),
            home: None,
            carried: Vec::new(),
        }
    }

    /// All steps; nothing where the plan does not work out. With `lenient`, a box that joins little is let be.
    fn draw(mut self, lenient: bool) -> Option<Building> {
        let scheme = self.chance.weighted(&self.features.schemes).unwrap_or(Scheme::Conventional);
        self.building.scheme = scheme.name();
        self.plan(scheme);
        self.extras(scheme);
        self.junctions();
        self.enter();
        self.lay_routes();
        self.lay_trails();
        self.pull();
        self.feed();
        self.onward();
        if !lenient && !self.boxes_earn_their_place() {
            return None;
        }
        self.tag();
        self.make_up();
        self.look();
        self.blank_screws();
        self.take_apart();
        self.bundle();
        Some(self.building)
    }

    fn mark(&mut self, feature: &'static str) {
        if !self.building.features.contains(&feature) {
            self.building.features.push(feature);
        }
    }

    fn often(&mut self, share: f64) -> bool {
        self.chance.often(share)
    }

    /// The boxes where a net must come: its screws and where it enters.
    fn stops(&self, net: Net) -> BTreeSet<usize> {
        let screws = self.pins.iter().filter(|pin| pin.net == net);
        let screws = screws.map(|pin| self.building.fixtures[pin.fixture].outlet);
        let entries = self.entries.iter().filter(|(entry, _)| *entry == net).map(|(_, outlet)| *outlet);
        screws.chain(entries).collect()
    }

    /// All nets that have a screw or an entry.
    fn nets(&self) -> BTreeSet<Net> {
        let pins = self.pins.iter().map(|pin| pin.net);
        pins.chain(self.entries.iter().map(|(net, _)| *net)).collect()
    }
}
