//! The readings: the suggested one on a card, its answer, and what is done instead.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Page, Reply, Stand};
use super::{dead, survey};
use crate::call::edit::Edit;
use crate::call::job::{AllOrEach, Do, JobAnswer, JobReading, JobReads, Pair, Why, items};
use crate::call::{InstrumentKind, LampState, typed};
use crate::plan::Suggestion;
use crate::show::palette::Tone;
use crate::show::{next as told, readings, words};
use crate::verdict::State;

/// The suggestion at hand, where the person has not chosen otherwise.
pub fn suggestion<'a>(stand: &Stand<'a>) -> Option<&'a Suggestion> {
    if stand.place.question.is_some() {
        return None;
    }
    stand.advice.and_then(|advice| advice.next.suggestions.first())
}

/// The question at hand.
pub fn question(stand: &Stand) -> Option<JobReading> {
    stand.place.question.clone().or_else(|| suggestion(stand).map(Suggestion::question))
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    if let Some(at) = dead::told_live(stand) {
        return dead::live_screen(at);
    }
    match (suggestion(stand), question(stand)) {
        (Some(suggestion), Some(question)) => card(stand, &question, suggestion),
        (None, Some(question)) => own_card(stand, &question),
        _ => nothing_left(stand),
    }
}

/// How a step that proves a box dead begins.
fn proves(step: &str, at: &str) -> bool {
    step.strip_prefix("Prove ")
        .and_then(|rest| rest.strip_prefix(at))
        .is_some_and(|rest| rest.starts_with(" dead"))
}

/// What comes before a box is proved dead for the suggestion at hand: cautions, and the steps up to there.
pub fn before_proof(stand: &Stand, at: &str) -> (Vec<String>, Vec<String>) {
    let Some(suggestion) = suggestion(stand) else { return Default::default() };
    let steps = &suggestion.first;
    if suggestion.ask == "open" {
        // Its last step is the proof, and the plate that comes off for it.
        return (suggestion.cautions.clone(), steps[..steps.len().saturating_sub(1)].to_vec());
    }
    let Some(here) = steps.iter().position(|step| proves(step, at)) else { return Default::default() };
    let from = if stand.place.index() <= here { stand.place.index() } else { 0 };
    (Vec::new(), without_proofs(stand, &steps[from..here]))
}

/// The step that follows the proof of a box, where the suggestion at hand has it.
pub fn after_proof(stand: &Stand, at: &str) -> Option<i64> {
    let here = suggestion(stand)?.first.iter().position(|step| proves(step, at))?;
    i64::try_from(here + 1).ok()
}

/// Steps that are no proof: each box is proved on a card of its own.
fn without_proofs(stand: &Stand, steps: &[String]) -> Vec<String> {
    let proof = |step: &&String| stand.boxes().iter().any(|outlet| proves(step, &outlet.name));
    steps.iter().filter(|step| !proof(step)).cloned().collect()
}

fn card(stand: &Stand, question: &JobReading, suggestion: &Suggestion) -> Screen {
    let title = match (question.ask, suggestion.live) {
        (Do::Open, _) => format!("Open {}", suggestion.at.as_deref().unwrap_or("the box")),
        (Do::Watch, _) => "Watch the light".to_owned(),
        (_, true) => "Next reading, LIVE".to_owned(),
        (_, false) => "Next reading, power off".to_owned(),
    };
    let mut screen = Screen::new(title, ask(question));
    if suggestion.live && question.ask != Do::Watch {
        screen = screen.line(Tone::Caution, "CAUTION:", LIVE_WORK);
    }
    for caution in &suggestion.cautions {
        screen = screen.line(Tone::Caution, "CAUTION:", caution);
    }
    let from = stand.place.index().min(suggestion.first.len());
    let first = without_proofs(stand, &suggestion.first[from..]);
    for (at, step) in power(stand, question, &first).into_iter().chain(first).enumerate() {
        screen = screen.line(Tone::Plain, format!("{}.", at + 1), step);
    }
    if question.ask == Do::Open {
        return answers(screen, question);
    }
    let here = at_home(suggestion);
    screen = screen.line(Tone::Heading, "THEN:", told::question(&here));
    screen = screen.line(Tone::Plain, "With:", told::conditions(&here));
    answers(screen, question)
}

