//! Proving a neutral: what the goal `neutral-at` needs beside knowing where it should be.
//!
//! Either dead ohms to earth in every position of the switches, or a known load from a line that is proven at the same
//! box, the light's lamp out.

use super::campaign::Pick;
use super::rig::{Present, Rig};
use super::round::{Query, Scope};
use super::search::Search;
use crate::call::{InstrumentKind, LampState};
use crate::house::{BoxId, Goal, LocalPoint, Point, Role, WireId};
use crate::verdict::{Case, LIKELY, Verdict, line_is_proven, ways_left};

/// The next reading of the cheapest proof, and why; nothing where no wire is likely enough, or nothing can prove it.
pub fn next(case: &Case, verdict: &Verdict, search: &mut Search, dead_only: bool) -> Option<(Pick, String)> {
    let Goal::NeutralAt(at) = case.call.goal else { return None };
    if case.call.house.feeds.len() != 1 || !search.site.reachable(at) || !search.site.works_dead() {
        return None;
    }
    let wire = likely(case, verdict, at, Role::Neutral)?;
    let mut ways = dead(case, search, at, wire);
    if !dead_only {
        ways.extend(loaded(case, verdict, search, at, wire));
    }
    let (_, pick) = ways.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let name = case.call.house.wire_name(wire);
    Some((
        pick,
        format!("{name} should be this circuit's neutral, and this reading is of a kind that can prove it."),
    ))
}

/// The likeliest wire of a role in a box.
fn likely(case: &Case, verdict: &Verdict, at: BoxId, role: Role) -> Option<WireId> {
    let house = &case.call.house;
    let here = house.wires().zip(&verdict.wires).filter(|(wire, _)| house.end(wire.end).at == at);
    let likely = here.filter(|(_, found)| found.role == role && found.p >= LIKELY);
    likely.max_by(|a, b| a.1.p.total_cmp(&b.1.p).then(b.0.cmp(&a.0))).map(|(wire, _)| wire)
}

/// Dead ohms to earth, with all switches off their wires or with each in every position.
fn dead(case: &Case, search: &mut Search, at: BoxId, wire: WireId) -> Vec<(f64, Pick)> {
    let (site, present) = (search.site, search.present);
    if site.tester(InstrumentKind::HighImpedance).is_none() {
        return Vec::new();
    }
    let house = site.house();
    let removable: Vec<_> = house
        .switches()
        .filter(|&switch| {
            let at = house.device(switch).at;
            house.outlet(at).opened && site.reachable(at)
        })
        .collect();
    let lifted = |wire: &WireId| house.end(wire.end).at != at;
    let rig = Rig {
        off: None,
        on: false,
        lifted: present.rig.lifted.iter().copied().filter(lifted).collect(),
        jumpers: Vec::new(),
        ..present.rig.clone()
    };
    let mut found = Vec::new();
    for out in [rig.out.clone(), removable] {
        let rig = Rig { out, ..rig.clone() };
        let query = Query::Ohms(rig.touching(house, Point::At(LocalPoint::Wire(wire))), Point::Earth);
        let readings = positions_left(case, present, &rig, wire);
        found.extend(sequence(search, &rig, query, &readings));
    }
    found
}

/// The positions in which the wire has not been read closed to earth, the nearest to the present first.
fn positions_left(case: &Case, present: &Present, rig: &Rig, wire: WireId) -> Vec<Vec<bool>> {
    let switches: Vec<_> = case.call.house.switches().collect();
    let mut left: Vec<Vec<bool>> = Vec::new();
    for way in ways_left(case, wire) {
        let position = |at: usize| {
            if rig.out.contains(&switches[at]) { present.positions[at] } else { way >> at & 1 == 1 }
        };
        let positions: Vec<bool> = (0..switches.len()).map(position).collect();
        if !left.contains(&positions) {
            left.push(positions);
        }
    }
    let flips =
        |positions: &Vec<bool>| positions.iter().zip(&present.positions).filter(|(a, b)| a != b).count();
    left.sort_by_key(flips);
    left
}

/// All readings of a proof one after the other: their cost together, and the first.
fn sequence(search: &mut Search, rig: &Rig, query: Query, readings: &[Vec<bool>]) -> Option<(f64, Pick)> {
    let mut first: Option<Pick> = None;
    let mut cost = 0.0;
    for positions in readings {
        let pick = search.single(
            rig,
            Scope::ToEarth,
            query,
            (Some(InstrumentKind::HighImpedance), None),
            positions,
        )?;
        // From the second on, things are set up already.
        let prices = &search.site.prices().work;
        cost += if first.is_none() { pick.errand.cost() } else { prices.probe + 2.0 * prices.flip };
        first.get_or_insert(pick);
    }
    first.map(|first| (cost, first))
}

/// A test lamp from a line that is proven with the lamp out; the line first, where it is not.
fn loaded(
    case: &Case,
    verdict: &Verdict,
    search: &mut Search,
    at: BoxId,
    wire: WireId,
) -> Option<(f64, Pick)> {
    use InstrumentKind::{LowImpedance, Solenoid, TestLamp, TwoPole};
    let (site, present) = (search.site, search.present);
    site.tester(TestLamp)?;
    let house = site.house();
    let lamps = vec![LampState::Out; house.lights().count()];
    if lamps != present.rig.lamps && !site.lamps_in_reach() {
        return None;
    }
    let line = likely(case, verdict, at, Role::Line)?;
    let rig =
        Rig { on: true, off: None, lamps, lifted: Vec::new(), jumpers: Vec::new(), ..present.rig.clone() };
    let touch = |wire: WireId| rig.touching(house, Point::At(LocalPoint::Wire(wire)));
    let (p, q) = (touch(line).min(touch(wire)), touch(line).max(touch(wire)));
    let positions = present.positions.clone();
    let load = search.single(&rig, Scope::Pairs, Query::Load(p, q), (Some(TestLamp), None), &positions)?;
    if line_is_proven(case, touch(line)) {
        return Some((load.errand.cost(), load));
    }
    let kind = [LowImpedance, TwoPole, Solenoid].into_iter().find(|kind| site.tester(*kind).is_some())?;
    let query = Query::Volts(touch(line), Point::Earth);
    let volts = search.single(&rig, Scope::ToEarth, query, (Some(kind), None), &positions)?;
    let more = site.prices().work.probe * site.prices().factor.live + site.prices().penalty.live;
    Some((volts.errand.cost() + more, volts))
}
