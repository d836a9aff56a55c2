//! What is believed now, as far as the call asks: walls with the sense of each handle and what else hangs on the circuit,
//! and what each would answer.

use crate::call::Call;
use crate::house::{Goal, Role, WireId};
use crate::knowledge::DefectName;
use crate::predict::without_beyond;
use crate::verdict::{Case, SETTLED, Verdict, intents, landing_in_question, roles};
use crate::wiring::{Defect, Walls, Wiring};
use std::collections::BTreeMap;

/// Walls that are left out may hold this much together.
const LEFT_OUT: f64 = 1e-4;

/// At most so many states are looked at.
const MOST_STATES: usize = 40_000;

/// The search for what to ask next looks at hardly more than so many: with more it takes long, and in drawn houses finds nothing
/// better.
pub const MOST_SEARCHED: usize = 4_000;

/// A finding that is likelier than this is one that nobody need ask about.
const FOUND: f64 = 0.95;

/// One thing that may be so.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct State {
    /// Which walls, by their place in [`Belief::walls`].
    pub walls: usize,
    /// Which handles are turned round: one bit a switch.
    pub sense: u32,
    /// What else hangs on the circuit, by its place among the other loads.
    pub load: u8,
    /// Its probability.
    pub p: f64,
    /// What it would answer: states that answer the same to what the call asks have the same number.
    pub target: usize,
}

/// What a wiring answers to what the call asks.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Told {
    /// The roles of the wires in question.
    pub roles: Vec<Role>,
    /// What is found, where that is in question.
    pub finding: Option<Finding>,
    /// Whether the house works once it is landed as planned, where that is in question.
    pub works: Option<bool>,
}

/// What is found of a wiring beside its roles.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Finding {
    /// It must not be put back so.
    pub refused: bool,
    /// What is miswired or broken.
    pub defects: Vec<Defect>,
    /// Whether somebody who turns the light on and off would notice that.
    pub noticed: bool,
}

/// What makes a finding matter.
#[derive(Clone, Copy, Debug)]
struct Concern {
    /// Somebody complains.
    complaint: bool,
    /// Metal read live.
    live_metal: bool,
}

impl Concern {
    fn of(call: &Call) -> Concern {
        Concern { complaint: call.suspects_wiring(), live_metal: !call.live_metal().is_empty() }
    }
}

/// Whether nobody need ask any more what is found, where findings are so likely: one is sure; or, where somebody complains, one
/// that would be noticed, or it is settled that none is. That metal is live is ruled out for sure where it read so.
fn is_found(chances: &BTreeMap<&Finding, f64>, Concern { complaint, live_metal }: Concern) -> bool {
    let whole: f64 = chances.values().sum();
    let is_live =
        |finding: &Finding| finding.defects.iter().any(|defect| defect.what == DefectName::LiveMetal);
    let live: f64 = chances.iter().filter(|(finding, _)| is_live(finding)).map(|(_, p)| p).sum();
    if live_metal && live < FOUND * whole && live > (1.0 - SETTLED) * whole {
        return false;
    }
    let quiet: f64 = chances.iter().filter(|(finding, _)| !finding.noticed).map(|(_, p)| p).sum();
    let sure = |(finding, p): (&&Finding, &f64)| *p >= FOUND * whole && (finding.noticed || !complaint);
    chances.iter().any(sure) || (complaint && quiet >= SETTLED * whole)
}

/// All that may be so, with its probability. What is missing to 1 is `other` and what was left out.
pub struct Belief<'a> {
    /// The walls, likeliest first.
    pub walls: Vec<&'a Walls>,
    /// Walls with a sense, another load and an answer.
    pub states: Vec<State>,
    /// The answers; `other` would answer with a number past them.
    pub answers: Vec<Told>,
    /// Probability that no wiring considered describes the house. It predicts nothing.
    pub other: f64,
    /// The wires that are still in question, by number.
    pub open: Vec<usize>,
    /// Whether what is miswired or broken is in question.
    pub finding_open: bool,
    concern: Concern,
    /// Probability of walls that were left out here.
    pub left_out: f64,
}

