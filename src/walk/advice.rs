//! What the walk asks the engine for.

use super::place::{Place, Stage};
use crate::call::Call;
use crate::call::job::items;
use crate::house::BoxId;
use crate::knowledge::{Caution, Knowledge};
use crate::plan::{self, Here, Next, Suggestion, Wish};
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

/// Advice that was given, and on what.
pub struct Advised {
    call: Call,
    at: Option<BoxId>,
    proven: Vec<BoxId>,
    advice: Advice,
}

impl Advised {
    /// Asks for advice.
    pub fn new(adviser: &mut impl Adviser, call: &Call, place: &Place) -> Advised {
        let (at, proven) = (at(call, place), proven(call, place));
        let advice = adviser.advise(call, Some(Here { at, proven: &proven }));
        Advised { call: call.clone(), at, proven, advice }
    }

    /// The advice.
    pub fn advice(&self) -> &Advice {
        &self.advice
    }

    /// Whether it still holds. A box that is proved dead on the way to a suggestion makes no other one of it, and where
    /// nothing is suggested it makes no odds where one stands.
    pub fn holds(&self, call: &Call, place: &Place) -> bool {
        let suggests = place.stage == Stage::Work && place.step.is_none();
        let stands = || (self.at, &self.proven) == (at(call, place), &proven(call, place));
        self.is_about(call) && (!suggests || stands())
    }

    /// Whether it is about this call. Proofs count where something was live.
    fn is_about(&self, call: &Call) -> bool {
        let live = |call: &Call| call.proofs.iter().any(|proof| !proof.dead);
        let counts = live(&self.call) || live(call);
        let bare = |call: &Call| Call { proofs: Vec::new(), ..call.clone() };
        if counts { self.call == *call } else { bare(&self.call) == bare(call) }
    }
}

/// The box where the person stands.
fn at(call: &Call, place: &Place) -> Option<BoxId> {
    place.at.as_ref().and_then(|name| named(call, name))
}

/// The boxes that are proved dead.
fn proven(call: &Call, place: &Place) -> Vec<BoxId> {
    items(&place.proven).iter().filter_map(|name| named(call, name)).collect()
}

fn named(call: &Call, name: &str) -> Option<BoxId> {
    call.house.box_ids().find(|&at| call.house.outlet(at).name == name)
}

/// Gives advice on a call.
pub trait Adviser {
    /// How the call stands, for somebody who stands so; as the readings leave things, where that is not said.
    fn advise(&mut self, call: &Call, here: Option<Here>) -> Advice;
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
    fn advise(&mut self, call: &Call, here: Option<Here>) -> Advice {
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
        let wish = Wish { here, ..Wish::default() };
        let (verdict, mut next) = plan::advise(call, knowledge, space, ledger, wish);
        next.suggestions.iter_mut().for_each(|suggestion| self::once(knowledge, suggestion));
        Advice { verdict, next }
    }
}
