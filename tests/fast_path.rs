//! The contracted answers against the whole network: every wire a resistor, every cable a capacitor, solved by
//! `lath::circuit`, which ngspice checks; some of the very networks are given to ngspice here too.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a helper of tests may fail as a test does")]

use lath::call::{Ask, Instrument, InstrumentKind, LampState};
use lath::circuit::Node;
use lath::circuit::export::{Analysis, deck};
use lath::files::{self, packs};
use lath::house::{DeviceId, House, LampKind, LocalPoint, Point};
use lath::predict::network::{Assumed, Full};
use lath::predict::{Forecast, HERTZ, METRES, OTHER_LOADS, OtherLoad, Scene, Setup, Tester, Trial};
use lath::wiring::{Facts, Fault, Options, Space, Walls};
use proptest::bool::weighted as weighted_bool;
use proptest::collection::vec;
use proptest::option::{of, weighted};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use std::cell::RefCell;
use std::path::Path;
use std::process::Command;

const SUPPLY: f64 = 120.0;

const CASES: u32 = 1200;
const SURVEYS: [&str; 10] = [
    "tests/oracle/wirings/surveys/two-legs",
    "tests/oracle/wirings/surveys/open-ring-light-unopened",
    "tests/oracle/wirings/surveys/line-to-the-near-switch",
    "tests/oracle/wirings/surveys/three-way-light-unopened",
    "tests/oracle/wirings/surveys/both-switches-unopened",
    "tests/oracle/wirings/surveys/loop-apart",
    "examples/feed-at-switch",
    "examples/feed-at-light-two-legs",
    "examples/open-ring",
    "examples/single-pole-loop",
];

fn houses() -> Vec<(House, Vec<Walls>)> {
    let knowledge = packs::embedded().unwrap();
    let load = |survey: &&str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("{survey}.yaml"));
        let mut house = files::load(&path).unwrap().call.house;
        house.supply = SUPPLY;
        house.devices.iter_mut().filter(|device| device.kind.is_light()).for_each(|light| {
            light.lamp = LampKind::Incandescent;
            light.watts = Some(60.0);
        });
        let space = Space::new(&house, &knowledge, Options { buried: 0 });
        assert!(!space.rows.is_empty(), "{survey}");
        (house, space.rows.into_iter().map(|row| row.walls).collect())
    };
    SURVEYS.iter().map(load).collect()
}

/// Choices that fit any house: each index is into what the house has.
#[derive(Clone, Debug)]
struct Drawn {
    house: Index,
    row: Index,
    /// A wire and the group it is moved to: joins or parts groups, as faults do.
    moved: Option<(Index, Index)>,
    /// Kinds of failure, and where: none, mostly, and two at most.
    faults: Vec<(Index, Index, bool)>,
    power: bool,
    lamp: LampState,
    /// One bit a device, three in a row for each: out where all three are set, so that few are.
    out: u64,
    /// Likewise for wires.
    lifted: u128,
    /// Points bridged, dead only; the second may be earth.
    jumper: Option<(Index, Option<Index>)>,
    thrown: u32,
    points: (Index, Option<Index>),
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let lamp = select(vec![LampState::In, LampState::In, LampState::Out, LampState::Test]);
    let faults = prop_oneof![
        6 => Just(0..=0), 3 => Just(1..=1), 1 => Just(2..=2)
    ]
    .prop_flat_map(|many| vec((any::<Index>(), any::<Index>(), any::<bool>()), many));
    let walls = (any::<Index>(), any::<Index>(), weighted(0.5, (any::<Index>(), any::<Index>())), faults);
    let points = (any::<Index>(), of(any::<Index>()));
    let jumper = weighted(0.4, (any::<Index>(), of(any::<Index>())));
    let apart = (any::<u64>(), any::<u128>(), jumper);
    (walls, weighted_bool(0.7), lamp, apart, any::<u32>(), points).prop_map(
        |((house, row, moved, faults), power, lamp, (out, lifted, jumper), thrown, points)| Drawn {
            house,
            row,
            moved,
            faults,
            power,
            lamp,
            out,
            lifted,
            jumper,
            thrown,
            points,
        },
    )
}

/// One situation: a house, its walls, the conditions, a way the switches are thrown, two points.
struct Situation<'a> {
    house: &'a House,
    walls: Walls,
    setup: Setup,
    thrown: u32,
    points: (Point, Point),
}

