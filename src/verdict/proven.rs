//! What a reading of that very wire has proven, as against what is inferred.
//!
//! A neutral is proven by dead ohms to earth under 2 in every position of the switches, or by a known load from a proven
//! line at full supply with the light's lamp out. 0 V to earth proves nothing, nor do volts from line.

use super::Case;
use crate::call::{Ask, LampState, Reading, Seen, Source};
use crate::house::{LocalPoint, Point, WireId};

/// Whether readings prove that a wire is the neutral. With several circuits in the house they do not say which. Wires
/// found in one joint are one point to a probe.
pub(super) fn neutral(case: &Case, wire: WireId) -> bool {
    let point = LocalPoint::Wire(wire);
    let touching = touching(case, wire);
    // A bridged point is joined to what the jumper goes to: it proves nothing of the wire.
    let whole = |reading: &&Reading, probed: LocalPoint| {
        if !reading.conditions.jumpers.is_empty() {
            return false;
        }
        let lifted = |point: LocalPoint| matches!(point, LocalPoint::Wire(w) if reading.conditions.lifted.contains(&w));
        probed == point || !(lifted(probed) || lifted(point))
    };
    touching.into_iter().any(|probed| {
        let readings: Vec<&Reading> =
            case.call.readings.iter().filter(|reading| whole(reading, probed)).collect();
        point_proven(case, &readings, Point::At(probed))
    })
}

/// The wire, and what it was found in one joint with.
fn touching(case: &Case, wire: WireId) -> Vec<LocalPoint> {
    let point = LocalPoint::Wire(wire);
    let outlet = case.call.house.outlet(case.call.house.end(wire.end).at);
    let joint = outlet.sure_joints().find(|joint| joint.points.contains(&point));
    joint.map_or(vec![point], |joint| joint.points.clone())
}

fn point_proven(case: &Case, readings: &[&Reading], point: Point) -> bool {
    let readings = || readings.iter().copied().filter(|reading| reading.by == Source::Technician);
    case.call.house.feeds.len() == 1
        && (loaded(case, readings(), point) || closed_everywhere(case, readings(), point))
}

fn loaded<'a>(case: &Case, readings: impl Iterator<Item = &'a Reading>, point: Point) -> bool {
    let lamps_out =
        |reading: &Reading| reading.conditions.lamps.iter().all(|lamp| *lamp == Some(LampState::Out));
    let bright = |seen: &Seen| match *seen {
        Seen::Bin(bin) => bin == 2,
        Seen::Number { value, .. } => value >= 0.9 * case.call.house.supply,
        _ => false,
    };
    let mut loads = readings.filter(|reading| lamps_out(reading));
    loads.any(|reading| match &reading.ask {
        Ask::Load(pairs) => {
            let other = |pair: &(Point, Point)| {
                if pair.0 == point { Some(pair.1) } else { (pair.1 == point).then_some(pair.0) }
            };
            let hits = pairs.iter().zip(&reading.seen).filter(|(_, seen)| bright(seen));
            hits.filter_map(|(pair, _)| other(pair)).any(|line| proven_line(case, line))
        }
        _ => false,
    })
}

/// Full supply to earth on low impedance or under load, lamp out, in a reading of that very point.
fn proven_line(case: &Case, point: Point) -> bool {
    use crate::call::InstrumentKind::{LowImpedance, Solenoid, TestLamp, TwoPole};
    case.call.readings.iter().any(|reading| {
        let firm = reading
            .with
            .is_some_and(|with| matches!(with.kind, LowImpedance | TwoPole | Solenoid | TestLamp));
        let out = reading.conditions.lamps.iter().all(|lamp| *lamp == Some(LampState::Out));
        let (Ask::Volts(pairs) | Ask::Load(pairs)) = &reading.ask else { return false };
        let full = |seen: &Seen| match *seen {
            Seen::Number { value, .. } => value >= 0.9 * case.call.house.supply,
            Seen::Bin(bin) => bin == if matches!(reading.ask, Ask::Load(_)) { 2 } else { 3 },
            _ => false,
        };
        let of_point =
            |pair: &(Point, Point)| *pair == (point, Point::Earth) || *pair == (Point::Earth, point);
        firm && out
            && reading.by == Source::Technician
            && pairs.iter().zip(&reading.seen).any(|(pair, seen)| of_point(pair) && full(seen))
    })
}

fn closed_everywhere<'a>(case: &Case, readings: impl Iterator<Item = &'a Reading>, point: Point) -> bool {
    covered(case, readings, point).iter().all(|covered| *covered)
}

/// Which ways the handles can stand in which the point was read closed to earth: bit `i` of the place is switch `i`.
fn covered<'a>(case: &Case, readings: impl Iterator<Item = &'a Reading>, point: Point) -> Vec<bool> {
    let switches: Vec<_> = case.call.house.switches().collect();
    let ways = 1usize << switches.len();
    let mut covered = vec![false; ways];
    for reading in readings {
        let Ask::Ohms(pairs) = &reading.ask else { continue };
        let to_earth =
            |pair: &(Point, Point)| *pair == (point, Point::Earth) || *pair == (Point::Earth, point);
        // `closed` is the word for what shows as metal.
        let metal = |seen: &Seen| match *seen {
            Seen::Number { value, spread } => value + spread < 2.0,
            Seen::Bin(bin) => bin == crate::call::Ohms::Closed as u8,
            _ => false,
        };
        if !pairs.iter().zip(&reading.seen).any(|(pair, seen)| to_earth(pair) && metal(seen)) {
            continue;
        }
        for (way, covered) in covered.iter_mut().enumerate() {
            let fits = |(at, switch): (usize, &crate::house::DeviceId)| {
                let position = reading.conditions.positions.get(at).copied().flatten();
                reading.conditions.out.contains(switch) || position == Some(way >> at & 1 == 1)
            };
            *covered |= switches.iter().enumerate().all(fits);
        }
    }
    covered
}

/// The ways the handles can stand in which the technician has not read a wire, or what it touches, closed to earth.
pub(crate) fn ways_left(case: &Case, wire: WireId) -> Vec<usize> {
    let readings = case
        .call
        .readings
        .iter()
        .filter(|reading| reading.by == Source::Technician && reading.conditions.jumpers.is_empty());
    let readings: Vec<&Reading> = readings.collect();
    let of_point = |point: LocalPoint| covered(case, readings.iter().copied(), Point::At(point));
    let best =
        touching(case, wire).into_iter().map(of_point).max_by_key(|all| all.iter().filter(|c| **c).count());
    let all = best.unwrap_or_default();
    all.iter().enumerate().filter(|(_, covered)| !**covered).map(|(way, _)| way).collect()
}

/// Whether a reading proves that a point is line.
pub(crate) fn line_is_proven(case: &Case, point: Point) -> bool {
    proven_line(case, point)
}
