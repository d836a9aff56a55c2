//! Readings prepared for weighing: answers that repeat one another are held together.

use crate::call::{Ask, Call, Conditions, Instrument, InstrumentKind, Reading, Source};
use crate::house::{DeviceId, Point};
use crate::knowledge::{ErrorRates, Instruments};
use crate::predict::{Forecast, Scene, Table, Tester};
use std::collections::BTreeMap;

/// One answer, which may have been given more than once.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Answer {
    /// The forecast that stands for the readings that say it.
    pub(super) forecast: usize,
    /// Which of its answers.
    pub(super) answer: usize,
    /// How many readings say it.
    pub(super) times: u32,
}

/// Answers to the same question under the same conditions: part of their error is shared.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) answers: Vec<Answer>,
    pub(super) errors: ErrorRates,
    /// Positions of the switches: `None` where not written down.
    pub(super) positions: Vec<Option<bool>>,
    /// The first and the last of the readings, in file order from 0.
    pub(super) readings: (usize, usize),
}

/// All readings of a call, ready to be held against walls.
pub struct Evidence {
    /// As they were taken down.
    pub(super) said: Vec<Reading>,
    /// One for all readings that ask and say the same, in the order first said.
    pub(super) forecasts: Vec<Forecast>,
    /// For each reading the forecast that stands for it.
    pub(super) stands_for: Vec<usize>,
    pub(super) groups: Vec<Group>,
    pub(super) switches: usize,
    /// What else hangs on the circuit is the same in every reading: so many loads are weighed.
    loads: usize,
}

/// What makes two answers repeats of each other.
type SameQuestion = (Subject, Conditions, Option<InstrumentKind>, Source);

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Subject {
    Pair(u8, Point, Point),
    Light(DeviceId),
    Clamp(Ask),
}

impl Evidence {
    /// Prepares the readings of a call.
    pub fn new(scene: &Scene, call: &Call, packs: &Instruments) -> Evidence {
        let mut evidence = Evidence {
            said: call.readings.clone(),
            forecasts: Vec::new(),
            stands_for: Vec::new(),
            groups: Vec::new(),
            switches: scene.switches(),
            loads: 1,
        };
        let mut groups: BTreeMap<SameQuestion, usize> = BTreeMap::new();
        let mut asked: BTreeMap<(&Ask, &Conditions, Source), Vec<usize>> = BTreeMap::new();
        for (reading, read) in call.readings.iter().enumerate() {
            let kind = usual(&read.ask);
            let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
            let tester = Tester::new(read.with.unwrap_or(plain), packs);
            let said_before = asked.entry((&read.ask, &read.conditions, read.by)).or_default();
            let forecast = evidence.stand_in(Forecast::new(scene, read, tester), said_before);
            evidence.stands_for.push(forecast);
            let source = if read.by == Source::Customer { "customer" } else { "technician" };
            let errors = packs.errors.get(source).copied().unwrap_or_default();
            for answer in 0..evidence.forecasts[forecast].answers() {
                let with = read.with.map(|with| with.kind);
                let key = (subject(&read.ask, answer), read.conditions.clone(), with, read.by);
                let group = *groups.entry(key).or_insert_with(|| {
                    let positions = read.conditions.positions.clone();
                    let readings = (reading, reading);
                    evidence.groups.push(Group { answers: Vec::new(), errors, positions, readings });
                    evidence.groups.len() - 1
                });
                evidence.groups[group].add(reading, forecast, answer);
            }
        }
        evidence.loads = evidence.forecasts.iter().map(Forecast::loads).max().unwrap_or(1);
        evidence
    }

    /// The forecast that stands for a reading: one of those made for the same question before, if it says the same.
    fn stand_in(&mut self, forecast: Forecast, said_before: &mut Vec<usize>) -> usize {
        if let Some(&same) = said_before.iter().find(|&&one| self.forecasts[one].says_as(&forecast)) {
            return same;
        }
        self.forecasts.push(forecast);
        said_before.push(self.forecasts.len() - 1);
        self.forecasts.len() - 1
    }

    /// How many readings there are.
    pub fn readings(&self) -> usize {
        self.said.len()
    }

    /// How many senses of the handles there are.
    pub(super) fn senses(&self) -> usize {
        1 << self.switches
    }

    /// The senses, beside each of the other loads.
    pub(super) fn states(&self) -> usize {
        self.senses() * self.loads
    }

    pub(super) fn blind(&self, answer: Answer) -> f64 {
        self.forecasts[answer.forecast].blind(answer.answer)
    }

    /// For each sense, and beside each of the other loads where the table depends on them, how well it fits at the
    /// positions of a group; unknown positions are averaged.
    pub(super) fn by_state(&self, table: &Table, positions: &[Option<bool>]) -> Vec<f64> {
        let (fixed, open) = self.stand(positions);
        let ways = self.senses();
        let at = |state: usize| {
            let (first, sense) = (state - state % ways, state % ways);
            if open == 0 {
                return table[first + (fixed ^ sense)];
            }
            let poses = (0..ways).filter(|pose| pose & !open == 0);
            let sum: f64 = poses.map(|pose| table[first + ((fixed | pose) ^ sense)]).sum();
            sum / f64::from(1u32 << open.count_ones())
        };
        (0..table.len()).map(at).collect()
    }

    /// How the handles stand, and a bit for each of which that is not known.
    fn stand(&self, positions: &[Option<bool>]) -> (usize, usize) {
        let known = |switch: usize| positions.get(switch).copied().flatten();
        let bits = |is: &dyn Fn(usize) -> bool| {
            (0..self.switches).fold(0, |bits, switch| bits | usize::from(is(switch)) << switch)
        };
        (bits(&|switch| known(switch) == Some(true)), bits(&|switch| known(switch).is_none()))
    }
}

impl Group {
    fn add(&mut self, reading: usize, forecast: usize, answer: usize) {
        self.readings.1 = reading;
        let same = |one: &&mut Answer| (one.forecast, one.answer) == (forecast, answer);
        match self.answers.iter_mut().find(same) {
            Some(one) => one.times += 1,
            None => self.answers.push(Answer { forecast, answer, times: 1 }),
        }
    }
}

/// What a question is asked with when the reading does not say.
fn usual(ask: &Ask) -> InstrumentKind {
    match ask {
        Ask::Volts(_) | Ask::Ohms(_) | Ask::Watch(_) => InstrumentKind::HighImpedance,
        Ask::Load(_) => InstrumentKind::TestLamp,
        Ask::AmpsCable(_) | Ask::AmpsWire(_) => InstrumentKind::Clamp,
    }
}

fn subject(ask: &Ask, answer: usize) -> Subject {
    let pair = |kind: u8, pairs: &[(Point, Point)]| {
        let (p, q) = pairs[answer];
        Subject::Pair(kind, p.min(q), p.max(q))
    };
    match ask {
        Ask::Volts(pairs) => pair(0, pairs),
        Ask::Ohms(pairs) => pair(1, pairs),
        Ask::Load(pairs) => pair(2, pairs),
        Ask::Watch(lights) => Subject::Light(lights[answer]),
        Ask::AmpsCable(_) | Ask::AmpsWire(_) => Subject::Clamp(ask.clone()),
    }
}
