//! What is listed, level by level: a scheme with what hangs on it, and a number of buried boxes.
//!
//! A level is listed whole where that is quick. One that is too large is listed again with what readings rule out left
//! out: first what is at odds with hardly any of them, then with a few more, as long as the list stays short.

use super::collection::{Collection, Found};
use super::compose;
use super::errors;
use super::facts::Facts;
use super::hints::Hints;
use super::netlist::Netlist;
use super::pairing::{Guide, Search};
use super::space::{self, Depth, Options, Space};
use super::weights::{self, Level};
use crate::house::House;
use crate::knowledge::Knowledge;
use std::cell::Cell;
use std::collections::BTreeMap;

/// More wirings than this are not listed, whoever asks.
const MOST_WIRINGS: usize = 500_000;

/// For a call, than this.
const MANY_WIRINGS: usize = 200_000;

/// Or than this, where readings can cut the search, or with a buried box, which is rare.
const FEW_WIRINGS: usize = 60_000;

/// A buried box makes at least this many times as many wirings, where there are many.
const GROWTH: usize = 4;

/// Nor is a level that takes more steps than this to search.
const MOST_STEPS: u64 = 5_000_000;

/// Or than this, where readings can cut the search.
const FEW_STEPS: u64 = 400_000;

/// Or, while readings cut it and nothing was found, than this.
const GUIDED_STEPS: u64 = 1_500_000;

/// Or, where nothing at all would be listed otherwise, no longer than this for all levels together: some ten seconds.
const PATIENCE: u64 = 250_000_000;

/// How many readings that hints count one by one a wiring may be at odds with, tried in turn.
const BUDGETS: [usize; 5] = [0, 1, 3, 7, 15];

/// So many readings more than with the best of all need not be tried: what is at odds with them weighs next to nothing.
const MARGIN: usize = 2;

/// So many wirings are enough: those at odds with more readings are not listed beside them.
const ENOUGH: usize = 3_000;

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
    /// The chance of slips whose wirings are listed, and of those of which they are not, or not all.
    slips: [f64; 2],
}

impl Listing {
    /// Lists all levels of a house.
    pub(super) fn sound(
        house: &House,
        facts: &Facts,
        knowledge: &Knowledge,
        options: Options,
        readings: Readings,
        patient: bool,
    ) -> Listing {
        let fixed = |device| space::is_fixed(house, device);
        let netlists = compose::netlists(house, knowledge, &fixed);
        let families = weights::Families::new(&netlists);
        let mut lister = Lister {
            house,
            facts,
            readings,
            netlists: &netlists,
            families: &families,
            found: Vec::new(),
            cut: Vec::new(),
            guided: Vec::new(),
            least: None,
            patience: Cell::new(0),
        };
        for level in families.levels(options.buried) {
            lister.add(level);
        }
        if lister.found.is_empty() && matches!(readings, Readings::Hints(..)) && patient {
            // Whoever waits for a while is better served than with nothing.
            lister.patience.set(PATIENCE);
            for level in std::mem::take(&mut lister.cut) {
                lister.add(level);
            }
        }
        let Lister { found, cut, guided, .. } = lister;
        Listing {
            netlists,
            found,
            cut,
            guided,
            buried: options.buried,
            faulty: 0.0,
            whole: BTreeMap::new(),
            slips: [0.0; 2],
        }
    }

    /// Adds the wirings with a slip in one box.
    pub(super) fn add(&mut self, slips: errors::Slips) {
        self.slips = [self.slips[0] + slips.listed, self.slips[1] + slips.cut];
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

    /// Whether there are more netlists than are made: one of them may fit where none of these does.
    pub(super) fn is_unmade(&self) -> bool {
        self.found.is_empty() && self.netlists.len() >= compose::MOST_NETLISTS
    }

    pub(super) fn weighed(self, facts: &Facts, knowledge: &Knowledge) -> Space {
        let options = Options { buried: self.buried };
        let families = weights::Families::new(&self.netlists);
        let uncovered =
            if self.is_unmade() { 1.0 } else { families.share(knowledge, &self.cut, self.buried) };
        let [listed, cut] = self.slips;
        let unlisted_slips = if cut > 0.0 { cut / (listed + cut) } else { 0.0 };
        let (netlists, weighed) = weights::weigh(facts, knowledge, &families, self);
        Space {
            rows: space::group(weighed, &netlists),
            netlists,
            uncovered,
            unlisted_slips,
            options,
            depth: Depth::Brief,
        }
    }
}

/// Levels while they are listed.
struct Lister<'a> {
    house: &'a House,
    facts: &'a Facts,
    readings: Readings<'a>,
    netlists: &'a [Netlist],
    families: &'a weights::Families,
    found: Vec<Found>,
    cut: Vec<Level>,
    guided: Vec<Level>,
    /// With how few readings any wiring found is at odds.
    least: Option<usize>,
    /// So much more work may be done, where it may take long.
    patience: Cell<u64>,
}

