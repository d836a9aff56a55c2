//! Box fill: the room that wires, devices and fittings take up, counted by the rules of an edition.

use super::edition::Edition;
use super::pack::Pack;
use crate::house::{BoxId, House, LocalPoint};
use std::collections::BTreeMap;

/// How grounding conductors are counted.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct GroundRule {
    /// Allowances for the first ones together; 0 where they are not counted.
    pub first: f64,
    /// How many the first ones are; `None`: all of them.
    pub together: Option<usize>,
    /// Allowances for each further one.
    pub further: f64,
}

/// How a code counts, from an edition on.
#[derive(Clone, PartialEq, Debug)]
pub struct FillRule {
    /// The code.
    pub code: String,
    /// The first edition that counts so.
    pub from: i64,
    /// The section.
    pub section: String,
    /// Cubic inches for one conductor, by its gauge.
    pub allowances: BTreeMap<u8, f64>,
    /// Allowances for a device on a strap.
    pub strap: f64,
    /// Allowances for internal clamps, all together.
    pub clamps: f64,
    /// Allowances for each kind of fitting that holds a luminaire.
    pub fitting: f64,
    /// Allowances for each pair of wire connectors.
    pub connectors: f64,
    /// Grounding conductors.
    pub grounds: GroundRule,
    /// How the rule was checked, and where.
    pub source: String,
}

/// What is in a box, as far as it takes up room.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Contents {
    /// Conductors from outside, grounds apart, by gauge.
    pub conductors: Vec<u8>,
    /// Grounding conductors from outside, by gauge.
    pub grounds: Vec<u8>,
    /// For each device on a strap the largest wire on it.
    pub straps: Vec<u8>,
    /// Whether a clamp is inside the box.
    pub clamps: bool,
    /// Kinds of fitting that hold a luminaire (stud, hickey).
    pub fittings: usize,
    /// Wire connectors, those on grounds apart.
    pub connectors: usize,
}

/// A count.
#[derive(Clone, PartialEq, Debug)]
pub struct Fill {
    /// What was counted, and the cubic inches for it.
    pub parts: Vec<(String, f64)>,
}

impl Fill {
    /// The sum.
    pub fn total(&self) -> f64 {
        self.parts.iter().map(|(_, inches)| inches).sum()
    }
}

impl FillRule {
    /// Counts; `None` where a wire has a size that the rule gives no allowance for.
    pub fn count(&self, contents: &Contents) -> Option<Fill> {
        let mut parts = Vec::new();
        let mut add = |what: &str, inches: f64| {
            if inches > 0.0 {
                parts.push((what.to_owned(), inches));
            }
        };
        let one = |gauge: &u8| self.allowances.get(gauge).copied();
        let sum = |gauges: &[u8]| gauges.iter().map(one).sum::<Option<f64>>();
        let grounds = contents.grounds.iter().map(one).collect::<Option<Vec<f64>>>()?;
        let largest = contents.conductors.iter().filter_map(one).chain(grounds.iter().copied());
        let largest = largest.fold(0.0, f64::max);
        add("wires", sum(&contents.conductors)?);
        add("devices", self.strap * sum(&contents.straps)?);
        add("clamps inside the box", if contents.clamps { self.clamps * largest } else { 0.0 });
        add("fittings that hold the light", self.fitting * contents.fittings as f64 * largest);
        add("wire connectors", self.connectors * (contents.connectors / 2) as f64 * largest);
        add(
            "grounding conductors",
            self.grounds.allowances(grounds.len()) * grounds.iter().copied().fold(0.0, f64::max),
        );
        Some(Fill { parts })
    }
}

impl GroundRule {
    fn allowances(&self, many: usize) -> f64 {
        let further = self.together.map_or(0, |together| many.saturating_sub(together));
        if many == 0 { 0.0 } else { self.first + self.further * further as f64 }
    }
}

/// The fill of a box between what is certain and what may be there too.
#[derive(Clone, PartialEq, Debug)]
pub struct Range {
    /// With what was seen only, and the smallest wires that it may be.
    pub least: Fill,
    /// With clamps and a stud where nobody said that there are none, and the largest wires.
    pub most: Fill,
}

/// The smallest and the largest wire that a lighting circuit of this kind has where nobody looked.
const UNTOLD: (u8, u8) = (14, 12);

/// The rule for an edition.
pub fn rule<'a>(pack: &'a Pack, edition: &Edition) -> Option<&'a FillRule> {
    let of_code = pack.fill.iter().filter(|rule| rule.code == edition.code && rule.from <= edition.year);
    of_code.max_by_key(|rule| rule.from)
}

/// Counts a box as surveyed; `None` for a box that was not opened or holds a wire of a size without an allowance.
pub fn of_box(house: &House, id: BoxId, rule: &FillRule) -> Option<Range> {
    let outlet = house.outlet(id);
    if !outlet.opened {
        return None;
    }
    let seen = |name: &str| outlet.seen.iter().any(|seen| seen == name);
    let stud = seen("fixture-stud") || seen("hickey");
    let light = outlet.devices.iter().any(|&device| house.device(device).kind.is_light());
    let fittings = usize::from(seen("fixture-stud")) + usize::from(seen("hickey"));
    let perhaps_stud = light && !stud && !seen("no-fixture-stud");
    let clamps = seen("internal-clamps");
    let least = contents(house, id, UNTOLD.0);
    let most = contents(house, id, UNTOLD.1);
    let least = Contents { clamps, fittings, ..least };
    let fittings = fittings + usize::from(perhaps_stud);
    let most = Contents { clamps: clamps || !seen("no-internal-clamps"), fittings, ..most };
    Some(Range { least: rule.count(&least)?, most: rule.count(&most)? })
}

/// Wires, straps and connectors of a box; `untold` is taken for wires whose size nobody noted.
fn contents(house: &House, id: BoxId, untold: u8) -> Contents {
    let outlet = house.outlet(id);
    let mut contents = Contents::default();
    for &end in &outlet.ends {
        let cable = house.end(end);
        let gauge = cable.gauge.unwrap_or(untold);
        for word in &cable.wires {
            let into = if is_ground(word) { &mut contents.grounds } else { &mut contents.conductors };
            into.push(gauge);
        }
    }
    let largest = contents.conductors.iter().min().copied();
    for &device in outlet.devices.iter().filter(|&&device| !house.device(device).kind.is_light()) {
        let on_it = |point: &LocalPoint| matches!(point, LocalPoint::Terminal(on, _) if *on == device);
        let joints = outlet.joints.iter().filter(|joint| joint.points.iter().any(on_it));
        let wires = joints.flat_map(|joint| &joint.points).filter_map(|point| match point {
            LocalPoint::Wire(wire) => Some(house.end(wire.end).gauge.unwrap_or(untold)),
            _ => None,
        });
        contents.straps.extend(wires.min().or(largest));
    }
    contents.connectors = outlet.joints.iter().filter(|joint| is_splice(house, &joint.points)).count();
    contents
}

/// Whether a joint is wires alone, two or more, and not of grounds.
fn is_splice(house: &House, points: &[LocalPoint]) -> bool {
    points.len() > 1
        && points.iter().all(|point| match point {
            LocalPoint::Wire(wire) => !is_ground(house.wire_word(*wire)),
            _ => false,
        })
}

/// Whether a wire by that word is a grounding conductor to the eye.
pub(super) fn is_ground(word: &str) -> bool {
    word.starts_with("bare") || word.starts_with("green")
}
