//! The drawing held against itself and against what is known of such houses.

use lath::practice::{Chance, FAULTS, Features, Scheme, Slips, Trial, draw};

/// A house put together as it was meant works from every switch; nothing trips, no shell is live.
#[test]
fn every_house_works_as_it_was_meant() {
    for seed in 0..600 {
        let mut building = draw(seed, &Features::default());
        building.outlets.iter_mut().for_each(|outlet| outlet.joints = outlet.meant.clone());
        let trial = building.try_all().unwrap();
        assert_eq!(trial, Trial::Works, "seed {seed} {} {:?}", building.scheme, building.features);
    }
}

/// So do houses with more lights, receptacles and chains.
#[test]
fn larger_houses_work_as_they_were_meant() {
    let large = Features {
        receptacle: 0.5,
        second_light: 0.5,
        other_light: 0.5,
        second_chain: 0.5,
        unmarked: 0.5,
        apart: [0.0; 2],
        ..Features::default()
    };
    for seed in 0..200 {
        let building = draw(seed, &large);
        assert_eq!(building.try_all().unwrap(), Trial::Works, "seed {seed} {:?}", building.features);
    }
}

/// A defect can be put in wherever there is a place for it, and then something shows it, mostly.
#[test]
fn every_defect_is_put_in() {
    for what in FAULTS {
        let large = Features {
            receptacle: 1.0,
            grounds: if what == "ground-as-neutral" { 1.0 } else { 0.15 },
            four_way: if what == "pairs-crossed" { 1.0 } else { 0.1 },
            apart: [0.0; 2],
            ..Features::default()
        };
        let put = |seed| {
            let mut building = draw(seed, &large);
            building.spoil(what, &mut Chance::new(seed)) && building.faults[0].what == what
        };
        assert!((0..40).any(put), "{what}");
    }
}

#[test]
fn the_same_seed_draws_the_same_house() {
    for seed in 0..40 {
        assert_eq!(draw(seed, &Features::default()), draw(seed, &Features::default()));
    }
}

#[test]
fn what_is_asked_for_is_drawn() {
    let ring = Features { ring: 1.0, ..Features::bare(Scheme::Conventional) };
    let rings = (0..60).filter(|&seed| draw(seed, &ring).features.contains(&"ring")).count();
    assert!(rings > 20, "{rings}");
    let measured = super::judge::measure(1, &Features::bare(Scheme::CommonsJoined), Slips::none());
    assert_eq!(measured.truth.scheme, "commons-joined");
}
