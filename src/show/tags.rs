//! What to write on each wire, box by box, cable by cable, for somebody who stands there with a pen.

use super::known::{Far, Known};
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
    if verdict.state != State::Settled {
        let state = words::state_word(verdict.state);
        sheet.text(Tone::Caution, &format!("{state}. A tag that says CHECK is not to be relied on."));
    }
    for id in house.box_ids().filter(|&b| house.outlet(b).opened) {
        one_box(&mut sheet, &known, cautions, id);
    }
    let unseen: Vec<String> = house.boxes.iter().filter(|b| !b.opened).map(|b| b.name.clone()).collect();
    if !unseen.is_empty() {
        sheet.blank();
        let said = format!("No tags for boxes that were not opened: {}.", unseen.join(", "));
        sheet.text(Tone::Plain, &said);
    }
    sheet.finish()
}

fn one_box(sheet: &mut Sheet<'_>, known: &Known<'_>, cautions: &Cautions, id: BoxId) {
    let outlet = known.house.outlet(id);
    sheet.blank();
    sheet.text(Tone::Heading, &format!("{} ({})", outlet.name, words::box_kind(outlet.kind)));
    let mut ends = outlet.ends.clone();
    // By tag, as they hang in the box; equal only in a file that was not checked.
    ends.sort_by(|&a, &b| known.house.end(a).tag.cmp(&known.house.end(b).tag).then(a.cmp(&b)));
    for end in ends {
        one_cable(sheet, known, end);
    }
    notes(sheet, known, cautions, id);
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
            vec![
                Cell::plain(known.house.local_name(LocalPoint::Wire(wire))),
                Cell::new(tone, tag(known, wire)),
            ]
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
fn notes(sheet: &mut Sheet<'_>, known: &Known<'_>, cautions: &Cautions, id: BoxId) {
    let mut said: Vec<(Caution, Vec<String>)> = Vec::new();
    let wires = known.house.wires().filter(|w| known.house.end(w.end).at == id);
    for wire in wires {
        let Some(caution) = warn::white_caution(known, wire) else { continue };
        let name = known.house.local_name(LocalPoint::Wire(wire));
        match said.iter_mut().find(|(c, _)| *c == caution) {
            Some((_, names)) => names.push(name),
            None => said.push((caution, vec![name])),
        }
    }
    said.sort_by_key(|(caution, _)| *caution);
    for (caution, names) in said {
        let text = format!("{}: {}", names.join(", "), cautions.sentence(caution));
        sheet.hang(Tone::Caution, "  CAUTION:", &text);
    }
}
