//! The posterior over walls.
//!
//! No answer fits walls better than certainly, so the weight a row has so far bounds what it can end with. Readings that
//! tell most are held against the rows first, and a row is held against further ones only while its bound could still
//! matter beside the rows that are done. What is left at the end is bounded: `uncovered`.

use super::evidence::{Answer, Evidence, Group};
use crate::predict::{Forecast, Ghosts, Scene, Table};
use crate::wiring::{Space, Walls};

/// Rows that are left may hold this share of the posterior together, at most.
const MAY_MISS: f64 = 1e-4;

/// Rows that are done and hold less than this are not looked into any further.
const FAINT: f64 = 1e-6;

/// Rows that end with less than this have lost.
const HOLDS: f64 = 1e-3;

/// How many rows are looked at to see which readings tell most.
const SAMPLE: usize = 48;

/// One row of the space with its posterior.
#[derive(Clone, PartialEq, Debug)]
pub struct Weighed {
    /// Which row of the space.
    pub row: usize,
    /// Its posterior probability.
    pub p: f64,
    /// How that is shared among the senses of the handles: bit `i` of the index turns switch `i` round.
    pub senses: Vec<f64>,
    /// For each reading, the log of what it contributes, averaged over senses.
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
    /// Rows that lost, each with its prior weight and the reading that told most against it.
    pub lost: Vec<Lost>,
}

/// A row that lost.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lost {
    /// Which row of the space.
    pub row: usize,
    /// Its prior weight.
    pub prior: f64,
    /// The reading that told most against it, in file order from 0.
    pub by: usize,
}

/// A row while it is being weighed.
struct Row {
    row: usize,
    /// How many readings, in the order they are taken, it has been held against.
    done: usize,
    /// Log weight for each sense.
    logs: Vec<f64>,
    /// What told most against it so far: by how much, and which reading.
    worst: (f64, usize),
}

impl Row {
    fn best(&self) -> f64 {
        self.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    fn mass(&self, top: f64) -> f64 {
        self.logs.iter().map(|log| libm::exp(log - top)).sum()
    }
}

impl Posterior {
    /// Weighs a space by the evidence; `something_else` is the prior of what no wiring describes.
    pub fn new(scene: &Scene, space: &Space, evidence: &Evidence, something_else: f64) -> Posterior {
        Weighing::new(scene, space, evidence).run(something_else)
    }
}

/// A reading that is likelier than this to be wrong asks for another explanation.
const DOUBTED: f64 = 0.3;

/// And so does what no wiring describes, from here on.
const UNEXPLAINED: f64 = 0.05;

impl Posterior {
    /// Whether what is left explains the readings badly: a failure may be behind it.
    pub fn is_strained(&self, readings: usize) -> bool {
        let whole: f64 = self.rows.iter().map(|row| row.p).sum();
        let wrong =
            |reading: usize| self.rows.iter().map(|row| row.p * row.wrong[reading]).sum::<f64>() / whole;
        whole <= 0.0
            || self.something_else >= UNEXPLAINED
            || (0..readings).any(|reading| wrong(reading) >= DOUBTED)
    }

    /// The prior of what still holds.
    pub fn prior(&self, space: &Space) -> f64 {
        let held = self.rows.iter().filter(|row| row.p >= HOLDS);
        held.map(|row| space.rows[row.row].weight()).sum()
    }

    /// Gives a share of the whole to what was not weighed.
    pub fn leave_out(&mut self, share: f64) {
        let left = 1.0 - share;
        for row in &mut self.rows {
            row.p *= left;
            row.senses.iter_mut().for_each(|p| *p *= left);
        }
        self.something_else *= left;
        self.uncovered = self.uncovered * left + share;
    }

    /// Rows of the space that explain the readings least badly, at most so many.
    pub fn nearest(scene: &Scene, space: &Space, evidence: &Evidence, most: usize) -> Vec<usize> {
        Weighing::new(scene, space, evidence).nearest(most)
    }
}

/// So many rows are looked at to find the nearest; only half as many go on after each eighth of the readings.
const BEAM: usize = 4096;

struct Weighing<'a> {
    scene: &'a Scene<'a>,
    space: &'a Space,
    evidence: &'a Evidence,
    ghosts: Ghosts,
    /// Readings in the order they are taken, each with the groups whose last answer it holds.
    order: Vec<(usize, Vec<&'a Group>)>,
}

impl<'a> Weighing<'a> {
    fn new(scene: &'a Scene<'a>, space: &'a Space, evidence: &'a Evidence) -> Weighing<'a> {
        let ending =
            |reading: usize| evidence.groups.iter().filter(|group| ends_with(group, reading)).collect();
        let order = (0..evidence.readings()).map(|reading| (reading, ending(reading))).collect();
        Weighing { scene, space, evidence, ghosts: Forecast::ghosts(scene), order }
    }

    /// All rows before any reading, heaviest first.
    fn rows(&self, something_else: f64) -> Vec<Row> {
        let senses = 1usize << self.evidence.switches;
        let start = |(row, walls): (usize, &crate::wiring::WallsRow)| {
            let log = libm::log(walls.weight() * (1.0 - something_else) / senses as f64);
            Row { row, done: 0, logs: vec![log; senses], worst: (0.0, 0) }
        };
        self.space.rows.iter().enumerate().map(start).collect()
    }

