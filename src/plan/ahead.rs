//! Orders of readings tried to their end, where little is left that may be so.
//!
//! What else hangs on the circuit is among what may be so. What nobody knows beside it, how long cables are and what burns in
//! a lamp, is the same in every reading: an answer that depends on it is asked once, and each such answer keeps only a part
//! of the worth of the one before. Several answers at one place count as one reading however they are chosen, each by what
//! the ones before it showed: no way of asking takes less.

use super::belief::{Belief, entropy};
use super::errand::{Errand, Want};
use super::rig::{Present, Rig};
use super::rigs;
use super::round::{Query, Round, Scope};
use super::search::USEFUL;
use super::site::Site;
use super::taken::Taken;
use crate::call::InstrumentKind;
use crate::house::{BoxId, House, Point, Role, WireId};
use crate::predict::{Forecast, Ghosts, Scene};
use rustc_hash::FxHashMap;
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

/// Too much to look at.
pub struct TooMuch;

/// How far orders are tried.
#[derive(Clone, PartialEq, Debug)]
pub struct Reach {
    /// The chance that an answer is wrong.
    pub error: f64,
    /// So many answers are had that depend on what nobody knows.
    pub vague: usize,
    /// So many readings are tried in a situation, the best by rate.
    pub tried: usize,
    /// So many situations are looked at.
    pub situations: usize,
    /// No readings with the power on.
    pub dead_only: bool,
    /// The only ways to set things up that are thought of, where that is said.
    pub only: Option<Vec<Rig>>,
}

/// What may still be so.
#[derive(Clone, PartialEq, Debug)]
pub struct Mix {
    /// States in order, with their probability.
    states: Vec<(u16, f64)>,
    /// Answers that were had and are not asked for again, in order.
    asked: Vec<u16>,
    /// How many of them depend on what nobody knows.
    vague: usize,
}

/// The same as a key.
type Mixed = (Vec<(u16, u32)>, Vec<u16>, usize);

/// Probabilities that differ by less are the same.
const GRAIN: f64 = 1e-4;

impl Mix {
    /// Makes probabilities add up to one, without those that are as good as nothing.
    fn normalize(&mut self) {
        let whole: f64 = self.states.iter().map(|(_, p)| p).sum();
        self.states.iter_mut().for_each(|(_, p)| *p /= whole);
        self.states.retain(|(_, p)| *p >= GRAIN / 10.0);
    }

    fn key(&self) -> Mixed {
        let grains = self.states.iter().map(|&(at, p)| (at, (p / GRAIN) as u32));
        (grains.collect(), self.asked.clone(), self.vague)
    }
}

/// How things stand, as a key.
type Stand = (Option<BoxId>, Rig, Vec<bool>, Vec<BoxId>);

/// An answer that can be asked for at a place.
struct Asked {
    answer: Rc<Answer>,
    query: Query,
    with: Option<InstrumentKind>,
}

/// One answer: for each state which forecast it makes.
#[derive(PartialEq, Debug)]
struct Answer {
    /// Its number: answers that every state forecasts alike have the same.
    id: u16,
    codes: Vec<u16>,
}

/// What can be asked at one place, with the handles so.
struct Place {
    positions: Vec<bool>,
    at: Option<BoxId>,
    far: Option<BoxId>,
    /// Whether earth has to be found for it.
    to_earth: bool,
    /// For each state, whether the breaker opens.
    trips: Rc<Vec<bool>>,
    asked: Vec<Asked>,
}

/// A word that is likelier than this is foreseen.
const FORESEEN: f64 = 0.995;

/// Answers whose words are foreseen with less than this, on average, are vague; each keeps half of the worth of the one
/// before.
const SURE: f64 = 0.9;
const KEEPS: f64 = 0.5;

/// An order that was found with no more readings tried in a situation is no better than the best by rate.
const NARROW: usize = 2;

/// Words less likely than this, or than a wrong answer, are not followed.
const UNLIKELY: f64 = 2e-3;

/// Positions in which the breaker opens with this chance are barred.
const BARRED: f64 = 0.01;

/// A way to an answer.
#[derive(Clone)]
pub struct Way {
    /// The steps.
    pub errand: Errand,
    /// Where it is asked.
    pub at: Option<BoxId>,
    /// What is asked.
    pub query: Query,
    /// With what.
    pub with: Option<InstrumentKind>,
}

/// A reading that might come next.
struct Candidate {
    way: Way,
    cost: f64,
    parts: Rc<Vec<(f64, Mix)>>,
    rate: f64,
}

/// Readings that are worth trying, and what they cost less than.
type Worth = (f64, Rc<Vec<Candidate>>);

