//! The landing plan: how to put back what was taken apart, so that the light works from every switch.
//!
//! The plan is that of the heaviest wiring; it is shown only when prediction, for all walls that are still in play,
//! finds that each switch changes the light in every position and that nothing trips. Otherwise it is refused.

use super::roles::{self, Roles};
use super::{Case, FAINT, Landing, SETTLED};
use crate::call::LampState;
use crate::house::{Apart, BoxId, DeviceId, House, Joint, LocalPoint, Terminal};
use crate::predict::{Scene, Setup, watch};
use crate::wiring::facts::is_apart;
use crate::wiring::{Facts, Label, Netlist, Walls, Wiring};

/// One entry for each box that was taken apart; none when nothing has to change.
pub(super) fn plan(case: &Case, roles: &Roles) -> Vec<Landing> {
    let house = &case.call.house;
    let apart: Vec<BoxId> = house.box_ids().filter(|&at| house.outlet(at).apart != Apart::No).collect();
    if apart.is_empty() {
        return Vec::new();
    }
    let refused = |why: &str| apart.iter().map(|&at| refuse(house, at, why)).collect();
    let Some(top) = case.posterior.rows.first() else {
        return refused(if case.space.rows.is_empty() && case.space.uncovered > 0.0 {
            "More wirings fit this survey than can be listed, so none was weighed."
        } else {
            "No wiring considered fits what was seen and read."
        });
    };
    let row = &case.space.rows[top.row];
    let netlist = &case.space.netlists[row.wirings[0].netlist];
    let schemes = netlist
        .chains
        .iter()
        .filter_map(|chain| case.knowledge.schemes.iter().find(|known| known.scheme == chain.scheme));
    if let Some(why) = schemes.filter_map(|known| known.refuse.as_deref()).next() {
        return refused(why);
    }
    let planned = with_joints(case, &row.walls, &row.wirings[0], &apart);
    if let Some(point) = unsettled(case, roles, &apart) {
        return refused(&format!("{point} is not settled yet; a wire is not landed on a guess."));
    }
    if works_mass(case, &planned, netlist) < SETTLED {
        return refused(
            "In some of the wirings that still fit, this landing would not work from every switch.",
        );
    }
    apart.iter().map(|&at| entry(&planned, at)).collect()
}

fn refuse(house: &House, at: BoxId, why: &str) -> Landing {
    Landing::Refused {
        at: house.outlet(at).name.clone(),
        refuse: why.to_owned(),
        leave: "Breaker off and locked or tagged, every wire in this box capped.".to_owned(),
    }
}

/// A wire of a box taken apart whose role is not settled.
fn unsettled(case: &Case, roles: &Roles, apart: &[BoxId]) -> Option<String> {
    let house = &case.call.house;
    let open = |(at, wire): &(usize, crate::house::WireId)| {
        apart.contains(&house.end(wire.end).at) && roles::best(&roles.chances(*at)).1 < SETTLED
    };
    house.wires().enumerate().find(open).map(|(_, wire)| house.wire_name(wire))
}

fn entry(planned: &House, at: BoxId) -> Landing {
    let outlet = planned.outlet(at);
    let joint = |joint: &Joint| joint.points.iter().map(|&point| planned.local_name(point)).collect();
    Landing::Joints { at: outlet.name.clone(), joints: outlet.joints.iter().map(joint).collect() }
}

/// The house with the boxes that were apart put back as a wiring intends.
fn with_joints(case: &Case, walls: &Walls, wiring: &Wiring, apart: &[BoxId]) -> House {
    let mut planned = case.call.house.clone();
    for &at in apart {
        let outlet = &mut planned.boxes[usize::from(at.0)];
        if outlet.apart == Apart::All {
            outlet.joints.clear();
        }
        outlet.apart = Apart::No;
        outlet.doubled.clear();
    }
    let nets = case.space.netlists[wiring.netlist].nets.len();
    for net in 0..nets {
        for (at, points) in joints_of(case, walls, wiring, apart, Label(net as u8)) {
            add(&mut planned, at, points);
        }
    }
    for &at in apart {
        let grounds = free_points(case, wiring, at, Label::GROUND);
        add(&mut planned, at, grounds);
    }
    planned
}

fn add(planned: &mut House, at: BoxId, points: Vec<LocalPoint>) {
    if points.len() > 1 {
        planned.boxes[usize::from(at.0)].joints.push(Joint { points, sure: true });
    }
}

/// Points of a box taken apart that a wiring gives to a net.
fn free_points(case: &Case, wiring: &Wiring, at: BoxId, label: Label) -> Vec<LocalPoint> {
    let house = &case.call.house;
    let apart = &house.outlet(at).apart;
    let wires =
        house.wires().zip(&wiring.labels).filter(|(wire, l)| house.end(wire.end).at == at && **l == label);
    let netlist = &case.space.netlists[wiring.netlist];
    let terminals = netlist.nets.get(usize::from(label.0)).map_or(&[][..], |net| &net.terminals);
    // A receptacle's tab joins its other screw: one is enough.
    let spared = |&(device, terminal): &(DeviceId, Terminal)| {
        netlist.linked(device, terminal).is_some_and(|other| other < terminal)
    };
    let here = terminals.iter().filter(|point| house.device(point.0).at == at && !spared(point));
    let points = wires.map(|(wire, _)| LocalPoint::Wire(wire));
    let all = points.chain(here.map(|&(device, terminal)| LocalPoint::Terminal(device, terminal)));
    all.filter(|&point| is_apart(apart, point)).collect()
}

