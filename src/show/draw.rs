//! The diagram: the run as a tree from the feed, then every box with what is in it.
//!
//! How firm a cable is shows in its stroke (`══` settled, `──` likely, `╌╌` not told) and always in a word as
//! well. For a screen reader the same content comes as an outline in sentences.

use super::known::{Known, place_of};
use super::palette::Tone;
use super::run::{Branch, Run};
use super::sheet::{Cell, Sheet, Style};
use super::text::{capital, list, number};
use super::verdict::goes_to;
use super::words::{self, Confidence};
use crate::house::{
    Apart, BoxId, DeviceId, EndId, House, Joint, LampKind, LocalPoint, OutletBox, Terminal, WireId,
};
use crate::verdict::{Landing, Verdict};

pub use super::dot::dot;

/// The run alone.
pub(crate) fn run_text(known: &Known<'_>, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    for root in &Run::of(known).roots {
        tree(&mut sheet, known, root);
    }
    sheet.finish()
}

/// The wiring as found, for a terminal or a screen reader.
pub fn text(house: &House, verdict: &Verdict, style: &Style) -> String {
    let known = Known::new(house, verdict);
    let run = Run::of(&known);
    let mut sheet = Sheet::new(style);
    sheet.heading("The run");
    legend(&mut sheet);
    for root in &run.roots {
        tree(&mut sheet, &known, root);
    }
    sheet.heading("The boxes, as found");
    for place in &run.order {
        sheet.gutter("");
        sheet.blank();
        match known.box_named(place) {
            Some(id) => frame(&mut sheet, &known, id),
            None => hidden(&mut sheet, &known, place),
        }
    }
    sheet.finish()
}

fn legend(sheet: &mut Sheet<'_>) {
    if !sheet.is_plain() {
        sheet.text(Tone::Faint, "══ settled   ── likely   ╌╌ not told yet; the words say it too");
        sheet.blank();
    }
}

/// A cable's stroke.
fn stroke(p: Option<f64>) -> &'static str {
    match p.map(Confidence::of) {
        Some(Confidence::Settled) => "══",
        Some(Confidence::Likely) => "──",
        Some(Confidence::Open) | None => "╌╌",
    }
}

fn tree(sheet: &mut Sheet<'_>, known: &Known<'_>, root: &Branch) {
    let feeds: Vec<String> = known.house.feeds.iter().map(words::feed).collect();
    let mut name = place_line(known, &root.place);
    if root.place == "panel" && !feeds.is_empty() {
        name = format!("{name}: {}", list(&feeds, "and"));
    }
    if let Some(remark) = &root.remark {
        name = format!("{name} ({remark})");
    }
    sheet.text(Tone::Heading, &capital(&name));
    branches(sheet, known, root, "", 0);
    sheet.gutter("");
}

fn place_line(known: &Known<'_>, place: &str) -> String {
    let name = words::place(place);
    match known.box_named(place) {
        Some(id) if !known.house.outlet(id).opened => format!("{name}, not opened"),
        _ => name,
    }
}

/// Deeper than this the tree is no longer moved to the right, so that there is room for words.
const DEEPEST: usize = 4;

fn branches(sheet: &mut Sheet<'_>, known: &Known<'_>, from: &Branch, gutter: &str, depth: usize) {
    let last = from.children.len().saturating_sub(1);
    for (n, (cable, child)) in from.children.iter().enumerate() {
        let what = format!("{}{}", place_line(known, &child.place), cable_words(known, &cable.ends, cable.p));
        let what = match &child.remark {
            Some(remark) => format!("{what}; {remark}"),
            None => what,
        };
        if sheet.is_plain() {
            let from = words::place(&from.place);
            sheet.gutter("");
            sheet.text(Tone::Plain, &format!("From {from} to {what}."));
            branches(sheet, known, child, "", depth);
            continue;
        }
        let (corner, down) = if n == last { ("└", "    ") } else { ("├", "│   ") };
        sheet.gutter(gutter);
        sheet.hang(Tone::Plain, &format!("{corner}{}", stroke(Some(cable.p))), &what);
        let deeper = if depth < DEEPEST { format!("{gutter}{down}") } else { gutter.to_owned() };
        branches(sheet, known, child, &deeper, depth + 1);
    }
}

/// The cable between two places: its seen ends, its wires, how firm it is.
fn cable_words(known: &Known<'_>, ends: &[String; 2], p: f64) -> String {
    let seen: Vec<EndId> = ends.iter().filter_map(|e| known.end_named(e)).collect();
    let names: Vec<String> = seen.iter().map(|&e| known.house.end_name(e)).collect();
    let wires = seen.first().map_or(String::new(), |&e| format!(": {}", known.house.end(e).wires.join(", ")));
    let by = if names.is_empty() { String::new() } else { format!(", cable {}{wires}", names.join(" to ")) };
    format!("{by}; {}", words::firmness(p))
}

