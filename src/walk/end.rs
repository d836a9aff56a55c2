//! The end of a call: the landing plan step by step, the return to service, the note.

use super::opening::{all_positions, in_words, positions};
use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Page, Reply, Stand};
use crate::call::edit::Edit;
use crate::call::job::{Do, JobAnswer, Prose, items};
use crate::call::typed;
use crate::show::palette::Tone;
use crate::show::verdict::landing_steps;
use crate::verdict::Landing;

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

/// Under so many ohms two points count as joined: more than any lead and wire, less than any load on the circuit.
const SHORT: f64 = 10.0;

/// From so many volts on a screw shell is no longer left so.
const LIVE: f64 = 30.0;

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
    let mut all = Vec::new();
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

/// The step at hand; nothing where the plan is done.
pub fn step(stand: &Stand) -> Option<Step> {
    plan(stand).into_iter().nth(stand.place.index())
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
    let rest = stand.place.index() + 1..plan.len();
    let open = |at: &usize| plan[*at].is_done(stand) != Some(true);
    at_step(stand, rest.clone().find(open).unwrap_or(plan.len()))
}

/// Whether power must stay off: something must not be put back, or was not.
fn unsafe_to_power(stand: &Stand) -> bool {
    plan(stand).iter().any(|step| step.refused) || !left(stand).is_empty()
}

/// Power was on and something is wrong: every proof has lapsed, and the plan is gone through again.
fn again(stand: &Stand, why: &str) -> Reply {
    let place = Place { proven: None, ..stand.place.to(Stage::Landing) };
    Reply::edit(done(stand, format!("{AGAIN} {why}")), place)
        .saying("Supply off, and left off. Every wire that was landed is looked at again.")
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let service = |ask: &str| Screen::new("Return to service", ask);
    match stand.place.stage {
        Stage::Landing => landing_screen(stand),
        Stage::ToNeutral => service("Ohms from line to neutral, the lowest of all switch positions?")
            .line(Tone::Caution, "CAUTION:", "Supply still off, lamp out, all plates still open.")
            .say("Where line and neutral come in, in every position of the switches; what else is on the circuit unplugged or off."),
        Stage::ToMetal => service("Ohms from line to metal, the lowest of all switch positions?")
            .say("To the box, the plate screws, the grounding conductor where there is one. No metal: OL."),
        Stage::Position if stand.place.index() >= all_positions(stand) => not_working(stand),
        Stage::Position => {
            let at = stand.place.index();
            let words = in_words(&positions(stand, at));
            let screen = service(&format!("With {words}: how is the light?"));
            let screen = if at == 0 {
                screen.line(
                    Tone::Caution,
                    "CAUTION:",
                    "Joints made and covered, hands out, lamp in, then the power on.",
                )
            } else {
                screen
            };
            screen.choose(&[("l", "lit"), ("d", "dark"), ("m", "dim"), ("t", "the breaker trips")])
        }
        Stage::Shell => {
            let off = in_words(&positions(stand, stand.place.index()));
            service("Volts from the screw shell to earth, with the light switched off?")
                .line(Tone::Caution, "CAUTION:", "Supply off, lamp out, hands out; then the power on. Live work: tester to the shell, nothing else touched.")
                .line(Tone::Plain, "With:", off)
                .empty("not taken")
        }
        Stage::Note => Screen::new("The note", "Show the customer's note now?")
            .choose(&[("y", "yes"), ("n", "no")])
            .empty("yes"),
        _ => Screen::new("Done", "Anything else? undo, change and own still work.")
            .say("The call is written down. lath note JOB writes the note, lath tags JOB the tags.")
            .empty("end"),
    }
}

fn landing_screen(stand: &Stand) -> Screen {
    match step(stand) {
        Some(step) if step.refused => {
            Screen::new(format!("{}: not to be put back so", step.at), "Left safe?")
                .line(Tone::Danger, "CAUTION:", step.text)
                .choose(&[("y", "yes, left so"), ("n", "no")])
        }
        Some(step) => {
            let title = format!("Put back: {}, step {} of {}", step.at, stand.place.index() + 1, step.of);
            Screen::new(title, "Done?").say(step.text).choose(&[("y", "done"), ("n", "not done")])
        }
        None if stand.place.index() == 0 => Screen::new("Put back", "Is everything back as it was found?")
            .say("Nothing has to change. What was lifted or taken off goes back where it was; plates stay open.")
            .choose(&[("y", "yes"), ("n", "no, stop here")]),
        None => {
            let left: Vec<String> = left(stand).iter().map(|at| (at + 1).to_string()).collect();
            let screen = Screen::new("Put back", "Go on to the checks before power?");
            if left.is_empty() {
                return screen.choose(&[("y", "yes"), ("n", "no, stop here")]);
            }
            let screen = Screen { ask: "What now?".to_owned(), ..screen };
            screen.say(format!("Not done: step {}.", left.join(", "))).choose(&[
                ("a", "what was left, now"),
                ("y", "it stays out of service"),
                ("n", "stop here"),
            ])
        }
    }
}

