//! The contracted answers against the whole network: every wire a resistor, every cable a capacitor, solved by
//! `lath::circuit`, which ngspice checks; some of the very networks are given to ngspice here too.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a helper of tests may fail as a test does")]

use lath::call::{Ask, Instrument, InstrumentKind, LampState};
use lath::circuit::Node;
use lath::circuit::export::{Analysis, deck};
use lath::files::{self, packs};
use lath::house::{House, LampKind, LocalPoint, Point};
use lath::predict::network::{Assumed, Full};
use lath::predict::{HERTZ, METRES, Scene, Setup, Tester, answer};
use lath::wiring::{Facts, Options, Space, Walls};
use std::path::Path;
use std::process::Command;

/// Steele, Lea and Flood's SplitMix64 (OOPSLA 2014).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

const CASES: usize = 1200;
const SURVEYS: [&str; 6] = [
    "two-legs",
    "open-ring-light-unopened",
    "line-to-the-near-switch",
    "three-way-light-unopened",
    "both-switches-unopened",
    "loop-apart",
];

fn houses() -> Vec<(House, Vec<Walls>)> {
    let knowledge = packs::embedded().unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/wirings/surveys");
    let load = |survey: &&str| {
        let mut house = files::load(&folder.join(format!("{survey}.yaml"))).unwrap().call.house;
        house.devices.iter_mut().filter(|device| device.kind.is_light()).for_each(|light| {
            light.lamp = LampKind::Incandescent;
            light.watts = Some(60.0);
        });
        let space = Space::new(&house, &knowledge, Options { buried: 0 });
        (house, space.rows.into_iter().map(|row| row.walls).collect())
    };
    SURVEYS.iter().map(load).collect()
}

/// Joins or parts a few groups at random: faults, as walls know them.
fn disturbed(walls: &Walls, random: &mut Draw) -> Walls {
    let mut walls = walls.clone();
    if random.below(3) == 0 {
        let at = random.below(walls.wires.len());
        walls.wires[at] = random.below(usize::from(walls.groups)) as u8;
    }
    walls
}

fn setup(house: &House, facts: &Facts, random: &mut Draw) -> Setup {
    let opened = |at| house.outlet(at).opened;
    let mut setup = Setup { power: random.below(4) > 0, ..Setup::default() };
    for _ in house.lights() {
        setup.lamps.push([LampState::In, LampState::In, LampState::Out, LampState::Test][random.below(4)]);
    }
    setup.out = house.device_ids().filter(|&d| opened(house.device(d).at) && random.below(5) == 0).collect();
    setup.lifted = (0..facts.wires.len()).filter(|_| random.below(8) == 0).collect();
    setup
}

fn tester(kind: InstrumentKind) -> Tester {
    let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
    Tester::new(plain, &packs::embedded().unwrap().instruments)
}

/// The bin of a share of the supply; a floating net shows a ghost where real volts would be part.
fn volt_bins(share: f64) -> &'static [usize] {
    // A hair's breadth about the borders is either's.
    match share {
        s if s < 0.0160 => &[0],
        s if s < 0.0175 => &[0, 1, 2],
        s if s < 0.895 => &[1, 2],
        s if s < 0.905 => &[1, 2, 3],
        _ => &[1, 3],
    }
}

fn certain(bins: [f64; 5]) -> Option<usize> {
    (0..5).find(|&bin| bins[bin] >= 0.98)
}

