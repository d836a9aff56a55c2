//! How much answers would tell about what the call asks.
//!
//! Two measures. [`Split`] takes predictions as if they were seen themselves: no answer tells more than the prediction
//! it comes from, so it bounds what a set of questions can tell, and where it finds nothing there is nothing to find.
//! [`Table`] is exact for the noisy answers that are asked for together.

use super::belief::{Belief, State, entropy};
use super::round::Round;
use serde::Serialize;
use std::collections::BTreeMap;

/// Answers that nobody predicts with at least this chance are taken together.
const ODD: f64 = 0.02;

/// At most so many answers are told apart, the likeliest.
const MOST_ANSWERS: usize = 64;

/// States told apart by predictions.
#[derive(Clone)]
pub struct Split<'r> {
    round: &'r Round,
    labels: Vec<u32>,
    count: usize,
    /// What is left open.
    left: f64,
}

impl<'r> Split<'r> {
    /// Nothing told apart.
    pub fn new(round: &'r Round) -> Split<'r> {
        Split { round, labels: vec![0; round.rows.len()], count: 1, left: round.open }
    }

    /// Told apart by more columns, with the handles so.
    pub fn refine(&mut self, columns: &[usize], positions: u32) {
        for &column in columns {
            if let Some((labels, count)) = self.with(column, positions) {
                (self.labels, self.count) = (labels, count);
            }
        }
        self.left = left(self.round, &self.labels, self.count);
    }

    /// Bits about the answer, at most.
    pub fn bits(&self) -> f64 {
        (self.round.open - self.left).max(0.0)
    }

    /// What is left open, at most.
    pub fn open(&self) -> f64 {
        self.left
    }

    /// Bits that one more column would add, at most.
    pub fn adds(&self, column: usize, positions: u32) -> f64 {
        let with = self.with(column, positions);
        with.map_or(0.0, |(labels, count)| (self.left - left(self.round, &labels, count)).max(0.0))
    }

    /// Labels that are also told apart by a column, and how many there are; nothing where it shows the same of all.
    fn with(&self, column: usize, positions: u32) -> Option<(Vec<u32>, usize)> {
        let mut shown = [u32::MAX; u8::MAX as usize + 1];
        let mut count = 0;
        let mut number = |number: &mut u32| {
            if *number == u32::MAX {
                *number = count;
                count += 1;
            }
            *number
        };
        let rows = self.round.rows.iter();
        let codes = rows.map(|row| usize::from(self.round.code(column, row, positions)));
        let codes: Vec<u32> = codes.map(|code| number(&mut shown[code])).collect();
        let width = count as usize;
        if width <= 1 {
            return None;
        }
        let mut places = vec![u32::MAX; self.count * width];
        count = 0;
        let mut number = |number: &mut u32| {
            if *number == u32::MAX {
                *number = count;
                count += 1;
            }
            *number
        };
        let all = self.labels.iter().zip(codes);
        let labels = all.map(|(label, code)| number(&mut places[*label as usize * width + code as usize]));
        Some((labels.collect(), count as usize))
    }
}

/// Bits that differ by less are the same: what was added up in another order is no other figure, and of columns that tell the
/// same the first is asked.
const GRAIN: f64 = 1e-12;

/// Bits without what is less than a grain.
pub fn in_grains(bits: f64) -> f64 {
    (bits.max(0.0) / GRAIN).round() * GRAIN
}

/// What is summed up of a label.
#[derive(Clone, Copy, Default)]
struct Sum {
    mass: f64,
    /// How many answers to what the call asks it has.
    apart: usize,
    /// Of each of these p log p.
    own: f64,
    /// The mass of the one at hand.
    at_hand: f64,
}

impl Sum {
    fn close(&mut self) {
        if self.at_hand > 0.0 {
            self.mass += self.at_hand;
            self.own += self.at_hand * libm::log2(self.at_hand);
            self.apart += 1;
            self.at_hand = 0.0;
        }
    }
}

/// Entropy of the answer that is left when rows are told apart by labels.
fn left(round: &Round, labels: &[u32], count: usize) -> f64 {
    let mut sums = vec![Sum::default(); count];
    let mut start = 0;
    // Rows are in the order of what they answer.
    for same in round.rows.chunk_by(|a, b| a.target == b.target) {
        let labels = &labels[start..start + same.len()];
        start += same.len();
        for (row, label) in same.iter().zip(labels) {
            sums[*label as usize].at_hand += row.p;
        }
        labels.iter().for_each(|label| sums[*label as usize].close());
    }
    let whole: f64 = sums.iter().map(|sum| sum.mass).sum();
    let open = sums.iter().filter(|sum| sum.apart > 1);
    let left: f64 = open.map(|sum| sum.mass * libm::log2(sum.mass) - sum.own).sum();
    if whole > 0.0 { in_grains(left / whole) } else { 0.0 }
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
    /// The table of answers that are asked for together: of all states, or of those that a round tells apart.
    pub(super) fn new(
        belief: &Belief,
        states: &[State],
        round: &Round,
        asked: &[Asked],
        errors: Vec<f64>,
    ) -> Table {
        let mut known: BTreeMap<Vec<u8>, usize> = BTreeMap::new();
        let mut kinds = Vec::new();
        let words = |column: usize| round.alphabets[round.columns[column].alphabet].words.len();
        let row = |state: &State| {
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
        let states = states.iter().map(row).collect();
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
