//! What is miswired or broken.

use super::cables::{place_name, wirings};
use super::{Case, DefectFound, rounded};
use crate::house::{LocalPoint, Point};
use crate::knowledge::DefectName;
use crate::wiring::{Defect, DefectAt, Wiring};
use std::collections::BTreeMap;

/// Where something is likelier wrong than not, each defect is named at each place that holds so much of it.
const PLACE: f64 = 0.2;

/// What is wrong where something likely is, likeliest first. The same defect in the same place is one; its points are those
/// of its likeliest form. Where nothing tells one place or one defect from another, each is named with its share.
pub(super) fn found(case: &Case) -> Vec<DefectFound> {
    let mut chances: BTreeMap<(DefectName, String), BTreeMap<&Defect, f64>> = BTreeMap::new();
    let faulty = likelihood(case);
    for (wiring, p) in wirings(case) {
        let mut places: Vec<(DefectName, String)> = Vec::new();
        for defect in &wiring.defects {
            let key = (defect.what, place(case, wiring, defect.at));
            // Two of a kind in one place are one that is named.
            if !places.contains(&key) {
                *chances.entry(key.clone()).or_default().entry(defect).or_default() += p;
                places.push(key);
            }
        }
    }
    let name = |&point: &LocalPoint| case.call.house.point_name(Point::At(point));
    let of = |((what, at), forms): ((DefectName, String), BTreeMap<&Defect, f64>)| {
        let p: f64 = forms.values().sum();
        let (likeliest, _) = forms.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let detail = likeliest.detail.iter().map(name).collect();
        (faulty >= 0.5 && p >= PLACE).then(|| DefectFound {
            what: what.word().to_owned(),
            at,
            detail,
            p: rounded(p),
        })
    };
    let mut likely: Vec<DefectFound> = chances.into_iter().filter_map(of).collect();
    likely.sort_by(|a, b| b.p.total_cmp(&a.p).then_with(|| (&a.what, &a.at).cmp(&(&b.what, &b.at))));
    likely
}

/// How likely it is that anything is wrong.
pub(super) fn likelihood(case: &Case) -> f64 {
    wirings(case).filter(|(wiring, _)| !wiring.defects.is_empty()).map(|(_, p)| p).sum()
}

/// How likely it is that anything is wrong that somebody who turns the light on and off would notice.
pub(super) fn noticed(case: &Case) -> f64 {
    let is_noticed = |defect: &Defect| case.knowledge.defects.is_noticed(defect.what);
    wirings(case).filter(|(wiring, _)| wiring.defects.iter().any(is_noticed)).map(|(_, p)| p).sum()
}

fn place(case: &Case, wiring: &Wiring, at: DefectAt) -> String {
    let house = &case.call.house;
    match at {
        DefectAt::Box(at) => house.outlet(at).name.clone(),
        DefectAt::Device(device) => house.device_name(device),
        DefectAt::End(end) => house.end_name(end),
        DefectAt::Feed => place_name(case, wiring.feed),
    }
}