#[test]
fn contracted_answers_are_those_of_the_whole_network() {
    let houses = houses();
    let mut random = Draw(7);
    let mut compared = [0usize; 5];
    for case in 0..CASES {
        let (house, rows) = &houses[random.below(houses.len())];
        let facts = Facts::new(house);
        let scene = Scene::new(house, &facts);
        let walls = disturbed(&rows[random.below(rows.len())], &mut random);
        let setup = setup(house, &facts, &mut random);
        let thrown = random.below(1 << scene.switches()) as u32;
        let wires: Vec<_> = house.wires().collect();
        let p = Point::At(LocalPoint::Wire(wires[random.below(wires.len())]));
        let q = if random.below(2) == 0 {
            Point::Earth
        } else {
            Point::At(LocalPoint::Wire(wires[random.below(wires.len())]))
        };
        let opened = scene.opened(&setup);
        let ask = |ask: &Ask, kind| certain(answer(&scene, &walls, &setup, thrown, ask, tester(kind))[0]);
        let low = ask(&Ask::Volts(vec![(p, q)]), InstrumentKind::LowImpedance);
        let high = ask(&Ask::Volts(vec![(p, q)]), InstrumentKind::HighImpedance);
        let ohms = ask(&Ask::Ohms(vec![(p, q)]), InstrumentKind::HighImpedance);
        let light = house.lights().next().unwrap();
        let watch = ask(&Ask::Watch(vec![light]), InstrumentKind::HighImpedance);
        for metres in METRES {
            let build = |cold, other_load| {
                let assumed = Assumed { metres, other_load, supply: 120.0 };
                Full::build(&scene, &walls, &opened, thrown, assumed, cold).unwrap()
            };
            let (a, b) = (build(true, None).at(&scene, p), build(true, None).at(&scene, q));
            let told =
                format!("case {case}, {metres} m, {p:?} {q:?}, {setup:?}, thrown {thrown:b}, {walls:?}");
            if low == Some(4) {
                // A dead short: the service alone limits the current, and what it feeds is pulled down.
                let amps = 120.0 / 0.1;
                let drawn = short_amps(&build(true, None));
                assert!(drawn > 100.0 && drawn <= 2.0 * amps, "{told}: {drawn} A");
                compared[4] += 1;
                continue;
            }
            // A lamp that burns is hot; one that a meter's current passes through is cold.
            let burns = build(false, None).across(light).unwrap() >= 0.2 * 120.0;
            for (found, meter, farads, slot) in [(low, 3e3, 0.0, 0), (high, 1e7, 1e-10, 1)] {
                let Some(bin) = found.filter(|_| setup.power) else { continue };
                let share = build(!burns, None).volts(a, b, meter, farads).unwrap() / 120.0;
                assert!(volt_bins(share).contains(&bin), "{told}: {share} is not bin {bin} on {meter} ohms");
                compared[slot] += 1;
            }
            if let Some(bin) = ohms.filter(|_| !setup.power) {
                let found = build(true, None).ohms(a, b).unwrap();
                let expected = match found {
                    Some(r) if r < 3.0 => 0,
                    Some(r) if r < 80.0 => 1,
                    Some(r) if r < 1e6 => 2,
                    _ => 3,
                };
                assert_eq!(bin, expected, "{told}: {found:?}");
                compared[2] += 1;
            }
            if let Some(bin) = watch {
                let share = build(false, None).across(light).unwrap() / 120.0;
                let expected = if share >= 0.9 {
                    0
                } else if share >= 0.2 {
                    1
                } else {
                    3
                };
                assert_eq!(bin, expected, "{told}: light at {share}");
                compared[3] += 1;
            }
        }
    }
    assert!(compared.iter().all(|&count| count > 40), "too few of a kind compared: {compared:?}");
}

/// Amperes the service delivers.
fn short_amps(full: &Full) -> f64 {
    let solution = full.network.solve_ac(HERTZ).unwrap();
    let branches = full.network.branches().iter().enumerate();
    let sources = branches.filter(|(_, branch)| matches!(branch.kind, lath::circuit::Kind::Source { .. }));
    let amps = sources.map(|(_, branch)| {
        let volts = solution.volts(branch.from, branch.to).unwrap();
        (120.0 - volts).abs() / 0.05
    });
    amps.fold(0.0, f64::max)
}

/// The same networks, solved by ngspice.
#[test]
fn whole_networks_agree_with_ngspice() {
    if Command::new("ngspice").arg("--version").output().is_err() {
        assert!(std::env::var_os("CI").is_none(), "in CI ngspice must be there");
        eprintln!("no ngspice: the networks of houses were not given to it");
        return;
    }
    let houses = houses();
    let mut random = Draw(11);
    for case in 0..24 {
        let (house, rows) = &houses[random.below(houses.len())];
        let facts = Facts::new(house);
        let scene = Scene::new(house, &facts);
        let walls = disturbed(&rows[random.below(rows.len())], &mut random);
        let setup = Setup { power: true, ..setup(house, &facts, &mut random) };
        let opened = scene.opened(&setup);
        let thrown = random.below(1 << scene.switches()) as u32;
        let assumed = Assumed { metres: 10.0, other_load: None, supply: 120.0 };
        let full = Full::build(&scene, &walls, &opened, thrown, assumed, false).unwrap();
        let ours = full.network.solve_ac(HERTZ).unwrap();
        let theirs = ngspice(&deck(&full.network, "a house", Analysis::Ac(HERTZ)), case);
        let nodes: Vec<Node> = full.network.nodes().collect();
        assert!(theirs.len() + 1 >= nodes.len(), "case {case}: {} of {} nodes", theirs.len(), nodes.len());
        for (node, volts) in nodes.into_iter().filter(|node| *node != Node::REFERENCE).zip(theirs) {
            let mine = ours.magnitude(node).unwrap();
            assert!((mine - volts).abs() <= 1e-3 * volts + 1e-6, "case {case}: {mine} here, {volts} there");
        }
    }
}

/// Magnitudes of the node voltages of a deck, in the order of the nodes.
fn ngspice(deck: &str, case: usize) -> Vec<f64> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("house.cir"), deck).unwrap();
    let nodes = deck.lines().filter(|line| line.starts_with("Rl")).count();
    let prints: String = (1..=nodes).map(|node| format!("print vm({node})\n")).collect();
    let script =
        format!("* batch\n.control\nset numdgt=12\nsource house.cir\nrun\n{prints}quit\n.endc\n.end\n");
    std::fs::write(folder.path().join("batch.cir"), script).unwrap();
    let output = Command::new("ngspice").args(["-n", "-b", "batch.cir"]).current_dir(folder.path()).output();
    let text = String::from_utf8_lossy(&output.expect("ngspice runs").stdout).into_owned();
    let value = |line: &str| line.strip_prefix("vm(")?.split_once(") = ")?.1.trim().parse::<f64>().ok();
    let found: Vec<f64> = text.lines().filter_map(value).collect();
    assert_eq!(found.len(), nodes, "case {case}: {text}");
    found
}
