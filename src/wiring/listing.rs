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
use crate::workers;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// More wirings than this are not listed, whoever asks.
const MOST_WIRINGS: usize = 500_000;

/// For a call, than this.
const MANY_WIRINGS: usize = 200_000;

/// Or than this, where readings can cut the search, or with a buried box, which is rare.
const FEW_WIRINGS: usize = 60_000;

/// Or than this, with a buried box, until readings can cut the search.
const BURIED_WIRINGS: usize = 20_000;

/// Or than this, where there are wirings without one.
const RARE_WIRINGS: usize = 6_000;

/// A buried box makes at least this many times as many wirings, where there are many.
const GROWTH: usize = 4;

/// Nor is a level that takes more steps than this to search.
const MOST_STEPS: u64 = 5_000_000;

/// Or than this, where readings can cut the search.
const FEW_STEPS: u64 = 400_000;

/// Or, while readings cut it and nothing was found, than this.
const GUIDED_STEPS: u64 = 1_500_000;

/// Or, where more than [`MOST_UNCOVERED`] would not be listed otherwise, no longer than this for all levels together: some
/// seven seconds.
const PATIENCE: u64 = 100_000_000;

/// Nor longer than this for each reading taken: while there are few, the next one cuts more than waiting does.
const PATIENCE_A_READING: u64 = 5_000_000;

/// See [`PATIENCE`]: somewhat less than leaves nothing settled.
const MOST_UNCOVERED: f64 = 0.12;

/// How many readings that hints count one by one a wiring may be at odds with, tried in turn.
const BUDGETS: [usize; 5] = [0, 1, 3, 7, 15];

/// What is at odds with more readings than this beside the best of all weighs next to nothing. A broken run counts for so many:
/// `REFUTED` in `hints`.
const MARGIN: usize = 4;

/// So many wirings are enough: those at odds with more readings are not listed beside them.
const ENOUGH: usize = 3_000;

/// More wirings than this are not kept for a search that goes further.
const MOST_KEPT: usize = 200_000;

/// What is listed, before it is weighed.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Listing {
    pub(super) netlists: Vec<Netlist>,
    pub(super) found: Vec<Found>,
    pub(super) cut: Vec<weights::Level>,
    /// Levels of which only what readings leave is listed.
    pub(super) guided: Vec<weights::Level>,
    pub(super) buried: u8,
    /// Wirings at odds with at least so many readings were too many to list, where any were.
    pub(super) left_out: Option<usize>,
    /// Prior mass of landing errors and faults.
    pub(super) faulty: f64,
    /// For each family and number of cables that go onward: the sum of factors if the joints of a box were not known.
    pub(super) whole: BTreeMap<(String, usize), f64>,
    /// Families of which that is not all.
    pub(super) unadded: BTreeSet<String>,
    /// The chance of slips whose wirings are listed, and of those of which they are not, or not all.
    slips: [f64; 2],
}

impl Listing {
    /// Lists all levels of a house, but those of which it is known that they are too large.
    pub(super) fn sound(
        house: &House,
        facts: &Facts,
        knowledge: &Knowledge,
        options: Options,
        readings: Readings,
        too_large: &[Level],
    ) -> Listing {
        let fixed = |device| space::is_fixed(house, device);
        let netlists = compose::netlists(house, knowledge, &fixed);
        let families = weights::Families::new(&netlists);
        let mut lister = Lister {
            knowledge,
            house,
            facts,
            readings,
            families: &families,
            stories: Story::of_all(&netlists, &families),
            found: Vec::new(),
            cut: Vec::new(),
            guided: Vec::new(),
            least: None,
            left_out: None,
            stopped: BTreeSet::new(),
            closest: false,
            patience: 0,
        };
        for level in families.levels(options.buried) {
            if too_large.contains(&level) { lister.cut.push(level) } else { lister.add(level) }
        }
        if matches!(readings, Readings::Hints(..)) && too_large.is_empty() {
            lister.add_rather_than_little();
        }
        let Lister { found, cut, guided, left_out, .. } = lister;
        Listing {
            netlists,
            found,
            cut,
            guided,
            buried: options.buried,
            left_out,
            faulty: 0.0,
            whole: BTreeMap::new(),
            unadded: BTreeSet::new(),
            slips: [0.0; 2],
        }
    }

    /// The same to go on from later, if it is not too large to keep.
    pub(super) fn kept(&self) -> Option<Arc<Listing>> {
        (self.found.len() <= MOST_KEPT).then(|| Arc::new(self.clone()))
    }