/// Answers of one kind tell the same of what is left: whether every state foresees one word, and the words or forecasts.
type Kind = (bool, Vec<u16>);

/// The trial of orders.
pub struct Ahead<'e, 'a> {
    site: &'e Site<'a>,
    scene: &'e Scene<'a>,
    belief: &'e Belief<'a>,
    /// Readings not to be asked again.
    taken: &'e Taken,
    reach: Reach,
    ghosts: Ghosts,
    /// What is forecast: the chance of each word, and of each word where an answer tells nothing.
    forecasts: Vec<(Words, Words)>,
    /// For each of them the word that it foresees.
    foreseen: Vec<Option<u16>>,
    answers: FxHashMap<Vec<u16>, Rc<Answer>>,
    places: BTreeMap<Rig, Rc<Vec<Place>>>,
    /// The rigs there are from one, where these wires may be neutrals.
    rigs: BTreeMap<(Rig, BTreeSet<WireId>), Rc<Vec<Rig>>>,
    sites: FxHashMap<Vec<(u16, u32)>, Rc<Site<'a>>>,
    settled: FxHashMap<Vec<(u16, u32)>, bool>,
    /// What is known of situations: the least, or what it is not below.
    known: BTreeMap<(Mixed, Stand), Result<Least, f64>>,
    /// Readings worth trying, where only a few of each situation are.
    worth: BTreeMap<(Mixed, Stand), Worth>,
    /// How many of them are tried at present.
    width: usize,
    left: usize,
}

/// The chance of each word.
type Words = [f64; 5];

impl<'e, 'a> Ahead<'e, 'a> {
    /// Begins.
    pub fn new(
        site: &'e Site<'a>,
        scene: &'e Scene<'a>,
        belief: &'e Belief<'a>,
        taken: &'e Taken,
        reach: Reach,
    ) -> Ahead<'e, 'a> {
        Ahead {
            site,
            scene,
            belief,
            taken,
            ghosts: Forecast::ghosts(scene),
            forecasts: Vec::new(),
            foreseen: Vec::new(),
            answers: FxHashMap::default(),
            places: BTreeMap::new(),
            rigs: BTreeMap::new(),
            sites: FxHashMap::default(),
            settled: FxHashMap::default(),
            known: BTreeMap::new(),
            worth: BTreeMap::new(),
            width: reach.tried,
            left: reach.situations,
            reach,
        }
    }

    /// All that is believed.
    pub fn all(&self) -> Mix {
        let states = (0_u16..).zip(self.belief.states.iter().map(|state| state.p)).collect();
        let mut all = Mix { states, asked: Vec::new(), vague: 0 };
        all.normalize();
        all
    }

    /// The first reading of the best order found, with what that is expected to take, if this is below a limit. At first one
    /// reading is tried in each situation, the best by rate, then twice as many each time; what was found stands when too
    /// much would have to be looked at.
    pub fn first(&mut self, mix: &Mix, present: &Present, limit: f64) -> Option<(Way, Least)> {
        let first = self.worth(mix, present, limit).ok()?;
        let mut best: Option<(Way, Least)> = None;
        let mut width = 1;
        while width <= self.reach.tried {
            self.width = width;
            self.known.clear();
            for candidate in first.iter() {
                let below = best.as_ref().map_or(limit, |(_, best)| best.cost);
                let Ok(found) = self.through(candidate, below) else {
                    return best.filter(|_| width > NARROW);
                };
                best = found.map(|least| (candidate.way.clone(), least)).or(best);
            }
            width *= 2;
        }
        best
    }

    /// Readings worth trying next that cost less than a limit, as far as they are tried.
    fn worth(&mut self, mix: &Mix, present: &Present, limit: f64) -> Result<Rc<Vec<Candidate>>, TooMuch> {
        let key = (mix.key(), stand(present));
        if let Some((_, known)) = self.worth.get(&key).filter(|(below, _)| *below >= limit) {
            return Ok(Rc::clone(known));
        }
        self.left = self.left.checked_sub(1).ok_or(TooMuch)?;
        let worth = Rc::new(self.candidates(mix, present, limit));
        if self.reach.tried < usize::MAX {
            self.worth.insert(key, (limit, Rc::clone(&worth)));
        }
        Ok(worth)
    }

