//! Each example as a whole call at a terminal: from an empty folder to the verdict of its file, the note and the end, all of it
//! typed at the program itself. What to type is worked out beside it, from the job as the program left it.

use super::desk::Desk;
use super::examples::{differs, words};
use super::hand::{self, Hand, Listed, example, now, proving, typed};
use super::killed::{ENDS, end};
use super::play::{self, Truth};
use lath::call::Call;
use lath::call::job::{Do, Field, Job, JobBox, JobReading, JobReads, items};
use lath::call::{InstrumentKind, Source};
use lath::files::{self, packs, yaml};
use lath::house::BoxKind;
use lath::knowledge::Knowledge;
use lath::plan::{Here, Next};
use lath::verdict::{Role, SETTLED, State, Verdict};
use lath::walk::{Advice, Adviser, Engine, Stage, Walk};
use lath::wiring::Options;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// More answers than these are no call any more.
const MOST: usize = 250;

/// How the readings of an example are come to.
#[derive(Clone, Copy, PartialEq)]
enum How {
    /// As they are suggested, answered by the circuit behind the example.
    Suggested,
    /// Those of the example, each asked for in words.
    Own,
    /// The same, all of them told before the head of the call is at its end, as somebody does who comes with notes. Nothing is
    /// weighed meanwhile, which is why the largest are told so.
    Notes,
}

/// What happens between the answers.
#[derive(Clone, Copy, PartialEq)]
enum Twist {
    /// Some answers are taken back and given again.
    Undo,
    /// Some readings are taken down wrong, and changed.
    Change,
    /// Some suggestions are put off.
    Skip,
    /// Some answers are the last for the day: killed, interrupted, hung up, stopped.
    End,
    /// Words that change nothing.
    Words,
}

/// The engine, or somebody who only knows the verdict on the example.
enum Guide<'a> {
    Engine(Box<Engine<'a>>),
    Told(Box<Verdict>, usize),
}

impl Adviser for Guide<'_> {
    fn advise(&mut self, call: &Call, here: Option<Here>) -> Advice {
        let verdict = match self {
            Guide::Engine(engine) => return engine.advise(call, here),
            Guide::Told(verdict, readings) if call.readings.len() >= *readings => (**verdict).clone(),
            Guide::Told(..) => hand::nothing_yet(),
        };
        let (candidates, state) = (verdict.candidates.clone(), State::Settled);
        let next = Next {
            lath: 1,
            state,
            wires_settled: false,
            candidates,
            suggestions: Vec::new(),
            still_on: Vec::new(),
            would_help: Vec::new(),
        };
        Advice { verdict, next }
    }
}

/// A call that is typed.
struct Typist<'a> {
    name: &'a str,
    job: Job,
    knowledge: &'a Knowledge,
    how: How,
    twist: Twist,
    path: PathBuf,
    desk: Desk,
    walk: Walk<Guide<'a>>,
    answers: usize,
    twisted: usize,
    shown: String,
}

