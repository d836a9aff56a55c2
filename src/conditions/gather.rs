//! From a call and its verdict to the values that rules ask for.

use super::edition::Edition;
use super::facts::{Facts, Scope, Value};
use super::fill::{self, is_ground};
use super::find::Place;
use super::pack::Pack;
use super::ring;
use crate::call::job::Field;
use crate::call::{Ask, Call, InstrumentKind, Reading, Seen};
use crate::house::{BoxId, COLOURS, DeviceId, EndId, House, Joint, LocalPoint, Point, WireId};
use crate::verdict::{Landing, State, Verdict, WireFound};
use std::collections::{BTreeMap, BTreeSet};

/// What a contradiction leaves of whatever was inferred: less than likely.
const DOUBTED: f64 = 0.89;
/// What an item of the survey holds that the person was not sure of.
const UNSURE: f64 = 0.8;

/// Something a condition may be found at.
pub(super) struct Item {
    pub scope: Scope,
    pub place: Place,
    /// Its own fields and those of what it lies in.
    pub facts: Facts,
    /// Figures to be told with a finding that asked for the field.
    pub figures: BTreeMap<&'static str, String>,
}

struct Gather<'a> {
    pack: &'a Pack,
    call: &'a Call,
    house: &'a House,
    verdict: &'a Verdict,
    edition: Option<&'a Edition>,
    wires: BTreeMap<&'a str, &'a WireFound>,
    items: Vec<Item>,
}

/// Everything in the call with its fields, the house first, then box by box.
pub(super) fn gather(pack: &Pack, call: &Call, verdict: &Verdict, edition: Option<&Edition>) -> Vec<Item> {
    let wires = verdict.wires.iter().map(|wire| (wire.wire.as_str(), wire)).collect();
    let mut all = Gather { pack, call, house: &call.house, verdict, edition, wires, items: Vec::new() };
    let house = all.of_house();
    all.add(Scope::House, Place::House, house.clone(), BTreeMap::new());
    let mut boxes = BTreeMap::new();
    for id in call.house.box_ids() {
        let mut facts = house.clone();
        let figures = all.of_box(id, &mut facts);
        all.add(Scope::Box, Place::Box(id), facts.clone(), figures);
        all.inside(id, &facts);
        boxes.insert(call.house.outlet(id).name.as_str(), facts);
    }
    for defect in &verdict.defects {
        let place = defect.at.split('/').next().unwrap_or_default();
        let mut facts = boxes.get(place).unwrap_or(&house).clone();
        facts.insert("defect", all.inferred([(defect.what.clone(), defect.p)]));
        let place = Place::Defect { at: defect.at.clone(), detail: defect.detail.clone() };
        all.add(Scope::Defect, place, facts, BTreeMap::new());
    }
    all.items
}

