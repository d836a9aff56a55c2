//! The ways from how things stand to what can be asked, each reckoned once.

use super::errand::{Errand, Want};
use super::places::Place;
use super::rig::{Present, Rig};
use super::rigs;
use super::site::Site;
use crate::house::{BoxId, WireId};
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// How things stand, as a key.
type Stand = (Option<BoxId>, Rig, Vec<bool>, Vec<BoxId>, bool);

/// Numbers for what comes again and again.
pub struct Numbered<K, V> {
    numbers: FxHashMap<K, u32>,
    all: Vec<Rc<V>>,
}

impl<K: Eq + std::hash::Hash, V> Numbered<K, V> {
    /// Nothing yet.
    pub fn new() -> Self {
        Numbered { numbers: FxHashMap::default(), all: Vec::new() }
    }

    /// The number of what has this key.
    pub fn number(&mut self, key: K, value: impl FnOnce() -> V) -> u32 {
        let Numbered { numbers, all } = self;
        *numbers.entry(key).or_insert_with(|| {
            all.push(Rc::new(value()));
            (all.len() - 1) as u32
        })
    }

    /// What has a number.
    pub fn get(&self, number: u32) -> Rc<V> {
        Rc::clone(&self.all[number as usize])
    }
}

/// Costs that differ by less are the same.
const SAME: f64 = 1e-9;

/// What it takes to get to a place and ask one thing there.
#[derive(Clone, Copy)]
pub struct Step {
    /// With what is held against it.
    pub cost: f64,
    /// Minutes alone.
    pub minutes: f64,
    /// How things stand afterwards.
    pub after: u32,
}

/// So many ways are kept in mind.
const MOST_KEPT: usize = 2_000_000;

/// Ways to set things up, with the least that each costs.
type Floors = Rc<Vec<(f64, Rig)>>;

/// All ways that were asked for, in calls that differ in which wires may be neutrals.
pub struct Ways<'a> {
    stands: Numbered<Stand, Present>,
    sites: Numbered<BTreeSet<WireId>, Site<'a>>,
    /// The rigs there are from one in a call.
    rigs: BTreeMap<(Rig, u32), Rc<Vec<Rig>>>,
    /// The least that the rigs there are cost in a call from how things stand.
    floors: FxHashMap<(u32, u32), Floors>,
    /// The ways in a call from how things stand to a place.
    steps: FxHashMap<(u32, u32, u32), Option<Step>>,
    /// Minutes in a call from how things stand to standing otherwise.
    between: FxHashMap<(u32, u32, u32), f64>,
}

impl<'a> Ways<'a> {
    /// Begins.
    pub fn new() -> Ways<'a> {
        Ways {
            stands: Numbered::new(),
            sites: Numbered::new(),
            rigs: BTreeMap::new(),
            floors: FxHashMap::default(),
            steps: FxHashMap::default(),
            between: FxHashMap::default(),
        }
    }

    /// The number of how things stand.
    pub fn stand(&mut self, present: &Present) -> u32 {
        let Present { at, rig, positions, dead, earth } = present.clone();
        self.stands.number((at, rig, positions, dead, earth), || present.clone())
    }

    /// The number of a call.
    pub fn site(&mut self, site: Site<'a>) -> u32 {
        self.sites.number(site.maybe_neutral.clone(), || site)
    }

    /// The ways to set things up from how they stand, with the least that each costs.
    pub fn floors(&mut self, site: u32, stand: u32) -> Rc<Vec<(f64, Rig)>> {
        if let Some(known) = self.floors.get(&(site, stand)) {
            return Rc::clone(known);
        }
        let (of, present) = (self.sites.get(site), self.stands.get(stand));
        let rigs = self.rigs.entry((present.rig.clone(), site));
        let rigs = rigs.or_insert_with(|| Rc::new(rigs::all(&of, &present, false)));
        let floor = |rig: &Rig| {
            let positions = &present.positions;
            let want = Want { rig, positions, at: None, far: None, probes: 0, to_earth: false, barred: &[] };
            Some((Errand::to(&of, &present, &want)?.cost(), rig.clone()))
        };
        let floors = Rc::new(rigs.iter().filter_map(floor).collect());
        self.floors.insert((site, stand), Rc::clone(&floors));
        floors
    }

    /// The way to a place; nothing where its handles cannot be moved.
    pub fn step(&mut self, site: u32, stand: u32, place: &Place) -> Option<Step> {
        let key = (site, stand, place.id);
        if let Some(known) = self.steps.get(&key) {
            return *known;
        }
        let (of, present) = (self.sites.get(site), self.stands.get(stand));
        let house = of.house();
        let moves = house.switches().zip(place.positions.iter().zip(&present.positions));
        let mut moved = moves.filter(|(_, (to, from))| to != from).map(|(switch, _)| switch);
        let free = |switch| {
            !place.rig.out.contains(&switch) && of.acts(switch) && of.reachable(house.device(switch).at)
        };
        let errand = moved.all(free).then(|| {
            let Place { rig, positions, at, far, to_earth, .. } = place;
            let (at, far, to_earth, probes) = (*at, *far, *to_earth, usize::from(at.is_some()));
            Errand::to(&of, &present, &Want { rig, positions, at, far, probes, to_earth, barred: &[] })
        });
        let step = errand.flatten().map(|errand| Step {
            cost: errand.cost(),
            minutes: errand.minutes,
            after: self.stand(&errand.after),
        });
        if self.steps.len() > MOST_KEPT {
            self.steps.clear();
        }
        self.steps.insert(key, step);
        step
    }

    /// Minutes from how things stand to standing otherwise.
    fn between(&mut self, site: u32, from: u32, to: u32) -> f64 {
        if from == to {
            return 0.0;
        }
        if self.between.len() > MOST_KEPT {
            self.between.clear();
        }
        let (sites, stands) = (&self.sites, &self.stands);
        *self.between.entry((site, from, to)).or_insert_with(|| {
            let (from, to) = (stands.get(from), stands.get(to));
            let Present { at, rig, positions, .. } = &*to;
            let want = Want { rig, positions, at: *at, far: None, probes: 0, to_earth: false, barred: &[] };
            Errand::to(&sites.get(site), &from, &want).map_or(f64::INFINITY, |errand| errand.minutes)
        })
    }

    /// Steps that are not dearer than another and going on from there to where they end.
    pub fn undominated(&mut self, site: u32, mut steps: Vec<Step>) -> Vec<Step> {
        steps.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut kept: Vec<Step> = Vec::new();
        for step in steps {
            let mut dearer =
                |known: &Step| known.cost + self.between(site, known.after, step.after) <= step.cost + SAME;
            if !kept.iter().any(&mut dearer) {
                kept.push(step);
            }
        }
        kept
    }
}
