//! What readings say of the walls at once: pairs of wires that cannot be one conductor, wires that are no line or no
//! neutral.
//!
//! Two wires that are joined read the same under the same conditions, and ohms between them read closed. Where they read
//! otherwise more often than wrong readings explain, they are not joined. A search among too many wirings is cut by
//! this; a wiring that it leaves out disagrees with several readings.

use super::carried::{Carried, Levels};
use super::collection::Found;
use super::continuity::{Continuity, Joined, in_sight};
use super::facts::{Facts, WireIndex};
use super::netlist::Netlist;
use crate::call::{Ask, Call, Conditions, Reading, Seen, Source};
use crate::house::{Apart, House, LocalPoint, Point};
use crate::knowledge::Pole;
use std::collections::BTreeMap;

/// Fewer readings than this do not guide a search.
pub const FEW_READINGS: usize = 4;

/// What is refuted counts as if so many readings spoke against it.
const REFUTED: usize = 4;

/// How often something was tried, and how often it spoke against.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Tried {
    times: usize,
    against: usize,
}

impl Tried {
    pub(super) fn add(&mut self, against: bool) {
        self.times += 1;
        self.against += usize::from(against);
    }

    /// Spoken against twice at least, and by more than a quarter of what was tried: wrong readings are rarer.
    pub(super) fn refuted(&self) -> bool {
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
    columns: Columns,
    /// Whatever was lifted or taken off: one for each wire and each that it might be joined to.
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
    /// Which nets wires can carry by what volts readings say; not where joints may be other than they were meant.
    levels: Option<Levels>,
    /// Whether any reading is counted one by one.
    is_one_by_one: bool,
    /// How many readings there are.
    readings: usize,
}

/// What a wire might be joined to, by number: the wires, the neutral, and the line of each feed, one nobody named as the
/// last.
#[derive(Clone, Copy, Debug)]
struct Columns {
    wires: usize,
    feeds: usize,
}

impl Columns {
    fn width(self) -> usize {
        self.line(self.feeds) + 1
    }

    fn neutral(self) -> usize {
        self.wires
    }

    fn line(self, feed: usize) -> usize {
        self.wires + 1 + feed.min(self.feeds)
    }

    /// Where a wire and what it might be joined to stand in a table.
    fn at(self, wire: WireIndex, other: usize) -> usize {
        wire * self.width() + other
    }

