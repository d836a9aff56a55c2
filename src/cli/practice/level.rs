//! How hard a house is.

use crate::practice::{Building, Chance, FAULTS, Features, Scheme, draw};

/// The house of a number, at a level.
pub fn house(level: u8, seed: u64) -> Building {
    let mut building = draw(seed, &features(level));
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
