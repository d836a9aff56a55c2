//! One step: a call, a place and an answer make an edit, another place and something to say.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::{Advice, aside, dead, end, opening, survey, work};
use crate::call::Call;
use crate::call::edit::Edit;
use crate::call::job::{Field, Job, JobBox, Problem, items};

/// Day and time, which come from outside.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Now {
    /// `YYYY-MM-DD`.
    pub day: String,
    /// `HH:MM`.
    pub time: String,
}

/// All that a step looks at.
#[derive(Clone, Copy)]
pub struct Stand<'a> {
    /// What the file says.
    pub job: &'a Job,
    /// What it means.
    pub call: &'a Call,
    /// Where the person stands.
    pub place: &'a Place,
    /// How the call stands; only where it is needed.
    pub advice: Option<&'a Advice>,
    /// Day and time.
    pub now: &'a Now,
}

/// Something longer to show.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Page {
    /// The verdict.
    Verdict,
    /// The tags.
    Tags,
    /// The customer's note.
    Note,
}

/// What an answer leads to.
#[derive(Clone, PartialEq, Debug)]
pub enum Reply {
    /// A change, and another place.
    Go(Box<Move>),
    /// Nothing but words: the question is asked again.
    Say(Vec<String>),
    /// The last answer is taken back.
    Undo,
    /// Enough for now.
    Stop,
}

/// A change, and where it leads.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Move {
    /// The change.
    pub edit: Edit,
    /// Where the person stands after it.
    pub place: Place,
    /// What is said of it.
    pub says: Vec<String>,
    /// What is shown after it.
    pub pages: Vec<Page>,
}

impl Reply {
    /// Another place, and no change.
    pub fn to(place: Place) -> Reply {
        Reply::edit(Edit::default(), place)
    }

    /// A change, and another place.
    pub fn edit(edit: Edit, place: Place) -> Reply {
        Reply::Go(Box::new(Move { edit, place, ..Move::default() }))
    }

    /// One line, and the question again.
    pub fn say(text: impl Into<String>) -> Reply {
        Reply::Say(vec![text.into()])
    }

    /// The same with a line to say.
    pub fn saying(self, text: impl Into<String>) -> Reply {
        match self {
            Reply::Go(mut step) => {
                step.says.push(text.into());
                Reply::Go(step)
            }
            other => other,
        }
    }

    /// The same with something to show.
    pub fn showing(self, pages: &[Page]) -> Reply {
        match self {
            Reply::Go(mut step) => {
                step.pages.extend(pages);
                Reply::Go(step)
            }
            other => other,
        }
    }
}

impl<'a> Stand<'a> {
    /// The boxes.
    pub fn boxes(&self) -> &'a [JobBox] {
        items(&self.job.boxes)
    }

    /// The box of a name.
    pub fn outlet(&self, name: &str) -> Option<&'a JobBox> {
        self.boxes().iter().find(|outlet| outlet.name == name)
    }

    /// The same question again, saying what is wrong with the answer.
    pub fn again(&self) -> Reply {
        let screen = screen(self);
        let keys: Vec<&str> = screen.choices.iter().map(|choice| choice.key.as_str()).collect();
        Reply::say(if keys.is_empty() {
            "That is not understood here. Type help for what can be said at any question.".to_owned()
        } else {
            format!("That is none of the answers: type one of {}, or help.", keys.join(", "))
        })
    }
}

/// What is wrong with something that was not written down.
pub fn not_taken(problems: &[Problem]) -> Vec<String> {
    let said = |problem: &Problem| {
        let Problem { what, found, instead, .. } = problem;
        format!("Not taken: {what}; found \"{found}\"; write {instead}")
    };
    let mut says: Vec<String> = problems.iter().map(said).collect();
    says.dedup();
    says.truncate(2);
    says
}

/// A field of the document as an edit.
pub fn field<T: Field>(name: &str, value: &T) -> Edit {
    Edit::field(name, Some(value))
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    if let Some(at) = dead::wanted(stand) {
        return dead::screen(stand, &at);
    }
    use Stage::*;
    match stand.place.stage {
        Safety | Title | Site | Who | Complaint | Changed | Worked | Built | Instruments | LowOhms
        | Circuit | Reference | Proven | Light | Lamp | Reach | Switch | Kind | Goal | Customer => {
            opening::screen(stand)
        }
        Sheath | Cables | Devices | Screw | Splice | Confirm | Seen => survey::screen(stand),
        Work => work::screen(stand),
        Change | Instead | Own | Conditions => aside::screen(stand),
        Landing | ToNeutral | ToMetal | Position | Shell | Note | Done => end::screen(stand),
    }
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    let text = text.trim();
    let reply = aside::command(stand, text).unwrap_or_else(|| to_the_question(stand, text));
    match reply {
        // The card had the power put on: whatever is done instead of the reading, no proof holds any more.
        Reply::Go(mut step) if work::has_power_on(stand) => {
            step.place.proven = None;
            Reply::Go(step)
        }
        reply => reply,
    }
}

fn to_the_question(stand: &Stand, text: &str) -> Reply {
    if let Some(at) = dead::wanted(stand) {
        return dead::answer(stand, &at, text);
    }
    use Stage::*;
    match stand.place.stage {
        Safety | Title | Site | Who | Complaint | Changed | Worked | Built | Instruments | LowOhms
        | Circuit | Reference | Proven | Light | Lamp | Reach | Switch | Kind | Goal | Customer => {
            opening::answer(stand, text)
        }
        Sheath | Cables | Devices | Screw | Splice | Confirm | Seen => survey::answer(stand, text),
        Work => work::answer(stand, text),
        Change | Instead | Own | Conditions => aside::answer(stand, text),
        Landing | ToNeutral | ToMetal | Position | Shell | Note | Done => end::answer(stand, text),
    }
}