impl<'a> Belief<'a> {
    /// The posterior, cut where what is left cannot matter.
    pub(crate) fn new(case: &Case<'a>, verdict: &Verdict) -> Belief<'a> {
        Belief::about(case, in_question(case, verdict), is_finding_open(case))
    }

    /// The same about every wire and what is found, settled or not.
    pub(crate) fn of_everything(case: &Case<'a>) -> Belief<'a> {
        let goal = !matches!(case.call.goal, Goal::NeutralAt(_));
        Belief::about(case, (0..case.call.house.wires().count()).collect(), goal)
    }

    fn about(case: &Case<'a>, open: Vec<usize>, finding_open: bool) -> Belief<'a> {
        let mut belief = Belief {
            walls: Vec::new(),
            states: Vec::new(),
            answers: Vec::new(),
            other: case.posterior.something_else,
            open,
            finding_open,
            concern: Concern::of(case.call),
            left_out: 0.0,
        };
        let works = landing_in_question(case);
        let mut known: BTreeMap<Told, usize> = BTreeMap::new();
        let mut left: f64 = case.posterior.rows.iter().map(|row| row.p).sum();
        for (nth, weighed) in case.posterior.rows.iter().enumerate() {
            if left <= LEFT_OUT || belief.states.len() > MOST_STATES {
                belief.left_out = left;
                break;
            }
            left -= weighed.p;
            let mut shares: BTreeMap<usize, f64> = BTreeMap::new();
            for (wiring, share) in intents(case, weighed.row) {
                let next = known.len();
                let told = belief.told(case, wiring, works.as_ref().map(|works| works[nth]));
                let target = *known.entry(told).or_insert(next);
                *shares.entry(target).or_default() += share;
            }
            let (walls, of_row) = (belief.walls.len(), &case.space.rows[weighed.row].walls);
            for (target, share) in shares {
                for (sense, (p, &loads)) in (0_u32..).zip(weighed.senses.iter().zip(&weighed.loads)) {
                    let loads = if of_row.onward.is_empty() { without_beyond(loads) } else { loads };
                    let p = p * share;
                    let state = |(load, of_load)| State { walls, sense, load, p: p * of_load, target };
                    let states = (0_u8..).zip(loads).filter(|(_, of_load)| *of_load > 0.0);
                    belief.states.extend(states.map(state));
                }
            }
            belief.walls.push(of_row);
        }
        let mut answers: Vec<(Told, usize)> = known.into_iter().collect();
        answers.sort_by_key(|(_, place)| *place);
        belief.answers = answers.into_iter().map(|(told, _)| told).collect();
        belief
    }

    /// The same without the faintest walls, of which `left_out` more may be left, and without states that are as good as
    /// ruled out.
    pub fn coarse(&self, left_out: f64) -> Belief<'a> {
        let mut mass = vec![0.0; self.walls.len()];
        self.states.iter().for_each(|state| mass[state.walls] += state.p);
        let mut left: f64 = mass.iter().sum();
        let kept = mass.iter().position(|p| {
            let enough = left <= left_out;
            left -= p;
            enough
        });
        let kept = kept.unwrap_or(mass.len());
        let mut places: BTreeMap<usize, usize> = BTreeMap::new();
        let faint = left_out / (4.0 * self.states.len().max(1) as f64);
        let stays = |state: &&State| state.walls < kept && state.p > faint;
        let mut states: Vec<State> = self.states.iter().filter(stays).copied().collect();
        for state in &mut states {
            let next = places.len();
            state.target = *places.entry(state.target).or_insert(next);
        }
        let mut answers: Vec<(usize, usize)> = places.into_iter().map(|(from, to)| (to, from)).collect();
        answers.sort_unstable();
        Belief {
            walls: self.walls[..kept].to_vec(),
            states,
            answers: answers.into_iter().map(|(_, from)| self.answers[from].clone()).collect(),
            other: self.other,
            open: self.open.clone(),
            finding_open: self.finding_open,
            concern: self.concern,
            left_out: self.left_out + left_out,
        }
    }

    /// The same in so many states or hardly more: those that are likely as they are, and of the others, in the order of their
    /// walls, as many as stand for all of them alike.
    pub fn thinned(self, most: usize) -> Belief<'a> {
        if self.states.len() <= most {
            return self;
        }
        let share = self.states.iter().map(|state| state.p).sum::<f64>() / most as f64;
        let mut owed = 0.0;
        let mut places: Vec<Option<usize>> = vec![None; self.walls.len()];
        let (mut walls, mut states) = (Vec::new(), Vec::new());
        for state in self.states {
            if state.p < share {
                owed += state.p;
                if owed < share {
                    continue;
                }
                owed -= share;
            }
            let place = *places[state.walls].get_or_insert_with(|| {
                walls.push(self.walls[state.walls]);
                walls.len() - 1
            });
            states.push(State { walls: place, p: state.p.max(share), ..state });
        }
        Belief { walls, states, ..self }
    }

    /// How many answers there are.
    pub fn targets(&self) -> usize {
        self.answers.len()
    }

    fn told(&self, case: &Case, wiring: &Wiring, works: Option<bool>) -> Told {
        let neutral_only = matches!(case.call.goal, Goal::NeutralAt(_));
        let roles = roles(case, wiring);
        let of = |&wire: &usize| match roles[wire] {
            role if !neutral_only || role == Role::Neutral => role,
            _ => Role::Other,
        };
        Told {
            roles: self.open.iter().map(of).collect(),
            finding: self.finding_open.then(|| finding(case, wiring)),
            works,
        }
    }

    /// Whether the question is answered where the answers hold so much: every role in question is settled, and so is whether
    /// the landing works; and a finding is as good as sure.
    pub fn is_answered(&self, targets: &[f64]) -> bool {
        let whole: f64 = targets.iter().sum();
        let mut findings: BTreeMap<&Finding, f64> = BTreeMap::new();
        let mut roles: Vec<BTreeMap<Role, f64>> = vec![BTreeMap::new(); self.open.len()];
        let mut works: BTreeMap<Option<bool>, f64> = BTreeMap::new();
        for (told, p) in self.answers.iter().zip(targets).filter(|(_, p)| **p > 0.0) {
            if let Some(finding) = &told.finding {
                *findings.entry(finding).or_default() += p;
            }
            *works.entry(told.works).or_default() += p;
            for (chances, role) in roles.iter_mut().zip(&told.roles) {
                *chances.entry(*role).or_default() += p;
            }
        }
        let settled = |chances: &BTreeMap<Role, f64>| chances.values().any(|p| *p >= SETTLED * whole);
        let works = works.values().any(|p| *p >= SETTLED * whole);
        let found = !self.finding_open || is_found(&findings, self.concern);
        works && roles.iter().all(settled) && found
    }

    /// Entropy of the answer, in bits, `other` among them.
    pub fn bits(&self) -> f64 {
        let mut mass = self.mass();
        mass.push(self.other);
        entropy(&mass)
    }

    /// Entropy of the answer among the wirings considered, in bits.
    pub fn bits_within(&self) -> f64 {
        entropy(&self.mass())
    }

    fn mass(&self) -> Vec<f64> {
        let mut mass = vec![0.0; self.targets()];
        self.states.iter().for_each(|state| mass[state.target] += state.p);
        mass
    }
}

/// Entropy in bits of weights, taken as shares of their sum.
pub fn entropy(weights: &[f64]) -> f64 {
    let whole: f64 = weights.iter().sum();
    let of = |weight: &f64| if *weight > 0.0 { weight * libm::log2(*weight) } else { 0.0 };
    let sum: f64 = weights.iter().map(of).sum();
    if whole > 0.0 { (libm::log2(whole) - sum / whole).max(0.0) } else { 0.0 }
}

/// The wires that are not settled, as far as the goal asks about them.
fn in_question(case: &Case, verdict: &Verdict) -> Vec<usize> {
    let house = &case.call.house;
    let asked = |wire: WireId| match case.call.goal {
        Goal::Identify | Goal::Repair => true,
        Goal::NeutralAt(at) => house.end(wire.end).at == at,
    };
    // What no wiring describes may be a neutral for all one knows.
    let unknown = case.posterior.something_else + case.posterior.uncovered;
    let settled = |at: usize| {
        let found = &verdict.wires[at];
        let neutral = match found.role {
            Role::Neutral => found.p,
            _ => found.others.get(&Role::Neutral).copied().unwrap_or(0.0),
        };
        match case.call.goal {
            Goal::NeutralAt(_) => neutral >= SETTLED || neutral + unknown <= 1.0 - SETTLED,
            _ => found.p >= SETTLED,
        }
    };
    house.wires().enumerate().filter(|&(at, wire)| asked(wire) && !settled(at)).map(|(at, _)| at).collect()
}

fn finding(case: &Case, wiring: &Wiring) -> Finding {
    Finding {
        refused: case.space.netlists[wiring.netlist].refused,
        defects: wiring.defects.clone(),
        noticed: wiring.defects.iter().any(|defect| case.knowledge.defects.is_noticed(defect.what)),
    }
}

/// Whether it is open what is miswired or broken, or whether this may be put back at all.
pub(crate) fn is_finding_open(case: &Case) -> bool {
    if matches!(case.call.goal, Goal::NeutralAt(_)) {
        return false;
    }
    let mut known: BTreeMap<Finding, f64> = BTreeMap::new();
    for weighed in &case.posterior.rows {
        for (wiring, share) in intents(case, weighed.row) {
            *known.entry(finding(case, wiring)).or_default() += weighed.p * share;
        }
    }
    let chances = known.iter().map(|(finding, p)| (finding, *p)).collect();
    !is_found(&chances, Concern::of(case.call))
}