/// One box with everything in it.
fn frame(sheet: &mut Sheet<'_>, known: &Known<'_>, id: BoxId) {
    let outlet = known.house.outlet(id);
    let opened = if outlet.opened { "" } else { ", not opened" };
    header(sheet, &outlet.name, &format!("{}{opened}", words::box_kind(outlet.kind)));
    for &end in &outlet.ends {
        cable(sheet, known, outlet, end);
    }
    unseen_cables(sheet, known, &outlet.name);
    for &device in &outlet.devices {
        device_screws(sheet, known, outlet, device);
    }
    splices(sheet, known, outlet);
    remarks(sheet, known, id);
    footer(sheet);
}

/// A box that nobody has seen.
fn hidden(sheet: &mut Sheet<'_>, known: &Known<'_>, place: &str) {
    header(sheet, place, "a box nobody has seen; inferred");
    unseen_cables(sheet, known, place);
    footer(sheet);
}

fn header(sheet: &mut Sheet<'_>, name: &str, what: &str) {
    sheet.gutter("");
    if sheet.is_plain() {
        sheet.text(Tone::Heading, &format!("{name}: {what}"));
    } else {
        sheet.hang(Tone::Heading, "┌─", &format!("{name} ─ {what}"));
        sheet.gutter("│ ");
    }
}

fn footer(sheet: &mut Sheet<'_>) {
    sheet.gutter("");
    if !sheet.is_plain() {
        sheet.text(Tone::Plain, "└─");
    }
}

fn cable(sheet: &mut Sheet<'_>, known: &Known<'_>, outlet: &OutletBox, end: EndId) {
    let far = known.far(end);
    let what = format!("cable {} {}", known.house.end(end).tag, goes_to(far));
    cable_line(sheet, far.map(|f| f.p), &what);
    let rows: Vec<Vec<Cell>> = known
        .wires_of(end)
        .map(|wire| {
            let mut row = role_cells(known, wire, &known.house.local_name(LocalPoint::Wire(wire)));
            row.push(Cell::plain(landed(known.house, outlet, wire)));
            row
        })
        .collect();
    sheet.rows(3, &rows);
}

fn cable_line(sheet: &mut Sheet<'_>, p: Option<f64>, what: &str) {
    if sheet.is_plain() {
        sheet.text(Tone::Plain, &capital(what));
    } else {
        sheet.hang(Tone::Plain, stroke(p), what);
    }
}

/// A wire's name, and its role with how firm it is.
fn role_cells(known: &Known<'_>, wire: WireId, name: &str) -> Vec<Cell> {
    let said = match known.wire(wire) {
        Some(found) => {
            let firm = Confidence::of(found.p);
            let tone = if firm == Confidence::Open { Tone::Caution } else { Tone::Role(found.role) };
            Cell::new(tone, format!("{} ({})", words::role_of(known, found), firm.word()))
        }
        None => Cell::new(Tone::Caution, "not told"),
    };
    vec![Cell::plain(name), said]
}

/// Cables that end here without anybody having seen the end: as they look at their other end.
fn unseen_cables(sheet: &mut Sheet<'_>, known: &Known<'_>, place: &str) {
    for far in known.unseen_at(place) {
        let what = format!("a cable {}, not seen here", goes_to(Some(far)));
        cable_line(sheet, Some(far.p), &what);
        if let Some(end) = known.end_named(far.end) {
            let rows: Vec<Vec<Cell>> = known
                .wires_of(end)
                .map(|wire| {
                    let mut row = role_cells(known, wire, known.house.wire_word(wire));
                    row.push(Cell::plain(format!("as seen at {}", place_of(far.end))));
                    row
                })
                .collect();
            sheet.rows(3, &rows);
        }
    }
}

/// The joint that a point of a box is in.
fn joint_of(outlet: &OutletBox, point: LocalPoint) -> Option<&Joint> {
    outlet.joints.iter().find(|j| j.points.contains(&point))
}

fn was_apart(outlet: &OutletBox, point: LocalPoint) -> bool {
    match &outlet.apart {
        Apart::No => false,
        Apart::All => true,
        Apart::Points(points) => points.contains(&point),
    }
}

