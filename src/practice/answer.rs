//! What a house answers to a reading, as an electrician would write it down.

use super::building::{Building, Spot};
use super::chance::Chance;
use super::names::Probe;
use super::network::{Bench, Situation};
use super::slips::Slips;
use crate::call::InstrumentKind;
use crate::call::job::{AllOrEach, Do, JobAnswer, JobReading, JobReads, Pair, Power, items};
use crate::circuit::{CircuitError, Workspace};

/// Figures of the instruments of these houses' visitors, where a reading does not say: ohms, picofarads.
fn input(kind: InstrumentKind) -> (f64, f64) {
    match kind {
        InstrumentKind::HighImpedance => (10e6, 100.0),
        InstrumentKind::LowImpedance => (3e3, 0.0),
        InstrumentKind::Solenoid => (5e3, 0.0),
        InstrumentKind::TwoPole | InstrumentKind::Neon => (2e5, 0.0),
        InstrumentKind::NonContact => (1e9, 0.0),
        InstrumentKind::TestLamp | InstrumentKind::Continuity | InstrumentKind::Clamp => (1e6, 0.0),
    }
}

/// Ohms of a pair of test leads and their tips.
const LEADS: f64 = 0.1;
/// An ohmmeter shows nothing from here on.
const OFF_SCALE: f64 = 2e7;

/// Answers readings in a building.
#[derive(Clone, Debug)]
pub struct Teller<'a> {
    building: &'a Building,
    slips: Slips,
    /// The last situation: most readings are taken several to a situation.
    bench: Option<(Situation, Bench, bool)>,
}

/// A question put to a building, by spots.
struct Asked {
    situation: Situation,
    pairs: Vec<(Probe, Probe)>,
    names: Vec<String>,
}