    /// The column of a pole, the line being of the first of these feeds and another circuit's of the second.
    fn pole(self, pole: Pole, breakers: [u8; 2]) -> usize {
        match pole {
            Pole::Neutral | Pole::OtherNeutral => self.neutral(),
            Pole::Line => self.line(usize::from(breakers[0])),
            Pole::OtherLine => self.line(usize::from(breakers[1])),
        }
    }
}

/// A reading of one point to earth, power on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Level {
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
        let columns = Columns { wires: facts.wires.len(), feeds: call.house.feeds.len() };
        let tried = try_all(&call.house, facts, columns, &all);
        let partners = partners(&call.house, facts, &all);
        let continuity = Continuity::new(&call.house, facts, &all);
        let levels = Levels::new(&call.house, facts, &all, whole);
        let hints = Hints {
            columns,
            walls: tried.iter().map(Tried::refuted).collect(),
            doubted: tried.iter().map(Tried::doubted).collect(),
            joints: try_all(&call.house, facts, columns, &undisturbed).iter().map(Tried::refuted).collect(),
            whole,
            is_one_by_one: tried.iter().any(Tried::doubted)
                || !continuity.is_empty()
                || !levels.is_empty()
                || partners.iter().any(|others| !others.is_empty()),
            partners,
            continuity,
            levels: Some(levels),
            readings: all.len(),
        };
        hints.cuts().then_some(hints)
    }

    /// How many readings they are drawn from.
    pub(super) fn readings(&self) -> usize {
        self.readings
    }

    /// Whether anything is cut by them.
    fn cuts(&self) -> bool {
        self.is_one_by_one || self.walls.iter().chain(&self.joints).any(|refuted| *refuted)
    }

    /// The same where something may have failed.
    pub(super) fn failing(self) -> Hints {
        Hints { levels: self.levels.map(Levels::failing), ..self }
    }

    /// Only what holds of the cables, whatever the joints were meant to be.
    pub(super) fn of_walls(self) -> Hints {
        Hints { whole: false, levels: None, ..self }
    }

    /// Only what holds wherever line and neutral are: behind a failure of the feed a wire does not read what it is.
    pub(super) fn of_cables(&self) -> Hints {
        let mut hints = self.clone().of_walls();
        for row in hints.walls.chunks_mut(self.columns.width()) {
            row[self.columns.wires..].fill(false);
        }
        hints
    }

    /// How many readings that are counted one by one some walls are at odds with; `None` where there are none such.
    pub(super) fn odds(&self, Found { walls, doubts: carried, .. }: &Found) -> Option<usize> {
        let one = |at: WireIndex, other: WireIndex| walls.wires[at] == walls.wires[other];
        let wires = self.columns.wires;
        let joined = (0..wires).flat_map(|at| (at + 1..wires).map(move |other| (at, other)));
        let doubts: usize =
            joined.filter(|&(at, other)| one(at, other)).map(|(at, other)| self.against(at, other)).sum();
        let unjoined = self.closed().filter(|&(at, other)| !one(at, other)).count();
        let joined = Joined {
            group: &|wire| usize::from(walls.wires[wire]),
            more: &|wire| walls.is_open(walls.wires[wire]),
        };
        self.is_one_by_one.then(|| (doubts + unjoined).max(self.at_odds(&joined)) + carried)
    }

    /// How many ohms readings or failures at least it takes to explain that wires are joined so.
    pub(super) fn at_odds(&self, joined: &Joined) -> usize {
        self.continuity.at_odds(joined)
    }

    /// Whether readings refute that two wires are joined behind the plaster.
    fn apart(&self, one: WireIndex, other: WireIndex) -> bool {
        self.walls[self.columns.at(one, other)]
    }

    /// Whether one reading says that two wires are not joined behind the plaster.
    fn doubted(&self, one: WireIndex, other: WireIndex) -> bool {
        self.doubted[self.columns.at(one, other)]
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

    /// Whether a wire is not joined to a pole behind the plaster, the lines being of these feeds.
    pub(super) fn not_pole(&self, wire: WireIndex, pole: Pole, breakers: [u8; 2]) -> bool {
        self.walls[self.columns.at(wire, self.columns.pole(pole, breakers))]
    }

    /// What readings say of the nets that wires carry, with the lines by these feeds.
    pub(super) fn carried(&self, netlist: &Netlist, breakers: [u8; 2]) -> Carried {
        let of = |levels| Carried::new(levels, self.columns.wires, netlist, breakers);
        self.levels.as_ref().map(of).unwrap_or_default()
    }

    /// Whether readings say the same of lines by these feeds as by those.
    pub(super) fn same_lines(&self, one: [u8; 2], other: [u8; 2]) -> bool {
        let lines = [Pole::Line, Pole::OtherLine];
        let same = |pole, wire| self.not_pole(wire, pole, one) == self.not_pole(wire, pole, other);
        lines.into_iter().all(|pole| (0..self.columns.wires).all(|wire| same(pole, wire)))
    }

    /// Whether two wires are of different nets by the joints as found; never where some were taken apart.
    pub(super) fn differ(&self, one: WireIndex, other: WireIndex) -> bool {
        self.whole && self.joints[self.columns.at(one, other)]
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

fn try_all(house: &House, facts: &Facts, columns: Columns, readings: &[&Reading]) -> Vec<Tried> {
    let width = columns.width();
    let mut tried = vec![Tried::default(); width * width];
    let mut levels: BTreeMap<&Conditions, BTreeMap<WireIndex, Level>> = BTreeMap::new();
    for reading in readings.iter().filter(|reading| reading.conditions.jumpers.is_empty()) {
        let known = reading.conditions.breakers.iter().all(Option::is_some);
        let touching = |point: Point| touching(house, facts, &reading.conditions, point);
        let pairs = match &reading.ask {
            Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => pairs,
            Ask::AmpsCable(_) | Ask::AmpsWire(_) | Ask::Watch(_) => continue,
        };
        for ((p, q), seen) in pairs.iter().zip(&reading.seen) {
            let (p, q) = (touching(*p), touching(*q));
            if let (Ask::Ohms(_), Some(closed)) = (&reading.ask, closed(*seen)) {
                let ends = |nodes: &Option<Vec<WireIndex>>| nodes.clone().unwrap_or(vec![columns.neutral()]);
                for one in ends(&p) {
                    for other in ends(&q) {
                        tried[columns.at(one, other)].add(!closed);
                        tried[columns.at(other, one)].add(!closed);
                    }
                }
            }
            let (Some(level), Ask::Volts(_) | Ask::Load(_), true) =
                (level(&reading.ask, *seen, house.supply), &reading.ask, known)
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
                            tried[columns.at(one, other)].add(true);
                            tried[columns.at(other, one)].add(true);
                        }
                    }
                }
                _ => {}
            }
        }
    }
    compare(&mut tried, &levels, columns);
    tried
}

/// Wires that read differently to earth under the same conditions, and wires that read what a pole does not.
fn compare(
    tried: &mut [Tried],
    levels: &BTreeMap<&Conditions, BTreeMap<WireIndex, Level>>,
    columns: Columns,
) {
    for (conditions, here) in levels {
        let powered: Vec<(usize, bool)> =
            (0..=columns.feeds).filter_map(|feed| Some((feed, is_live(conditions, feed)?))).collect();
        for (&one, &level) in here {
            for &(feed, live) in &powered {
                tried[columns.at(one, columns.line(feed))].add((level == Level::Supply) != live);
            }
            if !powered.is_empty() {
                tried[columns.at(one, columns.neutral())].add(level != Level::Nothing);
            }
            for (&other, &its) in here.iter().filter(|(other, _)| **other != one) {
                if level != Level::Between && its != Level::Between {
                    tried[columns.at(one, other)].add(level != its);
                }
            }
        }
    }
}

/// Whether the line of a feed is live, where something is: with all off nothing tells one from the other.
fn is_live(conditions: &Conditions, feed: usize) -> Option<bool> {
    let on = &conditions.breakers;
    let all = on.iter().all(|on| *on == Some(true));
    let any = on.contains(&Some(true));
    match on.get(feed) {
        Some(known) if any => *known,
        // Of a feed that nobody named it is not known which breaker it is.
        _ => all.then_some(true),
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
pub(crate) fn closed(seen: Seen) -> Option<bool> {
    match seen {
        Seen::Number { value, spread } if value + spread < 2.0 => Some(true),
        Seen::Number { value, spread } if value - spread > 6.0 => Some(false),
        Seen::Overload => Some(false),
        Seen::Bin(bin) => Some(bin == 0),
        _ => None,
    }
}

/// What a reading to earth says, where it is clear.
pub(super) fn level(ask: &Ask, seen: Seen, supply: f64) -> Option<Level> {
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
