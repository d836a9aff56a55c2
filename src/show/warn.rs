//! Which cautions a house and a verdict call for, and where.

use super::known::{Known, landing_box, place_of};
use super::words::is_buried;
use crate::call::Call;
use crate::house::{BoxKind, Grounds, House, LocalPoint, Metal, Reach, Sheath, WireId};
use crate::knowledge::Caution;
use crate::verdict::{Landing, Role, State};
use std::collections::BTreeSet;

/// A caution that applies, and the places it is about (none: everywhere).
pub(crate) struct Warning {
    pub caution: Caution,
    pub places: Vec<String>,
}

/// Every caution that applies, the gravest first.
pub(crate) fn applying(known: &Known<'_>, call: &Call) -> Vec<Warning> {
    Caution::ALL
        .into_iter()
        .filter_map(|caution| {
            let places = where_it_holds(known, call, caution)?;
            Some(Warning { caution, places })
        })
        .collect()
}

/// The places, nothing where it does not apply at all.
fn where_it_holds(known: &Known<'_>, call: &Call, caution: Caution) -> Option<Vec<String>> {
    let verdict = known.verdict;
    let everywhere = |holds: bool| holds.then(Vec::new);
    match caution {
        Caution::QualifiedPerson | Caution::LiveUntilProven | Caution::MoreCircuits => everywhere(true),
        Caution::NotSettled => everywhere(matches!(verdict.state, State::Open | State::Exhausted)),
        Caution::Contradiction => {
            everywhere(verdict.state == State::Contradiction || verdict.contradiction.is_some())
        }
        Caution::Tripped => everywhere(call.tripped().next().is_some()),
        Caution::LiveMetal => {
            let boxes = call.live_metal().into_iter();
            some(boxes.map(|at| known.house.outlet(at).name.clone()).collect())
        }
        Caution::NotAsItWas => some(landings(known, |l| matches!(l, Landing::Refused { .. }))),
        Caution::BeforeLanding => some(landings(known, |l| matches!(l, Landing::Joints { .. }))),
        Caution::AfterLanding => {
            everywhere(verdict.landing.iter().any(|l| matches!(l, Landing::Joints { .. })))
        }
        // A caution about a scheme has its name.
        Caution::LampBetweenCommons | Caution::SwitchedNeutral => {
            everywhere(verdict.arrangement.as_ref().is_some_and(|a| a.scheme == caution.word()))
        }
        Caution::TwoFeeds => everywhere(circuits(known).len() > 1),
        Caution::WhiteIsLine => some(whites(known, &[Role::Line])),
        Caution::WhiteIsLoad => some(whites(known, &[Role::Load])),
        Caution::WhiteIsTraveler => some(whites(known, &[Role::Traveler, Role::Tie])),
        Caution::LiveWhiteSplice => some(joints(known, is_live_white)),
        Caution::NeutralNotProven => some(unproven_neutrals(known)),
        Caution::NeutralJoint => some(joints(known, may_be_neutral)),
        Caution::GroundNotProven => some(with_role(known, Role::Ground)),
        Caution::OtherCircuit => some(with_role(known, Role::Other)),
        Caution::NoNeutral => some(without_neutral(known)),
        other => in_house(known, other),
    }
}

/// The cautions that depend on the survey alone.
fn in_house(known: &Known<'_>, caution: Caution) -> Option<Vec<String>> {
    let house = known.house;
    match caution {
        Caution::NoGround => (house.grounds == Grounds::None).then(Vec::new),
        Caution::Armor => some(cables(house, |s| s == Sheath::Armored)),
        Caution::KnobAndTube => some(cables(house, |s| s == Sheath::KnobAndTube)),
        Caution::LeadSheath => some(cables(house, |s| s == Sheath::Lead)),
        Caution::Aluminum => {
            let ends = house.end_ids().filter(|&e| house.end(e).metal == Metal::Aluminum);
            some(ends.map(|e| house.end_name(e)).collect())
        }
        Caution::OldInsulation => some(old_insulation(house)),
        Caution::Unopened => some(house.boxes.iter().filter(|b| !b.opened).map(|b| b.name.clone()).collect()),
        Caution::Ladder => {
            some(house.boxes.iter().filter(|b| b.reach == Reach::Ladder).map(|b| b.name.clone()).collect())
        }
        Caution::BuriedBox => some(buried(known)),
        _ => None,
    }
}

/// Places with each box named once: `hall: a.white, b.white; landing: a.white`.
pub(crate) fn by_box(places: &[String]) -> String {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for place in places {
        let (outlet, local) = place.split_once('/').unwrap_or((place, ""));
        match said.last_mut() {
            Some((last, locals)) if *last == outlet && !local.is_empty() => locals.push(local),
            _ => said.push((outlet, if local.is_empty() { vec![] } else { vec![local] })),
        }
    }
    let each: Vec<String> = said
        .into_iter()
        .map(|(outlet, locals)| match locals.as_slice() {
            [] => outlet.to_owned(),
            locals => format!("{outlet}: {}", locals.join(", ")),
        })
        .collect();
    each.join("; ")
}

