//! How hard a house is.

use crate::practice::{Building, Chance, FAULTS, Features, Scheme, draw};

/// How many houses are drawn for one; more than any level takes.
const TRIES: u64 = 50;

/// Between the numbers of houses drawn for one, so that people's small numbers do not meet.
const STRIDE: u64 = 1 << 32;

/// The house of a number, at a level.
pub fn house(level: u8, seed: u64) -> Building {
    // Of two boxes that nobody knows of nothing could be told: such a house gives way to the next.
    let mut houses = (0..TRIES).map(|nth| draw(seed.wrapping_add(nth * STRIDE), &features(level)));
    let fit = houses.find(|house| house.outlets.iter().filter(|outlet| !outlet.known).count() <= 1);
    let mut building = fit.unwrap_or_else(|| draw(seed, &features(1)));
    if level >= 4 {
        let mut chance = Chance::new(seed);
        // Not every house has a place for every defect.
        let tried = (0..100).filter_map(|_| chance.pick(&FAULTS)).collect::<Vec<_>>();
        let _ = tried.into_iter().any(|what| building.spoil(what, &mut chance));
    }
    building
}

fn features(level: u8) -> Features {
    let plain = Features::bare(Scheme::Conventional);
    let usual = Features { junction: 0.0, apart: [0.0; 2], ..Features::default() };
    match level {
        1 => plain,
        2 => Features { light_shut: 0.7, ..usual },
        3 => Features { apart: [1.0, 0.2], light_shut: 0.5, ..usual },
        4 => Features { light_shut: 0.0, switch_shut: 0.0, ..usual },
        _ => Features {
            schemes: plain.schemes.clone(),
            four_way: 1.0,
            junction: 1.0,
            buried: 1.0,
            light_shut: 0.0,
            switch_shut: 0.0,
            ..usual
        },
    }
}
