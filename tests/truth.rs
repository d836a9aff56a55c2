//! A true reading never removes the true wiring; and the roles a wiring intends are those its static nets give.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::call::{Ask, Call, Conditions, Instrument, InstrumentKind, LampState, Reading, Seen, Source};
use lath::files::{self, packs};
use lath::house::{House, LampKind, LocalPoint, Point, Role, Terminal, WireId};
use lath::knowledge::Knowledge;
use lath::predict::{Scene, Setup, Tester, answer};
use lath::weigh::{Evidence, Posterior};
use lath::wiring::{Facts, Label, Options, Space, Walls, Wiring};
use std::path::Path;

const SURVEYS: [&str; 8] = [
    "loop",
    "in-line-light-unopened",
    "two-legs",
    "line-to-the-far-switch",
    "open-ring-light-unopened",
    "three-way-light-unopened",
    "both-switches-unopened",
    "loop-apart",
];

fn call(survey: &str) -> Call {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/oracle/wirings/surveys/{survey}.yaml"));
    let mut call = files::load(&path).unwrap().call;
    for light in call.house.devices.iter_mut().filter(|device| device.kind.is_light()) {
        light.lamp = LampKind::Incandescent;
    }
    call
}

fn point(wire: WireId) -> Point {
    Point::At(LocalPoint::Wire(wire))
}

/// Questions an electrician would ask of a house, with their conditions.
fn questions(house: &House) -> Vec<(Ask, Conditions, InstrumentKind)> {
    let switches = house.switches().count();
    let lights: Vec<_> = house.lights().collect();
    let opened = |d: &lath::house::DeviceId| house.outlet(house.device(*d).at).opened;
    let out: Vec<_> = house.switches().filter(opened).collect();
    let conditions = |on: bool, way: usize, lamp: LampState, out: &[lath::house::DeviceId]| Conditions {
        breakers: vec![Some(on); house.feeds.len()],
        positions: (0..switches).map(|s| Some(way >> s & 1 == 1)).collect(),
        lamps: vec![Some(lamp); lights.len()],
        out: out.to_vec(),
        ..Conditions::default()
    };
    let to_earth: Vec<_> = house.wires().map(|wire| (point(wire), Point::Earth)).collect();
    let mut asked = Vec::new();
    for way in 0..1 << switches {
        let live = conditions(true, way, LampState::In, &[]);
        asked.push((Ask::Watch(lights.clone()), live.clone(), InstrumentKind::HighImpedance));
        asked.push((Ask::Volts(to_earth.clone()), live, InstrumentKind::LowImpedance));
    }
    let parted = conditions(true, 0, LampState::Out, &out);
    asked.push((Ask::Volts(to_earth.clone()), parted, InstrumentKind::LowImpedance));
    let wires: Vec<WireId> = house.wires().collect();
    let far = wires.iter().flat_map(|&a| wires.iter().map(move |&b| (a, b)));
    let pairs: Vec<_> = far.filter(|(a, b)| house.end(a.end).at < house.end(b.end).at).collect();
    if !pairs.is_empty() {
        let pairs = pairs.into_iter().map(|(a, b)| (point(a), point(b))).collect();
        asked.push((
            Ask::Ohms(pairs),
            conditions(false, 0, LampState::Out, &out),
            InstrumentKind::HighImpedance,
        ));
    }
    asked
}

/// What the walls would show, as readings; the switches' handles are taken as they are thrown.
fn readings(house: &House, walls: &Walls, knowledge: &Knowledge) -> Vec<Reading> {
    let facts = Facts::new(house);
    let scene = Scene::new(house, &facts);
    let read = |(ask, conditions, kind): (Ask, Conditions, InstrumentKind)| {
        let plain = Instrument { kind, ohms: None, watts: None, resolves: None };
        let setup = Setup {
            power: if conditions.breakers.iter().all(|on| *on == Some(true)) {
                lath::predict::ALL_ON
            } else {
                0
            },
            lamps: conditions.lamps.iter().map(|lamp| lamp.unwrap()).collect(),
            out: conditions.out.clone(),
            ..Setup::default()
        };
        let bits = conditions.positions.iter().enumerate();
        let thrown = bits.fold(0, |bits, (s, thrown)| bits | u32::from(thrown.unwrap()) << s);
        let tester = Tester::new(plain, &knowledge.instruments);
        let bins = answer(&scene, walls, &setup, thrown, &ask, tester);
        let likeliest =
            |bins: &[f64; 5]| (0..5u8).max_by(|&a, &b| bins[usize::from(a)].total_cmp(&bins[usize::from(b)]));
        let seen = bins.iter().map(|bins| match likeliest(bins) {
            Some(4) | None => Seen::Trips,
            Some(bin) => Seen::Bin(bin),
        });
        let seen = seen.collect();
        Reading { ask, with: Some(plain), conditions, seen, by: Source::Technician }
    };
    questions(house).into_iter().map(read).collect()
}

