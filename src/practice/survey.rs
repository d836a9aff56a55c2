//! What a visitor writes down: the job file of a building before anything was measured.

use super::building::{Building, Joint, Spot, Undone};
use crate::call::InstrumentKind;
use crate::call::job::{
    Job, JobApart, JobBox, JobCable, JobCall, JobDevice, JobFeed, JobHouse, JobInstrument, JobJoint,
    JobReference, Screws,
};
use crate::house::DeviceKind;

/// The instruments of somebody who owns one of each that tells something.
const OWNED: [InstrumentKind; 5] = [
    InstrumentKind::HighImpedance,
    InstrumentKind::LowImpedance,
    InstrumentKind::Continuity,
    InstrumentKind::TestLamp,
    InstrumentKind::Clamp,
];

impl Building {
    /// The job file after looking into the opened boxes.
    pub fn survey(&self) -> Job {
        let feeds = self
            .circuits
            .iter()
            .filter(|circuit| circuit.listed)
            .map(|circuit| JobFeed { name: circuit.name.clone(), ..JobFeed::default() });
        let house = JobHouse {
            region: Some("us".to_owned()),
            built: Some(i64::from(self.built)),
            supply: Some(120.0),
            grounds: Some(self.grounds),
            feeds: Some(feeds.collect()),
            reference: Some(JobReference {
                what: "a rod driven by the cellar door".into(),
                proven: Some(libm::round(self.supply)),
            }),
        };
        let outlets = (0..self.outlets.len()).filter(|&outlet| self.outlets[outlet].known);
        let call = JobCall {
            goal: Some("identify".to_owned()),
            complaint: (!self.faults.is_empty()).then(|| "It does not do what it should.".into()),
            ..JobCall::default()
        };
        Job {
            call: Some(call),
            house: Some(house),
            instruments: Some(OWNED.map(JobInstrument::from).to_vec()),
            boxes: Some(outlets.map(|outlet| self.survey_of(outlet)).collect()),
            ..Job::default()
        }
    }

    /// What is seen at one box.
    pub fn survey_of(&self, outlet: usize) -> JobBox {
        let here = &self.outlets[outlet];
        let mut seen = JobBox::new(here.name.clone(), here.kind);
        seen.opened = Some(here.opened);
        seen.floor = Some(i64::from(here.floor));
        seen.reach = Some(here.reach);
        let devices: Vec<JobDevice> = self.fixtures_at(outlet).map(|fixture| self.device(fixture)).collect();
        seen.devices = (!devices.is_empty()).then_some(devices);
        if !here.opened {
            return seen;
        }
        let cables = self.cables_at(outlet);
        seen.cables = Some(cables.into_iter().map(|(cable, side)| self.cable(cable, side)).collect());
        seen.joints = Some(
            here.joints
                .iter()
                .filter(|joint| self.is_seen(outlet, joint))
                .map(|joint| self.joint(joint))
                .collect(),
        );
        seen.complete = here.bundled.then_some(false);
        seen.doubled = self.doubled(outlet);
        seen.apart = match &here.undone {
            Undone::Nothing => None,
            Undone::All => Some(JobApart::All(true)),
            Undone::Spots(spots) => {
                Some(JobApart::Points(spots.iter().map(|&spot| self.local_name(spot)).collect()))
            }
        };
        seen
    }

    /// Splices under one taped bundle are not told apart; screws are seen all the same.
    fn is_seen(&self, outlet: usize, joint: &Joint) -> bool {
        let screwed = joint.spots.iter().any(|spot| matches!(spot, Spot::Screw(..)));
        screwed || !self.outlets[outlet].bundled
    }

    fn joint(&self, joint: &Joint) -> JobJoint {
        let points = joint.spots.iter().map(|&spot| self.local_name(spot)).collect();
        JobJoint { points, sure: None }
    }

    fn doubled(&self, outlet: usize) -> Option<Vec<String>> {
        let doubled =
            self.outlets[outlet].joints.iter().filter(|joint| joint.doubled && joint.spots.len() > 2);
        let screws = doubled.flat_map(|joint| &joint.spots).filter(|spot| matches!(spot, Spot::Screw(..)));
        let names: Vec<String> = screws.map(|&spot| self.local_name(spot)).collect();
        (!names.is_empty()).then_some(names)
    }

    fn cable(&self, cable: usize, side: usize) -> JobCable {
        let cable = &self.cables[cable];
        JobCable {
            tag: cable.tags[side].clone(),
            sheath: cable.noted.then_some(cable.sheath),
            wires: cable.strands.iter().map(|strand| strand.words[side].clone()).collect(),
            gauge: cable.noted.then_some(14),
            ..JobCable::default()
        }
    }

    fn device(&self, fixture: usize) -> JobDevice {
        let device = &self.fixtures[fixture];
        let unmarked = device.unmarked.is_some() && device.said != DeviceKind::Switch;
        JobDevice {
            name: device.name.clone(),
            kind: device.said,
            screws: unmarked.then_some(Screws::Unmarked),
            lamp: device.lamp.map(|lamp| lamp.said),
            watts: device.lamp.filter(|lamp| lamp.said == lamp.kind).map(|lamp| lamp.watts),
            sure: None,
        }
    }
}