impl<'a> Typist<'a> {
    fn new(name: &'a str, path: PathBuf, knowledge: &'a Knowledge, (how, twist): (How, Twist)) -> Typist<'a> {
        let job = example(name);
        let mut desk = Desk::at(&path, options(how));
        let shown = desk.question();
        let walk = Walk::resume(Job::default(), guide(&job, knowledge, how)).unwrap();
        Typist { name, job, knowledge, how, twist, path, desk, walk, answers: 0, twisted: 0, shown }
    }

    /// Types an answer, and holds that it was taken as it was meant: it is in the file, and the right question comes next.
    fn say(&mut self, answer: &str) {
        let at = self.walk.screen();
        hand::fits(&self.walk);
        let turn = self.walk.answer(answer, &now());
        assert!(turn.changed, "{}: {answer:?} at {at:?}: {:?}", self.name, turn.says);
        self.type_line(answer);
        let left = files::load(&self.path).unwrap().job;
        let meant = self.walk.job();
        assert_eq!(
            (&left.house, &left.boxes, &left.readings, &left.skipped, &left.done),
            (&meant.house, &meant.boxes, &meant.readings, &meant.skipped, &meant.done),
            "{}: after {answer:?}",
            self.name
        );
    }

    fn type_line(&mut self, text: &str) {
        self.desk.type_line(text);
        let shown = self.desk.question();
        let ask = spaced(&self.walk.screen().ask);
        assert!(spaced(&shown).contains(&ask), "{}: {ask:?} not asked after {text:?}: {shown}", self.name);
        self.shown.push_str(&shown);
        self.answers += 1;
        assert!(self.answers < MOST, "{}: no end", self.name);
    }

    /// An answer with what belongs before or after it in this call.
    fn answer(&mut self, answer: &str) {
        let due = self.answers.is_multiple_of(if self.twist == Twist::End { 8 } else { 5 });
        let proves = proving(&self.walk.screen());
        match self.twist {
            Twist::Words if due => {
                for word in ["help", "why", "state"] {
                    self.type_line(word);
                }
                self.twisted += 1;
            }
            // A proof that is taken back is none.
            Twist::Undo if due && !proves => {
                self.say(answer);
                self.say("undo");
                self.twisted += 1;
            }
            _ => {}
        }
        self.say(answer);
        // A proof lapses with the walk, and what is large is not weighed again for every one.
        let weighed = self.how == How::Notes && !self.walk.place().is_before_readings();
        let ends = self.twist == Twist::End && due && !proves && !weighed;
        if ends && self.walk.place().stage != Stage::Done {
            self.end();
        }
    }

    /// Ends it in one of the ways there are, and goes on.
    fn end(&mut self) {
        end(&mut self.desk, ENDS[self.twisted % ENDS.len()]);
        self.twisted += 1;
        self.desk = Desk::at(&self.path, options(self.how));
        self.desk.wait("Going on with");
        self.shown.push_str(&self.desk.question());
        let left = files::load(&self.path).unwrap().job;
        self.walk = Walk::resume(left, guide(&self.job, self.knowledge, self.how)).unwrap();
    }

    /// How much more the customer knows.
    fn untold(&self) -> usize {
        let told = |job: &Job| by_customer(job).count();
        told(&self.job) - told(self.walk.job())
    }

    /// What the customer says of the position that is asked about.
    fn customer(&self) -> String {
        let ask = self.walk.screen().ask;
        let here = |reading: &&JobReading| {
            let mut switches = reading.switches.iter().flatten();
            switches.all(|(name, position)| ask.contains(&format!("{name} {position}")))
        };
        let said = by_customer(&self.job).find(here).and_then(|reading| reading.reads.as_ref());
        said.map_or("u".to_owned(), typed)
    }

    /// What the customer says where the notes came before the last of it.
    fn last_of_customer(&mut self) {
        while self.untold() > 0 {
            let said = self.customer();
            if self.walk.place().index() + 1 == 1 << self.walk.call().house.switches().count() {
                return self.weighed(&said);
            }
            self.answer(&said);
        }
        self.weighed("");
    }

    /// A box that is open in the example, and not here yet.
    fn shut(&self) -> Option<String> {
        let open = items(&self.job.boxes).iter().filter(|outlet| outlet.opened == Some(true));
        let here = items(&self.walk.job().boxes);
        let is_shut =
            |name: &&String| here.iter().any(|outlet| outlet.name == **name && outlet.opened != Some(true));
        open.map(|outlet| &outlet.name).find(is_shut).cloned()
    }

    /// A reading of the example in words.
    fn own(&mut self, hand: &mut Hand, reading: &JobReading) {
        let question = JobReading { reads: None, by: None, ..reading.clone() };
        self.answer(&format!("own {}", words(&question)));
        let differs = differs(&question, items(&self.walk.job().readings).last());
        self.say(&differs);
        while proving(&self.walk.screen()) {
            let proof = hand.answer(&self.walk);
            self.say(&proof);
        }
        self.read(&question, &typed(reading.reads.as_ref().unwrap()));
    }

    /// What was read; now and then something else first, which is changed.
    fn read(&mut self, question: &JobReading, right: &str) {
        let number = items(&self.walk.job().readings).len() + 1;
        if self.twist != Twist::Change || self.twisted > 2 || !number.is_multiple_of(2) {
            return self.answer(right);
        }
        let wrong = match question.ask {
            Do::Watch => "glow",
            Do::Load => "dim",
            _ => "7",
        };
        let wrong = vec![wrong; items(&question.points).len().max(1)].join(", ");
        for answer in [&wrong, &format!("change {number}"), right] {
            self.say(answer);
        }
        self.twisted += 1;
    }

    /// Everything that the example has, asked for in words.
    fn all_own(&mut self, hand: &mut Hand) {
        while let Some(name) = self.shut() {
            self.answer(&format!("change {name}"));
            self.survey(hand);
        }
        let told = |reading: &&JobReading| reading.by != Some(Source::Customer);
        for reading in items(&self.job.readings).to_vec().iter().filter(told) {
            self.own(hand, reading);
        }
    }

    /// Up to the end of the survey that was begun.
    fn survey(&mut self, hand: &mut Hand) {
        while self.walk.place().draft.is_some() {
            let answer = hand.answer(&self.walk);
            self.answer(&answer);
        }
    }

    /// What is suggested, as long as anything is.
    fn all_suggested(&mut self, hand: &mut Hand) {
        loop {
            let suggested = self.walk.advice().and_then(|advice| advice.next.suggestions.first().cloned());
            let Some(question) = suggested.map(|suggested| suggested.question()) else {
                let Some(name) = self.shut() else { return };
                self.answer(&format!("change {name}"));
                self.survey(hand);
                continue;
            };
            let real = question.at.as_ref().and_then(|at| hand.boxes.get(at));
            let closed = question.ask == Do::Open && real.is_none_or(|real| real.opened != Some(true));
            if closed {
                self.answer("skip cannot");
            } else if self.twist == Twist::Skip && self.twisted < 4 && self.answers.is_multiple_of(2) {
                self.say("skip");
                self.twisted += 1;
            } else if proving(&self.walk.screen()) {
                let proof = hand.answer(&self.walk);
                self.answer(&proof);
                self.survey(hand);
            } else {
                let answer = hand.answer(&self.walk);
                self.read(&question, &answer);
            }
        }
    }

    /// The last of what the customer says, after which it is weighed. Whether anything is suggested beyond the notes is not
    /// known here, and after a restart no proof is left either way.
    fn weighed(&mut self, answer: &str) {
        self.end();
        assert!(self.walk.answer(answer, &now()).changed);
        self.desk.type_line(answer);
        self.shown.push_str(&self.desk.question());
        assert_eq!(self.walk.place().stage, Stage::Work, "{}", self.name);
    }

    /// From the last reading to the end of the program.
    fn close(&mut self, hand: &mut Hand) {
        let suggests = self.walk.advice().is_some_and(|advice| !advice.next.suggestions.is_empty());
        self.say(if suggests || self.how == How::Notes { "enough" } else { "y" });
        while self.walk.place().stage != Stage::Done {
            let answer = hand.answer(&self.walk);
            self.answer(&answer);
        }
        self.desk.type_line("");
        assert_eq!(self.desk.status(), 0, "{}", self.name);
        assert!(self.desk.is_sane());
    }
}

