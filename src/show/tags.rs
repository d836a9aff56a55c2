//! What to write on each wire, box by box, cable by cable, for somebody who stands there with a pen.

use super::known::{Far, Known};
use super::note::Document;
use super::palette::Tone;
use super::sheet::{Cell, Sheet, Style};
use super::text::percent;
use super::warn;
use super::words::{self, Confidence};
use crate::house::{BoxId, EndId, House, LocalPoint, WireId};
use crate::knowledge::{Caution, Cautions};
use crate::verdict::{Role, State, Verdict, WireFound};

/// The tags of every opened box.
pub fn text(house: &House, verdict: &Verdict, cautions: &Cautions, style: &Style) -> String {
    let known = Known::new(house, verdict);
    let mut sheet = Sheet::new(style);
    sheet.heading("Tags");
    if let Some(state) = unsettled(verdict) {
        sheet.text(Tone::Caution, &state);
    }
    for id in opened(house) {
        one_box(&mut sheet, &known, cautions, id);
    }
    if let Some(unseen) = unseen(house) {
        sheet.blank();
        sheet.text(Tone::Plain, &unseen);
    }
    sheet.finish()
}

/// The same as a sheet to print.
pub fn sheet(title: Option<&str>, house: &House, verdict: &Verdict, cautions: &Cautions) -> Document {
    let known = Known::new(house, verdict);
    let mut out = Document::default();
    out.heading(1, &title.map_or("Tags".to_owned(), |title| format!("Tags: {title}")));
    unsettled(verdict).iter().for_each(|state| out.paragraph(state));
    for id in opened(house) {
        out.heading(2, &box_name(house, id));
        for end in cables(house, id) {
            let wires = known.wires_of(end);
            let rows: Vec<Vec<String>> =
                wires.map(|wire| vec![local(house, wire), tag(&known, wire)]).collect();
            let title = format!("Cable {}: {}", house.end(end).tag, cable_tag(known.far(end)));
            out.table(&title, &["Wire", "Write on it"], &rows);
        }
        for note in notes(&known, cautions, id) {
            out.paragraph(&format!("CAUTION: {note}"));
        }
    }
    unseen(house).iter().for_each(|unseen| out.paragraph(unseen));
    out
}

/// The opened boxes, floor by floor so that nobody takes the stairs twice: floors and boxes as they were come to first.
fn opened(house: &House) -> Vec<BoxId> {
    let mut floors: Vec<_> = house.boxes.iter().map(|outlet| outlet.floor).collect();
    let first = floors.clone();
    floors.sort_by_key(|floor| first.iter().position(|one| one == floor));
    floors.dedup();
    let on = |floor| house.box_ids().filter(move |&id| house.outlet(id).floor == floor);
    floors.into_iter().flat_map(on).filter(|&id| house.outlet(id).opened).collect()
}

fn unsettled(verdict: &Verdict) -> Option<String> {
    let state = words::state_word(verdict.state);
    (verdict.state != State::Settled)
        .then(|| format!("{state}. A tag that says CHECK is not to be relied on."))
}

fn unseen(house: &House) -> Option<String> {
    let names: Vec<&str> = house.boxes.iter().filter(|b| !b.opened).map(|b| b.name.as_str()).collect();
    (!names.is_empty()).then(|| format!("No tags for boxes that were not opened: {}.", names.join(", ")))
}

fn box_name(house: &House, id: BoxId) -> String {
    let outlet = house.outlet(id);
    format!("{} ({})", outlet.name, words::box_kind(outlet.kind))
}

fn local(house: &House, wire: WireId) -> String {
    house.local_name(LocalPoint::Wire(wire))
}

/// The cables of a box by tag, as they hang in it; tags are equal only in a file that was not checked.
fn cables(house: &House, id: BoxId) -> Vec<EndId> {
    let mut ends = house.outlet(id).ends.clone();
    ends.sort_by(|&a, &b| house.end(a).tag.cmp(&house.end(b).tag).then(a.cmp(&b)));
    ends
}

