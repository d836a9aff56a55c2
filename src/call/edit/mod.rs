//! Edits of a job, each with its exact inverse.
//!
//! An [`Edit`] is a few [`Change`]s of the job's document. Applying it gives the new job, at the end of whose `history`
//! stands what takes it back: [`undo`] therefore survives a restart. An inverse marks what it expects to find, so that it
//! takes away nothing that somebody has written by hand in the meantime.

mod change;
mod said;

pub use change::Change;
pub use said::{Said, said};

use crate::call::job::{
    Do, Field, Job, JobBox, JobProof, JobReading, Node, Pair, Path, Problem, Prose, field::record, items,
    read_job,
};

/// A few changes of a job that belong together.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Edit {
    /// The changes, in the order in which they are made.
    pub changes: Vec<Change>,
    /// Where the person stands after it, in the words of whoever made it. It is kept with what takes the edit back.
    pub place: Option<Node>,
}

record! {
    /// An entry of the history: what takes an edit back.
    pub struct Inverse {
        /// The changes, in the order in which they are made.
        "undo" undo: Vec<Change>,
        /// Where the person stood after the edit.
        "place" place: Option<Node>,
    }
}

/// What is left after [`undo`].
#[derive(Clone, PartialEq, Debug)]
pub struct Undone {
    /// The job as it was before the edit.
    pub job: Job,
    /// The changes that were made.
    pub changes: Vec<Change>,
}

/// Why nothing was undone.
#[derive(thiserror::Error, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Stuck {
    /// No edit is left.
    #[error("there is nothing to undo")]
    Nothing,
    /// The job was changed in the meantime by something that keeps no history.
    #[error(
        "the file was changed since by hand, and the last step no longer fits it: the history is cleared"
    )]
    Changed,
}

impl Edit {
    /// Several edits as one.
    pub fn together(edits: impl IntoIterator<Item = Edit>) -> Edit {
        let mut whole = Edit::default();
        for edit in edits {
            whole.changes.extend(edit.changes);
            whole.place = whole.place.or(edit.place);
        }
        whole
    }

    /// The same edit, after which the person stands at `place`.
    pub fn from_place(mut self, place: Node) -> Edit {
        self.place = Some(place);
        self
    }

    /// Another value of a field of the document; none takes it out.
    pub fn field<T: Field>(name: &str, value: Option<&T>) -> Edit {
        Edit::of(Change::field(name, value.map(Field::write)))
    }

    /// A reading behind the others. A question that was skipped and is answered by it is skipped no longer.
    pub fn reading(job: &Job, reading: &JobReading) -> Edit {
        let mut edit = Edit::append("readings", items(&job.readings).len(), reading);
        let skipped = items(&job.skipped);
        // From the last to the first, so that the places stay right.
        for at in (0..skipped.len()).rev().filter(|&at| same_question(&skipped[at], reading)) {
            edit.changes.push(Change::items("skipped", at, 1, Vec::new()));
        }
        edit
    }

    /// Another reading in the place of reading `at`, counted from 0.
    pub fn another_reading(at: usize, reading: &JobReading) -> Edit {
        Edit::of(Change::items("readings", at, 1, vec![reading.write()]))
    }

    /// Takes reading `at` out, counted from 0.
    pub fn without_reading(at: usize) -> Edit {
        Edit::of(Change::items("readings", at, 1, Vec::new()))
    }

    /// A suggestion that was skipped.
    pub fn skip(job: &Job, question: &JobReading) -> Edit {
        let skipped = items(&job.skipped);
        match skipped.iter().position(|known| same_question(known, question)) {
            Some(at) => Edit::of(Change::items("skipped", at, 1, vec![question.write()])),
            None => Edit::append("skipped", skipped.len(), question),
        }
    }

    /// A box: in the place of the one of its name, or behind the others. Opening it ends its being skipped.
    pub fn outlet(job: &Job, outlet: &JobBox) -> Edit {
        let boxes = items(&job.boxes);
        let mut edit = match boxes.iter().position(|known| known.name == outlet.name) {
            Some(at) => Edit::of(Change::items("boxes", at, 1, vec![outlet.write()])),
            None => Edit::append("boxes", boxes.len(), outlet),
        };
        let skipped = items(&job.skipped);
        let opens = |skip: &JobReading| skip.ask == Do::Open && skip.at.as_ref() == Some(&outlet.name);
        let opened = outlet.opened == Some(true);
        for at in (0..skipped.len()).rev().filter(|&at| opened && opens(&skipped[at])) {
            edit.changes.push(Change::items("skipped", at, 1, Vec::new()));
        }
        edit
    }