fn by_customer(job: &Job) -> impl Iterator<Item = &JobReading> {
    items(&job.readings).iter().filter(|reading| reading.by == Some(Source::Customer))
}

fn options(how: How) -> &'static [&'static str] {
    if how == How::Own { &["--plain"] } else { &[] }
}

fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn guide<'a>(job: &Job, knowledge: &'a Knowledge, how: How) -> Guide<'a> {
    if how != How::Notes {
        return Guide::Engine(Box::new(Engine::new(knowledge, Options::default())));
    }
    Guide::Told(Box::new(on_file(job, knowledge)), items(&job.readings).len())
}

/// The verdict on the example as it is committed.
fn on_file(job: &Job, knowledge: &Knowledge) -> Verdict {
    let call = files::parse_str("example", &files::to_yaml(job)).unwrap().call;
    Listed::of(job, knowledge).verdict(&call)
}

/// The answers of the head, up to what is wanted.
fn head(job: &Job) -> Vec<String> {
    let said = |prose: Option<&lath::call::job::Prose>| prose.map_or(String::new(), |said| said.0.clone());
    let (call, house) = (job.call.clone().unwrap(), job.house.clone().unwrap());
    let two = |a, b| format!("{}, {}", said(a), said(b));
    let mut all = vec!["y".to_owned(), said(call.title.as_ref())];
    all.push(two(call.site.as_ref(), call.customer.as_ref()));
    all.push(two(call.technician.as_ref(), call.firm.as_ref()));
    all.extend([said(call.complaint.as_ref()), said(call.changed.as_ref())]);
    if call.changed.is_some() {
        all.push(if call.worked_before == Some(true) { "y" } else { "n" }.to_owned());
    }
    all.push(house.built.map_or(String::new(), |year| year.to_string()));
    all.extend(instruments(job));
    let feed = &items(&house.feeds)[0];
    let fuse = feed.kind.is_some_and(|kind| kind.write().excerpt() == "fuse");
    all.push(if fuse { format!("fuse {}", feed.name) } else { feed.name.clone() });
    let reference = house.reference.unwrap();
    all.extend([reference.what.0, reference.proven.unwrap().to_string()]);
    all.extend(boxes(job));
    all
}

