//! What readings say of the walls at once: pairs of wires that cannot be one conductor, wires that are no line or no
//! neutral.
//!
//! Two wires that are joined read the same under the same conditions, and ohms between them read closed. Where they read
//! otherwise more often than wrong readings explain, they are not joined. A search among too many wirings is cut by
//! this; a wiring that it leaves out disagrees with several readings.

use super::continuity::{Continuity, Joined, in_sight};
use super::facts::{Facts, WireIndex};
use super::walls::Walls;
use crate::call::{Ask, Call, Conditions, Reading, Seen, Source};
use crate::house::{Apart, House, LocalPoint, Point};
use std::collections::BTreeMap;

/// Fewer readings than this do not guide a search.
pub const FEW_READINGS: usize = 4;

/// What is refuted counts as if so many readings spoke against it.
const REFUTED: usize = 4;

/// How often something was tried, and how often it spoke against.
#[derive(Clone, Copy, Default, Debug)]
struct Tried {
    times: usize,
    against: usize,
}

impl Tried {
    fn add(&mut self, against: bool) {
        self.times += 1;
        self.against += usize::from(against);
    }

    /// Spoken against twice at least, and by more than a quarter of what was tried: wrong readings are rarer.
    fn refuted(&self) -> bool {
        self.against >= 2 && 4 * self.against > self.times
    }

    /// Tried once, and spoken against.
    fn doubted(&self) -> bool {
        self.times == 1 && self.against == 1
    }
}

/// What speaks against wires being one, line or neutral: as cables lie, and with the joints as found.
#[derive(Clone, Debug)]
pub struct Hints {
    wires: usize,
    /// Whatever was lifted or taken off: one for each pair of wires, then line and neutral for each wire.
    walls: Vec<bool>,
    /// Laid out the same: what one reading alone speaks against.
    doubted: Vec<bool>,
    /// With every joint as found.
    joints: Vec<bool>,
    /// Joints are facts everywhere.
    whole: bool,
    /// For each wire, wires of other boxes to which it read closed while both were joined to nothing else in sight; none for
    /// grounds, which meet anywhere.
    partners: Vec<Vec<WireIndex>>,
    /// Which wires hang together by what ohms readings say.
    continuity: Continuity,
    /// Whether any reading is counted one by one.
    is_one_by_one: bool,
}

/// A reading of one point to earth, power on.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Level {
    Nothing,
    Supply,
    Between,
}

impl Hints {
    /// Looks at all readings of a call; `None` where there are too few to say anything.
    pub fn new(call: &Call, facts: &Facts) -> Option<Hints> {
        let by_technician = || call.readings.iter().filter(|r| r.by == Source::Technician);
        if by_technician().count() < FEW_READINGS {
            return None;
        }
        let whole = call.house.boxes.iter().all(|outlet| outlet.apart == Apart::No);
        let all: Vec<&Reading> = by_technician().collect();
        let undisturbed: Vec<&Reading> = all
            .iter()
            .copied()
            .filter(|r| r.conditions.lifted.is_empty() && r.conditions.out.is_empty())
            .collect();
        let tried = try_all(&call.house, facts, &all);
        let partners = partners(&call.house, facts, &all);
        let continuity = Continuity::new(&call.house, facts, &all);
        let hints = Hints {
            wires: facts.wires.len(),
            walls: tried.iter().map(Tried::refuted).collect(),
            doubted: tried.iter().map(Tried::doubted).collect(),
            joints: try_all(&call.house, facts, &undisturbed).iter().map(Tried::refuted).collect(),
            whole,
            is_one_by_one: tried.iter().any(Tried::doubted)
                || !continuity.is_empty()
                || partners.iter().any(|others| !others.is_empty()),
            partners,
            continuity,
        };
        hints.cuts().then_some(hints)
    }

    /// Whether anything is cut by them.
    fn cuts(&self) -> bool {
        self.is_one_by_one || self.walls.iter().chain(&self.joints).any(|refuted| *refuted)
    }

    /// Only what holds of the cables, whatever the joints were meant to be.
    pub(super) fn of_walls(self) -> Hints {
        Hints { whole: false, ..self }
    }

