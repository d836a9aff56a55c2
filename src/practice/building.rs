//! A building as it physically is: every conductor, every splice, every screw.
//!
//! Nothing here is a candidate or a scheme: it is what an electrician would find with the plaster off. What is meant
//! to be joined and what is joined stand side by side, so that a mistake can be put in and roles be read off what was
//! meant.

use crate::house::{BoxKind, DeviceKind, Grounds, LampKind, Reach, Sheath, Terminal};

/// A place where a probe can go, and that can touch others.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Spot {
    /// One end of a wire: its cable, which wire, which end of the cable (0 or 1).
    Wire(usize, usize, usize),
    /// A screw of a device.
    Screw(usize, Terminal),
    /// The metal of a box.
    Metal(usize),
}

/// Where a cable end is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Far {
    /// In a box.
    Outlet(usize),
    /// At the panel, straight or through boxes of no interest.
    Panel,
    /// In the rest of the house.
    Onward,
}

/// What a wire is tied to at the panel.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Pole {
    /// The breaker.
    Line,
    /// The neutral bar.
    Neutral,
    /// The ground bar.
    Ground,
}

/// One conductor of a cable.
#[derive(Clone, PartialEq, Debug)]
pub struct Strand {
    /// What it is called at each end.
    pub words: [String; 2],
    /// What it is tied to where its cable comes from the panel: a circuit and its pole.
    pub pole: Option<(usize, Pole)>,
    /// Where it is broken: the share of the way from its first end.
    pub broken: Option<f64>,
}

/// A cable in the walls. A knob-and-tube single, or one drawn into conduit, is a cable of one wire.
#[derive(Clone, PartialEq, Debug)]
pub struct Cable {
    /// Where its two ends are.
    pub ends: [Far; 2],
    /// What each end is tagged.
    pub tags: [String; 2],
    /// Its covering.
    pub sheath: Sheath,
    /// Whether covering and size were written down, which few people do.
    pub noted: bool,
    /// Its length.
    pub metres: f64,
    /// Its conductors.
    pub strands: Vec<Strand>,
    /// Wires that touch one another inside.
    pub shorts: Vec<(usize, usize)>,
    /// The way it was pulled along: singles of one way run side by side.
    pub way: Option<usize>,
}

/// What is wrong inside a device.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Broken {
    /// No contact closes with the handle this way.
    Throw(bool),
    /// The handle moves and the contacts stay, as they are with the handle this way.
    Stuck(bool),
    /// The tab between the line screws of a receptacle is off where it should be on, or on where it should be off.
    Tab,
}

/// What burns in a light.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lamp {
    /// What it is.
    pub kind: LampKind,
    /// What the survey calls it.
    pub said: LampKind,
    /// Watts.
    pub watts: f64,
    /// Hot over cold resistance, of a filament.
    pub cold: f64,
    /// Whether it has burnt out.
    pub out: bool,
}

/// A device in a box.
#[derive(Clone, PartialEq, Debug)]
pub struct Fixture {
    /// Its name in the box.
    pub name: String,
    /// The box.
    pub outlet: usize,
    /// What it is.
    pub kind: DeviceKind,
    /// What the survey says it is.
    pub said: DeviceKind,
    /// For screws that nobody can tell apart, which is behind each of `x1`, `x2`, …
    pub unmarked: Option<Vec<Terminal>>,
    /// Its lamp, where it is a light.
    pub lamp: Option<Lamp>,
    /// A pull chain that is off.
    pub chain_off: bool,
    /// What its two positions are called.
    pub labels: [&'static str; 2],
    /// Whether the first label means that the contacts are thrown.
    pub flipped: bool,
    /// A receptacle whose tab between the line screws was broken off on purpose.
    pub halved: bool,
    /// What is wrong with it.
    pub broken: Option<Broken>,
}

/// What touches in a box.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Joint {
    /// The wire ends, screws and metal.
    pub spots: Vec<Spot>,
    /// The wires lie under the screw itself and part when the device comes off.
    pub doubled: bool,
    /// Members that look joined: with these ohms, or (`None`) not at all.
    pub poor: Vec<(Spot, Option<f64>)>,
}

