//! What can be said at any question: why, skip, undo, change, own, state, help, stop; among the readings, enough.

use super::own::{self, Unclear};
use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand, not_taken};
use super::{customer, dead, opening, survey, work};
use crate::call::check::check;
use crate::call::edit::Edit;
use crate::call::job::{AllOrEach, Do, Field, JobReading, items};
use crate::call::{InstrumentKind, LampState};
use crate::show::{next as told, readings, text, words};
use crate::verdict::{LIKELY, SETTLED, Verdict, WireFound};

const HELP: [&str; 9] = [
    "why: what the question is for. state: how the call stands.",
    "skip: later, or nothing. skip cannot: it cannot be done.",
    "undo: takes the last answer back, and so on to the start.",
    "change: another answer to an earlier question. change BOX: what is in it.",
    "own: a reading of your own choosing, as in: own volts a.black to earth.",
    "enough: no more readings; the verdict as it is, and putting back.",
    "stop: ends here; the next walk goes on at this question.",
    "Readings as they come: 119, 119v, 0, OL, 1.2k, beep, lit, about 60, 110-120, trips.",
    "Everything is in the file after every answer.",
];

/// Whether somebody said one of the words that are understood at any question, and what it leads to.
pub fn command(stand: &Stand, text: &str) -> Option<Reply> {
    let small = text.to_lowercase();
    let (word, rest) = small.split_once(' ').unwrap_or((small.as_str(), ""));
    let rest = rest.trim();
    match (word, rest) {
        ("help" | "?", "") if word == "help" || stand.place.stage != Stage::Splice => {
            Some(Reply::Say(HELP.map(str::to_owned).to_vec()))
        }
        ("why", "") => Some(Reply::Say(why(stand))),
        ("state", "") => Some(Reply::Say(state(stand))),
        ("undo", "") => Some(Reply::Undo),
        ("stop" | "quit" | "exit", "") => Some(Reply::Stop),
        ("enough", "") if stand.place.stage == Stage::Work => Some(work::enough(stand)),
        ("skip", "" | "later" | "cannot") => Some(skip(stand, rest == "cannot")),
        ("change", "") if stand.place.stage != Stage::Safety => {
            Some(Reply::to(stand.place.aside(Stage::Change)))
        }
        ("change", _) if stand.place.stage != Stage::Safety => {
            let name = text.split_once(' ').map_or("", |(_, name)| name.trim());
            Some(picked(&Stand { place: &stand.place.aside(Stage::Change), ..*stand }, name))
        }
        ("own", "") if stand.boxes().is_empty() => {
            Some(Reply::say("There is no box yet to read anything at."))
        }
        ("own", "") => Some(Reply::to(stand.place.aside(Stage::Own))),
        ("own", _) if !stand.boxes().is_empty() => {
            let asked = text.split_once(' ').map_or("", |(_, asked)| asked.trim());
            Some(own(&Stand { place: &stand.place.aside(Stage::Own), ..*stand }, asked))
        }
        _ => None,
    }
}

fn skip(stand: &Stand, cannot: bool) -> Reply {
    match stand.place.stage {
        Stage::Change | Stage::Instead | Stage::Own | Stage::Conditions => Reply::to(stand.place.back()),
        Stage::Work if work::question(stand).is_some_and(|question| question.ask == Do::Open) => {
            let name = work::question(stand).and_then(|question| question.at).unwrap_or_default();
            work::skip_opening(stand, &name, cannot)
        }
        _ if dead::wanted(stand).is_some() => dead::put_off(stand),
        Stage::Work if work::question(stand).is_some() => work::skip(stand, cannot),
        Stage::Landing if super::end::step(stand).is_some() => super::end::not_done(stand),
        _ if super::step::screen(stand).empty.is_some() => super::step::answer(stand, ""),
        _ => {
            Reply::say("This is needed to go on. stop ends here, and the next walk goes on at this question.")
        }
    }
}

