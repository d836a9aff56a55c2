//! A scheme on plain devices: one of each place of its chain, one light, and between their screws nothing but the scheme's
//! own nets. Thrown through every position, the prediction says what the light does, what trips, and what at the light is
//! live while it is dark.

use crate::call::check::check;
use crate::call::job::{Job, JobBox, JobCable, JobDevice, JobFeed, JobHouse, JobJoint, Path, Problem};
use crate::call::{Ask, Instrument, InstrumentKind, LampState};
use crate::house::{BoxKind, DeviceId, DeviceKind, House, LampKind, LocalPoint, Point, Terminal};
use crate::knowledge::{Knowledge, Pole, Scheme, Slot, SlotPoint};
use crate::predict::{self, Scene, Setup, Tester};
use crate::wiring::{self, Facts, Netlist, Walls};

/// Chains are tried up to this length, where a place may be filled any number of times.
const LONGEST: usize = 4;

/// What the light does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shown {
    /// It burns.
    Lit,
    /// It gets some of the supply.
    Dim,
    /// It does not burn.
    Dark,
    /// Line meets neutral, or the other leg: the breaker opens.
    Trips,
}

/// One position of all switches.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Throw {
    /// What the light does.
    pub shown: Shown,
    /// Which contacts of the light are live to earth, its lamp in and the supply on.
    pub live: Vec<Terminal>,
}

/// How a switch has a say.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Control {
    /// It changes nothing, however the others stand.
    Never,
    /// It changes what the light does for some positions of the others.
    Sometimes,
    /// Each time.
    Always,
}

/// What a scheme does with so many switches of these kinds.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Proof {
    /// The chain: each switch by the place it is in, and its kind.
    pub chain: Vec<(String, DeviceKind)>,
    /// Two circuits come in, on opposite legs of the service.
    pub opposite: bool,
    /// Each position: bit `i` of its place says how switch `i` is thrown inside.
    pub throws: Vec<Throw>,
}

impl Proof {
    /// What a switch has to say.
    pub fn control(&self, switch: usize) -> Control {
        let changes = |at: usize| self.throws[at].shown != self.throws[at ^ 1 << switch].shown;
        match (0..self.throws.len()).filter(|&at| changes(at)).count() {
            0 => Control::Never,
            all if all == self.throws.len() => Control::Always,
            _ => Control::Sometimes,
        }
    }

    /// The positions in which the light does that.
    pub fn shown(&self, shown: Shown) -> Vec<usize> {
        (0..self.throws.len()).filter(|&at| self.throws[at].shown == shown).collect()
    }

    /// The positions in which the light is dark and one of its contacts is live.
    pub fn live_when_off(&self, contact: Terminal) -> Vec<usize> {
        let dark = self.shown(Shown::Dark).into_iter();
        dark.filter(|&at| self.throws[at].live.contains(&contact)).collect()
    }

    /// A position by the contacts that each switch makes in it.
    pub fn position(&self, at: usize) -> String {
        let switch = |(n, (place, kind)): (usize, &(String, DeviceKind))| {
            let closed = kind.contacts(at >> n & 1 == 1).iter();
            let closed: Vec<String> =
                closed.map(|(one, other)| format!("{}-{}", one.word(), other.word())).collect();
            format!("{place} {}", if closed.is_empty() { "open".to_owned() } else { closed.join(" and ") })
        };
        self.chain.iter().enumerate().map(switch).collect::<Vec<_>>().join(", ")
    }
}

/// Tries a scheme: with each number of switches up to a few, each kind of each place, and both legs where another
/// circuit's line comes in. Empty where no devices make such a chain.
pub fn prove(scheme: &Scheme, knowledge: &Knowledge) -> Vec<Proof> {
    let alone = Knowledge { schemes: vec![scheme.clone()], attachments: Vec::new(), ..knowledge.clone() };
    let two_lines = scheme.nets.iter().flatten().any(|point| *point == SlotPoint::Feed(Pole::OtherLine));
    let legs: &[bool] = if two_lines { &[false, true] } else { &[false] };
    let once = scheme.switches.iter().filter(|slot| !slot.repeat).count();
    let mut proofs = Vec::new();
    for slots in (1..=LONGEST.max(once)).filter_map(|count| scheme.chain(count)) {
        for kinds in each_kind(&slots) {
            let tried =
                legs.iter().filter_map(|&opposite| Trial::of(&slots, &kinds, &alone)?.proof(opposite));
            proofs.extend(tried);
        }
    }
    proofs
}

