//! A verdict held against the truth, and the table of what came out.

use lath::call::job::Job;
use lath::files::{self, packs, to_yaml};
use lath::house::Role;
use lath::knowledge::Knowledge;
use lath::practice::{Building, Features, Slips, Trial, Truth, draw, technician};
use lath::verdict::WireFound;
use lath::verdict::{self, Landing, SETTLED, State, Verdict};
use lath::wiring::Options;
use std::collections::BTreeMap;
use std::time::Instant;

/// Houses of one kind.
pub struct Kind {
    pub name: &'static str,
    pub features: Features,
    pub houses: u64,
    /// The first seed.
    pub first: u64,
}

/// What came out, of one kind or family.
#[derive(Default, Clone, Debug)]
pub struct Tally {
    pub houses: usize,
    pub wires: usize,
    pub settled: usize,
    /// Settled, and other than what the wire is for.
    pub wrong: usize,
    /// Stated 0.9 to 0.99, and of these right.
    pub likely: [usize; 2],
    /// Cable ends stated at 0.99 and more, and of these other than drawn.
    pub ends: [usize; 2],
    /// Feed boxes stated at 0.99 and more, and of these other than drawn.
    pub feeds: [usize; 2],
    /// Commons of unmarked switches stated at 0.99 and more, and of these other than drawn.
    pub screws: [usize; 2],
    /// Landing plans that work, that leave a screw shell live, that were refused, that do not work.
    pub plans: usize,
    pub shell_live: usize,
    pub refused: usize,
    pub failing: usize,
    /// Houses of which too many wirings are left out.
    pub uncovered: usize,
    pub contradictions: usize,
    pub seconds: f64,
}

impl Tally {
    fn add(&mut self, other: &Tally) {
        self.houses += other.houses;
        self.wires += other.wires;
        self.settled += other.settled;
        self.wrong += other.wrong;
        for at in 0..2 {
            self.likely[at] += other.likely[at];
            self.ends[at] += other.ends[at];
            self.feeds[at] += other.feeds[at];
            self.screws[at] += other.screws[at];
        }
        self.plans += other.plans;
        self.shell_live += other.shell_live;
        self.refused += other.refused;
        self.failing += other.failing;
        self.uncovered += other.uncovered;
        self.contradictions += other.contradictions;
        self.seconds += other.seconds;
    }

    fn row(&self, name: &str) -> String {
        let share = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
        format!(
            "{name:34} {:5} {:6} {:5.1} {:5}  {:4}/{:<4} {:5}/{:<3} {:4}/{:<3} {:4} {:4} {:4} {:4}  {:4} {:4} {:6.2}",
            self.houses,
            self.wires,
            share(self.settled, self.wires),
            self.wrong,
            self.likely[1],
            self.likely[0],
            self.ends[0],
            self.ends[1],
            self.feeds[0],
            self.feeds[1],
            self.plans,
            self.shell_live,
            self.refused,
            self.failing,
            self.uncovered,
            self.contradictions,
            self.seconds / self.houses.max(1) as f64
        )
    }
}

const HEAD: &str = "family                            houses  wires settl% wrong likely    ends       feed    plan shel refu fail  unco cont  s/house";

/// The table: a row a kind, and a row for each feature of its houses.
#[derive(Default)]
pub struct Table {
    rows: BTreeMap<(String, String), Tally>,
}

impl Table {
    pub fn whole(&self) -> Tally {
        let mut whole = Tally::default();
        self.rows.iter().filter(|((_, family), _)| family.is_empty()).for_each(|(_, tally)| whole.add(tally));
        whole
    }

    pub fn print(&self) {
        println!("{HEAD}");
        for ((kind, family), tally) in &self.rows {
            println!("{}", tally.row(&if family.is_empty() { kind.clone() } else { format!("  {family}") }));
        }
    }
}

/// A house with everything that was measured in it.
pub struct Measured {
    pub building: Building,
    pub truth: Truth,
    pub job: Job,
}

/// Draws a house and measures everything.
pub fn measure(seed: u64, features: &Features, slips: Slips) -> Measured {
    measure_in(seed, draw(seed, features), slips)
}