impl Drawn {
    fn situation<'a>(&self, houses: &'a [(House, Vec<Walls>)]) -> Situation<'a> {
        let (house, rows) = self.house.get(houses);
        let mut walls = self.row.get(rows).clone();
        if let Some((wire, group)) = self.moved {
            let at = wire.index(walls.wires.len());
            walls.wires[at] = group.index(usize::from(walls.groups)) as u8;
        }
        let faults = self.faults.iter().map(|&(kind, at, side)| failure(house, &walls, kind, at, side));
        walls.faults = faults.collect();
        let wires: Vec<Point> = house.wires().map(|wire| Point::At(LocalPoint::Wire(wire))).collect();
        let opened = |&d: &DeviceId| house.outlet(house.device(d).at).opened;
        let screws = house.device_ids().filter(opened).flat_map(|device| {
            let terminals = house.device(device).terminals().into_iter();
            terminals.map(move |terminal| Point::At(LocalPoint::Terminal(device, terminal)))
        });
        let all: Vec<Point> = wires.iter().copied().chain(screws).collect();
        let point = |at: Option<Index>| at.map_or(Point::Earth, |at| *at.get(&all));
        let out = |&(at, _): &(usize, DeviceId)| self.out >> (2 * at % 62) & 3 == 3;
        let away = |wire: &usize| self.lifted >> (3 * wire % 126) & 7 == 7;
        let bridged = self.jumper.filter(|_| !self.power).map(|(p, q)| (point(Some(p)), point(q)));
        let setup = Setup {
            power: if self.power { lath::predict::ALL_ON } else { 0 },
            lamps: house.lights().map(|_| self.lamp).collect(),
            out: house.device_ids().filter(opened).enumerate().filter(out).map(|(_, d)| d).collect(),
            lifted: (0..wires.len()).filter(away).collect(),
            jumpers: bridged.into_iter().collect(),
        };
        let thrown = self.thrown & ((1 << house.switches().count()) - 1);
        Situation { house, walls, setup, thrown, points: (point(Some(self.points.0)), point(self.points.1)) }
    }
}

