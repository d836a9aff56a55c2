//! The least that any order of readings can take, where few wirings are left: every order tried to its end.
//!
//! Answers are taken to be right, and only those are asked that every wiring still possible foresees in one word. Several
//! answers at one place count as one reading however they are chosen, each by what the ones before it showed: no way of
//! asking takes less.

use super::belief::{Belief, entropy};
use super::errand::{Errand, Want};
use super::rig::{Present, Rig};
use super::rigs;
use super::round::{Query, Round, Scope, bits};
use super::site::Site;
use super::{Planner, Wish};
use crate::call::Call;
use crate::house::{BoxId, House, Point, Role};
use crate::knowledge::Knowledge;
use crate::predict::{Forecast, Ghosts, Scene};
use crate::verdict;
use crate::weigh::Ledger;
use crate::wiring::Space;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// What is expected of the best order.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Least {
    /// Minutes, with what is held against steps.
    pub cost: f64,
    /// Minutes alone, of the order with the least cost.
    pub minutes: f64,
    /// Readings, each answer by itself.
    pub answers: f64,
}

/// The least, for a call as it stands. Nothing where more than `most` situations would have
/// to be looked at, or where no order of such readings answers the question.
pub fn least(call: &Call, knowledge: &Knowledge, space: &Space, most: usize) -> Option<Least> {
    verdict::with_case(call, knowledge, space, &mut Ledger::default(), |case, scene| {
        let verdict = case.verdict();
        let planner = Planner::new(case, scene, &verdict, Wish::default());
        // Walls that are hardly likely would have to be told from the others by nobody.
        let belief = Belief::of_everything(case).coarse(FAINT);
        let mut exact = Exact {
            site: &planner.site,
            scene,
            belief: &belief,
            ghosts: Forecast::ghosts(scene),
            splits: BTreeMap::new(),
            places: BTreeMap::new(),
            sites: BTreeMap::new(),
            settled: BTreeMap::new(),
            known: BTreeMap::new(),
            left: most,
        };
        let all: Set = (0..belief.states.len() as u16).collect();
        exact.best(&all, &planner.present, f64::INFINITY).ok().flatten()
    })
}

/// Walls that hold so much together are left out.
const FAINT: f64 = 2e-3;

/// Too much to look at.
struct TooMuch;

/// Which states are still possible, in order.
type Set = Vec<u16>;

/// How things stand, as a key.
type Stand = (Option<BoxId>, Rig, Vec<bool>, Vec<BoxId>);

/// For each state the word that it answers, numbered as they come.
type Split = Rc<Vec<u8>>;

/// What can be asked at one place, with the handles so.
struct Place {
    positions: Vec<bool>,
    at: Option<BoxId>,
    far: Option<BoxId>,
    /// For each state, whether the breaker opens.
    trips: Rc<Vec<bool>>,
    splits: Vec<Split>,
}

/// No word: the answer depends on what nobody knows.
const VAGUE: u8 = u8::MAX;

/// A word that is likelier than this is foreseen.
const FORESEEN: f64 = 0.97;

/// Positions in which the breaker opens with this chance are barred.
const BARRED: f64 = 0.01;

/// A reading that might come next.
struct Candidate {
    errand: Errand,
    cost: f64,
    parts: Rc<Vec<(f64, Set)>>,
    rate: f64,
}

struct Exact<'e, 'a> {
    site: &'e Site<'a>,
    scene: &'e Scene<'a>,
    belief: &'e Belief<'a>,
    ghosts: Ghosts,
    splits: BTreeMap<Vec<u8>, Split>,
    places: BTreeMap<Rig, Rc<Vec<Place>>>,
    sites: BTreeMap<Set, Rc<Site<'a>>>,
    settled: BTreeMap<Set, bool>,
    /// What is known of situations: the least, or what it is not below.
    known: BTreeMap<(Set, Stand), Result<Least, f64>>,
    left: usize,
}

