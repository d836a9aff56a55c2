//! Answers: a number, a range, an approximation, or a word of the question.

use super::names::Miss;
use crate::call::job::{Do, JobAnswer, any_of, likely, plain_number};
use crate::call::{InstrumentKind, Level, Ohms, Seen, Volts, Watch};

/// `about 60` is taken as 60 give or take this part of it: what a hand on a jumping display is good for.
const ABOUT: f64 = 0.1;

/// Words of a volt reading.
const VOLTS: &[(&str, Seen)] = &[
    ("none", Seen::Bin(Volts::None as u8)),
    ("ghost", Seen::Bin(Volts::Ghost as u8)),
    ("part", Seen::Bin(Volts::Part as u8)),
    ("line", Seen::Bin(Volts::Line as u8)),
    ("trips", Seen::Trips),
];

/// Words of an ohm reading. `OL` is what a display shows.
const OHMS: &[(&str, Seen)] = &[
    ("closed", Seen::Bin(Ohms::Closed as u8)),
    ("filament", Seen::Bin(Ohms::Filament as u8)),
    ("load", Seen::Bin(Ohms::Load as u8)),
    ("open", Seen::Bin(Ohms::Open as u8)),
    ("OL", Seen::Overload),
];

/// Words of a beeper.
const BEEPER: &[(&str, Seen)] = &[("beep", Seen::Beep(true)), ("silent", Seen::Beep(false))];

/// Words of a non-contact tester.
const NON_CONTACT: &[(&str, Seen)] =
    &[("alarm", Seen::Alarm(true)), ("silent", Seen::Alarm(false)), ("trips", Seen::Trips)];

/// Words of a clamp.
const AMPS: &[(&str, Seen)] = &[("none", Seen::Bin(0)), ("some", Seen::Bin(1)), ("trips", Seen::Trips)];

/// Words of a test lamp.
const LOAD: &[(&str, Seen)] = &[
    ("bright", Seen::Bin(Level::Bright as u8)),
    ("dim", Seen::Bin(Level::Dim as u8)),
    ("none", Seen::Bin(Level::None as u8)),
    ("trips", Seen::Trips),
];

/// Words of watching a light.
const WATCH: &[(&str, Seen)] = &[
    ("lit", Seen::Bin(Watch::Lit as u8)),
    ("dim", Seen::Bin(Watch::Dim as u8)),
    ("glow", Seen::Bin(Watch::Glow as u8)),
    ("dark", Seen::Bin(Watch::Dark as u8)),
    ("trips", Seen::Trips),
];

/// Reads one answer to a question asked with an instrument.
pub fn seen(ask: Do, with: Option<InstrumentKind>, answer: &JobAnswer) -> Result<Seen, Miss> {
    let scale = Scale::of(ask, with);
    match answer {
        JobAnswer::Number(value) => scale.number(*value, 0.0),
        JobAnswer::Word(word) => {
            if let Some((_, seen)) = scale.words.iter().find(|(known, _)| *known == word) {
                return Ok(*seen);
            }
            match amount(word) {
                Some(Ok((value, spread))) => scale.number(value, spread),
                Some(Err(miss)) => Err(miss),
                None => Err(scale.unknown(word)),
            }
        }
    }
}

/// The instrument that an answer in these words was read with, where nobody said.
pub fn usual(ask: Do, answers: &[JobAnswer]) -> Option<InstrumentKind> {
    let says = |words: &[&str]| {
        answers.iter().any(|answer| matches!(answer, JobAnswer::Word(word) if words.contains(&word.as_str())))
    };
    match ask {
        Do::Amps => Some(InstrumentKind::Clamp),
        Do::Load => Some(InstrumentKind::TestLamp),
        Do::Ohms if says(&["beep", "silent"]) => Some(InstrumentKind::Continuity),
        Do::Ohms => Some(InstrumentKind::HighImpedance),
        Do::Volts if says(&["alarm", "silent"]) => Some(InstrumentKind::NonContact),
        Do::Volts | Do::Watch | Do::Open => None,
    }
}

/// What can be answered to a question asked with an instrument.
struct Scale {
    words: &'static [(&'static str, Seen)],
    /// The unit of a number, or why there is none.
    unit: Result<&'static str, &'static str>,
}

impl Scale {
    fn of(ask: Do, with: Option<InstrumentKind>) -> Scale {
        match (ask, with) {
            (Do::Volts, Some(InstrumentKind::NonContact)) => {
                Scale { words: NON_CONTACT, unit: Err("a non-contact tester shows no number") }
            }
            (Do::Volts, Some(InstrumentKind::Neon)) => {
                Scale { words: VOLTS, unit: Err("a neon shows no number") }
            }
            (Do::Volts | Do::Open, _) => Scale { words: VOLTS, unit: Ok("volts") },
            (Do::Ohms, Some(InstrumentKind::Continuity)) => {
                Scale { words: BEEPER, unit: Err("a continuity tester shows no ohms; high-impedance does") }
            }
            (Do::Ohms, _) => Scale { words: OHMS, unit: Ok("ohms") },
            (Do::Amps, _) => Scale { words: AMPS, unit: Ok("amperes") },
            (Do::Load, _) => Scale { words: LOAD, unit: Err("a test lamp shows no number") },
            (Do::Watch, _) => Scale { words: WATCH, unit: Err("a light shows no number") },
        }
    }

    fn names(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.words.iter().map(|(word, _)| *word)
    }

    fn number(&self, value: f64, spread: f64) -> Result<Seen, Miss> {
        let unit = self.unit.map_err(|why| Miss::new(why, any_of(self.names())))?;
        if !value.is_finite() {
            let instead = format!("the {unit} on the display, or {}", any_of(self.names()));
            return Err(Miss::new("that is no number a tester can show", instead));
        }
        if value - spread < 0.0 {
            return Err(Miss::new(
                format!("{unit} are counted from 0 up"),
                format!("the {unit} without a sign"),
            ));
        }
        Ok(Seen::Number { value, spread })
    }

    fn unknown(&self, word: &str) -> Miss {
        let what = "that is no answer to this question";
        match (self.unit, likely(word, self.names()), plain_number(word)) {
            (_, Some(name), _) => Miss::new(what, name),
            (Ok(unit), _, Some(number)) => Miss::new(format!("{unit} are written as a plain number"), number),
            (Ok(unit), ..) => Miss::new(what, format!("the {unit} as a number, or {}", any_of(self.names()))),
            (Err(_), ..) => Miss::new(what, any_of(self.names())),
        }
    }
}

/// `110-120` or `about 60` as middle and half-width; nothing where it is neither.
fn amount(word: &str) -> Option<Result<(f64, f64), Miss>> {
    if let Some(rest) = word.strip_prefix("about ") {
        let value: f64 = rest.trim().parse().ok()?;
        return Some(Ok((value, value.abs() * ABOUT)));
    }
    // A minus sign in front belongs to the number.
    let (at, dash) = word.char_indices().skip(1).find(|(_, c)| matches!(c, '-' | '–'))?;
    let low: f64 = word[..at].trim().parse().ok()?;
    let high: f64 = word[at + dash.len_utf8()..].trim().parse().ok()?;
    if low > high {
        let instead = format!("\"{high}-{low}\"");
        return Some(Err(Miss::new("a range goes from the smaller number to the larger", instead)));
    }
    Some(Ok(((low + high) / 2.0, (high - low) / 2.0)))
}
