//! The question of a reading: which points, which cable, which lights.

use super::Report;
use super::names::{Around, Names};
use crate::call::job::{Do, JobAnswer, JobReading, JobReads, Pair, Path, any_of, items};
use crate::call::{Ask, InstrumentKind};
use crate::house::{BoxId, DeviceId, Point};
use std::collections::BTreeMap;

/// Reads questions against the names of a house.
pub struct Asks<'a> {
    /// The names.
    pub names: &'a Names<'a>,
}

impl Asks<'_> {
    /// The question; fields that belong to another one are reported.
    pub fn ask(
        &self,
        said: &JobReading,
        home: Option<BoxId>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Ask> {
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
        let (what, found) = match (&said.between, &said.points) {
            (Some(pair), None) => return self.between(said, pair, home, path, report),
            (None, Some(texts)) => return self.each(said, texts, home, path, report),
            (Some(_), Some(_)) => ("both between and points are given", "between, points"),
            (None, None) => ("it is not said between which points", said.ask.word()),
        };
        report.wrong(path, what, found, "between: [POINT, POINT], or points: [POINT, POINT] with to: POINT");
        None
    }

    fn between(
        &self,
        said: &JobReading,
        Pair(from, to): &Pair,
        home: Option<BoxId>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Vec<(Point, Point)>> {
        if said.to.is_some() {
            let what = "to belongs to points, and the two points are given by between";
            report.wrong_key(&path.key("to"), what, "to", "between: [POINT, POINT] alone");
        }
        let key = path.key("between");
        let first = report.found(self.names.point(from, home), &key.index(0), from);
        let second = report.found(self.names.point(to, home), &key.index(1), to);
        let (first, second) = (first?, second?);
        self.two(first, second, &key.index(1), to, report).then(|| vec![(first, second)])
    }

    fn each(
        &self,
        said: &JobReading,
        texts: &[String],
        home: Option<BoxId>,
        path: &Path,
        report: &mut Report,
    ) -> Option<Vec<(Point, Point)>> {
        let contactless = said.with.is_some_and(|with| with.kind == InstrumentKind::NonContact);
        let to = match &said.to {
            Some(text) => report.found(self.names.point(text, home), &path.key("to"), text)?,
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
            let Some(from) = report.found(self.names.point(text, home), &key.index(k), text) else {
                continue;
            };
            if pairs.contains(&(from, to)) {
                report.wrong(&key.index(k), "the point is given twice", text.as_str(), "it once");
            } else if self.two(from, to, &key.index(k), text, report) {
                pairs.push((from, to));
            }
        }
        (pairs.len() == texts.len()).then_some(pairs)
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
}
