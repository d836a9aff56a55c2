//! Holding conditions against a call.

use super::edition::Edition;
use super::gather::{Item, gather};
use super::pack::{Condition, Pack};
use crate::call::Call;
use crate::house::{BoxId, DeviceId, EndId, WireId};
use crate::verdict::Verdict;

/// Where a condition was found.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Place {
    /// The house, or the circuit as a whole.
    House,
    /// A box.
    Box(BoxId),
    /// A cable end.
    Cable(EndId),
    /// A wire.
    Wire(WireId),
    /// A joint of a box, by its place in the survey.
    Joint(BoxId, usize),
    /// A device.
    Device(DeviceId),
    /// Where a defect is, in the verdict's words, and the points concerned.
    Defect {
        /// BOX, BOX/device or BOX/tag.
        at: String,
        /// Points.
        detail: Vec<String>,
    },
}

/// A place with how firm the finding is there.
#[derive(Clone, PartialEq, Debug)]
pub struct Found {
    /// Where.
    pub place: Place,
    /// How firmly.
    pub p: f64,
    /// Figures that belong to it, such as a box's count.
    pub remark: Option<String>,
}

/// A condition that was found.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding<'a> {
    /// Which.
    pub condition: &'a Condition,
    /// Where, in the order of the survey.
    pub places: Vec<Found>,
}

impl Finding<'_> {
    /// How firm it is where it is firmest.
    pub fn p(&self) -> f64 {
        self.places.iter().map(|found| found.p).fold(0.0, f64::max)
    }
}

/// Every condition of the packs that a call has, the gravest first, then the firmest.
pub fn find<'a>(
    pack: &'a Pack,
    call: &Call,
    verdict: &Verdict,
    edition: Option<&Edition>,
) -> Vec<Finding<'a>> {
    let items = gather(pack, call, verdict, edition);
    let here = |condition: &&Condition| {
        condition.regions.is_empty() || condition.regions.contains(&call.house.region)
    };
    let conditions = pack.conditions.iter().filter(here);
    let mut findings: Vec<Finding> =
        conditions.filter_map(|condition| held(pack, condition, &items)).collect();
    findings.sort_by(|one, other| {
        one.condition.level.cmp(&other.condition.level).then(other.p().total_cmp(&one.p()))
    });
    findings
}

fn held<'a>(pack: &Pack, condition: &'a Condition, items: &[Item]) -> Option<Finding<'a>> {
    let least = pack.level(condition).map_or(1.0, |level| level.from);
    let mut places: Vec<Found> = Vec::new();
    for item in items {
        let triggers = condition.found.iter().filter(|trigger| trigger.about == item.scope);
        let p = triggers.filter_map(|trigger| trigger.when.holds(&item.facts)).fold(0.0, f64::max);
        if p >= least {
            places.push(Found { place: item.place.clone(), p, remark: remark(condition, item) });
        }
    }
    (!places.is_empty()).then_some(Finding { condition, places })
}

/// The figures of an item that a rule asked for.
fn remark(condition: &Condition, item: &Item) -> Option<String> {
    let triggers = condition.found.iter().filter(|trigger| trigger.about == item.scope);
    let mut asked = triggers.flat_map(|trigger| trigger.when.tests());
    asked.find_map(|(field, _)| item.figures.get(field).cloned())
}