/// The step that brings the power back where something was proved dead and a live reading comes next, unless it is among the
/// steps already.
fn power(stand: &Stand, question: &JobReading, first: &[String]) -> Option<String> {
    let is_off = !items(&stand.place.proven).is_empty();
    let says_on = first.iter().any(|step| step.starts_with("Everybody clear"));
    let on = "Everybody clear, hands out of every box, every loose end capped: then the power on.";
    (is_off && dead::is_live(question) && !says_on).then(|| on.to_owned())
}

/// Whether the card that is shown has the power on.
pub fn has_power_on(stand: &Stand) -> bool {
    let at_work = stand.place.stage == Stage::Work && dead::wanted(stand).is_none();
    at_work
        && dead::told_live(stand).is_none()
        && question(stand).is_some_and(|asked| asked.ask != Do::Open && dead::is_live(&asked))
}

/// A suggestion with its points named as they are called in the box where it is done.
fn at_home(suggestion: &Suggestion) -> Suggestion {
    let mut here = suggestion.clone();
    let Some(home) = here.at.as_ref().map(|at| format!("{at}/")) else { return here };
    let short = |point: &mut String| {
        if let Some(rest) = point.strip_prefix(&home) {
            *point = rest.to_owned();
        }
    };
    here.between.iter_mut().flatten().for_each(short);
    here.points.iter_mut().flatten().for_each(short);
    here.to.iter_mut().for_each(short);
    here.around.iter_mut().for_each(short);
    here.lifted.iter_mut().flatten().for_each(short);
    here
}

/// Said on every live card.
const LIVE_WORK: &str = "Live. Hands on the probes' handles only; nothing is moved.";

fn own_card(stand: &Stand, question: &JobReading) -> Screen {
    let title = if dead::is_live(question) { "Your own reading, LIVE" } else { "Your own reading" };
    let mut screen = Screen::new(title, ask(question));
    if dead::is_live(question) && question.ask != Do::Watch {
        screen = screen.line(Tone::Caution, "CAUTION:", LIVE_WORK);
    }
    for (at, step) in lamp(stand, question).into_iter().chain(power(stand, question, &[])).enumerate() {
        screen = screen.line(Tone::Plain, format!("{}.", at + 1), step);
    }
    screen = screen.line(Tone::Heading, "THEN:", readings::asked(question));
    screen = screen.line(Tone::Plain, "With:", super::aside::conditions_in_words(stand, question));
    answers(screen, question)
}

/// The step that changes the lamp, where it was otherwise at the last reading: dead work, before the power is on.
fn lamp(stand: &Stand, question: &JobReading) -> Option<String> {
    let was = items(&stand.job.readings).last().and_then(|last| last.lamp.clone());
    let was = was.unwrap_or(AllOrEach::All(LampState::In));
    let step = match question.lamp.as_ref().filter(|lamp| **lamp != was)? {
        AllOrEach::All(LampState::Out) => "With the supply off, take the lamp out.",
        AllOrEach::All(LampState::Test) => "With the supply off, put a known good incandescent lamp in.",
        _ => "With the supply off, put the lamp in.",
    };
    Some(step.to_owned())
}

/// How the answer is asked for.
fn ask(question: &JobReading) -> String {
    let with = question.with.map(|with| with.kind);
    let one = match (question.ask, with) {
        (Do::Open, _) => return "Is it open, and looked into?".to_owned(),
        (Do::Watch, _) => "How is the light?",
        (Do::Load, _) => "How is the test lamp?",
        (Do::Volts, Some(InstrumentKind::NonContact)) => "Does it alarm? alarm or silent.",
        (Do::Volts, _) => "How many volts?",
        (Do::Ohms, Some(InstrumentKind::Continuity)) => "Does it beep? beep or silent.",
        (Do::Ohms, _) => "How many ohms, or OL?",
        (Do::Amps, _) => "How many amps?",
    };
    let asked = if question.points.is_some() { items(&question.points) } else { items(&question.lights) };
    match asked {
        [] | [_] => one.to_owned(),
        each => format!("{one} {} answers, in that order.", each.len()),
    }
}

