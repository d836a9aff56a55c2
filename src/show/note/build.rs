//! What the note says, in the order in which it is read; the record comes behind.

use super::document::Document;
use super::findings::Findings;
use super::header::Header;
use super::{found, record, tried, words as terms};
use crate::call::Call;
use crate::conditions::Pack;
use crate::house::{Cable, Grounds, House};
use crate::knowledge::Cautions;
use crate::show::known::Known;
use crate::show::palette::Palette;
use crate::show::sheet::Style;
use crate::show::text::{capital, list, percent, sentence};
use crate::show::words::{self, Confidence};
use crate::show::{draw, landing, picture, warn};
use crate::verdict::{Landing, State, Verdict};

/// Whom a note is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Reader {
    /// Whoever lives there: plain words first, the record behind.
    #[default]
    Customer,
    /// Somebody of the trade: names of wires and figures, the plan first, no words explained.
    Technician,
}

/// All that a note is made of.
#[derive(Clone, Copy, Debug)]
pub struct Note<'a> {
    /// The head, and whatever is somebody's own words.
    pub header: &'a Header,
    /// Survey and readings.
    pub call: &'a Call,
    /// What they settle.
    pub verdict: &'a Verdict,
    /// The sentences of cautions.
    pub cautions: &'a Cautions,
    /// The packs of conditions.
    pub pack: &'a Pack,
    /// Whom it is for.
    pub reader: Reader,
}

/// What the note is, before anybody reads it for more.
const NO_CERTIFICATE: &str = "This note says what was found on the day, at the boxes named, by the tests listed. It is \
                              no inspection and no certificate. Local codes and licensed practice come first, \
                              everywhere.";

/// The note as a document. `style` says how wide the diagram may be and whether it is for a screen reader.
pub fn document(note: &Note<'_>, style: &Style) -> Document {
    let known = Known::new(&note.call.house, note.verdict);
    let findings = Findings::of(note);
    let mut out = Document::default();
    head(&mut out, note.header);
    standing(&mut out, &known);
    out.paragraph(NO_CERTIFICATE);
    asked(&mut out, note.header, note.call);
    match note.reader {
        Reader::Customer => found::add(&mut out, &known, &findings),
        Reader::Technician => {
            out.heading(2, "What was found");
            record::arrangement(&mut out, note.call, &known);
        }
    }
    diagram(&mut out, &known, style);
    if note.reader == Reader::Technician {
        record::plan(&mut out, &known);
    }
    findings.add(&mut out, note);
    circuit(&mut out, note.header, &note.call.house, findings.edition());
    done(&mut out, note.header);
    tried::add(&mut out, note.call);
    not_verified(&mut out, &known);
    next(&mut out, note, &known, &findings);
    safety(&mut out, note, &known, &findings);
    let words = terms::used_in(&out);
    out.new_page();
    record::add(&mut out, note, &known, &findings, &words);
    out
}

fn head(note: &mut Document, header: &Header) {
    note.heading(1, &format!("Found conditions: {}", said(&header.title)));
    note.fields(&[
        ("Site", said(&header.site)),
        ("Customer", said(&header.customer)),
        ("Date", said(&header.date)),
        ("Technician", said(&header.technician)),
        ("Firm", said(&header.firm)),
        ("Licence", said(&header.licence)),
    ]);
}

/// What was written, or that nothing was.
pub(super) fn said(text: &Option<String>) -> &str {
    text.as_deref().map(str::trim).filter(|t| !t.is_empty()).unwrap_or("not written down")
}

/// At the top, so that nobody reads the rest for more than it is.
fn standing(note: &mut Document, known: &Known<'_>) {
    note.paragraph(match known.verdict.state {
        State::Settled => {
            "This question is settled as far as tests at the opened boxes can settle it. What was not looked at or \
             not proven is listed below."
        }
        State::Open => {
            "NOT SETTLED. The tests so far leave more than one explanation. What follows is what is likely, not what \
             is known, and more tests are needed before any wire is moved."
        }
        State::Exhausted => {
            "NOT SETTLED. The boxes that could be reached today do not tell more. What follows is what is likely, \
             not what is known; what would settle it stands under what to do next."
        }
        State::Contradiction => {
            "NOT SETTLED. What was seen and what was measured do not fit together, so at least one of them is wrong. \
             No wire may be moved on the strength of this note."
        }
    });
}

