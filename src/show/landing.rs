//! A landing plan as steps for the hands.

use super::known::Known;
use super::text::list;
use super::words;
use crate::house::{BoxId, DeviceId, LocalPoint, Terminal, WireId};
use std::collections::BTreeSet;

/// What a name in a plan stands for.
enum Spot {
    Wire(WireId),
    Screw(DeviceId, Terminal),
    Metal,
    /// Not of this box: shown as it is written.
    Unknown,
}

/// The steps for one box: its joints as they shall be, then what is capped.
pub(crate) fn steps(known: &Known<'_>, id: BoxId, joints: &[Vec<String>]) -> Vec<String> {
    let mut steps: Vec<String> = joints.iter().map(|joint| step(known, id, joint)).collect();
    let named: BTreeSet<&str> = joints.iter().flatten().map(String::as_str).collect();
    let house = known.house;
    let loose: Vec<String> = house
        .wires()
        .filter(|w| house.end(w.end).at == id)
        .map(|w| house.local_name(LocalPoint::Wire(w)))
        .filter(|name| !named.contains(name.as_str()))
        .collect();
    let known_for = |name: &String| !matches!(spot(known, id, name), Spot::Wire(w) if !is_known(known, w));
    let (spare, open): (Vec<String>, Vec<String>) = loose.into_iter().partition(known_for);
    let each = |names: &[String]| if names.len() == 1 { "by itself" } else { "each by itself" };
    if !spare.is_empty() {
        steps.push(format!("Cap {} {}.", list(&spare, "and"), each(&spare)));
    }
    if !open.is_empty() {
        let (what, they) = match open.len() {
            1 => ("what it is for", "it feeds"),
            _ => ("which is which", "they feed"),
        };
        let (all, each) = (list(&open, "and"), each(&open));
        steps
            .push(format!("Cap {all} {each}: {what} is not settled, and what {they} stays off until it is."));
    }
    steps
}

fn step(known: &Known<'_>, id: BoxId, joint: &[String]) -> String {
    let mut wires = Vec::new();
    let mut screws = Vec::new();
    for name in joint {
        match spot(known, id, name) {
            Spot::Screw(device, terminal) => screws.push(screw(known, device, terminal)),
            Spot::Metal => screws.push("the metal of the box".to_owned()),
            Spot::Wire(_) | Spot::Unknown => wires.push(name.clone()),
        }
    }
    let role = common_role(known, id, joint).map_or(String::new(), |r| format!(" ({r})"));
    let found = if as_found(known, id, joint) { ", as found" } else { "" };
    let all = list(&wires, "and");
    match (wires.as_slice(), screws.as_slice()) {
        ([], []) => "An empty joint: nothing to do.".to_owned(),
        ([one], []) => format!("Cap {one} by itself{role}{found}."),
        (_, []) => format!("Splice {all} together{role}{found}."),
        ([], [one]) => format!("Leave {one} empty{found}."),
        ([], many) => format!("Bridge {}{found}.", list(many, "and")),
        ([one], [screw]) => format!("Land {one}{role} on {screw}{found}."),
        (_, [screw]) => format!("Splice {all} and a tail{role}; the tail goes on {screw}{found}."),
        (_, many) => {
            format!("Splice {all} with a tail{role} to each of {}{found}.", list(many, "and"))
        }
    }
}

/// A screw, with what it was found to be where it is not marked.
fn screw(known: &Known<'_>, device: DeviceId, terminal: Terminal) -> String {
    let house = known.house;
    let name = house.device_name(device);
    let word = terminal.word();
    let found = known.verdict.devices.iter().find(|d| d.device == name);
    let is = found.and_then(|d| d.screws.get(&*word).map(|is| (is, d.p)));
    let is = is.map_or(String::new(), |(is, p)| format!(" ({}{is})", words::Confidence::of(p).hedge()));
    format!("the {}{is} of {}", words::terminal(terminal), house.device(device).name)
}

fn spot(known: &Known<'_>, id: BoxId, name: &str) -> Spot {
    let house = known.house;
    if name == "metal" {
        return Spot::Metal;
    }
    let wire =
        house.wires().find(|&w| house.end(w.end).at == id && house.local_name(LocalPoint::Wire(w)) == *name);
    if let Some(wire) = wire {
        return Spot::Wire(wire);
    }
    for &device in &house.outlet(id).devices {
        let seen = house.device(device);
        // A plan may name a screw by what it was found to be, so the marked names are tried as well.
        let all = seen.terminals().into_iter().chain(seen.kind.terminals().iter().copied());
        for terminal in all {
            if name.strip_prefix(&seen.name).and_then(|t| t.strip_prefix('.')) == Some(&*terminal.word()) {
                return Spot::Screw(device, terminal);
            }
        }
    }
    Spot::Unknown
}

/// The role of a joint's wires where they agree, as firm as the least firm of them.
fn common_role(known: &Known<'_>, id: BoxId, joint: &[String]) -> Option<String> {
    let mut roles = BTreeSet::new();
    let mut weakest = words::Confidence::Settled;
    for name in joint {
        if let Spot::Wire(wire) = spot(known, id, name) {
            let found = known.wire(wire)?;
            weakest = weakest.min(words::Confidence::of(found.p));
            roles.insert(words::role_of(known, found));
        }
    }
    let mut roles = roles.into_iter();
    match (roles.next(), roles.next()) {
        (Some(one), None) => Some(format!("{}{one}", weakest.hedge())),
        _ => None,
    }
}

/// Whether every wire that the plan lands is settled.
pub(crate) fn is_settled(known: &Known<'_>, at: &str, joints: &[Vec<String>]) -> bool {
    let Some(id) = known.box_named(at) else { return false };
    joints.iter().flatten().all(|name| match spot(known, id, name) {
        Spot::Wire(wire) => is_known(known, wire),
        Spot::Screw(..) | Spot::Metal => true,
        Spot::Unknown => false,
    })
}

fn is_known(known: &Known<'_>, wire: WireId) -> bool {
    known.wire(wire).is_some_and(|found| words::Confidence::of(found.p) == words::Confidence::Settled)
}

/// Whether the joint is already there.
fn as_found(known: &Known<'_>, id: BoxId, joint: &[String]) -> bool {
    let wanted: BTreeSet<&str> = joint.iter().map(String::as_str).collect();
    known.house.outlet(id).joints.iter().any(|found| {
        let names: BTreeSet<String> = found.points.iter().map(|&p| known.house.local_name(p)).collect();
        names.len() == wanted.len() && names.iter().all(|n| wanted.contains(n.as_str()))
    })
}
