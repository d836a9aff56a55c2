//! The posterior over walls.

use super::evidence::{Answer, Evidence, Group};
use crate::predict::{Forecast, Scene, Table};
use crate::wiring::{Space, Walls};

/// Rows that fall this far (in logs) behind the best are left: six wrong readings' worth.
const BEHIND: f64 = 30.0;

/// One row of the space with its posterior.
#[derive(Clone, PartialEq, Debug)]
pub struct Weighed {
    /// Which row of the space.
    pub row: usize,
    /// Its posterior probability.
    pub p: f64,
    /// For each reading, the log of what it contributes at the heaviest sense.
    pub logs: Vec<f64>,
    /// For each reading, the probability that an answer of it is wrong, if these are the walls.
    pub wrong: Vec<f64>,
}

/// The posterior over walls.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Posterior {
    /// Rows that are left, heaviest first.
    pub rows: Vec<Weighed>,
    /// Posterior probability that no wiring described the house.
    pub something_else: f64,
    /// Bound on the posterior mass of rows that were left.
    pub uncovered: f64,
}

/// A row while it is being weighed: log weight for each sense.
struct Alive {
    row: usize,
    logs: Vec<f64>,
}

impl Posterior {
    /// Weighs a space by the evidence; `something_else` is the prior of what no wiring describes.
    pub fn new(scene: &Scene, space: &Space, evidence: &Evidence, something_else: f64) -> Posterior {
        let senses = 1usize << evidence.switches;
        let start = |(row, walls): (usize, &crate::wiring::WallsRow)| {
            let log = libm::log(walls.weight() * (1.0 - something_else) / senses as f64);
            Alive { row, logs: vec![log; senses] }
        };
        let mut alive: Vec<Alive> = space.rows.iter().enumerate().map(start).collect();
        let mut ghosts = Forecast::ghosts(scene);
        let mut left = 0.0;
        let mut other = libm::log(something_else);
        for (reading, forecast) in evidence.forecasts.iter().enumerate() {
            let groups: Vec<&Group> =
                evidence.groups.iter().filter(|group| ends_with(group, reading)).collect();
            other += groups.iter().map(|group| blind_log(evidence, group)).sum::<f64>();
            for one in &mut alive {
                let tables =
                    Tables::of(scene, evidence, &groups, &space.rows[one.row].walls, forecast, &mut ghosts);
                for (group, tables) in groups.iter().zip(&tables.by_group) {
                    let gain = group_logs(evidence, group, tables);
                    one.logs.iter_mut().zip(gain).for_each(|(log, gain)| *log += gain);
                }
            }
            left += prune(&mut alive);
        }
        finish(scene, space, evidence, alive, other, left)
    }
}

/// The answers of a group are weighed when its last reading is reached.
fn ends_with(group: &Group, reading: usize) -> bool {
    group.answers.last().is_some_and(|answer| answer.reading == reading)
}

/// Tables for the answers of some groups.
struct Tables {
    by_group: Vec<Vec<Table>>,
}

impl Tables {
    /// All groups here end with the reading of `forecast`; repeats of earlier readings are worked out again.
    fn of(
        scene: &Scene,
        evidence: &Evidence,
        groups: &[&Group],
        walls: &Walls,
        forecast: &Forecast,
        ghosts: &mut crate::predict::Ghosts,
    ) -> Tables {
        let here = forecast.tables(scene, walls, ghosts);
        let mut table = |answer: &Answer, last: usize| {
            if answer.reading == last {
                here[answer.answer].clone()
            } else {
                evidence.forecasts[answer.reading].tables(scene, walls, ghosts).swap_remove(answer.answer)
            }
        };
        let of_group = |group: &&Group| {
            let last = group.answers.last().map_or(0, |answer| answer.reading);
            group.answers.iter().map(|answer| table(answer, last)).collect()
        };
        Tables { by_group: groups.iter().map(of_group).collect() }
    }
}

fn blind_log(evidence: &Evidence, group: &Group) -> f64 {
    group.answers.iter().map(|&answer| libm::log(evidence.blind(answer).max(1e-300))).sum()
}

/// For each sense, the log of how well the answers of a group fit together.
fn group_logs(evidence: &Evidence, group: &Group, tables: &[Table]) -> Vec<f64> {
    let (sound, stuck) = sound_and_stuck(evidence, group, tables);
    sound.iter().map(|sound| libm::log((sound + stuck).max(1e-300))).collect()
}

