//! What may still be so in an order of readings, and the kinds of answers to it.

use super::places::{Answer, Place};
use rustc_hash::FxHashMap;
use std::rc::Rc;

/// Positions in which the breaker opens with this chance are barred.
const BARRED: f64 = 0.01;

/// What may still be so.
#[derive(Clone, PartialEq, Debug)]
pub struct Mix {
    /// States in order, with their probability.
    pub states: Vec<(u16, f64)>,
    /// Answers that were had and are not asked for again, in order.
    pub asked: Vec<u16>,
    /// How many of them depend on what nobody knows.
    pub vague: usize,
}

/// The same as a key.
pub type Mixed = (Vec<(u16, u32)>, Vec<u16>, usize);

/// Probabilities that differ by less are the same.
const GRAIN: f64 = 1e-4;

impl Mix {
    /// Makes probabilities add up to one, without those that are as good as nothing.
    pub fn normalize(&mut self) {
        let whole: f64 = self.states.iter().map(|(_, p)| p).sum();
        self.states.iter_mut().for_each(|(_, p)| *p /= whole);
        self.states.retain(|(_, p)| *p >= GRAIN);
    }

    /// The same for all that are much the same.
    pub fn key(&self) -> Mixed {
        let grains = self.states.iter().map(|&(at, p)| (at, (p / GRAIN) as u32));
        (grains.collect(), self.asked.clone(), self.vague)
    }

    /// Whether the breaker may open at a place.
    pub fn bars(&self, place: &Place) -> bool {
        let Some(trips) = &place.trips else { return false };
        let trips = self.states.iter().filter(|(at, _)| trips[usize::from(*at)]);
        trips.map(|(_, p)| p).sum::<f64>() >= BARRED
    }
}

/// Answers of one kind tell the same of what is left.
pub struct Kind {
    /// Whether every state foresees one word.
    pub firm: bool,
    /// The words, or the forecasts.
    labels: Vec<u16>,
    /// One of them.
    pub answer: Rc<Answer>,
}

/// The kinds of answers to what is left.
pub struct Kinds<'m> {
    mix: &'m Mix,
    /// Whether answers that depend on what nobody knows are had too.
    vague: bool,
    /// All of them that were met.
    pub all: Vec<Kind>,
    numbers: FxHashMap<(bool, Vec<u16>), usize>,
    /// For each answer its kind; inside, nothing where it tells nothing.
    of: Vec<Option<Option<usize>>>,
    finer: FxHashMap<(usize, usize), bool>,
}

impl<'m> Kinds<'m> {
    /// Of none yet; `vague` answers are had that depend on what nobody knows.
    pub fn of(mix: &'m Mix, vague: usize) -> Kinds<'m> {
        Kinds {
            mix,
            vague: mix.vague < vague,
            all: Vec::new(),
            numbers: FxHashMap::default(),
            of: Vec::new(),
            finer: FxHashMap::default(),
        }
    }

    /// The kinds of answers at a place that tell something, without those that tell less than another there.
    pub fn finest(&mut self, place: &Place) -> Vec<usize> {
        let mut told: Vec<usize> = Vec::new();
        for answer in &place.asked {
            let Some(kind) = self.kind(answer) else { continue };
            if !told.contains(&kind) {
                told.push(kind);
            }
        }
        let all = told.clone();
        told.retain(|&kind| !all.iter().any(|&other| other != kind && self.is_finer(other, kind)));
        told
    }

    /// The kind of an answer; nothing where it tells nothing.
    fn kind(&mut self, answer: &Rc<Answer>) -> Option<usize> {
        let id = usize::from(answer.id);
        if self.of.len() <= id {
            self.of.resize(id + 1, None);
        }
        if let Some(known) = self.of[id] {
            return known;
        }
        let kind = self.sorted(answer);
        self.of[id] = Some(kind);
        kind
    }

    fn sorted(&mut self, answer: &Rc<Answer>) -> Option<usize> {
        let states = &self.mix.states;
        let words = || states.iter().map(|(at, _)| answer.words[usize::from(*at)]);
        let first = words().next().flatten();
        // Most answers tell nothing where little is left.
        if (first.is_some() && words().all(|word| word == first)) || self.mix.asked.contains(&answer.id) {
            return None;
        }
        let firm = words().all(|word| word.is_some());
        let labels: Vec<u16> = match (firm, self.vague) {
            (true, _) => labelled(words().flatten().map(u16::from)),
            (false, true) => states.iter().map(|(at, _)| answer.codes[usize::from(*at)]).collect(),
            (false, false) => return None,
        };
        if labels.iter().all(|label| *label == labels[0]) {
            return None;
        }
        let all = &mut self.all;
        let number = self.numbers.entry((firm, labels)).or_insert_with_key(|(firm, labels)| {
            all.push(Kind { firm: *firm, labels: labels.clone(), answer: Rc::clone(answer) });
            all.len() - 1
        });
        Some(*number)
    }

    /// Whether answers of one kind tell all that those of another do.
    fn is_finer(&mut self, fine: usize, coarse: usize) -> bool {
        let (one, other) = (&self.all[fine], &self.all[coarse]);
        one.firm
            && other.firm
            && *self.finer.entry((fine, coarse)).or_insert_with(|| refines(&one.labels, &other.labels))
    }
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
