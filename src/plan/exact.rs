//! The least that any order of readings can take, where few wirings are left and answers are right: every order tried to its
//! end.

use super::ahead::{Ahead, Least, TooMuch};
use super::belief::Belief;
use super::taken::Taken;
use super::{Planner, Wish};
use crate::call::Call;
use crate::knowledge::Knowledge;
use crate::verdict;
use crate::weigh::Ledger;
use crate::wiring::Space;

/// What came of looking for the least.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Search {
    /// This.
    Found(Least),
    /// No order takes less than what was given.
    NotBelow,
    /// More situations than were given would have to be looked at.
    TooMuch,
}

/// Walls that hold so much together are left out.
const FAINT: f64 = 2e-3;

/// The least, for a call as it stands, if it costs less than `below`; looking at `most` situations.
pub fn least(call: &Call, knowledge: &Knowledge, space: &Space, most: usize, below: f64) -> Search {
    verdict::with_case(call, knowledge, space, &mut Ledger::default(), |case, scene| {
        let verdict = case.verdict();
        let planner = Planner::new(case, scene, &verdict, Wish::default());
        // Walls that are hardly likely would have to be told from the others by nobody.
        let belief = Belief::of_everything(case).coarse(FAINT);
        let taken = Taken::of(call, true);
        let mut ahead = Ahead::new(&planner.site, scene, &belief, &taken, most);
        match ahead.least(&planner.present, below) {
            Ok(found) => found.map_or(Search::NotBelow, Search::Found),
            Err(TooMuch) => Search::TooMuch,
        }
    })
}
