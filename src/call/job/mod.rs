//! The job file as data: exactly what is written in it, before it is checked.
//!
//! A [`Job`] mirrors the document field by field, so that reading and writing lose nothing. It is made from a
//! [`Node`] (which YAML and JSON both give) and reports everything that has the wrong shape, each thing with its
//! place. Whether it makes sense (points that exist, conditions that can be) is decided by
//! [`check`](crate::call::check::check).

pub(crate) mod field;
mod forms;
mod inert;
mod node;
mod problem;
mod words;

pub use field::{Field, Prose, plain_number};
pub use forms::{
    AllOrEach, InstrumentMap, JobAnswer, JobApart, JobInstrument, JobJoint, JobReads, JointMap, Pair,
};
pub use inert::{harmless, inert};
pub use node::{Node, shorten};
pub use problem::{Path, Problem, Spot, Step, Warning, any_of, likely};
pub use words::{Do, Found, Power, Screws, Why};

use crate::call::{LampState, Source};
use crate::house::{BoxKind, DeviceKind, FeedKind, Grounds, LampKind, Metal, Reach, Sheath};
use field::record;
use std::collections::BTreeMap;

/// The version of the file format that is read and written.
pub const VERSION: i64 = 1;

record! {
    /// A job file: one service call.
    pub struct Job {
        /// Version of this format.
        "lath" lath: i64,
        /// The call.
        "call" call: Option<JobCall>,
        /// The house.
        "house" house: Option<JobHouse>,
        /// Instruments owned.
        "instruments" instruments: Option<Vec<JobInstrument>>,
        /// What was seen at the boxes.
        "boxes" boxes: Option<Vec<JobBox>>,
        /// What was read, in order.
        "readings" readings: Option<Vec<JobReading>>,
        /// Boxes proved dead.
        "proofs" proofs: Option<Vec<JobProof>>,
        /// Suggestions skipped.
        "skipped" skipped: Option<Vec<JobReading>>,
        /// Who accepted the safety terms, and when.
        "safety" safety: Option<JobSafety>,
        /// What was done, and not done, in the technician's words.
        "done" done: Option<Vec<Prose>>,
        /// Inverse edits, newest last.
        "history" history: Option<Vec<Node>>,
    }
}

record! {
    /// The head of the call.
    #[derive(Default)]
    pub struct JobCall {
        /// A title.
        "title" title: Option<Prose>,
        /// The day, `YYYY-MM-DD`.
        "date" date: Option<String>,
        /// The address.
        "site" site: Option<Prose>,
        /// The customer.
        "customer" customer: Option<Prose>,
        /// The technician.
        "technician" technician: Option<Prose>,
        /// The firm.
        "firm" firm: Option<Prose>,
        /// The technician's licence.
        "licence" licence: Option<Prose>,
        /// The electrical code edition adopted there.
        "code" code: Option<Prose>,
        /// `identify`, `repair`, or `neutral-at BOX`.
        "goal" goal: Option<String>,
        /// What is wrong, as told.
        "complaint" complaint: Option<Prose>,
        /// What was changed before, as told.
        "changed" changed: Option<Prose>,
        /// Whether the circuit worked before that.
        "worked_before" worked_before: Option<bool>,
        /// Whether somebody can stand at the panel.
        "helper" helper: Option<bool>,
    }
}

record! {
    /// The house.
    #[derive(Default)]
    pub struct JobHouse {
        /// A knowledge pack (`us`).
        "region" region: Option<String>,
        /// Year built.
        "built" built: Option<i64>,
        /// Volts, line to neutral.
        "supply" supply: Option<f64>,
        /// Grounding conductors in the cables.
        "grounds" grounds: Option<Grounds>,
        /// Circuits in question.
        "feeds" feeds: Option<Vec<JobFeed>>,
        /// What `earth` means.
        "reference" reference: Option<JobReference>,
    }
}

record! {
    /// A breaker or fuse.
    #[derive(Default)]
    pub struct JobFeed {
        /// Its name on the panel.
        "name" name: String,
        /// What protects it.
        "kind" kind: Option<FeedKind>,
        /// Its rating in amperes.
        "amps" amps: Option<f64>,
        /// The leg of the supply, if known.
        "leg" leg: Option<String>,
    }
}

record! {
    /// The proven reference that `earth` means in this call.
    #[derive(Default)]
    pub struct JobReference {
        /// What it is.
        "what" what: Prose,
        /// The volts from a known line that proved it.
        "proven" proven: Option<f64>,
    }
}

