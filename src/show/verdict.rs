//! The verdict as text.

use super::known::{Far, Known, landing_box};
use super::landing;
use super::palette::Tone;
use super::readings;
use super::sheet::{Cell, Sheet, Style};
use super::text::{capital, count, list, percent};
use super::warn;
use super::words::{self, Confidence};
use crate::call::Call;
use crate::house::BoxId;
use crate::knowledge::{Cautions, Group};
use crate::verdict::{Candidates, Landing, State, Verdict, WireFound};

/// What survey and readings settle, for a terminal or a screen reader.
pub fn text(call: &Call, verdict: &Verdict, cautions: &Cautions, style: &Style) -> String {
    let known = Known::new(&call.house, verdict);
    let mut sheet = Sheet::new(style);
    standing(&mut sheet, call, &known);
    contradiction(&mut sheet, &known);
    arrangement(&mut sheet, &known);
    defects(&mut sheet, &known);
    boxes(&mut sheet, &known);
    cables(&mut sheet, &known);
    devices(&mut sheet, &known);
    landings(&mut sheet, &known);
    disbelieved(&mut sheet, call, &known);
    cautions_of(&mut sheet, &known, call, cautions);
    sheet.finish()
}

fn standing(sheet: &mut Sheet<'_>, call: &Call, known: &Known<'_>) {
    let verdict = known.verdict;
    sheet.heading("Where the question stands");
    let tone = match verdict.state {
        State::Settled => Tone::Good,
        State::Contradiction => Tone::Danger,
        State::Open | State::Exhausted => Tone::Caution,
    };
    sheet.text(tone, &words::state_sentence(verdict.state, verdict.wires_settled(), call.goal, &call.house));
    sheet.text(Tone::Plain, &still_fitting(&verdict.candidates));
    sheet.text(Tone::Plain, &settled_count(verdict));
}

/// How many wirings are left.
pub(crate) fn still_fitting(c: &Candidates) -> String {
    let mut said = match (c.classes, c.wirings) {
        (0, _) if c.uncovered >= 0.5 => {
            "More wirings fit than can be listed. Each reading leaves fewer, and so does another box opened, or a joint \
             written down."
                .to_owned()
        }
        (0, _) => "No wiring that was considered fits.".to_owned(),
        (1, 1) => "One wiring still fits.".to_owned(),
        (1, n) => {
            format!("{n} wirings still fit; no reading could tell them apart, and they agree on every role.")
        }
        (k, n) => format!(
            "{} still fit, in {k} groups; no reading could tell those of one group apart.",
            count(n, "wiring", "wirings")
        ),
    };
    if c.uncovered >= 0.000_5 {
        said.push_str(&format!(" Not looked at: wirings that hold up to {}.", small(c.uncovered)));
    }
    said
}

/// A small probability, rounded up.
fn small(p: f64) -> String {
    format!("{}% of the weight", super::text::number((p * 1000.0).ceil() / 10.0))
}

/// How many wires are settled.
pub(crate) fn settled_count(verdict: &Verdict) -> String {
    let of = |c: Confidence| verdict.wires.iter().filter(|w| Confidence::of(w.p) == c).count();
    format!(
        "Of {}: {} settled, {} likely, {} open.",
        count(verdict.wires.len(), "wire", "wires"),
        of(Confidence::Settled),
        of(Confidence::Likely),
        of(Confidence::Open)
    )
}

fn contradiction(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    if let Some(what) = &known.verdict.contradiction {
        sheet.heading("What cannot all be true");
        sheet.hang(Tone::Danger, "CONTRADICTION:", what);
    }
}

fn arrangement(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    let Some(found) = &known.verdict.arrangement else { return };
    sheet.heading("The arrangement");
    sheet.text(Tone::Plain, &words::arrangement(found));
    let scheme = found.scheme.replace('-', " ");
    let place = words::place(&found.feed.at);
    let rows =
        [("Scheme", scheme, found.scheme_p), ("Feed comes in at", place, found.feed.p)].map(|(k, v, p)| {
            let firm = Confidence::of(p);
            vec![Cell::plain(k), Cell::plain(v), Cell::new(firm.tone(), firm.word()), Cell::plain(percent(p))]
        });
    sheet.rows(2, &rows);
}

