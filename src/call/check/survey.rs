//! What was seen at the boxes: boxes, cables, devices.

use super::Report;
use crate::call::job::{Job, JobBox, JobCable, JobDevice, Path, Screws, items};
use crate::house::{
    Apart, BoxId, BoxKind, Cable, Device, DeviceId, DeviceKind, EndId, House, LampKind, OutletBox,
};
use std::collections::BTreeSet;

/// Most boxes, cable ends, devices of one call. One house circuit has a tenth of it.
pub const MOST: usize = 200;
/// Most wires of one cable.
const MOST_WIRES: usize = 40;
/// Longest name, in characters.
const LONGEST: usize = 60;

/// Whether everything can be numbered; what is too much is reported.
pub fn fits(job: &Job, report: &mut Report) -> bool {
    let boxes = items(&job.boxes);
    let cables: usize = boxes.iter().map(|outlet| items(&outlet.cables).len()).sum();
    // An unopened box may get one device that nobody listed.
    let devices: usize = boxes.iter().map(|outlet| items(&outlet.devices).len().max(1)).sum();
    let feeds = job.house.as_ref().map_or(0, |house| items(&house.feeds).len());
    let path = Path::top().key("boxes");
    let mut fits = true;
    let feeds_path = Path::top().key("house").key("feeds");
    for (count, what, path) in [
        (boxes.len(), "boxes", path.clone()),
        (cables, "cable ends", path.clone()),
        (devices, "devices", path),
        (feeds, "feeds", feeds_path),
    ] {
        if count > MOST {
            let message = format!("one call holds at most {MOST} {what}");
            report.wrong(&path, message, format!("{count} {what}"), "a job file for each part of the house");
            fits = false;
        }
    }
    for (i, outlet) in boxes.iter().enumerate() {
        for (j, cable) in items(&outlet.cables).iter().enumerate() {
            if cable.wires.len() > MOST_WIRES {
                let path = Path::top().key("boxes").index(i).key("cables").index(j).key("wires");
                let found = format!("{} wires", cable.wires.len());
                report.wrong(
                    &path,
                    format!("a cable has at most {MOST_WIRES} wires"),
                    found,
                    "each cable apart",
                );
                fits = false;
            }
        }
    }
    fits
}

/// Builds the house without its joints.
pub fn house(job: &Job, report: &mut Report) -> House {
    let mut house = House::default();
    let mut names = BTreeSet::new();
    for (i, outlet) in items(&job.boxes).iter().enumerate() {
        let path = Path::top().key("boxes").index(i);
        name(&outlet.name, "a box", &path.key("name"), report);
        if !names.insert(outlet.name.as_str()) {
            let instead = "another name, one that no other box has";
            report.wrong(&path.key("name"), "two boxes have the same name", outlet.name.as_str(), instead);
        }
        let id = BoxId(i as u8);
        house.boxes.push(OutletBox {
            name: outlet.name.clone(),
            kind: outlet.kind,
            opened: outlet.opened.unwrap_or(false),
            floor: floor(outlet.floor, &path, report),
            reach: outlet.reach.unwrap_or_default(),
            volume: report.positive(outlet.volume, &path.key("volume"), "cubic inches"),
            ends: Vec::new(),
            devices: Vec::new(),
            joints: Vec::new(),
            complete: outlet.complete.unwrap_or(true),
            apart: Apart::No,
            was: Vec::new(),
            doubled: Vec::new(),
            seen: outlet.seen.clone().unwrap_or_default(),
        });
        contents(outlet, id, &path, &mut house, report);
    }
    house
}

/// Cables and devices of one box: they share one name space.
fn contents(outlet: &JobBox, id: BoxId, path: &Path, house: &mut House, report: &mut Report) {
    let mut names = BTreeSet::new();
    let cables = items(&outlet.cables);
    if !cables.is_empty() && outlet.opened != Some(true) {
        let what = "cables can only be seen in a box that was opened";
        report.wrong(
            &path.key("cables"),
            what,
            outlet.name.as_str(),
            "opened: true in this box, or no cables",
        );
    }
    for (j, cable) in cables.iter().enumerate() {
        let path = path.key("cables").index(j);
        local_name(&cable.tag, "a cable", &path.key("tag"), &mut names, report);
        house.boxes[usize::from(id.0)].ends.push(EndId(house.ends.len() as u8));
        house.ends.push(self::cable(cable, id, &path, report));
    }
    for (j, device) in items(&outlet.devices).iter().enumerate() {
        let path = path.key("devices").index(j);
        local_name(&device.name, "a device", &path.key("name"), &mut names, report);
        house.boxes[usize::from(id.0)].devices.push(DeviceId(house.devices.len() as u8));
        house.devices.push(self::device(device, id, &path, report));
    }
    // A switch or light box is what it is by what can be seen on its outside.
    if outlet.devices.is_none() && outlet.opened != Some(true) {
        let kind = match outlet.kind {
            BoxKind::Switch => DeviceKind::Switch,
            BoxKind::Light => DeviceKind::Light,
            BoxKind::Junction | BoxKind::Receptacle => return,
        };
        house.boxes[usize::from(id.0)].devices.push(DeviceId(house.devices.len() as u8));
        house.devices.push(Device {
            name: if kind.is_light() { "light" } else { "switch" }.to_owned(),
            at: id,
            kind,
            marked: kind.is_light(),
            lamp: LampKind::Unknown,
            watts: None,
            sure: true,
        });
    }
}

