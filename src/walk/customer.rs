//! What the customer says of the light, position by position, before anything is looked at; and the positions there are.

use super::place::Stage;
use super::screen::Screen;
use super::step::{Reply, Stand};
use crate::call::edit::Edit;
use crate::call::job::{AllOrEach, Do, JobAnswer, JobReading, JobReads, Power};
use crate::call::{LampState, Source};
use std::collections::BTreeMap;

/// The switches' names with the position of each, for position `step` of all: as a person would try them, one switch
/// moved at a time.
pub fn positions(stand: &Stand, step: usize) -> BTreeMap<String, String> {
    let house = &stand.call.house;
    let gray = step ^ (step >> 1);
    let name = |device| crate::show::readings::device(house, device);
    let each = house.switches().enumerate();
    each.map(|(at, device)| {
        let second = gray >> at & 1 == 1;
        (name(device), house.position_word(device, second).to_owned())
    })
    .collect()
}

/// How many positions the switches have together.
pub fn all_positions(stand: &Stand) -> usize {
    1 << stand.call.house.switches().count().min(10)
}

/// Positions in words.
pub fn in_words(positions: &BTreeMap<String, String>) -> String {
    let each: Vec<String> = positions.iter().map(|(name, word)| format!("{name} {word}")).collect();
    each.join(", ")
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let at = stand.place.index();
    let title = format!("What the customer says, {} of {}", at + 1, all_positions(stand));
    let words = in_words(&positions(stand, at));
    let choices = [("l", "lit"), ("d", "dark"), ("m", "dim"), ("g", "faint glow"), ("u", "not known")];
    let lights = lights(stand);
    let screen = match lights.as_slice() {
        [] | [_] => Screen::new(title, format!("With {words}: how is the light?")),
        all => {
            let letters = ["l"].into_iter().chain(std::iter::repeat("d")).take(all.len());
            let letters = letters.collect::<Vec<_>>().join(" ");
            let ask = format!("With {words}: how are the lights? Each in this order, as in: {letters}.");
            Screen::new(title, ask)
                .say(format!("{}. One letter where they are alike.", all.join(", ")))
                .typed()
        }
    };
    screen.choose(&choices).empty("that is all the customer knows")
}

/// The lights by their names.
fn lights(stand: &Stand) -> Vec<String> {
    let house = &stand.call.house;
    house.lights().map(|light| crate::show::readings::device(house, light)).collect()
}

/// What the customer said of each light: one word for all, or one for each; `None` where that is none of the answers.
fn seen_by_customer(screen: &Screen, text: &str, lights: usize) -> Option<Vec<JobAnswer>> {
    let one = |text: &str| {
        let word = match screen.chosen(text)? {
            "l" => "lit",
            "d" => "dark",
            "m" => "dim",
            "g" => "glow",
            _ => return None,
        };
        Some(JobAnswer::Word(word.to_owned()))
    };
    if let Some(all) = one(text) {
        return Some(vec![all; lights]);
    }
    let each: Vec<JobAnswer> =
        text.split([' ', ',']).filter(|word| !word.is_empty()).map(one).collect::<Option<_>>()?;
    (each.len() == lights).then_some(each)
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    let next = stand.place.next();
    let next = if next.index() < all_positions(stand) { next } else { stand.place.to(Stage::Work) };
    if text.is_empty() {
        return Reply::to(stand.place.to(Stage::Work));
    }
    let shown = screen(stand);
    if shown.chosen(text) == Some("u") {
        return Reply::to(next);
    }
    let lights = lights(stand);
    let Some(answers) = seen_by_customer(&shown, text, lights.len()) else { return stand.again() };
    let mut reading = JobReading::new(Do::Watch);
    (reading.light, reading.lights, reading.reads) = match (lights.as_slice(), answers.as_slice()) {
        ([one], [answer]) => (Some(one.clone()), None, Some(JobReads::One(answer.clone()))),
        _ => (None, Some(lights), Some(JobReads::List(answers))),
    };
    reading.breaker = Some(AllOrEach::All(Power::On));
    reading.switches = Some(positions(stand, stand.place.index()));
    reading.lamp = Some(AllOrEach::All(LampState::In));
    reading.by = Some(Source::Customer);
    Reply::edit(Edit::reading(stand.job, &reading), next)
}