    /// Only what holds wherever line and neutral are: behind a failure of the feed a wire does not read what it is.
    pub(super) fn of_cables(&self) -> Hints {
        let mut hints = self.clone().of_walls();
        let width = self.wires + 2;
        for row in hints.walls.chunks_mut(width) {
            row[self.wires..].fill(false);
        }
        hints
    }

    /// How many readings that are counted one by one some walls are at odds with; `None` where there are none such.
    pub(super) fn odds(&self, walls: &Walls) -> Option<usize> {
        let one = |at: WireIndex, other: WireIndex| walls.wires[at] == walls.wires[other];
        let joined = (0..self.wires).flat_map(|at| (at + 1..self.wires).map(move |other| (at, other)));
        let doubts: usize =
            joined.filter(|&(at, other)| one(at, other)).map(|(at, other)| self.against(at, other)).sum();
        let unjoined = self.closed().filter(|&(at, other)| !one(at, other)).count();
        let joined = Joined {
            group: &|wire| usize::from(walls.wires[wire]),
            more: &|wire| walls.is_open(walls.wires[wire]),
        };
        self.is_one_by_one.then(|| (doubts + unjoined).max(self.at_odds(&joined)))
    }

    /// How many ohms readings or failures at least it takes to explain that wires are joined so.
    pub(super) fn at_odds(&self, joined: &Joined) -> usize {
        self.continuity.at_odds(joined)
    }

    /// Whether readings refute that two wires are joined behind the plaster.
    fn apart(&self, one: WireIndex, other: WireIndex) -> bool {
        self.walls[one * (self.wires + 2) + other]
    }

    /// Whether one reading says that two wires are not joined behind the plaster.
    fn doubted(&self, one: WireIndex, other: WireIndex) -> bool {
        self.doubted[one * (self.wires + 2) + other]
    }

    /// Pairs of wires of different boxes that read closed while both were joined to nothing else in sight.
    pub(super) fn closed(&self) -> impl Iterator<Item = (WireIndex, WireIndex)> {
        let pairs = |(one, others): (WireIndex, &Vec<WireIndex>)| {
            others.iter().map(move |&other| (one, other)).collect::<Vec<_>>()
        };
        self.partners.iter().enumerate().flat_map(pairs).filter(|(one, other)| one < other)
    }

    /// How many readings found either of two wires joined to a third, though a cable is to join the two.
    fn elsewhere(&self, one: WireIndex, other: WireIndex) -> usize {
        let others =
            |a: WireIndex, b: WireIndex| self.partners[a].iter().filter(|third| **third != b).count();
        others(one, other) + others(other, one)
    }

    /// How many readings speak against two wires being one.
    pub(super) fn against_cable(&self, one: WireIndex, other: WireIndex) -> usize {
        self.against(one, other) + self.elsewhere(one, other)
    }

    /// How many readings speak against two wires being joined behind the plaster.
    pub(super) fn against(&self, one: WireIndex, other: WireIndex) -> usize {
        if self.apart(one, other) { REFUTED } else { usize::from(self.doubted(one, other)) }
    }

    /// How often two wires of different boxes read closed while both were joined to nothing else in sight.
    pub(super) fn read_closed(&self, one: WireIndex, other: WireIndex) -> usize {
        self.partners[one].iter().filter(|partner| **partner == other).count()
    }

    /// How many readings found a wire joined to one of another box.
    pub(super) fn partners(&self, wire: WireIndex) -> usize {
        self.partners[wire].len()
    }

    /// Whether a wire is not joined to the feed's line (0) or neutral (1) behind the plaster.
    pub(super) fn not_pole(&self, wire: WireIndex, pole: usize) -> bool {
        self.walls[wire * (self.wires + 2) + self.wires + pole]
    }

    /// Whether a wire is not line (0) or neutral (1) by the joints as found; never where some were taken apart.
    pub(super) fn never(&self, wire: WireIndex, pole: usize) -> bool {
        self.whole && self.joints[wire * (self.wires + 2) + self.wires + pole]
    }

    /// Whether two wires are of different nets by the joints as found; never where some were taken apart.
    pub(super) fn differ(&self, one: WireIndex, other: WireIndex) -> bool {
        self.whole && self.joints[one * (self.wires + 2) + other]
    }
}

