//! The whole space: every wiring, grouped by its walls.

use super::compose;
use super::defect::Defect;
use super::errors;
use super::facts::{Facts, FixedJoint};
use super::hints::Hints;
use super::netlist::Netlist;
use super::pairing::Search;
use super::walls::Walls;
use super::weights;
use crate::call::Call;
use crate::house::{Apart, BoxId, DeviceId, EndId, House, LocalPoint, Place};
use crate::knowledge::Knowledge;
use indexmap::IndexMap;
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::cmp::Reverse;
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
    /// What is miswired or broken in it.
    pub defects: Vec<Defect>,
}

/// Walls, and the wirings that have them.
#[derive(Clone, PartialEq, Debug)]
pub struct WallsRow {
    /// The walls.
    pub walls: Walls,
    /// The wirings: those that may be put back so before those that must not, then heaviest first.
    pub wirings: Vec<Wiring>,
}

impl WallsRow {
    /// The prior weight of all wirings with these walls.
    pub fn weight(&self) -> f64 {
        self.wirings.iter().map(|wiring| wiring.weight).sum()
    }

    pub(super) fn sort(&mut self, netlists: &[Netlist]) {
        let refused = |wiring: &Wiring| netlists[wiring.netlist].refused;
        self.wirings.sort_by(|a, b| refused(a).cmp(&refused(b)).then(b.weight.total_cmp(&a.weight)));
    }
}

/// Every wiring that fits the survey, grouped by walls, heaviest first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Space {
    /// The netlists that wirings refer to.
    pub netlists: Vec<Netlist>,
    /// The wirings.
    pub rows: Vec<WallsRow>,
    /// Prior mass of what was not listed because there is too much of it.
    pub uncovered: f64,
    /// How far it was looked.
    pub options: Options,
    /// Whether landing errors were looked for as far as they can be.
    pub deep: bool,
}

impl Space {
    /// Enumerates the space of a house: wirings that were landed as they were meant.
    pub fn new(house: &House, knowledge: &Knowledge, options: Options) -> Space {
        let facts = Facts::new(house);
        Listing::sound(house, &facts, knowledge, options, None).weighed(&facts, knowledge)
    }

    /// The space of a call: wirings with one landing error in an opened box too.
    pub fn of_call(call: &Call, knowledge: &Knowledge, options: Options) -> Space {
        Space::searched(call, knowledge, options, false)
    }

    /// The same, with landing errors and switches of the wrong kind looked for wherever they may be, however long that
    /// takes.
    pub fn deeper(&self, call: &Call, knowledge: &Knowledge) -> Space {
        Space::searched(call, knowledge, self.options, true)
    }

    fn searched(call: &Call, knowledge: &Knowledge, options: Options, deep: bool) -> Space {
        let (house, facts) = (&call.house, Facts::new(&call.house));
        let hints = Hints::new(call, &facts);
        let mut listing = Listing::sound(house, &facts, knowledge, options, hints.as_ref());
        let whole = |at: &BoxId| {
            let outlet = house.outlet(*at);
            let marked = outlet.devices.iter().all(|&device| house.device(device).marked);
            let sure = outlet.complete && outlet.joints.iter().all(|joint| joint.sure);
            let seen = outlet.opened && sure && !outlet.joints.is_empty();
            seen && outlet.apart == Apart::No && marked
        };
        // Beside too many sound wirings there are too many with an error, until readings cut the search.
        let too_many = listing.cut.iter().any(|level| level.buried == 0);
        if hints.is_none() && listing.found.is_empty() && too_many {
            return Space { deep: true, ..listing.weighed(&facts, knowledge) };
        }
        let hints = hints.map(|hints| hints.of_walls());
        // Where a wiring fits the joints, they are believed until readings speak against it.
        let deep = deep || listing.found.is_empty();
        let slipped = errors::Slipped { call, facts: &facts, knowledge, hints: hints.as_ref(), deep };
        for at in house.box_ids().filter(whole) {
            listing.add(slipped.at(at));
        }
        listing.faulty = knowledge.defects.any(call.complaint);
        Space { deep, ..listing.weighed(&facts, knowledge) }
    }

    /// How many wirings there are: those that differ in pairing, in what a wire at an opened box carries, in the feed
    /// box, the scheme or the order of the switches.
    pub fn projected(&self) -> usize {
        let wirings = self.rows.iter().flat_map(|row| &row.wirings).filter(|w| w.defects.is_empty());
        let keys = wirings.map(|w| {
            let netlist = &self.netlists[w.netlist];
            (&netlist.family, &netlist.order, w.feed, &w.dests, &w.labels)
        });
        keys.collect::<std::collections::BTreeSet<_>>().len()
    }
}

