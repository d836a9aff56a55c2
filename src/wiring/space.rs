//! The whole space: every wiring, grouped by its walls.

use super::collection::Found;
use super::defect::Defect;
use super::errors;
use super::facts::Facts;
use super::hints::Hints;
use super::listing::{Listing, Readings};
use super::netlist::Netlist;
use super::walls::Walls;
use super::weights::Level;
use crate::call::Call;
use crate::house::{Apart, BoxId, DeviceId, EndId, House, LocalPoint, Place};
use crate::knowledge::Knowledge;
use indexmap::IndexMap;
use rustc_hash::FxBuildHasher;
use std::cmp::Reverse;
use std::sync::Arc;

/// How far to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Options {
    /// How many boxes nobody knows of there may be (0 to 2).
    pub buried: u8,
}

impl Default for Options {
    fn default() -> Options {
        Options { buried: 1 }
    }
}

/// How far landing errors are looked for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Depth {
    /// One, where it is quick.
    #[default]
    Brief,
    /// One, and switches of the wrong kind, wherever they may be in a house without boxes nobody knows of.
    Close,
    /// The same beside such boxes, and what is sound listed anew as if something had failed, however long that takes.
    Deep,
    /// Two in two boxes as well.
    Twice,
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
    /// Of the chance of one landing error, the part whose wirings are not all listed.
    pub unlisted_slips: f64,
    /// Wirings at odds with at least so many readings are not all listed.
    pub left_out: Option<usize>,
    /// How far it was looked.
    pub options: Options,
    /// How far landing errors were looked for.
    pub depth: Depth,
    /// What is sound of it, from which a search that looks further goes on.
    pub(super) sound: Option<Arc<Listing>>,
}

impl Space {
    /// Enumerates the space of a house: wirings that were landed as they were meant.
    pub fn new(house: &House, knowledge: &Knowledge, options: Options) -> Space {
        let facts = Facts::new(house);
        Listing::sound(house, &facts, knowledge, options, Readings::Beside, &[])
            .weighed(house, &facts, knowledge)
    }

    /// The space of a call: wirings with one landing error in an opened box too.
    pub fn of_call(call: &Call, knowledge: &Knowledge, options: Options) -> Space {
        Space::searched(call, knowledge, options, Depth::Brief, None)
    }

    /// The same, looked for further.
    pub fn deeper(&self, call: &Call, knowledge: &Knowledge, depth: Depth) -> Space {
        // Where nothing speaks against what readings left, it is not listed again.
        let serves =
            |sound: &&Listing| !sound.is_guided() || (depth <= Depth::Close) == (self.depth <= Depth::Close);
        Space::searched(call, knowledge, self.options, depth, self.sound.as_deref().filter(serves))
    }

    fn searched(
        call: &Call,
        knowledge: &Knowledge,
        options: Options,
        depth: Depth,
        sound: Option<&Listing>,
    ) -> Space {
        let (house, facts) = (&call.house, Facts::new(&call.house));
        let hints = Hints::new(call, &facts);
        let list = |hints: Option<&Hints>, too_large: &[Level]| {
            let readings = hints.map_or(Readings::Few, Readings::Hints);
            Listing::sound(house, &facts, knowledge, options, readings, too_large)
        };
        let listing = match sound {
            Some(sound) => sound.clone(),
            None => left_by_readings(depth, hints.as_ref(), &list),
        };
        let whole = |at: &BoxId| {
            let outlet = house.outlet(*at);
            let sure = outlet.joints.iter().all(|joint| joint.sure);
            let seen = outlet.opened && sure && !outlet.joints.is_empty();
            seen && outlet.apart == Apart::No
        };
        // Beside too many sound wirings there are too many with an error, until readings cut the search.
        let too_many = listing.found.is_empty() && !listing.cut.is_empty();
        let as_known = listing.cut.iter().any(|level| level.buried == 0);
        if listing.is_unmade() || (too_many && (hints.is_none() || as_known)) {
            return Space { depth: Depth::Twice, ..listing.weighed(house, &facts, knowledge) };
        }
        let hints = hints.map(|hints| hints.of_walls());
        let sound = listing.kept();
        // Where a wiring fits the joints, they are believed until readings speak against it.
        let depth = if listing.found.is_empty() { depth.max(Depth::Deep) } else { depth };
        let slipped = errors::Slipped {
            call,
            facts: &facts,
            knowledge,
            hints: hints.as_ref(),
            deep: depth >= Depth::Close,
            buried: if too_many || depth == Depth::Close { 0 } else { options.buried },
            work: if too_many { errors::WORK_BESIDE } else { errors::WORK },
            patient: false,
        };
        let whole: Vec<BoxId> = house.box_ids().filter(whole).collect();
        let mut listing = listing;
        let mut slips = slipped.everywhere(&whole, depth);
        let nothing = listing.found.is_empty() && slips.iter().all(|of_box| of_box.found.is_empty());
        if nothing && hints.is_some() && !too_many {
            // Readings that were held to too closely may have left it out.
            slips = errors::Slipped { patient: true, ..slipped }.everywhere(&whole, depth);
        }
        slips.into_iter().for_each(|of_box| listing.add(of_box));
        // Readings that leave nothing at all are no guide.
        if listing.found.is_empty() && hints.is_some() && !too_many {
            listing = Listing::sound(house, &facts, knowledge, options, Readings::Few, &[]);
        }
        listing.faulty = knowledge.defects.any(call.suspects_wiring());
        Space { depth, sound, ..listing.weighed(house, &facts, knowledge) }
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

/// What readings leave. Where that is nothing, what they leave if something has failed: what was too much is more then.
fn left_by_readings(
    depth: Depth,
    hints: Option<&Hints>,
    list: &dyn Fn(Option<&Hints>, &[Level]) -> Listing,
) -> Listing {
    let mut too_large = Vec::new();
    if depth <= Depth::Close {
        let listing = list(hints, &[]);
        if hints.is_none() || !listing.found.is_empty() || !listing.is_guided() {
            return listing;
        }
        too_large = listing.cut;
    }
    list(hints.cloned().map(Hints::failing).as_ref(), &too_large)
}

/// Whether the joints of a device are facts: it was seen, and so was the joint of a terminal that was not taken apart.
pub(super) fn is_fixed(house: &House, device: DeviceId) -> bool {
    let outlet = house.outlet(house.device(device).at);
    let free = |terminal| super::facts::is_free(outlet, LocalPoint::Terminal(device, terminal));
    outlet.opened && !house.device(device).terminals().into_iter().all(free)
}

pub(super) fn group(found: Vec<Found>, netlists: &[Netlist]) -> Vec<WallsRow> {
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