fn answers(screen: Screen, question: &JobReading) -> Screen {
    if items(&question.points).len().max(items(&question.lights).len()) > 1 {
        return screen;
    }
    match question.ask {
        Do::Open => screen.choose(&[("y", "yes"), ("l", "later"), ("c", "it cannot be opened")]),
        Do::Watch => {
            screen.choose(&[("l", "lit"), ("d", "dark"), ("m", "dim"), ("g", "glow"), ("t", "trips")])
        }
        Do::Load => screen.choose(&[("b", "bright"), ("d", "dim"), ("n", "none"), ("t", "trips")]),
        _ => screen,
    }
}

fn nothing_left(stand: &Stand) -> Screen {
    let Some(advice) = stand.advice else { return Screen::new("The readings", "") };
    let state = advice.next.state;
    let title = match state {
        State::Settled => "Settled",
        State::Contradiction => "The readings contradict each other",
        State::Open | State::Exhausted => "Nothing in reach tells more",
    };
    let settled = advice.next.wires_settled;
    let sentence = words::state_sentence(state, settled, stand.call.goal, &stand.call.house);
    let mut screen = Screen::new(title, "See the verdict and the tags, and put it back?").say(sentence);
    if let Some(contradiction) = &advice.verdict.contradiction {
        screen = screen.line(Tone::Danger, "CAUTION:", contradiction);
        screen = screen.say("change corrects a reading or a box; change switch adds one that was forgotten.");
    }
    for jumper in &advice.next.still_on {
        screen = screen.line(Tone::Danger, "CAUTION:", crate::show::next::take_off(jumper));
    }
    for help in &advice.next.would_help {
        screen = screen.line(Tone::Plain, "-", help);
    }
    screen.choose(&[("y", "yes"), ("o", "a reading of one's own"), ("s", "stop here for now")]).empty("yes")
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    if let Some(at) = dead::told_live(stand) {
        return dead::live_answer(stand, at, text);
    }
    let Some(question) = question(stand) else { return at_the_end(stand, text) };
    if question.ask == Do::Open {
        let name = question.at.clone().unwrap_or_default();
        return match screen(stand).chosen(text) {
            Some("y") => Reply::to(survey::begin(stand, &name)),
            Some("l") => skip_opening(stand, &name, false),
            Some(_) => skip_opening(stand, &name, true),
            None => stand.again(),
        };
    }
    if text.is_empty() {
        return Reply::say("Nothing was typed. skip puts it off, why says what it is for.");
    }
    let shown = screen(stand);
    let read = shown.chosen_label(text).unwrap_or(text);
    record(stand, &question, read)
}

fn at_the_end(stand: &Stand, text: &str) -> Reply {
    match screen(stand).chosen(if text.is_empty() { "y" } else { text }) {
        Some("y") => enough(stand),
        Some("o") => Reply::to(stand.place.aside(Stage::Own)),
        Some(_) => Reply::Stop,
        None => stand.again(),
    }
}

/// Writes a reading down.
fn record(stand: &Stand, question: &JobReading, text: &str) -> Reply {
    let expected = items(&question.points).len().max(items(&question.lights).len()).max(1);
    let reads = reads(question, text);
    if let JobReads::List(answers) = &reads
        && answers.len() != expected
    {
        return Reply::say(format!(
            "{expected} answers belong here, in the order of the points, and not {}.",
            answers.len()
        ));
    }
    let most = stand.call.house.supply * MOST_OF_SUPPLY;
    if question.ask == Do::Volts && numbers(&reads).any(|volts| volts > most) {
        return Reply::say(format!(
            "Nothing here gives over {most:.0} V: type it again, as the meter shows it."
        ));
    }
    let reading = JobReading { reads: Some(reads), why: None, ..question.clone() };
    let tripped = text.to_lowercase().contains("trip");
    // From now on one stands where it was taken.
    let place = Place { at: None, ..stand.place.after_own() };
    let reply = Reply::edit(Edit::reading(stand.job, &reading), place);
    if tripped {
        reply.saying("Do not reset it into a short: the same is asked dead, or in another position.")
    } else {
        reply
    }
}