/// After the last position: the light did not change with every switch that was moved.
fn not_working(stand: &Stand) -> Screen {
    let screen = Screen::new("Return to service", "What now?").line(
        Tone::Caution,
        "CAUTION:",
        "The light does not work from every switch: something is still wrong.",
    );
    let each = items(&stand.place.lit).iter().enumerate();
    each.fold(screen, |screen, (at, word)| {
        screen.line(Tone::Plain, "-", format!("{}: {word}", in_words(&positions(stand, at))))
    })
    .choose(&[("a", "supply off, and the wires again"), ("l", "it is left so")])
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        Stage::Landing => landing(stand, text),
        Stage::ToNeutral => dead_ohms(stand, text, "line to neutral", Stage::ToMetal),
        Stage::ToMetal => dead_ohms(stand, text, "line to metal", Stage::Position),
        Stage::Position => position(stand, text),
        Stage::Shell => shell(stand, text),
        Stage::Note => match screen(stand).chosen(if text.is_empty() { "y" } else { text }) {
            Some("y") => Reply::to(stand.place.to(Stage::Done)).showing(&[Page::Note]),
            Some(_) => Reply::to(stand.place.to(Stage::Done)),
            None => stand.again(),
        },
        _ if text.is_empty() => Reply::Stop,
        _ => stand.again(),
    }
}

fn done(stand: &Stand, text: String) -> Edit {
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

fn dead_ohms(stand: &Stand, text: &str, what: &str, next: Stage) -> Reply {
    let answer = typed::answer(Do::Ohms, None, text);
    let (ohms, said) = match &answer {
        JobAnswer::Number(ohms) => (*ohms, format!("{ohms} ohms")),
        JobAnswer::Word(word) if word == "OL" || word == "open" || word == "silent" => {
            (f64::INFINITY, "open".to_owned())
        }
        JobAnswer::Word(word) if word == "closed" || word == "beep" => (0.0, "closed".to_owned()),
        JobAnswer::Word(_) => return Reply::say("Ohms as the meter shows them, or OL."),
    };
    let edit = done(stand, format!("Before power, lamp out, every switch position, {what}: {said}."));
    if ohms < SHORT {
        return Reply::edit(edit, stand.place.clone())
            .saying("That is a short. The supply stays off: find it, and measure again.");
    }
    Reply::edit(edit, stand.place.to(next))
}

fn position(stand: &Stand, text: &str) -> Reply {
    let Some(key) = screen(stand).chosen(text).map(str::to_owned) else { return stand.again() };
    let words = in_words(&positions(stand, stand.place.index()));
    let word = match key.as_str() {
        "a" => return again(stand, "the light does not work from every switch."),
        "l" if stand.place.index() >= all_positions(stand) => {
            let said = "The light does not work from every switch, and was left so.";
            return Reply::edit(done(stand, said.to_owned()), stand.place.to(Stage::Note)).saying(said);
        }
        "l" => "lit",
        "d" => "dark",
        "m" => "dim",
        _ => return again(stand, &format!("with {words} the breaker trips.")),
    };
    let edit = done(stand, format!("After the work, {words}: {word}."));
    let mut next = stand.place.next();
    next.proven = None;
    next.lit.get_or_insert_default().push(word.to_owned());
    if next.index() < all_positions(stand) {
        return Reply::edit(edit, next);
    }
    let lit = items(&next.lit);
    // In this order one switch moves at a time, so each must change the light.
    let works = lit.windows(2).all(|two| (two[0] == "lit") != (two[1] == "lit"))
        && lit.iter().all(|word| word != "dim");
    if !works {
        return Reply::edit(edit, next);
    }
    let dark = lit.iter().position(|word| word != "lit");
    let place = at_step(&Stand { place: &next.to(Stage::Shell), ..*stand }, dark.unwrap_or(0));
    Reply::edit(edit, place).saying("The light works from every switch.")
}

fn shell(stand: &Stand, text: &str) -> Reply {
    let place = stand.place.to(Stage::Note);
    if text.is_empty() {
        return Reply::edit(
            done(stand, "Screw shell to earth with the light off: not taken.".to_owned()),
            place,
        );
    }
    let JobAnswer::Number(volts) = typed::answer(Do::Volts, None, text) else {
        return Reply::say("Volts, as the meter shows them.");
    };
    if volts >= LIVE {
        return again(stand, &format!("the screw shell reads {volts} V to earth with the light off."));
    }
    let edit = done(stand, format!("Screw shell to earth with the light off: {volts} V."));
    Reply::edit(edit, place)
}