fn asked(note: &mut Document, header: &Header, call: &Call) {
    note.heading(2, "What we were asked");
    let mut items = Vec::new();
    items.extend(header.complaint.as_ref().map(|c| format!("Complaint: {c}")));
    items.extend(header.changed.as_ref().map(|c| format!("Changed before: {c}")));
    items.extend(
        call.worked_before
            .map(|w| format!("Before that it {} as it should.", if w { "worked" } else { "did not work" })),
    );
    items.push(match call.goal {
        crate::house::Goal::Identify => "To find out what every wire is for.".to_owned(),
        crate::house::Goal::Repair => "To find out how the wires have to be connected.".to_owned(),
        crate::house::Goal::NeutralAt(at) => format!(
            "To find out whether the return wire of this circuit (a neutral) is in the box {}.",
            call.house.outlet(at).name
        ),
    });
    note.list(&items);
}

fn diagram(note: &mut Document, known: &Known<'_>, style: &Style) {
    note.heading(2, "The wiring as found");
    let inner = Style { palette: Palette::PLAIN, ..*style };
    note.picture(picture::of(known), &draw::text(known.house, known.verdict, &inner));
}

fn circuit(note: &mut Document, header: &Header, house: &House, edition: Option<String>) {
    note.heading(2, "Circuit, cables and code");
    let feeds: Vec<String> = house.feeds.iter().map(words::feed).collect();
    let grounds = match house.grounds {
        Grounds::None => "none in these cables",
        Grounds::Some => "in some of these cables",
        Grounds::All => "in all of these cables",
    };
    let built = house.built.map_or("not written down".to_owned(), |year| year.to_string());
    note.fields(&[
        ("Protected by", capital(&list(&feeds, "and")).as_str()),
        ("Cables as surveyed", &capital(&cable_kinds(house))),
        ("Grounding wires", grounds),
        ("House built", &built),
        ("Code adopted here", said(&header.code)),
    ]);
    edition.iter().for_each(|text| note.paragraph(text));
}

/// Each kind of cable once, with the ends it was seen at where there are several kinds.
fn cable_kinds(house: &House) -> String {
    let mut kinds: Vec<(String, Vec<String>)> = Vec::new();
    for end in house.end_ids() {
        let kind = cable_kind(house.end(end));
        let name = house.end_name(end);
        match kinds.iter_mut().find(|(k, _)| *k == kind) {
            Some((_, names)) => names.push(name),
            None => kinds.push((kind, vec![name])),
        }
    }
    match kinds.as_slice() {
        [] => "no cable was seen".to_owned(),
        [(kind, _)] => kind.clone(),
        many => {
            let each: Vec<String> =
                many.iter().map(|(kind, names)| format!("{kind} ({})", names.join(", "))).collect();
            each.join("; ")
        }
    }
}

pub(super) fn cable_kind(cable: &Cable) -> String {
    let sheath = cable.sheath.map_or("covering not noted", words::sheath);
    let gauge = cable.gauge.map_or("gauge not noted".to_owned(), |g| format!("{g} AWG"));
    format!("{sheath}, {gauge}, {}", words::metal(cable.metal))
}

fn done(note: &mut Document, header: &Header) {
    note.heading(2, "What was done, and not done");
    if header.done.is_empty() {
        note.paragraph(
            "Nothing was written down as done or declined, nor in what state the circuit was left.",
        );
    }
    note.list(&header.done);
    if !header.skipped.is_empty() {
        note.paragraph("Tests that were suggested and not taken:");
        note.list(&header.skipped);
    }
}