fn one_box(sheet: &mut Sheet<'_>, known: &Known<'_>, cautions: &Cautions, id: BoxId) {
    sheet.blank();
    sheet.text(Tone::Heading, &box_name(known.house, id));
    for end in cables(known.house, id) {
        one_cable(sheet, known, end);
    }
    for note in notes(known, cautions, id) {
        sheet.hang(Tone::Caution, "  CAUTION:", &note);
    }
}

fn one_cable(sheet: &mut Sheet<'_>, known: &Known<'_>, end: EndId) {
    let cable = known.house.end(end);
    let lead = format!("  cable {}:", cable.tag);
    sheet.hang(Tone::Plain, &lead, &cable_tag(known.far(end)));
    let rows: Vec<Vec<Cell>> = known
        .wires_of(end)
        .map(|wire| {
            let tone = known.wire(wire).map_or(Tone::Caution, |found| match Confidence::of(found.p) {
                Confidence::Settled => Tone::Role(found.role),
                _ => Tone::Caution,
            });
            vec![Cell::plain(local(known.house, wire)), Cell::new(tone, tag(known, wire))]
        })
        .collect();
    sheet.rows(4, &rows);
}

/// What the cable's own tag says.
fn cable_tag(far: Option<Far<'_>>) -> String {
    let Some(far) = far else { return "CHECK: not told yet where it goes".to_owned() };
    let to = words::far_end(far.end);
    match Confidence::of(far.p) {
        Confidence::Settled => format!("to {to}"),
        firm => format!("CHECK: {} to {to}", firm.hedge().trim_end()),
    }
}

/// What the wire's tag says.
pub fn wire_tag(house: &House, verdict: &Verdict, wire: WireId) -> String {
    tag(&Known::new(house, verdict), wire)
}

fn tag(known: &Known<'_>, wire: WireId) -> String {
    let Some(found) = known.wire(wire) else { return "CHECK: not told, treat as live".to_owned() };
    let circuit = words::circuit_of(found).map_or_else(String::new, |name| format!(" (circuit {name})"));
    match Confidence::of(found.p) {
        Confidence::Settled => format!("{}{circuit}", certain(known, found)),
        Confidence::Likely => {
            let role = words::role(found.role, known.is_proven_neutral(found));
            format!("CHECK: likely {role}{circuit}, {}", percent(found.p))
        }
        Confidence::Open => {
            let role = words::role(found.role, known.is_proven_neutral(found));
            let others = words::others(found);
            let others = if others.is_empty() { others } else { format!(", {others}") };
            format!("CHECK: open, perhaps {role}{circuit} {}{others}", percent(found.p))
        }
    }
}

/// The words of a settled tag: large, and still no neutral or ground by inference.
fn certain(known: &Known<'_>, found: &WireFound) -> &'static str {
    match found.role {
        Role::Line => "LINE",
        Role::Neutral if known.is_proven_neutral(found) => "NEUTRAL, proven",
        Role::Neutral => "should be NEUTRAL, not proven",
        Role::Load => "LOAD",
        Role::Tie => "TIE between commons",
        Role::Traveler => "TRAVELER",
        Role::Ground => "should be GROUND, not proven",
        Role::Other => "OTHER circuit or light, leave alone",
        Role::Spare => "SPARE, keep capped",
    }
}

/// Cautions for the whites that are no neutrals in this box, once each.
fn notes(known: &Known<'_>, cautions: &Cautions, id: BoxId) -> Vec<String> {
    let mut said: Vec<(Caution, Vec<String>)> = Vec::new();
    let wires = known.house.wires().filter(|w| known.house.end(w.end).at == id);
    for wire in wires {
        let Some(caution) = warn::white_caution(known, wire) else { continue };
        let name = local(known.house, wire);
        match said.iter_mut().find(|(c, _)| *c == caution) {
            Some((_, names)) => names.push(name),
            None => said.push((caution, vec![name])),
        }
    }
    said.sort_by_key(|(caution, _)| *caution);
    said.into_iter()
        .map(|(caution, names)| format!("{}: {}", names.join(", "), cautions.sentence(caution)))
        .collect()
}
