//! The opened boxes, and what conditions do to them.

use crate::call::{Ask, Conditions, LampState};
use crate::house::{BoxId, DeviceId, DeviceKind, House, LampKind, LocalPoint, Point, Terminal};
use crate::wiring::Facts;
use crate::wiring::facts::{FixedJoint, WireIndex};

/// A point of an opened box by number: a wire end, or a terminal (or the metal of a box) past them.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Spot {
    Wire(WireIndex),
    Terminal(usize),
}

/// Which feeds are on: one bit each.
pub type Power = u32;

/// Every feed on.
pub const ALL_ON: Power = Power::MAX;

/// Conditions with nothing left open.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Setup {
    /// Which feeds are on: one bit each, in the order of the house's feeds.
    pub power: Power,
    /// One entry a light: what is in it.
    pub lamps: Vec<LampState>,
    /// Devices taken off.
    pub out: Vec<DeviceId>,
    /// Wires away from their joint.
    pub lifted: Vec<WireIndex>,
    /// Points bridged.
    pub jumpers: Vec<(Point, Point)>,
}

/// A lamp in the circuit.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LampIn {
    /// The light.
    pub device: DeviceId,
    /// Its terminals' numbers, where its box is opened.
    terminals: Option<[usize; 2]>,
    /// Ohms at full supply.
    pub hot: f64,
    /// What burns in it; a test lamp is incandescent.
    pub kind: LampKind,
    /// Whether it is a test lamp in the place of the light's own.
    pub(super) is_test: bool,
}

struct Joint {
    wires: Vec<WireIndex>,
    terminals: Vec<usize>,
    /// Wires under one screw, parted when the device comes off.
    doubled: bool,
}

/// The opened boxes as the predictor sees them.
pub struct Scene<'a> {
    /// The house.
    pub house: &'a House,
    /// The survey in small integers.
    pub facts: &'a Facts,
    terminals: Vec<Owner>,
    joints: Vec<Joint>,
    switches: Vec<DeviceId>,
    lights: Vec<DeviceId>,
    /// Boxes whose metal is at earth without a wire to it.
    earthed: Vec<BoxId>,
}

/// What a terminal number stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Owner {
    Device(DeviceId, Terminal),
    Metal(BoxId),
}

/// What is joined in the opened boxes under one setup, before any walls: the same for all of them.
pub struct Opened {
    /// Pairs of points that touch.
    pub(super) joined: Vec<(Spot, Spot)>,
    /// Points bridged by jumpers.
    pub(super) bridged: Vec<(Spot, Spot)>,
    /// The metal of opened boxes, by terminal number.
    pub(super) metals: Vec<(BoxId, usize)>,
    /// Contacts of switches: the switch's place in the order of `House::switches`, whether thrown, the terminals.
    pub(super) contacts: Vec<(usize, bool, usize, usize)>,
    /// Tabs of receptacles: the device, whether on the line side, the terminals.
    pub(super) tabs: Vec<(DeviceId, bool, usize, usize)>,
    /// Unmarked switches: the device, its place in the order of `House::switches`, the number of its first screw.
    pub(super) unmarked: Vec<(DeviceId, usize, usize)>,
    /// Lamps that are in.
    pub(super) lamps: Vec<LampIn>,
    /// Which feeds are on.
    pub power: Power,
    /// Terminals of opened boxes.
    pub(super) terminals: usize,
    /// What is at earth by itself, and jumpers to it.
    pub(super) earthed: Vec<Spot>,
    /// Wires away from their joint.
    lifted: Vec<WireIndex>,
    /// Screws by number, of devices that are on their wires.
    screws: Vec<(DeviceId, Terminal, usize)>,
}

