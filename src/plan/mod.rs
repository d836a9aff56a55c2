//! The next reading: the question that settles most of what the call asks for its minutes.
//!
//! [`belief`] is what may be so and what each of it would answer; [`rigs`] are the ways to set things up, [`errand`] the
//! way there with its price; a [`round`] is what each of the walls would show in one rig; [`gain`] is what answers tell;
//! [`search`] finds the best. [`taken`] keeps from asking again, [`site`] from asking what must not be.

mod belief;
mod beware;
mod errand;
mod gain;
mod open;
mod report;
mod rig;
mod rigs;
mod round;
mod say;
mod search;
mod site;
mod suggest;
mod taken;

pub use report::{Next, OneOrEach, Outcome, Reads, Suggestion};

use crate::call::Call;
use crate::house::BoxId;
use crate::knowledge::Knowledge;
use crate::predict::Scene;
use crate::verdict::{self, Case, State, Verdict, rounded};
use crate::wiring::Space;
use belief::Belief;
use rig::Present;
use search::{Search, USEFUL};
use site::Site;
use taken::Taken;

/// What is wished beside the best.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Wish {
    /// How many suggestions.
    pub top: usize,
    /// No readings with the power on.
    pub dead_only: bool,
    /// Where one would rather stay.
    pub at: Option<BoxId>,
}

impl Default for Wish {
    fn default() -> Wish {
        Wish { top: 1, dead_only: false, at: None }
    }
}

/// What to do next in a call, within the space of its house.
pub fn next(call: &Call, knowledge: &Knowledge, space: &Space, wish: Wish) -> Next {
    verdict::with_case(call, knowledge, space, |case, scene| {
        let verdict = case.verdict();
        Planner::new(case, scene, &verdict, wish).next()
    })
}

struct Planner<'a> {
    site: Site<'a>,
    scene: &'a Scene<'a>,
    belief: Belief<'a>,
    present: Present,
    verdict: &'a Verdict,
    wish: Wish,
    error: f64,
}

impl<'a> Planner<'a> {
    fn new(case: &Case<'a>, scene: &'a Scene<'a>, verdict: &'a Verdict, wish: Wish) -> Planner<'a> {
        let belief = Belief::new(case, verdict);
        let site = Site::new(case.call, case.knowledge, verdict, belief.other);
        let mut present = Present::of(case.call);
        present.at = wish.at.or(present.at);
        let rates = case.knowledge.instruments.errors.get("technician").copied().unwrap_or_default();
        let error = 1.0 - (1.0 - rates.transient) * (1.0 - rates.persistent);
        Planner { site, scene, belief, present, verdict, wish, error }
    }

    fn next(&self) -> Next {
        let mut candidates = self.verdict.candidates.clone();
        candidates.uncovered = rounded((candidates.uncovered + self.belief.left_out).min(1.0));
        let mut next = Next {
            lath: 1,
            state: self.verdict.state,
            candidates,
            suggestions: Vec::new(),
            would_help: Vec::new(),
        };
        let settled = self.verdict.state == State::Settled;
        // Roles may be settled while it is open what is broken.
        if self.verdict.state == State::Contradiction || (settled && !self.belief.finding_open) {
            return next;
        }
        next.suggestions = self.suggestions();
        next.state = match (next.suggestions.is_empty(), settled) {
            (false, _) => State::Open,
            (true, true) => State::Settled,
            (true, false) => State::Exhausted,
        };
        if next.state == State::Exhausted {
            next.would_help = open::would_help(&self.site);
        }
        next
    }

    /// The best readings, and boxes to open; what was put off only where there is nothing else.
    fn suggestions(&self) -> Vec<Suggestion> {
        for later in [true, false] {
            let taken = Taken::of(self.site.call, later);
            let found = self.with(&taken);
            if !found.is_empty() {
                return found;
            }
        }
        Vec::new()
    }

    fn with(&self, taken: &Taken) -> Vec<Suggestion> {
        let mut search = Search::new(&self.site, self.scene, &self.belief, &self.present, taken, self.error);
        let rigs = rigs::all(&self.site, &self.present, self.wish.dead_only);
        let picks = search.run(&rigs);
        let mut ranked: Vec<(f64, Suggestion)> = Vec::new();
        for pick in &picks {
            if ranked.len() >= self.wish.top.max(1) + 8 {
                break;
            }
            let gain = search.weigh(pick);
            let total = if pick.joint { pick.campaign.0 } else { pick.campaign.0 - pick.most + gain.bits };
            if (pick.joint && pick.campaign.0 < USEFUL) || (!pick.joint && gain.bits < USEFUL) {
                continue;
            }
            let suggestion =
                suggest::reading(&self.site, &self.belief, &search.rounds[pick.round], pick, &gain);
            ranked.push((total / pick.campaign.1, suggestion));
        }
        ranked.extend(open::suggestions(&self.site, &self.belief, &self.present, taken));
        self.best(ranked)
    }

    /// Those at the wished box first, then by rate; of equals the dead one.
    fn best(&self, mut ranked: Vec<(f64, Suggestion)>) -> Vec<Suggestion> {
        let wished = self.wish.at.map(|at| self.site.house().outlet(at).name.clone());
        let away = |suggestion: &Suggestion| wished.is_some() && suggestion.at != wished;
        ranked.sort_by(|(a, one), (b, other)| {
            away(one).cmp(&away(other)).then(b.total_cmp(a)).then(one.live.cmp(&other.live))
        });
        let mut best: Vec<Suggestion> = Vec::new();
        for (_, suggestion) in ranked {
            if best.len() < self.wish.top.max(1)
                && !best.iter().any(|known| known.question() == suggestion.question())
            {
                best.push(suggestion);
            }
        }
        best
    }
}
