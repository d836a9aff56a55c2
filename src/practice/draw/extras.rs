//! What else is on the same cables: more lights, receptacles, another chain of switches.

use super::super::building::Chain;
use super::super::features::Scheme;
use super::{Draft, Net};
use crate::house::{BoxKind, DeviceKind, Terminal};

impl Draft<'_> {
    /// All that was asked for beside the chain the call is about.
    pub(super) fn extras(&mut self, scheme: Scheme) {
        if self.often(self.features.second_light) {
            self.second_light();
        }
        if self.often(self.features.other_light) {
            self.other_light();
        }
        if self.often(self.features.receptacle) {
            self.receptacle(scheme);
        }
        if self.often(self.features.second_chain) {
            self.second_chain();
        }
    }

    /// The net that was meant for a screw.
    fn net_at(&self, fixture: usize, terminal: Terminal) -> Option<Net> {
        let here = self.pins.iter().find(|pin| pin.fixture == fixture && pin.terminal == terminal);
        here.map(|pin| pin.net)
    }

    /// One more light that comes on with the first.
    fn second_light(&mut self) {
        let Some(&first) = self.building.chains.first().and_then(|chain| chain.lights.first()) else {
            return;
        };
        if self.building.fixtures[first].kind == DeviceKind::PullChain {
            return;
        }
        let outlet = self.outlet(BoxKind::Light);
        let light = self.fixture(outlet, DeviceKind::Light, "light");
        for terminal in [Terminal::Center, Terminal::Shell] {
            if let Some(net) = self.net_at(first, terminal) {
                self.pin(net, light, terminal);
            }
        }
        self.building.chains[0].lights.push(light);
        self.mark("second-light");
    }

    /// A light that no wall switch controls.
    fn other_light(&mut self) {
        let pull = self.chance.often(0.7);
        let outlet = self.outlet(BoxKind::Light);
        let kind = if pull { DeviceKind::PullChain } else { DeviceKind::Light };
        let light = self.fixture(outlet, kind, "light");
        self.pin(Net::Line(0), light, Terminal::Center);
        self.pin(Net::Neutral(0), light, Terminal::Shell);
        self.mark(if pull { "pull-chain-beside" } else { "light-always-on" });
    }

    fn receptacle(&mut self, scheme: Scheme) {
        let outlet = self.outlet(BoxKind::Receptacle);
        let device = self.fixture(outlet, DeviceKind::Receptacle, "receptacle");
        let (one, other) =
            if self.chance.often(0.5) { (Terminal::H1, Terminal::H2) } else { (Terminal::H2, Terminal::H1) };
        let loads = matches!(scheme, Scheme::SinglePole | Scheme::Conventional | Scheme::CommonsJoined);
        let share = if loads { 0.2 } else { 0.0 };
        let how = self.chance.weighted(&[
            (0.6, "receptacle"),
            (share, "receptacle-switched"),
            (share, "receptacle-half-switched"),
        ]);
        let how = how.unwrap_or("receptacle");
        let always = how != "receptacle-switched";
        self.pin(if always { Net::Line(0) } else { Net::Load(0) }, device, one);
        if how == "receptacle-half-switched" {
            self.pin(Net::Load(0), device, other);
            self.building.fixtures[device].halved = true;
        }
        self.pin(Net::Neutral(0), device, Terminal::N1);
        self.mark(how);
    }

    /// One switch and its light, sometimes in a box that has a switch already.
    fn second_chain(&mut self) {
        let boxes: Vec<usize> = (0..self.building.outlets.len())
            .filter(|&at| self.building.outlets[at].kind == BoxKind::Switch)
            .collect();
        let shared = self.chance.pick(&boxes).filter(|_| self.chance.often(0.5));
        let outlet = shared.unwrap_or_else(|| self.outlet(BoxKind::Switch));
        let name = if shared.is_some() { "second switch" } else { "switch" };
        let switch = self.fixture(outlet, DeviceKind::SinglePole, name);
        let ceiling = self.outlet(BoxKind::Light);
        let light = self.fixture(ceiling, DeviceKind::Light, "light");
        let chain = Chain { switches: vec![switch], lights: vec![light] };
        self.connect(1, Scheme::SinglePole, &chain);
        self.building.chains.push(chain);
        self.mark("second-chain");
    }

    /// Switches on which nobody can tell the screws.
    pub(super) fn blank_screws(&mut self) {
        for at in 0..self.building.fixtures.len() {
            let fixture = &self.building.fixtures[at];
            let seen = self.building.outlets[fixture.outlet].opened && fixture.said == fixture.kind;
            if fixture.kind.is_switch() && seen && self.often(self.features.unmarked) {
                let mut order = self.building.fixtures[at].screws().to_vec();
                self.chance.shuffle(&mut order);
                self.building.fixtures[at].unmarked = Some(order);
                self.mark("unmarked");
            }
        }
    }
}