fn why(stand: &Stand) -> Vec<String> {
    let opens = work::question(stand).is_some_and(|question| question.ask == Do::Open);
    if let Some(at) = dead::wanted(stand).filter(|_| !opens) {
        return vec![format!(
            "What comes next has hands or a dead tester in {at}; a proof holds until power comes on."
        )];
    }
    match (stand.place.stage, work::suggestion(stand)) {
        (Stage::Work, Some(suggestion)) => {
            let mut says = vec![suggestion.because.clone()];
            says.extend(
                suggestion.outcomes.iter().take(5).map(|outcome| format!("- {}", told::expected(outcome))),
            );
            says
        }
        (Stage::Work, None) => vec!["You chose this yourself, or nothing in reach tells more.".to_owned()],
        (Stage::Customer, _) => {
            vec!["What the customer knows costs nothing and rules out a great deal.".to_owned()]
        }
        (
            Stage::Screw | Stage::Splice | Stage::Cables | Stage::Devices | Stage::Sheath | Stage::Confirm,
            _,
        ) => {
            vec!["What is seen here is taken as fact: every wiring that does not have it is out.".to_owned()]
        }
        (Stage::Landing, _) if super::end::step(stand).is_some_and(|step| step.refused) => {
            vec!["Put back as it was it would be a hazard, or nothing could be put back for certain: so it is left safe.".to_owned()]
        }
        (Stage::Landing, _) if super::end::progress(stand).is_none() => {
            vec!["As found it works, by all that was read: so nothing is moved. What was taken off for readings goes back.".to_owned()]
        }
        (Stage::Landing, _) => {
            vec!["Landed so, the light should work from every switch: the plan was tried on the wirings that are left, in every position.".to_owned()]
        }
        (Stage::ToNeutral | Stage::ToMetal | Stage::Position | Stage::Shell, _) => {
            vec![
                "Before it is left: no short, no live metal, and the light works from every switch."
                    .to_owned(),
            ]
        }
        (Stage::Note | Stage::Done, _) => {
            vec![
                "The note says in plain words what was found, what was done, and what was not verified."
                    .to_owned(),
            ]
        }
        _ => vec![
            "It goes into the file and into the note; some of it weighs how likely a fault is.".to_owned(),
        ],
    }
}

fn state(stand: &Stand) -> Vec<String> {
    let Some(advice) = stand.advice else {
        let seen = stand.boxes().iter().filter(|outlet| outlet.opened == Some(true)).count();
        let boxes = text::count(stand.boxes().len(), "box", "boxes");
        let readings = text::count(stand.call.readings.len(), "reading", "readings");
        return vec![format!("{boxes} known, {seen} opened; {readings}.")];
    };
    let mut says = vec![status(stand).unwrap_or_default()];
    use Stage::{Landing, Position, Shell, ToMetal, ToNeutral};
    let puts_back = matches!(stand.place.stage, Landing | ToNeutral | ToMetal | Position | Shell);
    says.extend(super::end::progress(stand).filter(|_| puts_back));
    says.extend(stand.boxes().iter().filter_map(|outlet| roles(&advice.verdict, &outlet.name)));
    says
}

/// What the wires of a box should be, how firmly; several on a line, since there may be many.
fn roles(verdict: &Verdict, at: &str) -> Option<String> {
    let here = |wire: &&WireFound| wire.wire.split_once('/').is_some_and(|(place, _)| place == at);
    let how = |wire: &WireFound| match wire.p {
        p if p >= SETTLED => "should be",
        p if p >= LIKELY => "likely",
        _ => "not settled, perhaps",
    };
    let wires: Vec<&WireFound> = verdict.wires.iter().filter(here).collect();
    let firmly = |said: &str| {
        let so = wires.iter().filter(|wire| how(wire) == said);
        let role = |wire: &WireFound| words::role(wire.role, false).trim_start_matches("should be ");
        let each = so.map(|wire| format!("{} {}", &wire.wire[at.len() + 1..], role(wire)));
        let each = each.collect::<Vec<_>>().join(", ");
        (!each.is_empty()).then(|| format!("{said}: {each}"))
    };
    let all: Vec<String> =
        ["should be", "likely", "not settled, perhaps"].into_iter().filter_map(firmly).collect();
    (!all.is_empty()).then(|| format!("{at}, {}.", all.join("; ")))
}

