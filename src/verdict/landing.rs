//! The landing plan: how to put back what was taken apart, so that the light works from every switch.
//!
//! The plan is that of the heaviest wiring; it is shown only when prediction, for all walls that are still in play,
//! finds that each switch changes the light in every position and that nothing trips. Otherwise it is refused.

use super::roles::{self, Roles};
use super::{Case, FAINT, Landing, SETTLED, any_apart};
use crate::call::LampState;
use crate::house::{Apart, BoxId, DeviceId, Goal, House, Joint, LocalPoint, Terminal, WireId};
use crate::knowledge::DefectName;
use crate::predict::{ALL_ON, Scene, Setup, watch};
use crate::wiring::facts::is_apart;
use crate::wiring::{Defect, DefectAt, Facts, Label, Netlist, Walls, WallsRow, Wiring};

/// Nothing is landed where so many readings would have to be wrong: chance may be behind it, or what is in the walls is none of
/// the wirings considered. A judgement, no source.
const DOUBTED: usize = 3;

/// One entry for each box that was taken apart or must change; none when nothing has to change.
pub(super) fn plan(case: &Case, roles: &Roles, contradiction: bool) -> Vec<Landing> {
    let house = &case.call.house;
    let mut boxes: Vec<BoxId> = house.box_ids().filter(|&at| house.outlet(at).apart != Apart::No).collect();
    let top = case.posterior.rows.first().map(|top| &case.space.rows[top.row]);
    let meant = top.map(|row| meant(case, row));
    let defects = meant.map_or(&[][..], |wiring| &wiring.defects);
    boxes.extend(defects.iter().filter_map(|defect| mislanded(house, defect)));
    let dangers: Vec<(BoxId, &'static str)> =
        defects.iter().filter_map(|defect| danger(case, defect)).collect();
    boxes.extend(dangers.iter().map(|(at, _)| *at));
    boxes.sort_unstable();
    boxes.dedup();
    if boxes.is_empty() {
        return Vec::new();
    }
    let refused = |why: &str| boxes.iter().map(|&at| refuse(house, at, why)).collect();
    let Some((row, meant)) = top.zip(meant) else {
        return refused(if case.space.rows.is_empty() && case.space.uncovered > 0.0 {
            "More wirings fit this survey than can be listed, so none was weighed."
        } else {
            "No wiring considered fits what was seen and read."
        });
    };
    let netlist = &case.space.netlists[meant.netlist];
    let schemes =
        netlist.chains.iter().map(|chain| case.knowledge.schemes.iter().find(|s| s.scheme == chain.scheme));
    if let Some(why) = schemes.flatten().filter_map(|known| known.refuse.as_deref()).next() {
        return refused(why);
    }
    if contradiction {
        return refused("What was seen and read cannot all be true; nothing is landed on that.");
    }
    let doubted = doubted(case);
    if doubted.len() >= DOUBTED {
        let why = "are not believed: take them again before anything is landed.";
        return refused(&format!("Readings {} {why}", doubted.join(", ")));
    }
    if let Some((_, why)) = dangers.first() {
        return refused(why);
    }
    let unsettled = unsettled(case, roles, &boxes);
    let a_guess = |wire: &WireId| {
        refused(&format!("{} is not settled yet; a wire is not landed on a guess.", house.wire_name(*wire)))
    };
    // A wire that is in a joint would have to be moved on a guess; one that is apart stays capped.
    let joined =
        |wire: &&WireId| !is_apart(&house.outlet(house.end(wire.end).at).apart, LocalPoint::Wire(**wire));
    if let Some(wire) = unsettled.iter().find(joined) {
        return a_guess(wire);
    }
    let planned = Plan::new(case, &boxes, &unsettled).joined(&row.walls, meant);
    if !is_sure(case, &works_behind(case, &planned, netlist)) {
        let why = "In some of the wirings that still fit, this landing would not work from every switch.";
        return unsettled.first().map_or_else(|| refused(why), a_guess);
    }
    boxes.iter().map(|&at| entry(&planned, at)).collect()
}

/// Of the wirings that have the same walls the one to go by: where something is apart, the likeliest that may be put back so;
/// where nothing is, the likeliest, for what must not be put back so is no reason to take it for a landing error.
fn meant<'a>(case: &Case, row: &'a WallsRow) -> &'a Wiring {
    let first = &row.wirings[0];
    if any_apart(case.call) {
        return first;
    }
    row.wirings.iter().fold(first, |best, wiring| if wiring.weight > best.weight { wiring } else { best })
}

