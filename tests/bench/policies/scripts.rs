//! Two orders of readings, written down as scripts: every reading in turn, whatever came of those before, until the stop
//! rule says that the question is settled.
//!
//! Both are common practice, no source. [`careful`] is a reading order that disturbs as little as possible first and asks
//! everything on the way; [`experienced`] is what somebody does who has done it often.

use super::visit::Act;
use lath::call::job::{AllOrEach, Do, JobReading, Power};
use lath::call::{Call, InstrumentKind, LampState};
use lath::house::{BoxId, BoxKind, House, LampKind, LocalPoint, Reach, WireId};
use lath::show::readings::device;

/// A house all of whose boxes in reach are open, and who reads in it.
struct Script<'a> {
    house: &'a House,
    acts: Vec<Act>,
    lamp: LampState,
}

impl<'a> Script<'a> {
    fn new(call: &'a Call) -> Script<'a> {
        let known = call.house.lights().all(|light| call.house.device(light).lamp == LampKind::Incandescent);
        let lamp = if known { LampState::In } else { LampState::Test };
        Script { house: &call.house, acts: Vec::new(), lamp }
    }

    /// The positions of the handles one flip after the other (a Gray code).
    fn ways(&self) -> Vec<Vec<bool>> {
        let switches = self.house.switches().count();
        let gray = |at: usize| at ^ (at >> 1);
        (0..1 << switches).map(|at| (0..switches).map(|bit| gray(at) >> bit & 1 == 1).collect()).collect()
    }

    /// Boxes in reach, by floor, those without a ladder first.
    fn boxes(&self) -> Vec<BoxId> {
        let reach = |at: &BoxId| self.house.outlet(*at).reach;
        let mut boxes: Vec<BoxId> = self.house.box_ids().filter(|at| reach(at) != Reach::Blocked).collect();
        boxes.sort_by_key(|at| (reach(at) == Reach::Ladder, self.house.outlet(*at).floor, *at));
        boxes
    }

    fn wires(&self, at: BoxId) -> Vec<WireId> {
        self.house.wires().filter(|wire| self.house.end(wire.end).at == at).collect()
    }

    /// One wire of each joint, and those in none.
    fn touching(&self, at: BoxId) -> Vec<WireId> {
        let joint = |wire: &WireId| {
            let point = LocalPoint::Wire(*wire);
            self.house.outlet(at).joints.iter().position(|joint| joint.points.contains(&point))
        };
        let mut seen = Vec::new();
        let first = |wire: &WireId| match joint(wire) {
            Some(joint) if seen.contains(&joint) => false,
            Some(joint) => {
                seen.push(joint);
                true
            }
            None => true,
        };
        self.wires(at).into_iter().filter(first).collect()
    }

    fn name(&self, wire: WireId) -> String {
        self.house.wire_name(wire)
    }

    fn switches_out(&self) -> Vec<String> {
        let within = |at: BoxId| self.house.outlet(at).reach != Reach::Blocked;
        let out = self.house.switches().filter(|&switch| within(self.house.device(switch).at));
        out.map(|switch| self.house.device_name(switch)).collect()
    }

    fn reading(&self, ask: Do, on: bool, way: &[bool], lamp: LampState) -> JobReading {
        let mut reading = JobReading::new(ask);
        reading.breaker = Some(AllOrEach::All(if on { Power::On } else { Power::Off }));
        let switches = self.house.switches().zip(way);
        let stands = |(switch, second): (_, &bool)| {
            (device(self.house, switch), self.house.position_word(switch, *second).to_owned())
        };
        reading.switches = Some(switches.map(stands).collect());
        if self.house.lights().next().is_some() {
            reading.lamp = Some(AllOrEach::All(lamp));
        }
        reading.out = Some(Vec::new());
        reading.lifted = Some(Vec::new());
        reading
    }

    fn ask(&mut self, question: JobReading) {
        self.acts.push(Act { question, minutes: None });
    }

    /// The light in every position.
    fn count(&mut self) {
        let lights: Vec<String> = self.house.lights().map(|light| device(self.house, light)).collect();
        for way in self.ways() {
            let mut reading = self.reading(Do::Watch, true, &way, self.lamp);
            match &lights[..] {
                [] => return,
                [one] => reading.light = Some(one.clone()),
                several => reading.lights = Some(several.to_vec()),
            }
            self.ask(reading);
        }
    }

    /// Opens every box in reach.
    fn open(&mut self, shut: &Call) {
        for at in self.boxes() {
            if !shut.house.outlet(at).opened {
                self.acts.push(Act::open(&self.house.outlet(at).name));
            }
        }
    }

    /// Wires of a box to earth.
    fn read_to_earth(&mut self, at: BoxId, wires: &[WireId], with: InstrumentKind, reading: &JobReading) {
        if wires.is_empty() {
            return;
        }
        let mut reading = reading.clone();
        reading.at = Some(self.house.outlet(at).name.clone());
        reading.points = Some(wires.iter().map(|&wire| self.name(wire)).collect());
        reading.to = Some("earth".to_owned());
        reading.with = Some(with.into());
        self.ask(reading);
    }

    /// Every wire of one box against every wire of another, with a long lead, dead.
    fn ring_out(&mut self, one: BoxId, other: BoxId, reading: &JobReading) {
        for wire in self.wires(one) {
            let mut reading = reading.clone();
            reading.at = Some(self.house.outlet(one).name.clone());
            reading.points = Some(self.wires(other).into_iter().map(|wire| self.name(wire)).collect());
            reading.to = Some(self.name(wire));
            reading.with = Some(InstrumentKind::HighImpedance.into());
            self.ask(reading);
        }
    }

    fn pairs(&self) -> Vec<(BoxId, BoxId)> {
        let boxes: Vec<BoxId> = self.boxes().into_iter().filter(|at| !self.wires(*at).is_empty()).collect();
        let after = |at: usize| boxes[at + 1..].iter().map(move |&other| (at, other));
        (0..boxes.len()).flat_map(after).map(|(at, other)| (boxes[at], other)).collect()
    }
}

/// As little disturbed as possible first: the light in every position; every box open; each screw to earth with both
/// meters in all positions; the same at the switches with the lamp out; devices out and wires parted, again; ohms from box
/// to box; the clamp.
pub fn careful(shut: &Call, open: &Call) -> Vec<Act> {
    let mut script = Script::new(open);
    script.count();
    script.open(shut);
    let meters = [InstrumentKind::LowImpedance, InstrumentKind::HighImpedance];
    for way in script.ways() {
        let reading = script.reading(Do::Volts, true, &way, script.lamp);
        for at in script.boxes() {
            for with in meters {
                script.read_to_earth(at, &script.touching(at), with, &reading);
            }
        }
    }
    for way in script.ways() {
        let reading = script.reading(Do::Volts, true, &way, LampState::Out);
        for at in script.boxes() {
            if open.house.outlet(at).kind == BoxKind::Switch {
                script.read_to_earth(at, &script.touching(at), InstrumentKind::LowImpedance, &reading);
            }
        }
    }
    let first = script.ways().swap_remove(0);
    let parted = |script: &Script, ask: Do, on: bool, lamp: LampState| {
        let mut reading = script.reading(ask, on, &first, lamp);
        reading.out = Some(script.switches_out());
        let boxes = script.boxes();
        let wires = boxes.into_iter().flat_map(|at| script.wires(at));
        reading.lifted = Some(wires.map(|wire| script.name(wire)).collect());
        reading
    };
    let reading = parted(&script, Do::Volts, true, LampState::Out);
    for at in script.boxes() {
        script.read_to_earth(at, &script.wires(at), InstrumentKind::LowImpedance, &reading);
    }
    for lamp in [LampState::Out, script.lamp] {
        let reading = parted(&script, Do::Ohms, false, lamp);
        for (one, other) in script.pairs() {
            script.ring_out(one, other, &reading);
        }
    }
    let reading = script.reading(Do::Amps, true, &first, script.lamp);
    for end in
        open.house.end_ids().filter(|&end| open.house.outlet(open.house.end(end).at).reach != Reach::Blocked)
    {
        let mut reading = reading.clone();
        reading.at = Some(open.house.outlet(open.house.end(end).at).name.clone());
        reading.around = Some(open.house.end(end).tag.clone());
        reading.with = Some(InstrumentKind::Clamp.into());
        script.ask(reading);
    }
    script.acts
}

/// Four positions, the nearest box, find the line, lamp out, ring out; the ladder last.
pub fn experienced(shut: &Call, open: &Call) -> Vec<Act> {
    let mut script = Script::new(open);
    script.count();
    let (high, low): (Vec<BoxId>, Vec<BoxId>) =
        script.boxes().into_iter().partition(|&at| open.house.outlet(at).reach == Reach::Ladder);
    let ways = script.ways();
    // The line stays hot in both positions of the handle that is at hand.
    for &at in &low {
        open_if_shut(&mut script, shut, at);
        for way in at_hand(&open.house, &ways, at) {
            let reading = script.reading(Do::Volts, true, &way, script.lamp);
            script.read_to_earth(at, &script.touching(at), InstrumentKind::LowImpedance, &reading);
        }
    }
    let reading = script.reading(Do::Volts, true, &ways[0], LampState::Out);
    for &at in &low {
        script.read_to_earth(at, &script.touching(at), InstrumentKind::LowImpedance, &reading);
    }
    ring_out_all(&mut script, &low, &ways[0]);
    for &at in &high {
        open_if_shut(&mut script, shut, at);
    }
    let all: Vec<BoxId> = low.iter().chain(&high).copied().collect();
    ring_out_all(&mut script, &all, &ways[0]);
    // Nothing else told: everything to earth with the devices off, live, and in the other positions.
    let mut reading = script.reading(Do::Volts, true, &ways[0], LampState::Out);
    reading.out = Some(script.switches_out());
    for &at in &all {
        script.read_to_earth(at, &script.wires(at), InstrumentKind::LowImpedance, &reading);
    }
    for way in &ways {
        let reading = script.reading(Do::Volts, true, way, LampState::Out);
        for &at in &all {
            script.read_to_earth(at, &script.touching(at), InstrumentKind::LowImpedance, &reading);
        }
    }
    script.acts
}

fn open_if_shut(script: &mut Script, shut: &Call, at: BoxId) {
    if !shut.house.outlet(at).opened {
        script.acts.push(Act::open(&script.house.outlet(at).name));
    }
}

/// The positions that differ in nothing but the handles in one box, the first of them as everything was found.
fn at_hand(house: &House, ways: &[Vec<bool>], at: BoxId) -> Vec<Vec<bool>> {
    let elsewhere = |way: &&Vec<bool>| {
        let mut set = house.switches().zip(way.iter()).filter(|(_, second)| **second);
        set.all(|(switch, _)| house.device(switch).at == at)
    };
    ways.iter().filter(elsewhere).cloned().collect()
}

/// Devices off, splices as they lie, the lamp out: every wire to earth and to those in the other boxes.
fn ring_out_all(script: &mut Script, boxes: &[BoxId], way: &[bool]) {
    let mut reading = script.reading(Do::Ohms, false, way, LampState::Out);
    reading.out = Some(script.switches_out());
    for &at in boxes {
        script.read_to_earth(at, &script.touching(at), InstrumentKind::HighImpedance, &reading);
    }
    for (one, other) in script.pairs() {
        if boxes.contains(&one) && boxes.contains(&other) {
            script.ring_out(one, other, &reading);
        }
    }
}
