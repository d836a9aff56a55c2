//! What was in the walls: roles by what each wire is for, where cables go, where the feed enters.

use super::building::{Building, Cable, Far, Fault, Joint, Pole, Spot};
use crate::house::{DeviceKind, Role, Terminal};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A wire end and what it is for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Purpose {
    /// Its role.
    pub role: Role,
    /// The circuit, of a line or a neutral.
    pub circuit: Option<String>,
}

/// All that a verdict can be held against.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Truth {
    /// How the switches control the light.
    pub scheme: &'static str,
    /// What is particular about the house.
    pub features: Vec<&'static str>,
    /// The box where line enters.
    pub feed: String,
    /// Wire ends at opened boxes, `BOX/tag.wire`.
    pub wires: BTreeMap<String, Purpose>,
    /// Cable ends at opened boxes, `BOX/tag`, and where the other end is.
    pub ends: BTreeMap<String, String>,
    /// Screws of devices whose screws nobody can tell apart: `BOX/device`, then screw and terminal.
    pub screws: BTreeMap<String, BTreeMap<String, String>>,
    /// What is wrong.
    pub faults: Vec<Fault>,
}

/// Spots that touch, by the first of them.
#[derive(Default)]
struct Touching(BTreeMap<Spot, Spot>);

impl Touching {
    fn root(&self, mut spot: Spot) -> Spot {
        while let Some(&up) = self.0.get(&spot) {
            spot = up;
        }
        spot
    }

    fn join(&mut self, one: Spot, other: Spot) {
        let (a, b) = (self.root(one), self.root(other));
        if a != b {
            self.0.insert(a, b);
        }
    }
}

/// What a piece of metal reaches with every contact open and every lamp out.
#[derive(Default)]
struct Reached {
    line: Option<usize>,
    neutral: Option<usize>,
    ground: bool,
    screws: Vec<(usize, Terminal)>,
    ends: usize,
}

impl Building {
    /// The truth, by what was meant.
    pub fn truth(&self) -> Truth {
        let meant: Vec<&[Joint]> = self.outlets.iter().map(|outlet| &outlet.meant[..]).collect();
        Truth {
            scheme: self.scheme,
            features: self.features.clone(),
            feed: self.feed_outlet().map_or_else(String::new, |outlet| self.outlet_name(outlet)),
            wires: self.purposes(&meant),
            ends: self.far_ends(),
            screws: self.screws(),
            faults: self.faults.clone(),
        }
    }

    /// What each wire end at an opened box is for, once the joints now in the boxes are those that count.
    pub fn purposes_as_joined(&self) -> BTreeMap<String, Purpose> {
        let now: Vec<&[Joint]> = self.outlets.iter().map(|outlet| &outlet.joints[..]).collect();
        self.purposes(&now)
    }

    /// The box where the first circuit's line enters.
    pub fn feed_outlet(&self) -> Option<usize> {
        let line = |cable: &Cable| cable.strands.iter().any(|strand| strand.pole == Some((0, Pole::Line)));
        let feed = self.cables.iter().position(line)?;
        let (cable, side) = self.followed(feed, 0);
        match self.cables[cable].ends[side] {
            Far::Outlet(outlet) => Some(outlet),
            Far::Panel | Far::Onward => None,
        }
    }

    fn purposes(&self, joints: &[&[Joint]]) -> BTreeMap<String, Purpose> {
        let mut touching = Touching::default();
        for joint in joints.iter().flat_map(|joints| joints.iter()) {
            joint.spots.windows(2).for_each(|pair| touching.join(pair[0], pair[1]));
        }
        for (c, cable) in self.cables.iter().enumerate() {
            (0..cable.strands.len())
                .for_each(|wire| touching.join(Spot::Wire(c, wire, 0), Spot::Wire(c, wire, 1)));
        }
        let reached = self.reached(&touching, joints);
        let opened = (0..self.outlets.len()).filter(|&outlet| self.outlets[outlet].opened);
        let ends = opened.flat_map(|outlet| self.ends_at(outlet));
        ends.map(|end| {
            let purpose = reached.get(&touching.root(end)).map_or_else(
                || Purpose { role: Role::Spare, circuit: None },
                |reached| self.purpose(end, reached),
            );
            (self.name(end), purpose)
        })
        .collect()
    }

    fn reached(&self, touching: &Touching, joints: &[&[Joint]]) -> BTreeMap<Spot, Reached> {
        let mut reached: BTreeMap<Spot, Reached> = BTreeMap::new();
        for (c, cable) in self.cables.iter().enumerate() {
            for (wire, strand) in cable.strands.iter().enumerate() {
                let here = reached.entry(touching.root(Spot::Wire(c, wire, 0))).or_default();
                here.ends += 1;
                match strand.pole {
                    Some((circuit, Pole::Line)) => here.line = Some(circuit),
                    Some((circuit, Pole::Neutral)) => here.neutral = Some(circuit),
                    Some((_, Pole::Ground)) => here.ground = true,
                    None => {}
                }
                here.ground |= matches!(strand.words[0].as_str(), "bare" | "green");
            }
        }
        for &spot in joints.iter().flat_map(|joints| joints.iter()).flat_map(|joint| &joint.spots) {
            let here = reached.entry(touching.root(spot)).or_default();
            match spot {
                Spot::Screw(fixture, terminal) => here.screws.push((fixture, terminal)),
                Spot::Metal(_) => here.ground = true,
                Spot::Wire(..) => {}
            }
        }
        reached
    }