/// Measures everything in a house.
pub fn measure_in(seed: u64, building: Building, slips: Slips) -> Measured {
    let mut job = building.survey();
    let readings = technician::measured(&building, slips);
    job.readings = Some(readings.unwrap_or_else(|error| panic!("{seed}: {error}")));
    let truth = building.truth();
    Measured { building, truth, job }
}

/// The verdict on a job.
pub fn weigh(name: &str, text: &str, knowledge: &Knowledge) -> Verdict {
    let call = files::parse_str(name, text).unwrap_or_else(|error| panic!("{error}\n{text}")).call;
    verdict::reach(&call, knowledge, Options::default())
}

/// Draws and judges houses of some kinds.
pub fn judge_all(kinds: &[Kind]) -> Table {
    let knowledge = packs::embedded().unwrap();
    let mut table = Table::default();
    let only = std::env::var("LATH_KIND").ok();
    for kind in kinds.iter().filter(|kind| only.as_ref().is_none_or(|only| only == kind.name)) {
        for seed in kind.first..kind.first + kind.houses {
            let measured = measure(seed, &kind.features, Slips::none());
            let text = to_yaml(&measured.job);
            let start = Instant::now();
            let verdict = weigh(&format!("house {seed}"), &text, &knowledge);
            let seconds = start.elapsed().as_secs_f64();
            let (mut tally, notes) = judge(&measured, &verdict);
            tally.seconds = seconds;
            let mut families: Vec<String> = vec![String::new(), measured.truth.scheme.to_owned()];
            families.extend(measured.truth.features.iter().map(|feature| format!("+ {feature}")));
            for family in families {
                table.rows.entry((kind.name.to_owned(), family)).or_default().add(&tally);
            }
            if !notes.is_empty() {
                println!(
                    "house {seed} ({}, {:?}, {:?}): {}",
                    measured.truth.scheme,
                    measured.truth.features,
                    verdict.state,
                    notes.join("; ")
                );
            }
            keep(seed, kind.name, &text, &measured.truth, &notes);
        }
    }
    table.print();
    table
}

pub fn keep(seed: u64, kind: &str, text: &str, truth: &Truth, notes: &[String]) {
    let Ok(folder) = std::env::var("LATH_KEEP") else { return };
    let all = std::env::var("LATH_KEEP_ALL").is_ok();
    if notes.is_empty() && !all {
        return;
    }
    let stem = format!("{folder}/{}-{seed}", kind.replace(' ', "-"));
    std::fs::write(format!("{stem}.yaml"), text).unwrap();
    std::fs::write(format!("{stem}.truth.json"), serde_json::to_string_pretty(truth).unwrap()).unwrap();
    if !notes.is_empty() {
        std::fs::write(format!("{stem}.wrong.txt"), notes.join("\n") + "\n").unwrap();
    }
}

/// A verdict against the truth: the figures, and what came out other than drawn.
pub fn judge(measured: &Measured, verdict: &Verdict) -> (Tally, Vec<String>) {
    let mut tally = Tally { houses: 1, ..Tally::default() };
    let mut notes = Vec::new();
    tally.uncovered = usize::from(verdict.candidates.uncovered > 0.01);
    tally.contradictions = usize::from(verdict.state == State::Contradiction);
    notes.extend(verdict.contradiction.clone());
    landing(measured, verdict, &mut tally, &mut notes);
    roles(measured, verdict, &mut tally, &mut notes);
    ends(measured, verdict, &mut tally, &mut notes);
    if let Some(found) = verdict.arrangement.as_ref().filter(|found| found.feed.p >= SETTLED) {
        tally.feeds[0] += 1;
        let (said, true_) = (unnumbered(&found.feed.at), unnumbered(&measured.truth.feed));
        if said != true_ {
            tally.feeds[1] += 1;
            notes.push(format!("feed {said} {:.4}, drawn {true_}", found.feed.p));
        }
    }
    (tally, notes)
}

/// Buried boxes have no names of their own.
pub fn unnumbered(name: &str) -> &str {
    if name.starts_with("buried-") { "buried" } else { name }
}