impl<'a> Exact<'_, 'a> {
    /// The least from here, if it is below a limit.
    fn best(&mut self, set: &Set, present: &Present, limit: f64) -> Result<Option<Least>, TooMuch> {
        if self.is_settled(set) {
            return Ok(Some(Least::default()));
        }
        let key = (set.clone(), stand(present));
        match self.known.get(&key) {
            Some(Ok(least)) => return Ok((least.cost < limit).then_some(*least)),
            Some(Err(floor)) if *floor >= limit => return Ok(None),
            _ => {}
        }
        self.left = self.left.checked_sub(1).ok_or(TooMuch)?;
        let candidates = self.candidates(set, present, limit);
        let mut best: Option<Least> = None;
        for candidate in candidates {
            let below = best.map_or(limit, |best| best.cost);
            best = self.through(&candidate, below)?.or(best);
        }
        self.known.insert(key, best.ok_or(limit));
        Ok(best)
    }

    /// The least that begins with a candidate, if it is below a limit.
    fn through(&mut self, candidate: &Candidate, limit: f64) -> Result<Option<Least>, TooMuch> {
        let after = &candidate.errand.after;
        let mut sum = Least { cost: candidate.cost, minutes: candidate.errand.minutes, answers: 1.0 };
        let mut floor = 0.0;
        for (p, part) in candidate.parts.iter() {
            floor += p * self.floor(part, after);
        }
        for (p, part) in candidate.parts.iter() {
            floor -= p * self.floor(part, after);
            let left = (limit - sum.cost - floor) / p;
            if left <= 0.0 {
                return Ok(None);
            }
            let Some(rest) = self.best(part, after, left)? else { return Ok(None) };
            sum.cost += p * rest.cost;
            sum.minutes += p * rest.minutes;
            sum.answers += p * rest.answers;
        }
        Ok((sum.cost < limit).then_some(sum))
    }

    /// What a set takes at the least, as far as is known.
    fn floor(&mut self, set: &Set, present: &Present) -> f64 {
        if self.is_settled(set) {
            return 0.0;
        }
        let least = self.site.prices().work.flip.min(self.site.prices().work.probe);
        match self.known.get(&(set.clone(), stand(present))) {
            Some(Ok(known)) => known.cost,
            Some(Err(floor)) => floor.max(least),
            _ => least,
        }
    }

    /// Whether the question is answered: the stop rule of verdict and planner.
    fn is_settled(&mut self, set: &Set) -> bool {
        if let Some(known) = self.settled.get(set) {
            return *known;
        }
        let settled = self.belief.is_answered(&self.targets(set));
        self.settled.insert(set.clone(), settled);
        settled
    }

    fn targets(&self, set: &Set) -> Vec<f64> {
        let mut targets = vec![0.0; self.belief.targets()];
        for &at in set {
            let state = &self.belief.states[usize::from(at)];
            targets[state.target] += state.p;
        }
        targets
    }

    /// The call, with what is known of neutrals once only these states are left.
    fn site(&mut self, set: &Set) -> Rc<Site<'a>> {
        if let Some(known) = self.sites.get(set) {
            return Rc::clone(known);
        }
        let targets = self.targets(set);
        let whole: f64 = targets.iter().sum();
        let neutral = |wire: usize| {
            let of = self.belief.answers.iter().zip(&targets);
            let of = of.filter(|(told, _)| told.roles.get(wire) == Some(&Role::Neutral));
            of.map(|(_, p)| p).sum::<f64>() / whole
        };
        let site = Rc::new(self.site.knowing(neutral));
        self.sites.insert(set.clone(), Rc::clone(&site));
        site
    }

    /// Readings worth trying next, the best by rate first.
    fn candidates(&mut self, set: &Set, present: &Present, limit: f64) -> Vec<Candidate> {
        let site = self.site(set);
        let mut by_parts: BTreeMap<Vec<u8>, Vec<Errand>> = BTreeMap::new();
        for rig in rigs::all(&site, present, false) {
            let want = Want {
                rig: &rig,
                positions: &present.positions,
                at: None,
                far: None,
                probes: 0,
                barred: &[],
            };
            if Errand::to(&site, present, &want).is_none_or(|errand| errand.cost() >= limit) {
                continue;
            }
            for place in self.places(&rig).iter() {
                let Some(errand) = self.way(&site, set, present, (&rig, place)) else { continue };
                if cost(&errand) >= limit {
                    continue;
                }
                let all = place.splits.iter().filter_map(|split| restricted(split, set));
                for labels in finest(all.collect()) {
                    by_parts.entry(labels).or_default().push(errand.clone());
                }
            }
        }
        let mut candidates: Vec<Candidate> = Vec::new();
        for (labels, errands) in by_parts {
            let (parts, bits) = self.parts(set, &labels);
            let kept = undominated(&site, errands);
            candidates.extend(kept.into_iter().map(|errand| {
                let cost = cost(&errand);
                Candidate { errand, cost, parts: Rc::clone(&parts), rate: bits / cost }
            }));
        }
        candidates.sort_by(|a, b| b.rate.total_cmp(&a.rate));
        candidates
    }

    /// The way to a place; nothing where its handles are barred or cannot be moved.
    fn way(&self, site: &Site, set: &Set, present: &Present, (rig, place): (&Rig, &Place)) -> Option<Errand> {
        let house = site.house();
        let moves = house.switches().zip(place.positions.iter().zip(&present.positions));
        let mut moved = moves.filter(|(_, (to, from))| to != from).map(|(switch, _)| switch);
        let free = |switch| {
            !rig.out.contains(&switch) && site.acts(switch) && site.reachable(house.device(switch).at)
        };
        if !moved.all(free) || (rig.on && site.tripped_at(&rig.out, &place.positions)) {
            return None;
        }
        let p = |at: &&u16| self.belief.states[usize::from(**at)].p;
        let whole: f64 = set.iter().map(|at| p(&at)).sum();
        let trips: f64 = set.iter().filter(|at| place.trips[usize::from(**at)]).map(|at| p(&at)).sum();
        if rig.on && trips >= BARRED * whole {
            return None;
        }
        let probes = usize::from(place.at.is_some());
        let Place { positions, at, far, .. } = place;
        Errand::to(site, present, &Want { rig, positions, at: *at, far: *far, probes, barred: &[] })
    }

    /// The parts of a set by labels, with their shares, and the bits that telling them apart tells.
    fn parts(&self, set: &Set, labels: &[u8]) -> (Rc<Vec<(f64, Set)>>, f64) {
        let mut parts: Vec<Set> = Vec::new();
        for (&at, &label) in set.iter().zip(labels) {
            let label = usize::from(label);
            parts.resize(parts.len().max(label + 1), Set::new());
            parts[label].push(at);
        }
        let targets = self.targets(set);
        let whole: f64 = targets.iter().sum();
        let mut bits = entropy(&targets);
        let mut shares = Vec::new();
        for part in parts {
            let own = self.targets(&part);
            let share = own.iter().sum::<f64>() / whole;
            bits -= share * entropy(&own);
            shares.push((share, part));
        }
        // The likeliest part says soonest that a way is too dear.
        shares.sort_by(|a, b| b.0.total_cmp(&a.0));
        (Rc::new(shares), bits)
    }

    /// What can be asked in a rig.
    fn places(&mut self, rig: &Rig) -> Rc<Vec<Place>> {
        if let Some(known) = self.places.get(rig) {
            return Rc::clone(known);
        }
        let mut places = Vec::new();
        for scope in Scope::ALL {
            let round = Round::new(self.site, self.scene, self.belief, rig, scope, &mut self.ghosts);
            if !round.columns.is_empty() {
                self.add_places(&round, &mut places);
            }
        }
        let places = Rc::new(places);
        self.places.insert(rig.clone(), Rc::clone(&places));
        places
    }

    fn add_places(&mut self, round: &Round, places: &mut Vec<Place>) {
        let switches = self.site.house().switches().count();
        for thrown in 0..1_u32 << switches {
            let positions: Vec<bool> = (0..switches).map(|at| thrown >> at & 1 == 1).collect();
            let trips = self.belief.states.iter();
            let trips = trips.map(|state| round.shows[usize::from(round.code(0, state, thrown))].1);
            let trips: Rc<Vec<bool>> = Rc::new(trips.collect());
            let start = places.len();
            for ((at, far), words) in self.words(round, &positions) {
                let split = self.split(&words);
                if split.iter().all(|label| *label == split[0]) {
                    continue;
                }
                let place = places[start..].iter().position(|place| (place.at, place.far) == (at, far));
                let place = place.map_or_else(
                    || {
                        let (positions, trips) = (positions.clone(), Rc::clone(&trips));
                        places.push(Place { positions, at, far, trips, splits: Vec::new() });
                        places.len() - 1
                    },
                    |place| start + place,
                );
                if !places[place].splits.contains(&split) {
                    places[place].splits.push(split);
                }
            }
        }
    }

    /// The words of each answer, with where it is asked; of looking at the lights, of all together.
    fn words(&self, round: &Round, positions: &[bool]) -> Vec<(Where, Vec<u8>)> {
        let thrown = bits(positions);
        let word = |column: usize, state| {
            let shows = &round.shows[usize::from(round.code(column, state, thrown))].0;
            let best = (0..shows.len()).max_by(|a, b| shows[*a].total_cmp(&shows[*b]));
            best.filter(|best| shows[*best] >= FORESEEN).map_or(VAGUE, |best| best as u8)
        };
        let of = |column: usize| self.belief.states.iter().map(|state| word(column, state)).collect();
        let mut all: Vec<(Where, Vec<u8>)> = Vec::new();
        for (column, what) in round.columns.iter().enumerate() {
            let words: Vec<u8> = of(column);
            match (what.query, all.first_mut()) {
                (Query::Light(_), Some((_, known))) => {
                    for (known, word) in known.iter_mut().zip(words) {
                        let both = known.saturating_mul(5).saturating_add(word);
                        *known = if *known == VAGUE || word == VAGUE { VAGUE } else { both };
                    }
                }
                (query, _) => {
                    let places = places_of(self.site.house(), query);
                    all.extend(places.into_iter().map(|place| (place, words.clone())));
                }
            }
        }
        all
    }

    /// Words as numbers in the order in which they come, each list kept once.
    fn split(&mut self, words: &[u8]) -> Split {
        let labels = labelled(words.iter().copied());
        let known = self.splits.entry(labels.clone()).or_insert_with(|| Rc::new(labels));
        Rc::clone(known)
    }
}

