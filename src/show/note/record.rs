//! The technician's record behind the note: survey, readings, roles.

use super::build::{self, Note, Reader, cable_kind};
use super::document::Document;
use super::findings::Findings;
use crate::call::Call;
use crate::house::{Apart, BoxId, House};
use crate::show::known::{Known, landing_box};
use crate::show::landing;
use crate::show::readings;
use crate::show::text::{capital, list, number, percent, sentence};
use crate::show::verdict::{choice_sentence, reading_numbers, settled_count, still_fitting};
use crate::show::words::{self, Confidence};
use crate::verdict::Landing;

/// The record.
pub(super) fn add(
    out: &mut Document,
    note: &Note<'_>,
    known: &Known<'_>,
    findings: &Findings<'_>,
    words: &[(&str, &str)],
) {
    out.heading(2, "The record");
    if note.reader == Reader::Customer {
        out.heading(3, "Words used in this note");
        out.fields(words);
        out.heading(3, "For whoever works here next");
    }
    out.paragraph("Wires are named BOX/cable tag.colour.");
    if note.reader == Reader::Customer {
        standing(out, note.call, known);
    }
    if let Some(reference) = &note.header.reference {
        out.paragraph(&format!("Earth in the readings is: {reference}"));
    }
    survey(out, note, &note.call.house);
    build::proofs(out, note.header);
    taken(out, note.call);
    roles(out, known);
    cables(out, known);
    if note.reader == Reader::Customer {
        plan(out, known);
    }
    disbelieved(out, note.call, known);
    findings.add_code(out);
}

/// How the circuit is wired, and how much of that is settled.
pub(super) fn arrangement(out: &mut Document, call: &Call, known: &Known<'_>) {
    if let Some(what) = &known.verdict.contradiction {
        out.paragraph(&format!("These cannot all be true: {what}"));
    }
    if let Some(found) = &known.verdict.arrangement {
        out.paragraph(&words::arrangement(found));
    }
    standing(out, call, known);
    out.list(&known.verdict.defects.iter().map(|defect| capital(&words::defect(defect))).collect::<Vec<_>>());
}

fn standing(out: &mut Document, call: &Call, known: &Known<'_>) {
    out.list(&[
        words::state_sentence(known.verdict.state, known.verdict.wires_settled(), call.goal, &call.house),
        still_fitting(&known.verdict.candidates),
        settled_count(known.verdict),
    ]);
}

fn survey(out: &mut Document, note: &Note<'_>, house: &House) {
    out.heading(3, "Survey");
    for id in house.box_ids() {
        let outlet = house.outlet(id);
        let opened = if outlet.opened { "opened" } else { "not opened" };
        let volume =
            outlet.volume.map_or(String::new(), |inches| format!(", {} cubic inches", number(inches)));
        out.paragraph(&format!(
            "{}: {}, {opened}, floor {}, {}{volume}",
            outlet.name,
            words::box_kind(outlet.kind),
            outlet.floor,
            words::reach(outlet.reach)
        ));
        let mut items = in_box(house, id);
        items.extend(outlet.seen.iter().map(|seen| format!("seen: {}", note.pack.observation(seen))));
        out.list(&items);
    }
}

fn in_box(house: &House, id: BoxId) -> Vec<String> {
    let outlet = house.outlet(id);
    let unsure = |sure: bool| if sure { "" } else { " (not sure)" };
    let mut items: Vec<String> = outlet
        .ends
        .iter()
        .map(|&e| {
            let cable = house.end(e);
            format!(
                "cable {}: {}; {}{}",
                cable.tag,
                cable.wires.join(", "),
                cable_kind(cable),
                unsure(cable.sure)
            )
        })
        .collect();
    items.extend(outlet.devices.iter().map(|&d| {
        let device = house.device(d);
        let marked = if device.marked { "" } else { ", screws not marked" };
        format!("{}: {}{marked}{}", device.name, words::device_kind(device.kind), unsure(device.sure))
    }));
    let names = |points: &[crate::house::LocalPoint]| -> String {
        points.iter().map(|&p| house.local_name(p)).collect::<Vec<_>>().join(", ")
    };
    items.extend(outlet.joints.iter().map(|j| format!("joint: {}{}", names(&j.points), unsure(j.sure))));
    items.extend(outlet.was.iter().map(|j| format!("joint before it was changed: {}", names(&j.points))));
    match &outlet.apart {
        Apart::No => {}
        Apart::All => items.push("taken apart before the survey".to_owned()),
        Apart::Points(points) => items.push(format!("taken apart before the survey: {}", names(points))),
    }
    if !outlet.complete {
        items.push("some joints not seen".to_owned());
    }
    items
}