impl<'a> Teller<'a> {
    /// Somebody who measures in a building and slips at these rates.
    pub fn new(building: &'a Building, slips: Slips) -> Teller<'a> {
        Teller { building, slips, bench: None }
    }

    /// The reading with its answer.
    ///
    /// # Errors
    /// In words: what cannot be asked of this house.
    pub fn take(&mut self, question: &JobReading) -> Result<JobReading, String> {
        let reads = self.ask(question)?;
        Ok(JobReading { reads: Some(reads), ..question.clone() })
    }

    /// What is read.
    ///
    /// # Errors
    /// In words: what cannot be asked of this house.
    pub fn ask(&mut self, question: &JobReading) -> Result<JobReads, String> {
        let asked = self.asked(question)?;
        self.prepare(&asked.situation).map_err(|error| error.to_string())?;
        let several = match question.ask {
            Do::Watch => question.lights.is_some(),
            _ => question.points.is_some(),
        };
        let mut answers = Vec::new();
        for (at, name) in asked.names.iter().enumerate() {
            let answer = self.answer(question, &asked, at).map_err(|error| error.to_string())?;
            let text = format!("{name} {}", conditions_text(question));
            let slipped = self.slips.slip(&text).map(|chance| self.wrong(question, &answer, chance));
            answers.push(slipped.unwrap_or(answer));
        }
        Ok(match answers.pop() {
            Some(only) if answers.is_empty() && !several => JobReads::One(only),
            Some(last) => JobReads::List(answers.into_iter().chain([last]).collect()),
            None => return Err("nothing is asked".to_owned()),
        })
    }

    fn prepare(&mut self, situation: &Situation) -> Result<(), CircuitError> {
        if self.bench.as_ref().is_none_or(|(known, ..)| known != situation) {
            let bench = Bench::new(self.building, situation)?;
            let trips = situation.power.contains(&true) && bench.trips()?;
            self.bench = Some((situation.clone(), bench, trips));
        }
        Ok(())
    }

    /// One answer of a question.
    fn answer(&self, question: &JobReading, asked: &Asked, at: usize) -> Result<JobAnswer, CircuitError> {
        let Some((_, bench, trips)) = &self.bench else { return Ok(word("none")) };
        if *trips {
            return Ok(word("trips"));
        }
        match question.ask {
            Do::Watch => self.watch(bench, &asked.names[at]),
            Do::Amps => self.amps(bench, question),
            Do::Volts => volts(bench, question, asked.pairs[at], self.building.supply),
            Do::Load => {
                let watts = question.with.and_then(|with| with.watts).unwrap_or(60.0);
                let (one, other) = asked.pairs[at];
                let share = bench.load(one, other, watts)?;
                Ok(word(if share >= 0.9 {
                    "bright"
                } else if share >= 0.2 {
                    "dim"
                } else {
                    "none"
                }))
            }
            Do::Ohms | Do::Open => ohms(bench, question, asked.pairs[at]),
        }
    }

    fn watch(&self, bench: &Bench, light: &str) -> Result<JobAnswer, CircuitError> {
        self.light(light).map_or(Ok(word("dark")), |fixture| bench.watch(fixture).map(word))
    }

    fn light(&self, name: &str) -> Option<usize> {
        self.building.fixture_called(name, |fixture| self.building.fixtures[fixture].kind.is_light())
    }

    fn amps(&self, bench: &Bench, question: &JobReading) -> Result<JobAnswer, CircuitError> {
        let home = question.at.as_ref().and_then(|at| self.building.outlet_called(at));
        let around = question.around.as_deref().unwrap_or_default();
        let (cable, wires) = match self.building.spot(around, home) {
            Some(Spot::Wire(cable, wire, _)) => (cable, vec![wire]),
            _ => match self.building.end_called(around, home) {
                Some((cable, _)) => (cable, (0..self.building.cables[cable].strands.len()).collect()),
                None => return Ok(JobAnswer::Number(0.0)),
            },
        };
        let resolves = question.with.and_then(|with| with.resolves).unwrap_or(0.1);
        let steps = libm::floor(bench.amps(cable, &wires)? / resolves + 0.5);
        Ok(JobAnswer::Number(rounded(steps * resolves, 3)))
    }

    /// An answer of another kind than the true one.
    fn wrong(&self, question: &JobReading, truth: &JobAnswer, mut chance: Chance) -> JobAnswer {
        let supply = self.building.supply;
        let of = |answer: &JobAnswer| class(question, answer, supply);
        let with = question.with.map(|with| with.kind);
        let others: Vec<JobAnswer> = match (question.ask, with) {
            (Do::Watch, _) => ["lit", "dim", "dark"].map(word).to_vec(),
            (Do::Load, _) => ["none", "dim", "bright"].map(word).to_vec(),
            (Do::Amps, _) => vec![JobAnswer::Number(0.0), JobAnswer::Number(0.5)],
            (Do::Ohms, Some(InstrumentKind::Continuity)) => ["beep", "silent"].map(word).to_vec(),
            (Do::Volts, Some(InstrumentKind::NonContact)) => ["alarm", "silent"].map(word).to_vec(),
            (Do::Ohms, _) => {
                let numbers =
                    [chance.between(0.2, 0.9), chance.between(9.0, 24.0), chance.between(300.0, 5000.0)];
                numbers
                    .into_iter()
                    .map(|ohms| JobAnswer::Number(rounded(ohms, 1)))
                    .chain([word("open")])
                    .collect()
            }
            _ => {
                let numbers = [0.0, chance.between(8.0, 90.0), chance.between(0.97, 1.0) * supply];
                numbers.into_iter().map(|volts| JobAnswer::Number(rounded(volts, 1))).collect()
            }
        };
        let others: Vec<JobAnswer> = others.into_iter().filter(|other| of(other) != of(truth)).collect();
        let at = chance.below(others.len());
        others.get(at).cloned().unwrap_or_else(|| truth.clone())
    }

    /// A question by spots.
    fn asked(&self, question: &JobReading) -> Result<Asked, String> {
        let building = self.building;
        let home = match &question.at {
            Some(at) => {
                Some(building.outlet_called(at).ok_or_else(|| format!("there is no box called {at}"))?)
            }
            None => None,
        };
        let probe = |name: &String| {
            let probe =
                building.probe(name, home).ok_or_else(|| format!("there is no point called {name}"))?;
            match probe {
                Probe::At(spot)
                    if building.outlet_of(spot).is_some_and(|at| !building.outlets[at].opened) =>
                {
                    Err(format!("{name} is in a box that is not opened"))
                }
                probe => Ok(probe),
            }
        };
        let (mut pairs, mut names) = (Vec::new(), Vec::new());
        match question.ask {
            Do::Watch => names = self.watched(question)?,
            Do::Amps => names.push(question.around.clone().unwrap_or_default()),
            Do::Open => return Err("opening a box is no reading".to_owned()),
            Do::Volts | Do::Ohms | Do::Load => {
                let to = question.to.clone().unwrap_or_else(|| "earth".to_owned());
                let each = match &question.between {
                    Some(Pair(one, other)) => vec![(one.clone(), other.clone())],
                    None => items(&question.points).iter().map(|point| (point.clone(), to.clone())).collect(),
                };
                for (one, other) in each {
                    pairs.push((probe(&one)?, probe(&other)?));
                    names.push(format!("{one} {other}"));
                }
            }
        }
        let situation = self.situation(question, home)?;
        let live = situation.power.contains(&true);
        if question.ask == Do::Ohms && live {
            return Err("ohms are measured with the power off, and something here is still live".to_owned());
        }
        Ok(Asked { situation, pairs, names })
    }

    fn watched(&self, question: &JobReading) -> Result<Vec<String>, String> {
        let named: Vec<String> = question.light.iter().chain(items(&question.lights)).cloned().collect();
        let all = || self.building.lights().map(|light| self.building.fixture_name(light)).collect();
        let names: Vec<String> = if named.is_empty() { all() } else { named };
        match names.iter().find(|name| self.light(name).is_none()) {
            Some(name) => Err(format!("there is no light called {name}")),
            None => Ok(names),
        }
    }

    /// The conditions of a question; what it does not say is as one finds it: on, lamps in, handles at the first label.
    fn situation(&self, question: &JobReading, home: Option<usize>) -> Result<Situation, String> {
        let building = self.building;
        let mut situation = Situation::plain(building, true);
        self.power(question, &mut situation)?;
        for fixture in building.switches() {
            situation.thrown[fixture] = building.fixtures[fixture].flipped;
        }
        for (name, label) in question.switches.iter().flatten() {
            let fixture =
                building.fixture_called(name, |fixture| building.fixtures[fixture].kind.is_switch());
            let fixture = fixture.ok_or_else(|| format!("there is no switch called {name}"))?;
            let second = ["down", "right", "2"].contains(&label.as_str());
            situation.thrown[fixture] = second != building.fixtures[fixture].flipped;
        }
        self.lamps(question, &mut situation)?;
        for name in items(&question.out) {
            let full = match (name.contains('/'), home) {
                (false, Some(home)) => format!("{}/{name}", building.outlets[home].name),
                _ => name.clone(),
            };
            let fixture = building.fixture_called(&full, |_| true);
            situation.out.insert(fixture.ok_or_else(|| format!("there is no device called {name}"))?);
        }
        for name in items(&question.lifted) {
            let spot = building.spot(name, home).ok_or_else(|| format!("there is no point called {name}"))?;
            situation.lifted.insert(spot);
        }
        for Pair(one, other) in items(&question.jumpers) {
            let probe = |name: &String| {
                building.probe(name, home).ok_or_else(|| format!("there is no point called {name}"))
            };
            situation.jumpers.push((probe(one)?, probe(other)?));
        }
        Ok(situation)
    }

    /// Breakers by their names, which may stand at the wrong ones. A circuit that the call does not list is off when all
    /// that it lists are: then the main is. Where a name stands at the wrong one nobody knows that the main is needed.
    fn power(&self, question: &JobReading, situation: &mut Situation) -> Result<(), String> {
        let circuits = &self.building.circuits;
        let mut named: Vec<bool> = vec![question.ask != Do::Ohms; circuits.len()];
        match &question.breaker {
            None => {}
            Some(AllOrEach::All(power)) => named.fill(*power == Power::On),
            Some(AllOrEach::Each(each)) => {
                for (name, power) in each {
                    let at = circuits.iter().position(|circuit| circuit.listed && circuit.name == *name);
                    named[at.ok_or_else(|| format!("there is no circuit called {name}"))?] =
                        *power == Power::On;
                }
            }
        }
        let any = circuits.iter().zip(&named).any(|(circuit, on)| circuit.listed && *on);
        let misnamed = circuits.iter().enumerate().any(|(at, circuit)| circuit.breaker != at);
        for (at, circuit) in circuits.iter().enumerate() {
            situation.power[circuit.breaker] = if circuit.listed { named[at] } else { any || misnamed };
        }
        Ok(())
    }

    fn lamps(&self, question: &JobReading, situation: &mut Situation) -> Result<(), String> {
        match &question.lamp {
            None => {}
            Some(AllOrEach::All(state)) => {
                for light in self.building.lights() {
                    situation.lamps[light] = *state;
                }
            }
            Some(AllOrEach::Each(each)) => {
                for (name, state) in each {
                    let light = self.light(name).ok_or_else(|| format!("there is no light called {name}"))?;
                    situation.lamps[light] = *state;
                }
            }
        }
        Ok(())
    }
}

/// Volts as the instrument shows them.
fn volts(
    bench: &Bench,
    question: &JobReading,
    (one, other): (Probe, Probe),
    supply: f64,
) -> Result<JobAnswer, CircuitError> {
    let kind = question.with.map_or(InstrumentKind::HighImpedance, |with| with.kind);
    let (usual, picofarads) = input(kind);
    let ohms = question.with.and_then(|with| with.ohms).unwrap_or(usual);
    let volts = bench.volts(one, other, ohms, picofarads * 1e-12)?;
    Ok(match kind {
        InstrumentKind::NonContact => word(if volts > 0.4 * supply { "alarm" } else { "silent" }),
        // Strikes at about 65 V.
        InstrumentKind::Neon if volts < 65.0 => word("none"),
        InstrumentKind::Neon => word(if volts >= 0.9 * supply { "line" } else { "part" }),
        // Hums from about 70 V.
        InstrumentKind::Solenoid if volts < 70.0 => word("none"),
        InstrumentKind::Solenoid => JobAnswer::Number(rounded(volts / 10.0, 0) * 10.0),
        _ => JobAnswer::Number(rounded(volts, 1)),
    })
}

/// Ohms as the instrument shows them, leads and all.
fn ohms(
    bench: &Bench,
    question: &JobReading,
    (one, other): (Probe, Probe),
) -> Result<JobAnswer, CircuitError> {
    let found = bench.ohms(one, other, &mut Workspace::default())?.map(|ohms| ohms + LEADS);
    if question.with.is_some_and(|with| with.kind == InstrumentKind::Continuity) {
        let limit = question.with.and_then(|with| with.ohms).unwrap_or(50.0);
        return Ok(word(if found.is_some_and(|ohms| ohms < limit) { "beep" } else { "silent" }));
    }
    Ok(match found {
        Some(ohms) if ohms < 400.0 => JobAnswer::Number(rounded(ohms, 1)),
        Some(ohms) if ohms < 4000.0 => JobAnswer::Number(rounded(ohms, 0)),
        Some(ohms) if ohms < OFF_SCALE => JobAnswer::Number(rounded(ohms / 1000.0, 0) * 1000.0),
        _ => word("open"),
    })
}

fn word(text: &str) -> JobAnswer {
    JobAnswer::Word(text.to_owned())
}

fn rounded(value: f64, places: i32) -> f64 {
    let scale = libm::pow(10.0, f64::from(places));
    libm::round(value * scale) / scale
}

/// Whether answers to one question differ in what they mean.
pub(super) fn differ(question: &JobReading, one: &JobReads, other: &JobReads, supply: f64) -> bool {
    let all = |reads: &JobReads| match reads {
        JobReads::One(answer) => vec![class(question, answer, supply)],
        JobReads::List(answers) => answers.iter().map(|answer| class(question, answer, supply)).collect(),
        JobReads::Map(answers) => answers.values().map(|answer| class(question, answer, supply)).collect(),
    };
    all(one) != all(other)
}

/// Answers of one kind mean the same.
fn class(question: &JobReading, answer: &JobAnswer, supply: f64) -> u8 {
    match (question.ask, answer) {
        (_, JobAnswer::Word(word)) => {
            word.bytes().fold(7, |hash: u8, byte| hash.wrapping_mul(31).wrapping_add(byte)) | 0x80
        }
        (Do::Ohms, JobAnswer::Number(ohms)) => u8::from(*ohms >= 3.0) + u8::from(*ohms >= 80.0),
        (Do::Amps, JobAnswer::Number(amps)) => u8::from(*amps >= 0.1),
        (_, JobAnswer::Number(volts)) => u8::from(*volts >= 2.0) + u8::from(*volts >= 0.9 * supply),
    }
}

/// The conditions of a question as text, so that the same question under the same conditions is known again.
fn conditions_text(question: &JobReading) -> String {
    let conditions = JobReading {
        at: question.at.clone(),
        with: question.with,
        breaker: question.breaker.clone(),
        switches: question.switches.clone(),
        lamp: question.lamp.clone(),
        out: question.out.clone(),
        lifted: question.lifted.clone(),
        jumpers: question.jumpers.clone(),
        ..JobReading::new(question.ask)
    };
    format!("{conditions:?}")
}
