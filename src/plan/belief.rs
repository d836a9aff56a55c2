//! What is believed now, as far as the call asks: walls with the sense of each handle, and what each would answer.

use crate::house::{Goal, Role};
use crate::verdict::{Case, Roles, SETTLED, Verdict};
use crate::wiring::Walls;
use std::collections::BTreeMap;

/// Walls that are left out may hold this much together.
const LEFT_OUT: f64 = 1e-4;

/// At most so many states are looked at.
const MOST_STATES: usize = 40_000;

/// One thing that may be so.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct State {
    /// Which walls, by their place in [`Belief::walls`].
    pub walls: usize,
    /// Which handles are turned round: one bit a switch.
    pub sense: u32,
    /// Its probability.
    pub p: f64,
    /// What it would answer: states that answer the same to what the call asks have the same number.
    pub target: usize,
}

/// All that may be so, with its probability. What is missing to 1 is `other` and what was left out.
pub struct Belief<'a> {
    /// The walls, likeliest first.
    pub walls: Vec<&'a Walls>,
    /// Walls with a sense and an answer.
    pub states: Vec<State>,
    /// How many answers there are; `other` would answer with this number.
    pub targets: usize,
    /// Probability that no wiring considered describes the house. It predicts nothing.
    pub other: f64,
    /// For each target, what is to be told of each wire in question; empty for a question without wires.
    pub answers: Vec<Vec<Role>>,
    /// The wires that are still in question, by number.
    pub open: Vec<usize>,
    /// Probability of walls that were left out here.
    pub left_out: f64,
}

impl<'a> Belief<'a> {
    /// The posterior, cut where what is left cannot matter.
    pub fn new(case: &Case<'a>, roles: &Roles, verdict: &Verdict) -> Belief<'a> {
        let open = in_question(case, verdict);
        let neutral_only = matches!(case.call.goal, Goal::NeutralAt(_));
        let mut belief = Belief {
            walls: Vec::new(),
            states: Vec::new(),
            targets: 0,
            other: case.posterior.something_else,
            answers: Vec::new(),
            open,
            left_out: 0.0,
        };
        let mut known: BTreeMap<(Vec<Role>, bool), usize> = BTreeMap::new();
        let mut left: f64 = case.posterior.rows.iter().map(|row| row.p).sum();
        for (weighed, (row, shares)) in case.posterior.rows.iter().zip(roles.rows()) {
            if left <= LEFT_OUT || belief.states.len() > MOST_STATES {
                belief.left_out = left;
                break;
            }
            left -= weighed.p;
            let refused = refused(case, row);
            for (share, roles) in shares {
                let told = belief.told(roles, neutral_only);
                let next = known.len();
                let target = *known.entry((told.clone(), refused)).or_insert(next);
                if target == next {
                    belief.answers.push(told);
                }
                let walls = belief.walls.len();
                belief.states.extend(weighed.senses.iter().enumerate().map(|(sense, p)| State {
                    walls,
                    sense: sense as u32,
                    p: p * share,
                    target,
                }));
            }
            belief.walls.push(&case.space.rows[row].walls);
        }
        belief.targets = known.len();
        belief
    }

    /// What roles say about the wires in question.
    fn told(&self, roles: &[Role], neutral_only: bool) -> Vec<Role> {
        let of = |&wire: &usize| match roles[wire] {
            role if !neutral_only || role == Role::Neutral => role,
            _ => Role::Other,
        };
        self.open.iter().map(of).collect()
    }

    /// Entropy of the answer, in bits, `other` among them.
    pub fn bits(&self) -> f64 {
        let mut mass = vec![0.0; self.targets + 1];
        self.states.iter().for_each(|state| mass[state.target] += state.p);
        mass[self.targets] = self.other;
        entropy(&mass)
    }

    /// Entropy of the answer among the wirings considered, in bits.
    pub fn bits_within(&self) -> f64 {
        let mut mass = vec![0.0; self.targets];
        self.states.iter().for_each(|state| mass[state.target] += state.p);
        entropy(&mass)
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
    let asked = |wire: crate::house::WireId| match case.call.goal {
        Goal::Identify | Goal::Repair => true,
        Goal::NeutralAt(at) => house.end(wire.end).at == at,
    };
    let settled = |at: usize| {
        let found = &verdict.wires[at];
        let neutral = match found.role {
            Role::Neutral => found.p,
            _ => found.others.get(&Role::Neutral).copied().unwrap_or(0.0),
        };
        match case.call.goal {
            Goal::NeutralAt(_) => neutral >= SETTLED || neutral <= 1.0 - SETTLED,
            _ => found.p >= SETTLED,
        }
    };
    house.wires().enumerate().filter(|&(at, wire)| asked(wire) && !settled(at)).map(|(at, _)| at).collect()
}

/// Whether a wiring must not be put back as it was: a finding of its own.
fn refused(case: &Case, row: usize) -> bool {
    case.space.rows[row].wirings.first().is_some_and(|w| case.space.netlists[w.netlist].refused)
}
