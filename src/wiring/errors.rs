//! Landing errors in opened boxes: wirings whose intended joints in one box differ by one slip from those found there.
//!
//! For each box whose joints are facts, wirings are listed as if that box were apart: what each wire carries then says
//! how its joints were meant. Where one slip (two screws exchanged, a wire in another joint or in none) leads from what
//! was meant to what is found, the wiring with that slip is a candidate. Where too many wirings are left so, each slip is
//! undone in turn and the wirings of that box are listed. In the same way a switch is taken for one of another kind,
//! where nothing fits the kinds that were seen.

use super::collection::{Collection, Found};
use super::compose;
use super::defect::Defect;
use super::facts::{Facts, WireIndex};
use super::hints::Hints;
use super::netlist::Netlist;
use super::pairing::{Guide, Search};
use super::slips::{Exchange, Layout, Slip};
use super::space::{Depth, Dest, Label};
use super::turning;
use super::weights::Judge;
use crate::call::Call;
use crate::house::{Apart, BoxId, House, Joint, LocalPoint};
use crate::knowledge::{DefectName, Knowledge};
use crate::workers;
use std::collections::{BTreeMap, BTreeSet};

/// A box that, taken as apart, leaves more wirings than this has each of its slips undone in turn.
const MOST_WIRINGS: usize = 20_000;

/// And so has one that takes more steps than this.
const MOST_STEPS: u64 = 100_000;

/// No more wirings than this come of the slips of one box that are undone in turn.
const MOST_UNDONE: usize = 100_000;

/// No more work than this is spent on undoing the slips of one box.
pub(super) const WORK: u64 = 60_000_000;

/// Or, where sound wirings with boxes nobody knows of are too many to list, than this.
pub(super) const WORK_BESIDE: u64 = 500_000;

/// Or, beside boxes nobody knows of, and on taking switches for others, than this.
const MOST_BESIDE: u64 = 12_000_000;

/// Nor are more steps than this taken on one of them, but where readings are held to as closely as can be.
const MOST_A_SLIP: u64 = 100_000;

/// There, no more than this, or than a twelfth of all.
const MOST_AT_LAST: u64 = 1_000_000;

/// How many readings that hints count one by one a wiring with a slip may be at odds with, and whether ends whose wires read
/// closed to each other are one cable: held to it closer where that leaves too many.
const HELD: [(usize, bool); 3] = [(3, false), (3, true), (0, true)];

/// Wirings with a slip in one box.
#[derive(Default)]
pub(super) struct Slips {
    /// The wirings; their netlists are counted in `netlists`. A weight is the wiring's factor times the chance of the
    /// slip.
    pub(super) found: Vec<Found>,
    /// The netlists they refer to.
    pub(super) netlists: Vec<Netlist>,
    /// For each family and number of cables that go onward: the sum of factors of all wirings with this box apart.
    pub(super) whole: BTreeMap<(String, usize), f64>,
    /// Families of which there are too many with this box apart to add up.
    pub(super) unadded: BTreeSet<String>,
    /// The chance of the slips that explain what was found.
    pub(super) listed: f64,
    /// The chance of those whose wirings are not listed, or not all of them.
    pub(super) cut: f64,
}

/// Sound wirings of a house, each with its netlist and factor.
struct Listed {
    found: Vec<(Netlist, Found, f64)>,
    /// Whether these are all.
    whole: bool,
}

/// What may be spent on one box.
pub(super) struct Allowance {
    /// So much more work.
    work: u64,
    /// Of it no more for one slip.
    at_last: u64,
    /// So many wirings more.
    room: usize,
    /// How closely readings are held to, by its place in [`HELD`].
    held: usize,
}

impl Allowance {
    pub(super) fn of(work: u64) -> Allowance {
        Allowance { work, at_last: (work / 12).max(MOST_AT_LAST), room: MOST_UNDONE, held: 0 }
    }
}

/// The wirings of a house with one slip in one box.
pub(super) struct Slipped<'a> {
    pub(super) call: &'a Call,
    pub(super) facts: &'a Facts,
    pub(super) knowledge: &'a Knowledge,
    /// What readings rule out behind the plaster, whatever the joints were meant to be.
    pub(super) hints: Option<&'a Hints>,
    /// Whether to look where it takes long: at boxes that leave too many wirings, at switches of the wrong kind, beside
    /// boxes nobody knows of.
    pub(super) deep: bool,
    /// How many boxes nobody knows of there may be.
    pub(super) buried: u8,
    /// How much work is spent on undoing the slips of one box.
    pub(super) work: u64,
    /// Whether a slip may take long before readings are held to closer.
    pub(super) patient: bool,
}

