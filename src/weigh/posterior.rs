//! The posterior over walls.
//!
//! No answer fits walls better than certainly, so the weight a row has so far bounds what it can end with. Readings that
//! tell most are held against the rows first, and a row is held against further ones only while its bound could still
//! matter beside the rows that are done. What is left at the end is bounded: `uncovered`.

use super::evidence::{Answer, Evidence, Group};
use crate::call::Reading;
use crate::house::BoxId;
use crate::predict::{ANY_LOAD, Forecast, Ghosts, Loads, Scene, Table};
use crate::wiring::{Space, Walls, WallsRow};
use crate::workers;
use rustc_hash::FxHashMap;
use std::borrow::Cow;

/// Rows that are left may hold this share of the posterior together, at most.
const MAY_MISS: f64 = 1e-4;

/// Rows that are done and hold less than this are not looked into any further.
const FAINT: f64 = 1e-6;

/// Rows that end with less than this have lost.
const HOLDS: f64 = 1e-3;

/// Heavier rows hold nearly all where no more than this is left.
const LEFT: f64 = 1e-3;

/// The log of a share that adds nothing to a sum.
const NAUGHT: f64 = -60.0;

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
    /// For each of the senses how likely each of the other loads is beside these walls.
    pub loads: Vec<Loads>,
    /// For each reading, the probability that an answer of it is wrong, if these are the walls. It is not worked out where
    /// heavier rows hold nearly all.
    pub wrong: Option<Vec<f64>>,
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
    /// Rows that lost by a reading, each with its prior weight and the reading that told most against it.
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

/// What the rows of one space weigh so far. Kept from one reading of a call to the next, it spares holding a row against
/// the same reading twice.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    rows: Vec<Row>,
    /// The readings up to now.
    readings: Vec<Reading>,
    /// The boxes whose metal was taken to be at earth.
    earthed: Vec<BoxId>,
}

impl Ledger {
    /// Makes ready for the readings of a call; begins anew unless they are those up to now and further ones, and metal is
    /// taken to be as it was.
    fn follow(&mut self, scene: &Scene, evidence: &Evidence, fresh: impl FnOnce() -> Vec<Row>) {
        let known = self.readings.len();
        let repeats = |group: &Group| group.readings.0 < known && group.readings.1 >= known;
        let further = evidence.said.starts_with(&self.readings) && !evidence.groups.iter().any(repeats);
        let alike = |row: &Row| row.logs.len() == evidence.states();
        if !self.rows.first().is_some_and(alike) || !further || self.earthed != scene.earthed() {
            self.rows = fresh();
        }
        self.earthed = scene.earthed().to_vec();
        self.readings.clone_from(&evidence.said);
        self.rows.iter_mut().for_each(|row| row.held.resize(evidence.forecasts.len(), false));
    }
}

/// How walls fit the readings, whatever they weighed before: kept from one space of a call to the next that holds some of them
/// again, beside others.
#[derive(Default)]
pub struct Known(FxHashMap<Walls, Row>);

/// A row while it is being weighed.
#[derive(Clone, Debug)]
struct Row {
    row: usize,
    /// For each forecast, whether it has been held against it.
    held: Vec<bool>,
    /// Against how many.
    done: usize,
    /// Log weight for each state: the sense of the handles, and what else hangs on the circuit.
    logs: Vec<f64>,
    /// The log of their sum, and the highest of them.
    sum: f64,
    best: f64,
    /// What told most against it so far: by how much, and which forecast.
    worst: (f64, usize),
}

impl Row {
    /// Works out anew what follows from the logs.
    fn total(&mut self) {
        self.best = self.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let share = |log: &f64| if log - self.best < NAUGHT { 0.0 } else { libm::exp(log - self.best) };
        let sum: f64 = self.logs.iter().map(share).sum();
        self.sum = self.best + libm::log(sum);
    }

    /// The same where it weighed so many times as much before any reading.
    fn times(mut self, log: f64) -> Row {
        self.logs.iter_mut().chain([&mut self.sum, &mut self.best]).for_each(|one| *one += log);
        self
    }

    fn mass(&self, top: f64) -> f64 {
        if self.sum - top < NAUGHT { 0.0 } else { libm::exp(self.sum - top) }
    }
}

impl Posterior {
    /// Weighs a space by the evidence; `something_else` is the prior of what no wiring describes.
    pub fn new(scene: &Scene, space: &Space, evidence: &Evidence, something_else: f64) -> Posterior {
        Posterior::knowing(scene, space, evidence, something_else, &mut Known::default())
    }

