//! What nobody knows of a house, other loads and lengths, is the same in every reading: answers that depend on it repeat
//! one another, and the second tells less than the first.

use super::gain::Asked;
use super::round::{Query, Round};
use crate::call::{Ask, Call, Reading, Seen, Source};

/// An answer that depends on what is not known keeps this much of its worth for each one before it.
const KEEPS: f64 = 0.5;

/// How many answers of each kind came out as things do that depend on what is not known.
pub struct Vague {
    ohms: i32,
    others: i32,
}

impl Vague {
    /// Counts them in a call.
    pub fn of(call: &Call) -> Vague {
        let mut vague = Vague { ohms: 0, others: 0 };
        for reading in call.readings.iter().filter(|reading| reading.by == Source::Technician) {
            let count =
                reading.seen.iter().filter(|seen| is_between(reading, seen, call.house.supply)).count();
            match reading.ask {
                Ask::Ohms(_) => vague.ohms += count as i32,
                _ => vague.others += count as i32,
            }
        }
        vague
    }

    /// The chance that an answer is wrong or tells nothing new, by whether it depends on what is not known.
    pub fn error(&self, error: f64, round: &Round, column: usize, vague: bool) -> f64 {
        let before = match round.columns[column].query {
            Query::Ohms(..) => self.ohms,
            _ => self.others,
        };
        if vague { repeated(error, before) } else { error }
    }

    /// The chance that each of some answers is wrong or tells nothing new.
    pub fn errors(&self, error: f64, round: &Round, asked: &[Asked]) -> Vec<f64> {
        let (mut ohms, mut others) = (self.ohms, self.others);
        let mut of = |&(column, positions): &Asked| {
            if !round.is_vague(column, positions) {
                return error;
            }
            let before = match round.columns[column].query {
                Query::Ohms(..) => &mut ohms,
                _ => &mut others,
            };
            *before += 1;
            repeated(error, *before - 1)
        };
        asked.iter().map(&mut of).collect()
    }
}

/// The chance that an answer is wrong or tells nothing new after so many of its kind.
fn repeated(error: f64, before: i32) -> f64 {
    1.0 - (1.0 - error) * libm::pow(KEEPS, f64::from(before))
}

/// Neither nothing nor everything: a load, a filament, a ghost.
fn is_between(reading: &Reading, seen: &Seen, supply: f64) -> bool {
    match (&reading.ask, *seen) {
        (Ask::Ohms(_), Seen::Number { value, .. }) => (2.0..1e6).contains(&value),
        (Ask::Volts(_), Seen::Number { value, .. }) => value > 0.02 * supply && value < 0.9 * supply,
        (Ask::Volts(_) | Ask::Ohms(_), Seen::Bin(bin)) => bin == 1 || bin == 2,
        _ => false,
    }
}