    /// The least from here, if it is below a limit.
    pub fn best(&mut self, mix: &Mix, present: &Present, limit: f64) -> Result<Option<Least>, TooMuch> {
        if self.is_settled(mix) {
            return Ok(Some(Least::default()));
        }
        let key = (mix.key(), stand(present));
        match self.known.get(&key) {
            Some(Ok(least)) => return Ok((least.cost < limit).then_some(*least)),
            Some(Err(floor)) if *floor >= limit => return Ok(None),
            _ => {}
        }
        let mut best: Option<Least> = None;
        for candidate in self.worth(mix, present, limit)?.iter().take(self.width) {
            let below = best.map_or(limit, |best| best.cost);
            best = self.through(candidate, below)?.or(best);
        }
        self.known.insert(key, best.ok_or(limit));
        Ok(best)
    }

    /// The least that begins with a candidate, if it is below a limit.
    fn through(&mut self, candidate: &Candidate, limit: f64) -> Result<Option<Least>, TooMuch> {
        let Errand { after, minutes, .. } = &candidate.way.errand;
        let minutes = *minutes;
        let mut sum = Least { cost: candidate.cost, minutes, answers: 1.0 };
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

    /// What a mix takes at the least, as far as is known.
    fn floor(&mut self, mix: &Mix, present: &Present) -> f64 {
        if self.is_settled(mix) {
            return 0.0;
        }
        let least = self.site.prices().work.flip.min(self.site.prices().work.probe);
        match self.known.get(&(mix.key(), stand(present))) {
            Some(Ok(known)) => known.cost,
            Some(Err(floor)) => floor.max(least),
            _ => least,
        }
    }

    /// Whether the question is answered: the stop rule of verdict and planner.
    fn is_settled(&mut self, mix: &Mix) -> bool {
        let key = mix.key().0;
        if let Some(known) = self.settled.get(&key) {
            return *known;
        }
        let settled = self.belief.is_answered(&self.targets(mix));
        self.settled.insert(key, settled);
        settled
    }

    fn targets(&self, mix: &Mix) -> Vec<f64> {
        let mut targets = vec![0.0; self.belief.targets()];
        for &(at, p) in &mix.states {
            targets[self.belief.states[usize::from(at)].target] += p;
        }
        targets
    }

    /// The call, with what is known of neutrals.
    fn site(&mut self, mix: &Mix) -> Rc<Site<'a>> {
        let key = mix.key().0;
        if let Some(known) = self.sites.get(&key) {
            return Rc::clone(known);
        }
        let (targets, belief) = (self.targets(mix), self.belief);
        let wires: Vec<WireId> = self.site.house().wires().collect();
        let neutral = |wire: usize| {
            let Some(place) = belief.open.iter().position(|open| *open == wire) else {
                return f64::from(u8::from(self.site.maybe_neutral.contains(&wires[wire])));
            };
            let of = belief.answers.iter().zip(&targets);
            let of = of.filter(|(told, _)| told.roles[place] == Role::Neutral);
            of.map(|(_, p)| p).sum::<f64>() + belief.other
        };
        let site = Rc::new(self.site.knowing(neutral));
        self.sites.insert(key, Rc::clone(&site));
        site
    }

    /// Readings worth trying next, the best by rate first.
    fn candidates(&mut self, mix: &Mix, present: &Present, limit: f64) -> Vec<Candidate> {
        let site = self.site(mix);
        let mut ways: BTreeMap<Kind, (Rc<Answer>, Vec<Way>)> = BTreeMap::new();
        for rig in self.rigs(&site, present).iter() {
            let positions = &present.positions;
            let want = Want { rig, positions, at: None, far: None, probes: 0, to_earth: false, barred: &[] };
            if Errand::to(&site, present, &want).is_none_or(|errand| errand.cost() >= limit) {
                continue;
            }
            for place in self.places(rig).iter() {
                let Some(errand) = self.way(&site, mix, present, (rig, place)) else { continue };
                if errand.cost() >= limit {
                    continue;
                }
                for (kind, asked) in self.finest(mix, &place.asked) {
                    let Asked { answer, query, with } = asked;
                    let way = Way { errand: errand.clone(), at: place.at, query: *query, with: *with };
                    ways.entry(kind).or_insert_with(|| (Rc::clone(answer), Vec::new())).1.push(way);
                }
            }
        }
        let mut candidates: Vec<Candidate> = Vec::new();
        for ((firm, _), (answer, ways)) in ways {
            let (parts, bits) = self.parts(mix, &answer, firm);
            if parts.len() < 2 || (!firm && bits < USEFUL) {
                continue;
            }
            let parts = Rc::new(parts);
            candidates.extend(undominated(&site, ways).into_iter().map(|way| {
                let cost = way.errand.cost();
                Candidate { way, cost, parts: Rc::clone(&parts), rate: bits / cost }
            }));
        }
        candidates.sort_by(|a, b| b.rate.total_cmp(&a.rate));
        candidates.truncate(self.reach.tried);
        candidates
    }

