//! Whether what a pack says can be so: names that are there, figures that are shares or factors, nets that join.

use super::{Attachment, Defects, EarthedMetal, Habits, Instruments, Pole, Scheme, Slot, SlotPoint};
use crate::call::job::{Field, Path, Problem, any_of, likely};
use crate::house::{COLOURS, DeviceKind, Role, Terminal};
use crate::knowledge::DefectName;

/// What the places of a chain may not be called, because nets call something else so.
const TAKEN: [&str; 4] = ["feed", "other-feed", "light", "self"];

/// More places are not tried in every order.
const MOST_PLACES: usize = 6;

/// The problems of one file, as they are found.
#[derive(Default)]
struct Report(Vec<Problem>);

impl Report {
    fn wrong(
        &mut self,
        path: Path,
        what: impl Into<String>,
        found: impl Into<String>,
        instead: impl Into<String>,
    ) {
        self.0.push(Problem::new(path, what, found, instead));
    }

    /// A figure that must lie in a range.
    fn figure(&mut self, path: Path, value: f64, fits: bool, instead: &str) {
        if !(value.is_finite() && fits) {
            self.wrong(path, "the figure cannot be so", value.to_string(), instead);
        }
    }

    fn weight(&mut self, value: f64) {
        let instead = "a number above 0: 0.9 is what most houses have, 0.03 what few have";
        self.figure(Path::top().key("weight"), value, value > 0.0, instead);
    }

    fn words(&mut self, words: &[(&str, &str)]) {
        for (key, text) in words.iter().filter(|(_, text)| text.trim().is_empty()) {
            self.wrong(Path::top().key(key), "nothing is said", *text, "a few plain words");
        }
    }

    /// A place that a net names and that is not there.
    fn nowhere<'a>(
        &mut self,
        path: Path,
        point: &SlotPoint,
        place: &str,
        known: impl Iterator<Item = &'a str>,
    ) {
        let known: Vec<&str> = known.collect();
        let near = likely(place, known.iter().copied()).map(str::to_owned);
        let instead = near.unwrap_or_else(|| any_of(&known));
        self.wrong(path, "no place is called so", point.word(), format!("{instead} before the dot"));
    }
}

/// A word as files have it.
fn written(word: &impl Field) -> String {
    word.write().word().map_or_else(String::new, |word| word.into_owned())
}

fn listed(kinds: &[DeviceKind]) -> String {
    let words: Vec<String> = kinds.iter().map(written).collect();
    format!("[{}]", words.join(", "))
}

/// Kinds of which the screws are known.
fn plain(kinds: &[DeviceKind]) -> impl Iterator<Item = DeviceKind> + '_ {
    kinds.iter().copied().filter(|kind| *kind != DeviceKind::Switch)
}

/// The terminals that all of some kinds have, as words.
fn shared(kinds: &[DeviceKind]) -> Vec<Terminal> {
    let mut kinds = plain(kinds);
    let first = kinds.next().map_or(&[][..], DeviceKind::terminals);
    let rest: Vec<DeviceKind> = kinds.collect();
    first
        .iter()
        .copied()
        .filter(|terminal| rest.iter().all(|kind| kind.terminals().contains(terminal)))
        .collect()
}

fn screws(terminals: &[Terminal]) -> String {
    any_of(terminals.iter().map(|terminal| terminal.word()))
}

impl SlotPoint {
    /// As packs write it.
    pub fn word(&self) -> String {
        match self {
            SlotPoint::Feed(pole) => pole.word().to_owned(),
            SlotPoint::Switch(place, terminal) => format!("{place}.{}", terminal.word()),
            SlotPoint::Light(terminal) => format!("light.{}", terminal.word()),
            SlotPoint::Own(terminal) => format!("self.{}", terminal.word()),
        }
    }
}

impl Slot {
    /// Whether switches and nothing else can fill it, and the screws of one at least are known.
    fn is_of_switches(&self) -> bool {
        plain(&self.kinds).next().is_some() && self.kinds.iter().all(|kind| kind.is_switch())
    }
}

impl Scheme {
    /// What cannot be so in it, before it is tried on devices.
    pub fn problems(&self) -> Vec<Problem> {
        let mut report = Report::default();
        report.words(&[("scheme", &self.scheme), ("title", &self.title), ("sentence", &self.sentence)]);
        report.weight(self.weight);
        self.check_slots(&mut report);
        self.check_hops(&mut report);
        self.check_nets(&mut report);
        report.0
    }

