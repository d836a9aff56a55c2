//! Joints in each box, and what a visitor finds of them.

use super::super::building::{Far, Joint, Outlet, Spot, Undone};
use super::{Draft, Net};
use crate::house::{BoxKind, DeviceKind};
use std::collections::{BTreeMap, BTreeSet};

impl Draft<'_> {
    /// Whether every box of splices joins three cables at least, or changes a colour.
    pub(super) fn boxes_earn_their_place(&self) -> bool {
        let outlets = self.building.outlets.iter().enumerate();
        let mut junctions = outlets.filter(|(_, outlet)| outlet.kind == BoxKind::Junction);
        junctions.all(|(at, outlet)| {
            // What lies between panel and rest of the house, and comes here by one cable, is of no interest.
            let mut cables: Vec<(usize, usize)> = self.building.cables_at(at);
            let far = |&(cable, side): &(usize, usize)| self.building.cables[cable].ends[1 - side];
            if !outlet.known {
                cables.retain(|end| far(end) != Far::Onward);
            }
            let near = cables.iter().filter(|end| far(end) != Far::Panel).count();
            match cables.len() {
                _ if !outlet.known && near < 2 => false,
                0 | 1 => false,
                2 if outlet.known => true,
                2 => !self.straight_through(at),
                _ => !self.singles || self.tapped(at),
            }
        })
    }

    /// Whether three singles meet.
    fn tapped(&self, outlet: usize) -> bool {
        let ends = self.building.ends_at(outlet);
        ends.iter().any(|&end| ends.iter().filter(|&&other| self.net(other) == self.net(end)).count() > 2)
    }

    /// Whether each wire of one cable only meets the wire of its own colour in the other.
    fn straight_through(&self, outlet: usize) -> bool {
        let mut words: BTreeMap<Net, BTreeSet<&str>> = BTreeMap::new();
        for end in self.building.ends_at(outlet) {
            if let Spot::Wire(cable, wire, side) = end {
                let word =
                    self.building.cables[cable].strands[wire].words[side].trim_end_matches(char::is_numeric);
                words.entry(self.net(end)).or_default().insert(word);
            }
        }
        words.values().all(|words| words.len() == 1)
    }

    /// Tags each cable end in the order in which it comes to hand.
    pub(super) fn tag(&mut self) {
        for outlet in 0..self.building.outlets.len() {
            let mut sides: Vec<(usize, usize)> = self.building.cables_at(outlet);
            self.chance.shuffle(&mut sides);
            for (nth, (cable, side)) in sides.into_iter().enumerate() {
                let letter = char::from(b'a' + (nth % 26) as u8).to_string();
                self.building.cables[cable].tags[side] =
                    if nth < 26 { letter } else { format!("{letter}{}", nth / 26) };
            }
        }
    }

    /// The joints of every box, as they were meant.
    pub(super) fn make_up(&mut self) {
        for outlet in 0..self.building.outlets.len() {
            let mut together: BTreeMap<(Net, bool), Vec<Spot>> = BTreeMap::new();
            for end in self.building.ends_at(outlet) {
                together.entry((self.net(end), self.is_home(outlet, end))).or_default().push(end);
            }
            for pin in &self.pins {
                let fixture = &self.building.fixtures[pin.fixture];
                if fixture.outlet == outlet {
                    let homes = self.home.is_some_and(|home| home.outlet == outlet && home.net == pin.net);
                    let home = homes && fixture.kind.is_light();
                    let spot = Spot::Screw(pin.fixture, pin.terminal);
                    together.entry((pin.net, home)).or_default().push(spot);
                }
            }
            if self.building.outlets[outlet].metal {
                let ground = together.get_mut(&(Net::Ground, false));
                ground.into_iter().for_each(|ground| ground.push(Spot::Metal(outlet)));
            }
            together.retain(|(net, _), spots| *net != Net::Spare && spots.len() > 1);
            let joints: Vec<Joint> = together.into_values().map(|spots| self.joint(spots)).collect();
            let outlet = &mut self.building.outlets[outlet];
            outlet.meant.clone_from(&joints);
            outlet.joints = joints;
        }
    }

    fn is_home(&self, outlet: usize, end: Spot) -> bool {
        let Spot::Wire(cable, ..) = end else { return false };
        self.home.is_some_and(|home| {
            home.outlet == outlet
                && home.net == self.net(end)
                && self.building.cables[cable].way == Some(home.route)
        })
    }

    /// Two wires for one screw lie under it now and then; otherwise they are spliced to a tail.
    fn joint(&mut self, spots: Vec<Spot>) -> Joint {
        let wires = spots.iter().filter(|spot| matches!(spot, Spot::Wire(..))).count();
        let screws: Vec<&Spot> = spots.iter().filter(|spot| matches!(spot, Spot::Screw(..))).collect();
        let doubled = wires == 2 && screws.len() == 1 && self.chance.often(0.3);
        Joint { spots, doubled, poor: Vec::new() }
    }

    /// Which boxes were opened, and what was seen of the devices in the others.
    pub(super) fn look(&mut self) {
        let outlets = self.building.outlets.len();
        let switches: Vec<usize> =
            (0..outlets).filter(|&at| self.building.outlets[at].kind == BoxKind::Switch).collect();
        let kept = self.chance.pick(&switches);
        for at in 0..outlets {
            let shut = match self.building.outlets[at].kind {
                _ if !self.building.outlets[at].known => 1.0,
                BoxKind::Switch if Some(at) != kept => self.features.switch_shut,
                BoxKind::Switch => 0.0,
                BoxKind::Light if switches.is_empty() => 0.0,
                BoxKind::Light | BoxKind::Junction => self.features.light_shut,
                BoxKind::Receptacle => self.features.light_shut / 2.0,
            };
            let shut = shut >= 1.0 || self.chance.often(shut);
            self.building.outlets[at].opened = !shut;
            if shut && self.building.outlets[at].kind == BoxKind::Switch {
                self.mark("switch-shut");
            }
        }
        for outlet in 0..outlets {
            if self.ends_unused_in_the_dark(outlet) {
                self.mark("beyond: neutral ends in the dark");
            }
        }
        self.buried();
        self.unseen_types();
    }

    fn buried(&mut self) {
        match self.building.outlets.iter().filter(|outlet| !outlet.known).count() {
            0 => {}
            1 => self.mark("buried"),
            _ => self.mark("two-buried"),
        }
    }

    /// Of a switch in a box that stays shut the type may not be known.
    fn unseen_types(&mut self) {
        for at in 0..self.building.fixtures.len() {
            let shut = !self.building.outlets[self.building.fixtures[at].outlet].opened;
            let kind = self.building.fixtures[at].kind;
            if shut && matches!(kind, DeviceKind::SinglePole | DeviceKind::ThreeWay) && self.chance.often(0.5)
            {
                self.building.fixtures[at].said = DeviceKind::Switch;
            }
        }
    }

    /// A neutral that ends unused in a box that nobody looks into.
    fn ends_unused_in_the_dark(&self, outlet: usize) -> bool {
        let here = &self.building.outlets[outlet];
        let joined: BTreeSet<Spot> =
            here.meant.iter().flat_map(|joint| joint.spots.iter().copied()).collect();
        !here.opened
            && self
                .building
                .ends_at(outlet)
                .iter()
                .any(|end| matches!(self.net(*end), Net::Neutral(_)) && !joined.contains(end))
    }

    /// Boxes that somebody took apart before the survey.
    pub(super) fn take_apart(&mut self) {
        let outlets = &self.building.outlets;
        let mut open: Vec<usize> = (0..outlets.len())
            .filter(|&at| outlets[at].kind == BoxKind::Switch && outlets[at].opened)
            .collect();
        self.chance.shuffle(&mut open);
        let [first, others] = self.features.apart;
        if open.is_empty() || !self.often(first) {
            return;
        }
        if !self.often(others) {
            open.truncate(1);
        }
        self.mark(if open.len() > 1 { "several-apart" } else { "apart" });
        for at in open {
            let in_part = self.often(self.features.in_part);
            if in_part {
                self.mark("apart-in-part");
            }
            let undone = if in_part { self.device_off(at) } else { Undone::All };
            undo(&mut self.building.outlets[at], undone);
        }
    }

    /// Boxes whose splices lie under one bundle of tape.
    pub(super) fn bundle(&mut self) {
        for at in 0..self.building.outlets.len() {
            let here = &self.building.outlets[at];
            let splice = |joint: &Joint| joint.spots.iter().all(|spot| !matches!(spot, Spot::Screw(..)));
            let whole = here.opened && matches!(here.undone, Undone::Nothing);
            if whole && here.joints.iter().any(splice) && self.often(self.features.bundled) {
                self.building.outlets[at].bundled = true;
                self.mark("bundled");
            }
        }
    }

    /// The device is off: its screws, and the wires that were under them by themselves.
    fn device_off(&self, outlet: usize) -> Undone {
        let here = &self.building.outlets[outlet];
        let mut off = Vec::new();
        for joint in &here.joints {
            let screw = |spot: &&Spot| matches!(spot, Spot::Screw(..));
            if !joint.spots.iter().any(|spot| screw(&spot)) {
                continue;
            }
            let alone = joint.doubled || joint.spots.iter().filter(|spot| !screw(spot)).count() < 2;
            off.extend(joint.spots.iter().filter(|spot| alone || screw(spot)));
        }
        Undone::Spots(off)
    }
}

/// Takes joints apart.
fn undo(outlet: &mut Outlet, undone: Undone) {
    match &undone {
        Undone::Nothing => {}
        Undone::All => outlet.joints.clear(),
        Undone::Spots(spots) => {
            for joint in &mut outlet.joints {
                joint.spots.retain(|spot| !spots.contains(spot));
            }
            outlet.joints.retain(|joint| joint.spots.len() > 1);
        }
    }
    outlet.undone = undone;
}
