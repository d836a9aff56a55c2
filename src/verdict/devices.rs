//! Which screw is which on devices whose screws nobody has told apart.

use super::{Case, DeviceFound, rounded};
use crate::house::DeviceId;
use crate::wiring::Screws;
use std::collections::BTreeMap;

/// The likeliest terminal of each screw of every unmarked switch in an opened box.
pub(super) fn found(case: &Case) -> Vec<DeviceFound> {
    let mut chances: BTreeMap<DeviceId, BTreeMap<&Screws, f64>> = BTreeMap::new();
    for weighed in &case.posterior.rows {
        for screws in &case.space.rows[weighed.row].walls.screws {
            *chances.entry(screws.device).or_default().entry(screws).or_default() += weighed.p;
        }
    }
    let of = |(device, chances): (DeviceId, BTreeMap<&Screws, f64>)| {
        let (screws, p) = chances.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let pairs = screws.places.iter().zip(screws.kind.terminals());
        let named = pairs.map(|(screw, terminal)| (screw.word().into_owned(), terminal.word().into_owned()));
        Some(DeviceFound {
            device: case.call.house.device_name(device),
            screws: named.collect(),
            p: rounded(p),
        })
    };
    chances.into_iter().filter_map(of).collect()
}