    /// Whether readings cut it.
    pub(super) fn is_guided(&self) -> bool {
        !self.guided.is_empty()
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
        self.unadded.extend(slips.unadded);
    }

    /// Whether there are more netlists than are made: one of them may fit where none of these does.
    pub(super) fn is_unmade(&self) -> bool {
        self.found.is_empty() && self.netlists.len() >= compose::MOST_NETLISTS
    }

    pub(super) fn weighed(self, house: &House, facts: &Facts, knowledge: &Knowledge) -> Space {
        let options = Options { buried: self.buried };
        let families = weights::Families::new(&self.netlists);
        let [listed, cut] = self.slips;
        let uncovered = if self.is_unmade() {
            1.0
        } else {
            families.uncovered(knowledge, &self.found, &self.cut, listed)
        };
        let unlisted_slips = if cut > 0.0 { cut / (listed + cut) } else { 0.0 };
        let left_out = self.left_out;
        let (netlists, weighed) = weights::weigh(house, facts, knowledge, &families, self);
        Space {
            rows: space::group(weighed, &netlists),
            netlists,
            uncovered,
            unlisted_slips,
            left_out,
            options,
            depth: Depth::Brief,
            sound: None,
        }
    }
}

/// Levels while they are listed.
struct Lister<'a> {
    knowledge: &'a Knowledge,
    house: &'a House,
    facts: &'a Facts,
    readings: Readings<'a>,
    families: &'a weights::Families,
    /// For each family.
    stories: Vec<Vec<Story<'a>>>,
    found: Vec<Found>,
    cut: Vec<Level>,
    guided: Vec<Level>,
    /// With how few readings any wiring found is at odds.
    least: Option<usize>,
    /// At odds with how few readings something is of which there was too much.
    left_out: Option<usize>,
    /// Of which there was more than what was found at odds with few readings.
    stopped: BTreeSet<Level>,
    /// Only wirings in which ends that read as one cable are one are listed, and at odds with as many readings as it takes.
    closest: bool,
    /// So much more work may be done, where it may take long.
    patience: u64,
}

/// The wirings of a level.
struct Listed {
    all: Vec<Found>,
    /// Where they may be at odds with fewer readings than this, these are all, still.
    same_below: usize,
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

    /// Where there is too much and nothing was found: looks closest to what was read. Where that leaves so much that nothing
    /// would be settled, looks for longer.
    fn add_rather_than_little(&mut self) {
        if self.found.is_empty() {
            self.closest = true;
            let cut = std::mem::take(&mut self.cut);
            let levels: BTreeSet<Level> = cut.into_iter().chain(self.stopped.clone()).collect();
            levels.into_iter().for_each(|level| self.add(level));
        }
        if self.families.uncovered(self.knowledge, &self.found, &self.cut, 1.0) > MOST_UNCOVERED {
            let patience = self.hints().map_or(0, |hints| PATIENCE_A_READING * hints.readings() as u64);
            (self.closest, self.patience) = (false, patience.min(PATIENCE));
            std::mem::take(&mut self.cut).into_iter().for_each(|level| self.add(level));
        }
    }

