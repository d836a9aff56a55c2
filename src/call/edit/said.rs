//! What is recorded in one piece of data: a reading as a suggestion asks for it, or a box that was opened.

use crate::call::job::{Field, Job, JobBox, JobReading, Node, Path, Problem, Step, items, read_node};

/// Fields of a suggestion that say how it was chosen. They belong to no reading.
const CHOSEN: [&str; 7] = ["first", "bits", "minutes", "live", "outcomes", "because", "cautions"];

/// What is to be recorded.
#[derive(Clone, PartialEq, Debug)]
pub enum Said {
    /// A reading, or the question of one that is skipped.
    Reading(Box<JobReading>),
    /// A box with what was seen in it.
    Open(Box<JobBox>),
}

/// Understands `{"do": "volts", …, "reads": 119}` and `{"do": "open", "at": BOX, "box": {…}}`. A suggestion can be given as
/// it is, with the answer added to it.
///
/// # Errors
/// Whatever is wrong with its shape, and a box that cannot be opened.
pub fn said(job: &Job, node: &Node) -> Result<Said, Vec<Problem>> {
    let asked = match node {
        Node::Map(fields) => {
            let own = |(key, _): &&(String, Node)| !CHOSEN.contains(&key.as_str());
            Node::Map(fields.iter().filter(own).cloned().collect())
        }
        other => other.clone(),
    };
    let opens = asked.get("do").and_then(Node::word).is_some_and(|word| word == "open");
    if opens && asked.get("box").is_some() {
        return open(job, &asked).map(|outlet| Said::Open(Box::new(outlet)));
    }
    let reading: JobReading = read_node(&asked)?;
    // Lists that say "none" say no more than their absence; without them equal questions look equal.
    let reading = JobReading {
        out: reading.out.filter(|list| !list.is_empty()),
        lifted: reading.lifted.filter(|list| !list.is_empty()),
        jumpers: reading.jumpers.filter(|list| !list.is_empty()),
        ..reading
    };
    Ok(Said::Reading(Box::new(reading)))
}

/// A box that was opened. What is not said of it is as it was known before.
fn open(job: &Job, asked: &Node) -> Result<JobBox, Vec<Problem>> {
    let wrong = |key: &str, what: &str, found: &str, instead: &str| {
        Err(vec![Problem::new(Path::top().key(key), what, found, instead)])
    };
    let Node::Map(fields) = asked else { return wrong("box", "a box belongs here", "", "a map") };
    for (key, value) in fields {
        let empty = match value {
            Node::Null => true,
            Node::List(items) => items.is_empty(),
            Node::Map(fields) => fields.is_empty(),
            _ => false,
        };
        if !matches!(key.as_str(), "do" | "at" | "box") && !empty {
            let what = "opening a box is no reading and has no conditions";
            return wrong(key, what, key, "do, at and box alone");
        }
    }
    let at = asked.get("at").and_then(Node::word).map(std::borrow::Cow::into_owned);
    let known = |name: &str| items(&job.boxes).iter().find(|known| known.name == name);
    let seen = asked.get("box").cloned().unwrap_or_default();
    let named = seen.get("name").and_then(Node::word).map(std::borrow::Cow::into_owned);
    let name = match (at, named) {
        (Some(at), Some(named)) if at != named => {
            return wrong("at", "at and the name of the box are not the same", &at, &named);
        }
        (Some(name), _) | (None, Some(name)) => name,
        (None, None) => return wrong("at", "it is not said which box was opened", "open", "the box's name"),
    };
    let before = known(&name);
    if before.is_some_and(|known| known.opened == Some(true)) {
        let instead = "a reading at it, or correct what was seen in the job file";
        return wrong("at", "this box is opened already", &name, instead);
    }
    let mut outlet: JobBox = read_node(&filled(&seen, &name, before)).map_err(within_box)?;
    if *outlet.opened.get_or_insert(true) {
        return Ok(outlet);
    }
    wrong("box", "the box is said not to be opened", "opened: false", "opened: true, or leave it out")
}

/// The box as it was seen, with what was known of it where nothing else is said.
fn filled(seen: &Node, name: &str, before: Option<&JobBox>) -> Node {
    let Node::Map(fields) = seen else { return seen.clone() };
    let mut fields = fields.clone();
    let mut known = match before.map(Field::write) {
        Some(Node::Map(known)) => known,
        _ => Vec::new(),
    };
    known.retain(|(key, _)| key != "opened");
    known.push(("name".to_owned(), Node::text(name)));
    for (key, value) in known {
        if !fields.iter().any(|(said, _)| *said == key) {
            fields.push((key, value));
        }
    }
    Node::Map(fields)
}

fn within_box(problems: Vec<Problem>) -> Vec<Problem> {
    problems
        .into_iter()
        .map(|mut problem| {
            problem.spot.path.0.insert(0, Step::Key("box".to_owned()));
            problem
        })
        .collect()
}
