//! Readings: the question, the instrument, the conditions, the answers.

use super::Report;
use super::conditions::{self, Labels};
use super::header::instrument;
use super::names::{Around, Names};
use super::reads;
use crate::call::job::{Do, Field, Job, JobAnswer, JobReading, JobReads, Pair, Path, any_of, items};
use crate::call::{Ask, Conditions, Instrument, InstrumentKind, Reading, Seen};
use crate::house::{BoxId, DeviceId, Point};
use std::collections::BTreeMap;

/// What the readings are checked against.
struct Bench<'a> {
    names: &'a Names<'a>,
    owned: &'a [Instrument],
    labels: Labels,
}

/// All readings of a job.
pub fn all(job: &Job, names: &Names, owned: &[Instrument], report: &mut Report) -> Vec<Reading> {
    let mut bench = Bench { names, owned, labels: Labels::default() };
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

/// Skipped suggestions: the same questions, without an answer. Kept as data.
pub fn skipped(job: &Job, names: &Names, owned: &[Instrument], report: &mut Report) {
    let mut bench = Bench { names, owned, labels: Labels::default() };
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
        let home = bench.home(said, &path, report);
        if said.at.is_some() && home.is_none() {
            continue;
        }
        if said.ask == Do::Open {
            if said.at.is_none() {
                report.wrong(&path, "it is not said which box was not opened", "open", "at: and the box");
            }
            continue;
        }
        bench.instrument(said, &[], &path, report);
        bench.ask(said, home, &path, report);
        let conditions = conditions::conditions(said, home, &path, names, &mut bench.labels, report);
        bench.apart(said, &conditions, &path, report);
    }
}

