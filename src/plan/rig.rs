//! How things stand: power, lamps, devices off, wires lifted; handles; where one is.

use super::Here;
use crate::call::{Ask, Call, Conditions, LampState, Reading, Source};
use crate::house::{BoxId, DeviceId, House, LocalPoint, Point, WireId};
use crate::predict::{ALL_ON, Power, Setup};
use crate::wiring::Facts;

/// The conditions of a reading but for the handles.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Rig {
    /// Whether anything is on.
    pub on: bool,
    /// Of several feeds that are on, the one that is off.
    pub off: Option<usize>,
    /// What is in each light.
    pub lamps: Vec<LampState>,
    /// Devices taken off, ordered.
    pub out: Vec<DeviceId>,
    /// Wires away from their joint, ordered.
    pub lifted: Vec<WireId>,
    /// Points bridged, ordered; only where nothing is on.
    pub jumpers: Vec<(Point, Point)>,
}

impl Rig {
    /// For the predictor.
    pub fn setup(&self, facts: &Facts) -> Setup {
        Setup {
            power: self.power(facts.feeds),
            lamps: self.lamps.clone(),
            out: self.out.clone(),
            lifted: self.lifted.iter().map(|&wire| facts.index(wire)).collect(),
            jumpers: self.jumpers.clone(),
        }
    }

    /// Which of so many feeds are on. What no breaker is named for is off with all of them: a house is worked in dead.
    fn power(&self, feeds: usize) -> Power {
        match (self.on, self.off) {
            (false, _) => 0,
            (true, None) => ALL_ON,
            (true, Some(off)) if feeds > 1 => ALL_ON & !(1 << off),
            (true, Some(_)) => ALL_ON,
        }
    }

    /// Whether anything is on, and which feed is off beside others: where that is said of all of them, and no more than one
    /// stands otherwise.
    pub fn breakers(conditions: &Conditions) -> Option<(bool, Option<usize>)> {
        let on = conditions.breakers.iter().copied().collect::<Option<Vec<bool>>>()?;
        let off: Vec<usize> = (0..on.len()).filter(|&feed| !on[feed]).collect();
        match off[..] {
            [] => Some((true, None)),
            _ if off.len() == on.len() => Some((false, None)),
            [one] => Some((true, Some(one))),
            _ => None,
        }
    }

    /// The rig that conditions say, where they say all of it.
    pub fn of(conditions: &Conditions) -> Option<Rig> {
        let (on, off) = Rig::breakers(conditions)?;
        let lamps = conditions.lamps.iter().copied().collect::<Option<Vec<_>>>()?;
        let Conditions { out, lifted, .. } = conditions.clone();
        Some(Rig { on, off, lamps, out, lifted, jumpers: in_order(&conditions.jumpers) })
    }

    /// Whether a point is bridged to earth.
    pub fn is_earthed(&self) -> bool {
        self.jumpers.iter().any(|(p, q)| [p, q].contains(&&Point::Earth))
    }

    /// Whether a jumper is on a point of a box.
    pub fn has_jumper_at(&self, house: &House, at: BoxId) -> bool {
        let of = |point: &Point| match point {
            Point::At(local) => Some(house.box_of(*local)),
            Point::Earth => None,
        };
        self.jumpers.iter().flat_map(|(p, q)| [p, q]).any(|point| of(point) == Some(at))
    }

    /// What touches in a box: lists of wires. One probe reaches all of a list.
    pub fn clusters(&self, house: &House, at: BoxId) -> Vec<Vec<WireId>> {
        let outlet = house.outlet(at);
        let mut clusters: Vec<Vec<WireId>> = Vec::new();
        let mut placed: Vec<WireId> = Vec::new();
        for joint in &outlet.joints {
            let parted = joint.points.iter().any(|point| match *point {
                LocalPoint::Terminal(device, terminal) => {
                    self.out.contains(&device) && outlet.doubled.contains(&(device, terminal))
                }
                _ => false,
            });
            let together: Vec<WireId> =
                wires_of(&joint.points).filter(|wire| !parted && !self.lifted.contains(wire)).collect();
            placed.extend(&together);
            clusters.extend((!together.is_empty()).then_some(together));
        }
        let all = outlet
            .ends
            .iter()
            .flat_map(|&end| (0..house.end(end).wires.len() as u8).map(move |wire| WireId { end, wire }));
        clusters.extend(all.filter(|wire| !placed.contains(wire)).map(|wire| vec![wire]));
        clusters.iter_mut().for_each(|cluster| cluster.sort_unstable());
        clusters.sort();
        clusters
    }

