//! A technician who knows what is in the boxes and answers every card of a walk.

use lath::call::Call;
use lath::call::job::{Do, Field, Job, JobApart, JobBox, JobReading, JobReads, Node, items};
use lath::files;
use lath::house::{BoxKind, Sheath};
use lath::knowledge::Knowledge;
use lath::plan::{Here, Next, Suggestion};
use lath::show::Style;
use lath::verdict::{self, State, Verdict};
use lath::walk::{Advice, Adviser, Now, Place, Screen, Stage, Walk};
use lath::wiring::{Options, Space};
use std::collections::BTreeMap;
use std::sync::Mutex;

/// A day that no test asks the clock for.
pub fn now() -> Now {
    Now { day: "2026-05-14".to_owned(), time: "14:20".to_owned() }
}

/// The job of an example.
pub fn example(name: &str) -> Job {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    files::load(&path).unwrap().job
}

/// The same call before anybody looked into a box or read anything.
pub fn before(job: &Job) -> Job {
    let mut job = job.clone();
    (job.readings, job.proofs, job.done, job.history, job.skipped) = (None, None, None, None, None);
    for outlet in job.boxes.iter_mut().flatten() {
        if outlet.opened == Some(true) {
            let shut = JobBox::new(outlet.name.clone(), outlet.kind);
            let known = outlet.clone();
            *outlet = JobBox {
                opened: Some(false),
                floor: known.floor,
                reach: known.reach,
                volume: known.volume,
                devices: known.devices,
                seen: known.seen,
                ..shut
            };
        }
    }
    job
}

/// Whether a card has a box proved dead.
pub fn proving(screen: &Screen) -> bool {
    screen.title.to_lowercase().contains("prove ")
}

/// Lines that a card takes at a terminal of so many columns, the line for the answer among them.
pub fn lines(screen: &Screen, columns: usize) -> usize {
    screen.text(&Style::of_width(columns), None).lines().count() + 1
}

/// The card that is shown fits the smallest screens.
pub fn fits<A: Adviser>(walk: &Walk<A>) {
    let screen = walk.screen();
    let (at80, at50) = (lines(&screen, 80), lines(&screen, 50));
    assert!(at80 <= 22 && at50 <= 20, "{at80} and {at50} lines: {screen:?}");
}

/// What is typed.
pub struct Hand<'a> {
    /// The boxes as they are.
    pub boxes: BTreeMap<String, JobBox>,
    /// What a tester or the light shows.
    pub shows: Box<dyn FnMut(&JobReading) -> JobReads + 'a>,
}

impl<'a> Hand<'a> {
    pub fn new(job: &Job, shows: impl FnMut(&JobReading) -> JobReads + 'a) -> Hand<'a> {
        let boxes = items(&job.boxes).iter().map(|outlet| (outlet.name.clone(), outlet.clone()));
        Hand { boxes: boxes.collect(), shows: Box::new(shows) }
    }

    /// The answer to the card that is shown.
    pub fn answer<A: Adviser>(&mut self, walk: &Walk<A>) -> String {
        let (screen, place) = (walk.screen(), walk.place());
        if proving(&screen) {
            return if screen.choices.is_empty() { "kitchen receptacle" } else { "d" }.to_owned();
        }
        let draft = place.draft.clone().unwrap_or_else(|| JobBox::new("", BoxKind::Junction));
        let real = self.boxes.get(&draft.name).cloned();
        match place.stage {
            Stage::Work => self.work(walk),
            Stage::Sheath => sheath(items(&real.unwrap().cables)[0].sheath).to_owned(),
            Stage::Cables => cables(&real.unwrap()),
            Stage::Devices => devices(&real.unwrap()),
            Stage::Screw => screw(&draft, &real.unwrap(), place.index()),
            Stage::Splice => splice(&draft, &real.unwrap()),
            Stage::Position => self.position(walk),
            Stage::ToNeutral | Stage::ToMetal => "OL".to_owned(),
            Stage::Shell => "0".to_owned(),
            Stage::Done => "stop".to_owned(),
            _ => "y".to_owned(),
        }
    }

    /// What is on a screw of the box that is looked into, as it is typed.
    pub fn numbers_on(&self, place: &Place, screw: usize) -> String {
        let draft = place.draft.as_ref().unwrap();
        self::screw(draft, &self.boxes[&draft.name], screw)
    }

    fn work<A: Adviser>(&mut self, walk: &Walk<A>) -> String {
        let own = walk.place().question.clone();
        let suggested = || Some(walk.advice()?.next.suggestions.first()?.question());
        match own.or_else(suggested) {
            Some(question) if question.ask == Do::Open => "y".to_owned(),
            Some(question) => typed(&(self.shows)(&question)),
            None => "y".to_owned(),
        }
    }

    /// The light after the work: a house that was put right alternates.
    fn position<A: Adviser>(&mut self, walk: &Walk<A>) -> String {
        if walk.place().index().is_multiple_of(2) { "l".to_owned() } else { "d".to_owned() }
    }
}

/// Answers as they are typed.
pub fn typed(reads: &JobReads) -> String {
    match reads {
        JobReads::One(answer) => answer.to_string(),
        JobReads::List(answers) => answers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        JobReads::Map(answers) => answers.values().map(ToString::to_string).collect::<Vec<_>>().join(", "),
    }
}

/// The key for what covers a cable.
fn sheath(sheath: Option<Sheath>) -> &'static str {
    match sheath {
        Some(Sheath::ClothNm) => "c",
        Some(Sheath::Nm) => "n",
        Some(Sheath::Armored) => "a",
        Some(Sheath::KnobAndTube) => "k",
        Some(Sheath::Conduit) => "p",
        Some(Sheath::Lead) => "l",
        None => "",
    }
}