impl Opened {
    /// What of a joint that was not seen still touches.
    pub(super) fn touching<'j>(&'j self, joint: &'j FixedJoint) -> impl Iterator<Item = Spot> + 'j {
        let wires = joint.wires.iter().filter(|wire| !self.lifted.contains(wire));
        let number = |&(device, terminal): &(DeviceId, Terminal)| {
            let screw = self.screws.iter().find(|(d, t, _)| (*d, *t) == (device, terminal));
            screw.map(|(.., number)| Spot::Terminal(*number))
        };
        wires.map(|wire| Spot::Wire(*wire)).chain(joint.terminals.iter().filter_map(number))
    }
}

impl<'a> Scene<'a> {
    /// Looks at the opened boxes of a house.
    pub fn new(house: &'a House, facts: &'a Facts) -> Scene<'a> {
        let opened = |device: &DeviceId| house.outlet(house.device(*device).at).opened;
        let of_devices = house.device_ids().filter(opened).flat_map(|device| {
            let seen = house.device(device);
            let kind = if seen.marked { seen.kind.terminals().to_vec() } else { seen.terminals() };
            kind.into_iter().map(move |terminal| Owner::Device(device, terminal))
        });
        let metals = house.box_ids().filter(|&at| house.outlet(at).opened).map(Owner::Metal);
        let mut scene = Scene {
            house,
            facts,
            terminals: of_devices.chain(metals).collect(),
            joints: Vec::new(),
            switches: house.switches().collect(),
            lights: house.lights().collect(),
            earthed: Vec::new(),
        };
        scene.joints = house.box_ids().flat_map(|at| scene.joints_at(at)).collect();
        scene
    }

    /// The same, with the metal of some boxes at earth by armour, by conduit or by what it is fixed to.
    pub fn with_earthed(self, earthed: Vec<BoxId>) -> Scene<'a> {
        Scene { earthed, ..self }
    }

    /// The boxes whose metal is at earth without a wire to it.
    pub fn earthed(&self) -> &[BoxId] {
        &self.earthed
    }

    fn joints_at(&self, at: BoxId) -> Vec<Joint> {
        let outlet = self.house.outlet(at);
        let joint = |points: &Vec<LocalPoint>| {
            let mut joint = Joint { wires: Vec::new(), terminals: Vec::new(), doubled: false };
            for point in points {
                match *point {
                    LocalPoint::Wire(wire) => joint.wires.push(self.facts.index(wire)),
                    LocalPoint::Terminal(device, terminal) => {
                        joint.doubled |= outlet.doubled.contains(&(device, terminal));
                        joint.terminals.extend(self.terminal(device, terminal));
                    }
                    LocalPoint::Metal(at) => joint.terminals.extend(self.owner(Owner::Metal(at))),
                }
            }
            joint
        };
        outlet.sure_joints().map(|found| joint(&found.points)).collect()
    }

    fn owner(&self, owner: Owner) -> Option<usize> {
        self.terminals.iter().position(|o| *o == owner)
    }

    pub(super) fn terminal(&self, device: DeviceId, terminal: Terminal) -> Option<usize> {
        self.owner(Owner::Device(device, terminal))
    }

    /// The number of a point in an opened box; `None` for earth and for boxes nobody has opened.
    pub(super) fn spot(&self, point: Point) -> Option<Spot> {
        match point {
            Point::Earth => None,
            Point::At(LocalPoint::Wire(wire)) => Some(Spot::Wire(self.facts.index(wire))),
            Point::At(LocalPoint::Terminal(device, terminal)) => {
                self.terminal(device, terminal).map(Spot::Terminal)
            }
            Point::At(LocalPoint::Metal(at)) => self.owner(Owner::Metal(at)).map(Spot::Terminal),
        }
    }

    /// How many switches there are.
    pub fn switches(&self) -> usize {
        self.switches.len()
    }

    /// The place of a light in the order of lights.
    pub fn light(&self, device: DeviceId) -> Option<usize> {
        self.lights.iter().position(|light| *light == device)
    }

    /// The place of a switch in the order of switches.
    pub fn switch(&self, device: DeviceId) -> Option<usize> {
        self.switches.iter().position(|switch| *switch == device)
    }

    /// Whether a question under these conditions can depend on how a switch stands: one that is off its wires matters
    /// only to whoever asks about its own screws.
    pub fn matters(&self, setup: &Setup, switch: usize, ask: &Ask) -> bool {
        let device = self.switches[switch];
        let its = |point: &Point| matches!(point, Point::At(LocalPoint::Terminal(at, _)) if *at == device);
        let asked = match ask {
            Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => {
                pairs.iter().any(|(p, q)| its(p) || its(q))
            }
            Ask::Watch(_) | Ask::AmpsCable(_) | Ask::AmpsWire(_) => false,
        };
        asked || !setup.out.contains(&device)
    }

    /// The setups that conditions allow, with the chance of each: what was not written down is tried both ways.
    pub fn setups(&self, conditions: &Conditions) -> Vec<(Setup, f64)> {
        let lifted = conditions.lifted.iter().map(|&wire| self.facts.index(wire)).collect();
        let out = conditions.out.clone();
        let first = Setup {
            power: ALL_ON << self.facts.feeds,
            lamps: Vec::new(),
            out,
            lifted,
            jumpers: conditions.jumpers.clone(),
        };
        let mut setups = vec![(first, 1.0)];
        for feed in 0..self.house.feeds.len() {
            let on = conditions.breakers.get(feed).copied().flatten();
            setups = spread(setups, on, &[true, false], |setup, on| setup.power |= Power::from(on) << feed);
        }
        for light in 0..self.lights.len() {
            let lamp = conditions.lamps.get(light).copied().flatten();
            let both = [LampState::In, LampState::Out];
            setups = spread(setups, lamp, &both, |setup, lamp| setup.lamps.push(lamp));
        }
        setups
    }

    /// What is joined in the opened boxes under a setup.
    pub fn opened(&self, setup: &Setup) -> Opened {
        let mut opened = Opened {
            joined: Vec::new(),
            bridged: Vec::new(),
            metals: self.metals(),
            contacts: Vec::new(),
            tabs: self.tabs(setup),
            unmarked: Vec::new(),
            lamps: self.lamps(setup),
            power: setup.power,
            terminals: self.terminals.len(),
            earthed: self
                .earthed
                .iter()
                .filter_map(|at| self.owner(Owner::Metal(*at)))
                .map(Spot::Terminal)
                .collect(),
            lifted: setup.lifted.clone(),
            screws: self.screws(setup),
        };
        for joint in &self.joints {
            self.join(joint, setup, &mut opened.joined);
        }
        for (one, other) in &setup.jumpers {
            match (self.spot(*one), self.spot(*other)) {
                (Some(one), Some(other)) => opened.bridged.push((one, other)),
                (Some(spot), None) | (None, Some(spot)) => opened.earthed.push(spot),
                (None, None) => {}
            }
        }
        for (at, &switch) in self.switches.iter().enumerate() {
            // One that is off its wires still makes contact, in the hand.
            self.add_contacts(at, switch, self.house.device(switch).kind, &mut opened.contacts);
            opened.unmarked.extend(self.terminal(switch, Terminal::X(1)).map(|first| (switch, at, first)));
        }
        opened
    }

    fn screws(&self, setup: &Setup) -> Vec<(DeviceId, Terminal, usize)> {
        let screw = |(at, owner): (usize, &Owner)| match *owner {
            Owner::Device(device, terminal) if !setup.out.contains(&device) => Some((device, terminal, at)),
            Owner::Device(..) | Owner::Metal(_) => None,
        };
        self.terminals.iter().enumerate().filter_map(screw).collect()
    }

    fn metals(&self) -> Vec<(BoxId, usize)> {
        let metal = |(at, owner): (usize, &Owner)| match *owner {
            Owner::Metal(of) => Some((of, at)),
            Owner::Device(..) => None,
        };
        self.terminals.iter().enumerate().filter_map(metal).collect()
    }

    fn tabs(&self, setup: &Setup) -> Vec<(DeviceId, bool, usize, usize)> {
        let is_in =
            |d: &DeviceId| self.house.device(*d).kind == DeviceKind::Receptacle && !setup.out.contains(d);
        let sides = [(true, [Terminal::H1, Terminal::H2]), (false, [Terminal::N1, Terminal::N2])];
        let unmarked = [(true, [Terminal::X(1), Terminal::X(2)]), (false, [Terminal::X(3), Terminal::X(4)])];
        let tab = |device: DeviceId, (hot, [one, other]): (bool, [Terminal; 2])| {
            let ends = self.terminal(device, one).zip(self.terminal(device, other));
            ends.map(|(one, other)| (device, hot, one, other))
        };
        let receptacles = self.house.device_ids().filter(is_in);
        receptacles
            .flat_map(|d| sides.into_iter().chain(unmarked).filter_map(move |side| tab(d, side)))
            .collect()
    }

    fn join(&self, joint: &Joint, setup: &Setup, joined: &mut Vec<(Spot, Spot)>) {
        let is_out = |terminal: &usize| match self.terminals[*terminal] {
            Owner::Device(device, _) => setup.out.contains(&device),
            Owner::Metal(_) => false,
        };
        let parted = joint.doubled && joint.terminals.iter().any(is_out);
        if parted {
            return;
        }
        let wires =
            joint.wires.iter().filter(|wire| !setup.lifted.contains(wire)).map(|&wire| Spot::Wire(wire));
        let terminals = joint.terminals.iter().filter(|t| !is_out(t)).map(|&t| Spot::Terminal(t));
        let spots: Vec<Spot> = wires.chain(terminals).collect();
        joined.extend(spots.windows(2).map(|pair| (pair[0], pair[1])));
    }

    fn add_contacts(
        &self,
        at: usize,
        switch: DeviceId,
        kind: DeviceKind,
        contacts: &mut Vec<(usize, bool, usize, usize)>,
    ) {
        for thrown in [false, true] {
            for &(one, other) in kind.contacts(thrown) {
                if let (Some(one), Some(other)) = (self.terminal(switch, one), self.terminal(switch, other)) {
                    contacts.push((at, thrown, one, other));
                }
            }
        }
    }

    fn lamps(&self, setup: &Setup) -> Vec<LampIn> {
        let watts_or = |watts: Option<f64>| watts.unwrap_or(60.0).max(1.0);
        let lamp = |(at, &device): (usize, &DeviceId)| {
            let seen = self.house.device(device);
            let state = setup.lamps.get(at).copied().unwrap_or(LampState::In);
            if state == LampState::Out || setup.out.contains(&device) {
                return None;
            }
            let test = state == LampState::Test;
            let pair = |a, b| self.terminal(device, a).zip(self.terminal(device, b)).map(|(a, b)| [a, b]);
            Some(LampIn {
                device,
                terminals: pair(Terminal::Center, Terminal::Shell)
                    .or_else(|| pair(Terminal::X(1), Terminal::X(2))),
                hot: self.house.supply * self.house.supply / watts_or(if test { None } else { seen.watts }),
                kind: if test { LampKind::Incandescent } else { seen.lamp },
                is_test: test,
            })
        };
        self.lights.iter().enumerate().filter_map(lamp).collect()
    }
}

impl LampIn {
    /// The numbers of its terminals, where its box is opened.
    pub(super) fn terminals(&self) -> Option<[usize; 2]> {
        self.terminals
    }
}

fn spread<T: Copy>(
    setups: Vec<(Setup, f64)>,
    known: Option<T>,
    all: &[T],
    set: impl Fn(&mut Setup, T),
) -> Vec<(Setup, f64)> {
    let values: Vec<T> = known.map_or_else(|| all.to_vec(), |value| vec![value]);
    let share = 1.0 / values.len() as f64;
    let with = |(setup, p): &(Setup, f64)| {
        let one = |&value: &T| {
            let mut setup = setup.clone();
            set(&mut setup, value);
            (setup, p * share)
        };
        values.iter().map(one).collect::<Vec<_>>()
    };
    setups.iter().flat_map(with).collect()
}