/// Readings that are not believed, by their number in the file, and were not taken again since with another outcome.
fn doubted(case: &Case) -> Vec<String> {
    let readings = &case.call.readings;
    let wrong: Vec<usize> = case.disbelieved().iter().map(|one| one.reading - 1).collect();
    let again = |&at: &usize| {
        let same = |later: &usize| {
            let (one, other) = (&readings[at], &readings[*later]);
            (&one.ask, &one.conditions) == (&other.ask, &other.conditions)
        };
        (at + 1..readings.len()).filter(same).any(|later| !wrong.contains(&later))
    };
    wrong.iter().filter(|at| !again(at)).map(|at| (at + 1).to_string()).collect()
}

/// The opened box whose joints a defect has wrong.
fn mislanded(house: &House, defect: &Defect) -> Option<BoxId> {
    use DefectName::{GroundAsNeutral, LeftOut, PairsCrossed, SwappedLanding, WrongScrew, WrongSplice};
    let at = match defect.at {
        DefectAt::Box(at) => at,
        DefectAt::Device(device) => house.device(device).at,
        DefectAt::End(_) | DefectAt::Feed => return None,
    };
    let landing = [GroundAsNeutral, LeftOut, PairsCrossed, SwappedLanding, WrongScrew, WrongSplice];
    (house.outlet(at).opened && landing.contains(&defect.what)).then_some(at)
}

/// Why nothing may be put back in a box before a defect is seen to.
fn danger(case: &Case, defect: &Defect) -> Option<(BoxId, &'static str)> {
    let why = match defect.what {
        DefectName::OpenWire => "A wire should be open in the wall; the cable must not be relied on.",
        DefectName::Short => "Two wires should be touching in the wall; the cable must not be energised.",
        DefectName::LiveMetal => "Metal here should be live: nothing is energised before it is found.",
        DefectName::GroundAsNeutral => "A grounding conductor must not carry the return.",
        DefectName::WrongDevice => "A switch of another kind belongs here: it is landed when that is in.",
        _ => return None,
    };
    let at = match defect.at {
        DefectAt::Box(at) => at,
        DefectAt::End(end) => case.call.house.end(end).at,
        DefectAt::Device(device) => case.call.house.device(device).at,
        DefectAt::Feed => return None,
    };
    Some((at, why))
}

fn refuse(house: &House, at: BoxId, why: &str) -> Landing {
    Landing::Refused {
        at: house.outlet(at).name.clone(),
        refuse: why.to_owned(),
        leave: "Breaker off and locked or tagged, every wire in this box capped.".to_owned(),
    }
}

/// Wires of the boxes to be landed whose role is not settled.
fn unsettled(case: &Case, roles: &Roles, boxes: &[BoxId]) -> Vec<WireId> {
    let house = &case.call.house;
    let open = |(at, wire): &(usize, WireId)| {
        boxes.contains(&house.end(wire.end).at) && roles::best(&roles.chances(*at)).1 < SETTLED
    };
    house.wires().enumerate().filter(open).map(|(_, wire)| wire).collect()
}

fn entry(planned: &House, at: BoxId) -> Landing {
    let outlet = planned.outlet(at);
    let joint = |joint: &Joint| joint.points.iter().map(|&point| planned.local_name(point)).collect();
    Landing::Joints { at: outlet.name.clone(), joints: outlet.joints.iter().map(joint).collect() }
}

/// Points of one box that are landed together: one that is loose, or those of a joint that was left.
type Bundle = Vec<LocalPoint>;

/// The house as if the boxes to be landed were apart.
struct Plan<'a> {
    case: &'a Case<'a>,
    house: House,
    facts: Facts,
    boxes: &'a [BoxId],
    /// Joints that were left in them, by box.
    left: Vec<(BoxId, Joint)>,
    /// Wires that stay capped.
    capped: &'a [WireId],
}

