//! The end of a call: the landing plan step by step, then the return to service, the note.

use super::place::{Place, Stage};
use super::screen::{Line, Screen};
use super::service;
use super::step::{Page, Reply, Stand};
use crate::call::edit::Edit;
use crate::call::job::{Prose, items};
use crate::show::palette::Tone;
use crate::show::verdict::landing_steps;
use crate::verdict::{Landing, SETTLED};

/// One step of the landing plan.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// The box.
    pub at: String,
    /// What to do.
    pub text: String,
    /// Whether it must not be put back.
    pub refused: bool,
    /// Which of how many.
    pub of: usize,
}

/// How a step that was left is written down.
const NOT_DONE: &str = "Not done,";

/// How it is written down that the plan is gone through once more; what was done before counts no longer.
const AGAIN: &str = "Supply off, and every wire looked at again:";

impl Step {
    fn said(&self) -> String {
        format!("{}: {}", self.at, self.text)
    }

    /// Whether it was done, or left, since the plan was begun; nothing where neither is said yet.
    fn is_done(&self, stand: &Stand) -> Option<bool> {
        let all = items(&stand.job.done);
        let from = all.iter().rposition(|said| said.starts_with(AGAIN)).map_or(0, |at| at + 1);
        let (done, left) = (self.said(), format!("{NOT_DONE} {}", self.said()));
        let last = all[from..].iter().rev().find(|said| said.0 == done || said.0 == left)?;
        Some(last.0 == done)
    }
}

/// The steps of the landing plan.
fn plan(stand: &Stand) -> Vec<Step> {
    let Some(advice) = stand.advice else { return Vec::new() };
    let jumper = |pair: &[String; 2]| {
        let at = pair[0].split_once('/').map_or_else(String::new, |(at, _)| at.to_owned());
        (at, crate::show::next::take_off(pair), false)
    };
    let mut all: Vec<(String, String, bool)> = advice.next.still_on.iter().map(jumper).collect();
    for landing in &advice.verdict.landing {
        match landing {
            Landing::Joints { at, joints } => {
                let steps = landing_steps(stand.call, &advice.verdict, at, joints);
                all.extend(steps.into_iter().map(|text| (at.clone(), text, false)));
            }
            Landing::Refused { at, refuse, leave } => {
                all.push((at.clone(), format!("{refuse} Leave it so: {leave}"), true));
            }
        }
    }
    let of = all.len();
    all.into_iter().map(|(at, text, refused)| Step { at, text, refused, of }).collect()
}

/// The number of the step at hand, from 0; that of all steps where the plan is done. A reading in between may have changed
/// the plan: what was done stays done, and what nobody has come to yet is not passed over.
fn at_hand(stand: &Stand, plan: &[Step]) -> usize {
    let said: Vec<Option<bool>> = plan.iter().map(|step| step.is_done(stand)).collect();
    let new = said.iter().position(Option::is_none);
    let next = (stand.place.index()..plan.len()).find(|at| said[*at] != Some(true));
    new.into_iter().chain(next).min().unwrap_or(plan.len())
}

/// The step at hand; nothing where the plan is done.
pub fn step(stand: &Stand) -> Option<Step> {
    let plan = plan(stand);
    let at = at_hand(stand, &plan);
    plan.into_iter().nth(at)
}

/// How far the plan is carried out, in words; nothing where there is none.
pub fn progress(stand: &Stand) -> Option<String> {
    let plan = plan(stand);
    if plan.is_empty() {
        return None;
    }
    let done = plan.iter().filter(|step| step.is_done(stand) == Some(true)).count();
    let all = crate::show::text::count(plan.len(), "step", "steps");
    let left = match left(stand).as_slice() {
        [] => String::new(),
        left => format!("; left: {}", numbers(left)),
    };
    Some(format!("{done} of {all} of putting back done{left}."))
}

/// Steps by their numbers, as they are shown.
fn numbers(steps: &[usize]) -> String {
    steps.iter().map(|at| (at + 1).to_string()).collect::<Vec<_>>().join(", ")
}

/// The steps that were left, by their numbers in the plan.
fn left(stand: &Stand) -> Vec<usize> {
    let all = plan(stand).into_iter().enumerate();
    all.filter(|(_, step)| step.is_done(stand) == Some(false)).map(|(at, _)| at).collect()
}

/// The place at one of the steps, or behind the last.
fn at_step(stand: &Stand, at: usize) -> Place {
    Place { step: i64::try_from(at).ok(), ..stand.place.clone() }
}

/// The next step that is not done yet.
fn next_step(stand: &Stand) -> Place {
    let plan = plan(stand);
    let rest = at_hand(stand, &plan) + 1..plan.len();
    let open = |at: &usize| plan[*at].is_done(stand) != Some(true);
    at_step(stand, rest.clone().find(open).unwrap_or(plan.len()))
}

/// Whether power must stay off: something must not be put back, or was not.
fn unsafe_to_power(stand: &Stand) -> bool {
    plan(stand).iter().any(|step| step.refused) || !left(stand).is_empty()
}

