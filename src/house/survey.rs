//! The survey: what was seen at each box, in types.

use super::{BoxId, BoxKind, DeviceId, DeviceKind, EndId, LampKind, Positions, Reach, Terminal};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One conductor at one cable end: `wire` counts from 0 in the order written at that end.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct WireId {
    /// The cable end.
    pub end: EndId,
    /// Which conductor of it.
    pub wire: u8,
}

/// A place inside one box where a probe can go.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum LocalPoint {
    /// A conductor of a cable end.
    Wire(WireId),
    /// A screw of a device.
    Terminal(DeviceId, Terminal),
    /// The metal of the box, perhaps connected to nothing.
    Metal(BoxId),
}

/// Where a probe can go anywhere in the house.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Point {
    /// In a box.
    At(LocalPoint),
    /// The call's proven reference to earth.
    Earth,
}

/// What a cable is covered with.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Sheath {
    /// Cloth-covered nonmetallic cable.
    ClothNm,
    /// Plastic nonmetallic cable.
    Nm,
    /// Armoured cable.
    Armored,
    /// A knob-and-tube single.
    KnobAndTube,
    /// A single drawn into conduit.
    Conduit,
    /// Lead-covered cable.
    Lead,
}

/// What a conductor is made of.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Debug,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Metal {
    /// Copper.
    #[default]
    Copper,
    /// Aluminium.
    Aluminum,
}

/// The colours that rules and habits know by name. A wire may be written down in any other.
pub const COLOURS: [&str; 10] =
    ["black", "white", "red", "blue", "brown", "yellow", "green", "gray", "grey", "bare"];

/// A cable end seen at an opened box.
#[derive(Clone, PartialEq, Debug)]
pub struct Cable {
    /// The person's tag: `a`, `b`, …
    pub tag: String,
    /// The box it is seen in.
    pub at: BoxId,
    /// Covering, if looked at.
    pub sheath: Option<Sheath>,
    /// The conductors by colour as seen (`black`, `white`, `black2`, `w1`, `bare`, …).
    pub wires: Vec<String>,
    /// American wire gauge, if looked at.
    pub gauge: Option<u8>,
    /// Conductor metal.
    pub metal: Metal,
    /// Whether the person was sure of this item.
    pub sure: bool,
}

/// A device in a box.
#[derive(Clone, PartialEq, Debug)]
pub struct Device {
    /// Its name within the box.
    pub name: String,
    /// The box it is in.
    pub at: BoxId,
    /// What it is.
    pub kind: DeviceKind,
    /// Whether its screws are told apart; if not its terminals are `x1`, `x2`, …
    pub marked: bool,
    /// Lamp, where it is a light.
    pub lamp: LampKind,
    /// Lamp watts, if read off.
    pub watts: Option<f64>,
    /// Whether the person was sure of this item.
    pub sure: bool,
}

impl Device {
    /// The terminals this device shows.
    pub fn terminals(&self) -> Vec<Terminal> {
        let marked = self.kind.terminals();
        if self.marked { marked.to_vec() } else { (1..=marked.len() as u8).map(Terminal::X).collect() }
    }
}

/// Points of one box that touch: a splice, a screw.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Joint {
    /// The points, in the order written.
    pub points: Vec<LocalPoint>,
    /// Whether the person was sure of it.
    pub sure: bool,
}

/// What had been undone in a box before anybody surveyed it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum Apart {
    /// Nothing: the joints are as they were.
    #[default]
    No,
    /// Everything.
    All,
    /// These points.
    Points(Vec<LocalPoint>),
}

