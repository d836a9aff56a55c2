//! Other ways to choose from the same questions: what the planner is held against.

use super::campaign::{Campaign, Pick};
use super::errand::Errand;
use super::open;
use super::report::{Next, Suggestion};
use super::rigs;
use super::round::Scope;
use super::search::{Search, USEFUL};
use super::taken::Taken;
use super::{Planner, Wish};
use crate::call::Call;
use crate::house::BoxId;
use crate::knowledge::Knowledge;
use crate::verdict::{self, Verdict};
use crate::weigh::Ledger;
use crate::wiring::Space;

/// A way to choose.
pub enum Rule<'r> {
    /// What tells most, whatever it costs; of readings that tell the same, the cheaper.
    MostBits,
    /// Any one answer that tells something: a number below the one given is drawn.
    Any(&'r mut dyn FnMut(usize) -> usize),
}

/// What is settled, and what to do next by another rule than the planner's. States are the planner's.
pub fn by_rule(
    call: &Call,
    knowledge: &Knowledge,
    space: &Space,
    ledger: &mut Ledger,
    rule: &mut Rule,
) -> (Verdict, Next) {
    verdict::with_case(call, knowledge, space, ledger, |case, scene| {
        let verdict = case.verdict();
        let planner = Planner::new(case, scene, &verdict, Wish::default());
        let next = planner.next_of(|planner| planner.by(rule));
        (verdict, next)
    })
}

/// What is settled, and whether nothing is left to ask about: the stop rule of the planner by itself.
pub fn answered(call: &Call, knowledge: &Knowledge, space: &Space, ledger: &mut Ledger) -> (Verdict, bool) {
    verdict::with_case(call, knowledge, space, ledger, |case, _| {
        let verdict = case.verdict();
        let done = verdict.state == verdict::State::Settled && !super::belief::is_finding_open(case);
        (verdict, done)
    })
}

/// What was chosen.
enum Chosen {
    Pick(Box<Pick>),
    Open(BoxId, Box<Errand>),
}

impl Planner<'_, '_> {
    fn by(&self, rule: &mut Rule) -> Vec<Suggestion> {
        for (later, belief) in [(true, &self.coarse), (true, &self.belief), (false, &self.belief)] {
            let taken = Taken::of(self.site.call, later);
            let mut search = Search::new(&self.site, self.scene, belief, &self.present, &taken, self.error);
            let boxes = self.telling_boxes(&taken);
            let chosen = match rule {
                Rule::MostBits => self.most_bits(&mut search, boxes),
                Rule::Any(below) => self.any(&mut search, boxes, below),
            };
            match chosen {
                Some(Chosen::Open(at, way)) => {
                    return vec![open::suggestion(&self.site, &self.belief, at, &way)];
                }
                Some(Chosen::Pick(pick)) => return vec![self.written(&mut search, &pick).0],
                None => {}
            }
        }
        Vec::new()
    }

    /// Boxes that tell something, with the bits.
    fn telling_boxes(&self, taken: &Taken) -> Vec<(f64, BoxId, Errand)> {
        let all = open::candidates(&self.site, &self.belief, &self.present, taken, USEFUL);
        all.into_iter().map(|(_, at, way)| (open::bits(&self.site, &self.belief, at), at, way)).collect()
    }

    fn most_bits(&self, search: &mut Search, boxes: Vec<(f64, BoxId, Errand)>) -> Option<Chosen> {
        let mut best: Option<(f64, f64, Chosen)> = None;
        let better = |best: &Option<(f64, f64, Chosen)>, bits: f64, cost: f64| {
            best.as_ref()
                .is_none_or(|(known, price, _)| bits > known + SAME || (bits > known - SAME && cost < *price))
        };
        for rig in rigs::all(&self.site, &self.present, false) {
            for scope in Scope::ALL {
                let Some(round) = search.round(&rig, scope) else { continue };
                let mut kept = false;
                for mut pick in Campaign::new(search, round).whole() {
                    if !better(&best, pick.most, pick.errand.cost()) {
                        continue;
                    }
                    let bits = search.own_bits(&pick);
                    if bits >= USEFUL && better(&best, bits, pick.errand.cost()) {
                        pick.exact = Some((bits / pick.errand.cost(), bits));
                        best = Some((bits, pick.errand.cost(), Chosen::Pick(Box::new(pick))));
                        kept = true;
                    }
                }
                if !kept {
                    search.rounds.truncate(round);
                }
            }
        }
        for (bits, at, way) in boxes {
            if better(&best, bits, way.cost()) {
                best = Some((bits, way.cost(), Chosen::Open(at, Box::new(way))));
            }
        }
        best.map(|(.., chosen)| chosen)
    }

    fn any(
        &self,
        search: &mut Search,
        boxes: Vec<(f64, BoxId, Errand)>,
        below: &mut dyn FnMut(usize) -> usize,
    ) -> Option<Chosen> {
        let mut left: Vec<Option<(super::Rig, Scope)>> = Vec::new();
        for rig in rigs::all(&self.site, &self.present, false) {
            left.extend(Scope::ALL.map(|scope| Some((rig.clone(), scope))));
        }
        left.extend(boxes.iter().map(|_| None));
        let mut boxes = boxes;
        while !left.is_empty() {
            let Some((rig, scope)) = left.swap_remove(below(left.len())) else {
                let (_, at, way) = boxes.swap_remove(below(boxes.len()));
                return Some(Chosen::Open(at, Box::new(way)));
            };
            let Some(round) = search.round(&rig, scope) else { continue };
            let mut singles = Campaign::new(search, round).singles();
            while !singles.is_empty() {
                let pick = singles.swap_remove(below(singles.len()));
                if search.own_bits(&pick) >= USEFUL {
                    return Some(Chosen::Pick(Box::new(pick)));
                }
            }
        }
        None
    }
}

/// Bits that differ by less are the same.
const SAME: f64 = 1e-9;