    /// The ways to set things up from here.
    fn rigs(&mut self, site: &Site, present: &Present) -> Rc<Vec<Rig>> {
        let Reach { dead_only, only, .. } = &self.reach;
        let known = self.rigs.entry((present.rig.clone(), site.maybe_neutral.clone()));
        let fits = |rig: &Rig| only.as_ref().is_none_or(|only| only.contains(rig));
        let all = || rigs::all(site, present, *dead_only).into_iter().filter(fits).collect();
        Rc::clone(known.or_insert_with(|| Rc::new(all())))
    }

    /// The answers at a place that tell something, each kind once, without those that tell less than another there; with
    /// whether one word is foreseen by every state that is left.
    fn finest<'p>(&self, mix: &Mix, asked: &'p [Asked]) -> BTreeMap<Kind, &'p Asked> {
        let mut all: BTreeMap<Kind, &Asked> = BTreeMap::new();
        for one in asked {
            let answer = &one.answer;
            let codes = mix.states.iter().map(|(at, _)| answer.codes[usize::from(*at)]);
            let mut foreseen = codes.clone().map(|code| self.foreseen[usize::from(code)]);
            // Most answers tell nothing where little is left.
            let first = foreseen.next().flatten();
            if mix.asked.contains(&answer.id) || (first.is_some() && foreseen.all(|word| word == first)) {
                continue;
            }
            let words: Option<Vec<u16>> =
                codes.clone().map(|code| self.foreseen[usize::from(code)]).collect();
            let (firm, labels) = match words {
                Some(words) => (true, labelled(words.into_iter())),
                None if mix.vague >= self.reach.vague => continue,
                None => (false, codes.collect()),
            };
            if labels.iter().any(|label| *label != labels[0]) {
                all.entry((firm, labels)).or_insert(one);
            }
        }
        let firm: Vec<Vec<u16>> = all.keys().filter(|(firm, _)| *firm).map(|(_, l)| l.clone()).collect();
        all.retain(|(is_firm, labels), _| {
            !*is_firm || !firm.iter().any(|other| other != labels && refines(other, labels))
        });
        all
    }

    /// The way to a place; nothing where its handles are barred or cannot be moved.
    fn way(&self, site: &Site, mix: &Mix, present: &Present, (rig, place): (&Rig, &Place)) -> Option<Errand> {
        let house = site.house();
        let moves = house.switches().zip(place.positions.iter().zip(&present.positions));
        let mut moved = moves.filter(|(_, (to, from))| to != from).map(|(switch, _)| switch);
        let free = |switch| {
            !rig.out.contains(&switch) && site.acts(switch) && site.reachable(house.device(switch).at)
        };
        if !moved.all(free) || (rig.on && site.tripped_at(&rig.out, &place.positions)) {
            return None;
        }
        let trips = mix.states.iter().filter(|(at, _)| place.trips[usize::from(*at)]);
        if rig.on && trips.map(|(_, p)| p).sum::<f64>() >= BARRED {
            return None;
        }
        let probes = usize::from(place.at.is_some());
        let Place { positions, at, far, to_earth, .. } = place;
        let (at, far, to_earth) = (*at, *far, *to_earth);
        Errand::to(site, present, &Want { rig, positions, at, far, probes, to_earth, barred: &[] })
    }

    /// What each word would leave, with its chance, and the bits that it tells.
    fn parts(&self, mix: &Mix, answer: &Answer, firm: bool) -> (Vec<(f64, Mix)>, f64) {
        let of = |at: u16| &self.forecasts[usize::from(answer.codes[usize::from(at)])];
        let sure = |words: &Words| words.iter().copied().fold(0.0, f64::max);
        let vague = mix.states.iter().map(|(at, p)| p * sure(&of(*at).0)).sum::<f64>() < SURE;
        let keeps = if vague { libm::pow(KEEPS, mix.vague as f64) } else { 1.0 };
        let keeps = keeps * (1.0 - self.reach.error);
        let mut asked = mix.asked.clone();
        if !firm || self.reach.error > 0.0 {
            asked.push(answer.id);
            asked.sort_unstable();
        }
        let mut parts = Vec::new();
        for word in 0..5 {
            let fit = |&(at, p): &(u16, f64)| {
                let (words, blind) = of(at);
                (at, p * (keeps * words[word] + (1.0 - keeps) * blind[word]))
            };
            let states: Vec<(u16, f64)> = mix.states.iter().map(fit).collect();
            let p: f64 = states.iter().map(|(_, p)| p).sum();
            if p >= UNLIKELY.max(self.reach.error) {
                let mut part = Mix { states, asked: asked.clone(), vague: mix.vague + usize::from(!firm) };
                part.normalize();
                parts.push((p, part));
            }
        }
        let whole: f64 = parts.iter().map(|(p, _)| p).sum();
        let mut bits = entropy(&self.targets(mix));
        for (p, part) in &mut parts {
            *p /= whole;
            bits -= *p * entropy(&self.targets(part));
        }
        // The likeliest part says soonest that a way is too dear.
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        (parts, bits)
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
            for column in 0..round.columns.len() {
                let (query, with) = (round.columns[column].query, round.columns[column].with);
                let with = with.map(|with| with.kind);
                if self.taken.has(&round.rig, &positions, query, with) {
                    continue;
                }
                let answer = self.answer(round, column, thrown);
                if answer.codes.iter().all(|code| *code == answer.codes[0]) {
                    continue;
                }
                let to_earth = query.is_to_earth();
                for (at, far) in places_of(self.site.house(), query) {
                    let here = |place: &Place| (place.at, place.far, place.to_earth) == (at, far, to_earth);
                    let known = places[start..].iter().position(here);
                    let place = known.map_or(places.len(), |known| start + known);
                    if known.is_none() {
                        let (positions, trips) = (positions.clone(), Rc::clone(&trips));
                        places.push(Place { positions, at, far, to_earth, trips, asked: Vec::new() });
                    }
                    if !places[place].asked.iter().any(|known| known.answer.id == answer.id) {
                        places[place].asked.push(Asked { answer: Rc::clone(&answer), query, with });
                    }
                }
            }
        }
    }

    /// An answer, with what each state forecasts of it.
    fn answer(&mut self, round: &Round, column: usize, thrown: u32) -> Rc<Answer> {
        let alphabet = &round.alphabets[round.columns[column].alphabet];
        let mut blind = [0.0; 5];
        blind.iter_mut().zip(&alphabet.blind).for_each(|(to, from)| *to = *from);
        let mut numbers: Vec<Option<u16>> = vec![None; round.shows.len()];
        let mut codes = Vec::with_capacity(self.belief.states.len());
        for state in &self.belief.states {
            let show = usize::from(round.code(column, state, thrown));
            let number = numbers[show].unwrap_or_else(|| self.forecast((round.shows[show].0, blind)));
            numbers[show] = Some(number);
            codes.push(number);
        }
        let id = self.answers.len() as u16;
        let answer = self
            .answers
            .entry(codes)
            .or_insert_with_key(|codes| Rc::new(Answer { id, codes: codes.clone() }));
        Rc::clone(answer)
    }

    /// The number of a forecast.
    fn forecast(&mut self, forecast: (Words, Words)) -> u16 {
        let known = self.forecasts.iter().position(|known| *known == forecast);
        known.unwrap_or_else(|| {
            self.forecasts.push(forecast);
            let word = forecast.0.iter().position(|p| *p >= FORESEEN);
            self.foreseen.push(word.map(|word| word as u16));
            self.forecasts.len() - 1
        }) as u16
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

/// Words as numbers in the order in which they come.
fn labelled(words: impl Iterator<Item = u16>) -> Vec<u16> {
    let mut known: Vec<u16> = Vec::new();
    let mut label = |word: u16| {
        let place = known.iter().position(|known| *known == word).unwrap_or_else(|| {
            known.push(word);
            known.len() - 1
        });
        place as u16
    };
    words.map(&mut label).collect()
}

/// Whether the first labels tell all that the second do.
fn refines(fine: &[u16], coarse: &[u16]) -> bool {
    let mut known = [None; 5];
    fine.iter().zip(coarse).all(|(fine, coarse)| *known[usize::from(*fine)].get_or_insert(*coarse) == *coarse)
}

/// Ways that are not dearer than another and going on from there to where they end.
fn undominated(site: &Site, mut ways: Vec<Way>) -> Vec<Way> {
    ways.sort_by(|a, b| a.errand.cost().total_cmp(&b.errand.cost()));
    let mut kept: Vec<Way> = Vec::new();
    for way in ways {
        let Present { at, rig, positions, .. } = &way.errand.after;
        let want = Want { rig, positions, at: *at, far: None, probes: 0, to_earth: false, barred: &[] };
        let dearer = |known: &Way| {
            let on = Errand::to(site, &known.errand.after, &want);
            on.is_some_and(|on| known.errand.cost() + on.minutes <= way.errand.cost() + 1e-9)
        };
        if !kept.iter().any(dearer) {
            kept.push(way);
        }
    }
    kept
}