/// A box one knows of.
#[derive(Clone, PartialEq, Debug)]
pub struct OutletBox {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub kind: BoxKind,
    /// Whether it was opened and surveyed.
    pub opened: bool,
    /// The storey it is on.
    pub floor: i8,
    /// How it is reached.
    pub reach: Reach,
    /// Volume in cubic inches, if known.
    pub volume: Option<f64>,
    /// Cable ends seen in it (none where not opened).
    pub ends: Vec<EndId>,
    /// Devices in it.
    pub devices: Vec<DeviceId>,
    /// Joints as found.
    pub joints: Vec<Joint>,
    /// False where a taped bundle hides some joints.
    pub complete: bool,
    /// What had been undone.
    pub apart: Apart,
    /// Joints known from a photo or from memory: they make wirings that have them otherwise rarer.
    pub was: Vec<Joint>,
    /// Terminals that hold two wires under one screw.
    pub doubled: Vec<(DeviceId, Terminal)>,
    /// Observations, by knowledge-base name or plain text.
    pub seen: Vec<String>,
}

impl OutletBox {
    /// Joints that are facts: the person was sure of them, or could see them on the metal.
    pub fn sure_joints(&self) -> impl Iterator<Item = &Joint> {
        let metal = |joint: &Joint| joint.points.iter().any(|point| matches!(point, LocalPoint::Metal(_)));
        self.joints.iter().filter(move |joint| joint.sure || metal(joint))
    }

    /// Whether nobody knows for sure what a point of the box is joined to: it is written down in no joint of a list that
    /// is not complete, or in one that the person was not sure of.
    pub fn hides(&self, point: LocalPoint) -> bool {
        let holds = |joint: &Joint| joint.points.contains(&point);
        let open = !self.complete || self.joints.iter().any(holds);
        self.opened && open && !self.sure_joints().any(holds)
    }
}

/// What protects a circuit.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Debug,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum FeedKind {
    /// A circuit breaker.
    #[default]
    Breaker,
    /// A fuse.
    Fuse,
    /// A ground-fault breaker.
    Gfci,
    /// An arc-fault breaker.
    Afci,
}

/// A circuit as the panel knows it.
#[derive(Clone, PartialEq, Debug)]
pub struct Feed {
    /// The name on the panel.
    pub name: String,
    /// What protects it.
    pub kind: FeedKind,
    /// Its rating in amperes.
    pub amps: Option<f64>,
    /// Which leg of the supply, if known.
    pub leg: Option<String>,
}

impl Feed {
    /// What a circuit is called that nobody has named.
    pub const UNNAMED: &str = "circuit";
}

/// Whether the cables have grounding conductors.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Debug,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Grounds {
    /// None of them.
    #[default]
    None,
    /// Some.
    Some,
    /// All.
    All,
}

/// What the call is to answer.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Goal {
    /// Every role.
    #[default]
    Identify,
    /// A landing plan.
    Repair,
    /// Whether this circuit's neutral is in that box.
    NeutralAt(BoxId),
}

/// All that was seen, addressed by small integers.
///
/// Invariants, held by whoever builds one (the job-file reader checks them and reports each with its place):
/// every id is in range; a point stands in at most one joint of its box; ends, joints and loose points exist
/// only at opened boxes; `ends[i].at` and `boxes[b].ends` agree, and likewise for devices.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct House {
    /// Known boxes, in file order.
    pub boxes: Vec<OutletBox>,
    /// Cable ends at opened boxes, in file order.
    pub ends: Vec<Cable>,
    /// Devices, in file order.
    pub devices: Vec<Device>,
    /// Circuits, at least one.
    pub feeds: Vec<Feed>,
    /// Volts, line to neutral.
    pub supply: f64,
    /// The knowledge pack for the region, by name (`us`).
    pub region: String,
    /// Year built, if known.
    pub built: Option<i32>,
    /// Grounding conductors.
    pub grounds: Grounds,
    /// What the positions of switches are called in this call, where somebody said.
    pub positions: BTreeMap<DeviceId, Positions>,
    /// Something in it read live with every breaker off that has a name: perhaps a circuit comes by that has none.
    pub live_when_off: bool,
}