/// The presets where one fits, else the colours.
fn cables(real: &JobBox) -> String {
    let one = |wires: &Vec<String>| match wires.join(",").as_str() {
        "black,white" => "2".to_owned(),
        "black,red,white" => "3".to_owned(),
        "w1" => "s".to_owned(),
        other => other.to_owned(),
    };
    let each =
        items(&real.cables).iter().map(|cable| format!("{} {}", sheath(cable.sheath), one(&cable.wires)));
    each.collect::<Vec<_>>().join(" ")
}

fn devices(real: &JobBox) -> String {
    let word = |kind: &dyn std::fmt::Debug| match format!("{kind:?}").as_str() {
        "SinglePole" => "s",
        "ThreeWay" => "t",
        "FourWay" => "f",
        "Light" => "l",
        "Dimmer" => "d",
        other => panic!("no key for {other}"),
    };
    let all: Vec<&str> = items(&real.devices).iter().map(|device| word(&device.kind)).collect();
    if all.is_empty() { "0".to_owned() } else { all.join(" ") }
}

fn screws(outlet: &JobBox) -> Vec<String> {
    let of = |device: &lath::call::job::JobDevice| -> Vec<String> {
        device
            .kind
            .terminals()
            .iter()
            .map(|terminal| format!("{}.{}", device.name, terminal.word()))
            .collect()
    };
    items(&outlet.devices).iter().flat_map(of).collect()
}

fn screw(draft: &JobBox, real: &JobBox, at: usize) -> String {
    if real.apart == Some(JobApart::All(true)) {
        return "x".to_owned();
    }
    let all = screws(draft);
    let screw = &all[at];
    let joint = items(&real.joints).iter().find(|joint| joint.points.contains(screw));
    let points = joint.map(|joint| joint.points.clone()).unwrap_or_default();
    let wires: Vec<String> = points.into_iter().filter(|point| !all.contains(point)).collect();
    let tail = wires.len() > 1 && !items(&real.doubled).contains(screw);
    format!("{}{}", numbers(draft, &wires), if tail { " t" } else { "" })
}

/// Wires by the numbers that they have in a box.
fn numbers(draft: &JobBox, points: &[String]) -> String {
    let wires = || {
        items(&draft.cables)
            .iter()
            .flat_map(|cable| cable.wires.iter().map(|wire| format!("{}.{wire}", cable.tag)))
    };
    let number = |point: &String| {
        wires().position(|wire| wire == *point).map_or(point.clone(), |at| (at + 1).to_string())
    };
    points.iter().map(number).collect::<Vec<_>>().join(" ")
}

fn splice(draft: &JobBox, real: &JobBox) -> String {
    let written = |point: &String| items(&draft.joints).iter().any(|joint| joint.points.contains(point));
    let all = screws(real);
    let joint = items(&real.joints)
        .iter()
        .find(|joint| !joint.points.iter().any(|point| written(point) || all.contains(point)));
    joint.map_or(String::new(), |joint| numbers(draft, &joint.points))
}

