//! A reading of one's own choosing, in words.

use crate::call::job::{AllOrEach, Do, Field, JobInstrument, JobReading, Node, Pair, Path, Power};
use crate::call::{InstrumentKind, LampState};
use crate::house::House;
use crate::show::readings;

/// Why a question was not understood.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Unclear {
    /// It is none.
    Nothing,
    /// It wants two points.
    Points,
}

/// What is wrong with what is none.
pub const QUESTION: &str =
    "A reading begins with volts, ohms, load, amps or watch, as in: volts a.black to earth at hall.";

/// What is wrong with points.
pub const POINTS: &str = "Two points with to between them, as in: volts a.black to earth at hall.";

/// What is wrong with a condition.
pub fn no_condition(part: &str) -> String {
    format!(
        "\"{part}\" is no condition: on, off, hall down, lamp out, out hall/switch, in hall/switch, lifted a.black, joined a.black, with two-pole."
    )
}

/// A question as typed; where it does not say the box, and for its conditions, the last reading goes on.
///
/// # Errors
/// What was not understood.
pub fn question(text: &str, last: Option<&JobReading>) -> Result<JobReading, Unclear> {
    let (word, rest) = text.split_once(' ').ok_or(Unclear::Nothing)?;
    let ask = word_of::<Do>(&word.to_lowercase()).filter(|ask| *ask != Do::Open).ok_or(Unclear::Nothing)?;
    let mut question = JobReading::new(ask);
    let (rest, at) =
        rest.rsplit_once(" at ").map_or((rest, None), |(rest, at)| (rest, Some(at.trim().to_owned())));
    question.at = at.or_else(|| last.and_then(|last| last.at.clone()));
    match ask {
        Do::Watch => (question.light, question.at) = (Some(rest.trim().to_owned()), None),
        Do::Amps => question.around = Some(rest.trim().to_owned()),
        _ => {
            let (from, to) = rest.split_once(" to ").ok_or(Unclear::Points)?;
            if question.at.is_none() {
                question.at = from.split_once('/').map(|(place, _)| place.trim().to_owned());
            }
            let each: Vec<String> = from.split(',').map(|point| point.trim().to_owned()).collect();
            match each.as_slice() {
                [one] => question.between = Some(Pair(one.clone(), to.trim().to_owned())),
                _ => (question.points, question.to) = (Some(each), Some(to.trim().to_owned())),
            }
        }
    }
    conditions_of(last, ask, &mut question);
    Ok(question)
}

/// The conditions of the last reading, as far as they can be those of this one.
fn conditions_of(last: Option<&JobReading>, ask: Do, question: &mut JobReading) {
    let power = if ask == Do::Ohms { Power::Off } else { Power::On };
    question.breaker = Some(AllOrEach::All(power));
    question.switches = last.and_then(|last| last.switches.clone());
    question.lamp = last.and_then(|last| last.lamp.clone()).or(Some(AllOrEach::All(LampState::In)));
    // A name without its box was meant in the box of that reading.
    let carried = |list: fn(&JobReading) -> &Option<Vec<String>>| {
        let last = last?;
        list(last).as_ref().map(|names| names.iter().map(|name| full(&last.at, name)).collect())
    };
    question.out = carried(|last| &last.out);
    question.lifted = carried(|last| &last.lifted);
}

/// A device or wire with its box.
fn full(at: &Option<String>, name: &str) -> String {
    match at {
        Some(at) if !name.contains('/') => format!("{at}/{name}"),
        _ => name.to_owned(),
    }
}

/// Adds a device or wire to a list, or takes it away.
fn put(list: &mut Option<Vec<String>>, at: &Option<String>, name: &str, there: bool) {
    let list = list.get_or_insert_default();
    list.retain(|one| full(at, one) != full(at, name));
    if there {
        list.push(name.to_owned());
    }
}

/// The instrument that is usual for a question, of those at hand.
pub fn usual(owned: &[JobInstrument], ask: Do) -> Option<InstrumentKind> {
    use InstrumentKind::*;
    let order: &[InstrumentKind] = match ask {
        Do::Volts => &[LowImpedance, HighImpedance, TwoPole, Solenoid],
        Do::Ohms => &[HighImpedance, LowImpedance, Continuity],
        Do::Load => &[TestLamp],
        Do::Amps => &[Clamp],
        Do::Watch | Do::Open => &[],
    };
    order.iter().find(|kind| owned.iter().any(|one| one.kind == **kind)).copied()
}

fn word_of<T: Field>(word: &str) -> Option<T> {
    T::read(&Node::text(word), &Path::top(), &mut Vec::new())
}

/// One condition that is other than before; whether it was understood.
pub fn differs(house: &House, question: &mut JobReading, part: &str) -> bool {
    let (first, rest) = part.split_once(' ').unwrap_or((part, ""));
    let rest = rest.trim().to_owned();
    match (first, rest.is_empty()) {
        ("on", true) => question.breaker = Some(AllOrEach::All(Power::On)),
        ("off", true) => question.breaker = Some(AllOrEach::All(Power::Off)),
        ("lamp", false) => match word_of::<LampState>(&rest) {
            Some(lamp) => question.lamp = Some(AllOrEach::All(lamp)),
            None => return false,
        },
        ("with", false) => match word_of::<InstrumentKind>(&rest) {
            Some(kind) => question.with = Some(kind.into()),
            None => return false,
        },
        ("out", false) => put(&mut question.out, &question.at, &rest, true),
        ("in", false) => put(&mut question.out, &question.at, &rest, false),
        ("lifted", false) => put(&mut question.lifted, &question.at, &rest, true),
        ("joined", false) => put(&mut question.lifted, &question.at, &rest, false),
        _ => {
            let Some((name, position)) = part.rsplit_once(' ') else { return false };
            if !house.switches().map(|device| readings::device(house, device)).any(|known| known == name) {
                return false;
            }
            question.switches.get_or_insert_default().insert(name.to_owned(), position.to_owned());
        }
    }
    true
}