/// The box one stands in, and another that a lead goes to.
type Where = (Option<BoxId>, Option<BoxId>);

/// Where a question can be asked.
fn places_of(house: &House, query: Query) -> Vec<Where> {
    let of = |point: Point| match point {
        Point::At(local) => Some(house.box_of(local)),
        Point::Earth => None,
    };
    match query {
        Query::Light(_) => vec![(None, None)],
        Query::Cable(end) => vec![(Some(house.end(end).at), None)],
        Query::Wire(wire) => vec![(Some(house.end(wire.end).at), None)],
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => match (of(p), of(q)) {
            (a, b) if a == b => vec![(a, None)],
            (Some(at), None) | (None, Some(at)) => vec![(Some(at), None)],
            (a, b) => vec![(a, b), (b, a)],
        },
    }
}

fn stand(present: &Present) -> Stand {
    (present.at, present.rig.clone(), present.positions.clone(), present.dead.clone())
}

/// What counts against a reading; one more at the same place is part of the one before.
fn cost(errand: &Errand) -> f64 {
    if errand.steps.is_empty() { errand.minutes } else { errand.cost() }
}

fn labelled(words: impl Iterator<Item = u8>) -> Vec<u8> {
    let mut known: Vec<u8> = Vec::new();
    let mut label = |word: u8| {
        if word == VAGUE {
            return VAGUE;
        }
        let place = known.iter().position(|known| *known == word).unwrap_or_else(|| {
            known.push(word);
            known.len() - 1
        });
        place as u8
    };
    words.map(&mut label).collect()
}