/// Opens every shut box that is open in the example, then asks the example's readings in their order.
pub struct Listed<'a> {
    pub knowledge: &'a Knowledge,
    pub open: Vec<String>,
    pub readings: Vec<JobReading>,
}

/// The verdicts there are, for all tests: what is worked out once is not worked out again after each restart.
static KNOWN: Mutex<Vec<(Call, Verdict)>> = Mutex::new(Vec::new());

impl<'a> Listed<'a> {
    /// Of a job whose boxes and readings are all there.
    pub fn of(job: &Job, knowledge: &'a Knowledge) -> Listed<'a> {
        let open = items(&job.boxes).iter().filter(|outlet| outlet.opened == Some(true));
        Listed {
            knowledge,
            open: open.map(|outlet| outlet.name.clone()).collect(),
            readings: items(&job.readings).to_vec(),
        }
    }

    /// What is to be asked next, as long as the list goes on.
    pub fn suggestion(&self, call: &Call) -> Option<Suggestion> {
        let shut =
            |name: &&String| call.house.boxes.iter().any(|outlet| outlet.name == **name && !outlet.opened);
        let (question, first) = match self.open.iter().find(shut) {
            Some(name) => {
                let mut open = JobReading::new(Do::Open);
                open.at = Some(name.clone());
                (open, format!("Take the plate off {name}."))
            }
            None => (self.readings.get(call.readings.len())?.clone(), "As written.".to_owned()),
        };
        Some(suggestion(&JobReading { reads: None, by: None, ..question }, &first))
    }
}

/// A question as a planner would suggest it.
fn suggestion(question: &JobReading, first: &str) -> Suggestion {
    let Node::Map(mut fields) = question.write() else { panic!() };
    let chosen = [
        ("first", Node::List(vec![Node::text(first)])),
        ("bits", Node::number(1.0)),
        ("minutes", Node::number(1.0)),
        ("live", Node::Bool(false)),
        ("outcomes", Node::List(Vec::new())),
        ("because", Node::text("It is next on the list.")),
        ("cautions", Node::List(vec![Node::text("Mind the list.")])),
    ];
    fields.extend(chosen.map(|(key, value)| (key.to_owned(), value)));
    serde_json::from_value(serde_json::to_value(Node::Map(fields)).unwrap()).unwrap()
}

impl Listed<'_> {
    /// The verdict on what is listed, whatever was read beyond that.
    pub fn verdict(&self, call: &Call) -> Verdict {
        let mut call = Call { proofs: Vec::new(), skipped: Vec::new(), ..call.clone() };
        call.readings.truncate(self.readings.len());
        let known =
            |known: &[(Call, Verdict)]| known.iter().find(|(of, _)| *of == call).map(|(_, is)| is.clone());
        if let Some(verdict) = known(&KNOWN.lock().unwrap()) {
            return verdict;
        }
        let space = Space::of_call(&call, self.knowledge, Options::default());
        let verdict = verdict::within(&call, self.knowledge, &space);
        KNOWN.lock().unwrap().push((call, verdict.clone()));
        verdict
    }
}

/// What stands for a verdict as long as the list goes on.
pub fn nothing_yet() -> Verdict {
    let candidates = serde_json::json!({"classes": 2, "wirings": 2, "bits": 1.0, "uncovered": 0.0});
    serde_json::from_value(serde_json::json!({
        "lath": 1, "state": "open", "candidates": candidates, "arrangement": null, "cables": [], "wires": [], "boxes": [],
        "landing": [], "defects": [], "devices": [], "choices": [], "disbelieved": [], "contradiction": null
    }))
    .unwrap()
}

impl Adviser for Listed<'_> {
    fn advise(&mut self, call: &Call, _: Option<Here>) -> Advice {
        let suggestions: Vec<Suggestion> = self.suggestion(call).into_iter().collect();
        let state = if suggestions.is_empty() { State::Settled } else { State::Open };
        let verdict = if suggestions.is_empty() { self.verdict(call) } else { nothing_yet() };
        let next = Next {
            lath: 1,
            state,
            wires_settled: false,
            candidates: verdict.candidates.clone(),
            suggestions,
            still_on: Vec::new(),
            would_help: Vec::new(),
        };
        Advice { verdict, next }
    }
}
