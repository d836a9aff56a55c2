//! Readings: the question, the instrument, the conditions, the answers.

use super::Report;
use super::asks::Asks;
use super::conditions::{self, Labels};
use super::header::instrument;
use super::names::Names;
use super::reads;
use crate::call::job::{Do, Field, Job, JobAnswer, JobReading, JobReads, Pair, Path, Why, any_of, items};
use crate::call::{Ask, Conditions, Instrument, InstrumentKind, Question, Reading, Seen, Skipped, Undone};
use crate::house::{BoxId, Point};

/// What the readings are checked against.
struct Bench<'a> {
    names: &'a Names<'a>,
    owned: &'a [Instrument],
    labels: &'a mut Labels,
}

/// All readings of a job. What the positions of a switch are called is kept in `labels`.
pub fn all(
    job: &Job,
    names: &Names,
    owned: &[Instrument],
    labels: &mut Labels,
    report: &mut Report,
) -> Vec<Reading> {
    let mut bench = Bench { names, owned, labels };
    let mut readings = Vec::new();
    for (i, said) in items(&job.readings).iter().enumerate() {
        let path = Path::top().key("readings").index(i);
        if said.why.is_some() {
            let what = "why says that something was skipped, and this is a reading";
            report.wrong_key(&path.key("why"), what, "why", "it under skipped, or leave why out");
        }
        if said.ask == Do::Open {
            let what = "opening a box is no reading";
            report.wrong(&path.key("do"), what, "open", "opened: true and what was seen there in its box");
            continue;
        }
        let Some(reads) = &said.reads else {
            let what = "the reading does not say what was read";
            report.wrong(
                &path,
                what,
                said.ask.word(),
                "reads: and the answer, or the question under skipped",
            );
            continue;
        };
        readings.extend(bench.reading(said, reads, &path, report));
    }
    readings
}

/// Skipped suggestions: the same questions, without an answer.
pub fn skipped(
    job: &Job,
    names: &Names,
    owned: &[Instrument],
    labels: &mut Labels,
    report: &mut Report,
) -> Vec<Skipped> {
    let mut bench = Bench { names, owned, labels };
    let mut skipped = Vec::new();
    for (i, said) in items(&job.skipped).iter().enumerate() {
        let path = Path::top().key("skipped").index(i);
        if said.why.is_none() {
            let what = "a skipped suggestion says why";
            report.wrong(&path, what, said.ask.word(), "why: later, or why: cannot");
        }
        if said.reads.is_some() {
            let what = "a skipped suggestion has no answer";
            report.wrong_key(&path.key("reads"), what, "reads", "it under readings, or leave reads out");
        }
        let cannot = said.why == Some(Why::Cannot);
        skipped.extend(bench.undone(said, &path, report).map(|what| Skipped { what, cannot }));
    }
    skipped
}