/// Testers by their numbers, and the ohms of the one that is asked about.
fn instruments(job: &Job) -> Vec<String> {
    use InstrumentKind::*;
    let order = [HighImpedance, LowImpedance, TwoPole, TestLamp, Continuity, Clamp];
    let number = |kind: InstrumentKind| order.iter().position(|one| *one == kind).unwrap() + 1;
    let owned = items(&job.instruments);
    let numbers: Vec<String> = owned.iter().map(|one| number(one.kind).to_string()).collect();
    let ohms = owned.iter().find(|one| one.kind == LowImpedance).and_then(|one| one.ohms);
    [numbers.join(" ")].into_iter().chain(ohms.map(|ohms| ohms.to_string())).collect()
}

/// The boxes, the light's first, and what is wanted.
fn boxes(job: &Job) -> Vec<String> {
    let named = |outlet: &JobBox| match outlet.floor {
        Some(floor) => format!("{}, {floor}", outlet.name),
        None => outlet.name.clone(),
    };
    let letter = |word: String| match word.as_str() {
        "steps" => "t".to_owned(),
        "blocked" => "b".to_owned(),
        word => word[..1].to_owned(),
    };
    let is_light = |outlet: &&JobBox| outlet.kind == BoxKind::Light;
    let all = items(&job.boxes);
    let light = all.iter().find(is_light).unwrap();
    let lamp = items(&light.devices)[0].lamp.unwrap().write().excerpt();
    let mut typed = vec![named(light), letter(lamp), letter(light.reach.unwrap().write().excerpt())];
    let mut order = vec![light.name.clone()];
    for outlet in all.iter().filter(|outlet| !is_light(outlet)) {
        typed.extend([named(outlet), letter(items(&outlet.devices)[0].kind.write().excerpt())]);
        order.push(outlet.name.clone());
    }
    let goal = job.call.clone().unwrap().goal.unwrap();
    let at = goal.strip_prefix("neutral-at ").and_then(|name| order.iter().position(|one| one == name));
    typed.extend([String::new(), at.map_or(goal[..1].to_owned(), |at| (at + 1).to_string())]);
    typed
}

/// What the verdict must be, derived by hand; the fields are described in tests/expected/feed-at-switch.yaml.
#[derive(Deserialize)]
struct Expected {
    roles: BTreeMap<String, Role>,
    #[serde(default)]
    free: Vec<[String; 2]>,
}

/// The tags as they were shown: what stands on each wire.
fn tags(shown: &str) -> BTreeMap<String, String> {
    let from = shown.rfind("\nTAGS").unwrap();
    let page = shown[from..].split("Answer:").next().unwrap();
    let mut outlet = String::new();
    let mut tags = BTreeMap::new();
    for line in page.lines().map(str::trim_end) {
        if let Some((name, _)) = line.split_once(" (").filter(|_| line.ends_with(" box)")) {
            outlet = name.to_owned();
        }
        let wire = line.strip_prefix("    ").and_then(|line| line.trim_start().split_once([' ', ':']));
        if let Some((wire, says)) = wire.filter(|(wire, _)| wire.contains('.')) {
            tags.insert(format!("{outlet}/{wire}"), says.trim_start().to_owned());
        }
    }
    tags
}

