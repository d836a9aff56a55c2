//! What was found, for somebody outside the trade.

use super::document::Document;
use crate::house::{BoxId, BoxKind};
use crate::show::known::Known;
use crate::show::text::{capital, list};
use crate::show::words::{self, Confidence};
use crate::verdict::{Role, Verdict};

/// The findings.
pub(super) fn add(note: &mut Document, known: &Known<'_>) {
    note.heading(2, "What was found");
    let terms = terms(known.verdict);
    if !terms.is_empty() {
        note.paragraph("Words used here:");
        note.list(&terms);
    }
    let verdict = known.verdict;
    if let Some(what) = &verdict.contradiction {
        note.paragraph(&format!("These cannot all be true: {what}"));
    }
    arrangement(note, verdict);
    for id in known.house.box_ids().filter(|&b| known.house.outlet(b).opened) {
        let facts = in_box(known, id);
        if !facts.is_empty() {
            let outlet = known.house.outlet(id);
            note.paragraph(&format!("In the {} {}:", words::box_kind(outlet.kind), outlet.name));
            note.list(&facts);
        }
    }
    if !verdict.defects.is_empty() {
        note.paragraph("Wrong or broken:");
        let said: Vec<String> = verdict.defects.iter().map(|d| capital(&words::defect(d))).collect();
        note.list(&said);
    }
}

/// The trade's words that this note cannot do without, each said once what it is.
fn terms(verdict: &Verdict) -> Vec<&'static str> {
    let text = verdict.arrangement.as_ref().map_or("", |a| a.text.as_str());
    let used = |role: Role, word: &str| {
        text.split(|c: char| !c.is_alphanumeric()).any(|w| w.strip_suffix('s').unwrap_or(w) == word)
            || verdict.wires.iter().any(|w| w.role == role || w.others.contains_key(&role))
    };
    let mut terms = Vec::new();
    if used(Role::Line, "line") {
        terms.push("Line: the wire that carries power in; it is live whatever the switches do.");
    }
    if used(Role::Load, "load") {
        terms.push("Load: the wire that goes on to the light; it is live when the light is on.");
    }
    if used(Role::Traveler, "traveler") {
        terms.push(
            "Travelers: the two wires from switch to switch; how the switches stand decides which of them carries \
             power.",
        );
    }
    if used(Role::Tie, "tie") {
        terms.push("Tie: a wire that joins the two switches and is live in some of their positions.");
    }
    if used(Role::Neutral, "neutral") || !verdict.boxes.is_empty() {
        terms.push("Neutral: the wire by which the current goes back to the panel.");
    }
    terms.push("Likely: right at least nine times in ten. Open: less sure than that.");
    terms
}

fn arrangement(note: &mut Document, verdict: &Verdict) {
    let Some(found) = &verdict.arrangement else {
        note.paragraph("How this circuit is wired could not be told.");
        return;
    };
    let place = words::place(&found.feed.at);
    note.paragraph(&match Confidence::of(found.feed.p) {
        Confidence::Settled => format!("Power for this circuit comes in at {place}."),
        Confidence::Likely => format!("Power for this circuit likely comes in at {place}."),
        Confidence::Open => {
            format!("Where power for this circuit comes in is not settled; perhaps at {place}.")
        }
    });
    note.paragraph(&words::arrangement(found));
}

/// `a.white` as somebody says it who holds the cable: `the white wire of cable a`.
fn spoken(local: &str) -> String {
    match local.split_once('.') {
        Some((tag, wire)) => format!("the {wire} wire of cable {tag}"),
        None => local.to_owned(),
    }
}

fn spoken_list(names: &[String]) -> String {
    let each: Vec<String> = names.iter().map(|n| spoken(n)).collect();
    list(&each, "and")
}

/// What an opened box holds, in sentences.
fn in_box(known: &Known<'_>, id: BoxId) -> Vec<String> {
    let Some(found) = known.roles_in(id) else { return Vec::new() };
    let mut said = Vec::new();
    for role in [Role::Line, Role::Load, Role::Traveler, Role::Tie, Role::Other, Role::Spare] {
        for firm in [Confidence::Settled, Confidence::Likely, Confidence::Open] {
            said.extend(with_role(known, id, role, firm));
        }
    }
    match &found.neutral {
        Some(n) if n.proven => {
            said.push(format!("The neutral is {}; a test has proven it.", spoken_list(&n.wires)));
        }
        Some(n) => said.push(format!(
            "{} should be neutral ({}); no test has proven it.",
            capital(&spoken_list(&n.wires)),
            words::firmness(n.p)
        )),
        None if known.house.outlet(id).kind == BoxKind::Switch => said.push(
            "No neutral of this circuit is known here; a switch or control that needs one cannot simply go here."
                .to_owned(),
        ),
        None => {}
    }
    if let Some(ground) = found.ground.as_deref().filter(|g| !g.is_empty()) {
        said.push(format!("{} should be ground; no test has proven it.", capital(&spoken_list(ground))));
    }
    said
}

/// The wires of a box that have a role with the same firmness, in one sentence.
fn with_role(known: &Known<'_>, id: BoxId, role: Role, firm: Confidence) -> Option<String> {
    let house = known.house;
    let names: Vec<String> = house
        .wires()
        .filter(|w| house.end(w.end).at == id)
        .filter(|&w| known.wire(w).is_some_and(|f| f.role == role && Confidence::of(f.p) == firm))
        .map(|w| house.local_name(crate::house::LocalPoint::Wire(w)))
        .collect();
    if names.is_empty() {
        return None;
    }
    let hedge = match firm {
        Confidence::Settled => "",
        Confidence::Likely => "likely, ",
        Confidence::Open => "not settled, perhaps ",
    };
    Some(capital(&format!("{hedge}{}: {}.", role_as_thing(role, names.len()), spoken_list(&names))))
}

fn role_as_thing(role: Role, many: usize) -> &'static str {
    match (role, many) {
        (Role::Line, 1) => "the wire that carries power in (line)",
        (Role::Line, _) => "the wires that carry power in (line)",
        (Role::Load, 1) => "the wire that goes on to the light (load)",
        (Role::Load, _) => "the wires that go on to the light (load)",
        (Role::Traveler, 1) => "a wire that runs between the switches (traveler)",
        (Role::Traveler, _) => "the wires that run between the switches (travelers)",
        (Role::Tie, _) => "joining the two switches (tie)",
        (Role::Neutral, _) => "should be the return to the panel (neutral)",
        (Role::Ground, _) => "should be ground",
        (Role::Other, _) => "of another circuit or another switch's light, left alone",
        (Role::Spare, _) => "not used (spare)",
    }
}
