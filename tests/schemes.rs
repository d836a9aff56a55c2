//! Every scheme in the packs, thrown through every position: each switch changes the light each time, and what is
//! live with the light off is what the trade says of it.
//!
//! Patterns: the two-switch stair circuit of Hawkins Electrical Guide vol. 4 (1917) lights in two of four positions; the
//! lamp between the commons and the commons joined are worked out by connectivity, as is that k switches light in half
//! of 2^k positions.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a helper of tests may fail as a test does")]

use lath::call::LampState;
use lath::files::{self, packs};
use lath::house::House;
use lath::predict::{Scene, Setup, watch};
use lath::wiring::{Facts, Options, Space};
use std::fmt::Write;

/// A house in which nobody has opened anything: so many three-ways with four-ways between them, and a light.
fn unopened(switches: usize) -> House {
    let mut job = "lath: 1\nhouse: {region: us, supply: 120, feeds: [{name: \"1\"}]}\nboxes:\n".to_owned();
    for switch in 0..switches {
        let kind = match (switches, switch) {
            (1, _) => "single-pole",
            (_, at) if at == 0 || at + 1 == switches => "three-way",
            _ => "four-way",
        };
        writeln!(
            job,
            "  - {{name: s{switch}, kind: switch, opened: false, devices: [{{name: switch, kind: {kind}}}]}}"
        )
        .unwrap();
    }
    job.push_str("  - {name: l, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent}]}\n");
    files::parse_str("unopened", &job).unwrap().call.house
}

/// For each scheme that fits, whether the light is lit at each way the switches are thrown; `None` where it trips.
fn lit(switches: usize) -> Vec<(String, Vec<Option<bool>>)> {
    let house = unopened(switches);
    let knowledge = packs::embedded().unwrap();
    let space = Space::new(&house, &knowledge, Options { buried: 0 });
    let facts = Facts::new(&house);
    let scene = Scene::new(&house, &facts);
    let opened =
        scene.opened(&Setup { power: lath::predict::ALL_ON, lamps: vec![LampState::In], ..Setup::default() });
    let mut patterns = Vec::new();
    for row in &space.rows {
        let pattern = (0..1u32 << switches)
            .map(|thrown| {
                let bins = watch(&scene, &row.walls, &opened, thrown)[0];
                (bins[4] == 0.0).then_some(bins[0] > 0.5)
            })
            .collect();
        patterns.push((space.netlists[row.wirings[0].netlist].scheme.clone(), pattern));
    }
    patterns
}

#[test]
fn every_switch_changes_the_light_in_every_position() {
    for switches in 1..=4 {
        let patterns = lit(switches);
        assert!(!patterns.is_empty(), "{switches} switches: no scheme");
        for (scheme, pattern) in patterns {
            let lit: Vec<bool> = pattern.into_iter().map(|lit| lit.expect("it trips")).collect();
            assert_eq!(lit.iter().filter(|lit| **lit).count(), 1 << (switches - 1), "{scheme}");
            for thrown in 0..lit.len() {
                for switch in 0..switches {
                    assert_ne!(lit[thrown], lit[thrown ^ (1 << switch)], "{scheme}, {switches} switches");
                }
            }
        }
    }
}

#[test]
fn two_three_ways_have_three_schemes() {
    let mut schemes: Vec<String> = lit(2).into_iter().map(|(scheme, _)| scheme).collect();
    schemes.sort();
    schemes.dedup();
    assert_eq!(schemes, ["commons-joined", "conventional", "lamp-between-commons"]);
}