/// For each wire, wires of other boxes that read closed to it while nothing at the boxes joined either to any other.
fn partners(house: &House, facts: &Facts, readings: &[&Reading]) -> Vec<Vec<WireIndex>> {
    let mut partners = vec![Vec::new(); facts.wires.len()];
    let mut loose: BTreeMap<&Conditions, Vec<bool>> = BTreeMap::new();
    for reading in readings.iter().filter(|reading| reading.conditions.jumpers.is_empty()) {
        let Ask::Ohms(pairs) = &reading.ask else { continue };
        let conditions = &reading.conditions;
        let loose = loose.entry(conditions).or_insert_with(|| in_sight(house, facts, conditions).1);
        for ((p, q), seen) in pairs.iter().zip(&reading.seen) {
            let alone = |point| match touching(house, facts, conditions, point).as_deref() {
                Some(&[wire]) if !loose[wire] => Some(wire),
                _ => None,
            };
            let (Some(one), Some(other), Some(true)) = (alone(*p), alone(*q), closed(*seen)) else {
                continue;
            };
            if facts.wires[one].at != facts.wires[other].at {
                partners[one].push(other);
                partners[other].push(one);
            }
        }
    }
    partners
}

fn try_all(house: &House, facts: &Facts, readings: &[&Reading]) -> Vec<Tried> {
    let wires = facts.wires.len();
    let width = wires + 2;
    let mut tried = vec![Tried::default(); width * width];
    let mut levels: BTreeMap<&Conditions, BTreeMap<WireIndex, Level>> = BTreeMap::new();
    for reading in readings.iter().filter(|reading| reading.conditions.jumpers.is_empty()) {
        let on = reading.conditions.breakers.iter().all(|on| *on == Some(true));
        let touching = |point: Point| touching(house, facts, &reading.conditions, point);
        let pairs = match &reading.ask {
            Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => pairs,
            Ask::AmpsCable(_) | Ask::AmpsWire(_) | Ask::Watch(_) => continue,
        };
        for ((p, q), seen) in pairs.iter().zip(&reading.seen) {
            let (p, q) = (touching(*p), touching(*q));
            if let (Ask::Ohms(_), Some(closed)) = (&reading.ask, closed(*seen)) {
                let ends = |nodes: &Option<Vec<WireIndex>>| nodes.clone().unwrap_or(vec![wires + 1]);
                for one in ends(&p) {
                    for other in ends(&q) {
                        tried[one * width + other].add(!closed);
                        tried[other * width + one].add(!closed);
                    }
                }
            }
            let (Some(level), Ask::Volts(_) | Ask::Load(_), true) =
                (level(&reading.ask, *seen, house.supply), &reading.ask, on)
            else {
                continue;
            };
            match (p, q) {
                (Some(node), None) | (None, Some(node)) => {
                    let here = levels.entry(&reading.conditions).or_default();
                    node.into_iter().for_each(|wire| {
                        here.insert(wire, level);
                    });
                }
                (Some(p), Some(q)) if level != Level::Nothing => {
                    for one in p {
                        for &other in &q {
                            tried[one * width + other].add(true);
                            tried[other * width + one].add(true);
                        }
                    }
                }
                _ => {}
            }
        }
    }
    compare(&mut tried, &levels, width);
    tried
}

/// Wires that read differently to earth under the same conditions, and wires that read what a pole does not.
fn compare(tried: &mut [Tried], levels: &BTreeMap<&Conditions, BTreeMap<WireIndex, Level>>, width: usize) {
    for here in levels.values() {
        for (&one, &level) in here {
            tried[one * width + width - 2].add(level != Level::Supply);
            tried[one * width + width - 1].add(level != Level::Nothing);
            for (&other, &its) in here.iter().filter(|(other, _)| **other != one) {
                if level != Level::Between && its != Level::Between {
                    tried[one * width + other].add(level != its);
                }
            }
        }
    }
}