/// Where landing errors are looked for, each on its own.
enum Looked {
    Grounds,
    Box(BoxId),
    Neutrals(BoxId),
    Boxes(BoxId, BoxId),
}

impl Slipped<'_> {
    /// The wirings with an error on grounds, or in one of the boxes given, which are opened and whole; with one in two of
    /// them where it is looked for so far.
    pub(super) fn everywhere(&self, boxes: &[BoxId], depth: Depth) -> Vec<Slips> {
        let mut places = vec![Looked::Grounds];
        for (nth, &at) in boxes.iter().enumerate() {
            places.push(Looked::Box(at));
            if self.call.house.feeds.len() > 1 {
                places.push(Looked::Neutrals(at));
            }
            if depth == Depth::Twice {
                places.extend(boxes[nth + 1..].iter().map(|&other| Looked::Boxes(at, other)));
            }
        }
        let listed = workers::map(places, |place| match place {
            Looked::Grounds => vec![self.on_grounds()],
            Looked::Box(at) => vec![self.at(at)],
            Looked::Neutrals(at) => vec![self.joined_neutrals(at)],
            Looked::Boxes(at, other) => self.at_both(at, other),
        });
        listed.into_iter().flatten().collect()
    }

    /// The wirings with one slip in the box `at`, which is opened and whole.
    pub(super) fn at(&self, at: BoxId) -> Slips {
        let layout = Layout::new(&self.call.house, self.facts, at);
        let mut slips = Slips::default();
        let left = self.with_box_apart(&layout, &mut slips, None);
        slips.unadded.clone_from(&left);
        let mut cut: Vec<&Slip> = Vec::new();
        if self.deep {
            cut = self.undone_in_turn(&layout, 0, &|family| left.contains(family), &mut slips);
        } else if !left.is_empty() {
            cut.extend(&layout.slips);
        }
        let explain: BTreeSet<&Defect> = slips.found.iter().flat_map(|one| &one.wiring.defects).collect();
        let listed = layout.slips.iter().filter(|slip| explain.contains(&slip.defect) && !cut.contains(slip));
        let sum = |slips: &[&Slip]| slips.iter().map(|slip| self.share(&layout, slip)).sum();
        (slips.listed, slips.cut) = (sum(&listed.collect::<Vec<_>>()), sum(&cut));
        if self.deep {
            for buried in 1..=self.buried {
                self.undone_in_turn(&layout, buried, &|_| true, &mut slips);
            }
            self.exchanged(&layout, &mut slips);
        }
        slips
    }

    /// The chance of one slip of those that a box may have.
    pub(super) fn share(&self, layout: &Layout, slip: &Slip) -> f64 {
        self.chance(slip.defect.what) * layout.share(slip)
    }

    pub(super) fn chance(&self, name: DefectName) -> f64 {
        self.knowledge.defects.mass(name, self.call.suspects_wiring())
    }

    /// Lists wirings as if the box were apart, and keeps those that one slip explains. Gives the families of which there
    /// are too many. With an amount of work it takes no more, and leaves out what readings rule out.
    pub(super) fn with_box_apart(
        &self,
        layout: &Layout,
        slips: &mut Slips,
        mut allowance: Option<&mut Allowance>,
    ) -> BTreeSet<String> {
        let mut apart = self.call.house.clone();
        let outlet = &mut apart.boxes[usize::from(layout.at.0)];
        outlet.apart = Apart::All;
        outlet.joints.clear();
        outlet.doubled.clear();
        let free = Facts::new(&apart);
        let netlists = self.netlists(&apart);
        let judge = Judge::new(&free, self.knowledge, &netlists);
        let mut families: Vec<&str> = netlists.iter().map(|netlist| netlist.family.as_str()).collect();
        families.dedup();
        let mut left = BTreeSet::new();
        for family in families {
            let most = allowance.as_deref().map_or(MOST_STEPS, |allowance| allowance.work.min(MOST_STEPS));
            let mut collection = Collection::new(MOST_WIRINGS, most);
            for (named, netlist) in netlists.iter().enumerate().filter(|(_, n)| n.family == family) {
                let search = Search::new(&apart, &free, netlist, named, 0, &mut collection);
                match allowance.as_deref().and_then(|allowance| self.guide(allowance.held)) {
                    Some(guide) => search.guided(guide).run(),
                    None => search.run(),
                }
            }
            if let Some(allowance) = &mut allowance {
                allowance.work = allowance.work.saturating_sub(collection.work());
            }
            if collection.is_full() {
                left.insert(family.to_owned());
                continue;
            }
            for found in collection.into_all() {
                let factor = judge.factor(&found);
                let onward = found.wiring.dests.iter().filter(|dest| **dest == Dest::Onward).count();
                *slips.whole.entry((family.to_owned(), onward)).or_default() += factor;
                let netlist = &netlists[found.wiring.netlist];
                layout.explain(netlist, &found, slips, &|slip| factor * self.share(layout, slip));
            }
        }
        left
    }

    fn netlists(&self, house: &House) -> Vec<Netlist> {
        let fixed = |device| super::space::is_fixed(house, device);
        compose::netlists(house, self.knowledge, &fixed)
    }

    /// Undoes each slip of a box in turn, and lists the wirings of some families that are then sound. Gives the slips of
    /// which there are too many.
    fn undone_in_turn<'l>(
        &self,
        layout: &'l Layout,
        buried: u8,
        families: &dyn Fn(&str) -> bool,
        slips: &mut Slips,
    ) -> Vec<&'l Slip> {
        let mut allowance = Allowance::of(if buried == 0 { self.work } else { MOST_BESIDE.min(self.work) });
        let share = |slip: &Slip| self.share(layout, slip);
        let mut cut = Vec::new();
        let mut likeliest: Vec<&Slip> = layout.slips.iter().collect();
        likeliest.sort_by(|a, b| share(b).total_cmp(&share(a)));
        for slip in likeliest {
            let house = self.with_joints(layout.at, layout.mended(&slip.home));
            let facts = Facts::new(&house);
            let share = share(slip);
            let listed = self.listed_with(&house, &facts, buried, &mut allowance, families);
            cut.extend((!listed.whole).then_some(slip));
            for (netlist, one, factor) in listed.found {
                let meant = layout.all_meant(&netlist, &one);
                if !layout.is_sound(&netlist, &one, &meant, &layout.home) {
                    slips.keep(&netlist, one, factor * share, std::slice::from_ref(&slip.defect));
                }
            }
        }
        cut
    }

    /// Takes each switch of a box for one of another kind. What readings were held to too closely for, because there was too
    /// much of another, is tried again.
    fn exchanged(&self, layout: &Layout, slips: &mut Slips) {
        let mut allowance = Allowance::of(MOST_BESIDE.min(self.work));
        let exchanges = layout.exchanges();
        let share = self.chance(DefectName::WrongDevice) / exchanges.len().max(1) as f64;
        let mut add = |exchange: &Exchange, allowance: &mut Allowance, patient: bool| {
            let mut house = self.with_joints(layout.at, exchange.joints.clone());
            house.devices[usize::from(exchange.device.0)].kind = exchange.kind;
            let slipped = Slipped { patient, ..*self };
            let found = slipped.listed(&house, &Facts::new(&house), allowance, &|_| true);
            let none = found.is_empty();
            for (netlist, one, factor) in found {
                slips.keep(&netlist, one, factor * share, std::slice::from_ref(&exchange.defect));
            }
            none
        };
        let none: Vec<&Exchange> = exchanges.iter().filter(|one| add(one, &mut allowance, false)).collect();
        if allowance.held > 0 {
            for exchange in none {
                add(exchange, &mut Allowance::of(MOST_AT_LAST.min(self.work)), true);
            }
        }
    }

    /// The sound wirings of a house, each with its netlist and factor; those with boxes nobody knows of where it may take
    /// long.
    pub(super) fn listed(
        &self,
        house: &House,
        facts: &Facts,
        allowance: &mut Allowance,
        families: &dyn Fn(&str) -> bool,
    ) -> Vec<(Netlist, Found, f64)> {
        let most = if self.deep { self.buried } else { 0 };
        let with = |buried| self.listed_with(house, facts, buried, allowance, families).found;
        (0..=most).flat_map(with).collect()
    }

    fn listed_with(
        &self,
        house: &House,
        facts: &Facts,
        buried: u8,
        allowance: &mut Allowance,
        families: &dyn Fn(&str) -> bool,
    ) -> Listed {
        let netlists = self.netlists(house);
        let judge = Judge::new(facts, self.knowledge, &netlists);
        let with_factor = |one: Found| {
            let factor = judge.factor(&one);
            (netlists[one.wiring.netlist].clone(), one, factor)
        };
        while allowance.work > 0 && allowance.room > 0 {
            let last = allowance.held > 0 && self.guide(allowance.held + 1).is_none();
            let steps = if last || self.patient { allowance.at_last } else { MOST_A_SLIP };
            let most = MOST_WIRINGS.min(allowance.room);
            let mut collection = Collection::new(most, steps.min(allowance.work));
            for (named, netlist) in netlists.iter().enumerate().filter(|(_, n)| families(&n.family)) {
                let search = Search::new(house, facts, netlist, named, buried, &mut collection);
                match self.guide(allowance.held) {
                    Some(guide) => search.guided(guide).run(),
                    None => search.run(),
                }
            }
            allowance.work = allowance.work.saturating_sub(collection.work());
            let whole = !collection.is_full();
            if whole || self.guide(allowance.held + 1).is_none() {
                let found: Vec<_> = collection.into_all().into_iter().map(with_factor).collect();
                allowance.room = allowance.room.saturating_sub(found.len());
                return Listed { found, whole };
            }
            // What is too much with one slip undone is too much with the next.
            allowance.held += 1;
        }
        let nothing = !netlists.iter().any(|netlist| families(&netlist.family));
        Listed { found: Vec::new(), whole: nothing }
    }

    /// How readings cut a search, the closer they are held to.
    fn guide(&self, held: usize) -> Option<Guide<'_>> {
        let (hints, &(budget, straight)) = (self.hints?, HELD.get(held)?);
        Some(Guide { hints, budget, straight })
    }

    pub(super) fn with_joints(&self, at: BoxId, joints: Vec<Vec<LocalPoint>>) -> House {
        let mut house = self.call.house.clone();
        let outlet = &mut house.boxes[usize::from(at.0)];
        outlet.joints = joints.into_iter().map(|points| Joint { points, sure: true }).collect();
        outlet.doubled.clear();
        house
    }
}

