//! What shall control what: boxes, devices, and which screws belong together.

use super::super::building::{Chain, Fixture, Lamp, Outlet, Undone};
use super::super::features::Scheme;
use super::{Draft, Net, Pin};
use crate::house::{BoxKind, DeviceKind, LampKind, Reach, Terminal};

const SWITCHES: [&str; 7] =
    ["hall", "upper landing", "back door", "cellar head", "porch", "side door", "attic stair"];
const LIGHTS: [&str; 4] = ["stair ceiling", "hall ceiling", "landing ceiling", "porch ceiling"];
const JUNCTIONS: [&str; 3] = ["attic box", "cellar box", "closet box"];

impl Draft<'_> {
    /// Boxes, devices and pins of the chain the call is about.
    pub(super) fn plan(&mut self, scheme: Scheme) {
        let mut chain = Chain::default();
        let count = match scheme {
            Scheme::PullChain => 0,
            Scheme::SinglePole => 1,
            Scheme::Conventional | Scheme::TwoFeeds => 2 + self.four_ways(),
            Scheme::CommonsJoined | Scheme::LampBetween => 2,
        };
        for at in 0..count {
            let kind = match (count, at) {
                (1, _) if self.often(0.08) => DeviceKind::Dimmer,
                (1, _) => DeviceKind::SinglePole,
                (_, 0) => DeviceKind::ThreeWay,
                (_, at) if at + 1 == count => DeviceKind::ThreeWay,
                _ => DeviceKind::FourWay,
            };
            let outlet = self.outlet(BoxKind::Switch);
            chain.switches.push(self.fixture(outlet, kind, "switch"));
        }
        let ceiling = self.outlet(BoxKind::Light);
        let kind = if scheme == Scheme::PullChain { DeviceKind::PullChain } else { DeviceKind::Light };
        let light = self.fixture(ceiling, kind, "light");
        chain.lights.push(light);
        self.connect(0, scheme, &chain);
        if count > 2 {
            self.mark("four-way");
        }
        self.building.chains.push(chain);
    }

    fn four_ways(&mut self) -> usize {
        let one = self.often(self.features.four_way);
        usize::from(one) + usize::from(one && self.often(self.features.four_way))
    }

    /// Which screws belong together.
    pub(super) fn connect(&mut self, number: usize, scheme: Scheme, chain: &Chain) {
        use Terminal::*;
        let light = chain.lights[0];
        let (line, neutral, load) = (Net::Line(0), Net::Neutral(0), Net::Load(number));
        match scheme {
            Scheme::PullChain => self.pin(line, light, Center),
            Scheme::SinglePole => {
                let (from, to) = if self.often(0.5) { (S1, S2) } else { (S2, S1) };
                self.pin(line, chain.switches[0], from);
                self.pin(load, chain.switches[0], to);
                self.pin(load, light, Center);
            }
            Scheme::Conventional | Scheme::TwoFeeds => {
                self.hops(number, chain);
                self.pin(load, light, Center);
            }
            Scheme::CommonsJoined => {
                for &switch in &chain.switches {
                    let (one, other) = self.either();
                    self.pin(line, switch, one);
                    self.pin(load, switch, other);
                    self.pin(Net::Tie(number), switch, Common);
                }
                self.pin(load, light, Center);
            }
            Scheme::LampBetween => {
                for (at, &switch) in chain.switches.iter().enumerate() {
                    let (one, other) = self.either();
                    self.pin(line, switch, one);
                    self.pin(neutral, switch, other);
                    self.pin(Net::Lead(number, at), switch, Common);
                    self.pin(Net::Lead(number, at), light, if at == 0 { Center } else { Shell });
                }
            }
        }
        match scheme {
            Scheme::LampBetween => {}
            Scheme::TwoFeeds => self.pin(Net::Neutral(1), light, Shell),
            _ => self.pin(neutral, light, Shell),
        }
    }

    /// Line, travelers from switch to switch, load.
    fn hops(&mut self, number: usize, chain: &Chain) {
        use Terminal::*;
        let (first, last) = (0, chain.switches.len() - 1);
        for (at, &switch) in chain.switches.iter().enumerate() {
            if at == first {
                self.pin(Net::Line(0), switch, Common);
            }
            if at == last {
                self.pin(Net::Load(number), switch, Common);
            }
            let back = at.checked_sub(1);
            let (into, out) =
                if at == first || at == last { ([T1, T2], [T1, T2]) } else { ([A1, A2], [B1, B2]) };
            if let Some(hop) = back {
                let (one, other) = if self.often(0.5) { (0, 1) } else { (1, 0) };
                self.pin(Net::Traveler(number, hop, 0), switch, into[one]);
                self.pin(Net::Traveler(number, hop, 1), switch, into[other]);
            }
            if at < last {
                self.pin(Net::Traveler(number, at, 0), switch, out[0]);
                self.pin(Net::Traveler(number, at, 1), switch, out[1]);
            }
        }
    }

    fn either(&mut self) -> (Terminal, Terminal) {
        if self.often(0.5) { (Terminal::T1, Terminal::T2) } else { (Terminal::T2, Terminal::T1) }
    }

    pub(super) fn pin(&mut self, net: Net, fixture: usize, terminal: Terminal) {
        self.pins.push(Pin { net, fixture, terminal });
    }

    /// A new box somewhere in the house.
    pub(super) fn outlet(&mut self, kind: BoxKind) -> usize {
        let at = self.building.outlets.len();
        let before = self.building.outlets.iter().filter(|outlet| outlet.kind == kind).count();
        let names: &[&str] = match kind {
            BoxKind::Switch => &SWITCHES,
            BoxKind::Light => &LIGHTS,
            BoxKind::Junction => &JUNCTIONS,
            BoxKind::Receptacle => &["hall outlet", "landing outlet", "porch outlet"],
        };
        let name = names.get(before).map_or_else(|| format!("box {at}"), |name| (*name).to_owned());
        let floor = 1 + (if kind == BoxKind::Switch { before % 2 } else { self.chance.below(2) }) as i8;
        let height = match kind {
            BoxKind::Switch => 1.2,
            BoxKind::Receptacle => 0.3,
            BoxKind::Light | BoxKind::Junction => 2.5,
        };
        let reach = match kind {
            BoxKind::Light if self.often(0.4) => Reach::Ladder,
            BoxKind::Light | BoxKind::Junction => Reach::Steps,
            BoxKind::Switch | BoxKind::Receptacle => Reach::Stand,
        };
        let place = [
            self.chance.between(0.0, 8.0),
            self.chance.between(0.0, 5.0),
            2.7 * f64::from(floor - 1) + height,
        ];
        self.building.outlets.push(Outlet {
            name,
            kind,
            known: true,
            opened: true,
            floor,
            reach,
            metal: self.chance.often(0.8),
            place,
            meant: Vec::new(),
            joints: Vec::new(),
            undone: Undone::Nothing,
            bundled: false,
            chafed: None,
        });
        at
    }

    /// A new device in a box.
    pub(super) fn fixture(&mut self, outlet: usize, kind: DeviceKind, name: &str) -> usize {
        let labels =
            self.chance.weighted(&[(0.8, ["up", "down"]), (0.1, ["left", "right"]), (0.1, ["1", "2"])]);
        let lamp = kind.is_light().then(|| self.lamp());
        self.building.fixtures.push(Fixture {
            name: name.to_owned(),
            outlet,
            kind,
            said: kind,
            unmarked: None,
            lamp,
            chain_off: false,
            labels: labels.unwrap_or(["up", "down"]),
            flipped: self.chance.often(0.5),
            halved: false,
            broken: None,
        });
        self.building.fixtures.len() - 1
    }

    fn lamp(&mut self) -> Lamp {
        let kind = if self.often(self.features.other_lamp) {
            self.chance.weighted(&[(0.7, LampKind::Led), (0.3, LampKind::Cfl)]).unwrap_or_default()
        } else {
            LampKind::Incandescent
        };
        let watts = match kind {
            LampKind::Incandescent => self.chance.pick(&[40.0, 60.0, 60.0, 75.0, 100.0]),
            _ => self.chance.pick(&[7.0, 9.0, 13.0]),
        };
        let unknown = self.often(self.features.other_lamp / 2.0);
        if kind != LampKind::Incandescent {
            self.mark("electronic-lamp");
        }
        Lamp {
            kind,
            said: if unknown { LampKind::Unknown } else { kind },
            watts: watts.unwrap_or(60.0),
            cold: self.chance.between(11.0, 15.0),
            out: false,
        }
    }

    /// Boxes of splices, known or buried.
    pub(super) fn junctions(&mut self) {
        for nth in 0..2 {
            if !self.often(if nth == 0 { self.features.junction } else { self.features.junction / 2.0 }) {
                return;
            }
            let at = self.outlet(BoxKind::Junction);
            if self.often(self.features.buried) {
                self.building.outlets[at].known = false;
                self.building.outlets[at].opened = false;
            }
        }
    }

    /// Where the feed enters: line, and neutral, which singles may bring to another box.
    pub(super) fn enter(&mut self) {
        let weigh = |kind: BoxKind| match kind {
            BoxKind::Switch => 1.0,
            BoxKind::Light => 2.0,
            BoxKind::Junction => 3.0,
            BoxKind::Receptacle => 0.7,
        };
        let all: Vec<(f64, usize)> =
            self.building.outlets.iter().enumerate().map(|(at, outlet)| (weigh(outlet.kind), at)).collect();
        let line = self.chance.weighted(&all).unwrap_or(0);
        let elsewhere = self.singles && self.often(0.5);
        let neutral = if elsewhere { self.chance.weighted(&all).unwrap_or(line) } else { line };
        self.entries.push((Net::Line(0), line));
        self.entries.push((Net::Neutral(0), neutral));
        if line != neutral {
            self.mark("split-feed");
        }
    }
}
