//! Joints as found, what was taken apart, what was there before, screws with two wires.

use super::Report;
use super::names::{Miss, Names};
use crate::call::job::{JobApart, JobBox, JobJoint, Path, items};
use crate::house::{Apart, BoxId, DeviceId, House, Joint, LocalPoint, Point, Terminal};
use std::collections::{BTreeMap, BTreeSet};

/// What the joint lists of one box say.
pub struct Joints {
    /// Joints as found.
    pub joints: Vec<Joint>,
    /// What had been undone.
    pub apart: Apart,
    /// Joints known from before.
    pub was: Vec<Joint>,
    /// Screws with two wires.
    pub doubled: Vec<(DeviceId, Terminal)>,
}

/// Reads the joint lists of one box.
pub fn joints(outlet: &JobBox, at: BoxId, path: &Path, house: &House, report: &mut Report) -> Joints {
    if outlet.opened != Some(true) {
        unopened(outlet, path, report);
        return Joints { joints: Vec::new(), apart: Apart::No, was: Vec::new(), doubled: Vec::new() };
    }
    let names = Names::of(house);
    let joints = list(items(&outlet.joints), at, &path.key("joints"), &names, report);
    let was = list(items(&outlet.was), at, &path.key("was"), &names, report);
    let apart = apart(outlet.apart.as_ref(), &joints, at, &path.key("apart"), &names, report);
    let doubled = doubled(items(&outlet.doubled), &joints, at, &path.key("doubled"), &names, report);
    Joints { joints, apart, was, doubled }
}

fn unopened(outlet: &JobBox, path: &Path, report: &mut Report) {
    let apart = match &outlet.apart {
        None | Some(JobApart::All(false)) => true,
        Some(JobApart::All(true)) => false,
        Some(JobApart::Points(points)) => points.is_empty(),
    };
    let lists = [
        ("joints", items(&outlet.joints).is_empty()),
        ("was", items(&outlet.was).is_empty()),
        ("apart", apart),
        ("doubled", items(&outlet.doubled).is_empty()),
    ];
    for (key, _) in lists.iter().filter(|(_, empty)| !empty) {
        let what = format!("{key} can only be known of a box that was opened");
        report.wrong(
            &path.key(key),
            what,
            outlet.name.as_str(),
            format!("opened: true in this box, or no {key}"),
        );
    }
}

fn list(joints: &[JobJoint], at: BoxId, path: &Path, names: &Names, report: &mut Report) -> Vec<Joint> {
    let mut taken: BTreeMap<LocalPoint, usize> = BTreeMap::new();
    let mut found = Vec::new();
    for (i, joint) in joints.iter().enumerate() {
        let path = path.index(i);
        // A joint with a remark has its points one step deeper.
        let points_path = if joint.sure.is_some() { path.key("points") } else { path.clone() };
        if joint.points.len() < 2 {
            let what = "a joint joins at least two points";
            let instead = "nothing for a wire that is capped by itself: a wire in no joint is loose";
            report.wrong(&path, what, joint.points.join(", "), instead);
        }
        let mut points = Vec::new();
        for (k, text) in joint.points.iter().enumerate() {
            let path = points_path.index(k);
            let Some(point) = report.found(own_point(text, at, names), &path, text) else { continue };
            match taken.insert(point, i) {
                None => points.push(point),
                Some(before) if before == i => {
                    report.wrong(&path, "the point stands twice in this joint", text.as_str(), "it once");
                }
                Some(before) => {
                    let what =
                        format!("the point is in another joint already (number {} of the list)", before + 1);
                    let instead = "all points that touch in one joint, and each point in one joint only";
                    report.wrong(&path, what, text.as_str(), instead);
                }
            }
        }
        found.push(Joint { points, sure: joint.sure.unwrap_or(true) });
    }
    found
}

/// A point of this very box.
fn own_point(text: &str, at: BoxId, names: &Names) -> Result<LocalPoint, Miss> {
    match names.point(text, Some(at))? {
        Point::Earth => {
            Err(Miss::new("earth is no point of a box", "metal for the box itself, or a wire such as a.bare"))
        }
        Point::At(local) if names.house.box_of(local) == at => Ok(local),
        Point::At(local) => {
            let other = &names.house.outlet(names.house.box_of(local)).name;
            let what = format!("the point is in the box \"{other}\", and a joint lies in one box");
            Err(Miss::new(what, "only points of this box; what runs between boxes is a cable"))
        }
    }
}

fn apart(
    apart: Option<&JobApart>,
    joints: &[Joint],
    at: BoxId,
    path: &Path,
    names: &Names,
    report: &mut Report,
) -> Apart {
    let joined: BTreeSet<LocalPoint> = joints.iter().flat_map(|joint| joint.points.iter().copied()).collect();
    match apart {
        None | Some(JobApart::All(false)) => Apart::No,
        Some(JobApart::All(true)) if joints.is_empty() => Apart::All,
        // What is joined now is a fact; everything else had been undone.
        Some(JobApart::All(true)) => Apart::Points(
            points_of(at, names.house).into_iter().filter(|point| !joined.contains(point)).collect(),
        ),
        Some(JobApart::Points(texts)) if texts.is_empty() => Apart::No,
        Some(JobApart::Points(texts)) => {
            let mut points = Vec::new();
            for (k, text) in texts.iter().enumerate() {
                let path = path.index(k);
                let Some(point) = report.found(own_point(text, at, names), &path, text) else { continue };
                if joined.contains(&point) {
                    let what = "the point was found in a joint, so it was not apart";
                    report.wrong(&path, what, text.as_str(), "it in the joint or under apart, not both");
                } else if points.contains(&point) {
                    report.wrong(&path, "the point stands twice under apart", text.as_str(), "it once");
                } else {
                    points.push(point);
                }
            }
            Apart::Points(points)
        }
    }
}

/// Every wire and terminal of a box.
fn points_of(at: BoxId, house: &House) -> Vec<LocalPoint> {
    let wires = house.wires().filter(|wire| house.end(wire.end).at == at).map(LocalPoint::Wire);
    let terminals = house.outlet(at).devices.iter().flat_map(|&device| {
        house
            .device(device)
            .terminals()
            .into_iter()
            .map(move |terminal| LocalPoint::Terminal(device, terminal))
    });
    wires.chain(terminals).collect()
}

fn doubled(
    texts: &[String],
    joints: &[Joint],
    at: BoxId,
    path: &Path,
    names: &Names,
    report: &mut Report,
) -> Vec<(DeviceId, Terminal)> {
    let mut found = Vec::new();
    for (k, text) in texts.iter().enumerate() {
        let path = path.index(k);
        let Some(point) = report.found(own_point(text, at, names), &path, text) else { continue };
        let LocalPoint::Terminal(device, terminal) = point else {
            let instead = "the screw that holds two wires: device.terminal";
            report.wrong(&path, "only a terminal can hold two wires", text.as_str(), instead);
            continue;
        };
        let wires = joints.iter().find(|joint| joint.points.contains(&point)).map_or(0, |joint| {
            joint.points.iter().filter(|point| matches!(point, LocalPoint::Wire(_))).count()
        });
        if wires < 2 {
            let what = format!("the terminal is said to hold two wires, and its joint has {wires}");
            report.wrong(&path, what, text.as_str(), "both wires in the joint of this terminal");
        } else if found.contains(&(device, terminal)) {
            report.wrong(&path, "the terminal stands twice under doubled", text.as_str(), "it once");
        } else {
            found.push((device, terminal));
        }
    }
    found
}
