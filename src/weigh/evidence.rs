//! Readings prepared for weighing: answers that repeat one another are held together.

use crate::call::{Ask, Call, Conditions, Instrument, InstrumentKind, Reading, Source};
use crate::house::{DeviceId, Point};
use crate::knowledge::{ErrorRates, Instruments};
use crate::predict::{Forecast, Scene, Table, Tester};
use std::collections::BTreeMap;

/// One answer of one reading.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Answer {
    /// The reading, in file order from 0.
    pub(super) reading: usize,
    /// Which of its answers.
    pub(super) answer: usize,
}

/// Answers to the same question under the same conditions: part of their error is shared.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) answers: Vec<Answer>,
    pub(super) errors: ErrorRates,
    /// Positions of the switches: `None` where not written down.
    pub(super) positions: Vec<Option<bool>>,
}

/// All readings of a call, ready to be held against walls.
pub struct Evidence {
    /// As they were taken down.
    pub(super) said: Vec<Reading>,
    pub(super) forecasts: Vec<Forecast>,
    pub(super) groups: Vec<Group>,
    pub(super) switches: usize,
    /// What else hangs on the circuit is the same in every reading: so many loads are weighed.
    loads: usize,
}

/// What makes two answers repeats of each other.
type SameQuestion = (Subject, Conditions, Option<InstrumentKind>);

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Subject {
    Pair(u8, Point, Point),
    Light(DeviceId),
    Clamp(Ask),
}

impl Evidence {
    /// Prepares the readings of a call.
    pub fn new(scene: &Scene, call: &Call, packs: &Instruments) -> Evidence {
        let mut forecasts = Vec::new();
        let mut groups: BTreeMap<SameQuestion, Group> = BTreeMap::new();
        let mut order: Vec<SameQuestion> = Vec::new();
        for (reading, read) in call.readings.iter().enumerate() {
            let kind = usual(&read.ask);
            let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
            let tester = Tester::new(read.with.unwrap_or(plain), packs);
            let forecast = Forecast::new(scene, read, tester);
            let source = if read.by == Source::Customer { "customer" } else { "technician" };
            let errors = packs.errors.get(source).copied().unwrap_or_default();
            for answer in 0..forecast.answers() {
                let key =
                    (subject(&read.ask, answer), read.conditions.clone(), read.with.map(|with| with.kind));
                let group = groups.entry(key.clone()).or_insert_with(|| {
                    order.push(key);
                    Group { answers: Vec::new(), errors, positions: read.conditions.positions.clone() }
                });
                group.answers.push(Answer { reading, answer });
            }
            forecasts.push(forecast);
        }
        let groups = order.iter().filter_map(|key| groups.remove(key)).collect();
        let loads = forecasts.iter().map(Forecast::loads).max().unwrap_or(1);
        Evidence { said: call.readings.clone(), forecasts, groups, switches: scene.switches(), loads }
    }

    /// How many readings there are.
    pub fn readings(&self) -> usize {
        self.forecasts.len()
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
        self.forecasts[answer.reading].blind(answer.answer)
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
