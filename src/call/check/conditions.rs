//! The conditions of a reading.

use super::Report;
use super::names::{Miss, Names, pick};
use crate::call::job::{AllOrEach, Do, JobReading, Path, Power, items};
use crate::call::{Conditions, LampState};
use crate::house::{BoxId, DeviceId, House, Point, Positions};
use std::collections::BTreeMap;

/// Which pair of labels each switch was called by so far: labels say nothing beyond telling two positions apart, so
/// one switch must keep to one pair.
#[derive(Default)]
pub struct Labels(pub BTreeMap<DeviceId, Positions>);

/// Reads the conditions of one reading.
pub fn conditions(
    said: &JobReading,
    home: Option<BoxId>,
    path: &Path,
    names: &Names,
    labels: &mut Labels,
    report: &mut Report,
) -> Conditions {
    let house = names.house;
    let mut out = Vec::new();
    for (k, text) in items(&said.out).iter().enumerate() {
        let path = path.key("out").index(k);
        out.extend(report.found(names.out(text, home), &path, text));
    }
    let mut lifted = Vec::new();
    for (k, text) in items(&said.lifted).iter().enumerate() {
        let path = path.key("lifted").index(k);
        lifted.extend(report.found(names.wire_point(text, home), &path, text));
    }
    out.sort_unstable();
    out.dedup();
    lifted.sort_unstable();
    lifted.dedup();
    let breakers = breakers(said, path, house, report);
    let jumpers = jumpers(said, home, path, names, report);
    Conditions {
        breakers,
        positions: positions(said, path, names, labels, report),
        lamps: lamps(said, path, names, report),
        out,
        lifted,
        jumpers,
    }
}

fn breakers(said: &JobReading, path: &Path, house: &House, report: &mut Report) -> Vec<Option<bool>> {
    // Ohms are taken dead, so that is what is meant where nothing is said.
    let unsaid = (said.ask == Do::Ohms).then_some(false);
    let path = path.key("breaker");
    let mut breakers = vec![unsaid; house.feeds.len()];
    match &said.breaker {
        None => {}
        Some(AllOrEach::All(power)) => breakers.fill(Some(*power == Power::On)),
        Some(AllOrEach::Each(each)) => {
            for (name, power) in each {
                match house.feeds.iter().position(|feed| feed.name == *name) {
                    Some(feed) => breakers[feed] = Some(*power == Power::On),
                    None => {
                        let known = house.feeds.iter().map(|feed| feed.name.as_str());
                        let instead = pick(name, known);
                        report.wrong_key(
                            &path.key(name),
                            "no circuit under feeds has this name",
                            name.as_str(),
                            instead,
                        );
                    }
                }
            }
        }
    }
    let on = breakers.contains(&Some(true));
    if on && said.ask == Do::Ohms {
        let what = "ohms are measured dead, and a breaker is said to be on";
        report.wrong(&path, what, "on", "breaker: off, or the reading that was really taken");
    }
    breakers
}

fn jumpers(
    said: &JobReading,
    home: Option<BoxId>,
    path: &Path,
    names: &Names,
    report: &mut Report,
) -> Vec<(Point, Point)> {
    let path = path.key("jumpers");
    let pairs = items(&said.jumpers);
    if let Some(first) = pairs.first()
        && said.ask != Do::Ohms
    {
        let what = "a jumper is for dead ohms only and is never energised";
        let found = format!("[{}, {}]", first.0, first.1);
        report.wrong(&path, what, found, "do: ohms with breaker: off, or no jumpers");
    }
    let mut jumpers = Vec::new();
    for (k, pair) in pairs.iter().enumerate() {
        let path = path.index(k);
        let from = report.found(names.point(&pair.0, home), &path.index(0), &pair.0);
        let to = report.found(names.point(&pair.1, home), &path.index(1), &pair.1);
        match (from, to) {
            (Some(from), Some(to)) if from == to => {
                report.wrong(&path, "a jumper has two ends", pair.0.as_str(), "two different points");
            }
            (Some(from), Some(to)) => jumpers.push((from, to)),
            _ => {}
        }
    }
    jumpers
}

fn positions(
    said: &JobReading,
    path: &Path,
    names: &Names,
    labels: &mut Labels,
    report: &mut Report,
) -> Vec<Option<bool>> {
    let path = path.key("switches");
    let order: Vec<DeviceId> = names.house.switches().collect();
    let mut positions = vec![None; order.len()];
    for (name, label) in said.switches.iter().flatten() {
        let path = path.key(name);
        let Some(device) = report.found_key(names.switch(name), &path, name) else { continue };
        let Some(position) = report.found(position(device, label, labels), &path, label) else { continue };
        let Some(place) = order.iter().position(|&switch| switch == device) else { continue };
        if positions[place].replace(position).is_some() {
            let full = names.house.device_name(device);
            let what = format!("the switch {full} is given twice");
            report.wrong_key(&path, what, name.as_str(), format!("{full} once"));
        }
    }
    positions
}

fn position(device: DeviceId, label: &str, labels: &mut Labels) -> Result<bool, Miss> {
    let known = Positions::ALL.into_iter().find_map(|positions| {
        positions.words().iter().position(|word| *word == label).map(|place| (positions, place == 1))
    });
    let Some((positions, second)) = known else {
        return Err(Miss::new("no such switch position", "up or down, left or right, 1 or 2"));
    };
    let before = *labels.0.entry(device).or_insert(positions);
    if before == positions {
        return Ok(second);
    }
    let [one, two] = before.words();
    let what = format!("the positions of this switch were called {one} and {two} before");
    Err(Miss::new(what, format!("{one} or {two}, as before")))
}

fn lamps(said: &JobReading, path: &Path, names: &Names, report: &mut Report) -> Vec<Option<LampState>> {
    let path = path.key("lamp");
    let order: Vec<DeviceId> = names.house.lights().collect();
    let mut lamps = vec![None; order.len()];
    match &said.lamp {
        None => {}
        Some(AllOrEach::All(state)) => lamps.fill(Some(*state)),
        Some(AllOrEach::Each(each)) => {
            for (name, state) in each {
                let path = path.key(name);
                let Some(device) = report.found_key(names.light(name), &path, name) else { continue };
                let Some(place) = order.iter().position(|&light| light == device) else { continue };
                if lamps[place].replace(*state).is_some() {
                    let full = names.house.device_name(device);
                    let what = format!("the light {full} is given twice");
                    report.wrong_key(&path, what, name.as_str(), format!("{full} once"));
                }
            }
        }
    }
    lamps
}

/// What is not said, in words: each of it is unknown and weighed over.
pub fn unsaid(conditions: &Conditions, house: &House) -> Vec<String> {
    let out = |device: &DeviceId| conditions.out.contains(device);
    let mut unsaid = Vec::new();
    let switches = house.switches().zip(&conditions.positions);
    for (device, _) in switches.filter(|(device, position)| position.is_none() && !out(device)) {
        unsaid.push(format!("the position of {}", house.device_name(device)));
    }
    let lights = house.lights().zip(&conditions.lamps);
    for (device, _) in lights.filter(|(device, lamp)| lamp.is_none() && !out(device)) {
        unsaid.push(format!("the lamp of {}", house.device_name(device)));
    }
    let feeds = house.feeds.iter().zip(&conditions.breakers);
    for (feed, _) in feeds.filter(|(_, breaker)| breaker.is_none()) {
        unsaid.push(format!("the breaker of {}", feed.name));
    }
    unsaid
}