    /// The same, with what is known of some of the walls by the same evidence.
    pub fn knowing(
        scene: &Scene,
        space: &Space,
        evidence: &Evidence,
        something_else: f64,
        known: &mut Known,
    ) -> Posterior {
        let weighing = Weighing::new(scene, space, evidence);
        let rows = weighing.rows(something_else).into_iter().map(|row| known.take(space, row)).collect();
        let mut ledger = Ledger { rows, ..Ledger::default() };
        let posterior = weighing.run(something_else, &mut ledger);
        known.keep(space, something_else, ledger);
        posterior
    }

    /// The same, going on from what was weighed of the same space and its prior in this ledger.
    pub fn following(
        scene: &Scene,
        space: &Space,
        evidence: &Evidence,
        something_else: f64,
        ledger: &mut Ledger,
    ) -> Posterior {
        let weighing = Weighing::new(scene, space, evidence);
        ledger.follow(scene, evidence, || weighing.rows(something_else));
        weighing.run(something_else, ledger)
    }
}

impl Known {
    /// A row that nothing was held against, with all that is known of its walls.
    fn take(&mut self, space: &Space, row: Row) -> Row {
        match self.0.remove(&space.rows[row.row].walls) {
            Some(known) => Row { row: row.row, ..known.times(row.best) },
            None => row,
        }
    }

    /// Keeps what was held against something.
    fn keep(&mut self, space: &Space, something_else: f64, ledger: Ledger) {
        for row in ledger.rows.into_iter().filter(|row| row.done > 0) {
            let walls = &space.rows[row.row];
            let before = log_before(walls, something_else, row.logs.len());
            self.0.insert(walls.walls.clone(), row.times(-before));
        }
    }
}

/// The log of what each state of a row weighs before any reading.
fn log_before(walls: &WallsRow, something_else: f64, states: usize) -> f64 {
    libm::log(walls.weight() * (1.0 - something_else) / states as f64)
}

/// A reading that is likelier than this to be wrong asks for another explanation.
const DOUBTED: f64 = 0.3;

/// And so does what no wiring describes, from here on.
const UNEXPLAINED: f64 = 0.05;

impl Posterior {
    /// Whether what is left explains the readings badly: a failure may be behind it.
    pub fn is_strained(&self, readings: usize) -> bool {
        self.rows.is_empty()
            || self.something_else >= UNEXPLAINED
            || (0..readings).any(|reading| self.wrong(reading) >= DOUBTED)
    }

    /// The chance that an answer of a reading is wrong, over what is left.
    pub fn wrong(&self, reading: usize) -> f64 {
        let (mut sum, mut whole) = (0.0, 0.0);
        for row in &self.rows {
            let Some(wrong) = &row.wrong else { continue };
            sum += row.p * wrong[reading];
            whole += row.p;
        }
        if whole > 0.0 { sum / whole } else { 0.0 }
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

    /// Rows of the space that explain the readings least badly, at most so many, of those that hold a wiring with so many
    /// defects.
    pub fn nearest(
        scene: &Scene,
        space: &Space,
        evidence: &Evidence,
        most: usize,
        defects: usize,
    ) -> Vec<usize> {
        Weighing::new(scene, space, evidence).nearest(most, defects)
    }
}

/// So many rows are looked at to find the nearest; only half as many go on after each eighth of the forecasts.
const BEAM: usize = 4096;

/// So many rows at a time a worker takes.
const AT_A_TIME: usize = 64;

struct Weighing<'a> {
    scene: &'a Scene<'a>,
    space: &'a Space,
    evidence: &'a Evidence,
    /// One for each worker.
    ghosts: Vec<Ghosts>,
    /// Forecasts in the order they are taken, each with the groups whose last answer it holds.
    order: Vec<(usize, Vec<&'a Group>)>,
}

impl<'a> Weighing<'a> {
    fn new(scene: &'a Scene<'a>, space: &'a Space, evidence: &'a Evidence) -> Weighing<'a> {
        let ending =
            |forecast: usize| evidence.groups.iter().filter(|group| ends_with(group, forecast)).collect();
        let order = (0..evidence.forecasts.len()).map(|forecast| (forecast, ending(forecast))).collect();
        let ghosts = (0..workers::count()).map(|_| Forecast::ghosts(scene)).collect();
        Weighing { scene, space, evidence, ghosts, order }
    }

