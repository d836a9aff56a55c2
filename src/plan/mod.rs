//! The next reading: the question that settles most of what the call asks for its minutes.
//!
//! `belief` is what may be so and what each of it would answer; `rigs` are the ways to set things up, `bridges` those with a
//! jumper, `errand` the way there with its price; a `round` is what each of the walls would show in one rig; `gain` is what
//! answers tell; `campaign` and `search` find the best; `proof` is what a neutral is proven by, `open` opens boxes. `price` is
//! what one's own choice takes; `others` are other ways to choose; `exact` is the least that any could take, by `ahead`, which
//! tries orders of readings to their end, and `places`, `mix` and `ways`, which these are made of; `taken` keeps from asking
//! again, `vague` from asking much the same, `site` from asking what must not be.

mod ahead;
mod belief;
mod beware;
mod blind;
mod bridges;
mod campaign;
mod errand;
mod exact;
mod gain;
mod mix;
mod open;
mod others;
mod places;
mod price;
mod proof;
mod report;
mod rig;
mod rigs;
mod round;
mod say;
mod search;
mod site;
mod suggest;
mod taken;
mod vague;
mod ways;

pub use ahead::Least;
pub use exact::{Search as Sought, least};
pub use gain::{Expected, Gain, Row, Table};
pub use others::{Rule, answered, by_rule};
pub use price::{Done, Price, minutes, price};
pub use report::{Next, OneOrEach, Outcome, Reads, Suggestion};

use crate::call::Call;
use crate::house::BoxId;
use crate::knowledge::Knowledge;
use crate::predict::Scene;
use crate::verdict::{self, Case, State, Verdict, rounded};
use crate::weigh::Ledger;
use crate::wiring::Space;
use belief::{Belief, MOST_SEARCHED};
use campaign::Pick;
use errand::Errand;
use rig::{Present, Rig};
use search::{Found, Search, USEFUL};
use site::Site;
use taken::Taken;

/// With this chance that nothing considered explains it, a breaker that opened stays off.
const UNEXPLAINED: f64 = 0.01;

/// Walls that hold so much together are left out of the search; figures are of all of them.
const COARSE: f64 = 5e-3;

/// How things stand, as far as somebody knows that better than the readings tell.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Here<'w> {
    /// The box where one stands; where the last reading was taken, where that is not said.
    pub at: Option<BoxId>,
    /// The boxes that are proved dead, and no others: a proof ends with its off-period, and with the day's work.
    pub proven: &'w [BoxId],
}

/// What is wished beside the best.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Wish<'w> {
    /// How many suggestions.
    pub top: usize,
    /// No readings with the power on.
    pub dead_only: bool,
    /// Where one would rather stay.
    pub at: Option<BoxId>,
    /// How things stand; without it, as the readings leave them: what was worked in dead counts as dead until power is on.
    pub here: Option<Here<'w>>,
    /// Begun anew: others may have been at the panel since the last reading.
    pub resumed: bool,
}

impl Default for Wish<'_> {
    fn default() -> Self {
        Wish { top: 1, dead_only: false, at: None, here: None, resumed: false }
    }
}

/// What to do next in a call, within the space of its house.
pub fn next(call: &Call, knowledge: &Knowledge, space: &Space, wish: Wish) -> Next {
    advise(call, knowledge, space, &mut Ledger::default(), wish).1
}

/// What is settled, and what to do next: both for the weighing of one, going on from what the ledger holds of this house
/// and space.
pub fn advise(
    call: &Call,
    knowledge: &Knowledge,
    space: &Space,
    ledger: &mut Ledger,
    wish: Wish,
) -> (Verdict, Next) {
    verdict::with_case(call, knowledge, space, ledger, |case, scene| {
        let verdict = case.verdict();
        let next = Planner::new(case, scene, &verdict, wish).next();
        (verdict, next)
    })
}

/// The verdict on a call, which is exhausted where nothing in reach would tell more.
pub fn reach(call: &Call, knowledge: &Knowledge, space: &Space) -> Verdict {
    verdict::with_case(call, knowledge, space, &mut Ledger::default(), |case, scene| {
        let mut verdict = case.verdict();
        if verdict.state == State::Open {
            let planner = Planner::new(case, scene, &verdict, Wish::default());
            if !planner.offers_something() {
                verdict.state = planner.next().state;
            }
        }
        verdict
    })
}

/// The same suggestions, each with the table that its figures are from; opening a box has none.
pub fn tables(
    call: &Call,
    knowledge: &Knowledge,
    space: &Space,
    wish: Wish,
) -> Vec<(Suggestion, Option<Table>)> {
    verdict::with_case(call, knowledge, space, &mut Ledger::default(), |case, scene| {
        let verdict = case.verdict();
        Planner::new(case, scene, &verdict, wish).suggestions()
    })
}

/// Something worth doing, with its bits a minute.
struct Ranked {
    rate: f64,
    what: What,
}

