//! A call played by itself: `lath` suggests, the whole network of the true walls answers.

use lath::call::job::{Job, JobAnswer, JobReading, JobReads, Why};
use lath::call::{Ask, Call, Conditions, Instrument, InstrumentKind, LampState, Reading};
use lath::files::{self, packs};
use lath::house::{DeviceId, Point};
use lath::knowledge::Knowledge;
use lath::plan::{self, Next, Suggestion, Wish};
use lath::predict::network::{Assumed, Full};
use lath::predict::{Opened, OtherLoad, Scene, Setup, Tester};
use lath::verdict::{self, Verdict};
use lath::weigh::{Evidence, Posterior};
use lath::wiring::{Facts, Options, Space, Walls};
use std::path::Path;

/// More steps than any of these calls may take.
pub const MOST_STEPS: usize = 60;

/// The names of the examples.
pub fn examples() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".yaml"))
        .collect();
    names.sort();
    assert!(names.len() >= 8);
    names
}

/// What is behind the plaster in an example, by its recorded readings.
pub struct Truth {
    /// The call without readings.
    pub job: Job,
    /// The packs.
    pub knowledge: Knowledge,
    /// The walls.
    pub walls: Walls,
    /// How the handles are turned inside.
    pub sense: u32,
}

impl Truth {
    /// The likeliest walls of an example, all its readings told.
    pub fn of(name: &str) -> Truth {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
        let loaded = files::load(&path).unwrap();
        let knowledge = packs::embedded().unwrap();
        let space = Space::of_call(&loaded.call, &knowledge, Options::default());
        let (walls, sense) = likeliest(&loaded.call, &knowledge, &space);
        let job = Job { readings: None, proofs: None, skipped: None, ..loaded.job };
        Truth { job, knowledge, walls, sense }
    }

    /// Asks for every role, with other instruments unless none are given.
    pub fn identify_with(&mut self, owned: &[Instrument]) {
        if let Some(head) = &mut self.job.call {
            head.goal = Some("identify".to_owned());
        }
        if !owned.is_empty() {
            self.job.instruments = Some(owned.iter().map(|owned| owned.kind.into()).collect());
        }
    }
}

fn likeliest(call: &Call, knowledge: &Knowledge, space: &Space) -> (Walls, u32) {
    let facts = Facts::new(&call.house);
    let scene = Scene::new(&call.house, &facts);
    let evidence = Evidence::new(&scene, call, &knowledge.instruments);
    let posterior = Posterior::new(&scene, space, &evidence, knowledge.habits.prior.something_else);
    let best = posterior.rows.first().unwrap();
    let senses = best.senses.iter().enumerate();
    let sense = senses.max_by(|a, b| a.1.total_cmp(b.1)).unwrap().0;
    (space.rows[best.row].walls.clone(), sense as u32)
}

/// How a call went.
pub struct Played {
    /// What was suggested, step by step.
    pub steps: Vec<Step>,
    /// Where it ended.
    pub last: Next,
    /// The verdict at the end.
    pub verdict: Verdict,
    /// The job at the end.
    pub job: Job,
}

/// One step: the call as it was, and what was suggested for it.
pub struct Step {
    pub job: Job,
    pub call: Call,
    pub suggestion: Suggestion,
}

impl Played {
    pub fn minutes(&self) -> f64 {
        self.steps.iter().map(|step| step.suggestion.minutes).sum()
    }

    pub fn summary(&self) -> String {
        let kinds: Vec<&str> = self.steps.iter().map(|step| step.suggestion.ask.as_str()).collect();
        format!(
            "{:?} in {} steps, {:.1} min: {}",
            self.last.state,
            kinds.len(),
            self.minutes(),
            kinds.join(" ")
        )
    }
}