/// What somebody had undone before the survey.
#[derive(Clone, PartialEq, Debug, Default)]
pub enum Undone {
    /// Nothing.
    #[default]
    Nothing,
    /// Every joint of the box.
    All,
    /// These.
    Spots(Vec<Spot>),
}

/// A box.
#[derive(Clone, PartialEq, Debug)]
pub struct Outlet {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub kind: BoxKind,
    /// Whether anybody knows of it; a box nobody knows of is buried.
    pub known: bool,
    /// Whether it was opened.
    pub opened: bool,
    /// The storey.
    pub floor: i8,
    /// How it is reached.
    pub reach: Reach,
    /// Whether it is of metal.
    pub metal: bool,
    /// Where it is, in metres.
    pub place: [f64; 3],
    /// What was meant to touch.
    pub meant: Vec<Joint>,
    /// What touches now.
    pub joints: Vec<Joint>,
    /// What had been undone.
    pub undone: Undone,
    /// Whether a taped bundle hides some joints from the survey.
    pub bundled: bool,
    /// A wire whose insulation has worn through to the metal of the box.
    pub chafed: Option<Spot>,
}

/// A circuit.
#[derive(Clone, PartialEq, Debug)]
pub struct Circuit {
    /// Its name at the panel.
    pub name: String,
    /// Whether the call is about it.
    pub listed: bool,
    /// 1, or -1 on the other leg.
    pub leg: f64,
    /// Ohms between its line and its neutral elsewhere in the house.
    pub other_load: Option<f64>,
    /// Its neutral has come off at the panel.
    pub neutral_lost: bool,
    /// The circuit whose breaker carries this one's name.
    pub breaker: usize,
}

/// A defect that was put in: a name of the closed list, where, and the points it is about.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
pub struct Fault {
    /// Its name.
    pub what: &'static str,
    /// BOX, BOX/device or BOX/tag.
    pub at: String,
    /// Points.
    pub detail: Vec<String>,
}

/// The whole of it.
#[derive(Clone, PartialEq, Debug)]
pub struct Building {
    /// Volts, line to neutral, as they are today.
    pub supply: f64,
    /// Year built.
    pub built: i32,
    /// Grounding conductors.
    pub grounds: Grounds,
    /// Circuits; the first is the one the call is about.
    pub circuits: Vec<Circuit>,
    /// Boxes.
    pub outlets: Vec<Outlet>,
    /// Devices.
    pub fixtures: Vec<Fixture>,
    /// Cables.
    pub cables: Vec<Cable>,
    /// Loads in the rest of the house, each between two ends of wires that go there.
    pub loads: Vec<(Spot, Spot, f64)>,
    /// How the switches control the light, in a word of the trade.
    pub scheme: &'static str,
    /// What is particular about it.
    pub features: Vec<&'static str>,
    /// What is wrong.
    pub faults: Vec<Fault>,
    /// Which light follows which switches: devices.
    pub chains: Vec<Chain>,
}

/// Switches and the lights they control.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Chain {
    /// The switches.
    pub switches: Vec<usize>,
    /// Their lights.
    pub lights: Vec<usize>,
}

impl Building {
    /// Every wire end in a box, in the order of cables and wires.
    pub fn ends_at(&self, outlet: usize) -> Vec<Spot> {
        let mut found = Vec::new();
        for (c, cable) in self.cables.iter().enumerate() {
            for side in 0..2 {
                if cable.ends[side] == Far::Outlet(outlet) {
                    found.extend((0..cable.strands.len()).map(|wire| Spot::Wire(c, wire, side)));
                }
            }
        }
        found
    }