/// Whether the joints of a device are facts: it was seen, and so was the joint of a terminal that was not taken apart.
pub(super) fn is_fixed(house: &House, device: DeviceId) -> bool {
    let outlet = house.outlet(house.device(device).at);
    let free = |terminal| super::facts::is_free(outlet, LocalPoint::Terminal(device, terminal));
    outlet.opened && !house.device(device).terminals().into_iter().all(free)
}

/// What is listed, before it is weighed.
pub(super) struct Listing {
    pub(super) netlists: Vec<Netlist>,
    pub(super) found: Vec<Found>,
    pub(super) cut: Vec<weights::Level>,
    /// Levels of which only what readings leave is listed.
    pub(super) guided: Vec<weights::Level>,
    pub(super) buried: u8,
    /// Prior mass of landing errors and faults.
    pub(super) faulty: f64,
    /// For each family and number of cables that go onward: the sum of factors if the joints of a box were not known.
    pub(super) whole: BTreeMap<(String, usize), f64>,
}

impl Listing {
    /// Lists level by level. A level that is too large is listed again with what readings rule out left out.
    fn sound(
        house: &House,
        facts: &Facts,
        knowledge: &Knowledge,
        options: Options,
        hints: Option<&Hints>,
    ) -> Listing {
        let fixed = |device| is_fixed(house, device);
        let netlists = compose::netlists(house, &knowledge.schemes, &knowledge.attachments, &fixed);
        let families = weights::Families::new(&netlists);
        let mut found: Vec<Found> = Vec::new();
        let mut cut: Vec<weights::Level> = Vec::new();
        let mut guided: Vec<weights::Level> = Vec::new();
        for level in families.levels(options.buried) {
            let below = found.iter().filter(|one| {
                one.buried + 1 == level.buried && families.of[one.wiring.netlist] == level.family
            });
            let cut_below = cut.iter().any(|cut| cut.family == level.family);
            let guided_below = guided.iter().any(|below: &weights::Level| below.family == level.family);
            let large = found.len() + GROWTH * below.count() > MOST_WIRINGS;
            let list = |hints: Option<&Hints>, steps: u64| {
                let mut collection = Collection::new(MOST_WIRINGS - found.len().min(MOST_WIRINGS), steps);
                let of_level = netlists.iter().enumerate().filter(|(at, _)| families.of[*at] == level.family);
                for (_, netlist) in of_level {
                    let named = netlists.iter().position(|other| other.same_story(netlist)).unwrap_or(0);
                    let search = Search::new(house, facts, netlist, named, level.buried, &mut collection);
                    search.guided(hints).run();
                }
                // A part of a level would be a biased one: it is taken whole or not at all.
                (!collection.is_full()).then_some(collection.all)
            };
            let steps = if hints.is_some() { FEW_STEPS } else { MOST_STEPS };
            let all = if cut_below || guided_below || large { None } else { list(None, steps) };
            let left = || hints.filter(|_| !cut_below).and_then(|hints| list(Some(hints), MOST_STEPS));
            let of_level = match all {
                Some(all) => Some(all),
                None => match left() {
                    // Readings that leave nothing are no guide: behind a failure they say of a wire what is not so.
                    Some(none) if none.is_empty() && found.is_empty() => list(None, MOST_STEPS),
                    left => {
                        guided.push(level);
                        left
                    }
                },
            };
            match of_level {
                Some(all) => found.extend(all),
                None => cut.push(level),
            }
        }
        Listing { netlists, found, cut, guided, buried: options.buried, faulty: 0.0, whole: BTreeMap::new() }
    }

    /// Adds the wirings with a slip in one box.
    fn add(&mut self, slips: errors::Slips) {
        let first = self.netlists.len();
        self.netlists.extend(slips.netlists);
        self.found.extend(slips.found.into_iter().map(|mut one| {
            one.wiring.netlist += first;
            one
        }));
        for (key, whole) in slips.whole {
            let most = self.whole.entry(key).or_default();
            *most = most.max(whole);
        }
    }

    fn weighed(self, facts: &Facts, knowledge: &Knowledge) -> Space {
        let options = Options { buried: self.buried };
        let families = weights::Families::new(&self.netlists);
        let uncovered = families.share(knowledge, &self.cut, self.buried);
        let (netlists, weighed) = weights::weigh(facts, knowledge, &families, self);
        Space { rows: group(weighed, &netlists), netlists, uncovered, options, deep: false }
    }
}

/// A wiring with its walls, before it is weighed.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Found {
    pub(super) walls: Walls,
    pub(super) wiring: Wiring,
    /// The neutral is joined at both ends of a ring.
    pub(super) closed: bool,
    /// Grounding conductors that go into the dark reach earth there.
    pub(super) bonded: bool,
    pub(super) buried: u8,
}