    /// All rows before any reading, heaviest first.
    fn rows(&self, something_else: f64) -> Vec<Row> {
        let states = self.evidence.states();
        let start = |(row, walls): (usize, &WallsRow)| {
            let log = log_before(walls, something_else, states);
            let held = vec![false; self.evidence.forecasts.len()];
            let sum = log + libm::log(states as f64);
            Row { row, held, done: 0, logs: vec![log; states], sum, best: log, worst: (0.0, 0) }
        };
        self.space.rows.iter().enumerate().map(start).collect()
    }

    /// Every row is held against as many readings as the others, so that they can be compared.
    fn nearest(mut self, most: usize, defects: usize) -> Vec<usize> {
        let wirings = |row: &Row| &self.space.rows[row.row].wirings;
        let mut rows = self.rows(0.0);
        rows.retain(|row| wirings(row).iter().any(|wiring| wiring.defects.len() == defects));
        rows.truncate(BEAM);
        self.tell_most_first(&rows);
        let all = self.order.len();
        for done in 0..all {
            self.each(rows.iter_mut().collect(), |weighing, row, ghosts| weighing.advance(row, ghosts));
            rows.sort_by(|a, b| b.best.total_cmp(&a.best).then(a.row.cmp(&b.row)));
            rows.truncate((BEAM >> (8 * done / all)).max(most));
        }
        rows.into_iter().map(|row| row.row).take(most).collect()
    }