impl House {
    /// A box by id.
    pub fn outlet(&self, id: BoxId) -> &OutletBox {
        &self.boxes[usize::from(id.0)]
    }

    /// A cable end by id.
    pub fn end(&self, id: EndId) -> &Cable {
        &self.ends[usize::from(id.0)]
    }

    /// A device by id.
    pub fn device(&self, id: DeviceId) -> &Device {
        &self.devices[usize::from(id.0)]
    }

    /// All box ids, in file order.
    pub fn box_ids(&self) -> impl Iterator<Item = BoxId> + use<> {
        (0..self.boxes.len() as u8).map(BoxId)
    }

    /// All end ids, in file order.
    pub fn end_ids(&self) -> impl Iterator<Item = EndId> + use<> {
        (0..self.ends.len() as u8).map(EndId)
    }

    /// All device ids, in file order.
    pub fn device_ids(&self) -> impl Iterator<Item = DeviceId> + use<> {
        (0..self.devices.len() as u8).map(DeviceId)
    }

    /// Switches, in file order.
    pub fn switches(&self) -> impl Iterator<Item = DeviceId> + '_ {
        self.device_ids().filter(|&d| self.device(d).kind.is_switch())
    }

    /// What a position of a switch is called: the first (`false`) or the second.
    pub fn position_word(&self, switch: DeviceId, second: bool) -> &'static str {
        self.positions.get(&switch).copied().unwrap_or_default().words()[usize::from(second)]
    }

    /// Lights, in file order.
    pub fn lights(&self) -> impl Iterator<Item = DeviceId> + '_ {
        self.device_ids().filter(|&d| self.device(d).kind.is_light())
    }

    /// Every conductor of every end, in file order.
    pub fn wires(&self) -> impl Iterator<Item = WireId> + '_ {
        self.end_ids()
            .flat_map(|end| (0..self.end(end).wires.len() as u8).map(move |wire| WireId { end, wire }))
    }

    /// The colour or number a wire is called by at its end.
    pub fn wire_word(&self, wire: WireId) -> &str {
        &self.end(wire.end).wires[usize::from(wire.wire)]
    }

    /// `BOX/tag.wire`.
    pub fn wire_name(&self, wire: WireId) -> String {
        let cable = self.end(wire.end);
        format!("{}/{}.{}", self.outlet(cable.at).name, cable.tag, self.wire_word(wire))
    }

    /// `BOX/tag`.
    pub fn end_name(&self, end: EndId) -> String {
        let cable = self.end(end);
        format!("{}/{}", self.outlet(cable.at).name, cable.tag)
    }

    /// `BOX/device`.
    pub fn device_name(&self, device: DeviceId) -> String {
        let seen = self.device(device);
        format!("{}/{}", self.outlet(seen.at).name, seen.name)
    }

    /// The box a local point is in.
    pub fn box_of(&self, point: LocalPoint) -> BoxId {
        match point {
            LocalPoint::Wire(wire) => self.end(wire.end).at,
            LocalPoint::Terminal(device, _) => self.device(device).at,
            LocalPoint::Metal(at) => at,
        }
    }

    /// `tag.wire`, `device.terminal` or `metal`, without the box.
    pub fn local_name(&self, point: LocalPoint) -> String {
        match point {
            LocalPoint::Wire(wire) => format!("{}.{}", self.end(wire.end).tag, self.wire_word(wire)),
            LocalPoint::Terminal(device, terminal) => {
                format!("{}.{}", self.device(device).name, terminal.word())
            }
            LocalPoint::Metal(_) => "metal".to_owned(),
        }
    }

    /// `BOX/tag.wire`, `BOX/device.terminal`, `BOX/metal` or `earth`.
    pub fn point_name(&self, point: Point) -> String {
        match point {
            Point::Earth => "earth".to_owned(),
            Point::At(local) => {
                format!("{}/{}", self.outlet(self.box_of(local)).name, self.local_name(local))
            }
        }
    }
}
