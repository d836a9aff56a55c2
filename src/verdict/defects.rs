//! What is miswired or broken.

use super::cables::{place_name, wirings};
use super::{Case, DefectFound, rounded};
use crate::house::{LocalPoint, Point};
use crate::knowledge::DefectName;
use crate::wiring::{Defect, DefectAt, Wiring};
use std::collections::BTreeMap;

/// A defect that is likelier than not is named at each place that holds so much of it.
const PLACE: f64 = 0.2;

/// Defects that are likelier than not, likeliest first. The same defect in the same place is one; its points are those
/// of its likeliest form. Where nothing tells one place from another, each is named with its share.
pub(super) fn found(case: &Case) -> Vec<DefectFound> {
    let mut chances: BTreeMap<(DefectName, String), BTreeMap<&Defect, f64>> = BTreeMap::new();
    for (wiring, p) in wirings(case) {
        for defect in &wiring.defects {
            let here = chances.entry((defect.what, place(case, wiring, defect.at))).or_default();
            *here.entry(defect).or_default() += p;
        }
    }
    let mut whole: BTreeMap<DefectName, f64> = BTreeMap::new();
    for ((what, _), forms) in &chances {
        *whole.entry(*what).or_default() += forms.values().sum::<f64>();
    }
    let name = |&point: &LocalPoint| case.call.house.point_name(Point::At(point));
    let of = |((what, at), forms): ((DefectName, String), BTreeMap<&Defect, f64>)| {
        let p: f64 = forms.values().sum();
        let (likeliest, _) = forms.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let detail = likeliest.detail.iter().map(name).collect();
        (p >= 0.5 || (p >= PLACE && whole[&what] >= 0.5)).then(|| DefectFound {
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

fn place(case: &Case, wiring: &Wiring, at: DefectAt) -> String {
    let house = &case.call.house;
    match at {
        DefectAt::Box(at) => house.outlet(at).name.clone(),
        DefectAt::Device(device) => house.device_name(device),
        DefectAt::End(end) => house.end_name(end),
        DefectAt::Feed => place_name(case, wiring.feed),
    }
}
