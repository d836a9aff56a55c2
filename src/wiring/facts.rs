//! The survey in small integers: what the search needs of it, worked out once.

use crate::house::{Apart, BoxId, DeviceId, EndId, House, Joint, LocalPoint, OutletBox, Terminal, WireId};

/// A wire's number through the whole house, in file order.
pub type WireIndex = usize;

/// What the search needs to know of one wire end.
#[derive(Clone, Debug)]
pub struct WireFact {
    /// Its cable end.
    pub end: EndId,
    /// The box it is seen in.
    pub at: BoxId,
    /// Colour without its number; empty where no colour could be told.
    pub colour: String,
    /// A grounding conductor by its look.
    pub ground: bool,
    /// Its joint is not a fact: the box is apart there, or the joint was not seen.
    pub free: bool,
    /// It may be in a joint that was not seen.
    pub hidden: bool,
    /// The person was not sure of its cable.
    pub unsure: bool,
    /// The joint as found, if it is in one.
    pub joint: Option<usize>,
}

impl WireFact {
    /// Whether two wires look alike, or one of them like nothing.
    pub fn is_like(&self, other: &WireFact) -> bool {
        self.colour.is_empty() || other.colour.is_empty() || self.colour == other.colour
    }
}

/// A joint in an opened box, as found.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FixedJoint {
    /// The box.
    pub at: BoxId,
    /// Wires in it.
    pub wires: Vec<WireIndex>,
    /// Terminals in it.
    pub terminals: Vec<(DeviceId, Terminal)>,
}

/// A cable end.
#[derive(Clone, Debug)]
pub struct EndFact {
    /// The box it is seen in.
    pub at: BoxId,
    /// Its first wire; the others follow.
    pub first: WireIndex,
    /// How many wires it has.
    pub count: usize,
}

impl EndFact {
    /// Its wires.
    pub fn wires(&self) -> std::ops::Range<WireIndex> {
        self.first..self.first + self.count
    }
}

/// The survey in small integers.
#[derive(Clone, Debug)]
pub struct Facts {
    /// How many feeds are named.
    pub feeds: usize,
    /// Every wire end at an opened box, in file order.
    pub wires: Vec<WireFact>,
    /// Every cable end, in file order.
    pub ends: Vec<EndFact>,
    /// Joints as found that have two points or more.
    pub joints: Vec<FixedJoint>,
    /// Joints of which the person was not sure.
    pub unsure: Vec<FixedJoint>,
    /// Grounding conductors whose joint was not seen: those of a box are taken to be in one.
    pub hidden_grounds: Vec<FixedJoint>,
    /// Terminals that are on a grounding conductor where a neutral belongs: they need no joint with one.
    pub on_ground: Vec<(DeviceId, Terminal)>,
    /// Boxes nobody has opened.
    pub unopened: Vec<BoxId>,
    /// For each pair of ends at different boxes that could be one cable: the ways its wires could match, each a list
    /// with the far wire for each near wire. Indexed `[near][far]`; empty where they could not.
    pub maps: Vec<Vec<Vec<Vec<WireIndex>>>>,
    /// Whether any end is a single: one wire on its own.
    pub singles: bool,
}

impl Facts {
    /// Works the facts out.
    pub fn new(house: &House) -> Facts {
        let mut facts = Facts {
            feeds: house.feeds.len(),
            wires: Vec::new(),
            ends: Vec::new(),
            joints: Vec::new(),
            unsure: Vec::new(),
            hidden_grounds: Vec::new(),
            on_ground: Vec::new(),
            unopened: house.box_ids().filter(|&b| !house.outlet(b).opened).collect(),
            maps: Vec::new(),
            singles: false,
        };
        for end in house.end_ids() {
            let cable = house.end(end);
            facts.ends.push(EndFact { at: cable.at, first: facts.wires.len(), count: cable.wires.len() });
            facts.wires.extend(cable.wires.iter().map(|word| wire_fact(house, end, word)));
        }
        facts.singles = facts.ends.iter().any(|end| end.count == 1);
        facts.add_joints(house);
        facts.add_hidden_grounds(house);
        facts.add_maps();
        facts
    }

    /// A wire's number.
    pub fn index(&self, wire: WireId) -> WireIndex {
        self.ends[usize::from(wire.end.0)].first + usize::from(wire.wire)
    }

    /// The wire of a number.
    pub fn id(&self, wire: WireIndex) -> WireId {
        let end = self.wires[wire].end;
        WireId { end, wire: (wire - self.ends[usize::from(end.0)].first) as u8 }
    }

    /// The joint as found that holds a terminal.
    pub fn joint_of(&self, device: DeviceId, terminal: Terminal) -> Option<usize> {
        self.joints.iter().position(|joint| joint.terminals.contains(&(device, terminal)))
    }

