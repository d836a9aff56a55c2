//! Which positions of the switches were tried, and what the light did.

use super::document::Document;
use crate::call::{Ask, Call, Conditions, LampState, Reading};
use crate::house::DeviceId;
use crate::show::readings;
use crate::show::text::capital;

/// More switches than this have too many positions to list those that nobody tried.
const MOST: usize = 4;

/// The table of positions as last tried.
pub(super) fn add(note: &mut Document, call: &Call) {
    let house = &call.house;
    let switches: Vec<DeviceId> = house.switches().collect();
    if switches.is_empty() || house.lights().next().is_none() {
        return;
    }
    let mut rows: Vec<(Vec<bool>, Vec<String>)> = Vec::new();
    if switches.len() <= MOST {
        let all = 0..1usize << switches.len();
        rows.extend(all.map(|n| (positions(n, switches.len()), Vec::new())));
    }
    for (n, reading) in call.readings.iter().enumerate() {
        let Some(positions) = tried(reading) else { continue };
        let said = format!("{} (reading {})", answers(call, reading), n + 1);
        match rows.iter_mut().find(|(known, _)| *known == positions) {
            Some((_, last)) => last.push(said),
            None => rows.push((positions, vec![said])),
        }
    }
    if rows.iter().all(|(_, said)| said.is_empty()) {
        note.paragraph(
            "No position of the switches was tried with the light in use, or none was written down.",
        );
        return;
    }
    let mut head: Vec<String> =
        switches.iter().map(|&switch| capital(&readings::device(house, switch))).collect();
    head.push("The light, as last tried".to_owned());
    let rows: Vec<Vec<String>> = rows.iter().map(|(positions, said)| row(positions, said)).collect();
    note.table("Switch positions tried", &head, &rows);
}

/// The positions in the order a person works through them: the last switch changes first.
fn positions(n: usize, switches: usize) -> Vec<bool> {
    (0..switches).rev().map(|bit| n >> bit & 1 == 1).collect()
}

fn row(positions: &[bool], said: &[String]) -> Vec<String> {
    let word = |second: &bool| if *second { "down" } else { "up" };
    let mut row: Vec<String> = positions.iter().map(|second| word(second).to_owned()).collect();
    row.push(said.last().cloned().unwrap_or_else(|| "not tried".to_owned()));
    row
}

/// The positions under which somebody watched the light as it is in use: everything in its place, power on.
fn tried(reading: &Reading) -> Option<Vec<bool>> {
    let Conditions { breakers, positions, lamps, out, lifted, .. } = &reading.conditions;
    let in_use = out.is_empty()
        && lifted.is_empty()
        && breakers.iter().all(|on| *on != Some(false))
        && lamps.iter().all(|lamp| *lamp != Some(LampState::Out));
    if !in_use || !matches!(reading.ask, Ask::Watch(_)) {
        return None;
    }
    positions.iter().copied().collect()
}

/// What the lights did.
fn answers(call: &Call, reading: &Reading) -> String {
    readings::answers(&call.house, reading)
}
