//! How much answers would tell about what the call asks.
//!
//! Two measures. [`Split`] takes predictions as if they were seen themselves: no answer tells more than the prediction
//! it comes from, so it bounds what a set of questions can tell, and where it finds nothing there is nothing to find.
//! [`Table`] is exact for the noisy answers that are asked for together.

use super::belief::{Belief, entropy};
use super::round::Round;
use serde::Serialize;
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

/// A question before it is asked: what may be so, and what each of it would show.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Table {
    /// All that may be so.
    pub states: Vec<Row>,
    /// How many answers to what the call asks there are; they are numbered from 0.
    pub targets: usize,
    /// Probability that no wiring considered describes the house. It answers with the number `targets`.
    pub other: f64,
    /// For each answer asked for: the chance that it is wrong and says nothing.
    pub errors: Vec<f64>,
    /// For each answer asked for: the chance of each of its words where nothing is known.
    pub blind: Vec<Vec<f64>>,
    /// For each prediction that occurs, for each answer: the chance of each word where the answer is right.
    pub kinds: Vec<Vec<Vec<f64>>>,
}

/// One thing that may be so.
#[derive(Clone, Copy, PartialEq, Debug, Default, Serialize)]
pub struct Row {
    /// Its probability.
    pub p: f64,
    /// What it answers to what the call asks.
    pub target: usize,
    /// Which prediction it makes.
    pub kind: usize,
}

/// One possible answer to all that is asked together.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Expected {
    /// The place of each answer's word; empty for all answers that nobody expects.
    pub words: Vec<u8>,
    /// Its probability.
    pub p: f64,
    /// For each prediction, how likely it is to be answered so.
    fits: Vec<f64>,
    /// The chance of it where no wiring describes the house.
    blind: f64,
}

/// What asking would tell.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Gain {
    /// Expected bits about what the call asks.
    pub bits: f64,
    /// Possible answers, likeliest first; last those that nobody expects.
    pub outcomes: Vec<Expected>,
}

/// One answer that is asked for: its column, and how the handles stand.
pub type Asked = (usize, u32);

impl Table {
    /// The table of answers that are asked for together.
    pub(super) fn new(belief: &Belief, round: &Round, asked: &[Asked], errors: Vec<f64>) -> Table {
        let mut known: BTreeMap<Vec<u8>, usize> = BTreeMap::new();
        let mut kinds = Vec::new();
        let words = |column: usize| round.alphabets[round.columns[column].alphabet].words.len();
        let row = |state: &super::belief::State| {
            let codes: Vec<u8> =
                asked.iter().map(|&(column, positions)| round.code(column, state, positions)).collect();
            let next = known.len();
            let kind = *known.entry(codes).or_insert_with_key(|codes| {
                let shows = codes.iter().zip(asked);
                let shows = shows
                    .map(|(&code, &(column, _))| round.shows[usize::from(code)].0[..words(column)].to_vec());
                kinds.push(shows.collect());
                next
            });
            Row { p: state.p, target: state.target, kind }
        };
        let states = belief.states.iter().map(row).collect();
        let blind =
            asked.iter().map(|&(column, _)| round.alphabets[round.columns[column].alphabet].blind.clone());
        Table {
            states,
            targets: belief.targets(),
            other: belief.other,
            errors,
            blind: blind.collect(),
            kinds,
        }
    }

    /// Weighs the answers.
    pub fn weigh(&self) -> Gain {
        let width = self.targets + 1;
        let mut mass = vec![0.0; self.kinds.len()];
        let mut joint = vec![0.0; self.kinds.len() * width];
        for row in &self.states {
            mass[row.kind] += row.p;
            joint[row.kind * width + row.target] += row.p;
        }
        let mut outcomes: Vec<Expected> =
            self.expected(&mass).into_iter().map(|words| self.outcome(words, &mass)).collect();
        let missing = |sum: f64| (1.0 - sum).max(0.0);
        let fits: Vec<f64> = (0..self.kinds.len())
            .map(|kind| missing(outcomes.iter().map(|outcome| outcome.fits[kind]).sum()))
            .collect();
        let blind = missing(outcomes.iter().map(|outcome| outcome.blind).sum());
        let p = mass.iter().zip(&fits).map(|(mass, fit)| mass * fit).sum::<f64>() + self.other * blind;
        outcomes.push(Expected { words: Vec::new(), p, fits, blind });
        Gain { bits: self.bits(&joint, &outcomes), outcomes }
    }