/// Plays a call to its end.
pub fn play(truth: &Truth, wish: Wish) -> Played {
    let mut job = truth.job.clone();
    let mut steps = Vec::new();
    let talk = std::env::var("LATH_TALK").is_ok();
    loop {
        let call = reparsed(&job);
        let space = Space::of_call(&call, &truth.knowledge, Options::default());
        let before = job.clone();
        let next = plan::next(&call, &truth.knowledge, &space, wish);
        let Some(suggestion) = next.suggestions.first().cloned() else {
            let verdict = verdict::within(&call, &truth.knowledge, &space);
            return Played { steps, last: next, verdict, job };
        };
        assert!(steps.len() < MOST_STEPS, "no end: {suggestion:?}");
        let question = suggestion.question();
        let reads = if suggestion.ask == "open" {
            let skipped = JobReading { why: Some(Why::Cannot), ..question };
            job.skipped.get_or_insert_default().push(skipped);
            "cannot".to_owned()
        } else {
            let reads = answer(truth, &job, &question);
            job.readings.get_or_insert_default().push(JobReading { reads: Some(reads.clone()), ..question });
            format!("{reads:?}")
        };
        if talk {
            println!(
                "  {:2} {} bits {:.3} min {:.1} [{}]\n     {} -> {}\n     {}",
                steps.len() + 1,
                suggestion.ask,
                suggestion.bits,
                suggestion.minutes,
                suggestion.first.len(),
                question_line(&suggestion),
                reads,
                suggestion.because
            );
        }
        steps.push(Step { job: before, call, suggestion });
    }
}

fn question_line(s: &Suggestion) -> String {
    format!(
        "{:?} {:?} {:?}->{:?} {:?} {:?} {:?} lamp {:?} out {:?} lifted {:?}",
        s.at, s.between, s.points, s.to, s.with, s.breaker, s.switches, s.lamp, s.out, s.lifted
    )
}

/// The job written and read again: whatever is suggested must be a job that checks.
pub fn reparsed(job: &Job) -> Call {
    let text = files::to_yaml(job);
    files::parse_str("played.yaml", &text).unwrap_or_else(|failure| panic!("{failure}\n{text}")).call
}

/// What the true house shows.
pub fn answer(truth: &Truth, job: &Job, question: &JobReading) -> JobReads {
    let mut asked = job.clone();
    let blank = JobReading { reads: Some(blank(question)), ..question.clone() };
    asked.readings = Some(vec![blank]);
    let call = reparsed(&asked);
    let reading = &call.readings[0];
    let answers = Bench::new(truth, &call, reading).answers();
    match answers.as_slice() {
        [one] => JobReads::One(one.clone()),
        _ => JobReads::List(answers),
    }
}

/// An answer of the right shape, to find out what is asked.
fn blank(question: &JobReading) -> JobReads {
    let word = |text: &str| JobAnswer::Word(text.to_owned());
    let one = match (question.ask.word(), question.with.map(|with| with.kind)) {
        ("watch", _) => word("dark"),
        ("ohms", Some(InstrumentKind::Continuity)) => word("silent"),
        ("volts", Some(InstrumentKind::NonContact)) => word("silent"),
        ("load", _) => word("none"),
        _ => JobAnswer::Number(0.0),
    };
    match question.points.as_ref().or(question.lights.as_ref()) {
        Some(points) => JobReads::List(vec![one; points.len()]),
        None => JobReads::One(one),
    }
}

struct Bench<'a> {
    truth: &'a Truth,
    call: &'a Call,
    reading: &'a Reading,
}