impl Bench<'_> {
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
        let ask = self.ask(said, home, path, report);
        let conditions = conditions::conditions(said, home, path, self.names, &mut self.labels, report);
        self.apart(said, &conditions, path, report);
        let ask = ask?;
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

    /// The question; fields that belong to another one are reported.
    fn ask(&self, said: &JobReading, home: Option<BoxId>, path: &Path, report: &mut Report) -> Option<Ask> {
        let fields = [
            ("between", said.between.is_some()),
            ("points", said.points.is_some()),
            ("to", said.to.is_some()),
            ("around", said.around.is_some()),
            ("light", said.light.is_some()),
            ("lights", said.lights.is_some()),
        ];
        let own: &[&str] = match said.ask {
            Do::Volts | Do::Ohms | Do::Load => &["between", "points", "to"],
            Do::Amps => &["around"],
            Do::Watch => &["light", "lights"],
            Do::Open => &[],
        };
        for (key, _) in fields.iter().filter(|(key, given)| *given && !own.contains(key)) {
            let what = format!("{key} does not belong to the question {}", said.ask.word());
            report.wrong_key(&path.key(key), what, *key, format!("{} instead", any_of(own)));
        }
        match said.ask {
            Do::Volts => self.pairs(said, home, path, report).map(Ask::Volts),
            Do::Ohms => self.pairs(said, home, path, report).map(Ask::Ohms),
            Do::Load => self.pairs(said, home, path, report).map(Ask::Load),
            Do::Amps => self.around(said, home, path, report),
            Do::Watch => self.watched(said, path, report).map(Ask::Watch),
            Do::Open => None,
        }
    }

    fn around(
        &self,
        said: &JobReading,
        home: Option<BoxId>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Ask> {
        let Some(text) = &said.around else {
            let what = "it is not said what the clamp is round";
            report.wrong(path, what, "amps", "around: and a cable's tag or a wire");
            return None;
        };
        let around = report.found(self.names.around(text, home), &path.key("around"), text)?;
        Some(match around {
            Around::Cable(end) => Ask::AmpsCable(end),
            Around::Wire(wire) => Ask::AmpsWire(wire),
        })
    }

    /// The pairs of points: `between`, or each of `points` to `to`.
    fn pairs(
        &self,
        said: &JobReading,
        home: Option<BoxId>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Vec<(Point, Point)>> {
        let point = |text: &str, path: Path, report: &mut Report| {
            report.found(self.names.point(text, home), &path, text)
        };
        match (&said.between, &said.points) {
            (Some(Pair(from, to)), None) => {
                if said.to.is_some() {
                    let what = "to belongs to points, and the two points are given by between";
                    report.wrong_key(&path.key("to"), what, "to", "between: [POINT, POINT] alone");
                }
                let key = path.key("between");
                let first = point(from, key.index(0), report);
                let second = point(to, key.index(1), report);
                let (first, second) = (first?, second?);
                self.two(first, second, &key.index(1), to, report).then(|| vec![(first, second)])
            }
            (None, Some(texts)) => {
                let contactless = said.with.is_some_and(|with| with.kind == InstrumentKind::NonContact);
                let to = match &said.to {
                    Some(text) => point(text, path.key("to"), report)?,
                    // The hand that holds it is its other lead.
                    None if contactless => Point::Earth,
                    None => {
                        let what = "it is not said what the points are measured to";
                        report.wrong(path, what, "points", "to: earth, or to: and a point");
                        return None;
                    }
                };
                if texts.is_empty() {
                    report.wrong(&path.key("points"), "no points are given", "[]", "at least one point");
                    return None;
                }
                let key = path.key("points");
                let mut pairs = Vec::new();
                for (k, text) in texts.iter().enumerate() {
                    let Some(from) = point(text, key.index(k), report) else { continue };
                    if self.two(from, to, &key.index(k), text, report) {
                        pairs.push((from, to));
                    }
                }
                (pairs.len() == texts.len()).then_some(pairs)
            }
            (given, _) => {
                let word = said.ask.word();
                let (what, found) = match given {
                    Some(_) => ("both between and points are given", "between, points"),
                    None => ("it is not said between which points", word),
                };
                report.wrong(
                    path,
                    what,
                    found,
                    "between: [POINT, POINT], or points: [POINT, POINT] with to: POINT",
                );
                None
            }
        }
    }

    fn two(&self, from: Point, to: Point, path: &Path, text: &str, report: &mut Report) -> bool {
        if from == to {
            report.wrong(path, "both leads are on the same point", text, "two different points");
        }
        from != to
    }

    /// The lights that are watched, in the order of the answers.
    fn watched(&self, said: &JobReading, path: &Path, report: &mut Report) -> Option<Vec<DeviceId>> {
        let names = self.names;
        if let Some(JobReads::Map(each)) = &said.reads {
            return self.watched_each(said, each, path, report);
        }
        let mut lights = Vec::new();
        match (&said.light, &said.lights) {
            (Some(text), None) => lights.push(report.found(names.light(text), &path.key("light"), text)?),
            (None, Some(texts)) if !texts.is_empty() => {
                for (k, text) in texts.iter().enumerate() {
                    let path = path.key("lights").index(k);
                    let light = report.found(names.light(text), &path, text)?;
                    if lights.contains(&light) {
                        report.wrong(&path, "the light is named twice", text.as_str(), "it once");
                        return None;
                    }
                    lights.push(light);
                }
            }
            (Some(_), Some(_)) => {
                report.wrong(path, "both light and lights are given", "light, lights", "one of them");
                return None;
            }
            _ => {
                let mut all = names.house.lights();
                match (all.next(), all.next()) {
                    (Some(only), None) => lights.push(only),
                    _ => {
                        let known: Vec<String> =
                            names.house.lights().map(|light| names.house.device_name(light)).collect();
                        let what = "it is not said which light was watched";
                        let instead = match known.as_slice() {
                            [] => "the light among the devices of its box, then light: BOX".to_owned(),
                            known => format!("light: {}", any_of(known)),
                        };
                        report.wrong(path, what, "watch", instead);
                        return None;
                    }
                }
            }
        }
        Some(lights)
    }

    /// Several lights by name, each with its answer; `lights` may name them too, and must then name the same.
    fn watched_each(
        &self,
        said: &JobReading,
        each: &BTreeMap<String, JobAnswer>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Vec<DeviceId>> {
        let key = path.key("reads");
        let mut lights: Vec<DeviceId> = Vec::new();
        for name in each.keys() {
            let light = report.found_key(self.names.light(name), &key.key(name), name)?;
            if lights.contains(&light) {
                report.wrong_key(&key.key(name), "the light is named twice", name.as_str(), "it once");
                return None;
            }
            lights.push(light);
        }
        if lights.is_empty() {
            report.wrong(&key, "no light is answered for", "{}", "{LIGHT: lit}");
            return None;
        }
        let named: Vec<&String> = said.light.iter().chain(items(&said.lights)).collect();
        let mut asked = Vec::new();
        for name in &named {
            asked.push(report.found(self.names.light(name), path, name)?);
        }
        if !asked.is_empty()
            && (asked.len() != lights.len() || !asked.iter().all(|light| lights.contains(light)))
        {
            let found = any_of(each.keys());
            report.wrong(
                &key,
                "the answers are for other lights than were watched",
                found,
                "one answer for each light that was watched",
            );
            return None;
        }
        Some(lights)
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