    /// The answers that predictions expect, likeliest first.
    fn expected(&self, mass: &[f64]) -> Vec<Vec<u8>> {
        let mut all: BTreeMap<Vec<u8>, f64> = BTreeMap::new();
        for (shows, mass) in self.kinds.iter().zip(mass) {
            let mut grown: Vec<(Vec<u8>, f64)> = vec![(Vec::new(), 1.0)];
            for show in shows {
                let mut next = Vec::new();
                for (words, p) in &grown {
                    for (word, chance) in show.iter().enumerate().filter(|(_, chance)| *chance * p >= ODD) {
                        next.push(([words.as_slice(), &[word as u8]].concat(), p * chance));
                    }
                }
                grown = next;
            }
            for (words, p) in grown {
                *all.entry(words).or_default() += p * mass;
            }
        }
        let mut expected: Vec<(Vec<u8>, f64)> = all.into_iter().collect();
        expected.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        expected.truncate(MOST_ANSWERS);
        expected.into_iter().map(|(words, _)| words).collect()
    }

    fn outcome(&self, words: Vec<u8>, mass: &[f64]) -> Expected {
        let each = |at: usize, word: u8| {
            let blind = self.blind[at][usize::from(word)];
            (blind, move |shows: &[Vec<f64>]| {
                (1.0 - self.errors[at]) * shows[at][usize::from(word)] + self.errors[at] * blind
            })
        };
        let fit = |shows: &Vec<Vec<f64>>| -> f64 {
            words.iter().enumerate().map(|(at, &word)| each(at, word).1(shows)).product()
        };
        let fits: Vec<f64> = self.kinds.iter().map(fit).collect();
        let blind: f64 = words.iter().enumerate().map(|(at, &word)| each(at, word).0).product();
        let p = mass.iter().zip(&fits).map(|(mass, fit)| mass * fit).sum::<f64>() + self.other * blind;
        Expected { words, p, fits, blind }
    }

    /// Bits that outcomes tell about the answer, `other` among the answers.
    fn bits(&self, joint: &[f64], outcomes: &[Expected]) -> f64 {
        let width = self.targets + 1;
        let mut before = vec![0.0; width];
        for row in joint.chunks(width) {
            before.iter_mut().zip(row).for_each(|(sum, p)| *sum += p);
        }
        before[self.targets] = self.other;
        let whole: f64 = before.iter().sum();
        let mut left = 0.0;
        for outcome in outcomes {
            let mut after = vec![0.0; width];
            for (row, fit) in joint.chunks(width).zip(&outcome.fits) {
                after.iter_mut().zip(row).for_each(|(sum, p)| *sum += p * fit);
            }
            after[self.targets] = self.other * outcome.blind;
            left += entropy(&after) * after.iter().sum::<f64>() / whole;
        }
        (entropy(&before) - left).max(0.0)
    }

    /// How many of the walls that hold `least` now would still do so after an outcome.
    pub(super) fn leaves(&self, belief: &Belief, outcome: &Expected, least: f64) -> usize {
        let mut now = vec![0.0; belief.walls.len()];
        let mut then = vec![0.0; belief.walls.len()];
        for (state, row) in belief.states.iter().zip(&self.states) {
            now[state.walls] += row.p;
            then[state.walls] += row.p * outcome.fits[row.kind];
        }
        let whole = then.iter().sum::<f64>() + self.other * outcome.blind;
        let left = now.iter().zip(&then).filter(|(now, then)| **now >= least && **then >= least * whole);
        left.count()
    }

    /// The probability of each state after an outcome.
    pub(super) fn after(&self, outcome: &Expected) -> Vec<f64> {
        let states: Vec<f64> = self.states.iter().map(|row| row.p * outcome.fits[row.kind]).collect();
        let whole = states.iter().sum::<f64>() + self.other * outcome.blind;
        if whole > 0.0 { states.into_iter().map(|p| p / whole).collect() } else { states }
    }
}