    fn run(mut self, something_else: f64, ledger: &mut Ledger) -> Posterior {
        let rows = &mut ledger.rows;
        let blind: f64 = self.evidence.groups.iter().map(|group| blind_log(self.evidence, group)).sum();
        let other = libm::log(something_else) + blind;
        self.tell_most_first(rows);
        let all = self.order.len();
        loop {
            let (done, left): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| row.done == all);
            let top = done.iter().map(|row| row.best).fold(other, f64::max);
            let mass = done.iter().map(|row| row.mass(top)).sum::<f64>() + libm::exp(other - top);
            let missed = left.iter().map(|row| row.mass(top)).sum::<f64>() / mass;
            if missed <= MAY_MISS {
                return self.finish(rows, other, missed);
            }
            // The likeliest row is taken to its end: it says how far behind the others are.
            let lead = left.iter().map(|row| row.best).fold(f64::NEG_INFINITY, f64::max);
            let bound = top + libm::log(mass * MAY_MISS / (2 * left.len() * self.evidence.states()) as f64);
            let floor = if done.is_empty() { lead.max(bound) } else { bound };
            let hopeful = rows
                .iter_mut()
                .filter(|row| row.done < all && (row.best > floor || row.best >= lead))
                .collect();
            self.each(hopeful, |weighing, row, ghosts| {
                let to = if row.best >= lead { all } else { row.done + 1 };
                while row.done < to {
                    weighing.advance(row, ghosts);
                }
            });
        }
    }

    /// Works on each of some rows.
    fn each<T: Send, R: Send>(
        &mut self,
        rows: Vec<T>,
        work: impl Fn(&Self, T, &mut Ghosts) -> R + Sync,
    ) -> Vec<R> {
        let mut ghosts = std::mem::take(&mut self.ghosts);
        let done = workers::map_with(rows, AT_A_TIME, &mut ghosts, |row, ghosts| work(self, row, ghosts));
        self.ghosts = ghosts;
        done
    }

    /// Takes the readings first that fit a sample of the rows worst.
    fn tell_most_first(&mut self, rows: &[Row]) {
        let step = rows.len().div_ceil(SAMPLE).max(1);
        let mut told: Vec<(f64, (usize, Vec<&Group>))> = Vec::new();
        let mut ghosts = Forecast::ghosts(self.scene);
        for (forecast, groups) in std::mem::take(&mut self.order) {
            let mut sum = 0.0;
            for row in rows.iter().step_by(step) {
                let gains = self.gains(row.row, forecast, &groups, &mut ghosts);
                sum += gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            }
            told.push((sum, (forecast, groups)));
        }
        told.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.order = told.into_iter().map(|(_, entry)| entry).collect();
    }

    /// Holds a row against the next reading.
    fn advance(&self, row: &mut Row, ghosts: &mut Ghosts) {
        let next = self.order.iter().find(|(forecast, _)| !row.held[*forecast]);
        if let Some((forecast, groups)) = next {
            self.hold(row, *forecast, groups, ghosts);
        }
    }

    fn hold(&self, row: &mut Row, forecast: usize, groups: &[&Group], ghosts: &mut Ghosts) {
        let before = row.best;
        let gains = self.gains(row.row, forecast, groups, ghosts);
        row.logs.iter_mut().zip(gains).for_each(|(log, gain)| *log += gain);
        row.total();
        row.held[forecast] = true;
        row.done += 1;
        if row.best - before < row.worst.0 {
            row.worst = (row.best - before, forecast);
        }
    }

    /// For each state, the log of how well the readings that a forecast stands for fit a row.
    fn gains(&self, row: usize, forecast: usize, groups: &[&Group], ghosts: &mut Ghosts) -> Vec<f64> {
        let (walls, evidence) = (&self.space.rows[row].walls, self.evidence);
        let mut gains = vec![0.0; evidence.states()];
        if groups.is_empty() {
            return gains;
        }
        let mut tables = |forecast: usize| evidence.forecasts[forecast].tables(self.scene, walls, ghosts);
        let here = tables(forecast);
        for group in groups {
            // Repeats of earlier readings are worked out again.
            let mut table = |answer: &Answer| {
                if answer.forecast == forecast {
                    Cow::Borrowed(&here[answer.answer])
                } else {
                    Cow::Owned(tables(answer.forecast).swap_remove(answer.answer))
                }
            };
            let of_group: Vec<Cow<Table>> = group.answers.iter().map(&mut table).collect();
            add_logs(&mut gains, evidence, group, &of_group);
        }
        gains
    }

    fn finish(mut self, rows: &[Row], other: f64, missed: f64) -> Posterior {
        let done: Vec<&Row> = rows.iter().filter(|row| row.done == self.order.len()).collect();
        let top = done.iter().map(|row| row.best).fold(other, f64::max);
        let mass: f64 = done.iter().map(|row| row.mass(top)).sum::<f64>() + libm::exp(other - top);
        let share = |row: &Row| row.mass(top) / mass;
        let (held, faint): (Vec<&Row>, Vec<&Row>) = done.into_iter().partition(|row| share(row) > FAINT);
        let faint: f64 = faint.into_iter().map(share).sum();
        let mut weighed: Vec<(Weighed, &Row)> = Vec::new();
        for row in held {
            let mut senses = vec![0.0; self.evidence.senses()];
            let loads = loads(row, top, senses.len());
            for beside in row.logs.chunks(senses.len()) {
                senses.iter_mut().zip(beside).for_each(|(sense, log)| *sense += libm::exp(log - top) / mass);
            }
            weighed.push((Weighed { row: row.row, p: share(row), senses, loads, wrong: None }, row));
        }
        weighed.sort_by(|(a, _), (b, _)| b.p.total_cmp(&a.p).then(a.row.cmp(&b.row)));
        let all: f64 = weighed.iter().map(|(one, _)| one.p).sum();
        let mut before = 0.0;
        let heavy = weighed.iter_mut().take_while(|(one, _)| {
            let lighter = before <= (1.0 - LEFT) * all;
            before += one.p;
            lighter
        });
        self.each(heavy.collect(), |weighing, (one, row), ghosts| {
            one.wrong = Some(weighing.wrong(row, ghosts));
        });
        let weighed = weighed.into_iter().map(|(one, _)| one).collect();
        let last = last_of_each(self.evidence);
        let kept = |row: &Row| row.done == self.order.len() && row.mass(top) / mass > HOLDS;
        // What was light before anything was read has lost to no reading.
        let told_against = |row: &&Row| !kept(row) && row.worst.0 < 0.0;
        let lost = rows.iter().filter(told_against).map(|row| Lost {
            row: row.row,
            prior: self.space.rows[row.row].weight(),
            by: last[row.worst.1],
        });
        let lost: Vec<Lost> = lost.collect();
        Posterior {
            rows: weighed,
            something_else: libm::exp(other - top) / mass,
            uncovered: missed + faint,
            lost,
        }
    }

    /// For each reading the chance that it is wrong beside a row.
    fn wrong(&self, row: &Row, ghosts: &mut Ghosts) -> Vec<f64> {
        let (evidence, walls) = (self.evidence, &self.space.rows[row.row].walls);
        let all: Vec<Vec<Table>> =
            evidence.forecasts.iter().map(|forecast| forecast.tables(self.scene, walls, ghosts)).collect();
        let whole: f64 = row.logs.iter().map(|log| libm::exp(log - row.best)).sum();
        let states: Vec<f64> = row.logs.iter().map(|log| libm::exp(log - row.best) / whole).collect();
        let mut wrong = vec![0.0; evidence.forecasts.len()];
        for group in &evidence.groups {
            let tables: Vec<Cow<Table>> =
                group.answers.iter().map(|a| Cow::Borrowed(&all[a.forecast][a.answer])).collect();
            let (sound, stuck) = sound_and_stuck(evidence, group, &tables);
            for (answer, table) in group.answers.iter().zip(&tables) {
                let slip = group.errors.transient * evidence.blind(*answer);
                let fits = evidence.by_state(table, &group.positions);
                let mut p = 0.0;
                let beside = sound.iter().cycle().zip(fits.iter().cycle());
                for (&weight, (&sound, fit)) in states.iter().zip(beside) {
                    let good = (1.0 - group.errors.transient) * fit;
                    let whole = (sound + stuck).max(1e-300);
                    p += weight * (stuck + sound * slip / (good + slip).max(1e-300)) / whole;
                }
                wrong[answer.forecast] = f64::max(wrong[answer.forecast], p);
            }
        }
        evidence.stands_for.iter().map(|&forecast| wrong[forecast]).collect()
    }
}

