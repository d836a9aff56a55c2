//! How much answers would tell about what the call asks.
//!
//! Two measures. [`Split`] takes predictions as if they were seen themselves: no answer tells more than the prediction
//! it comes from, so it bounds what a set of questions can tell, and where it finds nothing there is nothing to find.
//! [`weigh`] is exact for the noisy answers that are asked for in one go.

use super::belief::{Belief, entropy};
use super::round::Round;
use std::collections::BTreeMap;

/// Answers that nobody predicts with at least this chance are taken together.
const ODD: f64 = 0.02;

/// At most so many answers are told apart, the likeliest.
const MOST_ANSWERS: usize = 64;

/// States told apart by predictions.
#[derive(Clone)]
pub struct Split<'b> {
    belief: &'b Belief<'b>,
    labels: Vec<u32>,
    count: u32,
    /// Entropy of the answer, and what is left of it.
    before: f64,
    left: f64,
}

impl<'b> Split<'b> {
    /// Nothing told apart.
    pub fn new(belief: &'b Belief<'b>) -> Split<'b> {
        let before = belief.bits_within();
        Split { belief, labels: vec![0; belief.states.len()], count: 1, before, left: before }
    }

    /// Told apart by more columns, with the handles so.
    pub fn refine(&mut self, round: &Round, columns: &[usize], positions: u32) {
        for &column in columns {
            let codes = round.shows.len();
            let mut next = vec![u32::MAX; self.count as usize * codes];
            let mut count = 0;
            for (label, state) in self.labels.iter_mut().zip(&self.belief.states) {
                let place = *label as usize * codes + usize::from(round.code(column, state, positions));
                if next[place] == u32::MAX {
                    next[place] = count;
                    count += 1;
                }
                *label = next[place];
            }
            self.count = count;
        }
        let labels = self.labels.iter().map(|label| *label as usize);
        self.left = left(self.belief, labels, self.count as usize);
    }

    /// Bits about the answer, at most.
    pub fn bits(&self) -> f64 {
        (self.before - self.left).max(0.0)
    }

    /// What is left open, at most.
    pub fn open(&self) -> f64 {
        self.left
    }

    /// Bits that one more column would add, at most.
    pub fn adds(&self, round: &Round, column: usize, positions: u32) -> f64 {
        let codes = round.shows.len();
        let labels = self.labels.iter().zip(&self.belief.states);
        let labels = labels.map(|(label, state)| {
            *label as usize * codes + usize::from(round.code(column, state, positions))
        });
        (self.left - left(self.belief, labels, self.count as usize * codes)).max(0.0)
    }
}

/// Entropy of the answer that is left when states are told apart by labels.
fn left(belief: &Belief, labels: impl Iterator<Item = usize>, count: usize) -> f64 {
    let targets = belief.targets().max(1);
    let mut joint = vec![0.0; count * targets];
    for (label, state) in labels.zip(&belief.states) {
        joint[label * targets + state.target] += state.p;
    }
    let (mut sum, mut whole) = (0.0, 0.0);
    for row in joint.chunks(targets) {
        let mut mass = 0.0;
        let mut apart = 0;
        for &p in row.iter().filter(|p| **p > 0.0) {
            mass += p;
            apart += 1;
        }
        whole += mass;
        if apart > 1 {
            let own: f64 = row.iter().filter(|p| **p > 0.0).map(|p| p * libm::log2(*p)).sum();
            sum += mass * libm::log2(mass) - own;
        }
    }
    if whole > 0.0 { (sum / whole).max(0.0) } else { 0.0 }
}

/// One possible answer to all that is asked in one go.
#[derive(Clone, PartialEq, Debug)]
pub struct Outcome {
    /// The place of each answer's word; empty for all answers that nobody expects.
    pub words: Vec<u8>,
    /// Its probability.
    pub p: f64,
    /// For each state, how likely it makes this answer.
    fits: Vec<f64>,
}

/// What asking would tell.
#[derive(Clone, PartialEq, Debug)]
pub struct Gain {
    /// Expected bits about what the call asks.
    pub bits: f64,
    /// Possible answers, likeliest first; last those that nobody expects.
    pub outcomes: Vec<Outcome>,
    /// For each state, which of the distinct predictions it makes.
    kinds: Vec<usize>,
    /// The chance of each outcome where no wiring describes the house.
    blind: Vec<f64>,
}

/// One answer that is asked for: its column, and how the handles stand.
pub type Asked = (usize, u32);

/// Weighs answers that are asked for together. `error` is the chance that an answer is wrong and says nothing.
pub fn weigh(belief: &Belief, round: &Round, asked: &[Asked], error: f64) -> Gain {
    let mut tuples: BTreeMap<Vec<u8>, usize> = BTreeMap::new();
    let mut kinds = Vec::with_capacity(belief.states.len());
    for state in &belief.states {
        let tuple: Vec<u8> =
            asked.iter().map(|&(column, positions)| round.code(column, state, positions)).collect();
        let next = tuples.len();
        kinds.push(*tuples.entry(tuple).or_insert(next));
    }
    let mut ordered: Vec<(usize, Vec<u8>)> = tuples.into_iter().map(|(tuple, kind)| (kind, tuple)).collect();
    ordered.sort_unstable();
    let tuples: Vec<Vec<u8>> = ordered.into_iter().map(|(_, tuple)| tuple).collect();
    let mut mass = vec![0.0; tuples.len()];
    let mut joint = vec![0.0; tuples.len() * (belief.targets() + 1)];
    for (state, &kind) in belief.states.iter().zip(&kinds) {
        mass[kind] += state.p;
        joint[kind * (belief.targets() + 1) + state.target] += state.p;
    }
    let channel = Channel { round, asked, error };
    let labels = channel.labels(&tuples, &mass);
    let mut outcomes: Vec<Outcome> = Vec::new();
    let mut blind = Vec::new();
    let mut rest = vec![1.0; tuples.len()];
    let mut blind_rest = 1.0;
    for words in labels {
        let fits: Vec<f64> = tuples.iter().map(|tuple| channel.likelihood(tuple, &words)).collect();
        rest.iter_mut().zip(&fits).for_each(|(rest, fit)| *rest -= fit);
        let chance = channel.blind(&words);
        blind_rest -= chance;
        let p = mass.iter().zip(&fits).map(|(mass, fit)| mass * fit).sum::<f64>() + belief.other * chance;
        outcomes.push(Outcome { words, p, fits });
        blind.push(chance);
    }
    let rest: Vec<f64> = rest.into_iter().map(|rest| rest.max(0.0)).collect();
    let p = mass.iter().zip(&rest).map(|(mass, fit)| mass * fit).sum::<f64>()
        + belief.other * f64::max(blind_rest, 0.0);
    outcomes.push(Outcome { words: Vec::new(), p, fits: rest });
    blind.push(f64::max(blind_rest, 0.0));
    let bits = told(belief, &joint, &outcomes, &blind);
    Gain { bits, outcomes, kinds, blind }
}