impl Slips {
    pub(super) fn keep(&mut self, netlist: &Netlist, mut found: Found, weight: f64, defects: &[Defect]) {
        found.wiring.netlist = numbered(&mut self.netlists, netlist);
        found.wiring.weight = weight;
        found.wiring.defects = defects.to_vec();
        self.found.push(found);
    }
}

impl Layout<'_> {
    /// Adds what one slip makes of a wiring that was listed with this box apart.
    fn explain(&self, netlist: &Netlist, found: &Found, slips: &mut Slips, weight: &dyn Fn(&Slip) -> f64) {
        let devices = &self.house.outlet(self.at).devices;
        let turns = turning::every_turn(self.house, netlist, devices);
        let meant: Vec<_> = turns.iter().map(|turned| self.all_meant(turned, found)).collect();
        let sound =
            |(turned, meant): (&Netlist, &Vec<Option<u8>>)| self.is_sound(turned, found, meant, &self.home);
        if turns.iter().zip(&meant).any(sound) {
            return;
        }
        for (turned, meant) in turns.iter().zip(&meant) {
            for slip in &self.slips {
                if self.is_sound(turned, found, meant, &slip.home) {
                    let defect = std::slice::from_ref(&slip.defect);
                    slips.keep(turned, found.clone(), weight(slip), defect);
                }
            }
        }
    }

    fn all_meant(&self, netlist: &Netlist, found: &Found) -> Vec<Option<u8>> {
        self.points.iter().map(|&point| self.meant(netlist, found, point)).collect()
    }

    /// What a point was meant to carry.
    fn meant(&self, netlist: &Netlist, found: &Found, point: LocalPoint) -> Option<u8> {
        match point {
            LocalPoint::Wire(wire) => Some(found.wiring.labels[self.facts.index(wire)].0),
            LocalPoint::Terminal(device, terminal) => netlist.net_of(device, terminal).map(|net| net as u8),
            LocalPoint::Metal(_) => None,
        }
    }

    /// Whether joints do what every point is meant for: one net a joint, no point that needs a joint without, each net
    /// a tree (the neutral may close a ring).
    fn is_sound(
        &self,
        netlist: &Netlist,
        found: &Found,
        meant: &[Option<u8>],
        home: &[Option<usize>],
    ) -> bool {
        let is_pole =
            |label: u8| netlist.nets.get(usize::from(label)).is_some_and(|net| !net.poles.is_empty());
        let may_end =
            |label: Option<u8>| label.is_some_and(|label| is_pole(label) || label >= Label::SPARE.0);
        let served = |p: usize| {
            let LocalPoint::Terminal(device, terminal) = self.points[p] else { return false };
            netlist.linked(device, terminal).is_some_and(|other| {
                let twin = LocalPoint::Terminal(device, other);
                self.points.iter().zip(home).any(|(point, home)| *point == twin && home.is_some())
            })
        };
        let mut of_joint: BTreeMap<usize, Option<u8>> = BTreeMap::new();
        for (p, (&meant, &home)) in meant.iter().zip(home).enumerate() {
            let terminal = matches!(self.points[p], LocalPoint::Terminal(..));
            let fits = match home {
                Some(joint) => *of_joint.entry(joint).or_insert(meant) == meant,
                None if terminal => meant.is_none() || served(p),
                None => may_end(meant),
            };
            if !fits {
                return false;
            }
        }
        let shapes = |net: usize| {
            let (pieces, rings) = self.shape(found, home, Label(net as u8));
            pieces <= 1 && (rings == 0 || netlist.is_neutral(net))
        };
        (0..netlist.nets.len()).all(shapes)
    }

    /// The pieces a net falls into, and how many rings it closes.
    fn shape(&self, found: &Found, home: &[Option<usize>], label: Label) -> (usize, usize) {
        let groups = usize::from(found.walls.groups);
        let others = self.facts.joints.len();
        let here = self.points.len() + 1;
        let mut graph = Pieces::new(groups + others + here);
        let wires = self.facts.wires.iter().enumerate().filter(|(w, _)| found.wiring.labels[*w] == label);
        for (wire, fact) in wires {
            let group = usize::from(found.walls.wires[wire]);
            graph.take(group);
            let joint = if fact.at == self.at {
                self.home_of(wire, home).map(|j| groups + others + j)
            } else {
                fact.joint.map(|j| groups + j)
            };
            joint.iter().for_each(|&joint| graph.link(group, joint));
        }
        graph.shape()
    }

    fn home_of(&self, wire: WireIndex, home: &[Option<usize>]) -> Option<usize> {
        let same = |point: &LocalPoint| matches!(point, LocalPoint::Wire(w) if self.facts.index(*w) == wire);
        self.points.iter().position(same).and_then(|p| home[p])
    }
}

fn numbered(netlists: &mut Vec<Netlist>, netlist: &Netlist) -> usize {
    netlists.iter().position(|other| other == netlist).unwrap_or_else(|| {
        netlists.push(netlist.clone());
        netlists.len() - 1
    })
}

/// Nodes that hang together.
struct Pieces {
    parent: Vec<usize>,
    used: Vec<bool>,
    rings: usize,
}

impl Pieces {
    fn new(nodes: usize) -> Pieces {
        Pieces { parent: (0..nodes).collect(), used: vec![false; nodes], rings: 0 }
    }

    fn take(&mut self, node: usize) {
        self.used[node] = true;
    }

    fn root(&self, mut node: usize) -> usize {
        while self.parent[node] != node {
            node = self.parent[node];
        }
        node
    }

    fn link(&mut self, one: usize, other: usize) {
        self.take(one);
        self.take(other);
        let (a, b) = (self.root(one), self.root(other));
        self.rings += usize::from(a == b);
        self.parent[a] = b;
    }

    /// Pieces and rings.
    fn shape(&self) -> (usize, usize) {
        let roots = (0..self.parent.len()).filter(|&node| self.used[node] && self.parent[node] == node);
        (roots.count(), self.rings)
    }
}
