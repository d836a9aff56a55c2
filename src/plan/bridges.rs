//! Jumpers: two points of one box bridged, or one of them to earth, so that another box tells which wires they are.
//!
//! Two wires of another box read closed where theirs are the two that are bridged. Readings in the box of the jumper itself say
//! nothing that they do not say without. A jumper is for dead ohms only: no rig that has one has anything on.

use super::belief::{Belief, State, entropy};
use super::errand::{Errand, Want};
use super::rig::Rig;
use super::round::{bits, spots};
use super::search::{Search, USEFUL};
use crate::house::{BoxId, Point};
use crate::predict::{Opened, Scene, joined};
use rustc_hash::FxHashMap;

/// So many jumpers are looked into, those that may tell most for their minutes.
const MOST: usize = 3;

/// The jumpers that may tell `least` bits a minute with power, lamps, devices and wires as they are, the best first.
pub fn rigs(search: &Search, least: f64) -> Vec<Rig> {
    let site = search.site;
    let base = Rig { on: false, off: None, jumpers: Vec::new(), ..search.present.rig.clone() };
    let spots = spots(site, &base);
    let one_box = spots.windows(2).all(|two| two[0].0 == two[1].0);
    if one_box || !site.works_dead() {
        return Vec::new();
    }
    let open = search.belief.bits();
    let near = |jumper| {
        let rig = Rig { jumpers: vec![jumper], ..base.clone() };
        let floor = floor(search, &rig, &spots)?;
        (open / floor >= least).then_some((floor, rig))
    };
    let near: Vec<(f64, Rig)> = jumpers(&spots, search.present.earth).filter_map(near).collect();
    if near.is_empty() {
        return Vec::new();
    }
    let told = Told::new(search, &base, &spots);
    let without = told.bits(None);
    let rate = |(floor, rig): (f64, Rig)| {
        let bits = told.bits(rig.jumpers.first().copied());
        (bits - without >= USEFUL && bits / floor >= least).then_some((bits / floor, rig))
    };
    let mut rated: Vec<(f64, Rig)> = near.into_iter().filter_map(rate).collect();
    rated.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    rated.into_iter().take(MOST).map(|(_, rig)| rig).collect()
}

/// Every two points of a box, and where something is known that is earth, every point to it.
fn jumpers(spots: &[(BoxId, Point)], earth: bool) -> impl Iterator<Item = (Point, Point)> {
    spots.iter().enumerate().flat_map(move |(at, &(place, p))| {
        let others = spots[at + 1..].iter().filter(move |(other, _)| *other == place);
        others.map(|&(_, q)| q).chain(earth.then_some(Point::Earth)).map(move |q| (p, q))
    })
}

/// The least that a reading with a jumper on costs: in the box that is come to most easily.
fn floor(search: &Search, rig: &Rig, spots: &[(BoxId, Point)]) -> Option<f64> {
    let site = search.site;
    let to_earth = rig.is_earthed();
    let cost = |at: BoxId| {
        let positions = &search.present.positions;
        let want = Want { rig, positions, at: Some(at), far: None, probes: 1, to_earth, barred: &[] };
        Errand::to(site, search.present, &want).map(|errand| errand.cost())
    };
    let mut boxes: Vec<BoxId> = spots.iter().map(|(at, _)| *at).collect();
    boxes.dedup();
    boxes.retain(|at| !rig.has_jumper_at(site.house(), *at));
    boxes.into_iter().filter_map(cost).min_by(f64::total_cmp)
}

/// What is joined to what, for all that may be so.
struct Told<'s> {
    spots: &'s [(BoxId, Point)],
    /// For each way things may be joined the net of each of the spots, and of earth.
    nets: Vec<Vec<u8>>,
    /// Which way, what that answers to what the call asks, and how likely it is.
    states: Vec<(usize, usize, f64)>,
}

