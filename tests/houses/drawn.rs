//! The drawing held against itself and against what is known of such houses.

use lath::practice::{Features, Scheme, Slips, Trial, draw};

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