/// For each of the senses how likely each of the other loads is beside a row.
fn loads(row: &Row, top: f64, senses: usize) -> Vec<Loads> {
    let beside: Vec<&[f64]> = row.logs.chunks(senses).collect();
    let of_sense = |sense: usize| {
        let mass = |logs: &&[f64]| libm::exp(logs[sense] - top);
        let whole: f64 = beside.iter().map(mass).sum();
        let mut loads = ANY_LOAD;
        if beside.len() > 1 && whole > 0.0 {
            let alike = (loads.len() / beside.len()) as f64;
            let weighed = beside.iter().cycle();
            loads.iter_mut().zip(weighed).for_each(|(load, logs)| *load = mass(logs) / whole / alike);
        }
        loads
    };
    (0..senses).map(of_sense).collect()
}

/// The answers of a group are weighed when its last forecast is reached.
fn ends_with(group: &Group, forecast: usize) -> bool {
    group.answers.last().is_some_and(|answer| answer.forecast == forecast)
}

/// For each forecast the last reading that it stands for, in file order from 0.
fn last_of_each(evidence: &Evidence) -> Vec<usize> {
    let mut last = vec![0; evidence.forecasts.len()];
    evidence.stands_for.iter().enumerate().for_each(|(reading, &forecast)| last[forecast] = reading);
    last
}

fn blind_log(evidence: &Evidence, group: &Group) -> f64 {
    let log = |&answer: &Answer| f64::from(answer.times) * libm::log(evidence.blind(answer).max(1e-300));
    group.answers.iter().map(log).sum()
}

/// Adds for each state the log of how well the answers of a group fit together.
fn add_logs(gains: &mut [f64], evidence: &Evidence, group: &Group, tables: &[Cow<Table>]) {
    let (sound, stuck) = sound_and_stuck(evidence, group, tables);
    // Few switches matter to a reading: most states are alike.
    let mut last = (1.0, 0.0);
    let log = |sound: &f64| {
        let fit = (sound + stuck).max(1e-300);
        if fit != last.0 {
            last = (fit, libm::log(fit));
        }
        last.1
    };
    let logs: Vec<f64> = sound.iter().map(log).collect();
    gains.iter_mut().zip(logs.iter().cycle()).for_each(|(gain, log)| *gain += log);
}

/// The weight of the answers with independent errors, for each sense, and beside each of the other loads where they
/// matter; and with the error that repeats.
fn sound_and_stuck(evidence: &Evidence, group: &Group, tables: &[Cow<Table>]) -> (Vec<f64>, f64) {
    let persistent = group.errors.persistent;
    let stuck: f64 =
        group.answers.iter().map(|answer| again(evidence.blind(*answer), answer.times)).product();
    let states = tables.iter().map(|table| table.len()).max().unwrap_or(1);
    let mut sound = vec![1.0 - persistent; states];
    for (answer, table) in group.answers.iter().zip(tables) {
        let slip = group.errors.transient * evidence.blind(*answer);
        let fits = evidence.by_state(table, &group.positions);
        let beside = sound.iter_mut().zip(fits.iter().cycle());
        beside.for_each(|(sound, fit)| {
            *sound *= again((1.0 - group.errors.transient) * fit + slip, answer.times);
        });
    }
    (sound, persistent * stuck)
}

/// The chance of what happens so many times over.
fn again(p: f64, times: u32) -> f64 {
    if times == 1 { p } else { libm::pow(p, f64::from(times)) }
}