impl<'s> Told<'s> {
    fn new(search: &Search, base: &Rig, spots: &'s [(BoxId, Point)]) -> Told<'s> {
        let Search { scene, belief, .. } = search;
        let opened = scene.opened(&base.setup(scene.facts));
        let points: Vec<Point> = spots.iter().map(|(_, point)| *point).chain([Point::Earth]).collect();
        let positions = bits(&search.present.positions);
        let (nets, ways) = ways(scene, belief, &opened, &points, positions);
        let mut states: Vec<(usize, usize, f64)> = Vec::new();
        for (state, way) in belief.states.iter().zip(ways) {
            states.push((way, state.target, state.p));
        }
        states.sort_by_key(|state| (state.0, state.1));
        states.dedup_by(|next, kept| {
            let same = (next.0, next.1) == (kept.0, kept.1);
            kept.2 += if same { next.2 } else { 0.0 };
            same
        });
        Told { spots, nets, states }
    }

    /// Bits that all readings with a jumper on tell at most about what the call asks, or those without one.
    fn bits(&self, jumper: Option<(Point, Point)>) -> f64 {
        let mut known: FxHashMap<Vec<u8>, usize> = FxHashMap::default();
        let label = |nets: &Vec<u8>| {
            let next = known.len();
            *known.entry(self.shown(nets, jumper)).or_insert(next)
        };
        let labels: Vec<usize> = self.nets.iter().map(label).collect();
        let mut joint: Vec<(usize, usize, f64)> =
            self.states.iter().map(|&(way, target, p)| (labels[way], target, p)).collect();
        let whole = by(&mut joint, |&(_, target, _)| (0, target));
        let whole = whole.first().map_or(0.0, |all| entropy(all));
        let sum: f64 = self.states.iter().map(|(.., p)| p).sum();
        let each = by(&mut joint, |&(label, target, _)| (label, target));
        let left: f64 = each.iter().map(|part| entropy(part) * part.iter().sum::<f64>()).sum();
        whole - left / sum.max(f64::MIN_POSITIVE)
    }

    /// What reads closed to what in each box but that of the jumper, and to earth where the jumper goes there.
    fn shown(&self, nets: &[u8], jumper: Option<(Point, Point)>) -> Vec<u8> {
        let earth = self.spots.len();
        let place = |point: Point| self.spots.iter().position(|(_, spot)| *spot == point).unwrap_or(earth);
        let bridged = jumper.map(|(p, q)| (place(p), place(q)));
        let net = |at: usize| match bridged {
            Some((p, q)) if nets[at] == nets[q] => nets[p],
            _ => nets[at],
        };
        let to_earth = bridged.is_some_and(|(p, q)| p.max(q) == earth);
        let at = bridged.and_then(|(p, q)| self.spots.get(p.min(q))).map(|(at, _)| *at);
        let mut shown = Vec::new();
        let mut here: Vec<u8> = Vec::new();
        let mut last = None;
        for (spot, &(outlet, _)) in
            self.spots.iter().enumerate().filter(|(_, (outlet, _))| Some(*outlet) != at)
        {
            if last != Some(outlet) {
                here.clear();
                here.extend(to_earth.then(|| net(earth)));
                last = Some(outlet);
            }
            let own = net(spot);
            let first = here.iter().position(|known| *known == own).unwrap_or(here.len());
            here.push(own);
            shown.push(first as u8);
        }
        shown
    }
}

/// The ways things may be joined, and for each state which it is.
fn ways(
    scene: &Scene,
    belief: &Belief,
    opened: &Opened,
    points: &[Point],
    positions: u32,
) -> (Vec<Vec<u8>>, Vec<usize>) {
    let mut of_walls: FxHashMap<(usize, u32), usize> = FxHashMap::default();
    let mut numbers: FxHashMap<Vec<u8>, usize> = FxHashMap::default();
    let mut nets: Vec<Vec<u8>> = Vec::new();
    let way = |state: &State| {
        let thrown = positions ^ state.sense;
        *of_walls.entry((state.walls, thrown)).or_insert_with(|| {
            let found = joined(scene, belief.walls[state.walls], opened, thrown, points);
            *numbers.entry(found).or_insert_with_key(|found| {
                nets.push(found.clone());
                nets.len() - 1
            })
        })
    };
    let ways = belief.states.iter().map(way).collect();
    (nets, ways)
}

/// Probabilities summed by a key, in the parts that its first half makes.
fn by(
    joint: &mut [(usize, usize, f64)],
    key: impl Fn(&(usize, usize, f64)) -> (usize, usize),
) -> Vec<Vec<f64>> {
    joint.sort_by_key(&key);
    let parts = joint.chunk_by(|a, b| key(a).0 == key(b).0);
    let sum = |same: &[(usize, usize, f64)]| same.iter().map(|(.., p)| p).sum::<f64>();
    parts.map(|part| part.chunk_by(|a, b| key(a).1 == key(b).1).map(sum).collect()).collect()
}