record! {
    /// A box.
    pub struct JobBox {
        /// Its name.
        "name" name: String,
        /// What it is for.
        "kind" kind: BoxKind,
        /// Whether it was opened.
        "opened" opened: Option<bool>,
        /// The storey it is on; 1 where not said.
        "floor" floor: Option<i64>,
        /// How it is reached; standing where not said.
        "reach" reach: Option<Reach>,
        /// Cubic inches, if known.
        "volume" volume: Option<f64>,
        /// Cable ends seen in it.
        "cables" cables: Option<Vec<JobCable>>,
        /// Devices in it.
        "devices" devices: Option<Vec<JobDevice>>,
        /// Joints as found.
        "joints" joints: Option<Vec<JobJoint>>,
        /// `false` where a taped bundle hides some joints.
        "complete" complete: Option<bool>,
        /// What had been undone before the survey.
        "apart" apart: Option<JobApart>,
        /// Joints known from a photo or from memory, before somebody undid or changed them: a lead that readings overrule.
        "was" was: Option<Vec<JobJoint>>,
        /// Screws that hold two wires.
        "doubled" doubled: Option<Vec<String>>,
        /// Observations, by knowledge-base name or in plain words.
        "seen" seen: Option<Vec<String>>,
    }
}

record! {
    /// A cable end seen in a box.
    #[derive(Default)]
    pub struct JobCable {
        /// The person's tag.
        "tag" tag: String,
        /// What it is covered with.
        "sheath" sheath: Option<Sheath>,
        /// Its wires, by colour as seen.
        "wires" wires: Vec<String>,
        /// American wire gauge.
        "gauge" gauge: Option<i64>,
        /// What the wires are made of; copper where not said.
        "metal" metal: Option<Metal>,
        /// `false` where the person was not sure of it.
        "sure" sure: Option<bool>,
    }
}

record! {
    /// A device in a box.
    pub struct JobDevice {
        /// Its name within the box.
        "name" name: String,
        /// What it is.
        "kind" kind: DeviceKind,
        /// Whether its screws can be told apart; marked where not said.
        "screws" screws: Option<Screws>,
        /// The lamp in it, where it is a light.
        "lamp" lamp: Option<LampKind>,
        /// Lamp watts.
        "watts" watts: Option<f64>,
        /// `false` where the person was not sure of it.
        "sure" sure: Option<bool>,
    }
}

record! {
    /// A question under conditions, with what was read; without it where it was only suggested or skipped.
    pub struct JobReading {
        /// The question.
        "do" ask: Do,
        /// The box where it is asked; a point without a box is there.
        "at" at: Option<String>,
        /// The two points of volts, ohms or load.
        "between" between: Option<Pair>,
        /// Several points, each to the point `to`.
        "points" points: Option<Vec<String>>,
        /// What `points` are measured to.
        "to" to: Option<String>,
        /// The cable (its tag) or the wire in the clamp.
        "around" around: Option<String>,
        /// The light that is watched: BOX, or BOX/device.
        "light" light: Option<String>,
        /// Several lights that are watched.
        "lights" lights: Option<Vec<String>>,
        /// The instrument.
        "with" with: Option<JobInstrument>,
        /// Breakers, all or by name.
        "breaker" breaker: Option<AllOrEach<Power>>,
        /// Switch positions, by BOX or BOX/device: up, down, left, right, 1 or 2.
        "switches" switches: Option<BTreeMap<String, String>>,
        /// Lamps, all or by light.
        "lamp" lamp: Option<AllOrEach<LampState>>,
        /// Devices taken off.
        "out" out: Option<Vec<String>>,
        /// Wires away from their joint.
        "lifted" lifted: Option<Vec<String>>,
        /// Points bridged; power off.
        "jumpers" jumpers: Option<Vec<Pair>>,
        /// What was read.
        "reads" reads: Option<JobReads>,
        /// Who says so; the technician where not said.
        "by" by: Option<Source>,
        /// Why it was skipped.
        "why" why: Option<Why>,
    }
}

record! {
    /// A box proved dead.
    pub struct JobProof {
        /// The box.
        "at" at: String,
        /// The time of day, `HH:MM`.
        "time" time: Option<String>,
        /// The tester.
        "with" with: JobInstrument,
        /// The known source the tester was proved on, before and after.
        "on" on: Option<Prose>,
        /// What it showed.
        "found" found: Found,
    }
}

