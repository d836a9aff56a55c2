//! How likely a wiring is before anything was read.
//!
//! Prior mass is given per stratum (how many buried boxes, how many cables that go onward) and shared inside it by
//! habits: what a run looks like, and what wires of a colour carry. All figures come from the packs.

use super::collection::Found;
use super::facts::{Facts, FixedJoint, WireFact, WireIndex, base_colour};
use super::listing::Listing;
use super::netlist::{Net, Netlist};
use super::remembered::Remembered;
use super::space::{Dest, Label, Wiring};
use crate::house::{House, Place, Role};
use crate::knowledge::{Knowledge, RunHabits};
use std::collections::BTreeMap;

/// How well the joints as found fit a family of which no sound wiring shows it: a guess.
const FIT: f64 = 0.05;

/// How many times as much a buried box makes of the factors of a stratum: an estimate.
const BURIED_MORE: f64 = 25.0;

/// Gives every wiring its weight; they add up to 1.
///
/// A sound wiring has its factor's share in its stratum, times how well the joints as found fit that family at all: the
/// factors of its sound wirings beside those of all wirings there would be if the joints of one box were not known. A
/// wiring with a landing error comes with its factor times the chance of the error, beside the same sum. What is remembered
/// of joints counts after that, so that no stratum is given back what memory speaks against.
pub(super) fn weigh(
    house: &House,
    facts: &Facts,
    knowledge: &Knowledge,
    families: &Families,
    listing: Listing,
) -> (Vec<Netlist>, Vec<Found>) {
    let Listing { netlists, mut found, faulty, whole, unadded, guided, .. } = listing;
    let judge = Judge::new(facts, knowledge, &netlists);
    let mut strata: BTreeMap<Stratum, f64> = BTreeMap::new();
    for one in found.iter_mut().filter(|one| one.wiring.defects.is_empty()) {
        one.wiring.weight = judge.factor(one);
        *strata.entry(Stratum::of(one, families)).or_default() += one.wiring.weight;
    }
    let all = |stratum: &Stratum| {
        whole.get(&(families.names[stratum.level.family].clone(), stratum.onward)).copied()
    };
    let fit = |stratum: &Stratum| {
        if whole.is_empty() {
            return 1.0;
        }
        let unburied = Stratum { level: Level { buried: 0, ..stratum.level }, ..*stratum };
        match (strata.get(&unburied), all(&unburied)) {
            (Some(sound), Some(all)) if all > 0.0 => (sound / all).min(1.0),
            _ => FIT,
        }
    };
    let more = |stratum: &Stratum| libm::pow(BURIED_MORE, f64::from(stratum.level.buried));
    let inside = |stratum: &Stratum| {
        let unburied = Stratum { level: Level { buried: 0, ..stratum.level }, ..*stratum };
        let listed = strata.get(stratum).copied().unwrap_or(1.0);
        if !guided.contains(&stratum.level) {
            return listed;
        }
        // What the whole stratum would add up to is not known: so many times as much as without buried boxes.
        let base = if guided.contains(&unburied.level) { None } else { strata.get(&unburied).copied() };
        listed.max(base.unwrap_or(1.0) * more(stratum))
    };
    let remembered = Remembered::new(house, facts, knowledge, &netlists);
    let largest = whole.values().copied().fold(0.0, f64::max);
    // Where there were too many to list with a box apart, there are as many as the sound ones say, and as of any other family.
    let all_or_guess = |stratum: &Stratum| {
        let unburied = Stratum { level: Level { buried: 0, ..stratum.level }, ..*stratum };
        let added = all(&unburied).filter(|_| !unadded.contains(&families.names[stratum.level.family]));
        let by_sound = || strata.get(&unburied).map_or(1.0, |_| inside(&unburied) / FIT);
        added.unwrap_or_else(|| by_sound().max(largest))
    };
    for one in &mut found {
        let stratum = Stratum::of(one, families);
        let mass = stratum.mass(knowledge, families);
        one.wiring.weight *= if one.wiring.defects.is_empty() {
            mass * fit(&stratum) * (1.0 - faulty) / inside(&stratum)
        } else {
            mass / (all_or_guess(&stratum) * more(&stratum))
        };
        one.wiring.weight *= remembered.factor(&one.wiring);
    }
    let sum: f64 = found.iter().map(|one| one.wiring.weight).sum();
    found.iter_mut().for_each(|one| one.wiring.weight /= sum);
    (netlists, found)
}

/// Wirings that share their prior mass.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Stratum {
    level: Level,
    onward: usize,
}

impl Stratum {
    fn of(found: &Found, families: &Families) -> Stratum {
        let onward = found.wiring.dests.iter().filter(|dest| **dest == Dest::Onward).count();
        let level = Level { buried: found.buried, family: families.of[found.wiring.netlist] };
        Stratum { level, onward }
    }

    fn mass(&self, knowledge: &Knowledge, families: &Families) -> f64 {
        let level = families.mass(knowledge, self.level);
        (0..self.onward).fold(level, |mass, _| mass * knowledge.habits.prior.onward)
    }
}