fn not_verified(note: &mut Document, known: &Known<'_>) {
    note.heading(2, "Not opened, not verified");
    let house = known.house;
    let mut items: Vec<String> = house
        .boxes
        .iter()
        .filter(|b| !b.opened)
        .map(|b| format!("{} was not opened; what is said of it is inferred.", b.name))
        .collect();
    items.extend(
        house
            .boxes
            .iter()
            .filter(|b| b.opened && !b.complete)
            .map(|b| format!("{}: some joints in it could not be seen.", b.name)),
    );
    let unsettled: Vec<String> = known
        .verdict
        .wires
        .iter()
        .filter(|w| Confidence::of(w.p) != Confidence::Settled)
        .map(|w| format!("{} ({})", w.wire, words::firmness(w.p)))
        .collect();
    if !unsettled.is_empty() {
        items.push(format!("What these wires are for is not settled: {}.", list(&unsettled, "and")));
    }
    for found in &known.verdict.boxes {
        if let Some(n) = found.neutral.as_ref().filter(|n| !n.proven) {
            items.push(format!(
                "{}: {} should be neutral; no test has proven it.",
                found.at,
                list(&n.wires, "and")
            ));
        }
        if let Some(g) = found.ground.as_deref().filter(|g| !g.is_empty()) {
            items.push(format!("{}: {} should be ground; no test has proven it.", found.at, list(g, "and")));
        }
    }
    if known.told().next().is_none() {
        items.push("What the wires are for could not be told.".to_owned());
    }
    items.push("What runs inside walls and ceilings was not seen; it is worked out from tests.".to_owned());
    note.list(&items);
}

/// Boxes tested before work.
pub(super) fn proofs(note: &mut Document, header: &Header) {
    note.heading(3, "Boxes tested before work");
    if header.proofs.is_empty() {
        note.paragraph("No test of a box before work was written down.");
    }
    let lines: Vec<String> = header
        .proofs
        .iter()
        .map(|p| {
            let time = p.time.as_ref().map_or(String::new(), |t| format!(" at {t}"));
            let on = p.on.as_ref().map_or(String::new(), |o| format!(", which was tried on: {o}"));
            format!("{}{time}: tested {} with a {}{on}", p.at, p.found, p.with)
        })
        .collect();
    note.list(&lines);
}

fn next(out: &mut Document, note: &Note<'_>, known: &Known<'_>, findings: &Findings<'_>) {
    out.heading(2, "What to do next");
    let verdict = known.verdict;
    let mut items = Vec::new();
    for landing in &verdict.landing {
        items.push(match landing {
            Landing::Refused { at, refuse, leave } => {
                format!(
                    "{at} must not be put back as it was: {} Until then, leave it so: {}",
                    sentence(refuse),
                    sentence(leave)
                )
            }
            Landing::Joints { at, joints } => {
                let first = if landing::is_settled(known, at, joints) {
                    ""
                } else {
                    "settle first what its wires are for, then "
                };
                format!(
                    "{at}: {first}connect the wires by the plan in the record, and try every switch position."
                )
            }
        });
    }
    let untold = verdict.defects.iter().filter(|defect| !findings.tells(&defect.at));
    items.extend(untold.map(|defect| format!("Deal with this: {}.", words::defect(defect))));
    items.extend(findings.to_deal_with(&note.pack.scale));
    items.extend(verdict.disbelieved.iter().map(|d| {
        format!("Take reading {} again: it is wrong with a likelihood of {}.", d.reading, percent(d.p_wrong))
    }));
    let shut: Vec<String> =
        note.call.house.boxes.iter().filter(|b| !b.opened).map(|b| b.name.clone()).collect();
    match verdict.state {
        State::Settled => {}
        State::Open => items.push("Take more tests: they can settle what is open.".to_owned()),
        State::Contradiction => {
            items.push("Look again at what does not fit together, and take those tests again.".to_owned());
        }
        State::Exhausted if shut.is_empty() => {
            items.push(
                "No test at these boxes would tell more: look for another box or another circuit.".to_owned(),
            );
        }
        State::Exhausted => items.push(format!("Open {}: that is what could tell more.", list(&shut, "and"))),
    }
    if verdict.state == State::Settled && verdict.landing.is_empty() {
        items.push("For what was asked, no more tests are needed.".to_owned());
    }
    out.list(&items);
}

/// The cautions that no condition has told already.
fn safety(out: &mut Document, note: &Note<'_>, known: &Known<'_>, findings: &Findings<'_>) {
    out.heading(2, "Cautions");
    let told = findings.cautions();
    let lines: Vec<String> = warn::applying(known, note.call)
        .into_iter()
        .filter(|warning| !told.contains(&warning.caution))
        .map(|warning| {
            let places = if warning.places.is_empty() {
                String::new()
            } else {
                format!(" Here: {}.", warning.places.join("; "))
            };
            format!("{}{places}", note.cautions.sentence(warning.caution))
        })
        .collect();
    out.list(&lines);
}
