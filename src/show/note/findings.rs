//! The conditions that were found, by how serious they are.

use super::build::{Note, Reader};
use super::document::{Document, Finding};
use super::places;
use crate::conditions::{self, Edition, Judged, Level, Provision, judge};
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
            out.finding(&told(note, found, judged));
        }
        if !self.found.is_empty() {
            out.paragraph(
                "Existing work is judged by the code of its day. What is said of when it was installed is as far as \
                 that is known; what is said of today would be asked of new work. The local authority decides.",
            );
        }
    }

    /// The list of provisions that were named, with how each was checked.
    pub fn add_provisions(&self, out: &mut Document) {
        let mut rows: Vec<Vec<String>> = Vec::new();
        for provision in self.found.iter().flat_map(|(_, judged)| &judged.cited) {
            let row = provision_row(provision);
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
        if !rows.is_empty() {
            out.heading(3, "Provisions named");
            out.paragraph("Section numbers are those of the newest edition known here. Look them up in the edition adopted.");
            let head = ["Provision", "In the code since", "How it was checked", "Where"];
            out.table("Provisions named in this note", &head, &rows);
        }
    }
}

fn provision_row(provision: &Provision) -> Vec<String> {
    let since = provision.since.map_or("not known here".to_owned(), |year| year.to_string());
    vec![
        format!("{} {}", provision.code, provision.section),
        since,
        provision.checked.words().to_owned(),
        provision.source.clone(),
    ]
}

/// Conditions up to this step of the scale have their cautions told to a customer too.
const GRAVE: usize = 1;

fn told(note: &Note<'_>, found: &conditions::Finding<'_>, judged: &Judged<'_>) -> Finding {
    let condition = found.condition;
    let technician = note.reader == Reader::Technician;
    let mut says = Vec::new();
    let mut say = |label: &str, text: String| says.push((label.to_owned(), text));
    say("Where", sentence(&capital(&places::all(&note.call.house, &found.places, note.reader))));
    if technician {
        each(note, found).into_iter().for_each(|text| say("How sure", text));
    }
    say("What it means", condition.says.clone());
    say("What is usually done", condition.usually.clone());
    judged.installed.iter().for_each(|text| say("When installed", capital(&sentence(text))));
    if !judged.today.is_empty() {
        say("Today", judged.today.join(" "));
    }
    if technician || condition.level <= GRAVE {
        condition
            .cautions
            .iter()
            .for_each(|&caution| say("Caution", note.cautions.sentence(caution).to_owned()));
    }
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
