//! The cautions that belong to one step, in the packs' words.

use super::errand::Step;
use super::site::Site;
use crate::house::{BoxId, Metal, Reach, Sheath};
use crate::knowledge::Caution;

/// What a suggestion does.
pub struct Doing<'a> {
    /// The boxes where it is done.
    pub boxes: &'a [BoxId],
    /// What comes first.
    pub steps: &'a [Step],
    /// Whether probes go to live points.
    pub live: bool,
    /// Whether a box is opened.
    pub opens: bool,
    /// Whether one only looks.
    pub looks: bool,
    /// Whether two points are bridged.
    pub bridged: bool,
}

/// The cautions, gravest first.
pub fn cautions(site: &Site, doing: &Doing) -> Vec<String> {
    let applies = |caution: &Caution| applies(site, doing, *caution);
    let sentence = |caution: Caution| site.knowledge.cautions.sentence(caution).to_owned();
    Caution::ALL.into_iter().filter(applies).map(sentence).collect()
}

fn applies(site: &Site, doing: &Doing, caution: Caution) -> bool {
    let house = site.house();
    let parts = |step: &Step| matches!(step, Step::Lift(wire) if site.maybe_neutral.contains(wire));
    let moves = doing.opens
        || doing.steps.iter().any(|step| {
            matches!(step, Step::TakeOut(_) | Step::PutBack(_) | Step::Lift(_) | Step::Rejoin(_))
        });
    let sheath = |sheath: Sheath| {
        let ends = doing.boxes.iter().flat_map(|&at| &house.outlet(at).ends);
        ends.into_iter().any(|&end| house.end(end).sheath == Some(sheath))
    };
    let aluminum = || {
        let ends = doing.boxes.iter().flat_map(|&at| &house.outlet(at).ends);
        ends.into_iter().any(|&end| house.end(end).metal == Metal::Aluminum)
    };
    match caution {
        Caution::Tripped => site.call.tripped().next().is_some(),
        Caution::LiveMetal => !site.call.live_metal().is_empty(),
        Caution::LiveUntilProven => moves || !doing.looks,
        Caution::MoreCircuits => doing.opens || house.feeds.len() > 1,
        Caution::Jumper => doing.bridged,
        Caution::NeutralJoint => doing.steps.iter().any(parts),
        Caution::Ladder => {
            !doing.looks && doing.boxes.iter().any(|&at| house.outlet(at).reach == Reach::Ladder)
        }
        Caution::OldInsulation => moves && doing.boxes.iter().any(|&at| site.is_old(at)),
        Caution::KnobAndTube => moves && sheath(Sheath::KnobAndTube),
        Caution::Aluminum => moves && aluminum(),
        Caution::Armor => doing.live && sheath(Sheath::Armored),
        Caution::LeadSheath => moves && sheath(Sheath::Lead),
        _ => false,
    }
}