    /// The first wire that touches a point, or the point itself where none does: points that touch are one to a probe.
    pub fn touching(&self, house: &House, point: Point) -> Point {
        let Point::At(local) = point else { return point };
        let at = house.box_of(local);
        let joint = |wire: WireId| {
            house.outlet(at).joints.iter().position(|j| j.points.contains(&LocalPoint::Wire(wire)))
        };
        let with = |cluster: &Vec<WireId>| match local {
            LocalPoint::Wire(wire) => cluster.contains(&wire),
            LocalPoint::Terminal(device, _) => {
                !self.out.contains(&device)
                    && cluster.iter().any(|&wire| {
                        !self.lifted.contains(&wire)
                            && joint(wire).is_some_and(|j| house.outlet(at).joints[j].points.contains(&local))
                    })
            }
            LocalPoint::Metal(_) => false,
        };
        let found = self.clusters(house, at).into_iter().find(with);
        found.map_or(point, |cluster| Point::At(LocalPoint::Wire(cluster[0])))
    }
}

/// Jumpers, each the same whichever of its ends is named first.
pub fn in_order(jumpers: &[(Point, Point)]) -> Vec<(Point, Point)> {
    let mut all: Vec<_> = jumpers.iter().map(|&(p, q)| (p.min(q), p.max(q))).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The wires among points.
pub fn wires_of(points: &[LocalPoint]) -> impl Iterator<Item = WireId> {
    points.iter().filter_map(|point| match point {
        LocalPoint::Wire(wire) => Some(*wire),
        _ => None,
    })
}

/// How things stand now.
#[derive(Clone, PartialEq, Debug)]
pub struct Present {
    /// Where one stands; nowhere yet at first.
    pub at: Option<BoxId>,
    /// Power, lamps, devices, wires.
    pub rig: Rig,
    /// The handles.
    pub positions: Vec<bool>,
    /// Boxes proved dead in this off-period.
    pub dead: Vec<BoxId>,
    /// Whether something is known that is earth.
    pub earth: bool,
}

impl Present {
    /// As the technician's readings leave it. A box that is open was opened with the power off.
    pub fn of(call: &Call) -> Present {
        let house = &call.house;
        let mut present = Present {
            at: None,
            rig: Rig {
                on: house.boxes.iter().all(|outlet| !outlet.opened),
                lamps: vec![LampState::In; house.lights().count()],
                ..Rig::default()
            },
            positions: vec![false; house.switches().count()],
            dead: Vec::new(),
            earth: call.reference,
        };
        for reading in call.readings.iter().filter(|reading| reading.by == Source::Technician) {
            present.follow(house, reading);
        }
        present
    }

    /// As somebody says it is who is there: what is proved dead has no power.
    pub fn know(&mut self, here: Here) {
        self.at = here.at.or(self.at);
        self.dead = here.proven.to_vec();
        self.rig.on &= self.dead.is_empty();
    }

    fn follow(&mut self, house: &House, reading: &Reading) {
        let conditions = &reading.conditions;
        if let Some(rig) = Rig::of(conditions) {
            self.rig = rig;
        }
        for (at, switch) in house.switches().enumerate() {
            let Some(second) = conditions.positions.get(at).copied().flatten() else { continue };
            if self.positions[at] != second && !conditions.out.contains(&switch) {
                self.positions[at] = second;
                self.at = Some(house.device(switch).at);
            }
        }
        self.at = last_place(house, &reading.ask).or(self.at);
        self.earth |= is_to_earth(&reading.ask) || self.rig.is_earthed();
        if self.rig.on {
            self.dead.clear();
        } else {
            let worked = conditions.out.iter().map(|&device| house.device(device).at);
            let lifted = conditions.lifted.iter().map(|wire| house.end(wire.end).at);
            let bridged = house.box_ids().filter(|&at| self.rig.has_jumper_at(house, at));
            self.dead.extend(worked.chain(lifted).chain(bridged).chain(places(house, &reading.ask)));
            self.dead.sort_unstable();
            self.dead.dedup();
        }
    }
}

/// The boxes that a question is asked in, in the order they are come to.
pub fn places(house: &House, ask: &Ask) -> Vec<BoxId> {
    let of = |point: &Point| match point {
        Point::At(local) => Some(house.box_of(*local)),
        Point::Earth => None,
    };
    match ask {
        Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => {
            pairs.iter().flat_map(|(p, q)| [q, p]).filter_map(of).collect()
        }
        Ask::AmpsCable(end) => vec![house.end(*end).at],
        Ask::AmpsWire(wire) => vec![house.end(wire.end).at],
        Ask::Watch(_) => Vec::new(),
    }
}

/// Whether a question is about points and earth.
pub fn is_to_earth(ask: &Ask) -> bool {
    match ask {
        Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => {
            pairs.iter().any(|(p, q)| [p, q].contains(&&Point::Earth))
        }
        Ask::AmpsCable(_) | Ask::AmpsWire(_) | Ask::Watch(_) => false,
    }
}

fn last_place(house: &House, ask: &Ask) -> Option<BoxId> {
    places(house, ask).last().copied()
}
