//! Which readings a role rests on: those without which it would be less sure.

use super::roles::Roles;
use super::{Case, rounded};
use crate::house::Role;

/// At most this many are named.
const MOST: usize = 3;
/// A reading that changes the odds by less than this (in logs) is not named.
const LEAST: f64 = 0.5;

/// Readings, counted from 1 and in order, whose absence would lower the odds of `role` most.
pub(super) fn readings(case: &Case, roles: &Roles, wire: usize, role: Role) -> Vec<usize> {
    let full = odds(case, roles, wire, role, None);
    let loss = |reading: usize| full - odds(case, roles, wire, role, Some(reading));
    let mut losses: Vec<(usize, f64)> =
        (0..case.call.readings.len()).map(|reading| (reading, rounded(loss(reading)))).collect();
    losses.retain(|(_, loss)| *loss >= LEAST);
    losses.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut named: Vec<usize> = losses.into_iter().take(MOST).map(|(reading, _)| reading + 1).collect();
    named.sort_unstable();
    named
}

/// Log odds of a role, with one reading left out.
fn odds(case: &Case, roles: &Roles, wire: usize, role: Role, without: Option<usize>) -> f64 {
    let rows = &case.posterior.rows;
    let gain = |at: usize| without.map_or(0.0, |reading| -rows[at].logs[reading]);
    let top = (0..rows.len()).map(gain).fold(f64::NEG_INFINITY, f64::max);
    let chances = roles.chances_under(wire, |at, p| p * libm::exp(gain(at) - top));
    let whole: f64 = chances.values().sum();
    let with = chances.get(&role).copied().unwrap_or(0.0);
    libm::log(with.max(1e-12)) - libm::log((whole - with).max(1e-12 * whole.max(1e-12)))
}