/// Known kinds for each place: the first of each, then the second of each, and so on; a place that has no more keeps its
/// last. All kinds of a place have the screws that nets name, so that one is as good as another beside its neighbours.
fn each_kind(slots: &[&Slot]) -> Vec<Vec<DeviceKind>> {
    let known = |slot: &&Slot| {
        let kinds = slot.kinds.iter().copied().filter(|kind| *kind != DeviceKind::Switch);
        kinds.collect::<Vec<_>>()
    };
    let known: Vec<Vec<DeviceKind>> = slots.iter().map(known).collect();
    let most = known.iter().map(Vec::len).max().unwrap_or(0);
    let nth = |n: usize| known.iter().filter_map(|kinds| kinds.get(n).or(kinds.last()).copied()).collect();
    (0..most).map(nth).collect()
}

/// A house with nothing in it but a chain, every box of it open, and each screw on a wire of its own.
struct Trial {
    chain: Vec<(String, DeviceKind)>,
    house: House,
    netlist: Netlist,
    tester: Tester,
}

impl Trial {
    fn of(slots: &[&Slot], kinds: &[DeviceKind], alone: &Knowledge) -> Option<Trial> {
        let other = alone.schemes.iter().flat_map(|scheme| scheme.nets.iter().flatten());
        let other =
            other.filter(|point| matches!(point, SlotPoint::Feed(pole) if pole.is_other())).count() > 0;
        let (call, _) = check(&job(kinds, 1 + usize::from(other))).ok()?;
        let house = call.house;
        let order: Vec<DeviceId> = house.switches().collect();
        let laid = wiring::netlists(&house, alone, &|_| true);
        let netlist = laid.into_iter().find(|netlist| netlist.order == order && netlist.chains.len() == 1)?;
        let instrument =
            Instrument { kind: InstrumentKind::LowImpedance, ohms: None, watts: None, resolves: None };
        let chain = slots.iter().map(|slot| slot.name.clone()).zip(kinds.iter().copied()).collect();
        Some(Trial { chain, house, netlist, tester: Tester::new(instrument, &alone.instruments) })
    }

    /// What each wire is joined to: the net of the screw it is on.
    fn walls(&self, opposite: bool) -> Walls {
        let mut groups = self.netlist.nets.len() as u8;
        let mut of = |net: Option<usize>| {
            net.map_or_else(
                || {
                    groups += 1;
                    groups - 1
                },
                |net| net as u8,
            )
        };
        let screw = |device: DeviceId| {
            let kind = self.house.device(device).kind;
            kind.terminals().iter().map(move |terminal| (device, *terminal))
        };
        let screws = self.house.device_ids().flat_map(screw);
        let wires = screws.map(|(device, terminal)| of(self.netlist.net_of(device, terminal))).collect();
        let line = of(self.netlist.net_of_pole(Pole::Line));
        let neutral = of(self.netlist.net_of_pole(Pole::Neutral));
        let other = self.netlist.net_of_pole(Pole::OtherLine).map(|net| net as u8);
        let mut walls = Walls {
            wires,
            line,
            neutral,
            other,
            opposite,
            breakers: Walls::BREAKERS,
            groups,
            ..Walls::default()
        };
        // All neutrals meet in the panel.
        if let Some(net) = self.netlist.net_of_pole(Pole::OtherNeutral) {
            walls
                .wires
                .iter_mut()
                .filter(|group| usize::from(**group) == net)
                .for_each(|group| *group = neutral);
        }
        walls
    }

    fn proof(&self, opposite: bool) -> Option<Proof> {
        let (facts, walls) = (Facts::new(&self.house), self.walls(opposite));
        let scene = Scene::new(&self.house, &facts);
        let light = self.house.lights().next()?;
        let setup = Setup { power: predict::ALL_ON, lamps: vec![LampState::In], ..Setup::default() };
        let opened = scene.opened(&setup);
        let contacts = [Terminal::Center, Terminal::Shell];
        let points = contacts.map(|contact| Point::At(LocalPoint::Terminal(light, contact)));
        let volts = Ask::Volts(points.map(|point| (point, Point::Earth)).to_vec());
        let throw = |thrown: u32| {
            let bins = predict::watch(&scene, &walls, &opened, thrown);
            let [lit, dim, _, _, trips] = bins.first().copied().unwrap_or_default();
            let shown = match (trips > 0.5, lit > 0.5, dim > 0.5) {
                (true, ..) => Shown::Trips,
                (_, true, _) => Shown::Lit,
                (.., true) => Shown::Dim,
                _ => Shown::Dark,
            };
            let read = predict::answer(&scene, &walls, &setup, thrown, &volts, self.tester);
            let live = contacts.into_iter().zip(read).filter(|(_, [_, _, part, line, _])| part + line > 0.5);
            Throw { shown, live: live.map(|(contact, _)| contact).collect() }
        };
        let throws = (0..1u32 << self.chain.len()).map(throw).collect();
        Some(Proof { chain: self.chain.clone(), opposite, throws })
    }
}