/// What readings have to say to a listing.
#[derive(Clone, Copy)]
pub(super) enum Readings<'a> {
    /// It is about the survey alone.
    Beside,
    /// Too few to cut the search.
    Few,
    /// They cut it.
    Hints(&'a Hints),
}

impl<'a> Lister<'a> {
    fn hints(&self) -> Option<&'a Hints> {
        if let Readings::Hints(hints) = self.readings { Some(hints) } else { None }
    }

    fn add(&mut self, level: Level) {
        let of_level = match self.whole(level) {
            Some(all) => Some(all),
            None => {
                self.guided.push(level);
                let of_cables = || self.left(level, &self.hints()?.of_cables());
                match self.hints().and_then(|hints| self.left(level, hints)) {
                    Some(none) if none.is_empty() && self.found.is_empty() => of_cables(),
                    left => left,
                }
            }
        };
        let Some(all) = of_level else {
            self.cut.push(level);
            return;
        };
        let odds = all.iter().filter_map(|one| self.hints()?.odds(&one.walls));
        self.least = odds.chain(self.least).min();
        self.found.extend(all);
    }

    /// All of a level, unless that is too much.
    fn whole(&self, level: Level) -> Option<Vec<Found>> {
        let of_family = |other: &Level| other.family == level.family;
        let below = self.found.iter().filter(|one| {
            one.buried + 1 == level.buried && self.families.of[one.wiring.netlist] == level.family
        });
        let large = self.found.len() + GROWTH * below.count() > MOST_WIRINGS;
        if large || self.cut.iter().chain(&self.guided).any(of_family) {
            return None;
        }
        let (wirings, steps) = match self.readings {
            Readings::Beside => (MOST_WIRINGS, MOST_STEPS),
            Readings::Few if level.buried == 0 => (MANY_WIRINGS, MOST_STEPS),
            Readings::Few => (FEW_WIRINGS, MOST_STEPS),
            Readings::Hints(_) => (FEW_WIRINGS, FEW_STEPS),
        };
        self.list(level, None, wirings, steps)
    }

    /// What readings leave of a level: as much as makes no long list.
    fn left(&self, level: Level, hints: &Hints) -> Option<Vec<Found>> {
        if self.cut.iter().any(|cut| cut.family == level.family) {
            return None;
        }
        let mut left: Option<Vec<Found>> = None;
        let straight = Guide { hints, budget: BUDGETS[0], straight: true };
        let others = BUDGETS.map(|budget| Guide { straight: false, budget, ..straight });
        for guide in [straight].into_iter().chain(others) {
            // What fits more readings is there already: more of it only where that is quick. So with a buried box, beside
            // wirings without.
            let beside = left.as_ref().is_some_and(|some| !some.is_empty());
            let rare = level.buried > 0 && !self.found.is_empty();
            let (most, steps) = match () {
                () if beside => (FEW_WIRINGS, FEW_STEPS),
                () if rare => (2 * FEW_WIRINGS, 2 * FEW_STEPS),
                () => (MANY_WIRINGS, GUIDED_STEPS),
            };
            let Some(all) = self.list(level, Some(guide), most, steps) else { break };
            let least = all.iter().filter_map(|one| hints.odds(&one.walls)).chain(self.least).min();
            let enough = all.len() > ENOUGH || least.is_some_and(|least| guide.budget >= least + MARGIN);
            left = Some(all);
            if enough && !guide.straight {
                break;
            }
        }
        left
    }

    /// The wirings of a level, if there are no more than `most` and they take no more than so many steps. A part of a level
    /// would be a biased one: it is taken whole or not at all.
    fn list(&self, level: Level, guide: Option<Guide>, most: usize, steps: u64) -> Option<Vec<Found>> {
        let most = most.min(MOST_WIRINGS - self.found.len().min(MOST_WIRINGS));
        let patience = self.patience.get();
        let collection = Collection::new(most, steps);
        let mut collection = if patience > 0 { collection.working(patience) } else { collection };
        let of_level =
            self.netlists.iter().enumerate().filter(|(at, _)| self.families.of[*at] == level.family);
        for (_, netlist) in of_level {
            let named = self.netlists.iter().position(|other| other.same_story(netlist)).unwrap_or(0);
            let search = Search::new(self.house, self.facts, netlist, named, level.buried, &mut collection);
            match guide {
                Some(guide) => search.guided(guide).run(),
                None => search.run(),
            }
        }
        self.patience.set(patience.saturating_sub(collection.work()));
        (!collection.is_full()).then(|| collection.into_all())
    }
}
