//! One house, gone through by one way of choosing.

use lath::call::Call;
use lath::call::check::check;
use lath::call::job::{Do, Job, JobReading};
use lath::knowledge::Knowledge;
use lath::plan::{self, Done, Price};
use lath::practice::{Building, Slips, Teller};
use lath::verdict::{SETTLED, State, Verdict};
use lath::weigh::Ledger;
use lath::wiring::{Options, Space};

/// More readings than this are no call any more: it ends unsettled.
pub const MOST: usize = 120;

/// What to do next: a reading, or a box to open; with its minutes, where they are known.
pub struct Act {
    pub question: JobReading,
    pub minutes: Option<f64>,
}

impl Act {
    pub fn open(at: &str) -> Act {
        let mut question = JobReading::new(Do::Open);
        question.at = Some(at.to_owned());
        Act { question, minutes: None }
    }
}

/// What a way to choose makes of a call.
pub enum Choice {
    /// The goal is answered and nothing found is open.
    Settled,
    /// Nothing more is to be asked.
    Exhausted,
    /// This.
    Act(Box<Act>),
}

/// A call, with what the engine holds of it.
pub struct Desk<'a> {
    pub knowledge: &'a Knowledge,
    pub call: Call,
    pub space: Space,
    pub ledger: Ledger,
}

impl<'a> Desk<'a> {
    pub fn new(job: &Job, knowledge: &'a Knowledge) -> Desk<'a> {
        let call = checked(job);
        let space = Space::of_call(&call, knowledge, Options::default());
        Desk { knowledge, call, space, ledger: Ledger::default() }
    }

    /// The call as it is now; the space is listed anew where there is more to see, or where readings cut it.
    fn follow(&mut self, job: &Job, opened: bool) {
        self.call = checked(job);
        if opened || self.space.uncovered > 0.0 {
            self.space = Space::of_call(&self.call, self.knowledge, Options::default());
            self.ledger = Ledger::default();
        }
    }
}

pub fn checked(job: &Job) -> Call {
    check(job).unwrap_or_else(|problems| panic!("{problems:?}")).0
}

/// How it went.
#[derive(Clone, Default, Debug)]
pub struct Outcome {
    pub minutes: f64,
    /// Things asked in one go.
    pub readings: usize,
    /// Single answers.
    pub answers: usize,
    pub opened: usize,
    pub settled: bool,
    pub capped: bool,
    pub wires: usize,
    pub right: usize,
    pub wrong: usize,
    pub contradiction: bool,
}

/// Goes through a house.
pub fn visit(
    building: &Building,
    knowledge: &Knowledge,
    mut choose: impl FnMut(&mut Desk) -> Choice,
) -> Outcome {
    let mut job = building.survey();
    let mut told = building.clone();
    told.outlets.iter_mut().for_each(|outlet| outlet.opened |= outlet.known);
    let mut seen = building.clone();
    let mut teller = Teller::new(&told, Slips::none());
    let mut desk = Desk::new(&job, knowledge);
    let mut outcome = Outcome::default();
    // What a house does not allow is no reading, and is not asked for ever.
    for tried in 0.. {
        if outcome.readings >= MOST || tried >= 2 * MOST {
            outcome.capped = true;
            break;
        }
        match choose(&mut desk) {
            Choice::Settled => {
                outcome.settled = true;
                break;
            }
            Choice::Exhausted => break,
            Choice::Act(act) => step(&act, (&mut job, &mut seen, &mut teller), &mut desk, &mut outcome),
        }
    }
    let (verdict, _) = plan::answered(&desk.call, knowledge, &desk.space, &mut desk.ledger);
    held(&seen, &verdict, &mut outcome);
    if outcome.wrong > 0 {
        keep(&job, &seen);
    }
    outcome
}

/// Writes a call that came out wrong to the folder `LATH_WRONG`, with what is in the walls, to be looked into.
fn keep(job: &Job, seen: &Building) {
    let Some(folder) = std::env::var_os("LATH_WRONG").map(std::path::PathBuf::from) else { return };
    let free = (0..).map(|number| folder.join(format!("{number}.yaml"))).find(|path| !path.exists()).unwrap();
    let truth = format!("{:#?}", seen.truth());
    let truth: String = truth.lines().map(|line| format!("# {line}\n")).collect();
    std::fs::write(free, lath::files::to_yaml(job) + &truth).unwrap();
}

fn step(
    act: &Act,
    (job, seen, teller): (&mut Job, &mut Building, &mut Teller),
    desk: &mut Desk,
    outcome: &mut Outcome,
) {
    let opens = act.question.ask == Do::Open;
    let before = desk.call.clone();
    let price = |done: Done| plan::price(&before, desk.knowledge, &desk.space, done);
    let known = act.minutes.map(|minutes| Price { minutes, held: 0.0 });
    let price = if opens {
        let name = act.question.at.clone().unwrap_or_default();
        let at = before.house.box_ids().find(|&at| before.house.outlet(at).name == name).unwrap();
        let outlet = seen.outlet_called(&name).unwrap();
        seen.outlets[outlet].opened = true;
        let found = seen.survey_of(outlet);
        *job.boxes.as_mut().unwrap().iter_mut().find(|outlet| outlet.name == name).unwrap() = found;
        outcome.opened += 1;
        known.or_else(|| price(Done::Opened(at)))
    } else {
        // What the house does not allow, ohms where something stays live, is not done, and costs nothing.
        let Ok(read) = teller.take(&act.question) else { return };
        job.readings.get_or_insert_default().push(read);
        let call = checked(job);
        let reading = call.readings.last().unwrap();
        let Some(price) = known.or_else(|| price(Done::Read(reading))) else {
            job.readings.as_mut().unwrap().pop();
            return;
        };
        outcome.readings += 1;
        outcome.answers += reading.seen.len();
        Some(price)
    };
    outcome.minutes += price.map_or(0.0, |price| price.minutes);
    desk.follow(job, opens);
}

/// Roles that are said to be settled, beside what is in the walls.
fn held(seen: &Building, verdict: &Verdict, outcome: &mut Outcome) {
    let truth = seen.truth();
    outcome.contradiction = verdict.state == State::Contradiction;
    outcome.wires = verdict.wires.len();
    for found in verdict.wires.iter().filter(|found| found.p >= SETTLED) {
        let right = truth.wires.get(&found.wire).is_some_and(|purpose| purpose.role == found.role);
        outcome.right += usize::from(right);
        outcome.wrong += usize::from(!right);
    }
}