impl<'a> Plan<'a> {
    fn new(case: &'a Case, boxes: &'a [BoxId], capped: &'a [WireId]) -> Plan<'a> {
        let mut house = case.call.house.clone();
        let mut left = Vec::new();
        for &at in boxes {
            let outlet = &mut house.boxes[usize::from(at.0)];
            let joints = std::mem::take(&mut outlet.joints);
            if matches!(outlet.apart, Apart::Points(_)) {
                left.extend(joints.into_iter().map(|joint| (at, joint)));
            }
            outlet.apart = Apart::All;
        }
        Plan { case, facts: Facts::new(&house), house, boxes, left, capped }
    }

    /// The house with these boxes landed as a wiring intends.
    fn joined(&self, walls: &Walls, wiring: &Wiring) -> House {
        let mut planned = self.house.clone();
        for &at in self.boxes {
            let outlet = &mut planned.boxes[usize::from(at.0)];
            outlet.apart = Apart::No;
            outlet.doubled.clear();
        }
        let nets = self.case.space.netlists[wiring.netlist].nets.len();
        for net in 0..nets {
            for (at, points) in self.joints_of(walls, wiring, Label(net as u8)) {
                add(&mut planned, at, points);
            }
        }
        for &at in self.boxes {
            let grounds = self.bundles(wiring, at, Label::GROUND).concat();
            add(&mut planned, at, grounds);
        }
        // What is of no net was left as it was.
        for (at, joint) in &self.left {
            let now = &planned.outlet(*at).joints;
            let named = |point: &LocalPoint| now.iter().any(|joint| joint.points.contains(point));
            if !joint.points.iter().any(named) {
                add(&mut planned, *at, joint.points.clone());
            }
        }
        planned
    }

    /// Points of a box that is landed anew which a wiring gives to a net, with what was left joined kept so.
    fn bundles(&self, wiring: &Wiring, at: BoxId, label: Label) -> Vec<Bundle> {
        let mut loose = self.points(wiring, at, label);
        let mut bundles: Vec<Bundle> = Vec::new();
        for (_, joint) in self.left.iter().filter(|(place, _)| *place == at) {
            let metal = joint.points.iter().copied().filter(|point| matches!(point, LocalPoint::Metal(_)));
            let (kept, rest): (Bundle, Bundle) =
                loose.into_iter().partition(|point| joint.points.contains(point));
            loose = rest;
            if !kept.is_empty() {
                bundles.push(kept.into_iter().chain(metal).collect());
            }
        }
        bundles.extend(loose.into_iter().map(|point| vec![point]));
        bundles
    }

    /// Points of a box that is landed anew which a wiring gives to a net, without what stays capped.
    fn points(&self, wiring: &Wiring, at: BoxId, label: Label) -> Vec<LocalPoint> {
        let house = &self.house;
        let wires = house
            .wires()
            .zip(&wiring.labels)
            .filter(|(wire, l)| house.end(wire.end).at == at && **l == label && !self.capped.contains(wire));
        let netlist = &self.case.space.netlists[wiring.netlist];
        let terminals = netlist.nets.get(usize::from(label.0)).map_or(&[][..], |net| &net.terminals);
        // A receptacle's tab joins its other screw: one is enough.
        let spared = |&(device, terminal): &(DeviceId, Terminal)| {
            netlist.linked(device, terminal).is_some_and(|other| other < terminal)
        };
        let here = terminals.iter().filter(|point| house.device(point.0).at == at && !spared(point));
        let points = wires.map(|(wire, _)| LocalPoint::Wire(wire));
        points.chain(here.map(|&(device, terminal)| LocalPoint::Terminal(device, terminal))).collect()
    }

    /// How one net's free points are joined at each box: all together, unless that would close a ring; then they are
    /// kept in two joints.
    fn joints_of(&self, walls: &Walls, wiring: &Wiring, label: Label) -> Vec<(BoxId, Vec<LocalPoint>)> {
        let mut ways: Vec<Vec<(BoxId, Vec<LocalPoint>)>> = vec![Vec::new()];
        for &at in self.boxes {
            let splits = splits(&self.bundles(wiring, at, label));
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
            let (pieces, rings) = self.shape(walls, wiring, label, way);
            (pieces, rings, way.len())
        };
        ways.into_iter().min_by_key(cost).unwrap_or_default()
    }

    /// How many pieces a net falls into with these joints, and how many rings it closes.
    fn shape(
        &self,
        walls: &Walls,
        wiring: &Wiring,
        label: Label,
        joints: &[(BoxId, Vec<LocalPoint>)],
    ) -> (usize, usize) {
        let groups = usize::from(walls.groups);
        let found = &self.facts.joints;
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
                    link(self.facts.index(*wire), groups + found.len() + at, &mut rings);
                }
            }
        }
        let roots = (0..parent.len()).filter(|&node| used[node]).map(|node| root(&parent, node));
        (roots.collect::<std::collections::BTreeSet<_>>().len(), rings)
    }
}