#[test]
fn a_true_reading_never_removes_the_true_wiring() {
    let knowledge = packs::embedded().unwrap();
    for survey in SURVEYS {
        let mut call = call(survey);
        let space = Space::new(&call.house, &knowledge, Options { buried: 0 });
        let step = space.rows.len().div_ceil(12);
        for truth in (0..space.rows.len()).step_by(step) {
            call.readings = readings(&call.house, &space.rows[truth].walls, &knowledge);
            let facts = Facts::new(&call.house);
            let scene = Scene::new(&call.house, &facts);
            let evidence = Evidence::new(&scene, &call, &knowledge.instruments);
            let posterior = Posterior::new(&scene, &space, &evidence, knowledge.habits.prior.something_else);
            let share = |row: usize| posterior.rows.iter().find(|w| w.row == row).map_or(0.0, |w| w.p);
            let prior = space.rows[truth].weight();
            assert!(share(truth) >= prior * 0.9, "{survey}, row {truth}: {prior} became {}", share(truth));
            assert!(posterior.something_else < 1e-3, "{survey}, row {truth}");
            let wrong = posterior.rows.iter().find(|w| w.row == truth).and_then(|w| w.wrong.clone());
            assert!(wrong.is_some() || share(truth) < 0.01, "{survey}, row {truth}");
            let wrong = wrong.unwrap_or_default();
            assert!(wrong.iter().all(|p| *p < 0.5), "{survey}, row {truth}: {wrong:?}");
            let whole: f64 = posterior.rows.iter().map(|w| w.p).sum::<f64>() + posterior.something_else;
            assert!((whole - 1.0).abs() < 1e-3, "{survey}: {whole}");
        }
    }
}

/// The role of each wire by what its static net (walls and joints as found, no contact, no lamp) reaches, in the agreed
/// order: line, neutral, a light, commons only, other switch terminals, nothing.
fn roles_by_nets(house: &House, walls: &Walls) -> Vec<Role> {
    let facts = Facts::new(house);
    let groups = usize::from(walls.groups);
    let mut parent: Vec<usize> = (0..groups + facts.joints.len()).collect();
    fn root(parent: &[usize], mut node: usize) -> usize {
        while parent[node] != node {
            node = parent[node];
        }
        node
    }
    for (at, joint) in facts.joints.iter().enumerate() {
        for &wire in &joint.wires {
            let (a, b) = (root(&parent, usize::from(walls.wires[wire])), root(&parent, groups + at));
            parent[a] = b;
        }
    }
    let mut terminals: Vec<(usize, Terminal)> = Vec::new();
    for (at, joint) in facts.joints.iter().enumerate() {
        terminals.extend(joint.terminals.iter().map(|(_, terminal)| (root(&parent, groups + at), *terminal)));
    }
    for dark in &walls.devices {
        for (terminal, &group) in
            dark.kind.terminals().iter().zip(&dark.groups).filter(|(_, g)| **g != Walls::LOOSE)
        {
            terminals.push((root(&parent, usize::from(group)), *terminal));
        }
    }
    let of = |wire: usize| {
        let net = root(&parent, usize::from(walls.wires[wire]));
        let here: Vec<Terminal> = terminals.iter().filter(|(at, _)| *at == net).map(|(_, t)| *t).collect();
        match () {
            () if net == root(&parent, usize::from(walls.line)) => Role::Line,
            () if net == root(&parent, usize::from(walls.neutral)) => Role::Neutral,
            () if here.iter().any(|t| matches!(t, Terminal::Center | Terminal::Shell)) => Role::Load,
            () if here.is_empty() => Role::Spare,
            () if here.iter().all(|t| *t == Terminal::Common) => Role::Tie,
            () => Role::Traveler,
        }
    };
    (0..facts.wires.len()).map(of).collect()
}

#[test]
fn roles_read_off_the_static_nets_are_the_intended_ones() {
    let knowledge = packs::embedded().unwrap();
    let mut compared = 0;
    for survey in SURVEYS.iter().filter(|survey| !survey.contains("apart")) {
        let house = call(survey).house;
        let space = Space::new(&house, &knowledge, Options { buried: 1 });
        for row in &space.rows {
            let read = roles_by_nets(&house, &row.walls);
            for wiring in &row.wirings {
                let intended = |label: &Label| match *label {
                    Label::SPARE => Role::Spare,
                    Label::GROUND => Role::Ground,
                    Label(net) => space.netlists[wiring.netlist].nets[usize::from(net)].role(),
                };
                let Wiring { labels, dests, .. } = wiring;
                let intended: Vec<Role> = labels.iter().map(intended).collect();
                assert_eq!(read, intended, "{survey}: {dests:?}");
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}