    /// A proof behind the others.
    pub fn proof(job: &Job, proof: &JobProof) -> Edit {
        Edit::append("proofs", items(&job.proofs).len(), proof)
    }

    /// Something done, or not done, behind the others.
    pub fn done(job: &Job, words: &Prose) -> Edit {
        Edit::append("done", items(&job.done).len(), words)
    }

    fn append<T: Field>(field: &str, at: usize, item: &T) -> Edit {
        Edit::of(Change::items(field, at, 0, vec![item.write()]))
    }

    fn of(change: Change) -> Edit {
        Edit { changes: vec![change], place: None }
    }

    /// The job after the edit, with its inverse at the end of the history. Whether the job makes sense is for
    /// [`check`](crate::call::check::check) to say.
    ///
    /// # Errors
    /// A change that does not fit the job, or after which it has the wrong shape.
    pub fn apply(&self, job: &Job) -> Result<Job, Vec<Problem>> {
        let mut document = without_history(job);
        let mut undo = Vec::new();
        for change in &self.changes {
            let Some(back) = change.make(&mut document) else {
                let path = Path::top().key(&change.field);
                let instead = "a change to what the job holds now";
                let found = change.write().excerpt();
                return Err(vec![Problem::new(path, "the change does not fit the job", found, instead)]);
            };
            undo.insert(0, back);
        }
        // A history that was there, and empty, shall be there again.
        if job.history.as_ref().is_some_and(Vec::is_empty) {
            undo.push(Change::field("history", Some(Node::List(Vec::new()))));
        }
        let mut after = read_job(&document)?;
        let entry = Inverse { undo, place: self.place.clone() }.write();
        after.history = Some(items(&job.history).iter().cloned().chain([entry]).collect());
        Ok(after)
    }
}

/// Takes back the last edit.
///
/// # Errors
/// When there is none, or when it no longer fits the job; then nothing of the history can be relied on.
pub fn undo(job: &Job) -> Result<Undone, Stuck> {
    let (entry, left) = items(&job.history).split_last().ok_or(Stuck::Nothing)?;
    let inverse = Inverse::read(entry, &Path::top(), &mut Vec::new()).ok_or(Stuck::Changed)?;
    let mut document = without_history(job);
    for change in &inverse.undo {
        change.make(&mut document).ok_or(Stuck::Changed)?;
    }
    let mut before = read_job(&document).map_err(|_| Stuck::Changed)?;
    if !left.is_empty() {
        before.history = Some(left.to_vec());
    }
    Ok(Undone { job: before, changes: inverse.undo })
}

/// The document but for its history.
fn without_history(job: &Job) -> Node {
    let Node::Map(fields) = job.write() else { return Node::Null };
    Node::Map(fields.into_iter().filter(|(key, _)| key != "history").collect())
}

/// Whether two readings ask the same under the same conditions, whatever was answered, and however a point of the box at
/// hand is written.
pub fn same_question(one: &JobReading, other: &JobReading) -> bool {
    question(one) == question(other)
}

fn question(reading: &JobReading) -> JobReading {
    let full = |point: &String| match &reading.at {
        Some(at) if point != "earth" && !point.contains('/') => format!("{at}/{point}"),
        _ => point.clone(),
    };
    let each = |points: &Option<Vec<String>>| -> Option<Vec<String>> {
        points
            .as_ref()
            .map(|points| points.iter().map(full).collect())
            .filter(|points: &Vec<_>| !points.is_empty())
    };
    let pair = |Pair(from, to): &Pair| Pair(full(from), full(to));
    let jumpers = reading.jumpers.as_ref().filter(|pairs| !pairs.is_empty());
    JobReading {
        between: reading.between.as_ref().map(pair),
        points: each(&reading.points),
        to: reading.to.as_ref().map(full),
        out: each(&reading.out),
        lifted: each(&reading.lifted),
        jumpers: jumpers.map(|pairs| pairs.iter().map(pair).collect()),
        reads: None,
        by: None,
        why: None,
        ..reading.clone()
    }
}
