//! Networks of drawn houses against ngspice: every node to 0.1 %.
//!
//! The solver itself is held against committed answers in `tests/ngspice.rs`; here ngspice is asked live, and where there
//! is none (which under CI is a failure) standard error says so.

use lath::circuit::Network;
use lath::circuit::export::{Analysis, deck};
use lath::practice::{Bench, Features, Situation, draw};
use std::process::Command;

/// Absolute floor in volts, far below any meter's step.
const FLOOR: f64 = 1e-6;

fn networks() -> Vec<Network> {
    let of = |seed: u64| {
        let building = draw(seed, &Features::default());
        let mut situation = Situation::plain(&building, true);
        let switches: Vec<usize> = building.switches().collect();
        switches.iter().for_each(|&switch| situation.thrown[switch] = seed >> (switch % 8) & 1 == 1);
        if seed.is_multiple_of(3) {
            situation.out.extend(switches);
        }
        Bench::new(&building, &situation).unwrap().network().clone()
    };
    (0..40).map(of).collect()
}

#[test]
fn networks_of_houses_are_solved_as_ngspice_solves_them() {
    let version = Command::new("ngspice").arg("--version").output();
    let in_ci = std::env::var("CI").is_ok_and(|value| !value.is_empty() && value != "false");
    assert!(version.is_ok() || !in_ci, "ngspice is not installed, and under CI it must be");
    if version.is_err() {
        eprintln!("ngspice is not installed: networks of houses are not compared");
        return;
    }
    let networks = networks();
    let answers = spice(&networks);
    assert_eq!(answers.len(), networks.len());
    let mut largest = 0;
    for (number, (network, answer)) in networks.iter().zip(&answers).enumerate() {
        let solution = network.solve_ac(60.0).unwrap();
        largest = largest.max(network.node_count());
        for (node, (ours, theirs)) in solution.voltages()[1..].iter().zip(answer).enumerate() {
            let apart = libm::hypot(ours.re - theirs.0, ours.im - theirs.1);
            let size = libm::hypot(theirs.0, theirs.1);
            assert!(apart <= 1e-3 * size + FLOOR, "house {number}, node {}: {ours} {theirs:?}", node + 1);
        }
    }
    assert!(largest > 30, "houses of some size: {largest} nodes");
}

/// What ngspice says, all networks in one process.
fn spice(networks: &[Network]) -> Vec<Vec<(f64, f64)>> {
    let folder = tempfile::tempdir().unwrap();
    let mut script = String::from("* houses\n.control\nset numdgt=15\n");
    for (number, network) in networks.iter().enumerate() {
        let text = deck(network, &format!("house {number}"), Analysis::Ac(60.0));
        std::fs::write(folder.path().join(format!("h{number}.cir")), text).unwrap();
        script += &format!("source h{number}.cir\nrun\necho next\n");
        (1..network.node_count()).for_each(|node| script += &format!("print v({node})\n"));
        script += "destroy all\nremcirc\n";
    }
    std::fs::write(folder.path().join("all.cir"), script + "quit\n.endc\n.end\n").unwrap();
    let output =
        Command::new("ngspice").args(["-n", "-b", "all.cir"]).current_dir(folder.path()).output().unwrap();
    let mut answers: Vec<Vec<(f64, f64)>> = Vec::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        if line.starts_with("next") {
            answers.push(Vec::new());
        } else if let Some((_, value)) = line.strip_prefix("v(").and_then(|rest| rest.split_once(") = ")) {
            let parts: Vec<f64> = value.split(',').map(|part| part.trim().parse().unwrap()).collect();
            answers.last_mut().unwrap().push((parts[0], parts[1]));
        }
    }
    answers
}
