//! Whether the metal of a box is at earth, by armour, by conduit or by what it is fixed to. Nobody sees that. It is the same
//! whatever the wiring, so it is told once for each box, from the coverings of its cables and from what was read of its metal.
//!
//! Metal in a joint with a wire needs no telling: it is where that wire is.

use crate::call::{Ask, Call, InstrumentKind, Reading, Seen};
use crate::house::{BoxId, House, LocalPoint, Point, Sheath};
use crate::knowledge::EarthedMetal;
use crate::wiring::closed;

/// How many times likelier an answer is where the metal is at earth than where it touches nothing; all from memory.
mod odds {
    /// Metal to earth reads as one piece of metal.
    pub(super) const JOINED: f64 = 100.0;
    /// Or as none.
    pub(super) const APART: f64 = 0.01;
    /// Metal to earth reads live: something touches metal that is at no earth.
    pub(super) const LIVE_METAL: f64 = 0.005;
    /// The supply to metal from something else, by a tester that holds ghosts down.
    pub(super) const SUPPLY: f64 = 60.0;
    /// Or by one that does not.
    pub(super) const SUPPLY_OR_GHOST: f64 = 6.0;
    /// A way through metal to something else, the circuit dead.
    pub(super) const WAY: f64 = 10.0;
    /// Nothing from metal to something else.
    pub(super) const NOTHING: f64 = 0.7;
}

/// Ohms below which something is a load, and no leak.
const MOST_OF_A_LOAD: f64 = 1000.0;

/// The boxes whose metal is likelier at earth than not.
pub(crate) fn earthed(call: &Call, chances: &EarthedMetal) -> Vec<BoxId> {
    let told = |at: &BoxId| {
        let outlet = call.house.outlet(*at);
        let on_wire = |point: &LocalPoint| matches!(point, LocalPoint::Metal(_));
        outlet.opened && !outlet.joints.iter().any(|joint| joint.points.iter().any(on_wire))
    };
    let likely = |at: &BoxId| {
        let chance = before(&call.house, *at, chances);
        let read: f64 = call.readings.iter().map(|reading| of_reading(reading, *at)).product();
        chance * read > 1.0 - chance
    };
    call.house.box_ids().filter(told).filter(likely).collect()
}

/// How likely the metal of a box is at earth by the look of its cables.
fn before(house: &House, at: BoxId, chances: &EarthedMetal) -> f64 {
    let ends = house.end_ids().map(|end| house.end(end)).filter(|end| end.at == at);
    let chance = |sheath: Option<Sheath>| match sheath {
        Some(Sheath::Armored | Sheath::Lead) => chances.armored,
        Some(Sheath::Conduit) => chances.conduit,
        _ => chances.other,
    };
    ends.map(|end| chance(end.sheath)).fold(chances.other, f64::max)
}

/// How many times likelier a reading is where the metal of a box is at earth.
fn of_reading(reading: &Reading, at: BoxId) -> f64 {
    let (Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs)) = &reading.ask else { return 1.0 };
    if !reading.conditions.jumpers.is_empty() {
        return 1.0;
    }
    let metal = Point::At(LocalPoint::Metal(at));
    let live = reading.live();
    let of = |nth: usize, pair: &(Point, Point)| {
        let other = match *pair {
            (point, other) | (other, point) if point == metal => other,
            _ => return 1.0,
        };
        match (&reading.ask, other) {
            (Ask::Ohms(_), _) => of_ohms(reading.seen[nth], other == Point::Earth),
            (_, Point::Earth) if live.get(nth).is_some_and(|(_, live)| *live) => odds::LIVE_METAL,
            (_, Point::Earth) => 1.0,
            _ if live.get(nth).is_some_and(|(_, live)| *live) => of_supply(reading),
            _ => odds::NOTHING,
        }
    };
    pairs.iter().enumerate().map(|(nth, pair)| of(nth, pair)).product()
}

fn of_ohms(seen: Seen, to_earth: bool) -> f64 {
    let some_load = matches!(seen, Seen::Number { value, .. } if value < MOST_OF_A_LOAD);
    match (closed(seen), to_earth) {
        (Some(true), true) => odds::JOINED,
        (Some(true), false) => odds::WAY,
        (Some(false), false) if some_load => odds::WAY,
        (Some(false), true) if !some_load => odds::APART,
        (Some(false), false) => odds::NOTHING,
        (Some(false), true) | (None, _) => 1.0,
    }
}

fn of_supply(reading: &Reading) -> f64 {
    let ghosts = matches!(reading.with.map(|with| with.kind), None | Some(InstrumentKind::HighImpedance))
        && matches!(reading.ask, Ask::Volts(_));
    if ghosts { odds::SUPPLY_OR_GHOST } else { odds::SUPPLY }
}