impl<'a> Bench<'a> {
    fn new(truth: &'a Truth, call: &'a Call, reading: &'a Reading) -> Bench<'a> {
        Bench { truth, call, reading }
    }

    fn answers(&self) -> Vec<JobAnswer> {
        let facts = Facts::new(&self.call.house);
        let scene = Scene::new(&self.call.house, &facts);
        let setup = setup(&facts, &self.reading.conditions);
        let opened = scene.opened(&setup);
        match &self.reading.ask {
            Ask::Volts(pairs) => pairs.iter().map(|pair| self.volts(&scene, &opened, *pair)).collect(),
            Ask::Ohms(pairs) => pairs.iter().map(|pair| self.ohms(&scene, &opened, *pair)).collect(),
            Ask::Load(pairs) => pairs.iter().map(|pair| self.load(&scene, &opened, *pair)).collect(),
            Ask::AmpsCable(end) => {
                let wires = facts.ends[usize::from(end.0)].wires();
                vec![JobAnswer::Number(tenths(self.full(&scene, &opened, false).amps(wires).unwrap()))]
            }
            Ask::AmpsWire(wire) => {
                let wire = std::iter::once(facts.index(*wire));
                vec![JobAnswer::Number(tenths(self.full(&scene, &opened, false).amps(wire).unwrap()))]
            }
            Ask::Watch(lights) => lights.iter().map(|light| self.watch(&scene, &opened, *light)).collect(),
        }
    }

    fn full(&self, scene: &Scene, opened: &Opened, cold: bool) -> Full {
        let handles = handles(&self.reading.conditions);
        let assumed = Assumed { metres: 10.0, other: OtherLoad::NONE, supply: self.call.house.supply };
        Full::build(scene, &self.truth.walls, opened, handles ^ self.truth.sense, assumed, cold).unwrap()
    }

    fn tester(&self) -> Tester {
        Tester::new(self.reading.with.unwrap(), &self.truth.knowledge.instruments)
    }

    fn volts(&self, scene: &Scene, opened: &Opened, (p, q): (Point, Point)) -> JobAnswer {
        let full = self.full(scene, opened, false);
        let with = self.tester();
        let (p, q) = (full.at(scene, p), full.at(scene, q));
        let volts = full.volts(p, q, with.ohms, with.farads).unwrap();
        if with.kind == InstrumentKind::NonContact {
            return JobAnswer::Word(if volts > 50.0 { "alarm" } else { "silent" }.to_owned());
        }
        JobAnswer::Number(tenths(volts))
    }

    fn ohms(&self, scene: &Scene, opened: &Opened, (p, q): (Point, Point)) -> JobAnswer {
        let full = self.full(scene, opened, true);
        let ohms = full.ohms(full.at(scene, p), full.at(scene, q)).unwrap();
        let with = self.tester();
        if with.kind == InstrumentKind::Continuity {
            let beeps = ohms.is_some_and(|ohms| ohms <= with.ohms);
            return JobAnswer::Word(if beeps { "beep" } else { "silent" }.to_owned());
        }
        match ohms {
            Some(ohms) => JobAnswer::Number(tenths(ohms)),
            None => JobAnswer::Word("open".to_owned()),
        }
    }

    fn load(&self, scene: &Scene, opened: &Opened, (p, q): (Point, Point)) -> JobAnswer {
        let full = self.full(scene, opened, false);
        let supply = self.call.house.supply;
        let (p, q) = (full.at(scene, p), full.at(scene, q));
        let share = full.volts(p, q, supply * supply / self.tester().watts, 0.0).unwrap() / supply;
        let word = if share >= 0.9 {
            "bright"
        } else if share >= 0.2 {
            "dim"
        } else {
            "none"
        };
        JobAnswer::Word(word.to_owned())
    }

    fn watch(&self, scene: &Scene, opened: &Opened, light: DeviceId) -> JobAnswer {
        let share = self.full(scene, opened, false).across(light).unwrap() / self.call.house.supply;
        let word = if share >= 0.9 {
            "lit"
        } else if share >= 0.2 {
            "dim"
        } else {
            "dark"
        };
        JobAnswer::Word(word.to_owned())
    }
}

/// Conditions as the predictor takes them.
pub fn setup(facts: &Facts, conditions: &Conditions) -> Setup {
    Setup {
        power: if conditions.breakers[0].unwrap() { lath::predict::ALL_ON } else { 0 },
        lamps: conditions.lamps.iter().map(|lamp| lamp.unwrap_or(LampState::In)).collect(),
        out: conditions.out.clone(),
        lifted: conditions.lifted.iter().map(|&wire| facts.index(wire)).collect(),
        jumpers: conditions.jumpers.clone(),
    }
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// The handles as bits.
pub fn handles(conditions: &Conditions) -> u32 {
    conditions
        .positions
        .iter()
        .enumerate()
        .fold(0, |bits, (at, second)| bits | u32::from(second.unwrap()) << at)
}
