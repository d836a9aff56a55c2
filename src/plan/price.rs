//! What a reading of one's own choosing takes, at the prices of the suggestions.

use super::belief::Belief;
use super::errand::{Errand, Want};
use super::rig::{Present, Rig, is_to_earth, places};
use super::site::Site;
use crate::call::{Ask, Call, Reading};
use crate::house::BoxId;
use crate::knowledge::Knowledge;
use crate::verdict;
use crate::weigh::Ledger;
use crate::wiring::Space;

/// Something that was done.
#[derive(Clone, Copy, Debug)]
pub enum Done<'a> {
    /// A reading.
    Read(&'a Reading),
    /// A box was opened.
    Opened(BoxId),
}

/// What something takes.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Price {
    /// Minutes of work, those of the steps on the way among them.
    pub minutes: f64,
    /// What is held against it, as if it were minutes.
    pub held: f64,
}

/// Minutes of work from how a call stands to having done something, all steps on the way among them; `None` where that
/// cannot be got to, or where the reading does not say all its conditions.
pub fn minutes(call: &Call, knowledge: &Knowledge, space: &Space, done: Done) -> Option<f64> {
    price(call, knowledge, space, done).map(|price| verdict::rounded(price.minutes))
}

/// The same, with what is held against it.
pub fn price(call: &Call, knowledge: &Knowledge, space: &Space, done: Done) -> Option<Price> {
    verdict::with_case(call, knowledge, space, &mut Ledger::default(), |case, _| {
        let verdict = case.verdict();
        let belief = Belief::new(case, &verdict);
        let site = Site::new(case.call, case.knowledge, &verdict, belief.other);
        let present = Present::of(case.call);
        let errand = match done {
            Done::Opened(at) => Errand::open(&site, &present, at),
            Done::Read(reading) => way(&site, &present, reading),
        };
        errand.map(|errand| Price { minutes: errand.minutes, held: errand.held() })
    })
}

fn way(site: &Site, present: &Present, reading: &Reading) -> Option<Errand> {
    let rig = Rig::of(&reading.conditions)?;
    let positions = reading.conditions.positions.iter().copied().collect::<Option<Vec<bool>>>()?;
    let places = places(site.house(), &reading.ask);
    let probes = match &reading.ask {
        Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => pairs.len(),
        Ask::AmpsCable(_) | Ask::AmpsWire(_) => 1,
        Ask::Watch(_) => 0,
    };
    let (at, far) = (places.first().copied(), places.last().copied());
    let to_earth = is_to_earth(&reading.ask) || rig.is_earthed();
    let want = Want { rig: &rig, positions: &positions, at, far, probes, to_earth, barred: &[] };
    Errand::to(site, present, &want)
}
