//! Orders of readings tried to their end, where little is left that may be so.
//!
//! What else hangs on the circuit is among what may be so. What nobody knows beside it, how long cables are and what burns in
//! a lamp, is the same in every reading: an answer that depends on it is asked once, and each such answer keeps only a part
//! of the worth of the one before. Several answers at one place count as one reading however they are chosen, each by what
//! the ones before it showed: no way of asking takes less.
//!
//! Situations come again by many ways: mixes of states, and how things stand, have numbers, and what was reckoned of them is
//! kept by those.

use super::belief::{Belief, entropy};
use super::mix::{Kinds, Mix, Mixed};
use super::places::{Answer, Places, Words};
use super::rig::{Present, Rig};
use super::search::USEFUL;
use super::site::Site;
use super::taken::Taken;
use super::ways::{Numbered, Step, Way, Ways};
use crate::house::{Role, WireId};
use crate::predict::Scene;
use rustc_hash::FxHashMap;
use std::cell::OnceCell;
use std::collections::BTreeMap;
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
    /// Where orders may end with the question open.
    pub ends: Option<Ends>,
}

/// What is held against an order that is not followed until the question is answered.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Ends {
    /// For each bit that is open where nothing more is to be asked.
    pub stuck: f64,
    /// It is not followed where it leads with less than this chance.
    pub chance: f64,
    /// For each bit that is open there.
    pub faint: f64,
}

/// A mix, by its number, and how things stand, by its.
type Situation = (u32, u32);

/// Answers whose words are foreseen with less than this, on average, are vague; each keeps half of the worth of the one
/// before.
const SURE: f64 = 0.9;
const KEEPS: f64 = 0.5;

/// An order that was found with no more readings tried in a situation is no better than the best by rate.
const NARROW: usize = 2;

/// Words less likely than this, or than a wrong answer, are not followed.
const UNLIKELY: f64 = 2e-3;

/// A reading that might come next.
struct Candidate {
    way: Way,
    answer: Rc<Answer>,
    /// Whether it is of a word that every state foresees.
    firm: bool,
    /// What each word would leave, with its chance; made once it is tried, for all ways to the same.
    parts: Parts,
    rate: f64,
}

type Parts = Rc<OnceCell<Vec<(f64, u32)>>>;

/// Readings that are worth trying, and what they cost less than.
type Worth = (f64, Rc<Vec<Candidate>>);