/// How one net's free points are joined at each box taken apart: all together, unless that would close a ring; then
/// they are kept in two joints.
fn joints_of(
    case: &Case,
    walls: &Walls,
    wiring: &Wiring,
    apart: &[BoxId],
    label: Label,
) -> Vec<(BoxId, Vec<LocalPoint>)> {
    let mut ways: Vec<Vec<(BoxId, Vec<LocalPoint>)>> = vec![Vec::new()];
    for &at in apart {
        let splits = splits(&free_points(case, wiring, at, label));
        let extend = |way: &Vec<(BoxId, Vec<LocalPoint>)>| {
            let with = |split: &Vec<Vec<LocalPoint>>| {
                let joints = split.iter().map(|points| (at, points.clone()));
                way.iter().cloned().chain(joints).collect::<Vec<_>>()
            };
            splits.iter().map(with).collect::<Vec<_>>()
        };
        ways = ways.iter().flat_map(extend).collect();
    }
    let cost = |way: &Vec<(BoxId, Vec<LocalPoint>)>| {
        let (pieces, rings) = shape(case, walls, wiring, label, way);
        (pieces, rings, way.len())
    };
    ways.into_iter().min_by_key(cost).unwrap_or_default()
}

/// A box's points as one joint, or as two in every way.
fn splits(points: &[LocalPoint]) -> Vec<Vec<Vec<LocalPoint>>> {
    if points.is_empty() {
        return vec![Vec::new()];
    }
    let way = |chosen: usize| {
        let side = |second: bool| {
            let of = |at: &usize| (*at > 0 && chosen >> (at - 1) & 1 == 1) == second;
            (0..points.len()).filter(of).map(|at| points[at]).collect::<Vec<_>>()
        };
        [side(false), side(true)].into_iter().filter(|points| !points.is_empty()).collect()
    };
    (0..1usize << (points.len() - 1)).map(way).collect()
}

/// How many pieces a net falls into with these joints, and how many rings it closes.
fn shape(
    case: &Case,
    walls: &Walls,
    wiring: &Wiring,
    label: Label,
    joints: &[(BoxId, Vec<LocalPoint>)],
) -> (usize, usize) {
    let groups = usize::from(walls.groups);
    let found = &case.facts.joints;
    let mut parent: Vec<usize> = (0..groups + found.len() + joints.len()).collect();
    let mut used = vec![false; parent.len()];
    let mut rings = 0;
    let mut link = |wire: usize, node: usize, rings: &mut usize| {
        let group = usize::from(walls.wires[wire]);
        used[group] = true;
        used[node] = true;
        let (a, b) = (root(&parent, group), root(&parent, node));
        *rings += usize::from(a == b);
        parent[a] = b;
    };
    for (at, joint) in found.iter().enumerate() {
        let wires = joint.wires.iter().filter(|&&wire| wiring.labels[wire] == label);
        wires.for_each(|&wire| link(wire, groups + at, &mut rings));
    }
    for (at, (_, points)) in joints.iter().enumerate() {
        for point in points {
            if let LocalPoint::Wire(wire) = point {
                link(case.facts.index(*wire), groups + found.len() + at, &mut rings);
            }
        }
    }
    let roots = (0..parent.len()).filter(|&node| used[node]).map(|node| root(&parent, node));
    (roots.collect::<std::collections::BTreeSet<_>>().len(), rings)
}

fn root(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}

/// The posterior mass of the walls behind which a house works.
fn works_mass(case: &Case, planned: &House, netlist: &Netlist) -> f64 {
    let facts = Facts::new(planned);
    let scene = Scene::new(planned, &facts);
    let rows = case.posterior.rows.iter().filter(|row| row.p >= FAINT * FAINT);
    rows.filter(|row| works(&scene, &case.space.rows[row.row].walls, netlist)).map(|row| row.p).sum()
}

/// Whether in every position every switch changes every light of its chain and no other, a light on no chain is lit, and
/// nothing trips.
pub(crate) fn works(scene: &Scene, walls: &Walls, netlist: &Netlist) -> bool {
    let lights: Vec<DeviceId> = scene.house.lights().collect();
    let lamps = vec![LampState::In; lights.len()];
    let opened = scene.opened(&Setup { power: true, lamps, ..Setup::default() });
    let ways = 1u32 << scene.switches();
    let lit: Option<Vec<Vec<bool>>> = (0..ways)
        .map(|thrown| {
            let lights = watch(scene, walls, &opened, thrown);
            let tripped = lights.iter().any(|bins| bins[4] > 0.0);
            (!tripped).then(|| lights.iter().map(|bins| bins[0] > 0.5).collect())
        })
        .collect();
    let Some(lit) = lit else { return false };
    let switches: Vec<DeviceId> = scene.house.switches().collect();
    let chain_of = |light: DeviceId| netlist.chains.iter().find(|chain| chain.controls.contains(&light));
    lights.iter().enumerate().all(|(at, &light)| {
        let controls = |switch: &DeviceId| chain_of(light).is_some_and(|chain| chain.order.contains(switch));
        let sound = |thrown: usize| {
            let here = lit[thrown][at];
            let moves = |(bit, switch): (usize, &DeviceId)| {
                (here != lit[thrown ^ (1 << bit)][at]) == controls(switch)
            };
            (here || chain_of(light).is_some()) && switches.iter().enumerate().all(moves)
        };
        (0..ways as usize).all(sound)
    }) && !lights.is_empty()
}