/// Between two legs there is twice the supply; far beyond that a figure is a slip of the fingers.
const MOST_OF_SUPPLY: f64 = 2.5;

/// The figures among answers.
fn numbers(reads: &JobReads) -> impl Iterator<Item = f64> {
    let answers: Vec<&JobAnswer> = match reads {
        JobReads::One(answer) => vec![answer],
        JobReads::List(answers) => answers.iter().collect(),
        JobReads::Map(answers) => answers.values().collect(),
    };
    answers.into_iter().filter_map(|answer| match answer {
        JobAnswer::Number(number) => Some(*number),
        JobAnswer::Word(_) => None,
    })
}

/// Units that may stand by themselves after a figure.
const UNITS: [&str; 8] = ["v", "volt", "volts", "vac", "ohm", "ohms", "ω", "amps"];

/// What was typed as answers: one, or one for each point.
pub fn reads(question: &JobReading, text: &str) -> JobReads {
    let with = question.with.map(|with| with.kind);
    let one = |text: &str| typed::answer(question.ask, with, text);
    let count = items(&question.points).len().max(items(&question.lights).len());
    if question.points.is_none() && question.lights.is_none() {
        return JobReads::One(one(text));
    }
    if count == 1 {
        return JobReads::List(vec![one(text)]);
    }
    // `118,4 0` has a comma in a number, `119, 0` between two.
    let by_comma: Vec<&str> = text.split(',').map(str::trim).filter(|part| !part.is_empty()).collect();
    if by_comma.len() == count {
        return JobReads::List(by_comma.into_iter().map(one).collect());
    }
    let mut answers: Vec<JobAnswer> = Vec::new();
    let mut about = String::new();
    for part in text.split_whitespace() {
        if ["about", "~", "around"].contains(&part) {
            about = format!("{part} ");
            continue;
        }
        if !answers.is_empty() && UNITS.contains(&part.trim_end_matches([',', ';']).to_lowercase().as_str()) {
            continue;
        }
        answers.push(one(format!("{about}{part}").trim_end_matches([',', ';'])));
        about.clear();
    }
    JobReads::List(answers)
}

/// Enough was read: the verdict as it is, and what is to be put back.
pub fn enough(stand: &Stand) -> Reply {
    Reply::to(stand.place.to(Stage::Landing)).showing(&[Page::Verdict, Page::Tags])
}

/// The suggestion is put off, or cannot be followed.
pub fn skip(stand: &Stand, cannot: bool) -> Reply {
    if stand.place.question.is_some() {
        return Reply::to(stand.place.after_own()).saying("Your own reading was left.");
    }
    let Some(question) = question(stand) else { return Reply::say("There is nothing to skip here.") };
    let why = if cannot { Why::Cannot } else { Why::Later };
    let question = JobReading {
        why: Some(why),
        out: question.out.filter(|list| !list.is_empty()),
        lifted: question.lifted.filter(|list| !list.is_empty()),
        jumpers: question.jumpers.filter(|list: &Vec<Pair>| !list.is_empty()),
        ..question
    };
    let said = if cannot { "It will not be asked again." } else { "Put off." };
    Reply::edit(Edit::skip(stand.job, &question), stand.place.to(Stage::Work)).saying(said)
}

/// Opening a box is put off, or cannot be done.
pub fn skip_opening(stand: &Stand, name: &str, cannot: bool) -> Reply {
    let mut question = JobReading::new(Do::Open);
    question.at = Some(name.to_owned());
    question.why = Some(if cannot { Why::Cannot } else { Why::Later });
    Reply::edit(Edit::skip(stand.job, &question), stand.place.to(Stage::Work))
        .saying(format!("{name} stays closed."))
}