/// The wires a point touches under these conditions; `None` for earth, nothing where that is not known.
pub(super) fn touching(
    house: &House,
    facts: &Facts,
    conditions: &Conditions,
    point: Point,
) -> Option<Vec<WireIndex>> {
    let Point::At(local) = point else { return None };
    let lifted =
        |local: &LocalPoint| matches!(local, LocalPoint::Wire(wire) if conditions.lifted.contains(wire));
    let off = |local: &LocalPoint| matches!(local, LocalPoint::Terminal(d, _) if conditions.out.contains(d));
    let outlet = house.outlet(house.box_of(local));
    let joint = outlet.sure_joints().find(|joint| joint.points.contains(&local));
    let parted = joint.is_some_and(|joint| joint.points.iter().any(off)) && !outlet.doubled.is_empty();
    let alone = lifted(&local) || off(&local) || parted;
    let points = joint.filter(|_| !alone).map_or(vec![local], |joint| joint.points.clone());
    let wires = points.iter().filter(|point| alone || !lifted(point));
    Some(
        wires
            .filter_map(|point| match point {
                LocalPoint::Wire(wire) => Some(facts.index(*wire)),
                _ => None,
            })
            .collect(),
    )
}

/// Whether ohms read metal.
pub(super) fn closed(seen: Seen) -> Option<bool> {
    match seen {
        Seen::Number { value, spread } if value + spread < 2.0 => Some(true),
        Seen::Number { value, spread } if value - spread > 6.0 => Some(false),
        Seen::Overload => Some(false),
        Seen::Bin(bin) => Some(bin == 0),
        _ => None,
    }
}

/// What a reading to earth says, where it is clear.
fn level(ask: &Ask, seen: Seen, supply: f64) -> Option<Level> {
    let load = matches!(ask, Ask::Load(_));
    match seen {
        Seen::Number { value, spread } if value + spread < 2.0 => Some(Level::Nothing),
        Seen::Number { value, spread } if (value - spread) >= 0.92 * supply => Some(Level::Supply),
        Seen::Number { value, .. } if value > 0.2 * supply && value < 0.85 * supply && load => {
            Some(Level::Between)
        }
        Seen::Bin(0) => Some(Level::Nothing),
        Seen::Bin(2) if load => Some(Level::Supply),
        Seen::Bin(3) if !load => Some(Level::Supply),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::Hints;
    use crate::files::parse_str;
    use crate::wiring::Facts;

    /// One cable from the hall, apart, to the landing, where its red is a traveler on the switch. The other cable there is
    /// the feed: its black is on the common, which the handle ties to the red.
    fn closed(out: &str, black: &str) -> Vec<[String; 2]> {
        let readings = [("a.black", black), ("a.white", "open"), ("b.red", "0.1"), ("b.black", "open")];
        let reading = |(at, reads): (&str, &str)| {
            format!(
                "  - {{do: ohms, between: [landing/{at}, hall/a.red], breaker: off, lamp: out, {out} reads: {reads}}}\n"
            )
        };
        let job = SURVEY.to_owned() + &readings.map(reading).concat();
        let call = parse_str("told by hand", &job).unwrap().call;
        let hints = Hints::new(&call, &Facts::new(&call.house)).unwrap();
        let names: Vec<String> = call.house.wires().map(|wire| call.house.wire_name(wire)).collect();
        hints.closed().map(|(one, other)| [names[one].clone(), names[other].clone()]).collect()
    }

    const SURVEY: &str = r#"
lath: 1
call: {goal: identify}
house: {region: us, built: 1950, supply: 120, grounds: none}
boxes:
  - name: hall
    kind: switch
    opened: true
    apart: true
    cables: [{tag: a, wires: [black, red]}]
    devices: [{name: switch, kind: three-way}]
  - name: landing
    kind: switch
    opened: true
    cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, red]}]
    devices: [{name: switch, kind: three-way}]
    joints: [[a.black, switch.common], [b.red, switch.t1], [b.black, switch.t2]]
  - {name: ceiling, kind: light, opened: false, devices: [{name: light, kind: light}]}
readings:
"#;

    #[test]
    fn what_reads_closed_through_a_switch_is_no_one_wire() {
        assert_eq!(closed("", "0.1"), [[""; 2]; 0]);
    }

    #[test]
    fn what_reads_closed_with_the_switch_off_is() {
        assert_eq!(closed("out: [landing/switch],", "open"), [["hall/a.red", "landing/b.red"]]);
    }
}
