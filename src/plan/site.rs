//! What the planner knows of the call beside its wirings: who owns what, what must not be touched, what is old.

use crate::call::{Call, Conditions, InstrumentKind, LampState, Source};
use crate::house::{BoxId, DeviceId, House, LampKind, LocalPoint, Point, Reach, Role, Sheath, WireId};
use crate::knowledge::{DefectName, Effort, Knowledge};
use crate::predict::Tester;
use crate::verdict::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// A wire that may be a neutral with more than this is treated as one when its joint is parted.
const MAY_BE: f64 = 1e-3;

/// The call around the question.
#[derive(Clone)]
pub struct Site<'a> {
    /// The call.
    pub call: &'a Call,
    /// The packs.
    pub knowledge: &'a Knowledge,
    /// Testers owned, with their figures.
    pub owned: Vec<Tester>,
    /// Wires that may be, or may touch, a neutral.
    pub maybe_neutral: BTreeSet<WireId>,
    /// Positions that tripped, with the devices that were off then.
    tripped: Vec<Conditions>,
    /// Whether something was live with the breakers off, and not dead when it was tested again.
    live_when_off: bool,
    /// Whether a lamp may be what is wrong.
    lamp_suspected: bool,
    /// The supply was off before anybody began to ask here: whether it still is has to be looked at.
    pub off_before: bool,
}

impl<'a> Site<'a> {
    /// Looks round. A wire in a joint with one that may be a neutral may be one itself.
    pub fn new(call: &'a Call, knowledge: &'a Knowledge, verdict: &Verdict, other: f64) -> Site<'a> {
        let house = &call.house;
        let tester = |owned: &crate::call::Instrument| Tester::new(*owned, &knowledge.instruments);
        let may = |at: usize| {
            let Some(found) = verdict.wires.get(at) else { return true };
            let p = match found.role {
                Role::Neutral => found.p,
                _ => found.others.get(&Role::Neutral).copied().unwrap_or(0.0),
            };
            p + other >= MAY_BE
        };
        Site {
            call,
            knowledge,
            owned: call.instruments.iter().map(tester).collect(),
            maybe_neutral: neutrals(house, may),
            tripped: call.tripped().map(|at| call.readings[at].conditions.clone()).collect(),
            live_when_off: live_when_off(call),
            lamp_suspected: verdict.defects.iter().any(|defect| defect.what == DefectName::LampOut.word()),
            off_before: false,
        }
    }

    /// The same where it is known how likely each wire is a neutral.
    pub fn knowing(&self, neutral: impl Fn(usize) -> f64) -> Site<'a> {
        let maybe_neutral = neutrals(self.house(), |wire| neutral(wire) >= MAY_BE);
        Site { maybe_neutral, ..self.clone() }
    }

    /// The house.
    pub fn house(&self) -> &'a House {
        &self.call.house
    }

    /// The prices.
    pub fn prices(&self) -> &'a Effort {
        &self.knowledge.effort
    }

    /// Boxes that are open and in reach: where probes can go.
    pub fn boxes(&self) -> impl Iterator<Item = BoxId> + '_ {
        self.house().box_ids().filter(|&at| self.house().outlet(at).opened && self.reachable(at))
    }

    /// Whether a box can be got to today.
    pub fn reachable(&self, at: BoxId) -> bool {
        self.house().outlet(at).reach != Reach::Blocked
    }

    /// The tester of a kind, if owned.
    pub fn tester(&self, kind: InstrumentKind) -> Option<Tester> {
        self.owned.iter().find(|tester| tester.kind == kind).copied()
    }

    /// Whether anything owned proves a box dead: two leads that make contact, and neither a solenoid nor a neon.
    pub fn proves_dead(&self) -> bool {
        use InstrumentKind::{HighImpedance, LowImpedance, TestLamp, TwoPole};
        [TwoPole, LowImpedance, HighImpedance, TestLamp].iter().any(|kind| self.tester(*kind).is_some())
    }

    /// Whether anything is done that needs dead wires: not while one is known that the breakers do not kill.
    pub fn works_dead(&self) -> bool {
        self.proves_dead() && !self.live_when_off
    }

    /// Whether something is live that the breakers should have killed.
    pub fn is_live_when_off(&self) -> bool {
        self.live_when_off
    }

    /// Whether insulation in a box is old rubber or cloth.
    pub fn is_old(&self, at: BoxId) -> bool {
        let outlet = self.house().outlet(at);
        let old = |s: Sheath| matches!(s, Sheath::ClothNm | Sheath::KnobAndTube | Sheath::Lead);
        outlet.seen.iter().any(|s| s == "brittle-insulation")
            || outlet.ends.iter().any(|&end| self.house().end(end).sheath.is_some_and(old))
    }

    /// Whether a handle says anything: its device is behind a shut cover, or has wires on two screws or more.
    pub fn acts(&self, switch: DeviceId) -> bool {
        let outlet = self.house().outlet(self.house().device(switch).at);
        let wired = outlet.joints.iter().filter(|joint| {
            let on = |p: &LocalPoint| matches!(p, LocalPoint::Terminal(device, _) if *device == switch);
            joint.points.len() > 1 && joint.points.iter().any(on)
        });
        !outlet.opened || wired.count() > 1
    }

    /// Switches that can be taken off and have wires on them.
    pub fn removable(&self) -> Vec<DeviceId> {
        let can = |switch: &DeviceId| {
            let at = self.house().device(*switch).at;
            self.house().outlet(at).opened && self.reachable(at) && self.acts(*switch)
        };
        self.house().switches().filter(can).collect()
    }

    /// Whether the lamps can all be changed.
    pub fn lamps_in_reach(&self) -> bool {
        self.house().lights().all(|light| self.reachable(self.house().device(light).at))
    }

    /// Whether a known good lamp would say more than the one that is there.
    pub fn lamp_doubtful(&self) -> bool {
        self.lamp_suspected
            || self.house().lights().any(|light| self.house().device(light).lamp != LampKind::Incandescent)
    }

    /// What lamps could be changed to.
    pub fn lamp_states(&self, now: &[LampState]) -> Vec<Vec<LampState>> {
        let lights = self.house().lights().count();
        let mut states = vec![now.to_vec()];
        if self.lamps_in_reach() {
            states.push(vec![LampState::In; lights]);
            states.push(vec![LampState::Out; lights]);
            if self.lamp_doubtful() {
                states.push(vec![LampState::Test; lights]);
            }
        }
        let mut seen = BTreeSet::new();
        states.retain(|state| seen.insert(state.clone()));
        states
    }

    /// Whether the breaker opened before with the handles so: nothing is reset into a suspected short.
    pub fn tripped_at(&self, out: &[DeviceId], positions: &[bool]) -> bool {
        let house = self.house();
        self.tripped.iter().any(|conditions| {
            let same = |(at, switch): (usize, DeviceId)| {
                out.contains(&switch)
                    || conditions.positions.get(at).copied().flatten() == Some(positions[at])
            };
            conditions.out.iter().all(|device| out.contains(device))
                && out
                    .iter()
                    .all(|device| conditions.out.contains(device) || !house.device(*device).kind.is_switch())
                && house.switches().enumerate().all(same)
        })
    }
}

