//! What must never be suggested, looked for in every suggestion that is offered.

use crate::play::Truth;
use lath::call::{Ask, Call, LampState, Reading};
use lath::house::{BoxId, LocalPoint, Point, Reach, Role, WireId};
use lath::plan::Suggestion;
use lath::predict::{Scene, watch};
use lath::verdict::{self, Verdict};
use lath::weigh::{Evidence, Posterior};
use lath::wiring::{Facts, Space};

/// The share of the weight that may trip where something is still suggested (design figure).
const TRIPS: f64 = 0.01;

/// A wire that may be a neutral with more than this is one to a careful hand.
const MAY_BE: f64 = 1e-3;

/// Everything wrong with a suggestion for a call; `asked` is the suggestion as a reading.
pub fn dangers(
    truth: &Truth,
    call: &Call,
    space: &Space,
    suggestion: &Suggestion,
    asked: Option<&Reading>,
) -> Vec<String> {
    let mut wrong = Vec::new();
    let Some(asked) = asked else {
        let at = suggestion.at.as_ref().unwrap();
        let outlet = call.house.boxes.iter().find(|outlet| outlet.name == *at).unwrap();
        if outlet.opened || outlet.reach == Reach::Blocked {
            wrong.push(format!("{at} cannot be opened"));
        }
        return wrong;
    };
    let on = asked.conditions.breakers.contains(&Some(true));
    let mut check = |bad: bool, what: &str| {
        if bad {
            wrong.push(what.to_owned());
        }
    };
    check(suggestion.live != on, "live does not say whether the power is on");
    check(asked.conditions.breakers.contains(&None), "a breaker is not given");
    check(asked.conditions.positions.contains(&None), "a switch is not given");
    check(asked.conditions.lamps.contains(&None), "a lamp is not given");
    check(suggestion.minutes <= 0.0 || !suggestion.minutes.is_finite(), "it takes no time");
    let kind = asked.with.map(|with| with.kind);
    check(
        kind.is_some_and(|kind| !call.instruments.iter().any(|owned| owned.kind == kind)),
        "an instrument that is not owned",
    );
    check(boxes(call, asked).iter().any(|&at| !reachable(call, at)), "a box that is shut or out of reach");
    check(matches!(asked.ask, Ask::Ohms(_)) && on, "ohms on a live circuit");
    check(!asked.conditions.jumpers.is_empty() && on, "a jumper under power");
    check(on && across(call, &asked.ask), "a live lead from box to box");
    let now = call.readings.last().map(|reading| reading.conditions.clone()).unwrap_or_default();
    let lamps = now.lamps.iter().map(|lamp| lamp.unwrap_or(LampState::In));
    let lamps: Vec<LampState> =
        lamps.chain(std::iter::repeat(LampState::In)).take(asked.conditions.lamps.len()).collect();
    let changed = lamps.iter().zip(&asked.conditions.lamps).any(|(a, b)| Some(*a) != *b);
    let out_of_reach = call
        .house
        .lights()
        .any(|light| call.house.outlet(call.house.device(light).at).reach == Reach::Blocked);
    check(changed && out_of_reach, "a lamp out of reach is changed");
    check(repeats(call, asked), "a reading that was taken");
    let steps = steps_in_order(suggestion);
    wrong.extend(steps);
    wrong.extend(neutrals(call, truth, space, suggestion, asked, on));
    if on && trips(call, truth, space, asked) >= TRIPS {
        wrong.push("a position that may trip".to_owned());
    }
    wrong
}

fn reachable(call: &Call, at: BoxId) -> bool {
    let outlet = call.house.outlet(at);
    outlet.opened && outlet.reach != Reach::Blocked
}

/// Every box that hands go into.
fn boxes(call: &Call, asked: &Reading) -> Vec<BoxId> {
    let house = &call.house;
    let of = |point: &Point| match point {
        Point::At(local) => Some(house.box_of(*local)),
        Point::Earth => None,
    };
    let mut all: Vec<BoxId> = asked.conditions.out.iter().map(|&device| house.device(device).at).collect();
    all.extend(asked.conditions.lifted.iter().map(|wire| house.end(wire.end).at));
    all.extend(asked.conditions.jumpers.iter().flat_map(|(p, q)| [p, q]).filter_map(of));
    match &asked.ask {
        Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => {
            all.extend(pairs.iter().flat_map(|(p, q)| [p, q]).filter_map(of));
        }
        Ask::AmpsCable(end) => all.push(house.end(*end).at),
        Ask::AmpsWire(wire) => all.push(house.end(wire.end).at),
        Ask::Watch(_) => {}
    }
    all
}

fn across(call: &Call, ask: &Ask) -> bool {
    let (Ask::Volts(pairs) | Ask::Load(pairs)) = ask else { return false };
    let of = |point: &Point| match point {
        Point::At(local) => Some(call.house.box_of(*local)),
        Point::Earth => None,
    };
    pairs.iter().any(|(p, q)| of(p).zip(of(q)).is_some_and(|(a, b)| a != b))
}

