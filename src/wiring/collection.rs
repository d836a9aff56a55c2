//! Wirings as the search finds them, each once.

use super::facts::FixedJoint;
use super::space::{Dest, Wiring};
use super::walls::Walls;
use crate::house::Place;
use rustc_hash::FxHashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering::Relaxed};

/// A wiring with its walls, before it is weighed.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Found {
    pub(super) walls: Walls,
    pub(super) wiring: Wiring,
    /// The neutral is joined at both ends of a ring.
    pub(super) closed: bool,
    /// Grounding conductors that go into the dark reach earth there.
    pub(super) bonded: bool,
    pub(super) buried: u8,
    /// With how many readings of volts it is at odds what its wires carry.
    pub(super) doubts: usize,
}

/// What makes a wiring itself: most of it in bytes, and joints that were not seen.
type Key = (Box<[u8]>, Vec<FixedJoint>);

/// So many joints tried count as one step of the search.
const TRIED_A_STEP: u64 = 4;

/// And one takes about as long as so many short ones.
const WORK_A_TRIED: u64 = 10;

/// Steps are added to those of others by so many.
const AT_A_TIME: u64 = 256;

/// What collections have done together that search parts of one question.
#[derive(Default)]
struct Meter {
    kept: AtomicUsize,
    steps: AtomicU64,
    /// Joints tried on the way.
    tried: AtomicU64,
    /// What is asked has too many answers.
    given_up: AtomicBool,
}

/// Wirings found so far, each once.
pub(super) struct Collection {
    all: Vec<Found>,
    known: FxHashMap<Key, usize>,
    meter: Arc<Meter>,
    /// Steps that are not in the meter yet.
    steps: u64,
    /// The fewest readings to be at odds with for which more would have been found.
    beyond: usize,
    /// Whether ends that read closed to each other were taken for one cable.
    straightened: bool,
    most: usize,
    most_steps: u64,
    most_work: u64,
}

impl Collection {
    /// Nothing yet, and room for so many.
    pub(super) fn new(most: usize, most_steps: u64) -> Collection {
        Collection {
            all: Vec::new(),
            known: FxHashMap::default(),
            meter: Arc::default(),
            steps: 0,
            beyond: usize::MAX,
            straightened: false,
            most,
            most_steps,
            most_work: u64::MAX,
        }
    }

    /// The same, where it may take as many steps as it likes, but no longer than that.
    pub(super) fn working(self, most_work: u64) -> Collection {
        Collection { most_steps: u64::MAX, most_work, ..self }
    }

    /// One more for a part of the same question, which has other wirings: they are full together. Whether they are does not
    /// depend on who was first.
    pub(super) fn beside(&self) -> Collection {
        let (meter, most_work) = (self.meter.clone(), self.most_work);
        Collection { meter, most_work, ..Collection::new(self.most, self.most_steps) }
    }

    /// Takes over what one beside it found.
    pub(super) fn take(&mut self, mut other: Collection) {
        other.count();
        self.all.append(&mut other.all);
        self.leave_out(other.beyond);
        self.straightened |= other.straightened;
    }

    /// Counts steps of the search; false when there have been enough.
    pub(super) fn step(&mut self, steps: u64) -> bool {
        self.steps = self.steps.saturating_add(steps);
        if self.steps >= AT_A_TIME {
            self.count();
        }
        !self.is_full()
    }

    fn count(&mut self) {
        self.meter.steps.fetch_add(std::mem::take(&mut self.steps), Relaxed);
    }

    /// Counts joints that were tried.
    pub(super) fn try_joints(&mut self, tried: u64) {
        self.meter.tried.fetch_add(tried, Relaxed);
        self.step(tried / TRIED_A_STEP);
    }

    fn steps(&self) -> u64 {
        self.meter.steps.load(Relaxed) + self.steps
    }

    /// How long it took: in steps of the shortest kind, about 40 nanoseconds each.
    pub(super) fn work(&self) -> u64 {
        self.steps() + WORK_A_TRIED * self.meter.tried.load(Relaxed)
    }

    /// All that was found.
    pub(super) fn into_all(self) -> Vec<Found> {
        self.all
    }

    /// Takes no more: what is asked has too many answers.
    pub(super) fn give_up(&mut self) {
        self.meter.given_up.store(true, Relaxed);
    }

    /// Takes down that something was left out that is at odds with so many readings.
    pub(super) fn leave_out(&mut self, odds: usize) {
        self.beyond = self.beyond.min(odds);
    }

    /// Takes down that ends were taken for one cable because they read closed to each other.
    pub(super) fn straighten(&mut self) {
        self.straightened = true;
    }

    /// With fewer readings to be at odds with than this, the same is found as was.
    pub(super) fn beyond(&self) -> usize {
        self.beyond
    }

    /// Whether that holds too where no ends are taken for one cable.
    pub(super) fn is_straightened(&self) -> bool {
        self.straightened
    }

    /// Whether there is more than can be listed.
    pub(super) fn is_full(&self) -> bool {
        self.meter.given_up.load(Relaxed)
            || self.steps() > self.most_steps
            || (self.most_work < u64::MAX && self.work() > self.most_work)
            || self.meter.kept.load(Relaxed) > self.most
    }

    /// Keeps a wiring unless it is known; of two that differ only in whether the neutral's ring is closed where nobody
    /// looks, the open one.
    pub(super) fn keep(&mut self, found: Found) {
        let key = (key(&found.walls, &found.wiring).into_boxed_slice(), found.walls.hidden.clone());
        match self.known.get(&key) {
            Some(&at) => self.all[at].closed &= found.closed,
            None => {
                self.known.insert(key, self.all.len());
                self.all.push(found);
                self.meter.kept.fetch_add(1, Relaxed);
            }
        }
    }
}

/// What makes a wiring itself, but for joints that were not seen.
fn key(walls: &Walls, wiring: &Wiring) -> Vec<u8> {
    let place = |place: Place| match place {
        Place::Box(at) => [0, at.0],
        Place::Buried(n) => [1, n],
        Place::Panel => [2, 0],
        Place::Onward => [3, 0],
    };
    let dest = |dest: &Dest| match *dest {
        Dest::End(end) => [4, end.0],
        Dest::Box(at) => place(Place::Box(at)),
        Dest::Buried(n) => place(Place::Buried(n)),
        Dest::Panel => place(Place::Panel),
        Dest::Onward => place(Place::Onward),
    };
    let [low, high, ..] = wiring.netlist.to_le_bytes();
    let mut key = vec![low, high, walls.line, walls.neutral, walls.other.unwrap_or(Walls::LOOSE)];
    key.extend(walls.breakers);
    key.push(u8::from(walls.opposite));
    key.extend(place(wiring.feed));
    key.extend(wiring.dests.iter().flat_map(dest));
    key.extend(wiring.labels.iter().map(|label| label.0));
    key.extend(&walls.wires);
    walls.devices.iter().for_each(|dark| key.extend(&dark.groups));
    // The netlist's number stands for screws and tabs.
    key
}