    fn add_joints(&mut self, house: &House) {
        for at in house.box_ids().filter(|&b| house.outlet(b).opened) {
            let outlet = house.outlet(at);
            for wire in outlet.ends.iter().flat_map(|end| self.ends[usize::from(end.0)].wires()) {
                let end = self.wires[wire].end;
                let local = WireId { end, wire: (wire - self.ends[usize::from(end.0)].first) as u8 };
                let point = LocalPoint::Wire(local);
                self.wires[wire].free = is_free(outlet, point);
                self.wires[wire].hidden = !is_apart(&outlet.apart, point) && outlet.hides(point);
            }
            if outlet.apart == Apart::All {
                continue;
            }
            for joint in outlet.sure_joints() {
                let fixed = self.fixed_joint(at, &joint.points);
                for &wire in &fixed.wires {
                    self.wires[wire].joint = Some(self.joints.len());
                }
                self.joints.push(fixed);
            }
            let sure: Vec<&Joint> = outlet.sure_joints().collect();
            for joint in outlet.joints.iter().filter(|joint| !sure.contains(joint)) {
                self.unsure.push(self.fixed_joint(at, &joint.points));
            }
        }
    }

    fn fixed_joint(&self, at: BoxId, points: &[LocalPoint]) -> FixedJoint {
        let mut fixed = FixedJoint { at, wires: Vec::new(), terminals: Vec::new() };
        for point in points {
            match *point {
                LocalPoint::Wire(wire) => fixed.wires.push(self.index(wire)),
                LocalPoint::Terminal(device, terminal) => fixed.terminals.push((device, terminal)),
                LocalPoint::Metal(_) => {}
            }
        }
        fixed.wires.sort_unstable();
        fixed.terminals.sort_unstable();
        fixed
    }

    fn add_hidden_grounds(&mut self, house: &House) {
        for at in house.box_ids() {
            let ground = |wire: &WireIndex| self.wires[*wire].ground;
            let hidden = (0..self.wires.len())
                .filter(|&wire| self.wires[wire].at == at && self.wires[wire].hidden)
                .filter(ground);
            let hidden: Vec<WireIndex> = hidden.collect();
            let seen = self.joints.iter().filter(|joint| joint.at == at && joint.wires.iter().any(ground));
            let mut wires: Vec<WireIndex> = seen.flat_map(|joint| &joint.wires).copied().collect();
            wires.extend(&hidden);
            if !hidden.is_empty() && wires.len() > 1 {
                wires.sort_unstable();
                self.hidden_grounds.push(FixedJoint { at, wires, terminals: Vec::new() });
            }
        }
    }

    fn add_maps(&mut self) {
        let ways = |near: &EndFact, far: &EndFact| {
            if near.at == far.at || near.count != far.count { Vec::new() } else { self.wire_maps(near, far) }
        };
        self.maps =
            self.ends.iter().map(|near| self.ends.iter().map(|far| ways(near, far)).collect()).collect();
    }

    /// The bijections between two ends' wires that respect colour.
    fn wire_maps(&self, near: &EndFact, far: &EndFact) -> Vec<Vec<WireIndex>> {
        let mut maps = vec![Vec::new()];
        for wire in near.wires() {
            let grow = |map: &Vec<WireIndex>| {
                let fits = |other: &WireIndex| !map.contains(other) && self.alike(wire, *other);
                far.wires().filter(fits).map(|other| [map.as_slice(), &[other]].concat()).collect::<Vec<_>>()
            };
            maps = maps.iter().flat_map(grow).collect();
        }
        maps
    }

    fn alike(&self, one: WireIndex, other: WireIndex) -> bool {
        let (one, other) = (&self.wires[one], &self.wires[other]);
        one.ground == other.ground && (one.unsure || other.unsure || one.is_like(other))
    }
}

/// Whether the joint of a point is not a fact: its box is apart there, or the joint was not seen.
pub fn is_free(outlet: &OutletBox, point: LocalPoint) -> bool {
    is_apart(&outlet.apart, point) || outlet.hides(point)
}

/// Whether a point of a box was apart before the survey.
pub fn is_apart(apart: &Apart, point: LocalPoint) -> bool {
    match apart {
        Apart::No => false,
        Apart::All => true,
        Apart::Points(points) => points.contains(&point),
    }
}

/// A colour word without its trailing number; empty for `w1`, `w2`, …, which are no colours.
pub fn base_colour(word: &str) -> &str {
    let base = word.trim_end_matches(|c: char| c.is_ascii_digit());
    if base == "w" { "" } else { base }
}

/// Whether a wire of this colour is a grounding conductor by its look.
pub fn looks_like_ground(word: &str) -> bool {
    matches!(base_colour(word), "bare" | "green")
}

fn wire_fact(house: &House, end: EndId, word: &str) -> WireFact {
    let colour = base_colour(word).to_owned();
    let ground = looks_like_ground(word);
    let cable = house.end(end);
    let unsure = !cable.sure;
    WireFact { end, at: cable.at, colour, ground, free: false, hidden: false, unsure, joint: None }
}