    fn check_slots(&self, report: &mut Report) {
        let top = Path::top().key("switches");
        if self.switches.is_empty() {
            report.wrong(top.clone(), "the chain has no switch", "[]", "one place at least");
        }
        if self.switches.len() > MOST_PLACES {
            let found = self.switches.len().to_string();
            let instead =
                format!("{MOST_PLACES} places at most, one of them with repeat: true where it takes more");
            report.wrong(top.clone(), "the chain has too many places", found, instead);
        }
        for (at, slot) in self.switches.iter().enumerate() {
            let path = top.index(at);
            let before = || self.switches[..at].iter();
            if slot.name.is_empty() || TAKEN.contains(&slot.name.as_str()) || slot.name.contains(['.', '/']) {
                let what = "nets could not call it so";
                report.wrong(path.key("as"), what, &slot.name, "a word of its own, as first");
            } else if before().any(|other| other.name == slot.name) {
                report.wrong(path.key("as"), "two places are called so", &slot.name, "another word");
            }
            if slot.repeat && before().any(|other| other.repeat) {
                let what = "a second place of any number: nobody could tell where the first ends";
                report.wrong(path.key("repeat"), what, "true", "repeat: true on one place only");
            }
            if !slot.is_of_switches() {
                let found = listed(&slot.kinds);
                let instead =
                    "kinds of switches, as [three-way, switch]; switch is one whose kind was not seen";
                report.wrong(path.key("kinds"), "no switch of a known kind can stand there", found, instead);
                continue;
            }
            for (key, list) in [("in", &slot.inward), ("out", &slot.outward)] {
                let known = shared(&slot.kinds);
                for terminal in list.iter().filter(|terminal| !known.contains(terminal)) {
                    let what = "not every kind there has that screw";
                    report.wrong(path.key(key), what, terminal.word(), screws(&known));
                }
            }
        }
    }

    /// What is tied from neighbour to neighbour has as many ends as it has beginnings.
    fn check_hops(&self, report: &mut Report) {
        let top = Path::top().key("switches");
        let ends = |slot: &Slot| [slot.inward.len(), slot.outward.len()];
        if let (Some(first), Some(last)) = (self.switches.first(), self.switches.last()) {
            let last_at = self.switches.len() - 1;
            for (at, key, list) in [(0, "in", &first.inward), (last_at, "out", &last.outward)] {
                if let (Some(terminal), false) = (list.first(), self.switches[at].repeat) {
                    let what = "there is no neighbour on that side";
                    report.wrong(top.index(at).key(key), what, terminal.word(), format!("no {key} here"));
                }
            }
        }
        for (at, pair) in self.switches.windows(2).enumerate() {
            let (out, inward) = (ends(&pair[0])[1], ends(&pair[1])[0]);
            if out != inward {
                let found = format!("{out} out of {}, {inward} in to {}", pair[0].name, pair[1].name);
                let instead = "as many screws under in as the place before has under out";
                report.wrong(
                    top.index(at + 1),
                    "the screws of neighbours cannot be tied in pairs",
                    found,
                    instead,
                );
            }
        }
        for (at, slot) in self.switches.iter().enumerate().filter(|(_, slot)| slot.repeat) {
            let [inward, out] = ends(slot);
            if inward != out {
                let found = format!("{inward} in, {out} out");
                let what = "one after another they cannot be tied in pairs";
                report.wrong(top.index(at), what, found, "as many screws under out as under in");
            }
        }
    }

    fn check_nets(&self, report: &mut Report) {
        let hops = self.switches.iter().flat_map(|slot| {
            slot.inward
                .iter()
                .chain(&slot.outward)
                .map(|terminal| SlotPoint::Switch(slot.name.clone(), *terminal))
        });
        let hops: Vec<SlotPoint> = hops.collect();
        nets(report, &self.nets, &hops, |report, path, point| match point {
            SlotPoint::Own(_) => {
                let what = "a scheme attaches nothing";
                report.wrong(path, what, point.word(), "a place of the chain, feed or light");
            }
            SlotPoint::Switch(place, terminal) => match self.switches.iter().find(|slot| slot.name == *place)
            {
                // Where no kind can stand there, that is said already.
                Some(slot) if shared(&slot.kinds).contains(terminal) || !slot.is_of_switches() => {}
                Some(slot) => {
                    let what = "not every kind there has that screw";
                    report.wrong(path, what, point.word(), screws(&shared(&slot.kinds)));
                }
                None => {
                    let names = self.switches.iter().map(|slot| slot.name.as_str());
                    report.nowhere(path, point, place, names.chain(["feed", "other-feed", "light"]));
                }
            },
            SlotPoint::Light(_) | SlotPoint::Feed(_) => {}
        });
        let has = |point: &SlotPoint| self.nets.iter().flatten().any(|other| other == point);
        let path = || Path::top().key("nets");
        for terminal in [Terminal::Center, Terminal::Shell].map(SlotPoint::Light) {
            if !has(&terminal) {
                let word = terminal.word();
                report.wrong(
                    path(),
                    "the light hangs in the air",
                    format!("no {word}"),
                    format!("{word} in a net"),
                );
            }
        }
        let fed = |line, neutral| has(&SlotPoint::Feed(line)) || has(&SlotPoint::Feed(neutral));
        if !fed(Pole::Line, Pole::OtherLine) || !fed(Pole::Neutral, Pole::OtherNeutral) {
            let instead = "a net with feed.line and one with feed.neutral";
            report.wrong(path(), "nothing can flow", "no line, or no neutral", instead);
        }
    }
}

