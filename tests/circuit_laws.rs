//! Laws that every linear network obeys, on networks drawn at random.

#![expect(clippy::unwrap_used, reason = "a test that cannot build its network has failed")]

use lath::circuit::{Element, Kind, Network, Node, Solution, Workspace};
use num_complex::Complex64;
use proptest::prelude::*;

const EARTH: Node = Node::REFERENCE;
const MAINS: f64 = 60.0;

/// An element between two of the nodes, by number; numbers wrap.
type Part = (u8, u8, bool, f64);

/// A network without sources: any graph, any mixture of resistors and capacitors; some nodes may be on nothing.
fn parts() -> impl Strategy<Value = (u8, Vec<Part>)> {
    let part = (any::<u8>(), any::<u8>(), any::<bool>(), 0.0..1.0_f64);
    (2..=14_u8, prop::collection::vec(part, 1..40))
}

/// Builds it; resistances run from 1 mΩ to 10 MΩ, capacitances from 10 pF to 50 nF, both log-uniformly.
fn passive(count: u8, parts: &[Part]) -> (Network, Vec<Node>) {
    let mut network = Network::new();
    let mut all = vec![EARTH];
    all.extend((0..count).map(|_| network.add_node().unwrap()));
    for &(a, b, resistor, size) in parts {
        let (a, b) = (all[usize::from(a) % all.len()], all[usize::from(b) % all.len()]);
        if resistor {
            network.resistor(a, b, 1e-3 * libm::pow(1e10, size)).unwrap();
        } else {
            network.capacitor(a, b, 10e-12 * libm::pow(5e3, size)).unwrap();
        }
    }
    (network, all)
}