impl Gather<'_> {
    fn add(&mut self, scope: Scope, place: Place, facts: Facts, figures: BTreeMap<&'static str, String>) {
        self.items.push(Item { scope, place, facts, figures });
    }

    /// A probability of something inferred: in a contradiction nothing inferred is likely.
    fn trust(&self, p: f64) -> f64 {
        if self.verdict.state == State::Contradiction { p.min(DOUBTED) } else { p }
    }

    fn inferred(&self, words: impl IntoIterator<Item = (String, f64)>) -> Value {
        Value::OneOf(words.into_iter().map(|(word, p)| (word, self.trust(p))).collect())
    }

    fn inferred_yes(&self, p: f64) -> Value {
        self.inferred([("yes".to_owned(), p), ("no".to_owned(), 1.0 - p)])
    }

    fn of_house(&self) -> Facts {
        let (house, verdict) = (self.house, self.verdict);
        let mut facts = Facts::new();
        facts.insert("region", Value::word(&house.region));
        facts.extend(house.built.map(|year| ("built", Value::number(f64::from(year)))));
        facts.insert("grounds", Value::word(&word(house.grounds)));
        facts.insert("state", Value::word(state(verdict.state)));
        if let Some(found) = &verdict.arrangement {
            facts.insert("scheme", self.inferred([(found.scheme.clone(), found.scheme_p)]));
        }
        facts.insert("circuits", self.circuits(verdict.wires.iter()));
        facts.insert("buried", self.inferred_yes(self.buried()));
        facts.insert("neutral-ring", self.inferred_yes(ring::closed(house, verdict)));
        facts.insert("complaint", Value::yes(if self.call.complaint { 1.0 } else { 0.0 }));
        facts.insert("observed", Value::words(house.boxes.iter().flat_map(|outlet| &outlet.seen)));
        facts.insert("watched", Value::words(self.watched()));
        let lamps = house.lights().map(|light| word(house.device(light).lamp));
        facts.insert("lamps", Value::words(lamps));
        facts
    }

    /// How many circuits these wires were found to belong to, as firm as the least firm of the circuits.
    fn circuits<'w>(&self, wires: impl Iterator<Item = &'w WireFound>) -> Value {
        let mut firmest: BTreeMap<&str, f64> = BTreeMap::new();
        for wire in wires {
            if let Some(circuit) = &wire.circuit {
                let p = firmest.entry(circuit).or_insert(0.0);
                *p = p.max(wire.p);
            }
        }
        // That one circuit is here is no sign of another, however little is settled.
        let p =
            if firmest.len() < 2 { 1.0 } else { self.trust(firmest.values().copied().fold(1.0, f64::min)) };
        Value::Number { value: firmest.len() as f64, p }
    }

    fn buried(&self) -> f64 {
        let verdict = self.verdict;
        let cables = verdict.cables.iter().filter(|cable| cable.ends.iter().any(|end| is_buried(end)));
        let feed = verdict.arrangement.iter().map(|found| &found.feed).filter(|feed| is_buried(&feed.at));
        cables.map(|cable| cable.p).chain(feed.map(|feed| feed.p)).fold(0.0, f64::max)
    }

    /// What lights were seen to do, by the technician or by the customer.
    fn watched(&self) -> BTreeSet<&'static str> {
        let watching = self.call.readings.iter().filter(|reading| matches!(reading.ask, Ask::Watch(_)));
        let seen = watching.flat_map(|reading| &reading.seen);
        seen.filter_map(|seen| match seen {
            Seen::Bin(bin) => ["lit", "dim", "glow", "dark"].get(usize::from(*bin)).copied(),
            Seen::Trips => Some("trips"),
            _ => None,
        })
        .collect()
    }

    fn of_box(&self, id: BoxId, facts: &mut Facts) -> BTreeMap<&'static str, String> {
        let outlet = self.house.outlet(id);
        let mut figures = BTreeMap::new();
        facts.insert("box-kind", Value::word(&word(outlet.kind)));
        facts.insert("opened", Value::yes(if outlet.opened { 1.0 } else { 0.0 }));
        facts.insert("seen", Value::words(&outlet.seen));
        let landing = self.verdict.landing.iter().find_map(|landing| match landing {
            Landing::Joints { at, .. } if *at == outlet.name => Some("planned"),
            Landing::Refused { at, .. } if *at == outlet.name => Some("refused"),
            _ => None,
        });
        facts.insert("landing", Value::word(landing.unwrap_or("none")));
        if let Some(volts) = self.metal_volts(id) {
            facts.insert("metal-volts", Value::number(volts));
            figures.insert("metal-volts", format!("{} V read from its metal", round(volts)));
        }
        if !outlet.opened {
            return figures;
        }
        let words = outlet.ends.iter().flat_map(|&end| &self.house.end(end).wires);
        facts.insert(
            "grounding",
            Value::yes(if words.clone().any(|word| is_ground(word)) { 1.0 } else { 0.0 }),
        );
        facts.insert("doubled", Value::number(outlet.doubled.len() as f64));
        facts.extend(self.bonded(id).map(|bonded| ("metal-bonded", bonded)));
        let sheaths = outlet.ends.iter().filter_map(|&end| self.house.end(end).sheath.map(word));
        facts.insert("sheaths", Value::words(sheaths));
        self.roles_in(id, facts);
        self.filled(id, facts, &mut figures);
        figures
    }

    fn roles_in(&self, id: BoxId, facts: &mut Facts) {
        let here: Vec<&WireFound> = self
            .wires_in(id)
            .filter_map(|wire| self.wires.get(self.house.wire_name(wire).as_str()).copied())
            .collect();
        if here.is_empty() {
            return;
        }
        let mut roles: BTreeMap<String, f64> = BTreeMap::new();
        for (word, p) in here.iter().flat_map(|wire| self.chances(wire)) {
            let most = roles.entry(word).or_insert(0.0);
            *most = most.max(p);
        }
        let neutral = roles.get("neutral").copied().unwrap_or(0.0);
        facts.insert("neutral", self.inferred_yes(neutral));
        facts.insert("roles", Value::Each(roles));
        facts.insert("circuits-here", self.circuits(here.into_iter()));
    }

    /// A wire's roles with what each holds.
    fn chances(&self, wire: &WireFound) -> BTreeMap<String, f64> {
        let mut chances: BTreeMap<String, f64> =
            wire.others.iter().map(|(role, p)| (role.word().to_owned(), self.trust(*p))).collect();
        chances.insert(wire.role.word().to_owned(), self.trust(wire.p));
        chances
    }

    fn filled(&self, id: BoxId, facts: &mut Facts, figures: &mut BTreeMap<&'static str, String>) {
        let rule = self.edition.and_then(|edition| fill::rule(self.pack, edition));
        let volume = self.house.outlet(id).volume;
        let range = rule.and_then(|rule| fill::of_box(self.house, id, rule));
        let (Some(volume), Some(range)) = (volume, range) else {
            facts.insert("fill", Value::word("untold"));
            return;
        };
        let (least, most) = (range.least.total(), range.most.total());
        // Between the two it is a toss-up: nobody looked.
        let over = if least > volume {
            1.0
        } else if most > volume {
            0.5
        } else {
            0.0
        };
        facts.insert(
            "fill",
            Value::OneOf([("over".to_owned(), over), ("within".to_owned(), 1.0 - over)].into()),
        );
        let counted =
            if least == most { round(least) } else { format!("{} to {}", round(least), round(most)) };
        figures.insert("fill", format!("needs {counted} cubic inches, has {}", round(volume)));
    }

    /// Whether the metal of a box is joined to a grounding conductor, as far as that was looked at.
    fn bonded(&self, id: BoxId) -> Option<Value> {
        let outlet = self.house.outlet(id);
        let with_metal = |joint: &&Joint| joint.points.contains(&LocalPoint::Metal(id));
        let ground = |point: &LocalPoint| match point {
            LocalPoint::Wire(wire) => is_ground(self.house.wire_word(*wire)),
            _ => false,
        };
        match outlet.joints.iter().find(with_metal) {
            Some(joint) if joint.points.iter().any(ground) => {
                Some(Value::yes(if joint.sure { 1.0 } else { UNSURE }))
            }
            Some(_) => Some(Value::yes(0.0)),
            None if outlet.complete && outlet.seen.iter().any(|seen| seen == "metal-box") => {
                Some(Value::yes(0.0))
            }
            None => None,
        }
    }

    /// The most volts read between a box's metal and earth with a tester that is not fooled by a floating wire.
    fn metal_volts(&self, id: BoxId) -> Option<f64> {
        let metal = Point::At(LocalPoint::Metal(id));
        let mut most: Option<f64> = None;
        for reading in self.call.readings.iter().filter(|reading| loads(reading)) {
            let Ask::Volts(pairs) = &reading.ask else { continue };
            for ((one, other), seen) in pairs.iter().zip(&reading.seen) {
                let asked =
                    (*one == metal && *other == Point::Earth) || (*one == Point::Earth && *other == metal);
                if let Some(volts) = volts(seen, self.house.supply).filter(|_| asked) {
                    most = Some(most.map_or(volts, |most| most.max(volts)));
                }
            }
        }
        most
    }

    fn wires_in(&self, id: BoxId) -> impl Iterator<Item = WireId> {
        self.house.wires().filter(move |wire| self.house.end(wire.end).at == id)
    }

    /// The cables, wires, joints and devices of a box.
    fn inside(&mut self, id: BoxId, of_box: &Facts) {
        let house = self.house;
        let outlet = house.outlet(id);
        for &end in &outlet.ends {
            let mut facts = of_box.clone();
            self.of_cable(end, &mut facts);
            self.add(Scope::Cable, Place::Cable(end), facts.clone(), BTreeMap::new());
            for wire in (0..house.end(end).wires.len() as u8).map(|wire| WireId { end, wire }) {
                let mut facts = facts.clone();
                self.of_wire(id, wire, &mut facts);
                self.add(Scope::Wire, Place::Wire(wire), facts, BTreeMap::new());
            }
        }
        for (n, joint) in outlet.joints.iter().enumerate() {
            let mut facts = of_box.clone();
            self.of_joint(joint, &mut facts);
            self.add(Scope::Joint, Place::Joint(id, n), facts, BTreeMap::new());
        }
        for &device in &outlet.devices {
            let mut facts = of_box.clone();
            self.of_device(device, &mut facts);
            self.add(Scope::Device, Place::Device(device), facts, BTreeMap::new());
        }
    }

    fn of_cable(&self, end: EndId, facts: &mut Facts) {
        let cable = self.house.end(end);
        let name = self.house.end_name(end);
        let sure = if cable.sure { 1.0 } else { UNSURE };
        let seen = |word: String| Value::OneOf([(word, sure)].into());
        facts.extend(cable.sheath.map(|covering| ("sheath", seen(word(covering)))));
        facts.extend(cable.gauge.map(|gauge| ("gauge", Value::Number { value: f64::from(gauge), p: sure })));
        facts.insert("metal", seen(word(cable.metal)));
        facts.insert("wires", Value::number(cable.wires.len() as f64));
        let far = self.verdict.cables.iter().find_map(|found| match &found.ends {
            [one, other] if *one == name => Some((other, found.p)),
            [other, one] if *one == name => Some((other, found.p)),
            _ => None,
        });
        facts.extend(far.map(|(far, p)| ("goes-to", self.inferred([(goes_to(far).to_owned(), p)]))));
        facts.extend(self.amps(end).map(|amps| ("amps", amps)));
        let clamped = self.call.readings.iter().filter(|reading| reading.ask == Ask::AmpsCable(end));
        let some = clamped.flat_map(|reading| &reading.seen).filter_map(some_current);
        if let Some(current) = some.reduce(|one, other| one || other) {
            facts.insert("net-current", Value::word(if current { "some" } else { "none" }));
        }
    }

    /// The rating that protects a cable: the one circuit's, or that of the circuit its wires were found to belong to.
    fn amps(&self, end: EndId) -> Option<Value> {
        if let [feed] = self.house.feeds.as_slice() {
            return feed.amps.map(Value::number);
        }
        let wires = (0..self.house.end(end).wires.len() as u8).map(|wire| WireId { end, wire });
        let found = wires.filter_map(|wire| self.wires.get(self.house.wire_name(wire).as_str()));
        let firmest =
            found.filter(|wire| wire.circuit.is_some()).max_by(|one, other| one.p.total_cmp(&other.p))?;
        let feed = self.house.feeds.iter().find(|feed| Some(&feed.name) == firmest.circuit.as_ref())?;
        feed.amps.map(|value| Value::Number { value, p: self.trust(firmest.p) })
    }

    fn of_wire(&self, id: BoxId, wire: WireId, facts: &mut Facts) {
        facts.insert("colour", Value::word(colour(self.house.wire_word(wire))));
        if let Some(found) = self.wires.get(self.house.wire_name(wire).as_str()) {
            facts.insert("role", Value::OneOf(self.chances(found)));
        }
        let joints = &self.house.outlet(id).joints;
        let joint = joints.iter().find(|joint| joint.points.contains(&LocalPoint::Wire(wire)));
        let screws = joint.into_iter().flat_map(|joint| &joint.points).filter_map(|point| match point {
            LocalPoint::Terminal(_, terminal) => Some(terminal.word().into_owned()),
            LocalPoint::Metal(_) => Some("metal".to_owned()),
            LocalPoint::Wire(_) => None,
        });
        facts.insert("lands-on", Value::words(screws));
    }

    fn of_joint(&self, joint: &Joint, facts: &mut Facts) {
        let wires: Vec<WireId> = joint
            .points
            .iter()
            .filter_map(|point| if let LocalPoint::Wire(wire) = point { Some(*wire) } else { None })
            .collect();
        let others = joint.points.len() - wires.len();
        let colours = wires.iter().map(|&wire| colour(self.house.wire_word(wire)));
        facts.insert("joint-colours", Value::words(colours));
        facts.insert("joint-wires", Value::number(wires.len() as f64));
        facts.insert("screws", Value::number(others as f64));
        let found: Option<Vec<BTreeMap<String, f64>>> = wires
            .iter()
            .map(|&wire| self.wires.get(self.house.wire_name(wire).as_str()).map(|found| self.chances(found)))
            .collect();
        let Some(all) = found.filter(|found| !found.is_empty()) else { return };
        // What all wires of a joint are for is one thing: as firm as the least firm of them.
        let words: BTreeSet<&String> = all.iter().flat_map(BTreeMap::keys).collect();
        let least =
            |word: &String| all.iter().map(|one| one.get(word).copied().unwrap_or(0.0)).fold(1.0, f64::min);
        facts.insert(
            "joint-role",
            Value::OneOf(words.into_iter().map(|word| (word.clone(), least(word))).collect()),
        );
    }

    fn of_device(&self, id: DeviceId, facts: &mut Facts) {
        let device = self.house.device(id);
        let sure = if device.sure { 1.0 } else { UNSURE };
        facts.insert("device-kind", Value::OneOf([(word(device.kind), sure)].into()));
        if device.kind.is_light() {
            facts.insert("lamp", Value::word(&word(device.lamp)));
        }
    }
}