fn cable(cable: &JobCable, at: BoxId, path: &Path, report: &mut Report) -> Cable {
    let wires = path.key("wires");
    if cable.wires.is_empty() {
        let instead = "the colours seen, or [w1, w2] where none can be told";
        report.wrong(&wires, "a cable has at least one wire", cable.tag.as_str(), instead);
    }
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for (k, wire) in cable.wires.iter().enumerate() {
        let path = wires.index(k);
        if !seen.insert(wire) {
            let what = "the same colour stands twice in one cable";
            report.wrong(&path, what, wire.as_str(), format!("numbers behind them: {wire}1, {wire}2"));
        } else if let Some(small) = lower(wire) {
            report.wrong(&path, "colours are written small", wire.as_str(), small);
        } else {
            word(wire, "a wire", &path, report);
        }
    }
    if cable.gauge.is_some_and(|gauge| !(1..=24).contains(&gauge)) {
        let found = cable.gauge.map_or_else(String::new, |gauge| gauge.to_string());
        report.wrong(
            &path.key("gauge"),
            "no such wire gauge in a house",
            found,
            "the AWG number, such as 14 or 12",
        );
    }
    Cable {
        tag: cable.tag.clone(),
        at,
        sheath: cable.sheath,
        wires: cable.wires.clone(),
        gauge: cable.gauge.and_then(|gauge| u8::try_from(gauge).ok()),
        metal: cable.metal.unwrap_or_default(),
        sure: cable.sure.unwrap_or(true),
    }
}

fn lower(wire: &str) -> Option<String> {
    wire.chars().any(char::is_uppercase).then(|| wire.to_lowercase())
}

fn device(device: &JobDevice, at: BoxId, path: &Path, report: &mut Report) -> Device {
    let light = device.kind.is_light();
    if !light && (device.lamp.is_some() || device.watts.is_some()) {
        let key = if device.lamp.is_some() { "lamp" } else { "watts" };
        let what = "only a light has a lamp";
        report.wrong(&path.key(key), what, device.name.as_str(), "kind: light, or leave lamp and watts out");
    }
    Device {
        name: device.name.clone(),
        at,
        kind: device.kind,
        // Where the type was not seen, nobody has told the screws apart.
        marked: device.screws != Some(Screws::Unmarked) && device.kind != DeviceKind::Switch,
        lamp: device.lamp.unwrap_or_default(),
        watts: report.positive(device.watts, &path.key("watts"), "watts"),
        sure: device.sure.unwrap_or(true),
    }
}

fn floor(floor: Option<i64>, path: &Path, report: &mut Report) -> i8 {
    let Some(floor) = floor else { return 1 };
    match i8::try_from(floor) {
        Ok(floor) if (-5..=60).contains(&floor) => floor,
        _ => {
            report.wrong(
                &path.key("floor"),
                "no such floor",
                floor.to_string(),
                "the storey: 0 is the basement, 1 the ground floor",
            );
            1
        }
    }
}

fn local_name<'n>(
    text: &'n str,
    whose: &str,
    path: &Path,
    names: &mut BTreeSet<&'n str>,
    report: &mut Report,
) {
    name(text, whose, path, report);
    if !names.insert(text) {
        let what = "the tags and device names of a box are one list, and this one is taken";
        report.wrong(path, what, text, "another one, such as the next free letter");
    }
}

/// Checks a name: something, on one line, without the marks that separate names, not reserved.
pub fn name(text: &str, whose: &str, path: &Path, report: &mut Report) {
    if is_reserved(text) {
        let what = format!("the name is reserved and cannot be that of {whose}");
        report.wrong(
            path,
            what,
            text,
            "another name: not panel, onward, earth, metal or buried-1, buried-2 …",
        );
    } else {
        word(text, whose, path, report);
    }
}

fn word(text: &str, whose: &str, path: &Path, report: &mut Report) {
    if text.is_empty() || text.trim() != text {
        let what = format!("the name of {whose} is empty or has blanks round it");
        report.wrong(path, what, text, "a name without blanks round it");
    } else if let Some(mark) = text.chars().find(|c| matches!(c, '/' | '.') || c.is_control()) {
        let clean: String = text.chars().map(|c| if c == mark { '-' } else { c }).collect();
        let mark =
            if mark.is_control() { "a line break or control character".to_owned() } else { mark.to_string() };
        report.wrong(path, format!("the name of {whose} cannot hold {mark}"), text, clean);
    } else if text.chars().count() > LONGEST {
        let what = format!("the name of {whose} is longer than {LONGEST} characters");
        report.wrong(path, what, text, "a short name");
    }
}

fn is_reserved(text: &str) -> bool {
    matches!(text, "panel" | "onward" | "earth" | "metal" | "buried")
        || text.strip_prefix("buried-").is_some_and(|rest| rest.bytes().all(|byte| byte.is_ascii_digit()))
}