/// How many wirings are left, and how much is settled.
pub fn status(stand: &Stand) -> Option<String> {
    let verdict = &stand.advice?.verdict;
    let settled = verdict.wires.iter().filter(|wire| wire.p >= SETTLED).count();
    let fit = text::count(verdict.candidates.wirings, "wiring fits", "wirings fit");
    let uncovered = verdict.candidates.uncovered;
    let rest =
        if uncovered >= 0.01 { format!(", {} not listed", text::percent(uncovered)) } else { String::new() };
    let known = match verdict.wires.len() {
        0 => "no box is open yet".to_owned(),
        all => format!("{settled} of {all} wire ends settled"),
    };
    Some(format!("{fit}{rest}; {known}."))
}

/// What is asked in between.
pub fn screen(stand: &Stand) -> Screen {
    match stand.place.stage {
        Stage::Change => change_screen(stand),
        Stage::Instead => {
            let at = stand.place.index();
            let said = stand.call.readings.get(at).map_or(String::new(), |one| readings::reading(&stand.call.house, one));
            Screen::new(format!("Change reading {}", at + 1), "What is it instead? out takes it away.").say(said).empty("leave it")
        }
        Stage::Own => Screen::new("Your own reading", "What is read?")
            .say("volts a.black to earth at hall; ohms hall/a.red to landing/a.red; load a.black to earth at hall; amps a at hall; watch stair ceiling")
            .empty("back"),
        _ => {
            let question = stand.place.question.clone().unwrap_or_else(|| JobReading::new(Do::Watch));
            Screen::new("Your own reading", "Under these conditions? What differs, as in: off, hall down, lamp out, out hall/switch, with two-pole.")
                .say(readings::asked(&question))
                .say(conditions_in_words(stand, &question))
                .empty("just so")
        }
    }
}

/// So many readings are listed; of the others the number is enough.
const LISTED: usize = 3;

/// The last readings, each with the conditions that are changed most: the same is often read under several.
fn change_screen(stand: &Stand) -> Screen {
    let ask = format!("The number of a reading, the name of a box, or {}?", opening::questions());
    let screen = Screen::new("Change", ask).empty("back");
    let all = &stand.call.readings;
    let from = all.len().saturating_sub(LISTED);
    let earlier = format!("1 to {from}: by their numbers too.");
    let screen = if from > 0 { screen.say(earlier) } else { screen };
    all.iter().enumerate().skip(from).fold(screen, |screen, (at, reading)| {
        let asked = items(&stand.job.readings).get(at);
        let said = asked.map(|asked| format!("{}{}", readings::asked(asked), under(asked)));
        let says = format!("{}: {}", said.unwrap_or_default(), readings::answers(&stand.call.house, reading));
        screen.line(Default::default(), format!("{}.", at + 1), says)
    })
}

/// The positions of the switches, and the lamp where it is not in.
fn under(question: &JobReading) -> String {
    let switches = question.switches.iter().flatten().map(|(name, position)| format!(", {name} {position}"));
    let lamp = match &question.lamp {
        Some(AllOrEach::All(lamp)) if *lamp != LampState::In => format!(", lamp {}", lamp.write().excerpt()),
        _ => String::new(),
    };
    switches.chain([lamp]).collect()
}

/// What an answer in between leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        _ if text.is_empty() && stand.place.stage != Stage::Conditions => Reply::to(stand.place.back()),
        Stage::Change => picked(stand, text),
        Stage::Instead => instead(stand, text),
        Stage::Own => own(stand, text),
        _ => conditions(stand, text),
    }
}

fn picked(stand: &Stand, text: &str) -> Reply {
    if let Some(outlet) = stand.boxes().iter().find(|outlet| outlet.name.eq_ignore_ascii_case(text)) {
        let place = match outlet.opened {
            Some(true) => survey::again(stand, outlet),
            _ => survey::begin(stand, &outlet.name),
        };
        // What was seen in a box may change what is read next, but not a question that is asked before any reading.
        let back = stand.place.back.clone().filter(|_| stand.place.back().is_before_readings());
        return Reply::to(Place { back, ..place });
    }
    if let Some(stage) = opening::question_of(text) {
        return Reply::to(Place { back: stand.place.back.clone(), ..stand.place.to(stage) });
    }
    let at = text.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
    match at.filter(|at| *at < stand.call.readings.len()) {
        Some(at) => {
            let step = i64::try_from(at).ok();
            Reply::to(Place { step, ..stand.place.aside(Stage::Instead) })
        }
        None => Reply::say(format!(
            "There is no such reading, and no box of that name. Of the call: {}.",
            opening::questions()
        )),
    }
}