/// Whether the tester of a reading loads what it touches, so that a ghost does not move it.
fn loads(reading: &Reading) -> bool {
    reading
        .with
        .is_some_and(|with| !matches!(with.kind, InstrumentKind::HighImpedance | InstrumentKind::NonContact))
}

fn volts(seen: &Seen, supply: f64) -> Option<f64> {
    match seen {
        Seen::Number { value, .. } => Some(*value),
        Seen::Bin(0 | 1) => Some(0.0),
        Seen::Bin(2) => Some(supply / 2.0),
        Seen::Bin(_) => Some(supply),
        _ => None,
    }
}

/// Whether a clamp showed current; less than a tenth of an ampere is a clamp's own noise.
fn some_current(seen: &Seen) -> Option<bool> {
    match seen {
        Seen::Number { value, .. } => Some(*value >= 0.1),
        Seen::Bin(bin) => Some(*bin > 0),
        _ => None,
    }
}

fn is_buried(end: &str) -> bool {
    end.strip_prefix("buried-").is_some_and(|n| !n.is_empty() && n.bytes().all(|byte| byte.is_ascii_digit()))
}

fn goes_to(far: &str) -> &'static str {
    match far {
        "panel" => "panel",
        "onward" => "onward",
        buried if is_buried(buried) => "buried",
        _ => "box",
    }
}

/// A colour without its number; what is none of the words is `another`.
fn colour(word: &str) -> &'static str {
    let base = word.trim_end_matches(|letter: char| letter.is_ascii_digit());
    let other = if base == "w" { "untold" } else { "another" };
    COLOURS.into_iter().find(|known| *known == base).unwrap_or(other)
}

/// A figure as it is written on a box: as many places as it takes, two at most.
fn round(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The word of the job file for a value.
fn word<T: Field>(value: T) -> String {
    value.write().word().map(std::borrow::Cow::into_owned).unwrap_or_default()
}

fn state(state: State) -> &'static str {
    match state {
        State::Open => "open",
        State::Settled => "settled",
        State::Exhausted => "exhausted",
        State::Contradiction => "contradiction",
    }
}