/// What a wire is on, or with.
fn landed(house: &House, outlet: &OutletBox, wire: WireId) -> String {
    let this = LocalPoint::Wire(wire);
    let Some(joint) = joint_of(outlet, this) else {
        return loose(outlet, this).to_owned();
    };
    let names = |wanted: fn(&LocalPoint) -> bool| -> Vec<String> {
        joint.points.iter().filter(|p| **p != this && wanted(p)).map(|&p| house.local_name(p)).collect()
    };
    let screws = names(|p| !matches!(p, LocalPoint::Wire(_)));
    let wires = names(|p| matches!(p, LocalPoint::Wire(_)));
    let on = (!screws.is_empty()).then(|| format!("on {}", list(&screws, "and")));
    let with = (!wires.is_empty()).then(|| format!("with {}", list(&wires, "and")));
    let both: Vec<String> = on.into_iter().chain(with).collect();
    if both.is_empty() { "capped".to_owned() } else { both.join(", ") }
}

fn loose(outlet: &OutletBox, point: LocalPoint) -> &'static str {
    match (was_apart(outlet, point), outlet.complete) {
        (true, _) => "taken apart before",
        (false, true) => "capped",
        (false, false) => "joint not seen",
    }
}

fn device_screws(sheet: &mut Sheet<'_>, known: &Known<'_>, outlet: &OutletBox, id: DeviceId) {
    let device = known.house.device(id);
    let mut what = words::device_kind(device.kind).to_owned();
    if device.kind.is_light() {
        what.push_str(&lamp(device.lamp, device.watts));
    }
    if !device.marked {
        what.push_str(", screws not marked");
    }
    sheet.hang(Tone::Heading, &format!("{}:", device.name), &what);
    if !outlet.opened {
        return;
    }
    let rows: Vec<Vec<Cell>> = device
        .terminals()
        .into_iter()
        .map(|t| {
            let point = LocalPoint::Terminal(id, t);
            let on = on_screw(known.house, outlet, point);
            vec![Cell::plain(screw_name(known, id, t)), Cell::plain(on)]
        })
        .collect();
    sheet.rows(3, &rows);
}

fn lamp(kind: LampKind, watts: Option<f64>) -> String {
    let kind = match kind {
        LampKind::Incandescent => ", filament lamp",
        LampKind::Led => ", LED lamp",
        LampKind::Cfl => ", compact fluorescent lamp",
        LampKind::Unknown => ", lamp not looked at",
    };
    watts.map_or_else(|| kind.to_owned(), |w| format!("{kind} of {} W", number(w)))
}

/// A screw, with what it was found to be where it is not marked.
pub(crate) fn screw_name(known: &Known<'_>, id: DeviceId, terminal: Terminal) -> String {
    let word = terminal.word();
    let name = known.house.device_name(id);
    let found = known.verdict.devices.iter().find(|d| d.device == name);
    match found.and_then(|d| d.screws.get(&*word).map(|s| (s, d.p))) {
        Some((is, p)) => format!("{word} ({is}, {})", Confidence::of(p).word()),
        None => word.into_owned(),
    }
}

fn on_screw(house: &House, outlet: &OutletBox, point: LocalPoint) -> String {
    match joint_of(outlet, point) {
        Some(joint) => {
            let names: Vec<String> =
                joint.points.iter().filter(|p| **p != point).map(|&p| house.local_name(p)).collect();
            if names.is_empty() { "empty".to_owned() } else { list(&names, "and") }
        }
        None if was_apart(outlet, point) => "taken apart before".to_owned(),
        None if outlet.complete => "empty".to_owned(),
        None => "not seen".to_owned(),
    }
}

/// Joints of wires alone; those on a screw are shown at the screw.
fn splices(sheet: &mut Sheet<'_>, known: &Known<'_>, outlet: &OutletBox) {
    for joint in &outlet.joints {
        let wires_only = !joint.points.iter().any(|p| matches!(p, LocalPoint::Terminal(..)));
        if joint.points.len() > 1 && wires_only {
            let names: Vec<String> = joint.points.iter().map(|&p| known.house.local_name(p)).collect();
            let unsure = if joint.sure { "" } else { " (not sure)" };
            sheet.hang(Tone::Heading, "splice:", &format!("{}{unsure}", list(&names, "and")));
        }
    }
    if outlet.opened && !outlet.complete {
        sheet.text(Tone::Caution, "Some joints of this box were not seen.");
    }
}

/// Where this box is not to stay as it is drawn.
fn remarks(sheet: &mut Sheet<'_>, known: &Known<'_>, id: BoxId) {
    match known.landing_in(id) {
        Some(Landing::Joints { joints, .. }) => {
            sheet.text(Tone::Caution, "To be landed so:");
            for (n, step) in super::landing::steps(known, id, joints).iter().enumerate() {
                sheet.hang(Tone::Plain, &format!("   {}.", n + 1), step);
            }
        }
        Some(Landing::Refused { refuse, .. }) => {
            sheet.hang(Tone::Danger, "NOT TO BE PUT BACK AS IT WAS:", refuse);
        }
        None => {}
    }
}