enum What {
    Pick(Box<Pick>),
    Open(BoxId, Box<Errand>),
}

impl Ranked {
    fn at(&self) -> Option<BoxId> {
        match &self.what {
            What::Pick(pick) => pick.at,
            What::Open(at, _) => Some(*at),
        }
    }

    fn is_live(&self, search: &Search) -> bool {
        matches!(&self.what, What::Pick(pick) if search.rounds[pick.round].rig.on)
    }
}

struct Planner<'p, 'a> {
    case: &'p Case<'a>,
    site: Site<'a>,
    scene: &'p Scene<'a>,
    belief: Belief<'a>,
    coarse: Belief<'a>,
    present: Present,
    verdict: &'p Verdict,
    wish: Wish<'p>,
    error: f64,
}

impl<'p, 'a> Planner<'p, 'a> {
    fn new(
        case: &'p Case<'a>,
        scene: &'p Scene<'a>,
        verdict: &'p Verdict,
        wish: Wish<'p>,
    ) -> Planner<'p, 'a> {
        let belief = Belief::new(case, verdict);
        let coarse = belief.coarse(COARSE).thinned(MOST_SEARCHED);
        let mut site = Site::new(case.call, case.knowledge, verdict, belief.other);
        let mut present = Present::of(case.call);
        if let Some(here) = wish.here {
            present.know(here);
        }
        present.at = wish.at.or(present.at);
        site.off_before = wish.resumed && !present.rig.on;
        // A breaker that opened for no reason anybody knows is not closed to find out, nor one that makes metal live.
        let unexplained = |at| case.posterior.rows.is_empty() || case.posterior.wrong(at) >= UNEXPLAINED;
        let stays_off = case.call.tripped().any(unexplained) || !case.call.live_metal().is_empty();
        let wish = Wish { dead_only: wish.dead_only || stays_off, ..wish };
        let rates = case.knowledge.instruments.errors.get("technician").copied().unwrap_or_default();
        let error = 1.0 - (1.0 - rates.transient) * (1.0 - rates.persistent);
        Planner { case, site, scene, belief, coarse, present, verdict, wish, error }
    }

    fn next(&self) -> Next {
        self.next_of(|planner| planner.suggestions().into_iter().map(|(suggestion, _)| suggestion).collect())
    }

