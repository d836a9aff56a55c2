//! A house, what is known of it so far, and what that took.

use super::Trouble;
use crate::call::check::check;
use crate::call::edit::{self, Edit, Said};
use crate::call::job::{Do, Field, Job, JobBox, JobCable, JobReading, Node, Problem, items};
use crate::call::{Call, InstrumentKind};
use crate::house::House;
use crate::knowledge::Knowledge;
use crate::plan::{self, Done, Suggestion};
use crate::practice::{Building, Teller};
use crate::show::{readings, text, words};
use crate::verdict::{self, Verdict};
use crate::walk::own::{self, Unclear};
use crate::walk::{Adviser, Engine};
use crate::wiring::{Options, Space};

/// More suggestions than any call takes.
const MOST: usize = 80;

/// Why nothing was done.
pub enum Wrong {
    /// What was asked.
    Asked(String),
    /// The program.
    Broken(Trouble),
}

/// A visit to a house.
pub struct Visit<'a> {
    building: Building,
    teller: Teller<'a>,
    knowledge: &'a Knowledge,
    job: Job,
    minutes: f64,
    opened: usize,
}

impl<'a> Visit<'a> {
    /// Comes to a house.
    pub fn new(building: Building, teller: Teller<'a>, knowledge: &'a Knowledge) -> Visit<'a> {
        let job = building.survey();
        Visit { building, teller, knowledge, job, minutes: 0.0, opened: 0 }
    }

    /// The house.
    pub fn building(&self) -> &Building {
        &self.building
    }

    /// What was written down.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// How many readings were taken.
    pub fn readings(&self) -> usize {
        items(&self.job.readings).len()
    }

    /// How many boxes were opened.
    pub fn opened(&self) -> usize {
        self.opened
    }

    /// Minutes of work.
    pub fn minutes(&self) -> f64 {
        self.minutes
    }

    /// What survey and readings settle.
    pub fn verdict(&self) -> Result<Verdict, Trouble> {
        let call = self.call()?;
        Ok(verdict::within(&call, self.knowledge, &self.space(&call)))
    }

    fn call(&self) -> Result<Call, Trouble> {
        check(&self.job).map(|(call, _)| call).map_err(|problems| Trouble::Internal(joined(&problems)))
    }

    fn space(&self, call: &Call) -> Space {
        Space::of_call(call, self.knowledge, Options::default())
    }

    /// Takes the first suggestion that can be taken until there is none.
    pub fn follow(&mut self, mut say: impl FnMut(&str) -> Result<(), Trouble>) -> Result<(), Trouble> {
        let mut engine = Engine::new(self.knowledge, Options::default());
        for _ in 0..MOST {
            let call = self.call()?;
            let next = engine.advise(&call, None).next;
            let Some(said) = self.first_of(&next.suggestions, &mut say)? else { return Ok(()) };
            say(&said)?;
        }
        Ok(())
    }

    /// Takes the first of some suggestions that the house allows, and tells why it does not allow those before.
    fn first_of(
        &mut self,
        suggestions: &[Suggestion],
        say: &mut impl FnMut(&str) -> Result<(), Trouble>,
    ) -> Result<Option<String>, Trouble> {
        for suggestion in suggestions {
            let question = suggestion.question();
            match self.take(&question, Some(suggestion.minutes)) {
                Ok(said) => return Ok(Some(said)),
                Err(Wrong::Asked(wrong)) => say(&format!("Not done: {wrong}"))?,
                Err(Wrong::Broken(trouble)) => return Err(trouble),
            }
            // What stands against it is written down, as on a call: the test for dead that failed.
            let Some(test) = self.dead_test(&question).filter(|test| !self.is_taken(test)) else { continue };
            match self.take(&test, None) {
                Ok(said) => return Ok(Some(said)),
                Err(Wrong::Asked(_)) => {}
                Err(Wrong::Broken(trouble)) => return Err(trouble),
            }
        }
        Ok(None)
    }

    /// The test for dead that comes before ohms: each wire of the box to earth.
    fn dead_test(&self, question: &JobReading) -> Option<JobReading> {
        let at = question.at.as_ref().filter(|_| question.ask == Do::Ohms)?;
        let outlet = items(&self.job.boxes).iter().find(|outlet| outlet.name == *at)?;
        let of_cable = |cable: &JobCable| {
            cable.wires.iter().map(|wire| format!("{}.{wire}", cable.tag)).collect::<Vec<_>>()
        };
        Some(JobReading {
            ask: Do::Volts,
            between: None,
            points: Some(items(&outlet.cables).iter().flat_map(of_cable).collect()),
            to: Some("earth".to_owned()),
            with: Some(InstrumentKind::TwoPole.into()),
            ..question.clone()
        })
    }

    fn is_taken(&self, question: &JobReading) -> bool {
        let same = |taken: &JobReading| {
            (taken.ask, &taken.at, &taken.points) == (question.ask, &question.at, &question.points)
        };
        items(&self.job.readings).iter().any(same)
    }

    /// What was asked in words, or as one JSON object.
    pub fn asked(&mut self, line: &str) -> Result<String, Wrong> {
        if let Some(name) = line.strip_prefix("open ") {
            let mut question = JobReading::new(Do::Open);
            question.at = Some(name.trim().to_owned());
            return self.take(&question, None);
        }
        let question = if line.starts_with('{') { self.json(line) } else { self.words(line) };
        self.take(&question.map_err(Wrong::Asked)?, None)
    }

    fn json(&self, line: &str) -> Result<JobReading, String> {
        let node: Node = serde_json::from_str(line).map_err(|error| format!("this is not JSON: {error}"))?;
        match edit::said(&self.job, &node).map_err(|problems| joined(&problems))? {
            Said::Reading(question) => Ok(*question),
            Said::Open(_) => Err("what is in a box is seen once it is opened: leave out \"box\"".to_owned()),
        }
    }

    fn words(&self, line: &str) -> Result<JobReading, String> {
        let (asked, conditions) = line.split_once(';').unwrap_or((line, ""));
        let house = self.call().map_err(|trouble| trouble.to_string())?.house;
        let asked = if asked.trim() == "watch" {
            format!(
                "watch {}",
                house.lights().next().map_or_else(String::new, |light| readings::device(&house, light))
            )
        } else {
            asked.trim().to_owned()
        };
        let last = items(&self.job.readings).last();
        let mut question = own::question(&asked, last).map_err(|unclear| match unclear {
            Unclear::Points => own::POINTS.to_owned(),
            Unclear::Nothing => "this is no question; help lists what there is".to_owned(),
        })?;
        question.with = own::usual(items(&self.job.instruments), question.ask).map(Into::into);
        for part in conditions.split(',').map(str::trim).filter(|part| !part.is_empty()) {
            if !own::differs(&house, &mut question, part) {
                return Err(own::no_condition(part));
            }
        }
        stand_as_found(&house, &mut question);
        Ok(question)
    }

    /// Takes a reading, or opens a box, writes it down, and says it; `minutes` is what it takes, where that is known.
    fn take(&mut self, question: &JobReading, minutes: Option<f64>) -> Result<String, Wrong> {
        let asked = |problems: Vec<Problem>| Wrong::Asked(joined(&problems));
        let before = self.call().map_err(Wrong::Broken)?;
        let open = question.ask == Do::Open;
        let edit = if open {
            Edit::outlet(&self.job, &self.open(question, &before.house).map_err(Wrong::Asked)?)
        } else {
            Edit::reading(&self.job, &self.teller.take(question).map_err(Wrong::Asked)?)
        };
        let after = edit.apply(&self.job).map_err(asked)?;
        let (call, _) = check(&after).map_err(asked)?;
        let at = question.at.as_ref();
        let at = call.house.box_ids().find(|&id| Some(&call.house.outlet(id).name) == at);
        let done = match (open, at, call.readings.last()) {
            (true, Some(at), _) => Some(Done::Opened(at)),
            (false, _, Some(reading)) => Some(Done::Read(reading)),
            _ => None,
        };
        let minutes = minutes.or_else(|| {
            done.and_then(|done| plan::minutes(&before, self.knowledge, &self.space(&before), done))
        });
        let minutes = minutes.ok_or_else(|| {
            Wrong::Asked("that cannot be got to, or its conditions are not told".to_owned())
        })?;
        self.job = after;
        self.minutes += minutes;
        let said = match (open, at, call.readings.last()) {
            (false, _, Some(reading)) => readings::reading(&call.house, reading),
            (_, Some(at), _) => {
                let name = &call.house.outlet(at).name;
                self.opened += 1;
                self.building
                    .outlet_called(name)
                    .into_iter()
                    .for_each(|at| self.building.outlets[at].opened = true);
                items(&self.job.boxes)
                    .iter()
                    .find(|seen| seen.name == *name)
                    .map_or_else(String::new, box_in_words)
            }
            _ => String::new(),
        };
        Ok(format!("{} ({} min)", said.trim_end_matches('.'), text::number(minutes)))
    }

    /// What is in a box that is opened.
    fn open(&self, question: &JobReading, house: &House) -> Result<JobBox, String> {
        let name = question.at.as_deref().unwrap_or_default();
        let known = house.boxes.iter().find(|outlet| outlet.name == name);
        let known = known.ok_or_else(|| format!("there is no box called \"{name}\""))?;
        if known.opened {
            return Err(format!("{name} is open already"));
        }
        let at = self.building.outlet_called(name).ok_or("there is no such box")?;
        let mut opened = self.building.clone();
        opened.outlets[at].opened = true;
        Ok(opened.survey_of(at))
    }
}

