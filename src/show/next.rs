//! What to do next, as text.

use super::palette::Tone;
use super::sheet::{Sheet, Style};
use super::text::{count, list, number, percent};
use super::verdict::still_fitting;
use super::words;
use crate::call::Call;
use crate::plan::{Next, OneOrEach, Outcome, Reads, Suggestion};
use crate::verdict::State;

/// The suggestions, for a terminal or a screen reader.
pub fn text(call: &Call, next: &Next, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    sheet.heading("Where the question stands");
    let tone = match next.state {
        State::Settled => Tone::Good,
        State::Contradiction => Tone::Danger,
        State::Open | State::Exhausted => Tone::Caution,
    };
    sheet.text(tone, &words::state_sentence(next.state, next.wires_settled, call.goal, &call.house));
    sheet.text(Tone::Plain, &still_fitting(&next.candidates));
    for (at, suggestion) in next.suggestions.iter().enumerate() {
        sheet.heading(&if at == 0 { "Next".to_owned() } else { format!("Or, {}", at + 1) });
        one(&mut sheet, suggestion);
    }
    let none_left = next.suggestions.is_empty();
    for jumper in next.still_on.iter().filter(|_| none_left) {
        sheet.hang(Tone::Caution, "CAUTION:", &take_off(jumper));
    }
    if !next.would_help.is_empty() {
        sheet.heading("What would help");
        next.would_help.iter().for_each(|help| sheet.hang(Tone::Plain, "-", help));
    }
    sheet.finish()
}

/// What is said of a jumper that is still on.
pub(crate) fn take_off([p, q]: &[String; 2]) -> String {
    format!("Take the jumper off {p} and {q}, before anything is switched on.")
}

fn one(sheet: &mut Sheet<'_>, suggestion: &Suggestion) {
    for caution in &suggestion.cautions {
        sheet.hang(Tone::Caution, "CAUTION:", caution);
    }
    for (at, step) in suggestion.first.iter().enumerate() {
        sheet.hang(Tone::Plain, &format!("{}.", at + 1), step);
    }
    sheet.hang(Tone::Heading, "THEN:", &question(suggestion));
    let stands = conditions(suggestion);
    if !stands.is_empty() {
        sheet.hang(Tone::Plain, "With:", &stands);
    }
    sheet.hang(Tone::Plain, "Why:", &suggestion.because);
    for outcome in &suggestion.outcomes {
        sheet.hang(Tone::Plain, "  -", &expected(outcome));
    }
    let live = if suggestion.live { ", power on" } else { "" };
    let tells = match round2(suggestion.bits) {
        0.0 => String::new(),
        bits => format!("; tells {} bits", number(bits)),
    };
    sheet.hang(Tone::Plain, "Takes:", &format!("about {} min{live}{tells}.", minutes(suggestion.minutes)));
}

fn round2(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn minutes(minutes: f64) -> String {
    number((minutes * 10.0).round() / 10.0)
}

/// What is asked, in one sentence.
pub(crate) fn question(suggestion: &Suggestion) -> String {
    let with = suggestion.with.map_or(String::new(), |kind| {
        let plain = crate::call::Instrument { kind, ohms: None, watts: None, resolves: None };
        format!(" with the {}", super::readings::instrument(plain))
    });
    let at = suggestion.at.as_deref().unwrap_or("");
    let points = points(suggestion);
    match suggestion.ask.as_str() {
        "volts" => format!("At {at}, volts {points}{with}."),
        "ohms" => format!("At {at}, ohms {points}{with}."),
        "load" => format!("At {at}, a test lamp {points}."),
        "amps" => format!("At {at}, the clamp round {}.", suggestion.around.as_deref().unwrap_or("")),
        "open" => format!("Open {at}, and write down what is in it before anything is moved."),
        _ => {
            let lights =
                suggestion.lights.clone().or_else(|| suggestion.light.clone().map(|light| vec![light]));
            format!("Watch the light at {}.", list(&lights.unwrap_or_default(), "and"))
        }
    }
}

fn points(suggestion: &Suggestion) -> String {
    match (&suggestion.between, &suggestion.points, &suggestion.to) {
        (Some([from, to]), ..) => format!("between {from} and {to}"),
        (None, Some(points), Some(to)) => format!("from each of {} to {to}", list(points, "and")),
        _ => String::new(),
    }
}

/// The conditions, in a list.
pub(crate) fn conditions(suggestion: &Suggestion) -> String {
    let mut said = Vec::new();
    let one_or_each = |what: &str, value: &OneOrEach| match value {
        OneOrEach::One(word) => format!("{what} {word}"),
        OneOrEach::Each(each) => {
            each.iter().map(|(name, word)| format!("{what} {name} {word}")).collect::<Vec<_>>().join(", ")
        }
    };
    said.extend(suggestion.breaker.as_ref().map(|value| one_or_each("breaker", value)));
    for (name, position) in suggestion.switches.iter().flatten() {
        said.push(format!("{name} {position}"));
    }
    said.extend(suggestion.lamp.as_ref().map(|value| one_or_each("lamp", value)));
    said.extend(suggestion.out.iter().flatten().map(|device| format!("{device} off its box")));
    said.extend(suggestion.lifted.iter().flatten().map(|wire| format!("{wire} lifted")));
    said.extend(suggestion.jumpers.iter().flatten().map(|[p, q]| format!("{p} bridged to {q}")));
    said.join(", ")
}

/// An answer with what it would leave.
pub(crate) fn expected(outcome: &Outcome) -> String {
    let reads = match &outcome.reads {
        Reads::One(word) => word.clone(),
        Reads::List(words) => words.join(", "),
    };
    format!("{reads}: {}, leaves {}", percent(outcome.p), count(outcome.leaves, "group", "groups"))
}
