//! Which cable goes where, and where the feed enters.

use super::{CableFound, Case, rounded};
use crate::house::{EndId, Place};
use crate::wiring::{Dest, Wiring};
use std::collections::BTreeMap;

/// Every wiring in play with its posterior probability: a row's share goes to its wirings by their prior weight.
pub(super) fn wirings<'a>(case: &'a Case) -> impl Iterator<Item = (&'a Wiring, f64)> + 'a {
    case.posterior.rows.iter().flat_map(|weighed| {
        let row = &case.space.rows[weighed.row];
        let whole = row.weight();
        row.wirings.iter().map(move |wiring| (wiring, weighed.p * wiring.weight / whole))
    })
}

/// The likeliest far end of every seen end, and the feed's way in where nobody saw it.
pub(super) fn found(case: &Case) -> Vec<CableFound> {
    let ends = case.facts.ends.len();
    let mut chances: Vec<BTreeMap<Dest, f64>> = vec![BTreeMap::new(); ends];
    let mut feeds: BTreeMap<Place, f64> = BTreeMap::new();
    for (wiring, p) in wirings(case) {
        for (end, dest) in wiring.dests.iter().enumerate() {
            *chances[end].entry(*dest).or_default() += p;
        }
        if !wiring.dests.contains(&Dest::Panel) {
            *feeds.entry(wiring.feed).or_default() += p;
        }
    }
    let mut cables = Vec::new();
    for (end, chances) in chances.iter().enumerate() {
        let Some((&dest, &p)) = chances.iter().max_by(|a, b| a.1.total_cmp(b.1)) else { continue };
        let seen_before = matches!(dest, Dest::End(far) if usize::from(far.0) < end);
        let already = cables.iter().any(|cable: &CableFound| cable.ends[1] == end_name(case, end));
        if p >= 0.5 && !(seen_before && already) {
            cables.push(CableFound { ends: [end_name(case, end), dest_name(case, dest)], p: rounded(p) });
        }
    }
    let feed = feeds.iter().max_by(|a, b| a.1.total_cmp(b.1));
    if let Some((&place, &p)) = feed.filter(|(_, p)| **p >= 0.5) {
        cables.push(CableFound { ends: [place_name(case, place), "panel".to_owned()], p: rounded(p) });
    }
    cables
}

fn end_name(case: &Case, end: usize) -> String {
    case.call.house.end_name(EndId(end as u8))
}

fn dest_name(case: &Case, dest: Dest) -> String {
    match dest {
        Dest::End(far) => case.call.house.end_name(far),
        Dest::Box(at) => place_name(case, Place::Box(at)),
        Dest::Buried(n) => place_name(case, Place::Buried(n)),
        Dest::Panel => "panel".to_owned(),
        Dest::Onward => "onward".to_owned(),
    }
}

/// A place as documents name it.
pub(super) fn place_name(case: &Case, place: Place) -> String {
    match place {
        Place::Box(at) => case.call.house.outlet(at).name.clone(),
        Place::Buried(n) => format!("buried-{}", n + 1),
        Place::Panel => "panel".to_owned(),
        Place::Onward => "onward".to_owned(),
    }
}
