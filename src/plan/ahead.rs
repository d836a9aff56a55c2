//! Orders of readings tried to their end, where little is left that may be so and answers are right: what ways to choose are
//! held against.
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
use super::rig::Present;
use super::search::USEFUL;
use super::site::Site;
use super::taken::Taken;
use super::ways::{Numbered, Step, Ways};
use crate::house::{Role, WireId};
use crate::predict::Scene;
use rustc_hash::FxHashMap;
use std::cell::OnceCell;
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

/// A mix, by its number, and how things stand, by its.
type Situation = (u32, u32);

/// Answers whose words are foreseen with less than this, on average, are vague; each keeps half of the worth of the one
/// before.
const SURE: f64 = 0.9;
const KEEPS: f64 = 0.5;

/// At most so many vague answers are had.
const MOST_VAGUE: usize = 2;

/// Words less likely than this are not followed.
const UNLIKELY: f64 = 2e-3;

/// A reading that might come next.
struct Candidate {
    step: Step,
    answer: Rc<Answer>,
    /// Whether it is of a word that every state foresees.
    firm: bool,
    /// What each word would leave, with its chance; made once it is tried, for all ways to the same.
    parts: Parts,
    rate: f64,
}

type Parts = Rc<OnceCell<Vec<(f64, u32)>>>;

/// The trial of orders.
pub struct Ahead<'e, 'a> {
    site: &'e Site<'a>,
    belief: &'e Belief<'a>,
    places: Places<'e, 'a>,
    mixes: Numbered<Mixed, Mix>,
    ways: Ways<'a>,
    /// For each mix what was found of it: whether it is settled, and its call.
    settled: FxHashMap<u32, bool>,
    site_of: FxHashMap<u32, u32>,
    /// What is known of situations: the least, or what it is not below.
    known: FxHashMap<Situation, Result<Least, f64>>,
    /// So many situations may still be looked at.
    left: usize,
}

impl<'e, 'a> Ahead<'e, 'a> {
    /// Begins; so many situations are looked at.
    pub fn new(
        site: &'e Site<'a>,
        scene: &'e Scene<'a>,
        belief: &'e Belief<'a>,
        taken: &'e Taken,
        situations: usize,
    ) -> Ahead<'e, 'a> {
        Ahead {
            site,
            belief,
            places: Places::new(site, scene, belief, taken),
            mixes: Numbered::new(),
            ways: Ways::new(),
            settled: FxHashMap::default(),
            site_of: FxHashMap::default(),
            known: FxHashMap::default(),
            left: situations,
        }
    }

    /// All that is believed, from how things stand.
    fn start(&mut self, present: &Present) -> Situation {
        let states = (0_u16..).zip(&self.belief.states).map(|(at, state)| (at, state.p)).collect();
        let all = Mix { states, asked: Vec::new(), vague: 0 };
        (self.mix(all), self.ways.stand(present))
    }

    /// The number of a mix.
    fn mix(&mut self, mut mix: Mix) -> u32 {
        mix.normalize();
        self.mixes.number(mix.key(), || mix)
    }

    /// The least that any order takes, if it is below a limit.
    pub fn least(&mut self, present: &Present, limit: f64) -> Result<Option<Least>, TooMuch> {
        let start = self.start(present);
        self.best(start, limit)
    }

    /// The least from here, if it is below a limit.
    fn best(&mut self, here: Situation, limit: f64) -> Result<Option<Least>, TooMuch> {
        if self.is_settled(here.0) {
            return Ok(Some(Least::default()));
        }
        match self.known.get(&here) {
            Some(Ok(least)) => return Ok((least.cost < limit).then_some(*least)),
            Some(Err(floor)) if *floor >= limit => return Ok(None),
            _ => {}
        }
        self.left = self.left.checked_sub(1).ok_or(TooMuch)?;
        let mut best: Option<Least> = None;
        for candidate in self.candidates(here, limit) {
            let below = best.map_or(limit, |best| best.cost);
            best = self.through(here.0, &candidate, below)?.or(best);
        }
        self.known.insert(here, best.ok_or(limit));
        Ok(best)
    }

    /// The least that begins with a candidate, if it is below a limit.
    fn through(&mut self, mix: u32, candidate: &Candidate, limit: f64) -> Result<Option<Least>, TooMuch> {
        let Step { cost, minutes, after } = candidate.step;
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
            let Some(rest) = self.best((part, after), left)? else { return Ok(None) };
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
        let mut kinds = Kinds::of(&mix, MOST_VAGUE);
        let mut steps: Vec<Vec<Step>> = Vec::new();
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
                steps.resize(kinds.all.len(), Vec::new());
                finest.into_iter().for_each(|kind| steps[kind].push(step));
            }
        }
        let mut candidates: Vec<Candidate> = Vec::new();
        for (kind, steps) in kinds.all.iter().zip(steps) {
            let steps = self.ways.undominated(site, steps);
            if steps.is_empty() {
                continue;
            }
            let Some(bits) = self.bits(&mix, &kind.answer) else { continue };
            if !kind.firm && bits < USEFUL {
                continue;
            }
            let parts = Parts::default();
            candidates.extend(steps.into_iter().map(|step| {
                let (rate, answer, parts) = (bits / step.cost, Rc::clone(&kind.answer), Rc::clone(&parts));
                Candidate { step, answer, firm: kind.firm, parts, rate }
            }));
        }
        candidates.sort_by(|a, b| b.rate.total_cmp(&a.rate));
        candidates
    }

    /// How much of the worth that it has by itself an answer keeps.
    fn keeps(&self, mix: &Mix, answer: &Answer) -> f64 {
        let sure = |&(at, p): &(u16, f64)| {
            let words = &self.places.forecast(answer.codes[usize::from(at)]).0;
            p * words.iter().copied().fold(0.0, f64::max)
        };
        let vague = mix.vague > 0 && mix.states.iter().map(sure).sum::<f64>() < SURE;
        if vague { libm::pow(KEEPS, mix.vague as f64) } else { 1.0 }
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
        let of_word = |targets: &[f64]| (targets.iter().sum::<f64>(), entropy(targets));
        let parts: Vec<(f64, f64)> =
            left.chunks(count).map(of_word).filter(|(p, _)| *p >= UNLIKELY).collect();
        let whole: f64 = parts.iter().map(|(p, _)| p).sum();
        let open: f64 = parts.iter().map(|(p, bits)| p * bits).sum();
        (parts.len() > 1).then(|| entropy(&self.targets(&mix.states)) - open / whole)
    }

    /// What each word would leave, with its chance.
    fn parts(&mut self, mix: u32, answer: &Answer, firm: bool) -> Vec<(f64, u32)> {
        let mix = self.mixes.get(mix);
        let keeps = self.keeps(&mix, answer);
        let mut asked = mix.asked.clone();
        if !firm {
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
        let mut parts: Vec<_> = parts.into_iter().filter(|(p, _)| *p >= UNLIKELY).collect();
        let whole: f64 = parts.iter().map(|(p, _)| p).sum();
        // The likeliest part says soonest that a way is too dear.
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let vague = mix.vague + usize::from(!firm);
        let numbered = parts.into_iter();
        let mut number = |states| self.mix(Mix { states, asked: asked.clone(), vague });
        numbered.map(|(p, states)| (p / whole, number(states))).collect()
    }
}