/// Power was on and something is wrong: every proof has lapsed, and the plan is gone through again.
pub fn again(stand: &Stand, why: &str) -> Reply {
    let place = Place { proven: None, ..stand.place.to(Stage::Landing) };
    Reply::edit(done(stand, format!("{AGAIN} {why}")), place)
        .saying("Supply off, and left off. Every wire that was landed is looked at again.")
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    match stand.place.stage {
        Stage::Landing => landing_screen(stand),
        Stage::ToNeutral | Stage::ToMetal | Stage::Position | Stage::Shell => service::screen(stand),
        Stage::Note => Screen::new("The note", "Show the customer's note now?")
            .choose(&[("y", "yes"), ("n", "no")])
            .empty("yes"),
        _ => Screen::new("Done", "Anything else? undo, change and own still work.")
            .say("The call is written down. lath note JOB writes the note, lath tags JOB the tags.")
            .empty("end"),
    }
}

fn landing_screen(stand: &Stand) -> Screen {
    let mut screen = landing_step(stand);
    let wires = stand.advice.map(|advice| advice.verdict.wires.as_slice()).unwrap_or_default();
    let open = wires.iter().filter(|wire| wire.p < SETTLED).count();
    if open > 0 {
        let says = format!(
            "{open} of {} wire ends are not settled, and none of those is moved. undo goes back to the readings.",
            wires.len()
        );
        screen
            .lines
            .insert(0, Line { tone: Tone::Caution, lead: "CAUTION:".to_owned(), text: says, drawn: None });
    }
    screen
}

fn landing_step(stand: &Stand) -> Screen {
    match step(stand) {
        Some(step) if step.refused => {
            Screen::new(format!("{}: not to be put back so", step.at), "Left safe?")
                .line(Tone::Danger, "CAUTION:", step.text)
                .choose(&[("y", "yes, left so"), ("n", "no")])
        }
        Some(step) => {
            let title = format!("Put back: {}, step {} of {}", step.at, at_hand(stand, &plan(stand)) + 1, step.of);
            Screen::new(title, "Done?").say(step.text).choose(&[("y", "done"), ("n", "not done")])
        }
        None if stand.place.index() == 0 => Screen::new("Put back", "Is everything back as it was found?")
            .say("Nothing has to change. What was lifted or taken off goes back where it was; plates stay open.")
            .choose(&[("y", "yes"), ("n", "no, stop here")]),
        None => {
            let left = left(stand);
            let screen = Screen::new("Put back", "Go on to the checks before power?");
            if left.is_empty() {
                return screen.choose(&[("y", "yes"), ("n", "no, stop here")]);
            }
            let screen = Screen { ask: "What now?".to_owned(), ..screen };
            screen.say(format!("Not done: step {}.", numbers(&left))).choose(&[
                ("a", "what was left, now"),
                ("y", "it stays out of service"),
                ("n", "stop here"),
            ])
        }
    }
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        Stage::Landing => landing(stand, text),
        Stage::ToNeutral | Stage::ToMetal | Stage::Position | Stage::Shell => service::answer(stand, text),
        Stage::Note => match screen(stand).chosen(if text.is_empty() { "y" } else { text }) {
            Some("y") => Reply::to(stand.place.to(Stage::Done)).showing(&[Page::Note]),
            Some(_) => Reply::to(stand.place.to(Stage::Done)),
            None => stand.again(),
        },
        _ if text.is_empty() => Reply::Stop,
        _ => stand.again(),
    }
}

/// Something that was done, for the note.
pub fn done(stand: &Stand, text: String) -> Edit {
    Edit::done(stand.job, &Prose(text))
}

fn landing(stand: &Stand, text: &str) -> Reply {
    let key = screen(stand).chosen(text).map(str::to_owned);
    match (step(stand), key.as_deref()) {
        (Some(step), Some("y")) => {
            // What was just done is not left any more, wherever the next step is.
            Reply::edit(done(stand, step.said()), next_step(stand))
        }
        (Some(_), Some(_)) => not_done(stand),
        (None, Some("a")) => {
            let first = left(stand).first().copied().unwrap_or(0);
            Reply::to(at_step(stand, first))
        }
        (None, Some("y")) if unsafe_to_power(stand) => {
            let said =
                "It is not put back into service: the supply stays off, or the light's wires stay capped.";
            Reply::edit(done(stand, said.to_owned()), stand.place.to(Stage::Note)).saying(said)
        }
        (None, Some("y")) => Reply::to(stand.place.to(Stage::ToNeutral)),
        (None, Some(_)) => Reply::Stop,
        (_, None) => stand.again(),
    }
}

/// A step that was left.
pub fn not_done(stand: &Stand) -> Reply {
    match step(stand) {
        Some(step) => {
            let edit = done(stand, format!("{NOT_DONE} {}", step.said()));
            Reply::edit(edit, next_step(stand))
        }
        // Nothing has to change, and the box is not proved dead: it is not worked in.
        None => Reply::say("Until that is dead the supply stays off. stop ends here."),
    }
}