    /// The cable ends in a box, each as cable and side, by their tags.
    pub fn cables_at(&self, outlet: usize) -> Vec<(usize, usize)> {
        let sides = (0..self.cables.len()).flat_map(|cable| [(cable, 0), (cable, 1)]);
        let mut here: Vec<(usize, usize)> =
            sides.filter(|&(cable, side)| self.cables[cable].ends[side] == Far::Outlet(outlet)).collect();
        here.sort_by(|a, b| {
            let tag = |&(cable, side): &(usize, usize)| &self.cables[cable].tags[side];
            tag(a).len().cmp(&tag(b).len()).then(tag(a).cmp(tag(b)))
        });
        here
    }

    /// The devices in a box.
    pub fn fixtures_at(&self, outlet: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.fixtures.len()).filter(move |&fixture| self.fixtures[fixture].outlet == outlet)
    }

    /// The box a spot is in; wire ends elsewhere are in none.
    pub fn outlet_of(&self, spot: Spot) -> Option<usize> {
        match spot {
            Spot::Wire(cable, _, side) => match self.cables[cable].ends[side] {
                Far::Outlet(outlet) => Some(outlet),
                Far::Panel | Far::Onward => None,
            },
            Spot::Screw(fixture, _) => Some(self.fixtures[fixture].outlet),
            Spot::Metal(outlet) => Some(outlet),
        }
    }

    /// The switches that the survey knows of.
    pub fn switches(&self) -> impl Iterator<Item = usize> + '_ {
        self.shown().filter(|&fixture| self.fixtures[fixture].kind.is_switch())
    }

    /// The lights that the survey knows of.
    pub fn lights(&self) -> impl Iterator<Item = usize> + '_ {
        self.shown().filter(|&fixture| self.fixtures[fixture].kind.is_light())
    }

    /// Devices in boxes that are known, in the order of the survey.
    fn shown(&self) -> impl Iterator<Item = usize> + '_ {
        let known = (0..self.outlets.len()).filter(|&outlet| self.outlets[outlet].known);
        known.flat_map(|outlet| self.fixtures_at(outlet).collect::<Vec<_>>())
    }
}

impl Fixture {
    /// The screws it has.
    pub fn screws(&self) -> &'static [Terminal] {
        use Terminal::*;
        match self.kind {
            DeviceKind::SinglePole | DeviceKind::Dimmer => &[S1, S2],
            DeviceKind::Electronic => &[S1, S2, N1],
            DeviceKind::ThreeWay => &[Common, T1, T2],
            DeviceKind::FourWay | DeviceKind::DoublePole => &[A1, A2, B1, B2],
            DeviceKind::Light | DeviceKind::PullChain => &[Center, Shell],
            DeviceKind::Receptacle => &[H1, H2, N1, N2],
            DeviceKind::Switch => &[],
        }
    }

    /// The contacts that are closed with the handle thrown or not.
    pub fn closed(&self, thrown: bool) -> Vec<(Terminal, Terminal)> {
        use Terminal::*;
        let thrown = match self.broken {
            Some(Broken::Stuck(way)) => way,
            _ => thrown,
        };
        let mut closed = match (self.kind, thrown) {
            (DeviceKind::SinglePole | DeviceKind::Dimmer | DeviceKind::Electronic, true) => vec![(S1, S2)],
            (DeviceKind::ThreeWay, false) => vec![(Common, T1)],
            (DeviceKind::ThreeWay, true) => vec![(Common, T2)],
            (DeviceKind::FourWay, false) => vec![(A1, B1), (A2, B2)],
            (DeviceKind::FourWay, true) => vec![(A1, B2), (A2, B1)],
            (DeviceKind::DoublePole, true) => vec![(A1, B1), (A2, B2)],
            (DeviceKind::Receptacle, _) if self.halved != (self.broken == Some(Broken::Tab)) => {
                vec![(N1, N2)]
            }
            (DeviceKind::Receptacle, _) => vec![(H1, H2), (N1, N2)],
            _ => Vec::new(),
        };
        if self.kind.is_switch() && self.broken == Some(Broken::Throw(thrown)) {
            closed.clear();
        }
        closed
    }
}