/// The trial of orders.
pub struct Ahead<'e, 'a> {
    site: &'e Site<'a>,
    belief: &'e Belief<'a>,
    reach: Reach,
    places: Places<'e, 'a>,
    mixes: Numbered<Mixed, Mix>,
    ways: Ways<'a>,
    /// For each mix what was found of it: whether it is settled, and its call.
    settled: FxHashMap<u32, bool>,
    site_of: FxHashMap<u32, u32>,
    /// What is known of situations: the least, or what it is not below.
    known: FxHashMap<Situation, Result<Least, f64>>,
    /// Readings worth trying, where only a few of each situation are.
    worth: FxHashMap<Situation, Worth>,
    /// How many of them are tried at present.
    width: usize,
    left: usize,
}

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
            belief,
            places: Places::new(site, scene, belief, taken),
            mixes: Numbered::new(),
            ways: Ways::new(reach.dead_only, reach.only.clone()),
            settled: FxHashMap::default(),
            site_of: FxHashMap::default(),
            known: FxHashMap::default(),
            worth: FxHashMap::default(),
            width: reach.tried,
            left: reach.situations,
            reach,
        }
    }

    /// All that is believed, from how things stand. States that nothing tells apart are taken as one.
    fn start(&mut self, present: &Present) -> Situation {
        let mut states: BTreeMap<u16, f64> = BTreeMap::new();
        let firsts = match self.reach.only.clone() {
            Some(rigs) => self.places.alike(&rigs, self.reach.vague == 0),
            None => (0_u16..).take(self.belief.states.len()).collect(),
        };
        for (first, state) in firsts.into_iter().zip(&self.belief.states) {
            *states.entry(first).or_default() += state.p;
        }
        let all = Mix { states: states.into_iter().collect(), asked: Vec::new(), vague: 0 };
        (self.mix(all), self.ways.stand(present))
    }

    /// The number of a mix.
    fn mix(&mut self, mut mix: Mix) -> u32 {
        mix.normalize();
        self.mixes.number(mix.key(), || mix)
    }

    /// The first reading of the best order found, with what that is expected to take, if this is below a limit. At first one
    /// reading is tried in each situation, the best by rate, then twice as many each time; what was found stands when too
    /// much would have to be looked at.
    pub fn first(&mut self, present: &Present, limit: f64) -> Option<(Way, Least)> {
        let start = self.start(present);
        let first = self.worth(start, limit).ok()?;
        let mut best: Option<(Way, Least)> = None;
        let mut width = 1;
        while width <= self.reach.tried {
            self.width = width;
            self.known.clear();
            for candidate in first.iter() {
                let below = best.as_ref().map_or(limit, |(_, best)| best.cost);
                let Ok(found) = self.through((start.0, 1.0), candidate, below) else {
                    return best.filter(|_| width > NARROW);
                };
                best = found.map(|least| (candidate.way.clone(), least)).or(best);
            }
            width *= 2;
        }
        best
    }

    /// The least that any order takes, if it is below a limit.
    pub fn least(&mut self, present: &Present, limit: f64) -> Result<Option<Least>, TooMuch> {
        let start = self.start(present);
        self.best(start, 1.0, limit)
    }

    /// Readings worth trying next that cost less than a limit, as far as they are tried.
    fn worth(&mut self, here: Situation, limit: f64) -> Result<Rc<Vec<Candidate>>, TooMuch> {
        if let Some((_, known)) = self.worth.get(&here).filter(|(below, _)| *below >= limit) {
            return Ok(Rc::clone(known));
        }
        self.left = self.left.checked_sub(1).ok_or(TooMuch)?;
        // Whether nothing is to be asked at all has to be known there.
        let limit = if self.reach.ends.is_some() { f64::INFINITY } else { limit };
        let worth = Rc::new(self.candidates(here, limit));
        if self.reach.tried < usize::MAX {
            self.worth.insert(here, (limit, Rc::clone(&worth)));
        }
        Ok(worth)
    }

    /// The least from here, if it is below a limit.
    fn best(&mut self, here: Situation, chance: f64, limit: f64) -> Result<Option<Least>, TooMuch> {
        if self.is_settled(here.0) {
            return Ok(Some(Least::default()));
        }
        match self.known.get(&here) {
            Some(Ok(least)) => return Ok((least.cost < limit).then_some(*least)),
            Some(Err(floor)) if *floor >= limit => return Ok(None),
            _ => {}
        }
        if let Some(ends) = self.reach.ends.filter(|ends| chance < ends.chance) {
            let faint = self.open(here.0, ends.faint);
            return Ok((faint.cost < limit).then_some(faint));
        }
        let worth = self.worth(here, limit)?;
        let stuck = self.reach.ends.map(|ends| self.open(here.0, ends.stuck));
        let mut best = stuck.filter(|stuck| worth.is_empty() && stuck.cost < limit);
        for candidate in worth.iter().take(self.width) {
            let below = best.map_or(limit, |best| best.cost);
            best = self.through((here.0, chance), candidate, below)?.or(best);
        }
        self.known.insert(here, best.ok_or(limit));
        Ok(best)
    }

    /// What is held against what is still open.
    fn open(&self, mix: u32, each: f64) -> Least {
        Least { cost: each * entropy(&self.targets(&self.mixes.get(mix).states)), ..Least::default() }
    }

    /// The least that begins with a candidate, if it is below a limit.
    fn through(
        &mut self,
        (mix, chance): (u32, f64),
        candidate: &Candidate,
        limit: f64,
    ) -> Result<Option<Least>, TooMuch> {
        let Step { cost, minutes, after } = candidate.way.step;
        if cost >= limit {
            return Ok(None);
        }
        let mut sum = Least { cost, minutes, answers: 1.0 };
        let parts = candidate.parts.get_or_init(|| self.parts(mix, &candidate.answer, candidate.firm));
        let mut floor = 0.0;
        for &(p, part) in parts {
            floor += p * self.floor((part, after));
        }
        for &(p, part) in parts {
            floor -= p * self.floor((part, after));
            let left = (limit - sum.cost - floor) / p;
            if left <= 0.0 {
                return Ok(None);
            }
            let Some(rest) = self.best((part, after), chance * p, left)? else { return Ok(None) };
            sum.cost += p * rest.cost;
            sum.minutes += p * rest.minutes;
            sum.answers += p * rest.answers;
        }
        Ok((sum.cost < limit).then_some(sum))
    }

    /// What a situation takes at the least, as far as is known.
    fn floor(&mut self, here: Situation) -> f64 {
        if self.is_settled(here.0) {
            return 0.0;
        }
        let least = self.site.prices().work.flip.min(self.site.prices().work.probe);
        match self.known.get(&here) {
            Some(Ok(known)) => known.cost,
            Some(Err(floor)) => floor.max(least),
            _ => least,
        }
    }

    /// Whether the question is answered: the stop rule of verdict and planner.
    fn is_settled(&mut self, mix: u32) -> bool {
        if let Some(known) = self.settled.get(&mix) {
            return *known;
        }
        let settled = self.belief.is_answered(&self.targets(&self.mixes.get(mix).states));
        self.settled.insert(mix, settled);
        settled
    }

    fn targets(&self, states: &[(u16, f64)]) -> Vec<f64> {
        let mut targets = vec![0.0; self.belief.targets()];
        for &(at, p) in states {
            targets[self.belief.states[usize::from(at)].target] += p;
        }
        targets
    }

    /// The call, by its number, with what is known of neutrals.
    fn site(&mut self, mix: u32) -> u32 {
        if let Some(known) = self.site_of.get(&mix) {
            return *known;
        }
        let (targets, belief) = (self.targets(&self.mixes.get(mix).states), self.belief);
        let wires: Vec<WireId> = self.site.house().wires().collect();
        let neutral = |wire: usize| {
            let Some(place) = belief.open.iter().position(|open| *open == wire) else {
                return f64::from(u8::from(self.site.maybe_neutral.contains(&wires[wire])));
            };
            let of = belief.answers.iter().zip(&targets);
            let of = of.filter(|(told, _)| told.roles[place] == Role::Neutral);
            of.map(|(_, p)| p).sum::<f64>() + belief.other
        };
        let site = self.site.knowing(neutral);
        let number = self.ways.site(site);
        self.site_of.insert(mix, number);
        number
    }

    /// Readings worth trying next, the best by rate first.
    fn candidates(&mut self, here: Situation, limit: f64) -> Vec<Candidate> {
        let (mix, site) = (self.mixes.get(here.0), self.site(here.0));
        let mut kinds = Kinds::of(&mix, self.reach.vague);
        let mut ways: Vec<Vec<Way>> = Vec::new();
        for (floor, rig) in self.ways.floors(site, here.1).iter() {
            if *floor >= limit {
                continue;
            }
            for place in self.places.of(rig).iter() {
                let finest = kinds.finest(place);
                if finest.is_empty() || mix.bars(place) {
                    continue;
                }
                let Some(step) = self.ways.step(site, here.1, place) else { continue };
                if step.cost >= limit {
                    continue;
                }
                ways.resize(kinds.all.len(), Vec::new());
                for (kind, asked) in finest {
                    ways[kind].push(Way { place: Rc::clone(place), asked, step });
                }
            }
        }
        let mut candidates: Vec<Candidate> = Vec::new();
        for (kind, ways) in kinds.all.iter().zip(ways) {
            let ways = self.ways.undominated(site, ways);
            if ways.is_empty() {
                continue;
            }
            let Some(bits) = self.bits(&mix, &kind.answer) else { continue };
            if !kind.firm && bits < USEFUL {
                continue;
            }
            let parts = Parts::default();
            candidates.extend(ways.into_iter().map(|way| {
                let (rate, answer, parts) =
                    (bits / way.step.cost, Rc::clone(&kind.answer), Rc::clone(&parts));
                Candidate { way, answer, firm: kind.firm, parts, rate }
            }));
        }
        candidates.sort_by(|a, b| b.rate.total_cmp(&a.rate));
        candidates.truncate(self.reach.tried);
        candidates
    }

    /// How much of the worth that it has by itself an answer keeps.
    fn keeps(&self, mix: &Mix, answer: &Answer) -> f64 {
        let sure = |&(at, p): &(u16, f64)| {
            let words = &self.places.forecast(answer.codes[usize::from(at)]).0;
            p * words.iter().copied().fold(0.0, f64::max)
        };
        let vague = mix.vague > 0 && mix.states.iter().map(sure).sum::<f64>() < SURE;
        let keeps = if vague { libm::pow(KEEPS, mix.vague as f64) } else { 1.0 };
        keeps * (1.0 - self.reach.error)
    }

    /// The chance of each word where a state is so.
    fn words(&self, answer: &Answer, at: u16, keeps: f64) -> Words {
        let (words, blind) = self.places.forecast(answer.codes[usize::from(at)]);
        std::array::from_fn(|word| keeps * words[word] + (1.0 - keeps) * blind[word])
    }

    /// The bits that an answer tells by itself; nothing where only one of its words is to be thought of.
    fn bits(&self, mix: &Mix, answer: &Answer) -> Option<f64> {
        let keeps = self.keeps(mix, answer);
        let count = self.belief.targets();
        let mut left = vec![0.0; 5 * count];
        for &(at, p) in &mix.states {
            let target = self.belief.states[usize::from(at)].target;
            for (word, chance) in self.words(answer, at, keeps).into_iter().enumerate() {
                left[word * count + target] += p * chance;
            }
        }
        let least = UNLIKELY.max(self.reach.error);
        let of_word = |targets: &[f64]| (targets.iter().sum::<f64>(), entropy(targets));
        let parts: Vec<(f64, f64)> = left.chunks(count).map(of_word).filter(|(p, _)| *p >= least).collect();
        let whole: f64 = parts.iter().map(|(p, _)| p).sum();
        let open: f64 = parts.iter().map(|(p, bits)| p * bits).sum();
        (parts.len() > 1).then(|| entropy(&self.targets(&mix.states)) - open / whole)
    }

    /// What each word would leave, with its chance.
    fn parts(&mut self, mix: u32, answer: &Answer, firm: bool) -> Vec<(f64, u32)> {
        let mix = self.mixes.get(mix);
        let keeps = self.keeps(&mix, answer);
        let mut asked = mix.asked.clone();
        if !firm || self.reach.error > 0.0 {
            asked.push(answer.id);
            asked.sort_unstable();
        }
        let states = Vec::with_capacity(mix.states.len());
        let mut parts: [(f64, Vec<(u16, f64)>); 5] = std::array::from_fn(|_| (0.0, states.clone()));
        for &(at, p) in &mix.states {
            let words = self.words(answer, at, keeps);
            for ((whole, states), chance) in parts.iter_mut().zip(words).filter(|(_, chance)| *chance > 0.0) {
                *whole += p * chance;
                states.push((at, p * chance));
            }
        }
        let least = UNLIKELY.max(self.reach.error);
        let mut parts: Vec<_> = parts.into_iter().filter(|(p, _)| *p >= least).collect();
        let whole: f64 = parts.iter().map(|(p, _)| p).sum();
        // The likeliest part says soonest that a way is too dear.
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let vague = mix.vague + usize::from(!firm);
        let numbered = parts.into_iter();
        let mut number = |states| self.mix(Mix { states, asked: asked.clone(), vague });
        numbered.map(|(p, states)| (p / whole, number(states))).collect()
    }
}