/// What makes a wiring itself: most of it in bytes, and joints that were not seen.
type Key = (Box<[u8]>, Vec<FixedJoint>);

/// Wirings found so far, each once.
pub(super) struct Collection {
    all: Vec<Found>,
    known: FxHashMap<Key, usize>,
    steps: u64,
    most: usize,
    most_steps: u64,
}

/// More wirings than this are not listed.
const MOST_WIRINGS: usize = 500_000;

/// A buried box makes at least this many times as many wirings, where there are many.
const GROWTH: usize = 4;

/// Nor is a level that takes more steps than this to search.
const MOST_STEPS: u64 = 5_000_000;

/// Or than this, where readings can cut the search.
const FEW_STEPS: u64 = 400_000;

impl Collection {
    /// Nothing yet, and room for so many.
    pub(super) fn new(most: usize, most_steps: u64) -> Collection {
        Collection { all: Vec::new(), known: FxHashMap::default(), steps: 0, most, most_steps }
    }

    /// Counts steps of the search; false when there have been enough.
    pub(super) fn step(&mut self, steps: u64) -> bool {
        self.steps = self.steps.saturating_add(steps);
        !self.is_full()
    }

    /// How many steps were counted.
    pub(super) fn steps_taken(&self) -> u64 {
        self.steps
    }

    /// All that was found.
    pub(super) fn into_all(self) -> Vec<Found> {
        self.all
    }

    /// Takes no more: what is asked has too many answers.
    pub(super) fn give_up(&mut self) {
        self.steps = u64::MAX / 2;
    }

    /// Whether there is more than can be listed.
    pub(super) fn is_full(&self) -> bool {
        self.steps > self.most_steps || self.all.len() > self.most
    }

    /// Keeps a wiring unless it is known; of two that differ only in whether the neutral's ring is closed where nobody
    /// looks, the open one.
    pub(super) fn keep(&mut self, found: Found) {
        let key = (key(&found.walls, &found.wiring).into_boxed_slice(), found.walls.hidden.clone());
        match self.known.get(&key) {
            Some(&at) => self.all[at].closed &= found.closed,
            None => {
                self.known.insert(key, self.all.len());
                self.all.push(found);
            }
        }
    }
}

/// What makes a wiring itself, but for joints that were not seen.
fn key(walls: &Walls, wiring: &Wiring) -> Vec<u8> {
    let place = |place: Place| match place {
        Place::Box(at) => [0, at.0],
        Place::Buried(n) => [1, n],
        Place::Panel => [2, 0],
        Place::Onward => [3, 0],
    };
    let dest = |dest: &Dest| match *dest {
        Dest::End(end) => [4, end.0],
        Dest::Box(at) => place(Place::Box(at)),
        Dest::Buried(n) => place(Place::Buried(n)),
        Dest::Panel => place(Place::Panel),
        Dest::Onward => place(Place::Onward),
    };
    let mut key = vec![wiring.netlist as u8, walls.line, walls.neutral];
    key.extend(place(wiring.feed));
    key.extend(wiring.dests.iter().flat_map(dest));
    key.extend(wiring.labels.iter().map(|label| label.0));
    key.extend(&walls.wires);
    walls.devices.iter().for_each(|dark| key.extend(&dark.groups));
    // The netlist's number stands for screws and tabs.
    key
}

fn group(found: Vec<Found>, netlists: &[Netlist]) -> Vec<WallsRow> {
    let mut rows = Rows::default();
    found.into_iter().for_each(|one| rows.of(one.walls).push(one.wiring));
    rows.sorted(netlists)
}

/// Wirings by their walls.
#[derive(Default)]
pub(super) struct Rows(IndexMap<Walls, Vec<Wiring>, FxBuildHasher>);

impl Rows {
    /// The wirings that have some walls.
    pub(super) fn of(&mut self, walls: Walls) -> &mut Vec<Wiring> {
        self.0.entry(walls).or_default()
    }

    /// Heaviest first.
    pub(super) fn sorted(self, netlists: &[Netlist]) -> Vec<WallsRow> {
        let held = self.0.into_iter().filter(|(_, wirings)| !wirings.is_empty());
        let mut rows: Vec<WallsRow> = held.map(|(walls, wirings)| WallsRow { walls, wirings }).collect();
        rows.iter_mut().for_each(|row| row.sort(netlists));
        // Of figures that are not negative the bits stand in the same order.
        rows.sort_by_cached_key(|row| Reverse(row.weight().to_bits()));
        rows
    }
}
