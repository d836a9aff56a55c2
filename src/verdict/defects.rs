//! What is miswired or broken.

use super::cables::{place_name, wirings};
use super::{Case, DefectFound, rounded};
use crate::house::{LocalPoint, Point};
use crate::wiring::{Defect, DefectAt, Wiring};
use std::collections::BTreeMap;

/// Defects that are likelier than not, likeliest first.
pub(super) fn found(case: &Case) -> Vec<DefectFound> {
    let mut chances: BTreeMap<(&Defect, String), f64> = BTreeMap::new();
    for (wiring, p) in wirings(case) {
        for defect in &wiring.defects {
            *chances.entry((defect, place(case, wiring, defect.at))).or_default() += p;
        }
    }
    let mut likely: Vec<((&Defect, String), f64)> = chances.into_iter().filter(|(_, p)| *p >= 0.5).collect();
    likely.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let name = |&point: &LocalPoint| case.call.house.point_name(Point::At(point));
    let found = |((defect, at), p): ((&Defect, String), f64)| DefectFound {
        what: defect.what.word().to_owned(),
        at,
        detail: defect.detail.iter().map(name).collect(),
        p: rounded(p),
    };
    likely.into_iter().map(found).collect()
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
