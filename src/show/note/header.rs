//! What the note says of the call beside its survey and readings: all of it somebody's own words.

use crate::call::Instrument;
use crate::call::job::{
    Do, Found, Job, JobInstrument, JobProof, JobReading, JobReference, Prose, Why, items,
};
use crate::show::readings;
use crate::show::text::number;

/// A proof that a box was dead before it was worked in.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Proof {
    /// The box.
    pub at: String,
    /// When.
    pub time: Option<String>,
    /// The tester, in words.
    pub with: String,
    /// The known source it was tried on.
    pub on: Option<String>,
    /// What was found: `dead` or `live`.
    pub found: String,
}

/// The head of a note. Whatever is `None` was not written down, and the note says so where it matters.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Header {
    /// The call in a few words.
    pub title: Option<String>,
    /// Where.
    pub site: Option<String>,
    /// For whom.
    pub customer: Option<String>,
    /// By whom.
    pub technician: Option<String>,
    /// Their firm.
    pub firm: Option<String>,
    /// Their licence.
    pub licence: Option<String>,
    /// The code edition adopted there.
    pub code: Option<String>,
    /// The day.
    pub date: Option<String>,
    /// What was complained of.
    pub complaint: Option<String>,
    /// What had been changed before.
    pub changed: Option<String>,
    /// The reference to earth, and how it was proven.
    pub reference: Option<String>,
    /// Proofs that boxes were dead.
    pub proofs: Vec<Proof>,
    /// Readings that were suggested and not taken, in words.
    pub skipped: Vec<String>,
    /// What was done and not done, in the technician's words.
    pub done: Vec<String>,
}

impl Header {
    /// The head of a note from a job file.
    pub fn of(job: &Job) -> Self {
        let mut header = Header {
            proofs: items(&job.proofs).iter().map(proof).collect(),
            skipped: items(&job.skipped).iter().map(skipped).collect(),
            done: items(&job.done).iter().map(|d| d.0.clone()).collect(),
            reference: job.house.as_ref().and_then(|h| h.reference.as_ref()).map(reference),
            ..Header::default()
        };
        if let Some(call) = &job.call {
            let own = |text: &Option<Prose>| text.as_ref().map(|t| t.0.clone());
            header.title = own(&call.title);
            header.site = own(&call.site);
            header.customer = own(&call.customer);
            header.technician = own(&call.technician);
            header.firm = own(&call.firm);
            header.licence = own(&call.licence);
            header.code = own(&call.code);
            header.date = call.date.clone();
            header.complaint = own(&call.complaint);
            header.changed = own(&call.changed);
        }
        header
    }
}

fn reference(reference: &JobReference) -> String {
    match reference.proven {
        Some(volts) => format!("{}, proven at {} V", reference.what.0, number(volts)),
        None => format!("{}, not proven", reference.what.0),
    }
}

fn proof(proof: &JobProof) -> Proof {
    Proof {
        at: proof.at.clone(),
        time: proof.time.clone(),
        with: instrument(&proof.with),
        on: proof.on.as_ref().map(|on| on.0.clone()),
        found: match proof.found {
            Found::Dead => "dead".to_owned(),
            Found::Live => "live".to_owned(),
        },
    }
}

fn instrument(said: &JobInstrument) -> String {
    let JobInstrument { kind, ohms, watts, resolves } = *said;
    readings::instrument(Instrument { kind, ohms, watts, resolves })
}

/// A reading that was not taken: where, what, why.
fn skipped(reading: &JobReading) -> String {
    let at = reading.at.as_ref().map_or(String::new(), |at| format!("at {at}, "));
    let what = match reading.ask {
        Do::Volts => "volts",
        Do::Ohms => "ohms",
        Do::Amps => "amps round",
        Do::Load => "test lamp",
        Do::Watch => "watch",
        Do::Open => "open the box",
    };
    let mut on: Vec<String> = Vec::new();
    on.extend(reading.between.as_ref().map(|pair| format!("{} to {}", pair.0, pair.1)));
    if let Some(points) = &reading.points {
        let to = reading.to.as_ref().map_or(String::new(), |to| format!(" to {to}"));
        on.push(format!("{}{to}", points.join(", ")));
    }
    on.extend(reading.around.clone());
    on.extend(reading.light.clone());
    on.extend(reading.lights.as_ref().map(|lights| lights.join(", ")));
    let why = match reading.why {
        Some(Why::Later) => ": left for later",
        Some(Why::Cannot) => ": could not be done",
        None => "",
    };
    format!("{at}{what} {}", on.join(", ")).trim_end().to_owned() + why
}
