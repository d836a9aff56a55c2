//! Putting one defect into a house: something landed otherwise than meant, or something that has failed since.

use super::building::{Broken, Building, Circuit, Far, Fault, Joint, Pole, Spot, Undone};
use super::chance::Chance;
use super::trial::Trial;
use super::truth::Purpose;
use crate::house::{DeviceKind, Role, Terminal};
use std::collections::BTreeMap;

/// The defects that can be put into a house, by their documented names.
pub const FAULTS: [&str; 19] = [
    "swapped-landing",
    "wrong-screw",
    "wrong-splice",
    "left-out",
    "pairs-crossed",
    "open-wire",
    "open-splice",
    "short",
    "live-metal",
    "dead-throw",
    "stuck",
    "wrong-device",
    "lamp-out",
    "reversed-feed",
    "lost-neutral",
    "ground-as-neutral",
    "bad-joint",
    "wrong-breaker",
    "tab",
];

/// Joints of a box as they are with one mistake, and what it is about.
struct Mistake {
    outlet: usize,
    joints: Vec<Joint>,
    at: String,
    detail: Vec<Spot>,
}

impl Building {
    /// Puts a defect in, somewhere; false, with nothing changed, where the house has no place for it.
    pub fn spoil(&mut self, what: &'static str, chance: &mut Chance) -> bool {
        let found = match what {
            "swapped-landing" | "pairs-crossed" => self.mistake(self.swaps(what), chance),
            "wrong-screw" | "wrong-splice" => self.mistake(self.moves(what == "wrong-screw"), chance),
            "left-out" => self.mistake(self.omissions(), chance),
            "ground-as-neutral" => self.ground_as_neutral(chance),
            "open-wire" => self.open_wire(chance),
            "open-splice" => self.poor_joint(None, chance),
            "bad-joint" => {
                let ohms = chance.weighted(&[(0.5, (120.0, 500.0)), (0.5, (1000.0, 4000.0))]);
                let (low, high) = ohms.unwrap_or((300.0, 300.0));
                let ohms = chance.between(low, high);
                self.poor_joint(Some(ohms), chance)
            }
            "short" => self.short(chance),
            "live-metal" => self.live_metal(chance),
            "dead-throw" | "stuck" | "wrong-device" | "lamp-out" | "tab" => self.failure(what, chance),
            "reversed-feed" | "lost-neutral" | "wrong-breaker" => self.at_feed(what, chance),
            _ => None,
        };
        let Some((at, detail)) = found else { return false };
        self.faults.push(Fault { what, at, detail });
        true
    }

    /// One of some mistakes after which the house does not do what it should.
    fn mistake(&mut self, mut mistakes: Vec<Mistake>, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        chance.shuffle(&mut mistakes);
        for mut mistake in mistakes {
            for joint in &mut mistake.joints {
                let wires = joint.spots.iter().filter(|spot| matches!(spot, Spot::Wire(..))).count();
                joint.doubled &= wires == 2;
            }
            mistake.joints.retain(|joint| joint.spots.len() > 1);
            let sound = std::mem::replace(&mut self.outlets[mistake.outlet].joints, mistake.joints);
            if self.try_all().is_ok_and(|trial| trial != Trial::Works) {
                return Some((mistake.at, self.names(&mistake.detail)));
            }
            self.outlets[mistake.outlet].joints = sound;
        }
        None
    }

    fn names(&self, spots: &[Spot]) -> Vec<String> {
        spots.iter().map(|&spot| self.name(spot)).collect()
    }

