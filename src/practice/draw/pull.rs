//! Cables off the reel: which wires go together, and which colour is given to what.

use super::super::building::{Cable, Far, Pole, Spot, Strand};
use super::{Draft, Net};
use crate::house::{Grounds, Sheath};

/// What is on the reel, by the number of insulated wires.
const COLOURS: [&[&str]; 5] =
    [&[], &["black"], &["black", "white"], &["black", "red", "white"], &["black", "blue", "red", "white"]];

impl Draft<'_> {
    /// The cables along every route that a net takes.
    pub(super) fn pull(&mut self) {
        self.choose_sheath();
        for route in 0..self.routes.len() {
            let mut nets: Vec<Net> =
                self.trails.iter().filter(|(_, trail)| trail.contains(&route)).map(|(net, _)| *net).collect();
            self.chance.shuffle(&mut nets);
            let [from, to] = self.routes[route].ends;
            let metres = self.routes[route].metres;
            let groups = self.groups(nets);
            if groups.len() > 1 && !self.singles {
                self.mark("parallel");
            }
            for group in groups {
                let metres = metres * self.chance.between(1.0, 1.3);
                self.add_cable([Far::Outlet(from), Far::Outlet(to)], group, metres, Some(route));
            }
        }
    }

    fn choose_sheath(&mut self) {
        let features = self.features;
        if self.singles {
            self.mark("singles");
            return;
        }
        if self.often(features.grounds) {
            self.building.built = 1962 + self.chance.below(12) as i32;
            self.building.grounds = if self.often(0.7) { Grounds::All } else { Grounds::Some };
            self.mark("grounds");
        } else if self.often(features.armored) {
            self.mark("armored");
        }
    }

    fn sheath(&mut self) -> Sheath {
        match () {
            () if self.singles => {
                if self.building.built % 3 == 0 {
                    Sheath::Conduit
                } else {
                    Sheath::KnobAndTube
                }
            }
            () if self.building.features.contains(&"armored") => Sheath::Armored,
            () if self.building.grounds != Grounds::None => Sheath::Nm,
            () => Sheath::ClothNm,
        }
    }

    /// Which nets share a cable.
    fn groups(&mut self, nets: Vec<Net>) -> Vec<Vec<Net>> {
        if self.singles {
            return nets.into_iter().map(|net| vec![net]).collect();
        }
        let apart = self.often(self.features.parallel);
        let sizes: &[usize] = match nets.len() {
            0 => return Vec::new(),
            1 => &[1],
            2 if apart && self.chance.often(0.3) => &[1, 1],
            2 => &[2],
            3 if apart => &[2, 1],
            3 => &[3],
            4 if apart || self.chance.often(0.5) => &[2, 2],
            4 if self.chance.often(0.4) => &[3, 1],
            4 => &[4],
            5 => &[3, 2],
            6 => &[3, 3],
            _ => &[4, 3],
        };
        let mut left = nets;
        // What comes home is pulled with what goes out: the neutral beside line or load, where there is a choice.
        left.sort_by_key(|net| !matches!(net, Net::Neutral(_) | Net::Line(_)));
        if self.chance.often(0.4) {
            self.chance.shuffle(&mut left);
        }
        let mut groups = Vec::new();
        for &size in sizes {
            let rest = left.split_off(size.min(left.len()));
            groups.push(left);
            left = rest;
        }
        if !left.is_empty() {
            groups.push(left);
        }
        groups
    }

    /// One cable; what its wires are called follows from what is on the reel, and from habit.
    pub(super) fn add_cable(
        &mut self,
        ends: [Far; 2],
        nets: Vec<Net>,
        metres: f64,
        along: Option<usize>,
    ) -> usize {
        let spare = nets.len() < 3 && self.often(self.features.spare);
        let size = if self.singles { 1 } else { (nets.len() + usize::from(spare)).clamp(2, 4) };
        let (mut words, mut carried) = self.coloured(size, nets);
        let bare = match self.building.grounds {
            Grounds::None => false,
            Grounds::Some => self.chance.often(0.6),
            Grounds::All => true,
        };
        if bare && !self.singles {
            words.push(["bare".to_owned(), "bare".to_owned()]);
            carried.push(Net::Ground);
        }
        let sheath = self.sheath();
        let strand = |words: [String; 2]| Strand { words, pole: None, broken: None };
        let cable = Cable {
            ends,
            tags: [String::new(), String::new()],
            sheath,
            noted: self.chance.often(0.3),
            metres,
            strands: words.into_iter().map(strand).collect(),
            shorts: Vec::new(),
            way: along,
        };
        self.building.cables.push(cable);
        self.carried.push(carried);
        self.building.cables.len() - 1
    }

    /// Colours for nets: white is the neutral where there is one, mostly; and what each end of it looks like.
    fn coloured(&mut self, size: usize, nets: Vec<Net>) -> (Vec<[String; 2]>, Vec<Net>) {
        let mut nets = nets;
        self.chance.shuffle(&mut nets);
        while nets.len() < size {
            nets.push(Net::Spare);
        }
        let colours: Vec<&str> = COLOURS[size.min(4)].to_vec();
        let white = nets.iter().position(|net| matches!(net, Net::Neutral(_))).or_else(|| {
            let supply = nets.iter().position(|net| matches!(net, Net::Line(_)));
            supply.filter(|_| self.chance.often(0.6))
        });
        if let Some(white) = white {
            let last = nets.len() - 1;
            nets.swap(white, last);
        }
        if self.often(self.features.no_habit) {
            self.mark("no-habit");
            self.chance.shuffle(&mut nets);
        }
        if size == 1 {
            return (self.single(nets[0]), nets);
        }
        if self.often(self.features.colourless) {
            self.mark("colourless");
            return (self.faded(size), nets);
        }
        (colours.iter().map(|colour| [(*colour).to_owned(), (*colour).to_owned()]).collect(), nets)
    }

    /// A single: nobody can tell its colour on knobs; in conduit it has one.
    fn single(&mut self, net: Net) -> Vec<[String; 2]> {
        let word = match (self.sheath(), net) {
            (Sheath::Conduit, Net::Neutral(_)) => "white",
            (Sheath::Conduit, _) => self.chance.pick(&["black", "black", "red", "blue"]).unwrap_or("black"),
            _ => "w1",
        };
        vec![[word.to_owned(), word.to_owned()]]
    }

    /// Wires that look alike: numbered as they come to hand, at each end anew.
    fn faded(&mut self, size: usize) -> Vec<[String; 2]> {
        let pair = size == 2 && self.chance.often(0.4);
        let stem = if pair { "black" } else { "w" };
        let mut there: Vec<usize> = (1..=size).collect();
        self.chance.shuffle(&mut there);
        (1..=size)
            .zip(there)
            .map(|(here, there)| [format!("{stem}{here}"), format!("{stem}{there}")])
            .collect()
    }

    /// The feed's cable, or its singles.
    pub(super) fn feed(&mut self) {
        let (mut line, mut neutral) = (0, 0);
        for (net, outlet) in self.entries.clone() {
            match net {
                Net::Line(_) => line = outlet,
                _ => neutral = outlet,
            }
        }
        let whole = vec![Net::Line(0), Net::Neutral(0)];
        let pulls = if self.singles {
            vec![(line, vec![whole[0]]), (neutral, vec![whole[1]])]
        } else {
            vec![(line, whole)]
        };
        for (outlet, nets) in pulls {
            let metres = self.chance.between(6.0, 22.0);
            let cable = self.add_cable([Far::Outlet(outlet), Far::Panel], nets, metres, None);
            let poles = self.carried[cable].iter().map(|net| match net {
                Net::Line(circuit) => Some((*circuit, Pole::Line)),
                Net::Neutral(circuit) => Some((*circuit, Pole::Neutral)),
                Net::Ground => Some((0, Pole::Ground)),
                _ => None,
            });
            let poles: Vec<_> = poles.collect();
            self.building.cables[cable]
                .strands
                .iter_mut()
                .zip(poles)
                .for_each(|(strand, pole)| strand.pole = pole);
        }
    }

    /// Cables to the rest of the house, from boxes that have line and neutral, with whatever hangs there.
    pub(super) fn onward(&mut self) {
        let mut pulled = 0;
        for outlet in 0..self.building.outlets.len() {
            let has = |net: Net| self.present(outlet, net);
            if !has(Net::Line(0)) || !has(Net::Neutral(0)) || pulled == 2 || !self.often(self.features.onward)
            {
                continue;
            }
            pulled += 1;
            self.mark("onward");
            let nets = vec![Net::Line(0), Net::Neutral(0)];
            let pulls =
                if self.singles { nets.into_iter().map(|net| vec![net]).collect() } else { vec![nets] };
            let mut far = Vec::new();
            for nets in pulls {
                let metres = self.chance.between(4.0, 15.0);
                let cable = self.add_cable([Far::Outlet(outlet), Far::Onward], nets, metres, None);
                let wires = self.carried[cable].iter().enumerate();
                let needed = wires.filter(|(_, net)| matches!(net, Net::Line(_) | Net::Neutral(_)));
                far.extend(needed.map(|(wire, _)| Spot::Wire(cable, wire, 1)));
            }
            let ohms = self.chance.weighted(&[
                (0.4, None),
                (0.15, Some(18.0)),
                (0.25, Some(120.0)),
                (0.2, Some(900.0)),
            ]);
            if let (Some(ohms), [one, other]) = (ohms.flatten(), &far[..]) {
                self.building.loads.push((*one, *other, ohms));
            }
        }
    }

    /// Whether a net is in a box.
    pub(super) fn present(&self, outlet: usize, net: Net) -> bool {
        let pinned = self
            .pins
            .iter()
            .any(|pin| pin.net == net && self.building.fixtures[pin.fixture].outlet == outlet);
        pinned || self.building.ends_at(outlet).iter().any(|&end| self.net(end) == net)
    }

    /// What a wire end was pulled for.
    pub(super) fn net(&self, end: Spot) -> Net {
        match end {
            Spot::Wire(cable, wire, _) => self.carried[cable][wire],
            Spot::Screw(..) | Spot::Metal(_) => Net::Spare,
        }
    }
}