impl Bench<'_> {
    /// What was not done.
    fn undone(&mut self, said: &JobReading, path: &Path, report: &mut Report) -> Option<Undone> {
        let home = self.home(said, path, report);
        if said.at.is_some() && home.is_none() {
            return None;
        }
        if said.ask == Do::Open {
            if said.at.is_none() {
                report.wrong(path, "it is not said which box was not opened", "open", "at: and the box");
            }
            return home.map(Undone::Open);
        }
        let with = self.instrument(said, &[], path, report);
        let ask = Asks { names: self.names }.ask(said, home, path, report);
        let conditions = conditions::conditions(said, home, path, self.names, self.labels, report);
        self.apart(said, &conditions, path, report);
        Some(Undone::Reading(Box::new(Question { ask: ask?, with, conditions })))
    }

    fn home(&self, said: &JobReading, path: &Path, report: &mut Report) -> Option<BoxId> {
        let at = said.at.as_ref()?;
        let path = path.key("at");
        let home = report.found(self.names.outlet(at), &path, at)?;
        // Watching takes place anywhere; everything else needs the box open.
        if matches!(said.ask, Do::Watch | Do::Open) {
            return Some(home);
        }
        report.found(self.names.opened(home), &path, at).map(|()| home)
    }

    fn reading(
        &mut self,
        said: &JobReading,
        reads: &JobReads,
        path: &Path,
        report: &mut Report,
    ) -> Option<Reading> {
        let before = report.problems.len();
        let home = self.home(said, path, report);
        if said.at.is_some() && home.is_none() {
            return None;
        }
        let answers = answers(reads);
        let with = self.instrument(said, &answers, path, report);
        let ask = Asks { names: self.names }.ask(said, home, path, report);
        let conditions = conditions::conditions(said, home, path, self.names, self.labels, report);
        self.apart(said, &conditions, path, report);
        let ask = ask?;
        self.contactless(said, &ask, with, path, report);
        self.hangs(&ask, &conditions, path, report);
        let seen = self.seen(said, reads, &ask, with.map(|with| with.kind), path, report);
        // Half a reading would only raise further questions.
        if report.problems.len() > before {
            return None;
        }
        self.warn(said, with, &conditions, &seen, path, report);
        Some(Reading { ask, with, conditions, seen, by: said.by.unwrap_or_default() })
    }

    /// The instrument said, the one owned of its kind, or the usual one.
    fn instrument(
        &self,
        said: &JobReading,
        answers: &[JobAnswer],
        path: &Path,
        report: &mut Report,
    ) -> Option<Instrument> {
        use InstrumentKind::*;
        let path = path.key("with");
        let Some(with) = &said.with else {
            return reads::usual(said.ask, answers).map(|kind| self.owned(kind));
        };
        let suited: &[InstrumentKind] = match said.ask {
            Do::Volts => &[HighImpedance, LowImpedance, TwoPole, Solenoid, Neon, NonContact],
            Do::Ohms => &[HighImpedance, Continuity],
            Do::Amps => &[Clamp],
            Do::Load => &[TestLamp],
            Do::Watch | Do::Open => &[],
        };
        if !suited.contains(&with.kind) {
            let found = with.kind.write().excerpt();
            let what = format!("that instrument does not answer {}", said.ask.word());
            let instead = if suited.is_empty() {
                "no with here: one only looks".to_owned()
            } else {
                any_of(suited.iter().map(|kind| kind.write().excerpt()))
            };
            report.wrong(&path, what, found, instead);
            return None;
        }
        let given = instrument(with, &path, report);
        let plain = given.ohms.is_none() && given.watts.is_none() && given.resolves.is_none();
        Some(if plain { self.owned(given.kind) } else { given })
    }

    fn owned(&self, kind: InstrumentKind) -> Instrument {
        let any = Instrument { kind, ohms: None, watts: None, resolves: None };
        self.owned.iter().find(|owned| owned.kind == kind).copied().unwrap_or(any)
    }

    /// A non-contact tester has no second lead.
    fn contactless(
        &self,
        said: &JobReading,
        ask: &Ask,
        with: Option<Instrument>,
        path: &Path,
        report: &mut Report,
    ) {
        let Ask::Volts(pairs) = ask else { return };
        let kind = with.map(|with| with.kind);
        let second = |(from, to): &&(Point, Point)| *from != Point::Earth && *to != Point::Earth;
        if kind == Some(InstrumentKind::NonContact)
            && let Some(&(_, to)) = pairs.iter().find(second)
        {
            let key = if said.between.is_some() { "between" } else { "to" };
            let what = "a non-contact tester has no second lead";
            let found = self.names.house.point_name(to);
            report.wrong(&path.key(key), what, found, "earth for the other point");
        }
    }

    /// A light that is off the ceiling cannot be watched.
    fn hangs(&self, ask: &Ask, conditions: &Conditions, path: &Path, report: &mut Report) {
        let Ask::Watch(lights) = ask else { return };
        for light in lights.iter().filter(|light| conditions.out.contains(light)) {
            let found = self.names.house.device_name(*light);
            let what = "the light that is watched is said to be taken off";
            report.wrong(
                &path.key("out"),
                what,
                found,
                "out without it, or the reading that was really taken",
            );
        }
    }

    /// The answers, one a pair or light.
    fn seen(
        &self,
        said: &JobReading,
        reads: &JobReads,
        ask: &Ask,
        with: Option<InstrumentKind>,
        path: &Path,
        report: &mut Report,
    ) -> Vec<Seen> {
        let path = path.key("reads");
        let wanted = match ask {
            Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => pairs.len(),
            Ask::AmpsCable(_) | Ask::AmpsWire(_) => 1,
            Ask::Watch(lights) => lights.len(),
        };
        let mut seen = Vec::new();
        let mut take = |answer: &JobAnswer, path: Path, report: &mut Report| {
            seen.extend(report.found(reads::seen(said.ask, with, answer), &path, &answer.to_string()));
        };
        match reads {
            JobReads::One(answer) if wanted == 1 => take(answer, path, report),
            JobReads::List(answers) if wanted == answers.len() => {
                for (k, answer) in answers.iter().enumerate() {
                    take(answer, path.index(k), report);
                }
            }
            JobReads::Map(each) if said.ask == Do::Watch => {
                for (name, answer) in each {
                    take(answer, path.key(name), report);
                }
            }
            JobReads::Map(_) => {
                let instead =
                    if wanted == 1 { "one answer" } else { "a list with one answer for each point" };
                report.wrong(&path, "only lights are answered by name", reads.write().excerpt(), instead);
            }
            other => {
                let given = answers(other).len();
                let what = format!(
                    "{wanted} {} asked for and {given} answered",
                    if wanted == 1 { "is" } else { "are" }
                );
                let instead = format!(
                    "{wanted} {}, in the order of the question",
                    if wanted == 1 { "answer" } else { "answers" }
                );
                report.wrong(&path, what, other.write().excerpt(), instead);
            }
        }
        seen
    }

    /// Leads do not reach from box to box with the power on.
    fn apart(&self, said: &JobReading, conditions: &Conditions, path: &Path, report: &mut Report) {
        let dead = conditions.breakers.iter().all(|breaker| *breaker == Some(false));
        if dead || !matches!(said.ask, Do::Volts | Do::Load) {
            return;
        }
        let home = said.at.as_ref().and_then(|at| self.names.outlet(at).ok());
        let place = |text: &String| match self.names.point(text, home) {
            Ok(Point::At(local)) => Some(self.names.house.box_of(local)),
            _ => None,
        };
        let (far, key, found) = match (&said.between, &said.points, &said.to) {
            (Some(Pair(from, to)), ..) => {
                let far = place(from).zip(place(to)).is_some_and(|(from, to)| from != to);
                (far, "between", format!("{from}, {to}"))
            }
            (None, Some(points), Some(to)) => {
                let other = place(to);
                let far =
                    points.iter().find(|from| place(from).zip(other).is_some_and(|(from, to)| from != to));
                (far.is_some(), "points", far.map_or_else(String::new, |from| format!("{from}, {to}")))
            }
            _ => return,
        };
        if far {
            let what = "the two points are in different boxes, and no live lead goes from box to box";
            let instead = "earth for one of them, or do: ohms with breaker: off";
            report.wrong(&path.key(key), what, found, instead);
        }
    }

    fn warn(
        &self,
        said: &JobReading,
        with: Option<Instrument>,
        conditions: &Conditions,
        seen: &[Seen],
        path: &Path,
        report: &mut Report,
    ) {
        let unsaid = conditions::unsaid(conditions, self.names.house);
        if !unsaid.is_empty() {
            report.warn(path, format!("not said: {}; unknown and weighed over", unsaid.join(", ")));
        }
        if said.ask == Do::Volts && with.is_none() {
            report
                .warn(path, "not said: with which instrument; a ghost cannot be told from a live wire then");
        }
        let most = 2.5 * self.names.house.supply;
        let high = |seen: &&Seen| matches!(seen, Seen::Number { value, .. } if *value > most);
        if said.ask == Do::Volts
            && let Some(Seen::Number { value, .. }) = seen.iter().find(high)
        {
            report.warn(
                path,
                format!(
                    "{value} V is more than any two legs of this supply have: a slip of the decimal point?"
                ),
            );
        }
    }
}

/// The answers in order.
fn answers(reads: &JobReads) -> Vec<JobAnswer> {
    match reads {
        JobReads::One(answer) => vec![answer.clone()],
        JobReads::List(answers) => answers.clone(),
        JobReads::Map(each) => each.values().cloned().collect(),
    }
}