/// Checks nets of a scheme or an attachment: what any net must be, and each point by itself. `hops` are points that are
/// joined elsewhere.
fn nets(
    report: &mut Report,
    nets: &[Vec<SlotPoint>],
    hops: &[SlotPoint],
    mut each: impl FnMut(&mut Report, Path, &SlotPoint),
) {
    let mut known: Vec<&SlotPoint> = hops.iter().collect();
    for (at, net) in nets.iter().enumerate() {
        let path = Path::top().key("nets").index(at);
        if net.len() < 2 {
            let found = net.first().map_or("[]".to_owned(), SlotPoint::word);
            report.wrong(
                path.clone(),
                "one point by itself is joined to nothing",
                found,
                "two points or more",
            );
        }
        let poles: Vec<String> =
            net.iter().filter(|point| matches!(point, SlotPoint::Feed(_))).map(SlotPoint::word).collect();
        if poles.len() > 1 {
            let what = "two poles of the feed in one net: that is no net but a short, or two circuits joined";
            report.wrong(path.clone(), what, poles.join(", "), "one of them a net");
        }
        for (nth, point) in net.iter().enumerate() {
            let path = path.index(nth);
            if known.contains(&point) {
                let what = "the point is joined twice";
                report.wrong(path.clone(), what, point.word(), "one net with all that it is joined to");
            }
            if let SlotPoint::Light(terminal) = point
                && !matches!(terminal, Terminal::Center | Terminal::Shell)
            {
                report.wrong(
                    path.clone(),
                    "a light has no such screw",
                    point.word(),
                    "light.center or light.shell",
                );
            }
            each(report, path, point);
        }
        known.extend(net);
    }
}

impl Attachment {
    /// What cannot be so in it.
    pub fn problems(&self) -> Vec<Problem> {
        let mut report = Report::default();
        report.words(&[
            ("attachment", &self.attachment),
            ("title", &self.title),
            ("sentence", &self.sentence),
        ]);
        report.weight(self.weight);
        let known = shared(&self.kinds);
        if known.is_empty() || self.kinds.iter().any(|kind| kind.is_switch()) {
            let found = listed(&self.kinds);
            let instead = "kinds that have the same screws, as [receptacle] or [light, pull-chain]";
            report.wrong(Path::top().key("kinds"), "nothing of that kind can hang there", found, instead);
        }
        nets(&mut report, &self.nets, &[], |report, path, point| match point {
            SlotPoint::Own(terminal) if !known.contains(terminal) => {
                let own: Vec<String> =
                    known.iter().map(|terminal| format!("self.{}", terminal.word())).collect();
                report.wrong(path, "not every kind has that screw", point.word(), any_of(&own));
            }
            SlotPoint::Switch(place, _) => {
                report.nowhere(path, point, place, ["feed", "light", "self"].into_iter());
            }
            SlotPoint::Own(_) | SlotPoint::Light(_) | SlotPoint::Feed(_) => {}
        });
        for (at, net) in self.nets.iter().enumerate() {
            let own = net.iter().filter(|point| matches!(point, SlotPoint::Own(_))).count();
            if own + 1 != net.len() {
                let found: Vec<String> = net.iter().map(SlotPoint::word).collect();
                let instead = "screws of self and one point that they are joined to, as feed.line";
                let path = Path::top().key("nets").index(at);
                report.wrong(path, "a net joins the device to one thing", found.join(", "), instead);
            }
        }
        report.0
    }
}

