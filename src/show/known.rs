//! A verdict looked up by the things in the house it speaks of.

use crate::house::{BoxId, EndId, House, WireId};
use crate::verdict::{BoxRoles, CableFound, Landing, Role, Verdict, WireFound};
use std::collections::BTreeMap;

/// House and verdict side by side.
pub(crate) struct Known<'a> {
    pub house: &'a House,
    pub verdict: &'a Verdict,
    wires: BTreeMap<&'a str, &'a WireFound>,
}

/// Where a cable end goes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Far<'a> {
    /// `BOX/tag`, a box name, `panel`, `onward` or `buried-1`.
    pub end: &'a str,
    /// Probability.
    pub p: f64,
}

impl<'a> Known<'a> {
    pub fn new(house: &'a House, verdict: &'a Verdict) -> Self {
        let wires = told(verdict).map(|w| (w.wire.as_str(), w)).collect();
        Known { house, verdict, wires }
    }

    /// The wires of which anything is known.
    pub fn told(&self) -> impl Iterator<Item = &'a WireFound> + use<'a> {
        told(self.verdict)
    }

    /// What is known of a wire; nothing where no wiring fits.
    pub fn wire(&self, wire: WireId) -> Option<&'a WireFound> {
        self.wires.get(self.house.wire_name(wire).as_str()).copied()
    }

    /// The wires of a cable end.
    pub fn wires_of(&self, end: EndId) -> impl Iterator<Item = WireId> + use<> {
        (0..self.house.end(end).wires.len() as u8).map(move |wire| WireId { end, wire })
    }

    /// Whether a reading has proven the wire to be the neutral.
    pub fn is_proven_neutral(&self, wire: &WireFound) -> bool {
        let Some((at, local)) = wire.wire.split_once('/') else { return false };
        wire.role == Role::Neutral
            && self
                .verdict
                .boxes
                .iter()
                .filter(|b| b.at == at)
                .filter_map(|b| b.neutral.as_ref())
                .any(|n| n.proven && n.wires.iter().any(|w| w == local))
    }

    /// What an opened box holds.
    pub fn roles_in(&self, id: BoxId) -> Option<&'a BoxRoles> {
        let name = &self.house.outlet(id).name;
        self.verdict.boxes.iter().find(|b| b.at == *name)
    }

    /// The landing plan of a box, if it has one.
    pub fn landing_in(&self, id: BoxId) -> Option<&'a Landing> {
        let name = &self.house.outlet(id).name;
        self.verdict.landing.iter().find(|l| landing_box(l) == name)
    }

    /// Where a seen end goes, as far as that is at least likely.
    pub fn far(&self, end: EndId) -> Option<Far<'a>> {
        let name = self.house.end_name(end);
        self.verdict.cables.iter().find_map(|cable| other_end(cable, &name))
    }

    /// Cables that end at a place without a seen end there.
    pub fn unseen_at(&self, place: &str) -> Vec<Far<'a>> {
        self.verdict.cables.iter().filter_map(|cable| other_end(cable, place)).collect()
    }

    /// The seen end of that name.
    pub fn end_named(&self, name: &str) -> Option<EndId> {
        self.house.end_ids().find(|&e| self.house.end_name(e) == name)
    }

    /// The box of that name.
    pub fn box_named(&self, name: &str) -> Option<BoxId> {
        self.house.box_ids().find(|&b| self.house.outlet(b).name == name)
    }
}

fn other_end<'a>(cable: &'a CableFound, name: &str) -> Option<Far<'a>> {
    let [one, two] = &cable.ends;
    let end = match (one == name, two == name) {
        (true, _) => two,
        (_, true) => one,
        _ => return None,
    };
    Some(Far { end, p: cable.p })
}

/// The place of a cable's end: what stands before the tag.
pub(crate) fn place_of(end: &str) -> &str {
    end.split_once('/').map_or(end, |(place, _)| place)
}

/// The box that a landing is about.
pub(crate) fn landing_box(landing: &Landing) -> &str {
    match landing {
        Landing::Joints { at, .. } | Landing::Refused { at, .. } => at,
    }
}

/// What was not weighed has a role of no weight.
fn told(verdict: &Verdict) -> impl Iterator<Item = &WireFound> {
    verdict.wires.iter().filter(|wire| wire.p > 0.0)
}