/// A part of the space that is listed as a whole: one family of netlists, so many buried boxes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Level {
    pub(super) buried: u8,
    /// Counted in the order in which the netlists come.
    pub(super) family: usize,
}

/// The families of a list of netlists.
pub(super) struct Families {
    /// For each netlist its family.
    pub(super) of: Vec<usize>,
    mass: Vec<f64>,
    names: Vec<String>,
}

impl Families {
    pub(super) fn new(netlists: &[Netlist]) -> Families {
        let mut families = Families { of: Vec::new(), mass: Vec::new(), names: Vec::new() };
        let mut names: BTreeMap<&str, usize> = BTreeMap::new();
        for netlist in netlists {
            let family = *names.entry(&netlist.family).or_insert(families.mass.len());
            if family == families.mass.len() {
                families.mass.push(netlist.mass);
                families.names.push(netlist.family.clone());
            }
            families.of.push(family);
        }
        families
    }

    /// All levels, fewer buried boxes first, then as the netlists come.
    pub(super) fn levels(&self, most: u8) -> Vec<Level> {
        let of = |buried| (0..self.mass.len()).map(move |family| Level { buried, family });
        (0..=most).flat_map(of).collect()
    }

    fn mass(&self, knowledge: &Knowledge, level: Level) -> f64 {
        let buried = knowledge.habits.prior.buried;
        let boxes = if level.buried == 0 { 1.0 - buried } else { libm::pow(buried, f64::from(level.buried)) };
        boxes * self.mass[level.family]
    }

    /// The share that levels which were not listed hold, beside those in which something was found: sound, or with a slip,
    /// of which the chance is `slips`. Where nothing fits, nothing is held.
    pub(super) fn uncovered(&self, knowledge: &Knowledge, found: &[Found], cut: &[Level], slips: f64) -> f64 {
        let mut held: BTreeMap<Level, f64> = BTreeMap::new();
        for one in found {
            let level = Level { buried: one.buried, family: self.of[one.wiring.netlist] };
            let chance = if one.wiring.defects.is_empty() { 1.0 } else { slips };
            let most = held.entry(level).or_default();
            *most = most.max(chance);
        }
        let held: f64 = held.iter().map(|(&level, chance)| chance * self.mass(knowledge, level)).sum();
        let cut: f64 = cut.iter().map(|&level| self.mass(knowledge, level)).sum();
        if cut > 0.0 { cut / (cut + held) } else { 0.0 }
    }
}

/// What a wiring's factor depends on.
pub(super) struct Judge<'a> {
    facts: &'a Facts,
    run: RunHabits,
    netlists: &'a [Netlist],
    /// For each netlist the role of each net.
    roles: Vec<Vec<Role>>,
    /// For each wire, by role: how usual its colour is for it in a cable without and with the neutral.
    colours: Vec<BTreeMap<Role, [f64; 2]>>,
}

