//! The conditions that were found, by how serious they are.

use super::build::{Note, Reader};
use super::document::{Document, Finding};
use super::places;
use crate::conditions::{self, Edition, Judged, Level, judge};
use crate::knowledge::Caution;
use crate::show::text::{capital, percent, sentence};
use crate::show::words::Confidence;
use std::collections::BTreeSet;

/// What was found, and what stands behind it.
pub(super) struct Findings<'a> {
    found: Vec<(conditions::Finding<'a>, Judged<'a>)>,
    edition: Option<Edition>,
}

impl<'a> Findings<'a> {
    /// Holds the packs against the call.
    pub fn of(note: &Note<'a>) -> Self {
        let region = &note.call.house.region;
        let edition = Edition::of(note.header.code.as_deref(), region, note.pack);
        let found = conditions::find(note.pack, note.call, note.verdict, edition.as_ref());
        let judged = |found: conditions::Finding<'a>| {
            let judged = judge(found.condition, &note.call.house, edition.as_ref());
            (found, judged)
        };
        Findings { found: found.into_iter().map(judged).collect(), edition }
    }

    /// What is to be said of the edition, where it is not the one adopted.
    pub fn edition(&self) -> Option<String> {
        match &self.edition {
            None => Some("These packs know no code for this region; nothing is judged by one.".to_owned()),
            Some(edition) if edition.adopted => None,
            Some(edition) => Some(format!("Judged by {}.", edition.words())),
        }
    }

    /// Cautions that stand with a condition and need not be said again.
    pub fn cautions(&self) -> BTreeSet<Caution> {
        self.found.iter().flat_map(|(found, _)| found.condition.cautions.iter().copied()).collect()
    }

    /// Whether a defect of the verdict is among them.
    pub fn tells(&self, at: &str) -> bool {
        self.found
            .iter()
            .flat_map(|(found, _)| &found.places)
            .any(|found| matches!(&found.place, conditions::Place::Defect { at: there, .. } if there == at))
    }

    /// What the customer should do about them: those of each grave step in one sentence.
    pub fn to_deal_with(&self, scale: &[Level]) -> Vec<String> {
        let steps = scale.iter().enumerate().take(GRAVE + 1);
        steps
            .filter_map(|(n, step)| {
                let of_step = self.found.iter().filter(|(found, _)| found.condition.level == n);
                let titles: Vec<String> = of_step.map(|(found, _)| title(found)).collect();
                let many = titles.join("; ");
                (!titles.is_empty())
                    .then(|| format!("{}: have this dealt with, as said above: {many}.", step.words))
            })
            .collect()
    }

    /// The section.
    pub fn add(&self, out: &mut Document, note: &Note<'_>) {
        out.heading(2, "Conditions found, by how soon they matter");
        if self.found.is_empty() {
            out.paragraph(
                "None of the conditions that this note looks for was found at the boxes that were opened.",
            );
        }
        let mut last = None;
        for (found, judged) in &self.found {
            let level = found.condition.level;
            if let (true, Some(step)) = (last != Some(level), note.pack.scale.get(level)) {
                out.heading(3, &step.words);
                out.paragraph(&step.means);
            }
            last = Some(level);
            out.finding(&told(note, found, judged, self.edition.as_ref()));
        }
        if !self.found.is_empty() {
            out.paragraph(
                "Existing work is judged by the code of its day: then and today stand side by side in the record. The \
                 local authority decides.",
            );
        }
    }

    /// What the code says of each condition, then and today, and how that was checked.
    pub fn add_code(&self, out: &mut Document) {
        // Conditions that the code says the same of stand together.
        let mut rows: Vec<(Vec<&str>, [String; 3])> = Vec::new();
        for (found, judged) in &self.found {
            let title = found.condition.title.as_str();
            for said in code_rows(judged) {
                match rows.iter_mut().find(|(_, known)| *known == said) {
                    Some((titles, _)) => titles.push(title),
                    None => rows.push((vec![title], said)),
                }
            }
        }
        if !rows.is_empty() {
            out.heading(3, "What the code says of these conditions");
            out.paragraph(
                "Sections are numbered as in the newest edition known here: look them up in the one adopted.",
            );
            let head = ["Condition", "When installed", "Today", "How that was checked"];
            let rows: Vec<Vec<String>> = rows
                .into_iter()
                .map(|(titles, [then, today, checked])| vec![titles.join("; "), then, today, checked])
                .collect();
            out.table("The code then and today", &head, &rows);
        }
    }
}

/// A row for each provision; one without where only the time it was installed in is known.
fn code_rows(judged: &Judged<'_>) -> Vec<[String; 3]> {
    let then =
        judged.installed.as_ref().map_or("Not known here.".to_owned(), |text| capital(&sentence(text)));
    let rows = judged.today.iter().zip(&judged.cited);
    let rows =
        rows.map(|(today, provision)| [then.clone(), today.clone(), capital(provision.checked.words())]);
    let rows: Vec<[String; 3]> = rows.collect();
    match judged.installed {
        Some(_) if rows.is_empty() => {
            vec![[then, "No provision is named here.".to_owned(), "Common knowledge of the trade".to_owned()]]
        }
        _ => rows,
    }
}

/// The provisions by code and section, for whoever wants to look them up.
fn sections(judged: &Judged<'_>, edition: Option<&Edition>) -> Option<String> {
    let sections: Vec<&str> = judged.cited.iter().map(|provision| provision.section.as_str()).collect();
    let edition = edition.filter(|_| !sections.is_empty())?;
    Some(format!("{} {}, {}.", edition.code, edition.year, sections.join(", ")))
}

/// Conditions up to this step of the scale have their cautions told to a customer too.
const GRAVE: usize = 1;

fn told(
    note: &Note<'_>,
    found: &conditions::Finding<'_>,
    judged: &Judged<'_>,
    edition: Option<&Edition>,
) -> Finding {
    let condition = found.condition;
    let technician = note.reader == Reader::Technician;
    let mut says = Vec::new();
    let mut say = |label: &str, text: String| says.push((label.to_owned(), text));
    say("Where", sentence(&capital(&places::all(&note.call.house, &found.places, note.reader))));
    if technician {
        each(note, found).into_iter().for_each(|text| say("How sure", text));
    }
    say("What it means", condition.says.clone());
    say("Usually done", condition.usually.clone());
    if technician || condition.level <= GRAVE {
        condition
            .cautions
            .iter()
            .for_each(|&caution| say("Caution", note.cautions.sentence(caution).to_owned()));
    }
    sections(judged, edition).into_iter().for_each(|text| say("Code", text));
    Finding { level: condition.level, title: title(found), says }
}

/// The condition's title, no firmer than it is.
fn title(found: &conditions::Finding<'_>) -> String {
    let title = &found.condition.title;
    match Confidence::of(found.p()) {
        Confidence::Settled => title.clone(),
        Confidence::Likely => format!("Likely, not settled: {title}"),
        Confidence::Open => format!("Perhaps, not settled: {title}"),
    }
}

/// Every place with its figure, where they are not all certain.
fn each(note: &Note<'_>, found: &conditions::Finding<'_>) -> Option<String> {
    if found.places.iter().all(|place| place.p == 1.0) {
        return None;
    }
    let said = found.places.iter().map(|place| {
        let name = places::all(&note.call.house, std::slice::from_ref(place), Reader::Technician);
        format!("{name} {}", percent(place.p))
    });
    Some(said.collect::<Vec<_>>().join("; "))
}
