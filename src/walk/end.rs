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

/// Under so many ohms two points count as joined: more than any lead and wire, less than any load on the circuit.
const SHORT: f64 = 10.0;

/// From so many volts on a screw shell is no longer left so.
const LIVE: f64 = 30.0;

/// The step at hand; nothing where the plan is done.
pub fn step(stand: &Stand) -> Option<Step> {
    let advice = stand.advice?;
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
    let (at, text, refused) = all.into_iter().nth(stand.place.index())?;
    Some(Step { at, text, refused, of })
}

/// Whether power must stay off: something must not be put back, or was not.
fn unsafe_to_power(stand: &Stand) -> bool {
    let landing = stand.advice.map(|advice| advice.verdict.landing.as_slice()).unwrap_or_default();
    landing.iter().any(|landing| matches!(landing, Landing::Refused { .. }))
        || items(&stand.job.done).iter().any(|said| said.starts_with(NOT_DONE))
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let service = |ask: &str| Screen::new("Return to service", ask);
    match stand.place.stage {
        Stage::Landing => landing_screen(stand),
        Stage::ToNeutral => service("Ohms from line to neutral, the lowest of all switch positions?")
            .line(Tone::Caution, "CAUTION:", "Supply still off, lamp out, all plates still open.")
            .say("Where line and neutral come in, in every position of the switches."),
        Stage::ToMetal => service("Ohms from line to metal, the lowest of all switch positions?")
            .say("To the box, the plate screws, the grounding conductor where there is one."),
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
        Stage::Shell => service("Volts from the screw shell to earth, with the light switched off?")
            .line(
                Tone::Caution,
                "CAUTION:",
                "Live work: lamp out, tester to the shell, nothing else touched.",
            )
            .empty("not taken"),
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
        None if stand.place.index() == 0 => {
            Screen::new("Put back", "Everything back as it was found, and covered last?")
                .say("Nothing has to change. What was lifted or taken off goes back where it was.")
                .choose(&[("y", "yes"), ("n", "no")])
        }
        None => {
            Screen::new("Put back", "Go on to the checks before power?").choose(&[("y", "yes"), ("n", "no")])
        }
    }
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
            let edit = done(stand, format!("{}: {}", step.at, step.text));
            Reply::edit(edit, stand.place.next())
        }
        (Some(_), Some(_)) => not_done(stand),
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
            let edit = done(stand, format!("{NOT_DONE} {}: {}", step.at, step.text));
            Reply::edit(edit, stand.place.next())
        }
        None => Reply::to(stand.place.to(Stage::ToNeutral)),
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
    let word = match screen(stand).chosen(text) {
        Some("l") => "lit",
        Some("d") => "dark",
        Some("m") => "dim",
        Some(_) => "trips",
        None => return stand.again(),
    };
    let words = in_words(&positions(stand, stand.place.index()));
    let edit = done(stand, format!("After the work, {words}: {word}."));
    if word == "trips" {
        return Reply::edit(edit, stand.place.to(Stage::ToNeutral))
            .saying("Supply off and left off. The dead ohms again, in every position.");
    }
    let mut next = stand.place.next();
    next.proven = None;
    next.lit.get_or_insert_default().push(word.to_owned());
    if next.index() < all_positions(stand) {
        return Reply::edit(edit, next);
    }
    let lit: Vec<bool> = items(&next.lit).iter().map(|word| word == "lit").collect();
    // In this order one switch moves at a time, so each must change the light.
    let works =
        lit.windows(2).all(|two| two[0] != two[1]) && items(&next.lit).iter().all(|word| word != "dim");
    let said = if works {
        "The light works from every switch."
    } else {
        "The light does not work from every switch: something is still wrong."
    };
    let edit = Edit::together([edit, Edit::default()]);
    Reply::edit(edit, Place { lit: None, ..next.to(Stage::Shell) }).saying(said)
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
    let edit = done(stand, format!("Screw shell to earth with the light off: {volts} V."));
    if volts >= LIVE {
        return Reply::edit(edit, stand.place.to(Stage::Shell)).saying(
            "The shell is live with the light off: supply off, and look at the light's two wires again.",
        );
    }
    Reply::edit(edit, place)
}
