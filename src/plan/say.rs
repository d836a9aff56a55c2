//! Steps and reasons in the words of the trade. Nothing is called dead, neutral or ground because it was inferred.

use super::belief::Belief;
use super::errand::Step;
use super::gain::{Gain, Table};
use super::site::Site;
use crate::call::{InstrumentKind, LampState};
use crate::house::{BoxId, DeviceId, Feed, FeedKind, Reach, Role, WireId};
use std::collections::{BTreeMap, BTreeSet};

/// A device by the shortest name that a job file takes: its box where no other of its sort is there.
pub fn short(site: &Site, device: DeviceId) -> String {
    let house = site.house();
    let seen = house.device(device);
    let alike = |other: &DeviceId| {
        let kind = house.device(*other).kind;
        kind.is_switch() == seen.kind.is_switch() && kind.is_light() == seen.kind.is_light()
    };
    let outlet = house.outlet(seen.at);
    if outlet.devices.iter().filter(|other| alike(other)).count() > 1 {
        house.device_name(device)
    } else {
        outlet.name.clone()
    }
}

fn feeds(site: &Site) -> String {
    site.house().feeds.iter().map(breaker).collect::<Vec<_>>().join(" and ")
}

fn breaker(feed: &Feed) -> String {
    let word = if feed.kind == FeedKind::Fuse { "fuse" } else { "breaker" };
    format!("{word} {}", feed.name)
}

fn device(site: &Site, device: DeviceId) -> String {
    let seen = site.house().device(device);
    format!("the {} at {}", seen.name, site.house().outlet(seen.at).name)
}

fn wire(site: &Site, wire: WireId) -> String {
    site.house().wire_name(wire)
}

/// The steps to a reading as sentences. Where the supply was off before, a look at that comes first: what was proved dead
/// is so only as long as nobody turns it on.
pub fn steps(site: &Site, steps: &[Step], live: bool) -> Vec<String> {
    let still = (site.off_before && begins_dead(steps, live)).then(|| {
        format!(
            "See that nobody has turned {} on since, and that the lock or tag is still there; if you were away from a box, \
             prove it dead again.",
            feeds(site)
        )
    });
    still.into_iter().chain(steps.iter().map(|step| sentence(site, *step))).collect()
}

/// Whether anything is touched with the power as it was left off.
fn begins_dead(steps: &[Step], live: bool) -> bool {
    use Step::{AllBut, Flip, Go, MainOff, Off, On};
    let power = steps.iter().position(|step| matches!(step, Off | MainOff | On | AllBut(_)));
    let before = &steps[..power.unwrap_or(steps.len())];
    (power.is_none() && !live) || before.iter().any(|step| !matches!(step, Go(_) | Flip(..)))
}

fn sentence(site: &Site, step: Step) -> String {
    let house = site.house();
    match step {
        Step::Off => format!("Turn {} off, and lock or tag it.", feeds(site)),
        Step::MainOff => {
            "Turn the main off, and lock or tag it: the splice may hold a neutral that other circuits \
                          return on."
                .to_owned()
        }
        Step::AllBut(off) => {
            let feeds = || house.feeds.iter().enumerate();
            let one: Vec<String> =
                feeds().filter(|(at, _)| *at == off).map(|(_, feed)| breaker(feed)).collect();
            let others: Vec<String> =
                feeds().filter(|(at, _)| *at != off).map(|(_, feed)| breaker(feed)).collect();
            format!(
                "Everybody clear, every loose end capped: {} off, {} on.",
                one.join(" and "),
                others.join(" and ")
            )
        }
        Step::On => format!("Everybody clear, every loose end capped: turn {} on.", feeds(site)),
        Step::Go(at) => go(site, at),
        Step::Prove(at) => prove(site, at),
        Step::TakeOut(id) => {
            format!("Take {} off, cap its wires, leave the splices as found.", device(site, id))
        }
        Step::PutBack(id) => format!("Put {} back on its wires as they were.", device(site, id)),
        Step::Lift(id) => format!("Lift {} from its joint and cap it.", wire(site, id)),
        Step::Rejoin(id) => format!("Put {} back into its joint.", wire(site, id)),
        Step::Lamp(id, LampState::In) => format!("Put the lamp back in at {}.", short(site, id)),
        Step::Lamp(id, LampState::Out) => format!("Take the lamp out at {}.", short(site, id)),
        Step::Lamp(id, LampState::Test) => {
            format!("Put a known good incandescent lamp in at {}.", short(site, id))
        }
        Step::Flip(id, second) => {
            format!("Set the switch at {} {}.", short(site, id), house.position_word(id, second))
        }
        Step::Bridge(p, q) => {
            format!("Bridge {} and {} with a jumper.", house.point_name(p), house.point_name(q))
        }
        Step::Unbridge(p, q) => {
            format!("Take the jumper off {} and {}.", house.point_name(p), house.point_name(q))
        }
        Step::Earth => "Find something that is earth, a water pipe or the ground bar of the panel, by a long lead; prove it: \
                        full volts to it from a wire known to be live."
            .to_owned(),
        Step::Lead(from, to) => {
            format!("Run a long lead from {} to {}.", house.outlet(from).name, house.outlet(to).name)
        }
    }
}