/// Bits that outcomes tell about the answer, `other` among the answers.
fn told(belief: &Belief, joint: &[f64], outcomes: &[Outcome], blind: &[f64]) -> f64 {
    let targets = belief.targets() + 1;
    let mut before = vec![0.0; targets];
    for row in joint.chunks(targets) {
        before.iter_mut().zip(row).for_each(|(sum, p)| *sum += p);
    }
    before[belief.targets()] = belief.other;
    let whole: f64 = before.iter().sum();
    let mut left = 0.0;
    for (outcome, chance) in outcomes.iter().zip(blind) {
        let mut after = vec![0.0; targets];
        for (row, fit) in joint.chunks(targets).zip(&outcome.fits) {
            after.iter_mut().zip(row).for_each(|(sum, p)| *sum += p * fit);
        }
        after[belief.targets()] = belief.other * chance;
        left += entropy(&after) * after.iter().sum::<f64>() / whole;
    }
    (entropy(&before) - left).max(0.0)
}

impl Gain {
    /// How many of the walls that hold `least` now would still do so after an outcome.
    pub fn leaves(&self, belief: &Belief, outcome: usize, least: f64) -> usize {
        let fits = &self.outcomes[outcome].fits;
        let mut now = vec![0.0; belief.walls.len()];
        let mut then = vec![0.0; belief.walls.len()];
        for (state, &kind) in belief.states.iter().zip(&self.kinds) {
            now[state.walls] += state.p;
            then[state.walls] += state.p * fits[kind];
        }
        let whole = then.iter().sum::<f64>() + belief.other * self.blind[outcome];
        let left = now.iter().zip(&then).filter(|(now, then)| **now >= least && **then >= least * whole);
        left.count()
    }

    /// The belief after an outcome, as the probability of each state.
    pub fn after(&self, belief: &Belief, outcome: usize) -> (Vec<f64>, f64) {
        let fits = &self.outcomes[outcome].fits;
        let states: Vec<f64> =
            belief.states.iter().zip(&self.kinds).map(|(state, &kind)| state.p * fits[kind]).collect();
        let other = belief.other * self.blind[outcome];
        let whole = states.iter().sum::<f64>() + other;
        if whole <= 0.0 {
            return (states, other);
        }
        (states.into_iter().map(|p| p / whole).collect(), other / whole)
    }
}

/// The noisy way from predictions to words.
struct Channel<'r> {
    round: &'r Round,
    asked: &'r [Asked],
    error: f64,
}

impl Channel<'_> {
    fn shows(&self, code: u8) -> &[f64; 5] {
        &self.round.shows[usize::from(code)].0
    }

    fn words(&self, place: usize) -> &super::round::Alphabet {
        &self.round.alphabets[self.round.columns[self.asked[place].0].alphabet]
    }

    fn likelihood(&self, tuple: &[u8], words: &[u8]) -> f64 {
        let one = |(place, (code, word)): (usize, (&u8, &u8))| {
            let word = usize::from(*word);
            (1.0 - self.error) * self.shows(*code)[word] + self.error * self.words(place).blind[word]
        };
        tuple.iter().zip(words).enumerate().map(one).product()
    }

    fn blind(&self, words: &[u8]) -> f64 {
        let one = |(place, word): (usize, &u8)| self.words(place).blind[usize::from(*word)];
        words.iter().enumerate().map(one).product()
    }

    /// The answers that predictions expect, likeliest first.
    fn labels(&self, tuples: &[Vec<u8>], mass: &[f64]) -> Vec<Vec<u8>> {
        let mut all: BTreeMap<Vec<u8>, f64> = BTreeMap::new();
        for (tuple, mass) in tuples.iter().zip(mass) {
            let mut grown: Vec<(Vec<u8>, f64)> = vec![(Vec::new(), 1.0)];
            for &code in tuple {
                let shows = self.shows(code);
                let mut next = Vec::new();
                for (words, p) in &grown {
                    for (word, chance) in shows.iter().enumerate().filter(|(_, chance)| *chance * p >= ODD) {
                        next.push(([words.as_slice(), &[word as u8]].concat(), p * chance));
                    }
                }
                grown = next;
            }
            for (words, p) in grown {
                *all.entry(words).or_default() += p * mass;
            }
        }
        let mut labels: Vec<(Vec<u8>, f64)> = all.into_iter().collect();
        labels.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        labels.truncate(MOST_ANSWERS);
        labels.into_iter().map(|(words, _)| words).collect()
    }
}