/// A failure of some kind somewhere. (A wrong breaker is left out: it only says that the power is on.)
fn failure(house: &House, walls: &Walls, kind: Index, at: Index, side: bool) -> Fault {
    let wires = house.wires().count();
    let switches: Vec<DeviceId> = house.switches().collect();
    let wire = at.index(wires);
    match kind.index(8) {
        0 => Fault::OpenSplice(wire),
        1 => Fault::BadJoint(wire, if side { 300 } else { 3000 }),
        2 => Fault::DeadThrow(*at.get(&switches), side),
        3 => Fault::Stuck(*at.get(&switches), side),
        4 => Fault::LampOut(house.lights().next().unwrap()),
        7 => Fault::LightOff(house.lights().next().unwrap()),
        5 => Fault::PulledUp(walls.wires[wire], if side { 40 } else { 1000 }),
        _ => Fault::LiveMetal(house.end(house.wires().nth(wire).unwrap().end).at, wire),
    }
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

/// A share of the supply that a light or a test lamp gets: full, some, next to none.
fn brightness(share: f64, bins: [usize; 3]) -> usize {
    bins[if share >= 0.9 { 0 } else { 1 + usize::from(share < 0.2) }]
}

const KINDS: [&str; 6] = ["volts on 3 kilohms", "volts on 10 megohms", "ohms", "light", "trips", "load"];

/// Compares where the contracted answer is certain beside each of the other loads, and counts what it compared.
fn compare(situation: &Situation, compared: &mut [usize; 6]) -> Result<(), TestCaseError> {
    OTHER_LOADS.into_iter().enumerate().try_for_each(|other| compare_beside(situation, other, compared))
}

fn compare_beside(
    situation: &Situation,
    (nth, other): (usize, OtherLoad),
    compared: &mut [usize; 6],
) -> Result<(), TestCaseError> {
    let Situation { house, walls, setup, thrown, points: (p, q) } = situation;
    let facts = Facts::new(house);
    let scene = Scene::new(house, &facts);
    let opened = scene.opened(setup);
    let ask = |ask: Ask, kind| {
        let mut bins = [0.0; 5];
        let trial = Trial::new(&scene, setup, &[(ask, tester(kind))]);
        trial.answers(&scene, walls, *thrown, &mut Forecast::ghosts(&scene), |all| bins = all[nth]);
        certain(bins)
    };
    let low = ask(Ask::Volts(vec![(*p, *q)]), InstrumentKind::LowImpedance);
    let high = ask(Ask::Volts(vec![(*p, *q)]), InstrumentKind::HighImpedance);
    let ohms = ask(Ask::Ohms(vec![(*p, *q)]), InstrumentKind::HighImpedance);
    let load = ask(Ask::Load(vec![(*p, *q)]), InstrumentKind::TestLamp);
    let light = house.lights().next().unwrap();
    let watch = ask(Ask::Watch(vec![light]), InstrumentKind::HighImpedance);
    for metres in METRES {
        let build = |cold, other| {
            let assumed = Assumed { metres, other, supply: SUPPLY };
            Full::build(&scene, walls, &opened, *thrown, assumed, cold).unwrap()
        };
        let nodes = build(true, other);
        let (a, b) = (nodes.at(&scene, *p), nodes.at(&scene, *q));
        let told = format!("{metres} m, {other:?}, {p:?} {q:?}, {setup:?}, thrown {thrown:b}, {walls:?}");
        if setup.power != 0 {
            // A dead short: the service and the copper alone limit the current. Nothing else draws near a hundred.
            let drawn = short_amps(&nodes);
            prop_assert_eq!(low == Some(4), drawn > 100.0, "{}: {} A", told, drawn);
        }
        if low == Some(4) {
            prop_assert_eq!([high, load, watch], [Some(4); 3], "{}", told);
            compared[4] += 1;
            continue;
        }
        // A lamp that burns is hot; one that a meter's current passes through is cold.
        let burns = build(false, other).across(light).unwrap() >= 0.2 * SUPPLY;
        for (found, meter, farads, slot) in [(low, 3e3, 0.0, 0), (high, 1e7, 1e-10, 1)] {
            let Some(bin) = found.filter(|_| setup.power != 0) else { continue };
            let share = build(!burns, other).volts(a, b, meter, farads).unwrap() / SUPPLY;
            prop_assert!(volt_bins(share).contains(&bin), "{told}: {share} is not bin {bin} on {meter} ohms");
            compared[slot] += 1;
        }
        if let Some(bin) = ohms.filter(|_| setup.power == 0) {
            let found = build(true, other).ohms(a, b).unwrap();
            let expected = match found {
                Some(r) if r < 3.0 => 0,
                Some(r) if r < 80.0 => 1,
                Some(r) if r < 1e6 => 2,
                _ => 3,
            };
            prop_assert_eq!(bin, expected, "{}: {:?}", told, found);
            compared[2] += 1;
        }
        if let Some(bin) = watch {
            let share = build(false, other).across(light).unwrap() / SUPPLY;
            prop_assert_eq!(bin, brightness(share, [0, 1, 3]), "{}: light at {}", told, share);
            compared[3] += 1;
        }
        if let Some(bin) = load.filter(|_| setup.power != 0) {
            let hot = SUPPLY * SUPPLY / tester(InstrumentKind::TestLamp).watts;
            let share = build(false, other).volts(a, b, hot, 0.0).unwrap() / SUPPLY;
            prop_assert_eq!(bin, brightness(share, [2, 1, 0]), "{}: test lamp at {}", told, share);
            compared[5] += 1;
        }
    }
    Ok(())
}

#[test]
fn contracted_answers_are_those_of_the_whole_network() {
    let houses = houses();
    let compared = RefCell::new([0; 6]);
    let config = ProptestConfig { cases: CASES, failure_persistence: None, ..ProptestConfig::default() };
    let outcome = TestRunner::new(config)
        .run(&drawn(), |drawn| compare(&drawn.situation(&houses), &mut compared.borrow_mut()));
    assert!(outcome.is_ok(), "{}", outcome.unwrap_err());
    for (kind, count) in KINDS.iter().zip(compared.into_inner()) {
        // Shorts are rare: some twenty situations of the 1,200.
        assert!(count >= 9, "only {count} compared: {kind}");
    }
}

/// Amperes the service delivers.
fn short_amps(full: &Full) -> f64 {
    let solution = full.network.solve_ac(HERTZ).unwrap();
    let branches = full.network.branches().iter().enumerate();
    let sources = branches.filter(|(_, branch)| matches!(branch.kind, lath::circuit::Kind::Source { .. }));
    let amps = sources.map(|(_, branch)| {
        let volts = solution.volts(branch.from, branch.to).unwrap();
        (SUPPLY - volts).abs() / 0.05
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
    let mut runner =
        TestRunner::new(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() });
    for case in 0..40 {
        let mut drawn = drawn().new_tree(&mut runner).unwrap().current();
        drawn.power = true;
        let Situation { house, walls, setup, thrown, .. } = drawn.situation(&houses);
        let facts = Facts::new(house);
        let scene = Scene::new(house, &facts);
        let opened = scene.opened(&setup);
        let assumed = Assumed { metres: METRES[case % 3], other: OtherLoad::NONE, supply: SUPPLY };
        let full = Full::build(&scene, &walls, &opened, thrown, assumed, case % 2 == 0).unwrap();
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
