//! Proving dead: box by box, before anything in it is touched, and again after the power was on.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand};
use super::{end, work};
use crate::call::edit::Edit;
use crate::call::job::{
    AllOrEach, Do, Found, JobInstrument, JobProof, JobReading, Pair, Power, Prose, items,
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

/// The box that must be proved dead before the question at hand can go on.
pub fn wanted(stand: &Stand) -> Option<String> {
    let place = stand.place;
    let not_yet = |name: &String| !place.is_proven(name);
    match place.stage {
        Stage::Work => {
            let question = work::question(stand)?;
            if question.ask == Do::Open {
                return None;
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
    let before = || items(&stand.job.proofs).iter().rev().find_map(|proof| proof.on.as_ref());
    stand.place.source.clone().or_else(|| before().map(|on| on.0.clone()))
}

/// What is asked.
pub fn screen(stand: &Stand, at: &str) -> Screen {
    let title = format!("Prove {at} dead");
    let Some(tester) = tester(stand) else {
        let screen = Screen::new(title, "What is at hand now?");
        let says = "No two-lead tester is at hand, and only one of those proves dead: not non-contact, not solenoid, not neon.";
        return screen
            .line(Tone::Danger, "CAUTION:", says)
            .choose(&[("1", "a multimeter"), ("3", "a two-pole tester")]);
    };
    let Some(source) = source(stand) else {
        let ask = "On which known live source will the tester be proved, as in: kitchen receptacle?";
        return Screen::new(title, ask);
    };
    let shown = crate::show::readings::instrument(crate::call::Instrument {
        kind: tester.kind,
        ohms: None,
        watts: None,
        resolves: None,
    });
    let again = if items(&stand.job.proofs).iter().any(|proof| proof.at == at) { ", again" } else { "" };
    Screen::new(format!("{title}{again}"), "What did it show?")
        .line(Tone::Caution, "CAUTION:", "Every wire is live until this is done. Other circuits may be in this box.")
        .line(Tone::Plain, "1.", "Supply off, locked or tagged. Plate off, nothing moved.")
        .line(Tone::Plain, "2.", format!("The {shown} proved on {source}."))
        .line(Tone::Plain, "3.", "Every bare point and the metal: to a proven reference, and to each other. Again as more comes into reach.")
        .line(Tone::Plain, "4.", format!("The tester proved on {source} again."))
        .choose(&[("d", "dead, all of it"), ("l", "something is live"), ("s", "not now")])
}

/// What an answer leads to.
pub fn answer(stand: &Stand, at: &str, text: &str) -> Reply {
    let Some(tester) = tester(stand) else { return another_tester(stand, text) };
    let Some(source) = source(stand) else {
        if text.is_empty() {
            return Reply::say("A tester that is not proved on something known proves nothing.");
        }
        return Reply::to(Place { source: Some(text.to_owned()), ..stand.place.clone() });
    };
    let found = match screen(stand, at).chosen(text) {
        Some("d") => Found::Dead,
        Some("l") => Found::Live,
        Some(_) => return put_off(stand),
        None => return stand.again(),
    };
    let proof = JobProof {
        at: at.to_owned(),
        time: Some(stand.now.time.clone()),
        with: tester,
        on: Some(Prose(source)),
        found,
    };
    let mut place = stand.place.clone();
    let edit = Edit::proof(stand.job, &proof);
    if found == Found::Live {
        place.live = Some(at.to_owned());
        return Reply::edit(edit, place).saying(format!(
            "{at} is live: nothing in it is touched. Find the breaker that takes it off, or use the main, then prove it again."
        ));
    }
    place.proven.get_or_insert_default().push(at.to_owned());
    Reply::edit(edit, place)
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
    match stand.place.stage {
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
    let place = Place { live: None, ..stand.place.clone() };
    if text.is_empty() {
        return Reply::to(place);
    }
    let Some((wire, volts)) = text.rsplit_once(' ') else { return stand.again() };
    let mut reading = JobReading::new(Do::Volts);
    reading.at = Some(at.to_owned());
    reading.between = Some(Pair(wire.trim().to_owned(), "earth".to_owned()));
    reading.with = tester(stand);
    reading.breaker = Some(AllOrEach::All(Power::Off));
    reading.lamp = Some(AllOrEach::All(LampState::In));
    reading.reads = Some(work::reads(&reading, volts));
    Reply::edit(Edit::reading(stand.job, &reading), place)
}