fn go(site: &Site, at: BoxId) -> String {
    let outlet = site.house().outlet(at);
    match outlet.reach {
        Reach::Stand | Reach::Blocked => format!("Go to {}.", outlet.name),
        Reach::Steps => format!("Go to {} and set up the steps.", outlet.name),
        Reach::Ladder => format!("Go to {} and set up the ladder.", outlet.name),
    }
}

fn prove(site: &Site, at: BoxId) -> String {
    let tester = match PROVES.into_iter().find(|kind| site.tester(*kind).is_some()) {
        Some(InstrumentKind::TwoPole) => "the two-pole tester",
        Some(InstrumentKind::LowImpedance) => "the low-impedance meter",
        Some(InstrumentKind::HighImpedance) => "the multimeter on volts",
        Some(InstrumentKind::TestLamp) => "the test lamp",
        _ => "a two-lead contact tester",
    };
    format!(
        "Prove {} dead with {tester}: a known live source, then every bare point and the metal to the reference and to \
         each other, then the source again.",
        site.house().outlet(at).name
    )
}

/// Kinds by which a box is proved dead, firmest first.
const PROVES: [InstrumentKind; 4] = [
    InstrumentKind::TwoPole,
    InstrumentKind::LowImpedance,
    InstrumentKind::HighImpedance,
    InstrumentKind::TestLamp,
];

/// Which wires a reading tells most about, as a sentence.
pub fn because(site: &Site, belief: &Belief, table: &Table, gain: &Gain) -> String {
    let told = told(belief, table, gain);
    let wires: Vec<WireId> = site.house().wires().collect();
    let mut named: Vec<(usize, f64)> = told.iter().copied().filter(|(_, bits)| *bits > 0.0).collect();
    named.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let most = named.first().map_or(0.0, |(_, bits)| *bits);
    let parts: Vec<String> = named
        .iter()
        .filter(|(_, bits)| *bits >= most / 2.0)
        .take(2)
        .map(|&(place, _)| {
            let between = words(&between(belief, place));
            format!("whether {} should be {between}", wire(site, wires[belief.open[place]]))
        })
        .collect();
    if parts.is_empty() || most < 1e-3 {
        return "It bears out what the other readings say, in another way.".to_owned();
    }
    format!("It tells {}.", parts.join(", and "))
}

/// For each wire in question, the bits about its own role.
fn told(belief: &Belief, table: &Table, gain: &Gain) -> Vec<(usize, f64)> {
    let outcomes: Vec<Vec<f64>> = gain.outcomes.iter().map(|outcome| table.after(outcome)).collect();
    let of = |place: usize| {
        let bits = |states: &[f64]| {
            let mut mass: BTreeMap<Role, f64> = BTreeMap::new();
            for (state, p) in belief.states.iter().zip(states) {
                *mass.entry(belief.answers[state.target].roles[place]).or_default() += p;
            }
            super::belief::entropy(&mass.into_values().collect::<Vec<_>>())
        };
        let now: Vec<f64> = belief.states.iter().map(|state| state.p).collect();
        let after: f64 =
            outcomes.iter().zip(&gain.outcomes).map(|(states, outcome)| outcome.p * bits(states)).sum();
        bits(&now) - after
    };
    (0..belief.open.len()).map(|place| (place, of(place))).collect()
}

/// The roles a wire may have, likeliest first.
fn between(belief: &Belief, place: usize) -> Vec<Role> {
    let mut mass: BTreeMap<Role, f64> = BTreeMap::new();
    for state in &belief.states {
        *mass.entry(belief.answers[state.target].roles[place]).or_default() += state.p;
    }
    let mut roles: Vec<(Role, f64)> = mass.into_iter().filter(|(_, p)| *p >= 1e-3).collect();
    roles.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    roles.into_iter().map(|(role, _)| role).collect()
}

fn words(roles: &[Role]) -> String {
    let word = |role: &Role| match role {
        Role::Other => "something else",
        role => role.word(),
    };
    let words: Vec<&str> = roles.iter().map(word).collect::<Vec<_>>();
    let mut seen = BTreeSet::new();
    let words: Vec<&str> = words.into_iter().filter(|word| seen.insert(*word)).collect();
    match words.as_slice() {
        [] => "something else".to_owned(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}
