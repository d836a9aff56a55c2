//! Readings that come out wrong.

use super::chance::Chance;

/// How often an answer is wrong: newly each time, or whenever the same thing is asked.
#[derive(Clone, Debug)]
pub struct Slips {
    transient: f64,
    persistent: f64,
    seed: u64,
    chance: Chance,
}

impl Slips {
    /// Never.
    pub fn none() -> Slips {
        Slips::at(0.0, 0.0, 0)
    }

    /// At these rates.
    pub fn at(transient: f64, persistent: f64, seed: u64) -> Slips {
        Slips { transient, persistent, seed, chance: Chance::new(seed ^ 0x51f7) }
    }

    /// Where this answer is wrong: what decides how.
    pub fn slip(&mut self, question: &str) -> Option<Chance> {
        if self.persistent > 0.0 {
            let mut always = Chance::new(self.seed ^ fingerprint(question));
            if always.often(self.persistent) {
                return Some(always);
            }
        }
        (self.transient > 0.0 && self.chance.often(self.transient))
            .then(|| Chance::new(self.chance.next_number()))
    }
}

/// FNV-1a.
fn fingerprint(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