    /// Boxes that were opened and nobody has taken apart.
    fn whole(&self) -> impl Iterator<Item = usize> + '_ {
        let whole = |at: &usize| self.outlets[*at].opened && self.outlets[*at].undone == Undone::Nothing;
        (0..self.outlets.len()).filter(whole)
    }

    /// Devices that the survey knows of, in boxes that nobody has taken apart.
    fn devices(&self, fits: impl Fn(DeviceKind) -> bool) -> Vec<usize> {
        let known = |at: usize| self.outlets[at].known && self.outlets[at].undone == Undone::Nothing;
        let all = self.fixtures.iter().enumerate();
        let fit = all.filter(|(_, fixture)| known(fixture.outlet) && fits(fixture.kind));
        fit.map(|(at, _)| at).collect()
    }

    /// What lies on two screws, each on the other's.
    fn swaps(&self, what: &str) -> Vec<Mistake> {
        use Terminal::*;
        let mut mistakes = Vec::new();
        for fixture in self.devices(|_| true) {
            let outlet = self.fixtures[fixture].outlet;
            let pairs: &[(Terminal, Terminal)] = match (what, self.fixtures[fixture].kind) {
                ("swapped-landing", DeviceKind::ThreeWay) => &[(Common, T1), (Common, T2)],
                ("swapped-landing", DeviceKind::Light) if self.outlets[outlet].opened => &[(Center, Shell)],
                ("pairs-crossed", DeviceKind::FourWay) => &[(A1, B1), (A1, B2), (A2, B1), (A2, B2)],
                _ => &[],
            };
            for &(one, other) in pairs {
                let (one, other) = (Spot::Screw(fixture, one), Spot::Screw(fixture, other));
                let mut joints = self.outlets[outlet].joints.clone();
                for spot in joints.iter_mut().flat_map(|joint| &mut joint.spots) {
                    *spot = match *spot {
                        spot if spot == one => other,
                        spot if spot == other => one,
                        spot => spot,
                    };
                }
                mistakes.push(Mistake {
                    outlet,
                    joints,
                    at: self.fixture_name(fixture),
                    detail: vec![one, other],
                });
            }
        }
        mistakes
    }

    /// A wire in another joint of its box: one with a screw in it, or that came off a screw; or splices both.
    fn moves(&self, screws: bool) -> Vec<Mistake> {
        let mut mistakes = Vec::new();
        for outlet in self.whole() {
            let joints = &self.outlets[outlet].joints;
            for (from, to) in (0..joints.len()).flat_map(|a| (0..joints.len()).map(move |b| (a, b))) {
                let device = screw(&joints[to]).or(screw(&joints[from]));
                if from == to || device.is_some() != screws {
                    continue;
                }
                for &wire in joints[from].spots.iter().filter(|&&spot| self.is_insulated(spot)) {
                    let mut joints = joints.clone();
                    joints[from].spots.retain(|spot| *spot != wire);
                    joints[to].spots.push(wire);
                    let at = device.map_or_else(
                        || self.outlets[outlet].name.clone(),
                        |(fixture, _)| self.fixture_name(fixture),
                    );
                    let on = screw(&joints[to]).map(|(fixture, terminal)| Spot::Screw(fixture, terminal));
                    mistakes.push(Mistake {
                        outlet,
                        joints,
                        at,
                        detail: std::iter::once(wire).chain(on).collect(),
                    });
                }
            }
        }
        mistakes
    }

    /// A wire in no joint.
    fn omissions(&self) -> Vec<Mistake> {
        let mut mistakes = Vec::new();
        for outlet in self.whole() {
            for wire in self.joined_wires(outlet) {
                let mut joints = self.outlets[outlet].joints.clone();
                joints.iter_mut().for_each(|joint| joint.spots.retain(|spot| *spot != wire));
                mistakes.push(Mistake {
                    outlet,
                    joints,
                    at: self.outlets[outlet].name.clone(),
                    detail: vec![wire],
                });
            }
        }
        mistakes
    }

    /// Insulated wires of a box that are in a joint.
    fn joined_wires(&self, outlet: usize) -> Vec<Spot> {
        let spots = self.outlets[outlet].joints.iter().flat_map(|joint| joint.spots.iter().copied());
        spots.filter(|&spot| self.is_insulated(spot)).collect()
    }

    fn is_insulated(&self, spot: Spot) -> bool {
        matches!(spot, Spot::Wire(..)) && !self.is_bare(spot)
    }

    /// A light's shell on the grounding conductors: beside the neutral, or in its stead.
    fn ground_as_neutral(&mut self, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let mut places = Vec::new();
        for light in self.devices(DeviceKind::is_light) {
            let outlet = self.fixtures[light].outlet;
            let bare = self.ends_at(outlet).into_iter().find(|&end| self.is_bare(end));
            places.extend(bare.filter(|_| self.outlets[outlet].opened).map(|bare| (outlet, light, bare)));
        }
        let (outlet, light, bare) = chance.pick(&places)?;
        let shell = Spot::Screw(light, Terminal::Shell);
        let moved = if chance.often(0.5) { shell } else { bare };
        let joints = &mut self.outlets[outlet].joints;
        joints.iter_mut().for_each(|joint| joint.spots.retain(|spot| *spot != moved));
        let other = if moved == shell { bare } else { shell };
        match joints.iter_mut().find(|joint| joint.spots.contains(&other)) {
            Some(joint) => joint.spots.push(moved),
            None => joints.push(Joint { spots: vec![other, moved], ..Joint::default() }),
        }
        joints.retain(|joint| joint.spots.len() > 1);
        Some((self.outlets[outlet].name.clone(), self.names(&[bare, shell])))
    }

    /// Wire ends at opened boxes that somebody meant for something.
    fn used(&self) -> BTreeMap<String, Purpose> {
        let mut wires = self.truth().wires;
        wires.retain(|_, purpose| !matches!(purpose.role, Role::Spare | Role::Ground));
        wires
    }

    fn open_wire(&mut self, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let used = self.used();
        let between = |spot: &Spot| matches!(spot, Spot::Wire(cable, ..) if self.is_between(*cable));
        let wires: Vec<Spot> = used.keys().filter_map(|name| self.spot(name, None)).filter(between).collect();
        let Spot::Wire(cable, wire, _) = chance.pick(&wires)? else { return None };
        self.cables[cable].strands[wire].broken = Some(chance.unit());
        let side = self.seen_side(cable)?;
        Some((self.end_name(cable, side), self.names(&[Spot::Wire(cable, wire, side)])))
    }

    fn is_between(&self, cable: usize) -> bool {
        self.cables[cable].ends.iter().all(|end| matches!(end, Far::Outlet(_)))
    }

    /// The end of a cable that comes first among those at opened boxes.
    fn seen_side(&self, cable: usize) -> Option<usize> {
        let outlet = |side: &usize| match self.cables[cable].ends[*side] {
            Far::Outlet(outlet) if self.outlets[outlet].opened => Some(outlet),
            _ => None,
        };
        (0..2).filter(|side| outlet(side).is_some()).min_by_key(|side| outlet(side))
    }

    /// A wire that lies in its joint and does not touch it, or badly.
    fn poor_joint(&mut self, ohms: Option<f64>, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let used = self.used();
        let whole: Vec<usize> = self.whole().collect();
        let wires = whole.iter().flat_map(|&outlet| self.joined_wires(outlet).into_iter());
        let wires: Vec<Spot> = wires.filter(|&wire| used.contains_key(&self.name(wire))).collect();
        let wire = chance.pick(&wires)?;
        let outlet = self.outlet_of(wire)?;
        let joint = self.outlets[outlet].joints.iter_mut().find(|joint| joint.spots.contains(&wire))?;
        joint.poor.push((wire, ohms));
        Some((self.outlets[outlet].name.clone(), self.names(&[wire])))
    }

    fn short(&mut self, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let used = self.used();
        let mut places = Vec::new();
        for cable in 0..self.cables.len() {
            let Some(side) = self.seen_side(cable) else { continue };
            let spot = |wire| Spot::Wire(cable, wire, side);
            let is_used = |wire: usize| used.contains_key(&self.name(spot(wire)));
            let wires = self.cables[cable].strands.len();
            for (one, other) in (0..wires).flat_map(|a| (a + 1..wires).map(move |b| (a, b))) {
                if is_used(one) && is_used(other) {
                    places.push((cable, side, one, other));
                }
            }
        }
        let (cable, side, one, other) = chance.pick(&places)?;
        self.cables[cable].shorts.push((one, other));
        let spots = [one, other].map(|wire| Spot::Wire(cable, wire, side));
        Some((self.end_name(cable, side), self.names(&spots)))
    }

    /// A wire through whose insulation the metal of a box is touched that nothing bonds.
    fn live_metal(&mut self, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let used = self.used();
        let mut wires = Vec::new();
        for outlet in self.whole() {
            let bonded = self.features.contains(&"armored")
                || self.outlets[outlet].joints.iter().any(|joint| joint.spots.contains(&Spot::Metal(outlet)));
            if bonded || !self.outlets[outlet].metal {
                continue;
            }
            let live = |wire: &Spot| {
                let purpose = used.get(&self.name(*wire));
                purpose
                    .is_some_and(|purpose| matches!(purpose.role, Role::Line | Role::Traveler | Role::Load))
            };
            wires.extend(self.joined_wires(outlet).into_iter().filter(live));
        }
        let wire = chance.pick(&wires)?;
        let outlet = self.outlet_of(wire)?;
        self.outlets[outlet].chafed = Some(wire);
        Some((self.outlets[outlet].name.clone(), self.names(&[wire])))
    }

    fn failure(&mut self, what: &str, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let devices = match what {
            "lamp-out" => self.devices(DeviceKind::is_light),
            "tab" => self.devices(|kind| kind == DeviceKind::Receptacle),
            "wrong-device" => self.devices(|kind| matches!(kind, DeviceKind::ThreeWay | DeviceKind::FourWay)),
            _ => self.devices(DeviceKind::is_switch),
        };
        let opened = |device: &usize| self.outlets[self.fixtures[*device].outlet].opened;
        let seen = matches!(what, "tab" | "wrong-device");
        let devices: Vec<usize> = devices.into_iter().filter(|device| !seen || opened(device)).collect();
        let device = chance.pick(&devices)?;
        let fixture = &mut self.fixtures[device];
        match what {
            "dead-throw" if matches!(fixture.kind, DeviceKind::ThreeWay | DeviceKind::FourWay) => {
                fixture.broken = Some(Broken::Throw(chance.often(0.5)));
            }
            "dead-throw" => fixture.broken = Some(Broken::Throw(true)),
            "stuck" => fixture.broken = Some(Broken::Stuck(chance.often(0.5))),
            "tab" => fixture.broken = Some(Broken::Tab),
            "lamp-out" if fixture.kind == DeviceKind::PullChain => fixture.chain_off = true,
            "lamp-out" => fixture.lamp.as_mut()?.out = true,
            _ => self.exchange(device),
        }
        Some((self.fixture_name(device), Vec::new()))
    }

    /// A switch of another type in its place: what finds no screw stays loose.
    fn exchange(&mut self, device: usize) {
        let fixture = &mut self.fixtures[device];
        fixture.unmarked = None;
        if fixture.kind == DeviceKind::FourWay {
            fixture.kind = DeviceKind::DoublePole;
            fixture.said = DeviceKind::DoublePole;
            return;
        }
        fixture.kind = DeviceKind::SinglePole;
        fixture.said = DeviceKind::SinglePole;
        let joints = &mut self.outlets[fixture.outlet].joints;
        for joint in joints.iter_mut() {
            joint.spots.retain(|spot| *spot != Spot::Screw(device, Terminal::T2));
            for spot in &mut joint.spots {
                *spot = match *spot {
                    Spot::Screw(at, Terminal::Common) if at == device => Spot::Screw(at, Terminal::S1),
                    Spot::Screw(at, Terminal::T1) if at == device => Spot::Screw(at, Terminal::S2),
                    spot => spot,
                };
            }
        }
        joints.retain(|joint| joint.spots.len() > 1);
    }

    fn at_feed(&mut self, what: &str, chance: &mut Chance) -> Option<(String, Vec<String>)> {
        let at = self.outlet_name(self.feed_outlet()?);
        match what {
            "lost-neutral" => self.circuits[0].neutral_lost = true,
            "wrong-breaker" => {
                let other_load = chance.often(0.5).then_some(300.0);
                let taken = self.circuits[0].name.clone();
                let name = (1..=12).map(|n: u8| n.to_string()).find(|name| *name != taken)?;
                let leg = if chance.often(0.5) { 1.0 } else { -1.0 };
                self.circuits.push(Circuit {
                    name,
                    listed: false,
                    leg,
                    other_load,
                    neutral_lost: false,
                    breaker: 0,
                });
                self.circuits[0].breaker = 1;
            }
            _ => {
                let strands = self.cables.iter_mut().flat_map(|cable| &mut cable.strands);
                for pole in strands.filter_map(|strand| strand.pole.as_mut()) {
                    pole.1 = match pole.1 {
                        Pole::Line => Pole::Neutral,
                        Pole::Neutral => Pole::Line,
                        Pole::Ground => Pole::Ground,
                    };
                }
            }
        }
        Some((at, Vec::new()))
    }
}

/// The screw of a joint.
fn screw(joint: &Joint) -> Option<(usize, Terminal)> {
    joint.spots.iter().find_map(|spot| match *spot {
        Spot::Screw(fixture, terminal) => Some((fixture, terminal)),
        Spot::Wire(..) | Spot::Metal(_) => None,
    })
}