fn instead(stand: &Stand, text: &str) -> Reply {
    let at = stand.place.index();
    let Some(reading) = items(&stand.job.readings).get(at) else { return Reply::to(stand.place.back()) };
    if text == "out" {
        return Reply::edit(Edit::without_reading(at), stand.place.back());
    }
    let reading = JobReading { reads: Some(work::reads(reading, text)), ..reading.clone() };
    Reply::edit(Edit::another_reading(at, &reading), stand.place.back())
}

fn own(stand: &Stand, text: &str) -> Reply {
    let house = &stand.call.house;
    // Of one light the name need not be typed.
    let only = house.lights().next().filter(|_| house.lights().count() == 1 && text == "watch");
    let text = only.map_or(text.to_owned(), |light| format!("watch {}", readings::device(house, light)));
    match own::question(&text, items(&stand.job.readings).last()) {
        Err(Unclear::Nothing) => Reply::say(own::QUESTION),
        Err(Unclear::Points) => Reply::say(own::POINTS),
        Ok(mut question) => {
            // Its conditions may be put right after this, its points not.
            let bare = JobReading { switches: None, lamp: None, out: None, lifted: None, ..question.clone() };
            if let Some(says) = refused(stand, &bare) {
                return Reply::Say(says);
            }
            question.with = own::usual(items(&stand.job.instruments), question.ask).map(Into::into);
            Reply::to(Place { question: Some(question), ..stand.place.aside(Stage::Conditions) })
        }
    }
}

/// Why a question makes no sense in this house, whatever the answer to it: said before somebody goes and reads it.
fn refused(stand: &Stand, question: &JobReading) -> Option<Vec<String>> {
    let answer = match question.ask {
        Do::Watch | Do::Open => "dark",
        Do::Load => "none",
        Do::Ohms => "open",
        Do::Volts if question.with.is_some_and(|with| with.kind == InstrumentKind::NonContact) => "silent",
        Do::Volts | Do::Amps => "0",
    };
    let answers = vec![answer; items(&question.points).len().max(1)].join(", ");
    let reading = JobReading { reads: Some(work::reads(question, &answers)), ..question.clone() };
    let tried = Edit::reading(stand.job, &reading).apply(stand.job);
    tried.and_then(|job| check(&job)).err().map(|problems| not_taken(&problems))
}

/// The conditions of a question in words.
pub fn conditions_in_words(stand: &Stand, question: &JobReading) -> String {
    let mut said = Vec::new();
    said.push(if dead::is_live(question) { "breaker on".to_owned() } else { "breaker off".to_owned() });
    let switches = question.switches.clone().unwrap_or_default();
    if !switches.is_empty() {
        said.push(customer::in_words(&switches));
    }
    for device in stand.call.house.switches().map(|device| readings::device(&stand.call.house, device)) {
        if !switches.contains_key(&device) {
            said.push(format!("{device} not told"));
        }
    }
    if let Some(AllOrEach::All(lamp)) = &question.lamp {
        said.push(format!("lamp {}", lamp.write().excerpt()));
    }
    said.extend(items(&question.out).iter().map(|device| format!("{device} out")));
    said.extend(items(&question.lifted).iter().map(|wire| format!("{wire} lifted")));
    said.extend(question.with.map(|with| format!("with {}", with.kind.write().excerpt())));
    said.join(", ")
}

fn conditions(stand: &Stand, text: &str) -> Reply {
    let Some(mut question) = stand.place.question.clone() else { return Reply::to(stand.place.back()) };
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        if !own::differs(&stand.call.house, &mut question, part) {
            return Reply::say(own::no_condition(part));
        }
    }
    if let Some(says) = refused(stand, &question) {
        return Reply::Say(says);
    }
    let back = stand.place.back.clone();
    Reply::to(Place { question: Some(question), back, ..stand.place.to(Stage::Work) })
}