    /// The role of a wire end, decided in the agreed order.
    fn purpose(&self, end: Spot, reached: &Reached) -> Purpose {
        let at_light = |(fixture, _): &(usize, Terminal)| self.fixtures[*fixture].kind.is_light();
        let of = |number: usize, role: Role| {
            let circuit = &self.circuits[number];
            // Another circuit's, unless a light in question returns by it.
            let its = number == 0 || (role == Role::Neutral && reached.screws.iter().any(at_light));
            let role = if circuit.listed && its { role } else { Role::Other };
            Purpose { role, circuit: circuit.listed.then(|| circuit.name.clone()) }
        };
        let plain = |role: Role| Purpose { role, circuit: None };
        if let Some(circuit) = reached.line {
            return of(circuit, Role::Line);
        }
        if let Some(circuit) = reached.neutral {
            return of(circuit, Role::Neutral);
        }
        let loads = |(fixture, _): &(usize, Terminal)| {
            let kind = self.fixtures[*fixture].kind;
            kind.is_light() || kind == DeviceKind::Receptacle
        };
        let known = |(fixture, _): &(usize, Terminal)| self.outlets[self.fixtures[*fixture].outlet].known;
        let (lights, others): (Vec<_>, Vec<_>) = reached.screws.iter().copied().partition(loads);
        let common = |(_, terminal): &(usize, Terminal)| *terminal == Terminal::Common;
        match () {
            () if lights.iter().any(known) => plain(Role::Load),
            () if !lights.is_empty() => plain(Role::Other),
            () if !others.is_empty() && others.iter().all(common) => plain(Role::Tie),
            () if !others.is_empty() => plain(Role::Traveler),
            () if reached.ground || self.is_bare(end) => plain(Role::Ground),
            () => plain(Role::Spare),
        }
    }

    pub(super) fn is_bare(&self, end: Spot) -> bool {
        match end {
            Spot::Wire(cable, wire, side) => {
                matches!(self.cables[cable].strands[wire].words[side].as_str(), "bare" | "green")
            }
            Spot::Screw(..) | Spot::Metal(_) => false,
        }
    }

    fn far_ends(&self) -> BTreeMap<String, String> {
        let mut ends = BTreeMap::new();
        for (c, cable) in self.cables.iter().enumerate() {
            for side in 0..2 {
                let Far::Outlet(here) = cable.ends[side] else { continue };
                if !self.outlets[here].opened {
                    continue;
                }
                let (far, end) = self.followed(c, 1 - side);
                let far = match self.cables[far].ends[end] {
                    Far::Outlet(there) if !self.outlets[there].opened => self.outlet_name(there),
                    _ => self.end_name(far, end),
                };
                ends.insert(self.end_name(c, side), far);
            }
        }
        ends
    }

    /// A cable end; or, where a single is spliced in the dark to one other single and to nothing else, the far end of
    /// that one: two lengths of one wire.
    fn followed(&self, cable: usize, side: usize) -> (usize, usize) {
        let (mut cable, mut side) = (cable, side);
        for _ in 0..self.cables.len() {
            let Far::Outlet(outlet) = self.cables[cable].ends[side] else { break };
            let end = Spot::Wire(cable, 0, side);
            let single =
                |spot: &Spot| matches!(spot, Spot::Wire(c, ..) if self.cables[*c].strands.len() == 1);
            let mut joints = self.outlets[outlet].meant.iter();
            let joint = joints.find(|joint| joint.spots.contains(&end) && joint.spots.iter().all(single));
            let Some(joint) = joint.filter(|joint| !self.outlets[outlet].known && joint.spots.len() == 2)
            else {
                break;
            };
            let Some(Spot::Wire(next, _, here)) = joint.spots.iter().copied().find(|spot| *spot != end)
            else {
                break;
            };
            (cable, side) = (next, 1 - here);
        }
        (cable, side)
    }

    fn screws(&self) -> BTreeMap<String, BTreeMap<String, String>> {
        let fixtures = self.fixtures.iter().enumerate();
        let unmarked =
            fixtures.filter_map(|(at, fixture)| fixture.unmarked.as_ref().map(|order| (at, order)));
        let words = |order: &Vec<Terminal>| {
            let each = order.iter().enumerate();
            each.map(|(at, terminal)| (format!("x{}", at + 1), terminal.word().into_owned())).collect()
        };
        unmarked.map(|(at, order)| (self.fixture_name(at), words(order))).collect()
    }

    /// Features of the house that lie outside what the design takes houses to be.
    pub fn beyond(&self) -> BTreeSet<&'static str> {
        self.features.iter().copied().filter(|feature| feature.starts_with("beyond")).collect()
    }
}