    /// Every row is held against as many readings as the others, so that they can be compared.
    fn nearest(mut self, most: usize) -> Vec<usize> {
        let mut rows = self.rows(0.0);
        rows.truncate(BEAM);
        self.tell_most_first(&rows);
        let readings = self.order.len();
        for done in 0..readings {
            rows.iter_mut().for_each(|row| self.advance(row));
            rows.sort_by(|a, b| b.best().total_cmp(&a.best()).then(a.row.cmp(&b.row)));
            rows.truncate((BEAM >> (8 * done / readings)).max(most));
        }
        rows.into_iter().map(|row| row.row).take(most).collect()
    }

    fn run(mut self, something_else: f64) -> Posterior {
        let mut rows = self.rows(something_else);
        let blind: f64 = self.evidence.groups.iter().map(|group| blind_log(self.evidence, group)).sum();
        let other = libm::log(something_else) + blind;
        self.tell_most_first(&rows);
        let all = self.order.len();
        loop {
            let (done, left): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| row.done == all);
            let top = done.iter().map(|row| row.best()).fold(other, f64::max);
            let mass = done.iter().map(|row| row.mass(top)).sum::<f64>() + libm::exp(other - top);
            let missed = left.iter().map(|row| row.mass(top)).sum::<f64>() / mass;
            if missed <= MAY_MISS {
                return self.finish(&rows, other, missed);
            }
            let floor =
                top + libm::log(mass * MAY_MISS / ((2 * left.len()) << self.evidence.switches) as f64);
            // The likeliest row is taken to its end: it says how far behind the others are.
            let lead = left.iter().map(|row| row.best()).fold(f64::NEG_INFINITY, f64::max);
            for row in rows.iter_mut().filter(|row| row.done < all && row.best() > floor) {
                let to = if row.best() >= lead { all } else { row.done + 1 };
                while row.done < to {
                    self.advance(row);
                }
            }
        }
    }

    /// Takes the readings first that fit a sample of the rows worst.
    fn tell_most_first(&mut self, rows: &[Row]) {
        let step = rows.len().div_ceil(SAMPLE).max(1);
        let mut told: Vec<(f64, (usize, Vec<&Group>))> = Vec::new();
        for (reading, groups) in std::mem::take(&mut self.order) {
            let mut sum = 0.0;
            for row in rows.iter().step_by(step) {
                let gains = self.gains(row.row, reading, &groups);
                sum += gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            }
            told.push((sum, (reading, groups)));
        }
        told.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.order = told.into_iter().map(|(_, entry)| entry).collect();
    }

    /// Holds a row against the next reading.
    fn advance(&mut self, row: &mut Row) {
        let (reading, groups) = self.order[row.done].clone();
        let before = row.best();
        let gains = self.gains(row.row, reading, &groups);
        row.logs.iter_mut().zip(gains).for_each(|(log, gain)| *log += gain);
        row.done += 1;
        if row.best() - before < row.worst.0 {
            row.worst = (row.best() - before, reading);
        }
    }

    /// For each sense, the log of how well a reading fits a row.
    fn gains(&mut self, row: usize, reading: usize, groups: &[&Group]) -> Vec<f64> {
        let walls = &self.space.rows[row].walls;
        let forecast = &self.evidence.forecasts[reading];
        let tables = Tables::of(self.scene, self.evidence, groups, walls, forecast, &mut self.ghosts);
        let mut gains = vec![0.0; 1 << self.evidence.switches];
        for (group, tables) in groups.iter().zip(&tables.by_group) {
            let of_group = group_logs(self.evidence, group, tables);
            gains.iter_mut().zip(of_group).for_each(|(gain, of_group)| *gain += of_group);
        }
        gains
    }

    fn finish(mut self, rows: &[Row], other: f64, missed: f64) -> Posterior {
        let done: Vec<&Row> = rows.iter().filter(|row| row.done == self.order.len()).collect();
        let top = done.iter().map(|row| row.best()).fold(other, f64::max);
        let mass: f64 = done.iter().map(|row| row.mass(top)).sum::<f64>() + libm::exp(other - top);
        let (mut weighed, mut faint) = (Vec::new(), 0.0);
        for row in done {
            let p = row.mass(top) / mass;
            if p <= FAINT {
                faint += p;
                continue;
            }
            let walls = &self.space.rows[row.row].walls;
            let (logs, wrong) = detail(self.scene, self.evidence, walls, &row.logs, &mut self.ghosts);
            let senses = row.logs.iter().map(|log| libm::exp(log - top) / mass).collect();
            weighed.push(Weighed { row: row.row, p, senses, logs, wrong });
        }
        let kept = |row: &Row| row.done == self.order.len() && row.mass(top) / mass > HOLDS;
        let lost = rows.iter().filter(|row| !kept(row)).map(|row| Lost {
            row: row.row,
            prior: self.space.rows[row.row].weight(),
            by: row.worst.1,
        });
        let lost: Vec<Lost> = lost.collect();
        weighed.sort_by(|a, b| b.p.total_cmp(&a.p).then(a.row.cmp(&b.row)));
        Posterior {
            rows: weighed,
            something_else: libm::exp(other - top) / mass,
            uncovered: missed + faint,
            lost,
        }
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
        ghosts: &mut Ghosts,
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

/// For each reading: the log it adds, averaged over senses, and the chance that it is wrong.
fn detail(
    scene: &Scene,
    evidence: &Evidence,
    walls: &Walls,
    logs: &[f64],
    ghosts: &mut Ghosts,
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