fn close(a: Complex64, b: Complex64, relative: f64, floor: f64) -> bool {
    (a - b).norm() <= relative * a.norm().max(b.norm()) + floor
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// Reciprocity (Lorentz, Rayleigh): 1 A put in at a gives at b the voltage that 1 A put in at b gives at a.
    #[test]
    fn reciprocity((count, parts) in parts(), a in 1..=14_usize, b in 1..=14_usize) {
        let (network, all) = passive(count, &parts);
        let (a, b) = (all[1 + a % usize::from(count)], all[1 + b % usize::from(count)]);
        let transfer = |from: Node, to: Node| {
            let mut driven = network.clone();
            driven.current_source(EARTH, from, 1.0).unwrap();
            driven.solve_ac(MAINS).unwrap().voltage(to).unwrap()
        };
        let scale = transfer(a, a).norm().max(transfer(b, b).norm());
        prop_assert!(close(transfer(a, b), transfer(b, a), 1e-9, 1e-12 * scale));
    }

    /// Tellegen: the complex powers of all elements, the leakage among them, add up to nothing; and no resistor or
    /// capacitor gives out real power.
    #[test]
    fn power_in_is_power_dissipated((count, parts) in parts(), at in 1..=14_usize, phase in -3.0..3.0_f64) {
        let (mut network, all) = passive(count, &parts);
        let volts = Complex64::new(120.0 * libm::cos(phase), 120.0 * libm::sin(phase));
        network.source(all[1 + at % usize::from(count)], EARTH, volts, 0.5).unwrap();
        network.source(all[1], EARTH, -120.0, 0.5).unwrap();
        let solution = network.solve_ac(MAINS).unwrap();
        let mut total = Complex64::new(0.0, 0.0);
        let mut turnover = 0.0;
        for (place, element) in elements(&network).into_iter().enumerate() {
            let power = solution.power(&network, element).unwrap();
            total += power;
            turnover += power.norm();
            match network.branches()[place].kind {
                Kind::Resistor { .. } => prop_assert!(power.re >= 0.0 && power.im.abs() <= 1e-12 * power.re),
                Kind::Capacitor { .. } => prop_assert!(power.im <= 0.0 && power.re.abs() <= -1e-12 * power.im),
                _ => {}
            }
        }
        total += solution.voltages().iter().map(|volts| volts.norm_sqr() * network.leakage()).sum::<f64>();
        // A milliohm shows the rounding of 120 V as 1e-11 A.
        prop_assert!(total.norm() <= 1e-9 * turnover + 1e-8, "{total} of {turnover}");
    }

    /// Superposition: two sources together give the sum of what each gives while the other is silent.
    #[test]
    fn superposition((count, parts) in parts(), a in 1..=14_usize, b in 1..=14_usize, dc in any::<bool>()) {
        let (network, all) = passive(count, &parts);
        let solve = |first: f64, second: f64| -> Vec<Complex64> {
            let mut driven = network.clone();
            driven.source(all[1 + a % usize::from(count)], EARTH, first, 0.1).unwrap();
            driven.source(all[1 + b % usize::from(count)], EARTH, second, 3.0).unwrap();
            let solution = if dc { driven.solve_dc() } else { driven.solve_ac(MAINS) };
            solution.unwrap().voltages().to_vec()
        };
        for ((one, other), both) in solve(120.0, 0.0).iter().zip(solve(0.0, -75.0)).zip(solve(120.0, -75.0)) {
            prop_assert!(close(one + other, both, 1e-9, 1e-9), "{one} + {other} is not {both}");
        }
    }

    /// Kirchhoff: the currents out of every node add up to nothing, against the largest of them, allowing for what
    /// the rounding of the voltages themselves makes through a milliohm.
    #[test]
    fn currents_out_of_a_node_add_up_to_nothing((count, parts) in parts(), at in 1..=14_usize) {
        let (mut network, all) = passive(count, &parts);
        network.source(all[1 + at % usize::from(count)], EARTH, 120.0, 0.5).unwrap();
        network.current_source(all[1], EARTH, Complex64::new(0.1, -0.2)).unwrap();
        let solution = network.solve_ac(MAINS).unwrap();
        for &node in &all[1..] {
            let volts = solution.voltage(node).unwrap();
            let mut sum = volts * network.leakage();
            let mut rounding = 0.0;
            for element in elements(&network) {
                let branch = *network.branch(element).unwrap();
                if branch.from == branch.to || (branch.from != node && branch.to != node) {
                    continue;
                }
                let current = solution.current(&network, element).unwrap();
                sum += if branch.from == node { current } else { -current };
                rounding += current.norm() + volts.norm() * admittance(branch.kind);
            }
            prop_assert!(sum.norm() <= 1e-12 * rounding, "{sum} at {node:?}, of {rounding}");
        }
    }

    /// The memory that is used again leaves no trace in the next answer, and neither does the order of networks.
    #[test]
    fn used_memory_leaves_no_trace((count, parts) in parts(), (count2, parts2) in parts()) {
        let (network, all) = passive(count, &parts);
        let (mut other, all2) = passive(count2, &parts2);
        other.source(all2[1], EARTH, 120.0, 1.0).unwrap();
        let (mut workspace, mut solution) = (Workspace::new(), Solution::default());
        let fresh = other.solve_ac(MAINS).unwrap();
        network.solve_dc_into(&mut workspace, &mut solution).unwrap();
        let ohms = network.resistance_between_with(all[1], all[2], &mut workspace).unwrap();
        prop_assert_eq!(ohms, network.resistance_between(all[1], all[2]).unwrap());
        other.solve_ac_into(MAINS, &mut workspace, &mut solution).unwrap();
        prop_assert_eq!(&solution, &fresh);
    }

    /// Rayleigh's monotonicity law, and symmetry: another resistor never raises a resistance; the leads may be
    /// exchanged.
    #[test]
    fn another_path_never_raises_a_resistance((count, parts) in parts(), ohms in 1e-3..1e7_f64) {
        let (mut network, all) = passive(count, &parts);
        let before = network.resistance_between(all[1], all[2]).unwrap().ohms();
        let turned = network.resistance_between(all[2], all[1]).unwrap().ohms();
        prop_assert!(before == turned || (before - turned).abs() <= 1e-12 * before);
        network.resistor(all[1], all[usize::from(count)], ohms).unwrap();
        let after = network.resistance_between(all[1], all[2]).unwrap().ohms();
        prop_assert!(after <= before * (1.0 + 1e-12));
    }
}

/// The elements of a network, found by adding the same ones to a copy.
fn elements(network: &Network) -> Vec<Element> {
    let mut copy = network.clone();
    let first = network.branches().len();
    let branches = network.branches().to_vec();
    copy.clear();
    for _ in 1..network.node_count() {
        copy.add_node().unwrap();
    }
    let list: Vec<Element> = branches.into_iter().map(|branch| copy.add(branch).unwrap()).collect();
    assert_eq!(list.len(), first);
    list
}

fn admittance(kind: Kind) -> f64 {
    match kind {
        Kind::Resistor { ohms } | Kind::Source { ohms, .. } => 1.0 / ohms,
        Kind::Capacitor { farads } => std::f64::consts::TAU * MAINS * farads,
        Kind::Current { .. } => 0.0,
    }
}