fn defects(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    if known.verdict.defects.is_empty() {
        return;
    }
    sheet.heading("Miswired or broken");
    for found in &known.verdict.defects {
        sheet.hang(Tone::Caution, "DEFECT:", &capital(&words::defect(found)));
    }
}

fn boxes(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    sheet.heading("Box by box");
    for (n, id) in known.house.box_ids().enumerate() {
        if n > 0 {
            sheet.blank();
        }
        one_box(sheet, known, id);
    }
}

fn one_box(sheet: &mut Sheet<'_>, known: &Known<'_>, id: BoxId) {
    let outlet = known.house.outlet(id);
    let seen = if outlet.opened { "opened" } else { "not opened: nothing in it was seen" };
    sheet.text(Tone::Heading, &format!("{} ({}, {seen})", outlet.name, words::box_kind(outlet.kind)));
    let mut rows = Vec::new();
    for &end in &outlet.ends {
        for wire in known.wires_of(end) {
            let local = known.house.local_name(crate::house::LocalPoint::Wire(wire));
            match known.wire(wire) {
                Some(found) => rows.push(wire_row(known, &local, found)),
                None => rows.push(vec![Cell::plain(local), Cell::new(Tone::Caution, "not told")]),
            }
        }
    }
    sheet.rows(2, &rows);
    for line in box_facts(known, id) {
        sheet.hang(Tone::Plain, if sheet.is_plain() { "" } else { "  -" }, &line);
    }
}

fn wire_row(known: &Known<'_>, local: &str, found: &WireFound) -> Vec<Cell> {
    let firm = Confidence::of(found.p);
    let hedge = if firm == Confidence::Open { firm.hedge() } else { "" };
    let mut rest = Vec::new();
    let others = words::others(found);
    if firm != Confidence::Settled && !others.is_empty() {
        rest.push(others);
    }
    if !found.because.is_empty() {
        rest.push(format!("from {}", reading_numbers(&found.because)));
    }
    // Of what is settled the figure says nothing more.
    let how_firm = match firm {
        Confidence::Settled => firm.word().to_owned(),
        firm => format!("{} {}", firm.word(), percent(found.p)),
    };
    vec![
        Cell::plain(local),
        Cell::new(Tone::Role(found.role), format!("{hedge}{}", words::role_of(known, found))),
        Cell::new(firm.tone(), how_firm),
        Cell::new(Tone::Faint, rest.join("; ")),
    ]
}

/// `reading 2`, `readings 1, 3 and 4`.
pub(crate) fn reading_numbers(numbers: &[usize]) -> String {
    let each: Vec<String> = numbers.iter().map(usize::to_string).collect();
    format!("{} {}", if each.len() == 1 { "reading" } else { "readings" }, list(&each, "and"))
}

/// Line, neutral and ground of an opened box, a sentence each.
pub(crate) fn box_facts(known: &Known<'_>, id: BoxId) -> Vec<String> {
    let Some(found) = known.roles_in(id) else { return Vec::new() };
    let mut said = Vec::new();
    if found.line.is_empty() {
        said.push("No line wire is known in this box; take every wire as live all the same.".to_owned());
    } else {
        said.push(format!("Should be line: {}.", list(&found.line, "and")));
    }
    said.push(match &found.neutral {
        Some(n) if n.proven => format!("Neutral, proven by a reading: {}.", list(&n.wires, "and")),
        Some(n) => format!(
            "{} should be this circuit's neutral ({}); no reading has proven it.",
            list(&n.wires, "and"),
            words::firmness(n.p)
        ),
        None => "No neutral of this circuit is known in this box.".to_owned(),
    });
    if let Some(ground) = found.ground.as_deref().filter(|g| !g.is_empty()) {
        said.push(format!("{} should be ground; not proven.", list(ground, "and")));
    }
    said
}

fn cables(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    let verdict = known.verdict;
    sheet.heading("Cables");
    if verdict.cables.is_empty() {
        sheet.text(Tone::Plain, "Where the cables go is not told yet.");
        return;
    }
    let rows: Vec<Vec<Cell>> = verdict
        .cables
        .iter()
        .map(|cable| {
            let firm = Confidence::of(cable.p);
            vec![
                Cell::plain(&cable.ends[0]),
                Cell::plain(format!("goes to {}", words::far_end(&cable.ends[1]))),
                Cell::new(firm.tone(), firm.word()),
                Cell::plain(percent(cable.p)),
            ]
        })
        .collect();
    sheet.rows(2, &rows);
    let untold: Vec<String> =
        known.house.end_ids().filter(|&e| known.far(e).is_none()).map(|e| known.house.end_name(e)).collect();
    if !untold.is_empty() {
        sheet.text(Tone::Caution, &format!("Not told yet where it goes: {}.", list(&untold, "and")));
    }
}