fn taken(note: &mut Document, call: &Call) {
    note.heading(3, "Readings");
    if call.readings.is_empty() {
        note.paragraph("No reading was taken.");
    }
    let said: Vec<String> =
        call.readings.iter().map(|r| capital(&readings::reading(&call.house, r))).collect();
    note.steps(&said);
}

fn roles(note: &mut Document, known: &Known<'_>) {
    note.heading(3, "What each wire is for");
    if known.told().next().is_none() {
        note.paragraph("No wire's role could be told.");
    }
    let rows: Vec<Vec<String>> = known
        .told()
        .map(|w| {
            let rests = if w.because.is_empty() { "survey".to_owned() } else { reading_numbers(&w.because) };
            vec![
                w.wire.clone(),
                words::role_of(known, w),
                format!("{} {}", Confidence::of(w.p).word(), percent(w.p)),
                words::others(w),
                rests,
            ]
        })
        .collect();
    note.table(
        "Every wire end in an opened box",
        &["Wire", "Role", "How sure", "Otherwise", "Rests on"],
        &rows,
    );
}

fn cables(note: &mut Document, known: &Known<'_>) {
    note.heading(3, "Which cable goes where");
    if known.verdict.cables.is_empty() {
        note.paragraph("Where the cables go could not be told.");
    }
    let rows: Vec<Vec<String>> = known
        .verdict
        .cables
        .iter()
        .map(|c| {
            let firm = format!("{} {}", Confidence::of(c.p).word(), percent(c.p));
            vec![c.ends[0].clone(), words::far_end(&c.ends[1]), firm]
        })
        .collect();
    note.table("Cables, as far as they are told", &["From", "To", "How sure"], &rows);
    let screws: Vec<String> = known
        .verdict
        .devices
        .iter()
        .map(|d| {
            let each: Vec<String> = d.screws.iter().map(|(s, t)| format!("screw {s} is {t}")).collect();
            format!("{}: {} ({})", d.device, list(&each, "and"), words::firmness(d.p))
        })
        .collect();
    note.list(&screws);
}

/// How the wires have to be landed.
pub(super) fn plan(note: &mut Document, known: &Known<'_>) {
    if known.verdict.landing.is_empty() && known.verdict.choices.is_empty() {
        return;
    }
    note.heading(3, "How the wires have to be landed");
    for landing in &known.verdict.landing {
        match landing {
            Landing::Joints { at, joints } => {
                note.paragraph(&format!("{at}:"));
                if let Some(id) = known.box_named(at) {
                    note.steps(&landing::steps(known, id, joints));
                }
            }
            Landing::Refused { refuse, leave, .. } => {
                let at = landing_box(landing);
                let (why, leave) = (sentence(refuse), sentence(leave));
                note.paragraph(&format!("{at}: NOT to be put back as it was: {why} Leave it so: {leave}"));
            }
        }
    }
    let free: Vec<String> = known.verdict.choices.iter().map(|c| choice_sentence(c)).collect();
    note.list(&free);
}

fn disbelieved(note: &mut Document, call: &Call, known: &Known<'_>) {
    if known.verdict.disbelieved.is_empty() {
        return;
    }
    note.heading(3, "Readings not believed");
    let said: Vec<String> = known
        .verdict
        .disbelieved
        .iter()
        .map(|d| {
            let reading = d.reading.checked_sub(1).and_then(|n| call.readings.get(n));
            let words =
                reading.map_or(String::new(), |r| format!(" ({})", readings::reading(&call.house, r)));
            format!("Reading {}{words}: wrong with a likelihood of {}", d.reading, percent(d.p_wrong))
        })
        .collect();
    note.list(&said);
}
