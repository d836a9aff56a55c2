//! Whether the neutral closes a ring, so that two ways home are in parallel.

use crate::house::{House, LocalPoint, WireId};
use crate::verdict::{Role, Verdict};
use std::collections::BTreeMap;

/// How firmly some ring of neutrals is closed: the weakest link of the firmest ring. Only joints that were seen count.
pub(super) fn closed(house: &House, verdict: &Verdict) -> f64 {
    let neutrals = neutrals(house, verdict);
    let by_name: BTreeMap<String, WireId> =
        neutrals.keys().map(|&wire| (house.wire_name(wire), wire)).collect();
    let mut links = Vec::new();
    for cable in &verdict.cables {
        for &wire in neutrals.keys().filter(|wire| house.end_name(wire.end) == cable.ends[0]) {
            let far = format!("{}.{}", cable.ends[1], house.wire_word(wire));
            let Some(&far) = by_name.get(&far) else { continue };
            // Numbers at one end say nothing about those at the other.
            let told = !house.wire_word(wire).starts_with('w') || house.wire_word(wire).starts_with("white");
            if let (true, Some(here), Some(there)) = (told, joint(house, wire), joint(house, far)) {
                links.push((cable.p.min(neutrals[&wire]).min(neutrals[&far]), here, there));
            }
        }
    }
    // The firmest first: the first link that joins what is joined already closes the firmest ring.
    links.sort_by(|one, other| other.0.total_cmp(&one.0));
    let mut group: BTreeMap<(usize, usize), (usize, usize)> = BTreeMap::new();
    for (p, here, there) in links {
        let (one, other) = (root(&group, here), root(&group, there));
        if one == other {
            return p;
        }
        group.insert(one, other);
    }
    0.0
}

fn root(group: &BTreeMap<(usize, usize), (usize, usize)>, mut joint: (usize, usize)) -> (usize, usize) {
    while let Some(&up) = group.get(&joint) {
        joint = up;
    }
    joint
}

/// Every wire that may be a neutral, with how likely it is one.
fn neutrals(house: &House, verdict: &Verdict) -> BTreeMap<WireId, f64> {
    let chance = |wire: WireId| {
        let name = house.wire_name(wire);
        let found = verdict.wires.iter().find(|found| found.wire == name)?;
        let p = if found.role == Role::Neutral {
            Some(found.p)
        } else {
            found.others.get(&Role::Neutral).copied()
        };
        p.map(|p| (wire, p))
    };
    house.wires().filter_map(chance).collect()
}

/// The joint a wire is in: its box and its place there.
fn joint(house: &House, wire: WireId) -> Option<(usize, usize)> {
    let at = house.end(wire.end).at;
    let joints = &house.outlet(at).joints;
    let place = joints.iter().position(|joint| joint.points.contains(&LocalPoint::Wire(wire)))?;
    Some((usize::from(at.0), place))
}
