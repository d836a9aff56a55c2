//! Proving dead: box by box, before anything in it is touched, and again after the power was on.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand};
use super::{end, survey, work};
use crate::call::edit::Edit;
use crate::call::job::{
    AllOrEach, Do, Found, JobFeed, JobHouse, JobInstrument, JobProof, JobReading, Pair, Power, Prose, items,
};
use crate::call::{InstrumentKind, LampState};
use crate::show::palette::Tone;
use std::collections::BTreeSet;

/// Testers with two leads that can prove dead, the best first.
const PROVES: [InstrumentKind; 4] = [
    InstrumentKind::TwoPole,
    InstrumentKind::LowImpedance,
    InstrumentKind::HighImpedance,
    InstrumentKind::TestLamp,
];

/// What a tester was proved on has a name of so many letters.
const LETTERS: usize = 3;

/// The box that must be proved dead before the question at hand can go on.
pub fn wanted(stand: &Stand) -> Option<String> {
    let place = stand.place;
    let not_yet = |name: &String| !place.is_proven(name);
    match place.stage {
        Stage::Work => {
            let question = work::question(stand)?;
            if question.ask == Do::Open {
                return question.at.filter(not_yet);
            }
            disturbed(stand, &question).into_iter().find(not_yet)
        }
        Stage::Sheath | Stage::Cables | Stage::Devices | Stage::Screw | Stage::Splice | Stage::Confirm => {
            // A box that is only corrected on paper is not touched.
            let draft = place.draft.as_ref()?;
            let opened = stand.outlet(&draft.name).is_some_and(|known| known.opened == Some(true));
            (!opened).then(|| draft.name.clone()).filter(not_yet)
        }
        Stage::Landing => match end::step(stand) {
            Some(step) => Some(step.at).filter(not_yet),
            // Everything goes back where it was: hands in every box that is open.
            None if place.index() == 0 => open(stand).find(not_yet),
            None => None,
        },
        Stage::ToNeutral | Stage::ToMetal => {
            let feed = stand.advice.and_then(|advice| advice.verdict.arrangement.as_ref());
            let fed = feed.and_then(|found| open(stand).find(|name| *name == found.feed.at));
            fed.or_else(|| open(stand).next()).filter(not_yet)
        }
        _ => None,
    }
}

/// The boxes that are open.
fn open<'a>(stand: &Stand<'a>) -> impl Iterator<Item = String> + use<'a> {
    stand.boxes().iter().filter(|outlet| outlet.opened == Some(true)).map(|outlet| outlet.name.clone())
}

/// Boxes in which a question has somebody touch, move or measure something that must be dead: those of dead points, of
/// devices that are taken off or put back, and of wires that are lifted or put back.
fn disturbed(stand: &Stand, question: &JobReading) -> BTreeSet<String> {
    let before =
        items(&stand.job.readings).iter().rfind(|reading| reading.ask != Do::Watch || reading.by.is_none());
    let here = |point: &String| match (point.split_once('/'), &question.at) {
        (Some((place, _)), _) => Some(place.to_owned()),
        (None, Some(at)) if point != "earth" => Some(at.clone()),
        (None, _) => None,
    };
    let list = |of: fn(&JobReading) -> &Option<Vec<String>>| -> BTreeSet<String> {
        let full = |reading: &JobReading| -> BTreeSet<String> {
            let at = reading.at.clone().unwrap_or_default();
            let name = |name: &String| if name.contains('/') { name.clone() } else { format!("{at}/{name}") };
            items(of(reading)).iter().map(name).collect()
        };
        let was = before.map(full).unwrap_or_default();
        was.symmetric_difference(&full(question)).cloned().collect()
    };
    let moved = list(|reading| &reading.out).into_iter().chain(list(|reading| &reading.lifted));
    let mut boxes: BTreeSet<String> = moved.filter_map(|name| here(&name)).collect();
    let taken_off = before
        .into_iter()
        .flat_map(|reading| items(&reading.jumpers).iter().map(move |pair| (reading, pair)));
    let taken_off = taken_off.filter(|(_, pair)| !items(&question.jumpers).contains(pair));
    let place = |(reading, Pair(p, q)): (&JobReading, &Pair)| {
        let place = |point: &String| match point.split_once('/') {
            Some((place, _)) => Some(place.to_owned()),
            None if point != "earth" => reading.at.clone(),
            None => None,
        };
        [place(p), place(q)]
    };
    boxes.extend(taken_off.flat_map(place).flatten());
    if question.ask == Do::Ohms {
        let between = question.between.iter().flat_map(|Pair(from, to)| [from, to]);
        let points = between.chain(items(&question.points)).chain(&question.to);
        boxes.extend(points.filter_map(here));
        boxes.extend(items(&question.jumpers).iter().flat_map(|Pair(p, q)| [p, q]).filter_map(here));
    }
    boxes
}