/// The labels of a set's states; nothing where they are all alike, or one of them is vague.
fn restricted(split: &Split, set: &Set) -> Option<Vec<u8>> {
    let first = split[usize::from(*set.first()?)];
    let mut differ = false;
    for &at in set {
        let label = split[usize::from(at)];
        if label == VAGUE {
            return None;
        }
        differ |= label != first;
    }
    differ.then(|| labelled(set.iter().map(|&at| split[usize::from(at)])))
}

/// Of labels at one place those that tell no less than others there.
fn finest(all: BTreeSet<Vec<u8>>) -> Vec<Vec<u8>> {
    let coarser = |one: &Vec<u8>| all.iter().any(|other| other != one && refines(other, one));
    all.iter().filter(|one| !coarser(one)).cloned().collect()
}

/// Whether the first labels tell all that the second do.
fn refines(fine: &[u8], coarse: &[u8]) -> bool {
    let mut known = [None; 256];
    fine.iter().zip(coarse).all(|(fine, coarse)| *known[usize::from(*fine)].get_or_insert(*coarse) == *coarse)
}

/// Ways that are not dearer than another and going on from there to where they end.
fn undominated(site: &Site, mut errands: Vec<Errand>) -> Vec<Errand> {
    errands.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
    let mut kept: Vec<Errand> = Vec::new();
    for errand in errands {
        let after = &errand.after;
        let want = Want {
            rig: &after.rig,
            positions: &after.positions,
            at: after.at,
            far: None,
            probes: 0,
            barred: &[],
        };
        let dearer = |known: &Errand| {
            let on = Errand::to(site, &known.after, &want);
            on.is_some_and(|on| cost(known) + on.minutes <= cost(&errand) + 1e-9)
        };
        if !kept.iter().any(dearer) {
            kept.push(errand);
        }
    }
    kept
}