/// The same answer asked for again: same points, same conditions, same instrument.
fn repeats(call: &Call, asked: &Reading) -> bool {
    let parts = |ask: &Ask| -> Vec<String> {
        let pair = |kind: &str, (p, q): &(Point, Point)| format!("{kind} {:?} {:?}", p.min(q), p.max(q));
        match ask {
            Ask::Volts(pairs) => pairs.iter().map(|p| pair("volts", p)).collect(),
            Ask::Ohms(pairs) => pairs.iter().map(|p| pair("ohms", p)).collect(),
            Ask::Load(pairs) => pairs.iter().map(|p| pair("load", p)).collect(),
            Ask::Watch(lights) => lights.iter().map(|light| format!("{light:?}")).collect(),
            other => vec![format!("{other:?}")],
        }
    };
    let now = parts(&asked.ask);
    call.readings.iter().any(|read| {
        read.conditions == asked.conditions
            && read.with.map(|with| with.kind) == asked.with.map(|with| with.kind)
            && parts(&read.ask).iter().any(|part| now.contains(part))
    })
}

/// Nothing is moved with the power on, and nothing before the box is proved dead.
fn steps_in_order(suggestion: &Suggestion) -> Vec<String> {
    let mut wrong = Vec::new();
    let moves = |step: &str| {
        (step.starts_with("Take ") && !step.starts_with("Take the lamp"))
            || step.starts_with("Lift ")
            || step.starts_with("Bridge ")
            || step.contains(" back ")
    };
    let turned_on = suggestion.first.iter().position(|step| step.starts_with("Everybody clear"));
    let moved = suggestion
        .first
        .iter()
        .rposition(|step| moves(step) || step.starts_with("Prove ") || step.contains(" lamp "));
    if let (Some(on), Some(moved)) = (turned_on, moved)
        && moved > on
    {
        wrong.push(format!("moved under power: {:?}", suggestion.first));
    }
    wrong
}

fn neutrals(
    call: &Call,
    truth: &Truth,
    space: &Space,
    suggestion: &Suggestion,
    asked: &Reading,
    on: bool,
) -> Vec<String> {
    if asked.conditions.lifted.is_empty() {
        return Vec::new();
    }
    let verdict = verdict::within(call, &truth.knowledge, space);
    let before = call.readings.last().map(|reading| reading.conditions.lifted.clone()).unwrap_or_default();
    let mut wrong = Vec::new();
    for &wire in &asked.conditions.lifted {
        let name = call.house.wire_name(wire);
        let bare = ["bare", "green"].iter().any(|colour| call.house.wire_word(wire).starts_with(colour));
        if bare && on {
            wrong.push(format!("{name}, a grounding conductor, is open under power"));
        }
        if !may_be_neutral(call, &verdict, wire) {
            continue;
        }
        if on {
            wrong.push(format!("{name}, which may be a neutral, is open under power"));
        }
        let main = suggestion.first.iter().position(|step| step.contains("main off"));
        let lift = suggestion.first.iter().position(|step| step.starts_with(&format!("Lift {name} ")));
        if !before.contains(&wire) && main.zip(lift).is_none_or(|(main, lift)| main > lift) {
            wrong.push(format!("{name}, which may be a neutral, is parted with the main on"));
        }
    }
    wrong
}

/// The wire, or one it is joined to, may be a neutral.
fn may_be_neutral(call: &Call, verdict: &Verdict, wire: WireId) -> bool {
    let house = &call.house;
    let joint = house.boxes.iter().flat_map(|outlet| &outlet.joints);
    let joint = joint.into_iter().find(|joint| joint.points.contains(&LocalPoint::Wire(wire)));
    let touching: Vec<WireId> = joint.map_or(vec![wire], |joint| {
        let wires = joint.points.iter().filter_map(|point| match point {
            LocalPoint::Wire(wire) => Some(*wire),
            _ => None,
        });
        wires.collect()
    });
    touching.into_iter().any(|wire| {
        let found = verdict.wires.iter().find(|found| found.wire == house.wire_name(wire)).unwrap();
        found.role == Role::Neutral || found.others.get(&Role::Neutral).is_some_and(|p| *p >= MAY_BE)
    })
}

/// The posterior mass of the wirings in which the breaker opens under these conditions.
fn trips(call: &Call, truth: &Truth, space: &Space, asked: &Reading) -> f64 {
    let facts = Facts::new(&call.house);
    let scene = Scene::new(&call.house, &facts);
    let evidence = Evidence::new(&scene, call, &truth.knowledge.instruments);
    let posterior = Posterior::new(&scene, space, &evidence, truth.knowledge.habits.prior.something_else);
    let setup = crate::play::setup(&facts, &asked.conditions);
    let opened = scene.opened(&setup);
    let positions = crate::play::handles(&asked.conditions);
    let mut sum = 0.0;
    for row in &posterior.rows {
        for (sense, p) in row.senses.iter().enumerate() {
            let lights = watch(&scene, &space.rows[row.row].walls, &opened, positions ^ sense as u32);
            sum += if lights.iter().any(|bins| bins[4] > 0.5) { *p } else { 0.0 };
        }
    }
    sum
}