/// The survey of such a house.
fn job(kinds: &[DeviceKind], feeds: usize) -> Job {
    let feed = |n: usize| JobFeed { name: (n + 1).to_string(), ..JobFeed::default() };
    let switches =
        kinds.iter().enumerate().map(|(at, kind)| outlet(&format!("s{at}"), BoxKind::Switch, *kind));
    let boxes = switches.chain([outlet("l", BoxKind::Light, DeviceKind::Light)]);
    Job {
        house: Some(JobHouse {
            supply: Some(120.0),
            feeds: Some((0..feeds).map(feed).collect()),
            ..JobHouse::default()
        }),
        boxes: Some(boxes.collect()),
        ..Job::default()
    }
}

fn outlet(name: &str, kind: BoxKind, device: DeviceKind) -> JobBox {
    let screws = device.terminals();
    let cable =
        |(at, _)| JobCable { tag: format!("c{at}"), wires: vec!["w1".to_owned()], ..JobCable::default() };
    let joint = |(at, screw): (usize, &Terminal)| JobJoint {
        points: vec![format!("c{at}.w1"), format!("device.{}", screw.word())],
        sure: None,
    };
    let lamp = device.is_light().then_some(LampKind::Incandescent);
    let device =
        JobDevice { name: "device".to_owned(), kind: device, screws: None, lamp, watts: None, sure: None };
    let mut seen = JobBox::new(name, kind);
    seen.opened = Some(true);
    seen.cables = Some(screws.iter().enumerate().map(cable).collect());
    seen.joints = Some(screws.iter().enumerate().map(joint).collect());
    seen.devices = Some(vec![device]);
    seen
}

/// What is wrong with a scheme by what it does: its light is nobody's or never burns, it trips or leaves the light live and
/// its caution does not say so.
pub fn problems(scheme: &Scheme, proofs: &[Proof]) -> Vec<Problem> {
    let nets = || Path::top().key("nets");
    let Some(first) = proofs.first() else {
        let instead = "places for one to eight switches";
        return vec![Problem::new(Path::top().key("switches"), "no devices make such a chain", "", instead)];
    };
    let mut problems = Vec::new();
    let idle = |proof: &Proof, at: usize| proof.control(at) == Control::Never;
    if let Some(proof) = proofs.iter().find(|proof| (0..proof.chain.len()).all(|at| idle(proof, at))) {
        let what = "no switch controls the light";
        let found = format!("{:?} in every position", proof.throws[0].shown).to_lowercase();
        problems.push(Problem::new(
            nets(),
            what,
            found,
            "nets that lead from the line through a switch to the light",
        ));
    } else if let Some(at) = (0..first.chain.len()).find(|&at| idle(first, at)) {
        let what = "a switch changes nothing, in no position of the others";
        let place = scheme.switches.iter().position(|slot| slot.name == first.chain[at].0).unwrap_or(0);
        let instead = "its screws into nets that lead to the light, or leave the place out of the chain";
        let path = Path::top().key("switches").index(place);
        problems.push(Problem::new(path, what, first.chain[at].0.clone(), instead));
    } else if proofs.iter().any(|proof| proof.shown(Shown::Lit).is_empty()) {
        let instead = "nets that lead from the line through the lamp to the neutral in some position";
        problems.push(Problem::new(nets(), "the light never burns", "lit in no position", instead));
    }
    let path = || if scheme.caution.is_some() { Path::top().key("caution") } else { nets() };
    let said = scheme.caution.iter().chain(&scheme.refuse).map(|text| text.to_lowercase());
    let said: Vec<String> = said.collect();
    let says = |words: &[&str]| said.iter().any(|text| words.iter().any(|word| text.contains(word)));
    let at = |of: &dyn Fn(&Proof) -> Vec<usize>| {
        proofs.iter().find_map(|proof| of(proof).first().map(|at| proof.position(*at)))
    };
    if let (Some(found), false) = (at(&|proof| proof.shown(Shown::Trips)), says(&["trip", "short"])) {
        let instead = "a caution that says that it trips and when, or nets that keep line and neutral apart";
        problems.push(Problem::new(
            path(),
            "line meets neutral in some position, and no caution says so",
            found,
            instead,
        ));
    }
    for contact in [Terminal::Center, Terminal::Shell] {
        if let (Some(found), false) = (at(&|proof| proof.live_when_off(contact)), says(&["live"])) {
            let what = format!("with the light off its {} is live, and no caution says so", contact.word());
            let instead = "a caution that says what is live when the light is off";
            problems.push(Problem::new(path(), what, found, instead));
        }
    }
    problems
}
