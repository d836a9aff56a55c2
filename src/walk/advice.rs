//! What the walk asks the engine for.

use crate::call::Call;
use crate::knowledge::{Caution, Knowledge};
use crate::plan::{self, Next, Suggestion, Wish};
use crate::verdict::Verdict;
use crate::weigh::Ledger;
use crate::wiring::{Options, Space};

/// How a call stands, and what to do next.
#[derive(Clone, PartialEq, Debug)]
pub struct Advice {
    /// What is settled.
    pub verdict: Verdict,
    /// What to do.
    pub next: Next,
}

/// Gives advice on a call.
pub trait Adviser {
    /// How the call stands.
    fn advise(&mut self, call: &Call) -> Advice;
}

/// The engine as an adviser. The space listed before any reading is kept between answers; where there is too much to list,
/// it is listed anew with what has been read.
pub struct Engine<'a> {
    knowledge: &'a Knowledge,
    options: Options,
    known: Option<(Call, Space, Ledger)>,
}

impl<'a> Engine<'a> {
    /// An engine with the packs.
    pub fn new(knowledge: &'a Knowledge, options: Options) -> Engine<'a> {
        Engine { knowledge, options, known: None }
    }
}

/// Leaves out what a walk says elsewhere: on every card that has a box proved dead, and on every live one.
fn once(knowledge: &Knowledge, suggestion: &mut Suggestion) {
    let said = [Caution::LiveUntilProven, Caution::MoreCircuits];
    let said = said.map(|caution| knowledge.cautions.sentence(caution));
    suggestion.cautions.retain(|caution| !said.contains(&caution.as_str()));
}

impl Adviser for Engine<'_> {
    fn advise(&mut self, call: &Call) -> Advice {
        let house = Call { readings: Vec::new(), skipped: Vec::new(), proofs: Vec::new(), ..call.clone() };
        if self.known.as_ref().is_none_or(|(known, ..)| *known != house) {
            self.known = None;
        }
        let (knowledge, options) = (self.knowledge, self.options);
        let (_, space, ledger) = self.known.get_or_insert_with(|| {
            let space = Space::of_call(&house, knowledge, options);
            (house, space, Ledger::default())
        });
        let mut guided =
            (space.uncovered > 0.0).then(|| (Space::of_call(call, knowledge, options), Ledger::default()));
        let (space, ledger) = guided.as_mut().map_or((&*space, ledger), |(space, ledger)| (&*space, ledger));
        let (verdict, mut next) = plan::advise(call, knowledge, space, ledger, Wish::default());
        next.suggestions.iter_mut().for_each(|suggestion| self::once(knowledge, suggestion));
        Advice { verdict, next }
    }
}
