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
    if !loose.is_empty() {
        let each = if loose.len() == 1 { "by itself" } else { "each by itself" };
        steps.push(format!("Cap {} {each}.", list(&loose, "and")));
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

fn screw(known: &Known<'_>, device: DeviceId, terminal: Terminal) -> String {
    format!("the {} of {}", words::terminal(terminal), known.house.device(device).name)
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

/// The role of a joint's wires, where they agree.
fn common_role(known: &Known<'_>, id: BoxId, joint: &[String]) -> Option<String> {
    let mut roles = BTreeSet::new();
    for name in joint {
        if let Spot::Wire(wire) = spot(known, id, name) {
            let found = known.wire(wire)?;
            let hedge = words::Confidence::of(found.p).hedge();
            roles.insert(format!("{hedge}{}", words::role_of(known, found)));
        }
    }
    let mut roles = roles.into_iter();
    match (roles.next(), roles.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}

/// Whether the joint is already there.
fn as_found(known: &Known<'_>, id: BoxId, joint: &[String]) -> bool {
    let wanted: BTreeSet<&str> = joint.iter().map(String::as_str).collect();
    known.house.outlet(id).joints.iter().any(|found| {
        let names: BTreeSet<String> = found.points.iter().map(|&p| known.house.local_name(p)).collect();
        names.len() == wanted.len() && names.iter().all(|n| wanted.contains(n.as_str()))
    })
}