impl<'a> Judge<'a> {
    pub(super) fn new(facts: &'a Facts, knowledge: &'a Knowledge, netlists: &'a [Netlist]) -> Judge<'a> {
        let usual = |wire: &WireFact| {
            let colour =
                |role: Role, with| knowledge.habits.colour(base_colour(&wire.colour), role.word(), with);
            Role::ALL.into_iter().map(|role| (role, [colour(role, false), colour(role, true)])).collect()
        };
        Judge {
            facts,
            run: knowledge.habits.run,
            netlists,
            roles: netlists.iter().map(|netlist| netlist.nets.iter().map(habitual).collect()).collect(),
            colours: facts.wires.iter().map(usual).collect(),
        }
    }

    /// How likely a wiring is beside others of its stratum.
    pub(super) fn factor(&self, found: &Found) -> f64 {
        let wiring = &found.wiring;
        let run = self.run;
        let netlist = &self.netlists[wiring.netlist];
        let mut factor = netlist.weight;
        if found.closed {
            factor *= run.closed_neutral;
        }
        if !found.bonded {
            factor *= run.loose_ground;
        }
        if found.walls.breakers[0] != 0 {
            factor *= run.not_first_feed;
        }
        for (end, dest) in wiring.dests.iter().enumerate() {
            factor *= self.cable(wiring, end, *dest);
        }
        factor *= libm::pow(run.other_than_written, self.other_than_written(found) as f64);
        factor * self.ends_unused(wiring) * self.shape(wiring) * self.split_feed(wiring)
    }

    /// How many items of the survey that were marked unsure are otherwise.
    fn other_than_written(&self, found: &Found) -> usize {
        let walls = &found.walls;
        let label = |wire: &WireIndex| found.wiring.labels[*wire];
        let otherwise = |joint: &&FixedJoint| {
            let unused =
                joint.terminals.is_empty() && joint.wires.iter().all(|wire| label(wire) == Label::SPARE);
            !unused && !walls.hidden.contains(joint)
        };
        let joints = self.facts.unsure.iter().filter(otherwise).count();
        let recoloured = |(at, dest): &(usize, &Dest)| {
            let Dest::End(far) = dest else { return false };
            let (near, far) = (&self.facts.ends[*at], &self.facts.ends[usize::from(far.0)]);
            let unsure = [near, far].map(|end| self.facts.wires[end.first].unsure);
            let same = |one: WireIndex, other: WireIndex| {
                walls.wires[one] == walls.wires[other]
                    && self.facts.wires[one].is_like(&self.facts.wires[other])
            };
            let kept = |wire: WireIndex| far.wires().any(|other| same(wire, other));
            near.first < far.first && unsure.contains(&true) && !near.wires().all(kept)
        };
        joints + found.wiring.dests.iter().enumerate().filter(recoloured).count()
    }

    fn role(&self, wiring: &Wiring, wire: WireIndex) -> Role {
        match wiring.labels[wire] {
            Label::SPARE => Role::Spare,
            Label::GROUND => Role::Ground,
            Label(net) => self.roles[wiring.netlist][usize::from(net)],
        }
    }

    /// Colours and leftovers of the cable at one end; a cable seen at both ends counts once.
    fn cable(&self, wiring: &Wiring, end: usize, dest: Dest) -> f64 {
        if matches!(dest, Dest::End(far) if usize::from(far.0) < end) {
            return 1.0;
        }
        let wires = || self.facts.ends[end].wires().filter(|&wire| !self.facts.wires[wire].ground);
        let roles = || wires().map(|wire| self.role(wiring, wire));
        if roles().all(|role| role == Role::Spare) {
            return self.run.dead_cable;
        }
        let with_neutral = usize::from(roles().any(|role| role == Role::Neutral));
        let of = |(wire, role): (WireIndex, Role)| {
            let habit = self.colours[wire].get(&role).map_or(1.0, |usual| usual[with_neutral]);
            if role == Role::Spare { habit * self.run.spare_wire } else { habit }
        };
        wires().zip(roles()).map(of).product()
    }

    /// Wires found capped, though they carry something.
    fn ends_unused(&self, wiring: &Wiring) -> f64 {
        let capped = (0..self.facts.wires.len())
            .filter(|&wire| !self.facts.wires[wire].free && self.facts.wires[wire].joint.is_none());
        capped
            .map(|wire| match self.role(wiring, wire) {
                Role::Line => self.run.unused_line,
                Role::Neutral => self.run.unused_neutral,
                _ => 1.0,
            })
            .product()
    }

    /// Rings and parallel cables among the cables that were seen.
    fn shape(&self, wiring: &Wiring) -> f64 {
        let run = self.run;
        let mut parent: Vec<(Place, Place)> = Vec::new();
        let mut seen: Vec<(Place, Place)> = Vec::new();
        let mut carried: Vec<(Place, Place, Label)> = Vec::new();
        let mut factor = 1.0;
        for (end, dest) in wiring.dests.iter().enumerate() {
            let here = Place::Box(self.facts.ends[end].at);
            let there = match *dest {
                Dest::End(far) if usize::from(far.0) < end => continue,
                Dest::End(far) => Place::Box(self.facts.ends[usize::from(far.0)].at),
                Dest::Box(at) => Place::Box(at),
                Dest::Buried(n) => Place::Buried(n),
                Dest::Panel | Dest::Onward => continue,
            };
            // Singles of one run travel together: several of them are one cable here.
            let single = self.facts.ends[end].count == 1;
            let pair = (here.min(there), here.max(there));
            for label in self.facts.ends[end].wires().map(|wire| wiring.labels[wire]) {
                let hop = (pair.0, pair.1, label);
                if label != Label::SPARE && label != Label::GROUND && carried.contains(&hop) {
                    factor *= run.doubled_back;
                }
                carried.push(hop);
            }
            if seen.contains(&pair) {
                factor *= if single { 1.0 } else { run.parallel };
                continue;
            }
            seen.push(pair);
            let (a, b) = (root(&parent, here), root(&parent, there));
            if a == b {
                factor *= run.ring;
            } else {
                parent.push((a, b));
            }
        }
        factor
    }

    fn split_feed(&self, wiring: &Wiring) -> f64 {
        let line_single = wiring
            .dests
            .iter()
            .enumerate()
            .any(|(end, dest)| *dest == Dest::Panel && self.facts.ends[end].count == 1);
        if line_single { self.run.split_feed } else { 1.0 }
    }
}

/// What habits take a net for: another circuit's line and neutral have the colours that those of this one have.
fn habitual(net: &Net) -> Role {
    match (net.role(), net.poles.first()) {
        (Role::Other, Some(pole)) if pole.is_neutral() => Role::Neutral,
        (Role::Other, Some(_)) => Role::Line,
        (role, _) => role,
    }
}

fn root(parent: &[(Place, Place)], mut place: Place) -> Place {
    while let Some((_, up)) = parent.iter().find(|(one, _)| *one == place) {
        place = *up;
    }
    place
}