/// Whether a reading has the power on, for all it says.
pub fn is_live(question: &JobReading) -> bool {
    match &question.breaker {
        Some(AllOrEach::All(power)) => *power == Power::On,
        Some(AllOrEach::Each(each)) => each.values().any(|power| *power == Power::On),
        None => question.ask != Do::Ohms,
    }
}

fn tester(stand: &Stand) -> Option<JobInstrument> {
    let owned = items(&stand.job.instruments);
    PROVES.iter().find_map(|kind| owned.iter().find(|one| one.kind == *kind).copied())
}

fn source(stand: &Stand) -> Option<String> {
    let said = items(&stand.job.proofs).iter().rev().find_map(|proof| proof.on.as_ref());
    said.map(|on| on.0.clone())
}

/// What is asked.
pub fn screen(stand: &Stand, at: &str) -> Screen {
    let Some(tester) = tester(stand) else { return no_tester(at) };
    if stand.place.showed.is_some() {
        let ask = "On which live source was the tester proved, before and after? As in: kitchen receptacle.";
        return Screen::new(format!("Prove {at} dead"), ask);
    }
    if is_live_still(stand, at) {
        return search_screen(at);
    }
    let shown = crate::show::readings::instrument(crate::call::Instrument {
        kind: tester.kind,
        ohms: None,
        watts: None,
        resolves: None,
    });
    let opens = opens(stand);
    let again = if items(&stand.job.proofs).iter().any(|proof| proof.at == at) { ", again" } else { "" };
    let title = match stand.place.stage {
        _ if opens => format!("Open {at}, and prove it dead"),
        Stage::Landing => format!("Before anything is put back: prove {at} dead{again}"),
        _ => format!("Prove {at} dead{again}"),
    };
    let (cautions, before) = work::before_proof(stand, at);
    let mut screen = Screen::new(title, "What did the tester show?");
    screen = screen.line(Tone::Caution, "CAUTION:", "Every wire is live until this is done.");
    for caution in cautions {
        screen = screen.line(Tone::Caution, "CAUTION:", caution);
    }
    let plate = if opens { "Plate off, nothing moved." } else { "Nothing moved." };
    let source = source(stand).unwrap_or_else(|| "a known live source".to_owned());
    let off = before.iter().any(|step| step.starts_with("Turn ") && step.contains(" off"));
    let supply = (!off).then(|| "Supply off, and locked or tagged.".to_owned());
    let proof = [
        format!("{plate} Prove the {shown} on {source}, then test, then prove it there again."),
        "Test every bare point and the metal: to earth, to each other; again as more comes into reach."
            .to_owned(),
    ];
    for (at, step) in supply.into_iter().chain(before).chain(proof).enumerate() {
        screen = screen.line(Tone::Plain, format!("{}.", at + 1), step);
    }
    // A figure is what a tester shows, and no number of an answer.
    let screen =
        screen.choose(&[("d", "dead, all of it"), ("l", "something is live"), ("s", "not now")]).typed();
    if opens { screen.choose(&[("c", "it cannot be opened")]) } else { screen }
}

