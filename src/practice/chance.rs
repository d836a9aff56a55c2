//! Random numbers from a seed that is passed in: the same on every machine.

/// Steele, Lea and Flood's SplitMix64 (OOPSLA 2014).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// A sequence that follows from a seed.
    pub fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    /// The next number.
    pub fn next_number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 up to 1, which is never reached.
    pub fn unit(&mut self) -> f64 {
        (self.next_number() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `n`; 0 where `n` is.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next_number() % n.max(1) as u64) as usize
    }

    /// True this often: 0 is never, 1 always.
    pub fn often(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// One of some items; nothing where there are none.
    pub fn pick<T: Copy>(&mut self, items: &[T]) -> Option<T> {
        let at = self.below(items.len());
        items.get(at).copied()
    }

    /// One of some items by their weights; nothing where all weights are 0.
    pub fn weighted<T: Copy>(&mut self, items: &[(f64, T)]) -> Option<T> {
        let whole: f64 = items.iter().map(|(weight, _)| weight).sum();
        let mut left = self.unit() * whole;
        for (weight, item) in items.iter().filter(|(weight, _)| *weight > 0.0) {
            left -= weight;
            if left < 0.0 {
                return Some(*item);
            }
        }
        items.iter().rev().find(|(weight, _)| *weight > 0.0).map(|(_, item)| *item)
    }

    /// Puts items in random order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            let other = self.below(at + 1);
            items.swap(at, other);
        }
    }
}
