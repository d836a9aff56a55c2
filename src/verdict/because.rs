//! Which readings a role rests on: those that ruled out the wirings in which the wire is something else.

use super::{Case, WireFound, roles};
use crate::house::Role;

/// At most this many are named.
const MOST: usize = 3;
/// A reading is named when it ruled out this share of the rivals or more.
const LEAST: f64 = 0.05;
/// Rivals that held less than this before anything was read are not worth a reading: the survey says it.
const RIVALS: f64 = 1e-3;

/// Says of every wire which readings its role rests on.
pub(super) fn explain(case: &Case, wires: &mut [WireFound]) {
    let because = Because::new(case);
    for (at, wire) in wires.iter_mut().enumerate() {
        wire.because = because.readings(at, wire.role);
    }
}

/// For each wire and each role it may have, how much prior weight each reading ruled out.
struct Because {
    /// By wire: the roles that lost, each with the reading that told most against it and the weight.
    lost: Vec<Vec<(Role, usize, f64)>>,
}

impl Because {
    fn new(case: &Case) -> Because {
        let wires = case.facts.wires.len();
        let mut lost: Vec<Vec<(Role, usize, f64)>> = vec![Vec::new(); wires];
        for row in &case.posterior.lost {
            let Some(wiring) = case.space.rows[row.row].wirings.first() else { continue };
            for (of_wire, role) in lost.iter_mut().zip(roles::roles(case, wiring)) {
                match of_wire.iter_mut().find(|(r, by, _)| *r == role && *by == row.by) {
                    Some((.., weight)) => *weight += row.prior,
                    None => of_wire.push((role, row.by, row.prior)),
                }
            }
        }
        Because { lost }
    }

    /// The readings a role rests on, counted from 1, in file order; none where the survey alone says it.
    fn readings(&self, wire: usize, role: Role) -> Vec<usize> {
        let rivals = self.lost[wire].iter().filter(|(other, ..)| *other != role);
        let mut by_reading = std::collections::BTreeMap::new();
        for &(_, by, weight) in rivals {
            *by_reading.entry(by).or_insert(0.0) += weight;
        }
        let whole: f64 = by_reading.values().sum();
        if whole < RIVALS {
            return Vec::new();
        }
        let mut by_weight: Vec<(usize, f64)> =
            by_reading.into_iter().filter(|(_, weight)| *weight >= LEAST * whole).collect();
        by_weight.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let mut named: Vec<usize> = by_weight.into_iter().take(MOST).map(|(by, _)| by + 1).collect();
        named.sort_unstable();
        named
    }
}