fn add(planned: &mut House, at: BoxId, points: Vec<LocalPoint>) {
    if points.len() > 1 {
        planned.boxes[usize::from(at.0)].joints.push(Joint { points, sure: true });
    }
}

/// A box's points as one joint, or as two in every way.
fn splits(bundles: &[Bundle]) -> Vec<Vec<Vec<LocalPoint>>> {
    if bundles.is_empty() {
        return vec![Vec::new()];
    }
    let way = |chosen: usize| {
        let side = |second: bool| {
            let of = |at: &usize| (*at > 0 && chosen >> (at - 1) & 1 == 1) == second;
            (0..bundles.len()).filter(of).flat_map(|at| bundles[at].iter().copied()).collect::<Vec<_>>()
        };
        [side(false), side(true)].into_iter().filter(|points| !points.is_empty()).collect()
    };
    (0..1usize << (bundles.len() - 1)).map(way).collect()
}

fn root(parent: &[usize], mut node: usize) -> usize {
    while parent[node] != node {
        node = parent[node];
    }
    node
}

/// For each row of the posterior whether the house works once boxes that were taken apart are landed as the likeliest wiring
/// has it; nothing where nobody asks for that, or as good as all agree.
pub(crate) fn in_question(case: &Case) -> Option<Vec<bool>> {
    let house = &case.call.house;
    let boxes: Vec<BoxId> = house.box_ids().filter(|&at| house.outlet(at).apart != Apart::No).collect();
    let top = case.posterior.rows.first().filter(|_| case.call.goal == Goal::Repair && !boxes.is_empty())?;
    let row = &case.space.rows[top.row];
    let planned = Plan::new(case, &boxes, &[]).joined(&row.walls, &row.wirings[0]);
    let works = works_behind(case, &planned, &case.space.netlists[row.wirings[0].netlist]);
    (!is_sure(case, &works)).then_some(works)
}

/// For each row of the posterior whether a house works behind which its walls are; for the faintest it is not worked out.
fn works_behind(case: &Case, planned: &House, netlist: &Netlist) -> Vec<bool> {
    let facts = Facts::new(planned);
    let scene = Scene::new(planned, &facts);
    let works = |row: &crate::weigh::Weighed| {
        // A device, a lamp or a joint that failed is made good when it is found.
        let walls = || Walls { faults: Vec::new(), ..case.space.rows[row.row].walls.clone() };
        row.p >= FAINT * FAINT && works(&scene, &walls(), netlist)
    };
    case.posterior.rows.iter().map(works).collect()
}

/// Whether as good as all of the posterior is in such rows.
fn is_sure(case: &Case, rows: &[bool]) -> bool {
    let held = case.posterior.rows.iter().zip(rows).filter(|(_, holds)| **holds);
    held.map(|(row, _)| row.p).sum::<f64>() >= SETTLED
}

/// Whether in every position every switch changes every light of its chain and no other, a light on no chain is lit, and
/// nothing trips.
pub(crate) fn works(scene: &Scene, walls: &Walls, netlist: &Netlist) -> bool {
    let lights: Vec<DeviceId> = scene.house.lights().collect();
    let lamps = vec![LampState::In; lights.len()];
    let opened = scene.opened(&Setup { power: ALL_ON, lamps, ..Setup::default() });
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
