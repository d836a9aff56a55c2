//! Boxes that could be opened, and what would help where nothing in reach tells more.

use super::belief::{Belief, entropy};
use super::beware::{Doing, cautions};
use super::errand::Errand;
use super::report::Suggestion;
use super::rig::Present;
use super::site::Site;
use super::suggest;
use super::taken::Taken;
use crate::call::InstrumentKind;
use crate::house::{BoxId, Goal, Reach};
use crate::verdict::rounded;
use std::collections::BTreeMap;

/// What a box tells counts this much of what a reading tells: the wires in it raise questions of their own. In 60 drawn
/// pairs of three-ways a call took 5.4 minutes on average with 1, and 4.7 with anything from 0.3 down.
const WORTH: f64 = 0.3;

/// Each unopened box in reach that tells at least so many bits as far as is known, with its bits a minute and the way there.
pub fn candidates(
    site: &Site,
    belief: &Belief,
    present: &Present,
    taken: &Taken,
    least: f64,
) -> Vec<(f64, BoxId, Errand)> {
    let house = site.house();
    let shut = house.box_ids().filter(|&at| {
        !house.outlet(at).opened && site.reachable(at) && !taken.is_shut(at) && site.works_dead()
    });
    let of = |at: BoxId| {
        let errand = Errand::open(site, present, at)?;
        let bits = bits(site, belief, at);
        (bits >= least).then(|| (WORTH * bits / errand.cost(), at, errand))
    };
    shut.filter_map(of).collect()
}

/// Opening a box.
pub fn suggestion(site: &Site, belief: &Belief, at: BoxId, errand: &Errand) -> Suggestion {
    let name = &site.house().outlet(at).name;
    let mut suggestion = suggest::bare(site, errand, false);
    suggestion.ask = "open".to_owned();
    suggestion.at = Some(name.clone());
    suggestion.bits = rounded(bits(site, belief, at));
    suggestion.first.push(format!(
        "Take the plate off {name}, prove every bare point and the metal dead as it comes into reach."
    ));
    suggestion.because = format!("Nobody has looked into {name}: its cables and joints tell more.");
    let doing =
        Doing { boxes: &[at], steps: &errand.steps, live: false, opens: true, looks: false, bridged: false };
    suggestion.cautions = cautions(site, &doing);
    suggestion
}

/// Bits that what is in a box would tell: which seen cables come into it, and what they are joined to there. A box that
/// the goal is about tells all that is asked.
pub fn bits(site: &Site, belief: &Belief, at: BoxId) -> f64 {
    if site.call.goal == Goal::NeutralAt(at) {
        return 1.0;
    }
    let mut joint: BTreeMap<Vec<u8>, Vec<f64>> = BTreeMap::new();
    for state in &belief.states {
        let walls = belief.walls[state.walls];
        let mut sign: Vec<u8> = Vec::new();
        for dark in walls.devices.iter().filter(|dark| site.house().device(dark.device).at == at) {
            for group in &dark.groups {
                let joined = walls.wires.iter().enumerate().filter(|(_, other)| *other == group);
                sign.extend(joined.map(|(wire, _)| wire as u8));
                sign.extend([u8::MAX, u8::from(*group == walls.line), u8::from(*group == walls.neutral)]);
            }
        }
        joint.entry(sign).or_insert_with(|| vec![0.0; belief.targets()])[state.target] += state.p;
    }
    let whole: f64 = joint.values().flatten().sum();
    if whole <= 0.0 {
        return 0.0;
    }
    let left: f64 = joint.values().map(|row| entropy(row) * row.iter().sum::<f64>() / whole).sum();
    (belief.bits_within() - left).max(0.0)
}

/// What might tell more, were it to be had.
pub fn would_help(site: &Site) -> Vec<String> {
    let house = site.house();
    let mut help = Vec::new();
    for outlet in house.boxes.iter().filter(|outlet| !outlet.opened) {
        help.push(match outlet.reach {
            Reach::Blocked => format!("Getting at {}, which is out of reach, and opening it.", outlet.name),
            _ => format!("Opening {}.", outlet.name),
        });
    }
    if site.is_live_when_off() {
        help.push(
            "The breaker that kills what stayed live with the breaker off, or the main off: then the same points tested \
             again. Until they read dead, no dead work is done."
                .to_owned(),
        );
    }
    if !site.proves_dead() {
        help.push(
            "A two-lead contact tester: without one nothing is proved dead, and no dead work is done."
                .to_owned(),
        );
    }
    let owns = |kind| site.tester(kind).is_some();
    if !owns(InstrumentKind::HighImpedance) && !owns(InstrumentKind::Continuity) {
        help.push("An ohmmeter or a continuity tester.".to_owned());
    }
    if !owns(InstrumentKind::LowImpedance)
        && !owns(InstrumentKind::TwoPole)
        && !owns(InstrumentKind::Solenoid)
    {
        help.push("A low-impedance voltmeter, which tells a ghost from line.".to_owned());
    }
    if !owns(InstrumentKind::TestLamp) {
        help.push("A test lamp, which tells a sound joint from a bad one.".to_owned());
    }
    if !owns(InstrumentKind::Clamp) {
        help.push("A clamp meter.".to_owned());
    }
    if house.boxes.iter().any(|outlet| outlet.opened && outlet.reach == Reach::Blocked) {
        help.push("Getting at the boxes that are out of reach.".to_owned());
    }
    help
}