/// One example from the first question to the last.
fn whole(name: &str, how: How, twist: Twist) {
    let knowledge = packs::embedded().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut typist = Typist::new(name, folder.path().join("call.yaml"), &knowledge, (how, twist));
    let job = typist.job.clone();
    let truth = (how == How::Suggested).then(|| Truth::of(name));
    let shows = |question: &JobReading| -> JobReads {
        let truth = truth.as_ref().unwrap();
        play::answer(truth, &truth.job, question)
    };
    let mut hand = Hand::new(&job, shows);
    for answer in head(&job) {
        typist.answer(&answer);
    }
    if how == How::Notes {
        while typist.untold() > 1 {
            let said = typist.customer();
            typist.answer(&said);
        }
        typist.all_own(&mut hand);
        typist.last_of_customer();
    } else {
        while typist.untold() > 0 {
            let said = typist.customer();
            typist.answer(&said);
        }
        if typist.walk.place().stage == Stage::Customer {
            typist.answer("");
        }
    }
    match how {
        How::Suggested => typist.all_suggested(&mut hand),
        How::Own => typist.all_own(&mut hand),
        How::Notes => {}
    }
    typist.close(&mut hand);

    let expected = std::fs::read_to_string(format!("{}/tests/expected/{name}", env!("CARGO_MANIFEST_DIR")));
    let expected: Expected = yaml::pack(name, &expected.unwrap()).unwrap();
    let tags = tags(&typist.shown);
    for (wire, role) in &expected.roles {
        let may_be_other = expected.free.iter().flatten().any(|free| free == wire);
        let says = &tags[wire];
        let word = role.word().to_uppercase();
        assert!(
            may_be_other || says.contains(&word) && !says.contains("CHECK"),
            "{name}: {wire}: {says}, not {role:?}"
        );
    }
    assert_eq!(tags.len(), expected.roles.len(), "{name}");
    assert!(spaced(&typist.shown).contains("Show the customer's note now?"));
    let left = files::load(&typist.path).unwrap().job;
    assert!(items(&left.done).iter().any(|said| said.contains("line to neutral")), "{name}: {:?}", left.done);
    assert!(typist.twisted > 0, "{name}: {}", typist.twisted);
    same_verdict(&typist, &on_file(&job, &knowledge));
    println!("{name}: {} answers, {} times {}", typist.answers, typist.twisted, twist.word());
}

/// The verdict on what was typed is that on the file: roles, how firmly, what they rest on; cables too where the readings are the
/// same.
fn same_verdict(typist: &Typist, committed: &Verdict) {
    let name = typist.name;
    let typed = &typist.walk.advice().unwrap().verdict;
    let wires = |verdict: &Verdict| -> BTreeMap<String, (Role, bool)> {
        verdict.wires.iter().map(|wire| (wire.wire.clone(), (wire.role, wire.p >= SETTLED))).collect()
    };
    assert_eq!(wires(typed), wires(committed), "{name}");
    let scheme = |verdict: &Verdict| verdict.arrangement.as_ref().map(|found| found.scheme.clone());
    assert_eq!(scheme(typed), scheme(committed), "{name}");
    assert_eq!(typed.landing.len(), committed.landing.len(), "{name}");
    if typist.how == How::Own {
        let cables = |verdict: &Verdict| -> Vec<[String; 2]> {
            let mut all: Vec<[String; 2]> = verdict.cables.iter().map(|cable| cable.ends.clone()).collect();
            all.iter_mut().for_each(|ends| ends.sort());
            all.sort();
            all
        };
        assert_eq!(cables(typed), cables(committed), "{name}");
    }
}

impl Twist {
    fn word(self) -> &'static str {
        match self {
            Twist::Undo => "taken back",
            Twist::Change => "changed",
            Twist::Skip => "put off",
            Twist::End => "ended",
            Twist::Words => "asked",
        }
    }
}

#[test]
fn single_pole_loop() {
    whole("single-pole-loop.yaml", How::Suggested, Twist::Change);
}

#[test]
fn feed_at_switch() {
    whole("feed-at-switch.yaml", How::Own, Twist::Words);
}

#[test]
fn feed_at_light_two_legs() {
    whole("feed-at-light-two-legs.yaml", How::Own, Twist::Undo);
}

#[test]
fn feed_at_light_line_to_far() {
    whole("feed-at-light-line-to-far.yaml", How::Suggested, Twist::End);
}

#[test]
fn feed_at_light_line_to_near() {
    whole("feed-at-light-line-to-near.yaml", How::Suggested, Twist::Skip);
}

#[test]
fn feed_at_upper_switch() {
    whole("feed-at-upper-switch.yaml", How::Suggested, Twist::Undo);
}

#[test]
fn knob_and_tube() {
    whole("knob-and-tube.yaml", How::Suggested, Twist::Words);
}

#[test]
fn four_wire_legs() {
    whole("four-wire-legs.yaml", How::Notes, Twist::End);
}

#[test]
fn open_ring() {
    whole("open-ring.yaml", How::Notes, Twist::Change);
}

#[test]
fn taken_apart() {
    whole("taken-apart.yaml", How::Notes, Twist::Undo);
}