    fn add(&mut self, level: Level) {
        let of_level = match self.whole(level) {
            Some(all) => Some(all),
            None => {
                self.guided.push(level);
                let of_cables = |lister: &mut Lister| lister.left(level, &lister.hints()?.of_cables());
                match self.hints().and_then(|hints| self.left(level, hints)) {
                    Some(none) if none.is_empty() && self.found.is_empty() => of_cables(self),
                    left => left,
                }
            }
        };
        let Some(all) = of_level else {
            self.cut.push(level);
            return;
        };
        let odds = all.iter().filter_map(|one| self.hints()?.odds(one));
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
            Readings::Few if !self.found.is_empty() => (RARE_WIRINGS, FEW_STEPS),
            Readings::Few => (BURIED_WIRINGS, FEW_STEPS),
            Readings::Hints(_) => (FEW_WIRINGS, FEW_STEPS),
        };
        self.list(level, None, wirings, steps).map(|listed| listed.all)
    }

    /// What readings leave of a level: as much as makes no long list.
    fn left(&mut self, level: Level, hints: &Hints) -> Option<Vec<Found>> {
        if self.cut.iter().any(|cut| cut.family == level.family) {
            return None;
        }
        let mut left: Option<Vec<Found>> = None;
        let mut same_below = 0;
        for guide in self.guides(hints) {
            // What fits more readings is there already: more of it only where that is quick. So with a buried box, beside
            // wirings without.
            let beside = left.as_ref().is_some_and(|some| !some.is_empty());
            let rare = level.buried > 0 && !self.found.is_empty();
            let (most, steps) = match () {
                () if beside => (FEW_WIRINGS, FEW_STEPS),
                () if rare => (2 * FEW_WIRINGS, 2 * FEW_STEPS),
                () => (MANY_WIRINGS, GUIDED_STEPS),
            };
            if guide.budget >= same_below {
                let listed = if beside || self.patience == 0 {
                    self.list(level, Some(guide), most, steps)
                } else {
                    self.list_patiently(level, guide, most)
                };
                let Some(listed) = listed else {
                    self.stopped.insert(level);
                    if left.is_some() && level.buried == 0 {
                        self.left_out = Some(self.left_out.map_or(same_below, |odds| odds.min(same_below)));
                    }
                    break;
                };
                same_below = listed.same_below;
                left = Some(listed.all);
            }
            let all = left.as_deref().unwrap_or_default();
            let least = all.iter().filter_map(|one| hints.odds(one)).chain(self.least).min();
            let enough = all.len() > ENOUGH || least.is_some_and(|least| guide.budget >= least + MARGIN);
            let found = self.closest && !all.is_empty();
            if found || (enough && !guide.straight) {
                break;
            }
        }
        left
    }

    /// What the search for wirings is held to, the closest first.
    fn guides<'h>(&self, hints: &'h Hints) -> Vec<Guide<'h>> {
        let of = |straight| BUDGETS.map(|budget| Guide { hints, budget, straight });
        let ([first, closest @ ..], others) = (of(true), of(false));
        if self.closest { closest.to_vec() } else { [first].into_iter().chain(others).collect() }
    }

    /// The wirings of a level, if there are no more than `most` and they take no more than so many steps. A part of a level
    /// would be a biased one: it is taken whole or not at all.
    fn list(&self, level: Level, guide: Option<Guide>, most: usize, steps: u64) -> Option<Listed> {
        let mut collection = Collection::new(self.room(most), steps);
        let parts = self.stories[level.family].iter().map(|story| (story, collection.beside())).collect();
        let search = |(story, part)| self.search(story, level, guide, part);
        workers::map(parts, search).into_iter().for_each(|part| collection.take(part));
        Listed::of(collection, guide)
    }

    /// The same where it may take as long as patience lasts, for one story after the other: so that what is left of it does
    /// not depend on who was first.
    fn list_patiently(&mut self, level: Level, guide: Guide, most: usize) -> Option<Listed> {
        let mut collection = Collection::new(self.room(most), u64::MAX).working(self.patience);
        for story in &self.stories[level.family] {
            collection = self.search(story, level, Some(guide), collection);
        }
        self.patience = self.patience.saturating_sub(collection.work());
        Listed::of(collection, Some(guide))
    }

    fn room(&self, most: usize) -> usize {
        most.min(MOST_WIRINGS.saturating_sub(self.found.len()))
    }

    fn search(
        &self,
        story: &Story<'a>,
        level: Level,
        guide: Option<Guide>,
        mut collection: Collection,
    ) -> Collection {
        for netlist in &story.netlists {
            let (house, facts) = (self.house, self.facts);
            let search = Search::new(house, facts, netlist, story.named, level.buried, &mut collection);
            match guide {
                Some(guide) => search.guided(guide).run(),
                None => search.run(),
            }
        }
        collection
    }
}

/// Netlists that say the same about what stands for what, under the number of the first.
struct Story<'a> {
    named: usize,
    netlists: Vec<&'a Netlist>,
}

impl<'a> Story<'a> {
    /// The stories of each family.
    fn of_all(netlists: &'a [Netlist], families: &weights::Families) -> Vec<Vec<Story<'a>>> {
        let mut of_all: Vec<Vec<Story>> = Vec::new();
        for (named, (netlist, &family)) in netlists.iter().zip(&families.of).enumerate() {
            of_all.resize_with(of_all.len().max(family + 1), Vec::new);
            let stories = &mut of_all[family];
            match stories.iter_mut().find(|story| story.netlists[0].same_story(netlist)) {
                Some(story) => story.netlists.push(netlist),
                None => stories.push(Story { named, netlists: vec![netlist] }),
            }
        }
        of_all
    }
}

impl Listed {
    fn of(collection: Collection, guide: Option<Guide>) -> Option<Listed> {
        let straightened = guide.is_some_and(|guide| guide.straight) && collection.is_straightened();
        let same_below = if straightened { 0 } else { collection.beyond() };
        (!collection.is_full()).then(|| Listed { all: collection.into_all(), same_below })
    }
}
