//! Answers as a person with a meter in one hand types them: `119v`, `ol`, `~60`, `1.2k`, `yes`.

use crate::call::InstrumentKind;
use crate::call::job::{Do, JobAnswer};

/// An answer in the words of the job file, as far as it can be told what was meant. Whether it answers the question is for
/// [`check`](crate::call::check::check) to say.
pub fn answer(ask: Do, with: Option<InstrumentKind>, text: &str) -> JobAnswer {
    let typed = text.trim();
    let small = typed.to_lowercase();
    if let Some(word) = word(ask, with, small.trim_end_matches(['.', '!'])) {
        return JobAnswer::Word(word.to_owned());
    }
    let about = ["about", "approx", "around", "ca.", "ca", "~", "≈"];
    if let Some(rest) = about.iter().find_map(|sign| small.strip_prefix(sign))
        && let Some(value) = amount(ask, rest)
    {
        return JobAnswer::Word(format!("about {value}"));
    }
    if let Some(value) = amount(ask, &small) {
        return JobAnswer::Number(value);
    }
    for dash in [" to ", "..", "–", "-"] {
        if let Some((low, high)) = small.split_once(dash)
            && let (Some(low), Some(high)) = (amount(ask, low), amount(ask, high))
        {
            return JobAnswer::Word(format!("{low}-{high}"));
        }
    }
    JobAnswer::Word(typed.to_owned())
}

/// What people say, and the word of the job file.
fn word(ask: Do, with: Option<InstrumentKind>, small: &str) -> Option<&'static str> {
    let said = |words: &[&str]| words.contains(&small);
    if said(&["trips", "trip", "tripped", "it trips", "it tripped", "blew", "blown"]) {
        return Some("trips");
    }
    match (ask, with) {
        (Do::Volts, Some(InstrumentKind::NonContact)) => {
            first(small, &[("alarm", &["alarms", "beep", "beeps", "yes", "y"]), ("silent", SILENT)])
        }
        (Do::Volts, _) => {
            first(small, &[("line", &["full", "hot", "live"]), ("none", &["nothing", "zero", "no"])])
        }
        (Do::Ohms, Some(InstrumentKind::Continuity)) => first(small, BEEPER),
        (Do::Ohms, _) if said(&["beep", "beeps", "silent"]) => first(small, BEEPER),
        (Do::Ohms, _) => first(small, &[("OL", OVERLOAD), ("closed", &["short", "shorted", "through"])]),
        (Do::Amps, _) => first(small, &[("none", &["nothing", "no", "zero"]), ("some", &["yes"])]),
        (Do::Load, _) => first(
            small,
            &[
                ("bright", &["full", "lit", "on", "yes", "y"]),
                ("none", &["dark", "off", "no", "n", "nothing"]),
            ],
        ),
        (Do::Watch, _) => first(
            small,
            &[
                ("lit", &["on", "yes", "y", "bright", "full", "l"]),
                ("dark", &["off", "no", "n", "none", "out", "d"]),
                ("glow", &["glows", "faint", "glowing", "g"]),
                ("dim", &["dimmed", "half", "m"]),
            ],
        ),
        (Do::Open, _) => None,
    }
}

const SILENT: &[&str] = &["no", "n", "quiet", "no beep", "nothing", "no alarm", "none"];
const BEEPER: &[(&str, &[&str])] = &[("beep", &["beeps", "yes", "y", "b"]), ("silent", SILENT)];
const OVERLOAD: &[&str] = &["ol", "0l", "o.l", "overload", "over", "inf", "infinite", "infinity", "∞"];

fn first(small: &str, words: &[(&'static str, &[&str])]) -> Option<&'static str> {
    let meant = |(word, said): &&(&'static str, &[&str])| *word == small || said.contains(&small);
    words.iter().find(meant).map(|(word, _)| *word)
}

/// A number with or without its unit, with a comma or a point.
fn amount(ask: Do, text: &str) -> Option<f64> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(text.len());
    let (figures, unit) = text.split_at(end);
    let value: f64 = figures.replace(',', ".").parse().ok()?;
    let unit = unit.trim().trim_end_matches('.');
    let units: &[(&str, f64)] = match ask {
        Do::Volts => &[("", 1.0), ("v", 1.0), ("volt", 1.0), ("volts", 1.0), ("vac", 1.0), ("mv", 1e-3)],
        Do::Ohms => &[
            ("", 1.0),
            ("ohm", 1.0),
            ("ohms", 1.0),
            ("ω", 1.0),
            ("k", 1e3),
            ("kω", 1e3),
            ("kohm", 1e3),
            ("kohms", 1e3),
            ("m", 1e6),
            ("mω", 1e6),
            ("mohm", 1e6),
            ("mohms", 1e6),
        ],
        Do::Amps => &[("", 1.0), ("a", 1.0), ("amp", 1.0), ("amps", 1.0), ("ma", 1e-3)],
        Do::Load | Do::Watch | Do::Open => return None,
    };
    // Rounded where a prefix leaves a tail of binary dust.
    let scaled = |scale: f64| if scale == 1.0 { value } else { (value * scale * 1e6).round() / 1e6 };
    units.iter().find(|(word, _)| *word == unit).map(|(_, scale)| scaled(*scale))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_understood() {
        let volts = |text: &str| answer(Do::Volts, None, text).to_string();
        for (typed, meant) in [
            ("119", "119"),
            (" 119v ", "119"),
            ("119 V", "119"),
            ("118,4", "118.4"),
            ("0", "0"),
            ("~60", "about 60"),
            ("about 60 volts", "about 60"),
            ("110-120", "110-120"),
            ("110 to 120 V", "110-120"),
            ("ghost", "ghost"),
            ("Live", "line"),
            ("it tripped!", "trips"),
            ("-3", "-3"),
            ("blue", "blue"),
        ] {
            assert_eq!(volts(typed), meant, "{typed}");
        }
        let ohms = |text: &str| answer(Do::Ohms, Some(InstrumentKind::HighImpedance), text).to_string();
        for (typed, meant) in
            [("OL", "OL"), ("o.l.", "OL"), ("1.2k", "1200"), ("0.4Ω", "0.4"), ("2M", "2000000")]
        {
            assert_eq!(ohms(typed), meant, "{typed}");
        }
        let watch = |text: &str| answer(Do::Watch, None, text).to_string();
        for (typed, meant) in [("on", "lit"), ("LIT", "lit"), ("n", "dark"), ("dim", "dim"), ("119", "119")] {
            assert_eq!(watch(typed), meant, "{typed}");
        }
        assert_eq!(answer(Do::Ohms, None, "beep").to_string(), "beep");
        assert_eq!(answer(Do::Ohms, Some(InstrumentKind::Continuity), "no").to_string(), "silent");
        assert_eq!(answer(Do::Amps, None, "80 mA").to_string(), "0.08");
    }
}
