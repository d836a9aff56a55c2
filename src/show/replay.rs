//! A recorded call told reading by reading: what each one settled.

use super::sheet::{Sheet, Style};
use super::text::{count, sanitize};
use super::{Tone, words};
use crate::call::Call;
use crate::call::job::Job;
use crate::verdict::{LIKELY, SETTLED, Verdict, WireFound};

/// The call before any reading: title, what was asked, what was seen.
pub fn opening(job: &Job, call: &Call, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    let header = super::note::Header::of(job);
    sheet.heading(&format!("A recorded call: {}", sanitize(header.title.as_deref().unwrap_or("a light"))));
    if let Some(complaint) = &header.complaint {
        sheet.text(Tone::Plain, &format!("The customer says: {}", sanitize(complaint)));
    }
    let house = &call.house;
    for outlet in &house.boxes {
        let seen = if outlet.opened {
            let wires: usize = outlet.ends.iter().map(|&end| house.end(end).wires.len()).sum();
            let cables = count(outlet.ends.len(), "cable", "cables");
            format!("opened: {cables}, {}", count(wires, "wire", "wires"))
        } else {
            "not opened".to_owned()
        };
        sheet.text(Tone::Plain, &format!("{}: {seen}", sanitize(&outlet.name)));
    }
    sheet.blank();
    sheet.finish()
}

/// One reading and what it changed.
pub fn step(number: usize, said: &str, before: &Verdict, after: &Verdict, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    sheet.hang(Tone::Plain, &format!("{number}. "), said);
    let wirings = |verdict: &Verdict| verdict.candidates.wirings;
    let still = format!("{} fit (before: {}).", count(wirings(after), "wiring", "wirings"), wirings(before));
    sheet.hang(Tone::Plain, "   ", &format!("{still} {}", changed(before, after)));
    sheet.finish()
}

/// What is newly settled or likely, in one line.
pub fn changed(before: &Verdict, after: &Verdict) -> String {
    let newly = |wire: &WireFound, at_least: f64| {
        let was = before.wires.iter().find(|other| other.wire == wire.wire);
        wire.p >= at_least && was.is_none_or(|was| was.p < at_least || was.role != wire.role)
    };
    let list = |at_least: f64, below: f64| {
        let wires = after.wires.iter().filter(|wire| wire.p < below && newly(wire, at_least));
        wires
            .map(|wire| format!("{} {}", sanitize(&wire.wire), words::role(wire.role, false)))
            .collect::<Vec<_>>()
    };
    let (settled, likely) = (list(SETTLED, f64::INFINITY), list(LIKELY, SETTLED));
    match (settled.is_empty(), likely.is_empty()) {
        (true, true) => "Nothing new is settled.".to_owned(),
        (false, true) => format!("Settled, by inference: {}.", settled.join(", ")),
        (true, false) => format!("Likely: {}.", likely.join(", ")),
        (false, false) => {
            format!("Settled, by inference: {}. Likely: {}.", settled.join(", "), likely.join(", "))
        }
    }
}
