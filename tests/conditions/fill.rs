//! Box fill against worked examples that others have published, each named.

use crate::world::{World, pack};
use lath::conditions::Edition;
use lath::conditions::fill::{Contents, of_box, rule};
use lath::house::BoxId;

fn total(code: &str, year: i64, contents: &Contents) -> f64 {
    let pack = pack();
    let edition = Edition { code: code.into(), year, adopted: true };
    rule(&pack, &edition).expect("a rule").count(contents).expect("sizes that the table has").total()
}

fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-9, "{value} instead of {expected}");
}

/// "Quizzes: Code 26", ecmweb.com (1999 NEC, Table 370-16), question 1: two 14-2 cables with ground, stud, hickey, two
/// 14 AWG fixture wires, a pigtail and two connectors make 9 conductors of 14 AWG.
#[test]
fn an_octagon_with_stud_and_hickey() {
    let contents =
        Contents { conductors: vec![14; 6], grounds: vec![14; 2], fittings: 2, ..Contents::default() };
    near(total("NEC", 1999, &contents), 9.0 * 2.0);
}

/// The same, question 2, and stallcupeducation.learnworlds.com, "Sizing octagon box, different size conductors": two
/// 12-2 cables with ground, a stud, two clamps, two pigtails, two 18 AWG fixture wires: 18.75 cubic inches.
#[test]
fn an_octagon_with_wires_of_two_sizes() {
    let contents = Contents {
        conductors: vec![12, 12, 12, 12, 18, 18],
        grounds: vec![12; 2],
        fittings: 1,
        clamps: true,
        ..Contents::default()
    };
    near(total("NEC", 1999, &contents), 18.75);
    near(total("NEC", 2017, &contents), 18.75);
}

/// The same, question 3: four 14-2 and four 12-2 cables with ground in a square box; the answer is the box of 42.0 cubic
/// inches, the next smaller one of 29.5 being too small.
#[test]
fn a_square_box_with_eight_cables() {
    let contents = Contents {
        conductors: [[14; 8], [12; 8]].concat(),
        grounds: [[14; 4], [12; 4]].concat(),
        ..Contents::default()
    };
    let needed = total("NEC", 1999, &contents);
    assert!(needed > 29.5 && needed <= 42.0, "{needed}");
}

/// The same, question 4: a device box with clamps, two 14-2 cables with ground, one duplex receptacle; the answer is the
/// box of 18.0 cubic inches (3 x 2 x 3 1/2), the next smaller one listed having 14.5.
#[test]
fn a_device_box_with_clamps() {
    let contents = Contents {
        conductors: vec![14; 4],
        grounds: vec![14; 2],
        straps: vec![14],
        clamps: true,
        ..Contents::default()
    };
    near(total("NEC", 1999, &contents), 16.0);
}

/// "Electrical box size", homeownershub.com, 15 March 2010: three 12/2 cables, one duplex receptacle, no clamps:
/// 9 x 2.25 = 20.25.
#[test]
fn a_plastic_box_with_three_cables() {
    let contents =
        Contents { conductors: vec![12; 6], grounds: vec![12; 3], straps: vec![12], ..Contents::default() };
    near(total("NEC", 2008, &contents), 20.25);
}

/// "EGC fill", forums.mikeholt.com thread 2566828, by NEC 2020: five 14 AWG and five 12 AWG grounds take 2.5 allowances
/// of 2.25 cubic inches; the rule before 2020 gives one.
#[test]
fn grounds_by_edition() {
    let contents = Contents { grounds: [[14; 5], [12; 5]].concat(), ..Contents::default() };
    near(total("NEC", 2020, &contents), 2.5 * 2.25);
    near(total("NEC", 2023, &contents), 2.5 * 2.25);
    near(total("NEC", 2017, &contents), 2.25);
    let four = Contents { grounds: vec![14; 4], ..Contents::default() };
    near(total("NEC", 2020, &four), 2.0);
}

/// "Total conductors allowed in device box", diychatroom.com thread 145600, by the Canadian code: two 14/2 and one 14/3
/// cables, one switch, two wire connectors; grounds and clamps are not counted: 10 conductors of 1.5 cubic inches.
#[test]
fn a_canadian_device_box() {
    let contents = Contents {
        conductors: vec![14; 7],
        grounds: vec![14; 3],
        straps: vec![14],
        clamps: true,
        connectors: 2,
        ..Contents::default()
    };
    near(total("CSA C22.1", 2012, &contents), 15.0);
    // Rule 12-3034(2)(b): one for every pair; a single connector is none.
    near(total("CSA C22.1", 2012, &Contents { connectors: 3, ..contents.clone() }), 15.0);
    near(total("CSA C22.1", 2012, &Contents { connectors: 1, ..contents }), 13.5);
}

#[test]
fn a_size_without_an_allowance_is_not_counted() {
    let pack = pack();
    let edition = Edition { code: "NEC".into(), year: 2020, adopted: true };
    let contents = Contents { conductors: vec![14, 4], ..Contents::default() };
    assert_eq!(rule(&pack, &edition).expect("a rule").count(&contents), None);
    assert!(rule(&pack, &Edition { year: 1980, ..edition }).is_none(), "older than any rule here");
}

/// The hall of the clean world: 5 wires, 2 grounds and a switch, all 14 AWG: 5 + 1 + 2 allowances of 2.00 without clamps
/// (NEC 314.16(B)(1), (4), (5)), one more if there are some.
#[test]
fn a_box_is_counted_as_surveyed() {
    let pack = pack();
    let range = |world: &World| {
        let edition = world.edition(&pack).expect("an edition");
        let range = of_box(&world.call().house, BoxId(0), rule(&pack, &edition).expect("a rule"));
        range.map(|range| (range.least.total(), range.most.total()))
    };
    assert_eq!(range(&World::new()), Some((16.0, 18.0)));
    let mut told = World::new();
    told.put("seen: [metal-box]", "seen: [metal-box, no-internal-clamps]");
    assert_eq!(range(&told), Some((16.0, 16.0)));
    let mut clamped = World::new();
    clamped.put("seen: [metal-box]", "seen: [metal-box, internal-clamps]");
    assert_eq!(range(&clamped), Some((18.0, 18.0)));
    // Where nobody noted the sizes they may be 14 or 12 AWG: 8 x 2.00 to 9 x 2.25.
    let mut untold = World::new();
    untold.all(", gauge: 14}", "}");
    assert_eq!(range(&untold), Some((16.0, 20.25)));
    let mut shut = World::new();
    shut.job = World::new().job.replace("    volume: 21.5\n", "    volume: 21.5\n    complete: true\n");
    assert_eq!(range(&shut), Some((16.0, 18.0)));
}