/// Whether the box that is proved is one that is to be opened.
fn opens(stand: &Stand) -> bool {
    stand.place.stage == Stage::Work && work::question(stand).is_some_and(|question| question.ask == Do::Open)
}

fn no_tester(at: &str) -> Screen {
    let says = "No two-lead tester is at hand, and only one of those proves dead: not non-contact, not solenoid, not neon.";
    Screen::new(format!("Prove {at} dead"), "What is at hand now?")
        .line(Tone::Danger, "CAUTION:", says)
        .choose(&[("1", "a multimeter"), ("3", "a two-pole tester")])
}

/// Whether a box was found live, and it is not known yet what takes it off.
fn is_live_still(stand: &Stand, at: &str) -> bool {
    stand.place.live.as_deref() == Some(at) && stand.place.cut.is_none()
}

fn search_screen(at: &str) -> Screen {
    Screen::new(format!("{at} is live"), "Which one took it off? Its number or name.")
        .line(Tone::Danger, "CAUTION:", format!("Nothing in {at} is touched."))
        .line(
            Tone::Plain,
            "1.",
            "Leave off what is off. Take the other breakers or fuses off, one after another.",
        )
        .line(
            Tone::Plain,
            "2.",
            "Test the same points after each. Where none of them does it, take off the main.",
        )
        .choose(&[("m", "the main")])
        .typed()
        .empty("it was not found; the box is left alone")
}

/// What an answer leads to.
pub fn answer(stand: &Stand, at: &str, text: &str) -> Reply {
    let Some(tester) = tester(stand) else { return another_tester(stand, text) };
    if is_live_still(stand, at) {
        return found_breaker(stand, at, text);
    }
    let (key, source) = match (&stand.place.showed, source(stand)) {
        (Some(_), _) if text.is_empty() => {
            return Reply::say(
                "A tester that is not proved on something known proves nothing. undo goes back.",
            );
        }
        // A key too many is no place.
        (Some(_), _) if text.chars().filter(|c| c.is_alphabetic()).count() < LETTERS => {
            return Reply::say("What it is, in a word or two, as in: kitchen receptacle.");
        }
        (Some(key), _) => (key.clone(), Some(text.to_owned())),
        (None, source) => match screen(stand, at).chosen(text) {
            Some(key) => (key.to_owned(), source),
            None => return stand.again(),
        },
    };
    let found = match key.as_str() {
        "d" => Found::Dead,
        "l" => Found::Live,
        "c" => return work::skip_opening(stand, at, true),
        _ => return put_off(stand),
    };
    let Some(source) = source else {
        return Reply::to(Place { showed: Some(key), ..stand.place.clone() });
    };
    let proof = JobProof {
        at: at.to_owned(),
        time: Some(stand.now.time.clone()),
        with: tester,
        on: Some(Prose(source)),
        found,
    };
    let edit = Edit::proof(stand.job, &proof);
    let before = Place { showed: None, at: Some(at.to_owned()), ..stand.place.clone() };
    if found == Found::Live {
        return Reply::edit(edit, Place { live: Some(at.to_owned()), cut: None, ..before });
    }
    let mut place = before;
    if place.stage == Stage::Work {
        place.step = work::after_proof(stand, at);
    }
    place.proven.get_or_insert_default().push(at.to_owned());
    if opens(stand) {
        let begun = survey::begin(&Stand { place: &place, ..*stand }, at);
        return Reply::edit(edit, begun);
    }
    Reply::edit(edit, place)
}