record! {
    /// The safety terms.
    #[derive(Default)]
    pub struct JobSafety {
        /// The day they were accepted, `YYYY-MM-DD`.
        "accepted" accepted: Option<String>,
    }
}

impl Default for Job {
    fn default() -> Job {
        Job {
            lath: VERSION,
            call: None,
            house: None,
            instruments: None,
            boxes: None,
            readings: None,
            proofs: None,
            skipped: None,
            safety: None,
            done: None,
            history: None,
        }
    }
}

impl JobBox {
    /// A box of which nothing but name and kind is known.
    pub fn new(name: impl Into<String>, kind: BoxKind) -> JobBox {
        JobBox {
            name: name.into(),
            kind,
            opened: None,
            floor: None,
            reach: None,
            volume: None,
            cables: None,
            devices: None,
            joints: None,
            complete: None,
            apart: None,
            was: None,
            doubled: None,
            seen: None,
        }
    }
}

impl JobReading {
    /// A question with nothing said about it yet.
    pub fn new(ask: Do) -> JobReading {
        JobReading {
            ask,
            at: None,
            between: None,
            points: None,
            to: None,
            around: None,
            light: None,
            lights: None,
            with: None,
            breaker: None,
            switches: None,
            lamp: None,
            out: None,
            lifted: None,
            jumpers: None,
            reads: None,
            by: None,
            why: None,
        }
    }
}

/// The items of a list that may be left out.
pub fn items<T>(list: &Option<Vec<T>>) -> &[T] {
    list.as_deref().unwrap_or_default()
}

/// Reads a value of the file from data, with all that is wrong with its shape.
///
/// # Errors
/// Repeated keys, unknown fields, missing fields, values of the wrong form.
pub fn read_node<T: Field>(node: &Node) -> Result<T, Vec<Problem>> {
    let mut out = Vec::new();
    repeated_keys(node, &Path::top(), &mut out);
    let value = T::read(node, &Path::top(), &mut out);
    match value {
        Some(value) if out.is_empty() => Ok(value),
        _ => Err(out),
    }
}

/// Reads a whole job from data. The version is looked at first: a newer file has fields this program cannot know.
///
/// # Errors
/// A version that is missing or newer, or anything that [`read_node`] reports.
pub fn read_job(node: &Node) -> Result<Job, Vec<Problem>> {
    let wrong = |what: String, found: String, instead: &str| {
        let path = if found.is_empty() { Path::top() } else { Path::top().key("lath") };
        Err(vec![Problem::new(path, what, found, instead)])
    };
    if !matches!(node, Node::Map(_)) {
        let what = "this is no job file: a map of fields belongs here".to_owned();
        let found = node.excerpt();
        return Err(vec![Problem::new(
            Path::top(),
            what,
            found,
            "lath: 1, then call:, house:, boxes: and readings:",
        )]);
    }
    match node.get("lath") {
        None | Some(Node::Null) => wrong(
            "the version of the job file is missing".to_owned(),
            String::new(),
            "lath: 1 as the first line",
        ),
        Some(Node::Number { value, .. }) if *value == VERSION as f64 => read_node(node),
        Some(Node::Number { value, text }) if *value > VERSION as f64 && value.fract() == 0.0 => wrong(
            "this job file was written by a newer lath, for which this program is too old".to_owned(),
            text.clone(),
            "nothing here; use the newer program",
        ),
        Some(other) => wrong("no such version of the job file".to_owned(), other.excerpt(), "lath: 1"),
    }
}

/// Reports every key that stands twice in its map.
fn repeated_keys(node: &Node, at: &Path, out: &mut Vec<Problem>) {
    match node {
        Node::List(items) => {
            for (i, item) in items.iter().enumerate() {
                repeated_keys(item, &at.index(i), out);
            }
        }
        Node::Map(fields) => {
            let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
            for (key, value) in fields {
                let path = at.key(key);
                let nth = seen.entry(key).and_modify(|nth| *nth += 1).or_insert(0);
                if *nth > 0 {
                    let instead = "each key once: put the two together, or rename one";
                    out.push(
                        Problem::new(path.clone(), "the same key stands twice", key.as_str(), instead)
                            .at_key(*nth),
                    );
                }
                repeated_keys(value, &path, out);
            }
        }
        _ => {}
    }
}