fn some(places: Vec<String>) -> Option<Vec<String>> {
    (!places.is_empty()).then_some(places)
}

fn landings(known: &Known<'_>, wanted: impl Fn(&Landing) -> bool) -> Vec<String> {
    known.verdict.landing.iter().filter(|l| wanted(l)).map(|l| landing_box(l).to_owned()).collect()
}

/// The circuits that wires were found to belong to.
fn circuits<'a>(known: &Known<'a>) -> BTreeSet<&'a str> {
    known.told().filter_map(|w| w.circuit.as_deref()).collect()
}

/// Whether a wire was called by a colour that is kept for neutrals.
fn is_white(house: &House, wire: WireId) -> bool {
    let word = house.wire_word(wire);
    ["white", "gray", "grey"].iter().any(|colour| word.starts_with(colour))
}

/// The white of a wire that has one of these roles.
pub(crate) fn white_caution(known: &Known<'_>, wire: WireId) -> Option<Caution> {
    if !is_white(known.house, wire) {
        return None;
    }
    match known.wire(wire)?.role {
        Role::Line => Some(Caution::WhiteIsLine),
        Role::Load => Some(Caution::WhiteIsLoad),
        Role::Traveler | Role::Tie => Some(Caution::WhiteIsTraveler),
        _ => None,
    }
}

fn whites(known: &Known<'_>, roles: &[Role]) -> Vec<String> {
    let house = known.house;
    house
        .wires()
        .filter(|&w| is_white(house, w) && known.wire(w).is_some_and(|f| roles.contains(&f.role)))
        .map(|w| house.wire_name(w))
        .collect()
}

fn with_role(known: &Known<'_>, role: Role) -> Vec<String> {
    known.told().filter(|w| w.role == role).map(|w| w.wire.clone()).collect()
}

fn unproven_neutrals(known: &Known<'_>) -> Vec<String> {
    let unproven = |w: &&crate::verdict::WireFound| w.role == Role::Neutral && !known.is_proven_neutral(w);
    known.told().filter(unproven).map(|w| w.wire.clone()).collect()
}

/// Splices as found whose wires satisfy `wanted`, named by their wires.
fn joints(known: &Known<'_>, wanted: impl Fn(&Known<'_>, &[WireId]) -> bool) -> Vec<String> {
    let mut found = Vec::new();
    for outlet in &known.house.boxes {
        for joint in &outlet.joints {
            let wires: Vec<WireId> = joint
                .points
                .iter()
                .filter_map(|p| if let LocalPoint::Wire(w) = p { Some(*w) } else { None })
                .collect();
            if wires.len() > 1 && wanted(known, &wires) {
                let names: Vec<String> =
                    wires.iter().map(|&w| known.house.local_name(LocalPoint::Wire(w))).collect();
                found.push(format!("{}: {}", outlet.name, names.join(" with ")));
            }
        }
    }
    found
}

/// Whites alone, and none of them a neutral.
fn is_live_white(known: &Known<'_>, wires: &[WireId]) -> bool {
    let live = |w: &WireId| {
        known.wire(*w).is_some_and(|f| matches!(f.role, Role::Line | Role::Load | Role::Traveler | Role::Tie))
    };
    wires.iter().all(|&w| is_white(known.house, w)) && wires.iter().any(live)
}

fn may_be_neutral(known: &Known<'_>, wires: &[WireId]) -> bool {
    wires.iter().any(|&w| {
        // What cannot be told may be one.
        known.wire(w).is_none_or(|f| f.role == Role::Neutral || f.others.contains_key(&Role::Neutral))
    })
}

fn without_neutral(known: &Known<'_>) -> Vec<String> {
    let house = known.house;
    house
        .box_ids()
        .filter(|&b| house.outlet(b).kind == BoxKind::Switch)
        .filter(|&b| known.roles_in(b).is_some_and(|r| r.neutral.is_none()))
        .map(|b| house.outlet(b).name.clone())
        .collect()
}

fn cables(house: &House, wanted: impl Fn(Sheath) -> bool) -> Vec<String> {
    house.end_ids().filter(|&e| house.end(e).sheath.is_some_and(&wanted)).map(|e| house.end_name(e)).collect()
}

fn old_insulation(house: &House) -> Vec<String> {
    let old = |s: Sheath| matches!(s, Sheath::ClothNm | Sheath::KnobAndTube | Sheath::Lead);
    house
        .boxes
        .iter()
        .filter(|b| {
            b.seen.iter().any(|s| s == "brittle-insulation")
                || b.ends.iter().any(|&e| house.end(e).sheath.is_some_and(old))
        })
        .map(|b| b.name.clone())
        .collect()
}

fn buried(known: &Known<'_>) -> Vec<String> {
    let ends = known.verdict.cables.iter().flat_map(|c| &c.ends).map(|e| place_of(e));
    let feed = known.verdict.arrangement.iter().map(|a| a.feed.at.as_str());
    let names: BTreeSet<&str> = ends.chain(feed).filter(|n| is_buried(n)).collect();
    names.into_iter().map(str::to_owned).collect()
}