/// What took off a box that was live: from now on it is switched off too.
fn found_breaker(stand: &Stand, at: &str, text: &str) -> Reply {
    if text.is_empty() {
        let place = Place { live: None, cut: None, ..stand.place.clone() };
        return put_off(&Stand { place: &place, ..*stand });
    }
    if ["d", "l", "s", "y", "n"].contains(&text) {
        return Reply::say("The breaker or fuse by its number or name, m for the main, or Enter.");
    }
    let main = search_screen(at).chosen(text).is_some();
    let cut = if main { "main".to_owned() } else { text.to_owned() };
    let said = if main { "only the main takes it off".to_owned() } else { format!("{cut} takes it off") };
    let mut edits =
        vec![Edit::done(stand.job, &Prose(format!("{at} was live with the supply off; {said}.")))];
    let house = stand.job.house.clone().unwrap_or_default();
    if !main && items(&house.feeds).iter().all(|feed| feed.name != cut) {
        let mut feeds = items(&house.feeds).to_vec();
        feeds.push(JobFeed { name: cut.clone(), ..JobFeed::default() });
        edits.push(super::step::field("house", &JobHouse { feeds: Some(feeds), ..house }));
    }
    Reply::edit(Edit::together(edits), Place { cut: Some(cut), ..stand.place.clone() })
}

fn another_tester(stand: &Stand, text: &str) -> Reply {
    let kind = match text {
        "1" => InstrumentKind::HighImpedance,
        "3" => InstrumentKind::TwoPole,
        _ => return stand.again(),
    };
    let mut owned = items(&stand.job.instruments).to_vec();
    owned.push(kind.into());
    Reply::edit(super::step::field("instruments", &owned), stand.place.clone())
}

/// Not now: what the box had to be dead for is skipped.
pub fn put_off(stand: &Stand) -> Reply {
    if stand.place.showed.is_some() {
        return Reply::to(Place { showed: None, ..stand.place.clone() });
    }
    match stand.place.stage {
        Stage::Work if opens(stand) => {
            let name = work::question(stand).and_then(|question| question.at).unwrap_or_default();
            work::skip_opening(stand, &name, false)
        }
        Stage::Work => work::skip(stand, false),
        Stage::Landing => end::not_done(stand),
        Stage::ToNeutral | Stage::ToMetal => {
            Reply::say("Until that is checked the supply stays off. stop ends here.")
        }
        _ => match &stand.place.draft {
            Some(draft) => work::skip_opening(stand, &draft.name, false),
            None => Reply::to(stand.place.to(Stage::Work)),
        },
    }
}

/// A box that was found live with the power off and is open now, so that it can be said which wire it was.
pub fn told_live<'a>(stand: &Stand<'a>) -> Option<&'a str> {
    let name = stand.place.live.as_deref()?;
    let open = stand.outlet(name).is_some_and(|outlet| outlet.opened == Some(true));
    (open && stand.place.stage == Stage::Work && stand.place.is_proven(name)).then_some(name)
}

/// Asks which wire it was.
pub fn live_screen(at: &str) -> Screen {
    let ask = "Which wire was it, and how many volts to the reference, as in: a.black 119?";
    Screen::new(format!("{at} was live with the supply off"), ask).empty("it cannot be told any more")
}

/// Writes it down as a reading.
pub fn live_answer(stand: &Stand, at: &str, text: &str) -> Reply {
    let place = Place { live: None, cut: None, ..stand.place.clone() };
    if text.is_empty() {
        return Reply::to(place);
    }
    let Some((wire, volts)) = text.split_once(' ') else { return stand.again() };
    let mut reading = JobReading::new(Do::Volts);
    reading.at = Some(at.to_owned());
    reading.between = Some(Pair(wire.to_owned(), "earth".to_owned()));
    reading.with = tester(stand);
    // What took it off was on when it was live.
    let feeds = stand.call.house.feeds.iter();
    let cut = |name: &String| stand.place.cut.as_ref() == Some(name);
    let power = |name: &String| if cut(name) { Power::On } else { Power::Off };
    reading.breaker =
        Some(AllOrEach::Each(feeds.map(|feed| (feed.name.clone(), power(&feed.name))).collect()));
    reading.lamp = Some(AllOrEach::All(LampState::In));
    reading.reads = Some(work::reads(&reading, volts.trim()));
    Reply::edit(Edit::reading(stand.job, &reading), place)
}
