//! What a tester would read, or a light would do, for given walls under given conditions.
//!
//! [`Scene`] holds the opened boxes; with a [`Setup`] (breaker, positions, lamps, devices out, wires lifted, points
//! bridged) it says what is joined in them. [`Nets`] adds the walls and contracts everything that ideal conductors
//! join; most questions are answered there (`bins`), the rest by solving the little that is left (`ghost`, and
//! series lamps). [`network`] builds the same situation uncontracted, with every wire's resistance and every cable's
//! capacitance: the contracted answers are tested against it, and clamp readings need it.
//!
//! Assumed: frequency 60 Hz; neutral bonded to earth at the service; a lamp's cold resistance is its hot one over 13;
//! unknown lengths are tried at 3, 10 and 20 m; unknown other loads are tried absent, at 30 ohm and at 1,000 ohm,
//! each with and without a load beyond the cables that go on.

mod bins;
mod failed;
mod fit;
mod ghost;
mod nets;
pub mod network;
mod scene;
mod tables;

pub use fit::{Tester, fit};
pub use ghost::Ghosts;
pub use nets::Nets;
pub use scene::{ALL_ON, LampIn, Opened, Power, Scene, Setup};
pub use tables::{Forecast, Table, Trial, answer, joined, watch};

/// Hot over cold resistance of a filament: published figures run from 10 to 15.
pub const HOT_OVER_COLD: f64 = 13.0;

/// Line frequency in hertz.
pub const HERTZ: f64 = 60.0;

/// Lengths tried for a cable of unknown length, in metres.
pub const METRES: [f64; 3] = [3.0, 10.0, 20.0];

/// Capacitance between two conductors of flat cable, farads per metre: 5.26 nF measured on a 250 ft roll (R. Duffy,
/// "The Capacitance Connection", Nuts & Volts).
pub const FARADS_PER_METRE: f64 = 69e-12;

/// Capacitance between two singles of one run, farads per metre: the two-wire line formula for 14 AWG in air, 5 in
/// apart.
pub const FARADS_BETWEEN_SINGLES: f64 = 5.5e-12;

/// Capacitance of a conductor to earth round about, farads per metre. An estimate: wood and plaster, no metal sheath.
pub const FARADS_TO_EARTH: f64 = 15e-12;

/// What else hangs on the circuit between line and neutral, in ohms; `None` is no load at all.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct OtherLoad {
    /// Where the feed enters, or before.
    pub at_feed: Option<f64>,
    /// Beyond every cable that takes line and neutral on to the rest of the house.
    pub beyond: Option<f64>,
}

impl OtherLoad {
    /// Nothing at all.
    pub const NONE: OtherLoad = OtherLoad { at_feed: None, beyond: None };
}

/// The other loads tried: each of those by the feed with each of those beyond in turn. What depends on the load beyond alone is
/// told for the first of those by the feed: the others repeat it.
pub const OTHER_LOADS: [OtherLoad; AT_FEED.len() * BEYOND.len()] = {
    let mut all = [OtherLoad::NONE; AT_FEED.len() * BEYOND.len()];
    let mut at = 0;
    while at < all.len() {
        all[at] = OtherLoad { at_feed: AT_FEED[at / BEYOND.len()], beyond: BEYOND[at % BEYOND.len()] };
        at += 1;
    }
    all
};

/// By the feed. A judgement, no source.
const AT_FEED: [Option<f64>; 3] = [None, Some(30.0), Some(1000.0)];

/// Beyond: what pulls a wire that has lost its other pole all the way up, and what a meter that draws shows some of. A judgement,
/// no source.
const BEYOND: [Option<f64>; 3] = [None, Some(100.0), Some(1000.0)];

/// How likely the loads are where nothing goes on: those with nothing beyond stand for all.
pub(crate) fn without_beyond(mut loads: Loads) -> Loads {
    for [nothing, others @ ..] in loads.as_chunks_mut::<{ BEYOND.len() }>().0 {
        *nothing += others.iter_mut().map(std::mem::take).sum::<f64>();
    }
    loads
}

/// How likely each of the other loads is.
pub type Loads = [f64; OTHER_LOADS.len()];

/// Before anything is read, any of them.
pub const ANY_LOAD: Loads = [1.0 / OTHER_LOADS.len() as f64; OTHER_LOADS.len()];
