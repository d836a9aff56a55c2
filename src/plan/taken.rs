//! Readings that were taken or put aside: the same is not asked again as if it were new.

use super::rig::{Rig, in_order};
use super::round::{Query, queries};
use crate::call::{Ask, Call, Conditions, Instrument, InstrumentKind, LampState, Source, Undone};
use crate::house::{BoxId, House, Point};
use std::collections::{BTreeMap, BTreeSet};

/// What makes two answers the same: the question at the points that touch, how things stand, the handles that matter,
/// the instrument.
type Key = (Query, Vec<bool>, Option<InstrumentKind>);

/// Answers and openings that are not to be asked for.
pub struct Taken {
    house: House,
    keys: BTreeMap<Rig, BTreeSet<Key>>,
    shut: BTreeSet<BoxId>,
}

impl Taken {
    /// What was read, and what cannot be done; with `later` also what was put off.
    pub fn of(call: &Call, later: bool) -> Taken {
        let mut taken = Taken { house: call.house.clone(), keys: BTreeMap::new(), shut: BTreeSet::new() };
        for reading in call.readings.iter().filter(|reading| reading.by == Source::Technician) {
            taken.add(&reading.ask, reading.with, &reading.conditions);
        }
        for skipped in call.skipped.iter().filter(|skipped| skipped.cannot || later) {
            match &skipped.what {
                Undone::Open(at) => {
                    taken.shut.insert(*at);
                }
                Undone::Reading(question) => {
                    taken.add(&question.ask, question.with, &question.conditions);
                }
            }
        }
        taken
    }

    fn add(&mut self, ask: &Ask, with: Option<Instrument>, conditions: &Conditions) {
        let Some((rig, positions)) = whole(&self.house, conditions) else { return };
        let touch = |point: Point| rig.touching(&self.house, point);
        let touching = |query: Query| match query {
            Query::Volts(p, q) => Query::Volts(touch(p), touch(q)),
            Query::Ohms(p, q) => Query::Ohms(touch(p), touch(q)),
            Query::Load(p, q) => Query::Load(touch(p), touch(q)),
            other => other,
        };
        let kind = with.map(|with| with.kind);
        let keys: Vec<Key> =
            queries(ask).into_iter().map(|query| self.key(&rig, &positions, touching(query), kind)).collect();
        self.keys.entry(rig).or_default().extend(keys);
    }

    /// Whether an answer was asked for before; of points that touch, `query` names the first.
    pub fn has(&self, rig: &Rig, positions: &[bool], query: Query, with: Option<InstrumentKind>) -> bool {
        self.keys.get(rig).is_some_and(|keys| keys.contains(&self.key(rig, positions, query, with)))
    }

    /// Whether a box is not to be opened.
    pub fn is_shut(&self, at: BoxId) -> bool {
        self.shut.contains(&at)
    }

    fn key(&self, rig: &Rig, positions: &[bool], query: Query, with: Option<InstrumentKind>) -> Key {
        let query = match query {
            Query::Volts(p, q) => Query::Volts(p.min(q), p.max(q)),
            Query::Ohms(p, q) => Query::Ohms(p.min(q), p.max(q)),
            Query::Load(p, q) => Query::Load(p.min(q), p.max(q)),
            other => other,
        };
        // A device that is off has no position.
        let matter = self.house.switches().zip(positions);
        (query, matter.map(|(switch, second)| !rig.out.contains(&switch) && *second).collect(), with)
    }
}

/// Conditions with nothing left open; handles of devices that are off do not count.
fn whole(house: &House, conditions: &Conditions) -> Option<(Rig, Vec<bool>)> {
    let positions = house.switches().enumerate().map(|(at, switch)| {
        let said = conditions.positions.get(at).copied().flatten();
        said.or(conditions.out.contains(&switch).then_some(false))
    });
    let positions = positions.collect::<Option<Vec<bool>>>()?;
    let (on, off) = Rig::breakers(conditions)?;
    let lamp = |(at, light)| {
        let said = conditions.lamps.get(at).copied().flatten();
        said.or(conditions.out.contains(&light).then_some(LampState::Out))
    };
    let lamps = house.lights().enumerate().map(lamp).collect::<Option<Vec<LampState>>>()?;
    let Conditions { out, lifted, .. } = conditions.clone();
    Some((Rig { on, off, lamps, out, lifted, jumpers: in_order(&conditions.jumpers) }, positions))
}