/// Where an end goes, in words with its firmness.
pub(crate) fn goes_to(far: Option<Far<'_>>) -> String {
    match far {
        Some(far) => format!("to {} ({})", words::far_end(far.end), words::firmness(far.p)),
        None => "not told yet where it goes".to_owned(),
    }
}

fn devices(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    if known.verdict.devices.is_empty() {
        return;
    }
    sheet.heading("Unmarked devices");
    for found in &known.verdict.devices {
        let screws: Vec<String> =
            found.screws.iter().map(|(screw, terminal)| format!("screw {screw} is {terminal}")).collect();
        sheet.hang(
            Tone::Plain,
            &format!("{}:", found.device),
            &format!("{} ({})", screws.join(", "), words::firmness(found.p)),
        );
    }
}

fn landings(sheet: &mut Sheet<'_>, known: &Known<'_>) {
    let verdict = known.verdict;
    if verdict.landing.is_empty() && verdict.choices.is_empty() {
        return;
    }
    sheet.heading("Putting it back");
    for landing in &verdict.landing {
        sheet.blank();
        sheet.text(Tone::Heading, landing_box(landing));
        match landing {
            Landing::Joints { at, joints } => plan(sheet, known, at, joints),
            Landing::Refused { refuse, leave, .. } => {
                sheet.hang(Tone::Danger, "  DO NOT PUT IT BACK AS IT WAS:", refuse);
                sheet.hang(Tone::Caution, "  LEAVE IT SO:", leave);
            }
        }
    }
    for choice in &verdict.choices {
        sheet.blank();
        sheet.text(Tone::Plain, &choice_sentence(choice));
    }
}

/// Wires that may trade places.
pub(crate) fn choice_sentence(choice: &[String]) -> String {
    format!("Free choice: {} may trade places; it works either way.", list(choice, "and"))
}

fn plan(sheet: &mut Sheet<'_>, known: &Known<'_>, at: &str, joints: &[Vec<String>]) {
    let Some(id) = known.box_named(at) else { return };
    for (n, step) in landing::steps(known, id, joints).iter().enumerate() {
        sheet.hang(Tone::Heading, &format!("  {}.", n + 1), step);
    }
}

fn disbelieved(sheet: &mut Sheet<'_>, call: &Call, known: &Known<'_>) {
    if known.verdict.disbelieved.is_empty() {
        return;
    }
    sheet.heading("Readings not believed");
    for one in &known.verdict.disbelieved {
        let said = one.reading.checked_sub(1).and_then(|n| call.readings.get(n));
        let said = said.map_or(String::new(), |r| format!("{}; ", readings::reading(&call.house, r)));
        let firm = Confidence::of(one.p_wrong).hedge();
        sheet.hang(
            Tone::Caution,
            &format!("Reading {}:", one.reading),
            &format!("{said}{firm}wrong ({})", percent(one.p_wrong)),
        );
    }
}

fn cautions_of(sheet: &mut Sheet<'_>, known: &Known<'_>, call: &Call, cautions: &Cautions) {
    sheet.heading("Cautions");
    let warnings = warn::applying(known, call);
    for group in Group::ALL {
        let mut of_group = warnings.iter().filter(|warning| warning.caution.group() == group).peekable();
        if of_group.peek().is_some() {
            sheet.text(Tone::Caution, &format!("{}:", group.title()));
        }
        for warning in of_group {
            let mut text = cautions.sentence(warning.caution).to_owned();
            if !warning.places.is_empty() {
                text.push_str(&format!(" Here: {}.", warn::by_box(&warning.places)));
            }
            sheet.hang(Tone::Plain, if sheet.is_plain() { "CAUTION:" } else { "  -" }, &text);
        }
    }
}

/// The steps of a landing plan at one box, for the hands.
pub fn landing_steps(call: &Call, verdict: &Verdict, at: &str, joints: &[Vec<String>]) -> Vec<String> {
    let known = Known::new(&call.house, verdict);
    known.box_named(at).map(|id| landing::steps(&known, id, joints)).unwrap_or_default()
}