impl Habits {
    /// What cannot be so in them.
    pub fn problems(&self) -> Vec<Problem> {
        let mut report = Report::default();
        let prior = &self.prior;
        let shares = [
            ("buried", prior.buried),
            ("onward", prior.onward),
            ("other-circuit", prior.other_circuit),
            ("unnamed-circuit", prior.unnamed_circuit),
            ("something-else", prior.something_else),
        ];
        for (key, value) in shares {
            let fits = (0.0..1.0).contains(&value);
            report.figure(Path::top().key("prior").key(key), value, fits, "a share: 0 or more and below 1");
        }
        let EarthedMetal { armored, conduit, other } = self.earthed_metal;
        for (key, value) in [("armored", armored), ("conduit", conduit), ("other", other)] {
            let fits = value > 0.0 && value < 1.0;
            let path = Path::top().key("earthed-metal").key(key);
            report.figure(path, value, fits, "a share: above 0 and below 1");
        }
        for (key, value) in self.run.factors() {
            report.figure(Path::top().key("run").key(key), value, value > 0.0, FACTOR);
        }
        for (colour, habit) in &self.colours {
            let path = Path::top().key("colours").key(colour);
            // A colour may be any word; one that is nearly a usual one would be a habit of no wire.
            if let (false, Some(near)) = (COLOURS.contains(&colour.as_str()), likely(colour, COLOURS)) {
                report.0.push(Problem::new(path.clone(), "no colour is called so", colour, near).at_key(0));
            }
            for (key, table) in
                [("with-neutral", &habit.with_neutral), ("without-neutral", &habit.without_neutral)]
            {
                for (role, factor) in table {
                    let path = path.key(key).key(role);
                    report.figure(path.clone(), *factor, *factor > 0.0, FACTOR);
                    let roles = || Role::ALL.map(Role::word);
                    if !roles().contains(&role.as_str()) {
                        let instead = likely(role, roles()).map_or_else(|| any_of(roles()), str::to_owned);
                        report.wrong(path, "no role is called so", role, instead);
                    }
                }
            }
        }
        report.0
    }
}

/// What a factor of a habit may be.
const FACTOR: &str = "a factor above 0: a habit makes unlikely and forbids nothing";

impl Instruments {
    /// What cannot be so in them.
    pub fn problems(&self) -> Vec<Problem> {
        let mut report = Report::default();
        let top = Path::top().key("errors");
        for source in SOURCES {
            if !self.errors.contains_key(source) {
                report.wrong(
                    top.clone(),
                    "somebody is left out",
                    "nothing",
                    format!("{source}: {{transient: 0.01, persistent: 0.01}}"),
                );
            }
        }
        for (source, rates) in &self.errors {
            let path = top.key(source);
            if !SOURCES.contains(&source.as_str()) {
                report.wrong(path.clone(), "nobody is called so", source, any_of(SOURCES));
            }
            for (key, value) in [("transient", rates.transient), ("persistent", rates.persistent)] {
                let fits = value > 0.0 && value < 0.5;
                report.figure(
                    path.key(key),
                    value,
                    fits,
                    "a share above 0, because anybody errs, and below a half",
                );
            }
        }
        for (kind, facts) in &self.instruments {
            let path = Path::top().key("instruments").key(&written(kind));
            let figures = [
                ("ohms", facts.ohms),
                ("picofarads", facts.picofarads),
                ("watts", facts.watts),
                ("resolves", facts.resolves),
            ];
            for (key, value) in figures {
                if let Some(value) = value {
                    report.figure(path.key(key), value, value > 0.0, "a number above 0, or leave it out");
                }
            }
        }
        report.0
    }
}

/// Who reads a tester.
const SOURCES: [&str; 2] = ["technician", "customer"];

impl Defects {
    /// What cannot be so in them.
    pub fn problems(&self) -> Vec<Problem> {
        let mut report = Report::default();
        for (key, value) in [("prior", self.prior), ("on-complaint", self.on_complaint)] {
            report.figure(
                Path::top().key(key),
                value,
                value > 0.0 && value < 1.0,
                "a share above 0 and below 1",
            );
        }
        let top = Path::top().key("defects");
        for name in DefectName::ALL {
            let Some(facts) = self.defects.get(&name) else {
                report.wrong(
                    top.clone(),
                    "a defect is left out",
                    "nothing",
                    format!("{}: with weight and sentence", name.word()),
                );
                continue;
            };
            let path = top.key(name.word());
            report.figure(
                path.key("weight"),
                facts.weight,
                facts.weight > 0.0,
                "a number above 0, beside the others",
            );
            if facts.sentence.trim().is_empty() {
                report.wrong(path.key("sentence"), "nothing is said", "", "one plain sentence");
            }
        }
        report.0
    }
}
