//! Every reading worth taking in a house, in the order of somebody who disturbs as little as possible first: the light
//! watched, everything as it lies, lamp out, devices off, wires parted, and dead with an ohmmeter at the end.

use super::answer::{Teller, differ};
use super::building::{Building, Spot};
use super::slips::Slips;
use crate::call::job::{AllOrEach, Do, JobInstrument, JobReading, Power};
use crate::call::{InstrumentKind, LampState};
use crate::house::{BoxKind, LampKind};
use std::collections::BTreeMap;

/// Labels of all switches.
type Positions = BTreeMap<String, String>;

/// Somebody at work in a building.
struct Round<'a> {
    building: &'a Building,
    switches: Vec<usize>,
    readings: Vec<JobReading>,
}

/// All that can be measured in a building, with the answers: while a wire is live that should be dead, no ohms are.
///
/// # Errors
/// In words: what cannot be asked of this house.
pub fn measured(building: &Building, slips: Slips) -> Result<Vec<JobReading>, String> {
    let mut teller = Teller::new(building, slips);
    let mut taken = Vec::new();
    for question in everything(building) {
        match teller.take(&question) {
            Err(_) if question.ask == Do::Ohms => {}
            reading => taken.push(reading?),
        }
    }
    Ok(taken)
}

/// Whether a survey, or any reading worth taking, tells a building from one that is the same but for a defect.
///
/// # Errors
/// In words: what cannot be asked of this house.
pub fn shows(building: &Building, sound: &Building) -> Result<bool, String> {
    if building.survey().boxes != sound.survey().boxes {
        return Ok(true);
    }
    let mut teller = Teller::new(sound, Slips::none());
    for reading in measured(building, Slips::none())? {
        let without = teller.ask(&reading)?;
        if reading.reads.as_ref().is_some_and(|reads| differ(&reading, reads, &without, building.supply)) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// All of them, without answers.
pub fn everything(building: &Building) -> Vec<JobReading> {
    let mut round = Round { building, switches: building.switches().collect(), readings: Vec::new() };
    round.watch();
    round.as_found(round.good_lamp(), InstrumentKind::LowImpedance);
    round.as_found(LampState::Out, InstrumentKind::LowImpedance);
    round.floating();
    round.clamp();
    round.switched_off();
    round.devices_off();
    round.parted_live();
    round.parted_dead();
    round.contacts();
    round.readings
}

impl Round<'_> {
    /// The positions of the switches, all ways; or with those held still that do not matter.
    fn ways(&self, moved: impl Fn(usize) -> bool) -> Vec<Positions> {
        let moving: Vec<bool> = self.switches.iter().map(|&switch| moved(switch)).collect();
        let count = moving.iter().filter(|moving| **moving).count();
        let way = |bits: usize| {
            let mut bit = 0;
            let mut positions = Positions::new();
            for (&switch, moving) in self.switches.iter().zip(&moving) {
                let second = *moving && bits >> bit & 1 == 1;
                bit += usize::from(*moving);
                let label = self.building.fixtures[switch].labels[usize::from(second)];
                positions.insert(self.building.fixture_name(switch), label.to_owned());
            }
            positions
        };
        (0..1_usize << count).map(way).collect()
    }

    /// The lamp that is there, or where nobody knows it for a filament, one that is.
    fn good_lamp(&self) -> LampState {
        let lamp = |light: usize| self.building.fixtures[light].lamp.map(|lamp| lamp.said);
        let known = self.building.lights().all(|light| lamp(light) == Some(LampKind::Incandescent));
        if known { LampState::In } else { LampState::Test }
    }

    fn all_ways(&self) -> Vec<Positions> {
        self.ways(|_| true)
    }

    /// Only what nobody can take off still matters.
    fn shut_ways(&self) -> Vec<Positions> {
        self.ways(|switch| !self.is_open(self.building.fixtures[switch].outlet))
    }

    fn is_open(&self, outlet: usize) -> bool {
        self.building.outlets[outlet].opened
    }

    fn reading(&self, ask: Do, on: bool, positions: &Positions, lamp: LampState) -> JobReading {
        let mut reading = JobReading::new(ask);
        reading.breaker = Some(AllOrEach::All(if on { Power::On } else { Power::Off }));
        if !self.switches.is_empty() {
            reading.switches = Some(positions.clone());
        }
        reading.lamp = Some(AllOrEach::All(lamp));
        reading
    }

    fn watch(&mut self) {
        let lights: Vec<String> =
            self.building.lights().map(|light| self.building.fixture_name(light)).collect();
        for positions in self.all_ways() {
            let mut reading = self.reading(Do::Watch, true, &positions, LampState::In);
            match &lights[..] {
                [] => return,
                [light] => reading.light = Some(light.clone()),
                several => reading.lights = Some(several.to_vec()),
            }
            self.readings.push(reading);
        }
    }

    fn open_boxes(&self) -> Vec<usize> {
        (0..self.building.outlets.len()).filter(|&outlet| self.is_open(outlet)).collect()
    }

    /// Every wire of a box; of those that touch as they lie, one.
    fn wires(&self, outlet: usize, parted: bool) -> Vec<Spot> {
        let joints = &self.building.outlets[outlet].joints;
        let ends = self.building.ends_at(outlet);
        let first_of_joint = |end: &Spot| {
            let joint = joints.iter().find(|joint| joint.spots.contains(end));
            joint.is_none_or(|joint| joint.spots.iter().find(|spot| ends.contains(spot)) == Some(end))
        };
        ends.iter().copied().filter(|end| parted || first_of_joint(end)).collect()
    }

    /// Volts from some spots of a box to earth.
    fn volts(&mut self, outlet: usize, spots: &[Spot], with: InstrumentKind, reading: &JobReading) {
        if spots.is_empty() {
            return;
        }
        let mut reading = reading.clone();
        reading.at = Some(self.building.outlets[outlet].name.clone());
        reading.points = Some(spots.iter().map(|&spot| self.building.local_name(spot)).collect());
        reading.to = Some("earth".to_owned());
        reading.with = Some(JobInstrument::from(with));
        self.readings.push(reading);
    }

    /// Every wire to earth as it lies, in every position.
    fn as_found(&mut self, lamp: LampState, with: InstrumentKind) {
        for positions in self.all_ways() {
            let reading = self.reading(Do::Volts, true, &positions, lamp);
            for outlet in self.open_boxes() {
                let mut spots = self.wires(outlet, false);
                spots.extend(self.building.outlets[outlet].metal.then_some(Spot::Metal(outlet)));
                self.volts(outlet, &spots, with, &reading);
            }
        }
    }

    /// Every wire to earth with the breaker off: that it is the right one.
    fn switched_off(&mut self) {
        let Some(positions) = self.all_ways().into_iter().next() else { return };
        let reading = self.reading(Do::Volts, false, &positions, LampState::In);
        for outlet in self.open_boxes() {
            let wires = self.wires(outlet, false);
            self.volts(outlet, &wires, InstrumentKind::LowImpedance, &reading);
        }
    }

    /// What floats shows on a high-impedance meter.
    fn floating(&mut self) {
        let Some(positions) = self.all_ways().into_iter().next() else { return };
        let reading = self.reading(Do::Volts, true, &positions, LampState::Out);
        for outlet in self.open_boxes() {
            let wires = self.wires(outlet, false);
            self.volts(outlet, &wires, InstrumentKind::HighImpedance, &reading);
        }
    }

    /// A clamp round every cable with the lamp in, in the first positions of the switches.
    fn clamp(&mut self) {
        for positions in self.all_ways().into_iter().take(2) {
            for outlet in self.open_boxes() {
                for (cable, side) in self.building.cables_at(outlet) {
                    let mut reading = self.reading(Do::Amps, true, &positions, self.good_lamp());
                    reading.at = Some(self.building.outlets[outlet].name.clone());
                    reading.around = Some(self.building.cables[cable].tags[side].clone());
                    reading.with = Some(JobInstrument::from(InstrumentKind::Clamp));
                    self.readings.push(reading);
                }
            }
        }
    }

    /// Switches of opened boxes.
    fn switches_off(&self) -> Vec<String> {
        let open =
            self.switches.iter().filter(|&&switch| self.is_open(self.building.fixtures[switch].outlet));
        open.map(|&switch| self.building.fixture_name(switch)).collect()
    }

    /// Devices off, splices as they lie.
    fn devices_off(&mut self) {
        let out = self.switches_off();
        for lamp in [self.good_lamp(), LampState::Out] {
            for positions in self.shut_ways() {
                let mut reading = self.reading(Do::Volts, true, &positions, lamp);
                reading.out = Some(out.clone());
                for outlet in self.open_boxes() {
                    let wires = self.wires(outlet, true);
                    self.volts(outlet, &wires, InstrumentKind::LowImpedance, &reading);
                }
            }
        }
    }

    fn all_wires(&self) -> Vec<Spot> {
        self.open_boxes().into_iter().flat_map(|outlet| self.wires(outlet, true)).collect()
    }

    /// The same with every wire parted and capped.
    fn parted(&self, ask: Do, on: bool, positions: &Positions, lamp: LampState) -> JobReading {
        let mut reading = self.reading(ask, on, positions, lamp);
        reading.out = Some(self.switches_off());
        let wires = self.all_wires();
        reading.lifted = Some(wires.into_iter().map(|wire| self.building.name(wire)).collect());
        reading
    }

    fn parted_live(&mut self) {
        for positions in self.shut_ways() {
            for lamp in [self.good_lamp(), LampState::Out] {
                let reading = self.parted(Do::Volts, true, &positions, lamp);
                for outlet in self.open_boxes() {
                    let wires = self.wires(outlet, true);
                    self.volts(outlet, &wires, InstrumentKind::LowImpedance, &reading);
                }
            }
        }
    }

    /// Ohms between every two wires, and from each to earth.
    fn parted_dead(&mut self) {
        let light_shut =
            self.building.lights().any(|light| !self.is_open(self.building.fixtures[light].outlet));
        let lamps: &[LampState] =
            if light_shut { &[LampState::Out, self.good_lamp()] } else { &[LampState::Out] };
        for positions in self.shut_ways() {
            for &lamp in lamps {
                let reading = self.parted(Do::Ohms, false, &positions, lamp);
                self.pairs(&reading);
            }
        }
    }

    fn pairs(&mut self, reading: &JobReading) {
        let names: Vec<String> = self.all_wires().into_iter().map(|wire| self.building.name(wire)).collect();
        for (at, to) in names.iter().enumerate() {
            let mut reading = reading.clone();
            reading.at = to.split_once('/').map(|(outlet, _)| outlet.to_owned());
            reading.with = Some(JobInstrument::from(InstrumentKind::HighImpedance));
            let others = names[at + 1..].iter().cloned();
            reading.points = Some(others.chain(["earth".to_owned()]).collect());
            reading.to = Some(to.clone());
            self.readings.push(reading);
        }
    }

    /// Ohms across the screws of every switch that can be taken off, in both positions.
    fn contacts(&mut self) {
        let open =
            |outlet: usize| self.is_open(outlet) && self.building.outlets[outlet].kind != BoxKind::Light;
        let switches: Vec<usize> =
            self.switches.iter().copied().filter(|&s| open(self.building.fixtures[s].outlet)).collect();
        for switch in switches {
            let fixture = &self.building.fixtures[switch];
            let spots: Vec<Spot> = fixture.screws().iter().map(|&screw| Spot::Screw(switch, screw)).collect();
            let mut names: Vec<String> = spots.iter().map(|&spot| self.building.local_name(spot)).collect();
            names.sort();
            for positions in self.ways(|other| other == switch) {
                for (at, to) in names.iter().enumerate().take(names.len() - 1) {
                    let mut reading = self.reading(Do::Ohms, false, &positions, LampState::Out);
                    reading.at = Some(self.building.outlets[fixture.outlet].name.clone());
                    reading.out = Some(self.switches_off());
                    reading.with = Some(JobInstrument::from(InstrumentKind::HighImpedance));
                    reading.points = Some(names[at + 1..].to_vec());
                    reading.to = Some(to.clone());
                    self.readings.push(reading);
                }
            }
        }
    }
}