    /// How things stand, with what is chosen while the question is open.
    fn next_of(&self, choose: impl FnOnce(&Self) -> Vec<Suggestion>) -> Next {
        let mut candidates = self.verdict.candidates.clone();
        candidates.uncovered = rounded((candidates.uncovered + self.belief.left_out).min(1.0));
        let mut next = Next {
            lath: 1,
            state: self.verdict.state,
            wires_settled: self.verdict.wires_settled(),
            candidates,
            suggestions: Vec::new(),
            still_on: suggest::jumpers(&self.site, &self.present.rig),
            would_help: Vec::new(),
        };
        let settled = self.verdict.state == State::Settled;
        // Roles may be settled while it is open what is broken.
        if self.verdict.state == State::Contradiction || (settled && !self.belief.finding_open) {
            return next;
        }
        next.suggestions = choose(self);
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

    /// The best readings, and boxes to open; walls that are hardly likely only where the others ask nothing.
    fn suggestions(&self) -> Vec<(Suggestion, Option<Table>)> {
        // What was put off is asked for only where there is nothing else.
        let put_off = self.site.call.skipped.iter().any(|skipped| !skipped.cannot);
        for later in [true, false].into_iter().filter(|later| *later || put_off) {
            let taken = Taken::of(self.site.call, later);
            if self.case.space.rows.is_empty() {
                let found = self.unlisted(&taken);
                if !found.is_empty() {
                    return found;
                }
                continue;
            }
            let found = self.with(&taken, &self.coarse);
            if !found.is_empty() {
                return found;
            }
            if self.coarse.states.len() < self.belief.states.len() {
                let found = self.with(&taken, &self.belief.coarse(0.0).thinned(MOST_SEARCHED));
                if !found.is_empty() {
                    return found;
                }
            }
            let found = self.beside(&taken);
            if !found.is_empty() {
                return found;
            }
        }
        Vec::new()
    }

    /// Where what is listed leaves nothing to ask, and much is not listed: what cuts that, first with the handles as they stand.
    fn beside(&self, taken: &Taken) -> Vec<(Suggestion, Option<Table>)> {
        if self.case.posterior.uncovered <= verdict::UNLISTED {
            return Vec::new();
        }
        let [here, others] = blind::suggestions(&self.site, &self.present, taken, self.wish.dead_only);
        here.into_iter()
            .chain(others)
            .take(self.wish.top.max(1))
            .map(|suggestion| (suggestion, None))
            .collect()
    }

    /// Whether there is anything to suggest, be it the best or not: it takes no longer than to find the first.
    fn offers_something(&self) -> bool {
        let taken = Taken::of(self.site.call, true);
        if self.case.space.rows.is_empty() {
            return !self.unlisted(&taken).is_empty();
        }
        if !self.boxes(&taken).is_empty() {
            return true;
        }
        let mut search = Search::new(&self.site, self.scene, &self.coarse, &self.present, &taken, self.error);
        let rigs = rigs::all(&self.site, &self.present, self.wish.dead_only);
        let offers = |rig| {
            let found = search.run(std::slice::from_ref(rig));
            !self.ranked(&mut search, found).is_empty()
        };
        rigs.iter().any(offers) || !self.beside(&taken).is_empty()
    }

    /// The boxes that could be opened: whatever is in them, but where the wires are settled.
    fn boxes(&self, taken: &Taken) -> Vec<(f64, BoxId, Errand)> {
        let least = if self.verdict.state == State::Settled { USEFUL } else { 0.0 };
        open::candidates(&self.site, &self.belief, &self.present, taken, least)
    }

    /// Where no wiring could be listed nothing is to be weighed. First what cuts the search and can be read as the handles
    /// stand; then boxes nobody has looked into, the least work first; then the same readings in the other positions.
    fn unlisted(&self, taken: &Taken) -> Vec<(Suggestion, Option<Table>)> {
        let mut boxes = self.boxes(taken);
        boxes.sort_by(|a, b| a.2.cost().total_cmp(&b.2.cost()));
        let open = boxes.iter().map(|(_, at, way)| open::suggestion(&self.site, &self.belief, *at, way));
        let [here, others] = blind::suggestions(&self.site, &self.present, taken, self.wish.dead_only);
        // A look at what can be read where one is comes before a climb, and a climb before every position.
        let mut found: Vec<Suggestion> = here.into_iter().chain(open).chain(others).collect();
        // Where one would rather stay comes first.
        let stay = self.wish.at.map(|at| self.site.house().outlet(at).name.as_str());
        found.sort_by_key(|suggestion| stay.is_some() && suggestion.at.as_deref() != stay);
        found.into_iter().take(self.wish.top.max(1)).map(|suggestion| (suggestion, None)).collect()
    }

    fn with(&self, taken: &Taken, belief: &Belief<'a>) -> Vec<(Suggestion, Option<Table>)> {
        let mut search = Search::new(&self.site, self.scene, belief, &self.present, taken, self.error);
        let proof = proof::next(self.case, self.verdict, &mut search, self.wish.dead_only);
        if let Some((pick, because)) = proof {
            let (suggestion, table) = self.written(&mut search, &pick);
            return vec![(Suggestion { because, ..suggestion }, table)];
        }
        let rigs = rigs::all(&self.site, &self.present, self.wish.dead_only);
        let found = search.run(&rigs);
        let found = search.bridge(found);
        let mut ranked = self.ranked(&mut search, found);
        let boxes = self.boxes(taken);
        ranked.extend(
            boxes.into_iter().map(|(rate, at, way)| Ranked { rate, what: What::Open(at, Box::new(way)) }),
        );
        let away = |ranked: &Ranked| self.wish.at.is_some() && ranked.at() != self.wish.at;
        ranked.sort_by(|a, b| {
            let live = |ranked: &Ranked| ranked.is_live(&search);
            away(a).cmp(&away(b)).then(b.rate.total_cmp(&a.rate)).then(live(a).cmp(&live(b)))
        });
        let mut best: Vec<(Suggestion, Option<Table>)> = Vec::new();
        for one in ranked {
            if best.len() == self.wish.top.max(1) {
                break;
            }
            let (suggestion, table) = match &one.what {
                What::Open(at, way) => (open::suggestion(&self.site, &self.belief, *at, way), None),
                What::Pick(pick) => self.written(&mut search, pick),
            };
            if !best.iter().any(|(known, _)| known.question() == suggestion.question()) {
                best.push((suggestion, table));
            }
        }
        best
    }

    /// What is worth asking, weighed exactly until no bound that is left is above the best.
    fn ranked(&self, search: &mut Search, mut found: Found) -> Vec<Ranked> {
        found.picks.sort_by(|a, b| b.bound().total_cmp(&a.bound()));
        let mut ranked: Vec<Ranked> = Vec::new();
        for mut pick in found.picks {
            let above = ranked.iter().filter(|ranked| ranked.rate >= pick.bound()).count();
            if above >= self.wish.top.max(1) {
                break;
            }
            let (rate, bits) = search.rate(&mut pick);
            if bits >= USEFUL {
                ranked.push(Ranked { rate, what: What::Pick(Box::new(pick)) });
            }
        }
        ranked
    }

    fn written(&self, search: &mut Search, pick: &Pick) -> (Suggestion, Option<Table>) {
        let (round, table) = search.table_by(&self.belief, pick);
        let pick = Pick { columns: (0..pick.columns.len()).collect(), ..pick.clone() };
        (suggest::reading(&self.site, &self.belief, &round, &pick, &table), Some(table))
    }
}