/// For each sense, the weight of the answers with independent errors; and with the error that repeats.
fn sound_and_stuck(evidence: &Evidence, group: &Group, tables: &[Table]) -> (Vec<f64>, f64) {
    let persistent = group.errors.persistent;
    let stuck: f64 = group.answers.iter().map(|&answer| evidence.blind(answer)).product();
    let mut sound = vec![1.0 - persistent; 1 << evidence.switches];
    for (answer, table) in group.answers.iter().zip(tables) {
        let slip = group.errors.transient * evidence.blind(*answer);
        let fits = evidence.by_sense(table, &group.positions);
        sound
            .iter_mut()
            .zip(fits)
            .for_each(|(sound, fit)| *sound *= (1.0 - group.errors.transient) * fit + slip);
    }
    (sound, persistent * stuck)
}

/// Drops rows far behind; the mass they could still hold is returned, relative to the best.
fn prune(alive: &mut Vec<Alive>) -> f64 {
    let best = |one: &Alive| one.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let top = alive.iter().map(best).fold(f64::NEG_INFINITY, f64::max);
    let behind = |one: &Alive| best(one) < top - BEHIND;
    let lost: f64 = alive.iter().filter(|one| behind(one)).map(|one| libm::exp(best(one) - top)).sum();
    alive.retain(|one| !behind(one));
    lost
}

fn finish(
    scene: &Scene,
    space: &Space,
    evidence: &Evidence,
    alive: Vec<Alive>,
    other: f64,
    left: f64,
) -> Posterior {
    let top = alive.iter().flat_map(|one| &one.logs).copied().fold(other, f64::max);
    let mass = |one: &Alive| one.logs.iter().map(|log| libm::exp(log - top)).sum::<f64>();
    let whole: f64 = alive.iter().map(mass).sum::<f64>() + libm::exp(other - top);
    let mut ghosts = Forecast::ghosts(scene);
    let mut rows: Vec<Weighed> = alive
        .iter()
        .map(|one| {
            let p = mass(one) / whole;
            let walls = &space.rows[one.row].walls;
            let (logs, wrong) = if p > 1e-6 {
                detail(scene, evidence, walls, &one.logs, &mut ghosts)
            } else {
                (vec![0.0; evidence.readings()], vec![0.0; evidence.readings()])
            };
            Weighed { row: one.row, p, logs, wrong }
        })
        .collect();
    rows.sort_by(|a, b| b.p.total_cmp(&a.p).then(a.row.cmp(&b.row)));
    Posterior { rows, something_else: libm::exp(other - top) / whole, uncovered: left.min(1.0) }
}

/// For each reading: the log it adds, averaged over senses, and the chance that it is wrong.
fn detail(
    scene: &Scene,
    evidence: &Evidence,
    walls: &Walls,
    logs: &[f64],
    ghosts: &mut crate::predict::Ghosts,
) -> (Vec<f64>, Vec<f64>) {
    let all: Vec<Vec<Table>> =
        evidence.forecasts.iter().map(|forecast| forecast.tables(scene, walls, ghosts)).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let whole: f64 = logs.iter().map(|log| libm::exp(log - top)).sum();
    let senses: Vec<f64> = logs.iter().map(|log| libm::exp(log - top) / whole).collect();
    let mut adds = vec![0.0; evidence.readings()];
    let mut wrong = vec![0.0; evidence.readings()];
    for group in &evidence.groups {
        let tables: Vec<Table> = group.answers.iter().map(|a| all[a.reading][a.answer].clone()).collect();
        let (sound, stuck) = sound_and_stuck(evidence, group, &tables);
        for (sense, &weight) in senses.iter().enumerate() {
            let fit = (sound[sense] + stuck).max(1e-300);
            for (answer, table) in group.answers.iter().zip(&tables) {
                let good = (1.0 - group.errors.transient) * evidence.by_sense(table, &group.positions)[sense];
                let slip = group.errors.transient * evidence.blind(*answer);
                let slipped = sound[sense] * slip / (good + slip).max(1e-300);
                let p: f64 = weight * (stuck + slipped) / fit;
                wrong[answer.reading] = f64::max(wrong[answer.reading], p);
                adds[answer.reading] += weight * libm::log(fit) / group.answers.len() as f64;
            }
        }
    }
    (adds, wrong)
}