/// Puts the boxes back as planned; what the wires are for is then read off what was landed.
fn landing(measured: &Measured, verdict: &Verdict, tally: &mut Tally, notes: &mut Vec<String>) {
    if verdict.landing.is_empty() {
        return;
    }
    match landed(measured, verdict) {
        None => {
            tally.refused += 1;
            notes.push(format!("landing {:?}", verdict.landing));
        }
        Some(building) => {
            let trial = building.try_all().unwrap();
            match trial {
                Trial::Works => tally.plans += 1,
                Trial::ShellLive => tally.shell_live += 1,
                Trial::Fails | Trial::Trips => tally.failing += 1,
            }
            if trial != Trial::Works {
                notes.push(format!("{trial:?} {:?}", verdict.landing));
            }
        }
    }
}

/// The building once the plan is made; nothing where it is refused.
pub fn landed(measured: &Measured, verdict: &Verdict) -> Option<Building> {
    let mut building = measured.building.clone();
    for entry in &verdict.landing {
        let Landing::Joints { at, joints } = entry else { return None };
        building.land(at, joints).unwrap();
    }
    Some(building)
}

/// What a verdict says of a wire, and what it is for.
pub struct Statement<'a> {
    pub wire: &'a str,
    pub said: Role,
    pub p: f64,
    pub drawn: Role,
}

/// All that is said of roles. What a wire is for follows from what was meant; or where a plan is given that works, and
/// several intents may fit, from what is joined once it is made.
pub fn statements<'a>(measured: &Measured, verdict: &'a Verdict) -> Vec<Statement<'a>> {
    let planned = landed(measured, verdict).filter(|building| {
        let trial = building.try_all().unwrap();
        !verdict.landing.is_empty() && matches!(trial, Trial::Works | Trial::ShellLive)
    });
    let wires =
        planned.map_or_else(|| measured.truth.wires.clone(), |building| building.purposes_as_joined());
    let statement = |found: &'a WireFound| {
        let drawn = wires.get(&found.wire).unwrap_or_else(|| panic!("no wire {}", found.wire)).role;
        Statement { wire: &found.wire, said: found.role, p: found.p, drawn }
    };
    verdict.wires.iter().map(statement).collect()
}

fn roles(measured: &Measured, verdict: &Verdict, tally: &mut Tally, notes: &mut Vec<String>) {
    for Statement { wire, said, p, drawn } in statements(measured, verdict) {
        let right = said == drawn;
        tally.wires += 1;
        if p >= SETTLED {
            tally.settled += 1;
            tally.wrong += usize::from(!right);
        } else if p >= 0.9 {
            tally.likely[0] += 1;
            tally.likely[1] += usize::from(right);
        }
        if !right || p < SETTLED {
            notes.push(format!("{wire}: {said:?} {p:.4}, is {drawn:?}"));
        }
    }
    screws(measured, verdict, tally, notes);
}

/// Commons of switches on which nobody could tell the screws.
fn screws(measured: &Measured, verdict: &Verdict, tally: &mut Tally, notes: &mut Vec<String>) {
    for found in verdict.devices.iter().filter(|found| found.p >= SETTLED) {
        let Some(drawn) = measured.truth.screws.get(&found.device) else { continue };
        let common = |screws: &BTreeMap<String, String>| {
            screws.iter().find(|(_, terminal)| *terminal == "common").map(|(screw, _)| screw.clone())
        };
        if let Some(drawn) = common(drawn) {
            let said = common(&found.screws);
            let right = said.as_ref() == Some(&drawn);
            tally.screws[0] += 1;
            tally.screws[1] += usize::from(!right);
            if !right {
                notes.push(format!("{}: common {said:?}, is {drawn}", found.device));
            }
        }
    }
}

fn ends(measured: &Measured, verdict: &Verdict, tally: &mut Tally, notes: &mut Vec<String>) {
    for cable in verdict.cables.iter().filter(|cable| cable.p >= SETTLED) {
        let [one, other] = &cable.ends;
        for (here, there) in [(one, other), (other, one)] {
            let Some(drawn) = measured.truth.ends.get(here) else { continue };
            tally.ends[0] += 1;
            if unnumbered(drawn) != unnumbered(there) {
                tally.ends[1] += 1;
                notes.push(format!("{here} to {there} {:.4}, drawn to {drawn}", cable.p));
            }
        }
    }
}
