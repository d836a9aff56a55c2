//! What applies when and where, and the words it is said in.

use crate::world::{World, pack};
use lath::conditions::{Checked, Edition, Pack, judge};

fn edition(said: Option<&str>, region: &str, pack: &Pack) -> Option<(String, i64, bool)> {
    Edition::of(said, region, pack).map(|edition| (edition.code, edition.year, edition.adopted))
}

#[test]
fn the_edition_is_read_from_what_people_write() {
    let pack = pack();
    let nec = |year, adopted| Some(("NEC".to_owned(), year, adopted));
    assert_eq!(edition(Some("NEC 2020"), "us", &pack), nec(2020, true));
    assert_eq!(edition(Some("nfpa 70-2014"), "us", &pack), nec(2014, true));
    assert_eq!(
        edition(Some("the 2017 National Electrical Code with amendments"), "us", &pack),
        nec(2017, true)
    );
    // A year without a code, or nothing: the newest of the region, and it is said that nobody wrote it down.
    assert_eq!(edition(None, "us", &pack), nec(2023, false));
    assert_eq!(edition(Some("local amendments 1999"), "us", &pack), nec(2023, false));
    assert_eq!(edition(Some("CSA C22.1:2018"), "ca", &pack), Some(("CSA C22.1".to_owned(), 2018, true)));
    assert_eq!(edition(None, "ca", &pack), Some(("CSA C22.1".to_owned(), 2021, false)));
    assert_eq!(edition(None, "elsewhere", &pack), None);
}

/// NEC 404.2(C) asks for the neutral at switches from the edition of 2011 on (2011 National Electrical Code Changes,
/// ecmweb.com).
#[test]
fn when_installed_and_today_are_kept_apart() {
    let pack = pack();
    let condition = pack.condition("no-neutral-at-switch").expect("the condition");
    let said = |code: &str, built: &str| {
        let mut world = World::new();
        world.put("code: NEC 2020", &format!("code: {code}"));
        world.put("  built: 2015\n", built);
        let judged = judge(condition, &world.call().house, world.edition(&pack).as_ref());
        (judged.installed.expect("something is known of then"), judged.today.join(" "))
    };
    let (then, today) = said("NEC 2020", "  built: 1948\n");
    assert!(then.contains("NEC 2011") && then.contains("1948") && then.contains("older"), "{then}");
    assert!(today.starts_with("NEC 2020, 404.2(C):"), "{today}");
    let (then, _) = said("NEC 2020", "  built: 2016\n");
    assert!(then.contains("held already"), "{then}");
    let (then, _) = said("NEC 2020", "");
    assert!(then.contains("was not written down"), "{then}");
    // Where an older edition is adopted, new work there is not asked for it either.
    let (_, today) = said("NEC 2008", "  built: 1948\n");
    assert!(
        today.starts_with("NEC 2008, adopted here, does not ask for this; NEC 2011 and later do"),
        "{today}"
    );
}

#[test]
fn provisions_of_another_code_are_not_named() {
    let pack = pack();
    let condition = pack.condition("no-neutral-at-switch").expect("the condition");
    let mut world = World::new();
    world.put("region: us", "region: ca");
    world.put("code: NEC 2020", "code: CSA C22.1 2021");
    let judged = judge(condition, &world.call().house, world.edition(&pack).as_ref());
    assert!(judged.today.iter().all(|today| today.contains("Rule 4-022")) && judged.today.len() == 1);
    world.put("region: ca", "region: elsewhere");
    world.put("code: CSA C22.1 2021", "code: none");
    let judged = judge(condition, &world.call().house, world.edition(&pack).as_ref());
    assert!(judged.today.is_empty() && judged.cited.is_empty());
}

/// By the Canadian count the hall's 5 wires, switch and one splice of whites need 7 x 1.5 cubic inches, and grounds none.
#[test]
fn boxes_are_counted_by_the_code_adopted() {
    let pack = pack();
    let found = |code: &str, region: &str, volume: &str| {
        let mut world = World::new();
        world.put("code: NEC 2020", &format!("code: {code}"));
        world.put("region: us", &format!("region: {region}"));
        world.put("volume: 30.3", &format!("volume: {volume}"));
        world.names(&pack).contains(&"box-over-filled".to_owned())
    };
    assert!(found("NEC 2020", "us", "10.5"));
    assert!(!found("CSA C22.1 2021", "ca", "10.5"));
    assert!(found("CSA C22.1 2021", "ca", "10.4"));
    assert!(!found("none", "elsewhere", "1"), "no rule, no judgement");
}

/// Every provision says how it was checked; what was read says where.
#[test]
fn every_provision_has_its_source_or_says_that_it_is_from_memory() {
    let pack = pack();
    let provisions: Vec<_> = pack.conditions.iter().flat_map(|condition| &condition.provisions).collect();
    assert!(provisions.len() >= 30);
    for provision in provisions {
        let read = provision.checked != Checked::Memory;
        assert_eq!(read, !provision.source.is_empty(), "{} {}", provision.code, provision.section);
        // What was read is named; whose web page it stood on is not.
        let web = [".com", ".net", ".org", ".ca", ".uk", "www", "http"];
        assert!(!web.iter().any(|part| provision.source.contains(part)), "{}", provision.source);
    }
}
