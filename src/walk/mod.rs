//! The guided call, as a state machine: a call, a place and an answer make an edit, another place and a screen. Nothing
//! here asks, prints or saves; whoever drives it does, after every answer.
//!
//! `step` is one step and hands it to a room of questions: `opening` the head of the call, `customer` what is said of
//! the light, `survey` what is in a box, `dead` proving dead, `work` the readings, `end` landing, `service` the return to
//! service, `aside` what can be said at any question. A [`place::Place`] is kept in the history of the job, so that the
//! next walk goes on at the very question.

mod advice;
mod aside;
mod customer;
mod dead;
mod end;
mod opening;
pub mod own;
pub mod place;
mod screen;
mod service;
mod step;
mod survey;
mod work;

use advice::Advised;
pub use advice::{Advice, Adviser, Engine};
pub use place::{Place, Stage};
pub use screen::{Choice, Line, Screen};
pub use step::{Now, Page};

use crate::call::Call;
use crate::call::check::check;
use crate::call::edit::{self, Stuck};
use crate::call::job::{Field, Job, Problem};
use crate::show::{readings, replay, text};
use step::{Move, Reply, Stand};

/// A call that is being walked through.
pub struct Walk<A> {
    job: Job,
    call: Call,
    place: Place,
    advice: Option<Advice>,
    adviser: A,
    /// What was last advised, and on what.
    advised: Option<Advised>,
}

/// What came of an answer.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Turn {
    /// What to say.
    pub says: Vec<String>,
    /// What to show.
    pub pages: Vec<Page>,
    /// Whether the job is another one now, and must be saved before anything else.
    pub changed: bool,
    /// Whether the person has had enough.
    pub stop: bool,
}

impl<A: Adviser> Walk<A> {
    /// Goes on with a job where it was left. A proof of a box does not outlive that.
    ///
    /// # Errors
    /// A job that makes no sense.
    pub fn resume(job: Job, adviser: A) -> Result<Walk<A>, Vec<Problem>> {
        let (call, _) = check(&job)?;
        let place = Place::of(&job).resumed();
        let mut walk = Walk { job, call, place, advice: None, adviser, advised: None };
        walk.advise();
        Ok(walk)
    }

    /// The job as it is now.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// What it means.
    pub fn call(&self) -> &Call {
        &self.call
    }

    /// Where the person stands.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// How the call stands, once that is looked at.
    pub fn advice(&self) -> Option<&Advice> {
        self.advice.as_ref()
    }

    /// What is asked.
    pub fn screen(&self) -> Screen {
        let now = Now::default();
        let stand = self.stand(&now);
        use Stage::*;
        // How many wirings are left is of interest as long as readings are taken.
        let reads = matches!(self.place.stage, Work | Change | Instead | Own | Conditions);
        Screen { status: aside::status(&stand).filter(|_| reads), ..step::screen(&stand) }
    }

    /// Takes an answer.
    pub fn answer(&mut self, text: &str, now: &Now) -> Turn {
        match step::answer(&self.stand(now), text) {
            Reply::Say(says) => Turn { says, ..Turn::default() },
            Reply::Stop => Turn { stop: true, ..Turn::default() },
            Reply::Undo => self.undo(),
            Reply::Go(step) => self.go(*step),
        }
    }

    fn stand<'a>(&'a self, now: &'a Now) -> Stand<'a> {
        Stand { job: &self.job, call: &self.call, place: &self.place, advice: self.advice.as_ref(), now }
    }

    fn go(&mut self, step: Move) -> Turn {
        let Move { edit, place, mut says, pages } = step;
        let made = edit.from_place(place.write()).apply(&self.job);
        let checked = made.and_then(|job| check(&job).map(|(call, _)| (job, call)));
        let (job, call) = match checked {
            Ok(made) => made,
            Err(problems) => {
                says = step::not_taken(&problems);
                return Turn { says, ..Turn::default() };
            }
        };
        let read = (call.readings.len() > self.call.readings.len()).then_some(call.readings.len());
        (self.job, self.call, self.place) = (job, call, place);
        let before = self.advice.take();
        self.advise();
        if let Some(number) = read {
            let said = self.call.readings.last().map(|reading| readings::answers(&self.call.house, reading));
            says.insert(0, format!("Reading {number}: {}.", said.unwrap_or_default()));
        }
        says.extend(before.as_ref().and_then(|before| self.told(before, read.is_some())));
        Turn { says, pages, changed: true, stop: false }
    }

    /// What an answer settled, and how many wirings are left.
    fn told(&self, before: &Advice, read: bool) -> Option<String> {
        let after = self.advice.as_ref()?;
        if !read && before.verdict == after.verdict {
            return None;
        }
        let changed = replay::changed(&before.verdict, &after.verdict);
        let (left, were) = (after.verdict.candidates.wirings, before.verdict.candidates.wirings);
        let now = text::count(left, "wiring fits", "wirings fit");
        // A reading may lead to what was not thought of.
        Some(if left > were {
            format!("{changed} {now}.")
        } else {
            format!("{changed} {now}, {were} before.")
        })
    }

    fn undo(&mut self) -> Turn {
        let (job, said) = match edit::undo(&self.job) {
            Ok(undone) => (undone.job, "Taken back.".to_owned()),
            Err(Stuck::Nothing) => {
                return Turn { says: vec![format!("{}.", Stuck::Nothing)], ..Turn::default() };
            }
            Err(stuck) => (Job { history: None, ..self.job.clone() }, format!("{stuck}.")),
        };
        let Ok((call, _)) = check(&job) else {
            return Turn {
                says: vec!["What was before makes no sense as a job.".to_owned()],
                ..Turn::default()
            };
        };
        let place = Place::of(&job).still_proven(&self.place);
        (self.job, self.call, self.place) = (job, call, place);
        self.advise();
        Turn { says: vec![said], changed: true, ..Turn::default() }
    }

    /// Whether anything depends on how the call stands: not before its head is told, and not for what is said in between
    /// then, which need not wait for it.
    fn needs_advice(&self) -> bool {
        use Stage::*;
        let told = self.place.back.is_none() || !self.place.back().is_before_readings();
        let asked = matches!(
            self.place.stage,
            Work | Landing
                | ToNeutral
                | ToMetal
                | Position
                | Shell
                | Note
                | Done
                | Change
                | Instead
                | Own
                | Conditions
        );
        told && asked
    }

    /// Asks the engine where it is needed.
    fn advise(&mut self) {
        // Without a light and a switch nothing can be worked out.
        let house = &self.call.house;
        let enough = house.lights().next().is_some() && house.switches().next().is_some();
        if !self.needs_advice() || !enough {
            self.advice = None;
            return;
        }
        // Many an answer changes nothing that the engine looks at.
        let known = self.advised.take().filter(|advised| advised.holds(&self.call, &self.place));
        let advised = known.unwrap_or_else(|| Advised::new(&mut self.adviser, &self.call, &self.place));
        self.advice = Some(self.advised.insert(advised).advice().clone());
    }
}