/// Handles that nobody mentioned are as they were found.
fn stand_as_found(house: &House, question: &mut JobReading) {
    for switch in house.switches() {
        let name = readings::device(house, switch);
        let positions = question.switches.get_or_insert_default();
        positions.entry(name).or_insert_with(|| house.position_word(switch, false).to_owned());
    }
}

fn joined(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// What is seen at a box, in words.
pub fn box_in_words(outlet: &JobBox) -> String {
    let devices: Vec<String> = items(&outlet.devices)
        .iter()
        .map(|device| format!("{} ({})", device.name, device.kind.write().excerpt()))
        .collect();
    let place = format!(
        "{}{}: {}",
        outlet.name,
        outlet.reach.map_or(String::new(), |reach| format!(", {}", words::reach(reach))),
        if devices.is_empty() { "no device".to_owned() } else { devices.join(", ") }
    );
    if outlet.opened != Some(true) {
        return format!("{place}. Not opened.");
    }
    let cables: Vec<String> = items(&outlet.cables)
        .iter()
        .map(|cable| format!("{} {}", cable.tag, cable.wires.join("/")))
        .collect();
    let joints: Vec<String> = items(&outlet.joints).iter().map(|joint| joint.points.join(" + ")).collect();
    let apart = if outlet.apart.is_some() { " Taken apart, in part or all." } else { "" };
    let joined = if joints.is_empty() { "nothing joined".to_owned() } else { joints.join("; ") };
    format!("{place}. Cables {}. Joined: {joined}.{apart}", cables.join(", "))
}