/// Wires that may be a neutral, and those in a joint with one.
fn neutrals(house: &House, may: impl Fn(usize) -> bool) -> BTreeSet<WireId> {
    let may: Vec<WireId> = house.wires().enumerate().filter(|(at, _)| may(*at)).map(|(_, w)| w).collect();
    let mut neutrals: BTreeSet<WireId> = may.iter().copied().collect();
    for joint in house.boxes.iter().flat_map(|outlet| &outlet.joints) {
        let wires: Vec<WireId> = super::rig::wires_of(&joint.points).collect();
        if wires.iter().any(|wire| may.contains(wire)) {
            neutrals.extend(wires);
        }
    }
    neutrals
}

/// Whether the last test of any two points with the breakers off showed them live. What was found live in a box is settled
/// once the whole box was proved dead after that, be it by another breaker or the main.
fn live_when_off(call: &Call) -> bool {
    let mut last: BTreeMap<(Point, Point), bool> = BTreeMap::new();
    for reading in call.readings.iter().filter(|reading| reading.by == Source::Technician) {
        last.extend(reading.live_when_off());
    }
    let is_settled = |point: &Point| match point {
        Point::At(local) => killed_since(call, call.house.box_of(*local)),
        Point::Earth => true,
    };
    last.into_iter().any(|((one, other), live)| live && !(is_settled(&one) && is_settled(&other)))
}

/// Whether a box was proved live, and dead the last time.
fn killed_since(call: &Call, at: BoxId) -> bool {
    let proofs = || call.proofs.iter().filter(|proof| proof.at == at);
    proofs().any(|proof| !proof.dead) && proofs().next_back().is_some_and(|proof| proof.dead)
}
