//! What things are called in the job file, both ways.

use super::building::{Building, Far, Spot};
use crate::house::Terminal;

/// Where a probe is put.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Probe {
    /// The call's reference.
    Earth,
    /// A spot in a box.
    At(Spot),
}

impl Building {
    /// A spot's name without its box.
    pub fn local_name(&self, spot: Spot) -> String {
        match spot {
            Spot::Wire(cable, wire, side) => {
                let cable = &self.cables[cable];
                format!("{}.{}", cable.tags[side], cable.strands[wire].words[side])
            }
            Spot::Screw(fixture, terminal) => {
                format!("{}.{}", self.fixtures[fixture].name, self.screw_name(fixture, terminal))
            }
            Spot::Metal(_) => "metal".to_owned(),
        }
    }

    /// What the survey calls a screw.
    fn screw_name(&self, fixture: usize, terminal: Terminal) -> String {
        let unmarked = self.fixtures[fixture].unmarked.as_ref();
        let place = unmarked.and_then(|order| order.iter().position(|known| *known == terminal));
        place.map_or_else(|| terminal.word().into_owned(), |place| format!("x{}", place + 1))
    }

    /// A spot's name with its box.
    pub fn name(&self, spot: Spot) -> String {
        let outlet = self.outlet_of(spot).map_or("", |outlet| self.outlets[outlet].name.as_str());
        format!("{outlet}/{}", self.local_name(spot))
    }

    /// A device's name with its box.
    pub fn fixture_name(&self, fixture: usize) -> String {
        let device = &self.fixtures[fixture];
        format!("{}/{}", self.outlets[device.outlet].name, device.name)
    }

    /// A cable end's name with its box; elsewhere where it is.
    pub fn end_name(&self, cable: usize, side: usize) -> String {
        match self.cables[cable].ends[side] {
            Far::Outlet(outlet) => format!("{}/{}", self.outlets[outlet].name, self.cables[cable].tags[side]),
            Far::Panel => "panel".to_owned(),
            Far::Onward => "onward".to_owned(),
        }
    }

    /// What a verdict calls a box: its name, or for a box nobody knows of `buried-1`, `buried-2`.
    pub fn outlet_name(&self, outlet: usize) -> String {
        if self.outlets[outlet].known {
            return self.outlets[outlet].name.clone();
        }
        let before = self.outlets[..outlet].iter().filter(|outlet| !outlet.known).count();
        format!("buried-{}", before + 1)
    }

    /// A box by name.
    pub fn outlet_called(&self, name: &str) -> Option<usize> {
        self.outlets.iter().position(|outlet| outlet.known && outlet.name == name)
    }

    /// A device by `BOX/device`, or by its box where only one `fits`.
    pub fn fixture_called(&self, name: &str, fits: impl Fn(usize) -> bool) -> Option<usize> {
        let whole = (0..self.fixtures.len()).find(|&fixture| self.fixture_name(fixture) == name);
        whole.or_else(|| {
            let outlet = self.outlet_called(name)?;
            let mut here = self.fixtures_at(outlet).filter(|&fixture| fits(fixture));
            here.next().filter(|_| here.next().is_none())
        })
    }

    /// A point by name; a name without a box is at `home`.
    pub fn probe(&self, name: &str, home: Option<usize>) -> Option<Probe> {
        if name == "earth" {
            return Some(Probe::Earth);
        }
        self.spot(name, home).map(Probe::At)
    }

    /// A spot by name; a name without a box is at `home`.
    pub fn spot(&self, name: &str, home: Option<usize>) -> Option<Spot> {
        let (outlet, local) = match name.split_once('/') {
            Some((outlet, local)) => (self.outlet_called(outlet)?, local),
            None => (home?, name),
        };
        if local == "metal" {
            return Some(Spot::Metal(outlet));
        }
        let wires = self.ends_at(outlet);
        let screws = self.fixtures_at(outlet).flat_map(|fixture| {
            self.fixtures[fixture].screws().iter().map(move |&terminal| Spot::Screw(fixture, terminal))
        });
        wires.into_iter().chain(screws).find(|&spot| self.local_name(spot) == local)
    }

    /// A cable end by its tag in a box.
    pub fn end_called(&self, name: &str, home: Option<usize>) -> Option<(usize, usize)> {
        let (outlet, tag) = match name.split_once('/') {
            Some((outlet, tag)) => (self.outlet_called(outlet)?, tag),
            None => (home?, name),
        };
        self.cables_at(outlet).into_iter().find(|&(cable, side)| self.cables[cable].tags[side] == tag)
    }
}
