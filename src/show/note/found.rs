//! What was found, for somebody outside the trade.

use super::document::Document;
use super::findings::Findings;
use crate::show::known::Known;
use crate::show::text::{capital, count};
use crate::show::words::{self, Confidence};
use crate::verdict::Verdict;

/// The findings.
pub(super) fn add(note: &mut Document, known: &Known<'_>, findings: &Findings<'_>) {
    note.heading(2, "What was found");
    let verdict = known.verdict;
    if let Some(what) = &verdict.contradiction {
        note.paragraph(&format!("These cannot all be true: {what}"));
    }
    arrangement(note, verdict);
    settled(note, verdict);
    let untold = verdict.defects.iter().filter(|defect| !findings.tells(&defect.at));
    let untold: Vec<String> = untold.map(|defect| capital(&words::defect(defect))).collect();
    if !untold.is_empty() {
        note.paragraph("Wrong or broken:");
        note.list(&untold);
    }
    note.paragraph("The words of the trade in this note are explained where the record begins.");
}

fn settled(note: &mut Document, verdict: &Verdict) {
    let all = verdict.wires.len();
    let firm = verdict.wires.iter().filter(|wire| Confidence::of(wire.p) == Confidence::Settled).count();
    let ends = count(all, "wire end", "wire ends");
    match all - firm {
        _ if all == 0 => {}
        0 => note.paragraph(&format!(
            "{ends} in the opened boxes were told apart, and what each is for is settled."
        )),
        open => note.paragraph(&format!(
            "Of {ends} in the opened boxes, {firm} {} settled; what {} for is not.",
            if firm == 1 { "is" } else { "are" },
            if open == 1 { "the other one is" } else { "the others are" }
        )),
    }
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
