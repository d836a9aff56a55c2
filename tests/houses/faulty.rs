//! Houses with one defect each, or two: roles, and what is named.

use super::judge::{Measured, Statement, keep, measure_in, statements, unnumbered, weigh};
use lath::files::{packs, to_yaml};
use lath::practice::{Building, Chance, FAULTS, Fault, Features, Slips, draw, technician};
use lath::verdict::{DefectFound, State, Verdict};
use std::collections::BTreeMap;
use std::time::Instant;

/// What came out, of one kind of defect.
#[derive(Default, Clone, Debug)]
pub struct Tally {
    pub houses: usize,
    pub wires: usize,
    /// Roles other than drawn, however firmly.
    pub wrong: usize,
    /// Stated at 0.99 and more, and of these other than drawn.
    pub settled: [usize; 2],
    /// Defects that something shows, and of these named where they are.
    pub showable: usize,
    pub named: usize,
    /// Names of defects that are not there.
    pub false_names: usize,
    pub contradictions: usize,
    pub seconds: f64,
}

impl Tally {
    fn add(&mut self, other: &Tally) {
        self.houses += other.houses;
        self.wires += other.wires;
        self.wrong += other.wrong;
        self.settled[0] += other.settled[0];
        self.settled[1] += other.settled[1];
        self.showable += other.showable;
        self.named += other.named;
        self.false_names += other.false_names;
        self.contradictions += other.contradictions;
        self.seconds += other.seconds;
    }

    fn row(&self, name: &str) -> String {
        format!(
            "{name:20} {:6} {:6} {:6.2} {:6}/{:<4} {:5}/{:<5} {:5} {:5} {:7.2}",
            self.houses,
            self.wires,
            100.0 - 100.0 * self.wrong as f64 / self.wires.max(1) as f64,
            self.settled[0],
            self.settled[1],
            self.named,
            self.showable,
            self.false_names,
            self.contradictions,
            self.seconds / self.houses.max(1) as f64
        )
    }
}

const HEAD: &str =
    "defect               houses  wires right%  settled/wrong named/showable false contr s/house";

/// A row a defect.
#[derive(Default)]
pub struct Table(BTreeMap<&'static str, Tally>);

impl Table {
    pub fn whole(&self) -> Tally {
        let mut whole = Tally::default();
        self.0.values().for_each(|tally| whole.add(tally));
        whole
    }

    pub fn print(&self) {
        println!("{HEAD}");
        self.0.iter().for_each(|(what, tally)| println!("{}", tally.row(what)));
        println!("{}", self.whole().row("all"));
    }
}

/// A house with a defect, and the same without it.
pub fn spoilt(seed: u64, what: &'static str) -> Option<(Building, Building)> {
    let features = Features { apart: [0.0; 2], ..Features::default() };
    (0..60).find_map(|nth| {
        let sound = draw(seed * 1000 + nth, &features);
        let mut building = sound.clone();
        building.spoil(what, &mut Chance::new(seed)).then_some((building, sound))
    })
}

/// The same house with another defect.
fn spoilt_again(seed: u64, building: &Building) -> Option<Building> {
    let mut chance = Chance::new(seed + 1);
    (1..FAULTS.len() as u64).find_map(|nth| {
        let what = FAULTS[((7 * seed + nth) % FAULTS.len() as u64) as usize];
        let mut twice = building.clone();
        (what != building.faults[0].what && twice.spoil(what, &mut chance)).then_some(twice)
    })
}

/// Draws, spoils and judges houses, one defect after the other.
pub fn judge_all(first: u64, houses: u64, defects: usize) -> Table {
    let knowledge = packs::embedded().unwrap();
    let only = std::env::var("LATH_FAULT").ok();
    let mut table = Table::default();
    for seed in first..first + houses {
        let what = FAULTS[(seed % FAULTS.len() as u64) as usize];
        if only.as_ref().is_some_and(|only| only != what) {
            continue;
        }
        let Some((building, sound)) = spoilt(seed, what) else { continue };
        let mut shows = vec![technician::shows(&building, &sound).unwrap()];
        let building = if defects == 1 {
            building
        } else {
            let Some(twice) = spoilt_again(seed, &building) else { continue };
            shows.push(technician::shows(&twice, &building).unwrap());
            twice
        };
        let measured = measure_in(seed, building, Slips::none());
        let text = to_yaml(&measured.job);
        let start = Instant::now();
        let verdict = weigh(&format!("house {seed}"), &text, &knowledge);
        let seconds = start.elapsed().as_secs_f64();
        let (mut tally, notes) = judge(&measured, &verdict, &shows);
        tally.seconds = seconds;
        table.0.entry(what).or_default().add(&tally);
        if !notes.is_empty() {
            println!("house {seed} ({what}, {:?}): {}", verdict.state, notes.join("; "));
        }
        keep(seed, what, &text, &measured.truth, &notes);
    }
    table.print();
    table
}

/// A verdict against the truth.
fn judge(measured: &Measured, verdict: &Verdict, shows: &[bool]) -> (Tally, Vec<String>) {
    let showable = shows.iter().filter(|shows| **shows).count();
    let mut tally = Tally { houses: 1, showable, ..Tally::default() };
    let mut notes: Vec<String> = verdict.contradiction.iter().cloned().collect();
    tally.contradictions = usize::from(verdict.state == State::Contradiction);
    roles(measured, verdict, &mut tally, &mut notes);
    let is = |found: &DefectFound, fault: &Fault| {
        let far = measured.truth.ends.get(&fault.at);
        let here = unnumbered(&found.at) == unnumbered(&fault.at) || far.is_some_and(|far| *far == found.at);
        found.what == fault.what && here
    };
    for (fault, &shows) in measured.truth.faults.iter().zip(shows) {
        let named = verdict.defects.iter().any(|found| is(found, fault));
        tally.named += usize::from(named && shows);
        if shows && !named {
            notes.push(format!("not named: {} at {} {:?}", fault.what, fault.at, fault.detail));
        }
    }
    let others = verdict.defects.iter().filter(|found| !measured.truth.faults.iter().any(|f| is(found, f)));
    for other in others {
        tally.false_names += 1;
        notes.push(format!("named: {} at {} {:?} {:.3}", other.what, other.at, other.detail, other.p));
    }
    (tally, notes)
}

fn roles(measured: &Measured, verdict: &Verdict, tally: &mut Tally, notes: &mut Vec<String>) {
    for Statement { wire, said, p, drawn } in statements(measured, verdict) {
        let wrong = usize::from(said != drawn);
        let settled = usize::from(p >= 0.99);
        tally.wires += 1;
        tally.wrong += wrong;
        tally.settled[0] += settled;
        tally.settled[1] += settled * wrong;
        if wrong > 0 {
            notes.push(format!("{wire}: {said:?} {p:.4}, is {drawn:?}"));
        }
    }
}
