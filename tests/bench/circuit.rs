//! How long a network takes, and how long ngspice takes for the same one, in one run: `cargo bench --bench circuit`.
//!
//! Two comparisons are printed at the end when `ngspice` is on the path. A *changed network*: one is built anew and
//! solved here, against one ngspice process that reads its deck and solves it. A *factorisation*: one more frequency
//! of the same network, here and inside one long `.ac` sweep of ngspice, start-up and reading taken off.

#![expect(clippy::print_stdout, reason = "a benchmark reports on standard output")]
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot run should stop")]

use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use criterion::Criterion;
use lath::circuit::export::{Analysis, deck};
use lath::circuit::{CircuitError, Network, Node, Solution, Workspace};

const EARTH: Node = Node::REFERENCE;
const POINTS: u32 = 5_001;
/// Runs of which the quickest counts, on either side.
const RUNS: usize = 7;

/// A three-way lighting circuit with an idle traveler, a lamp, other loads and a meter: 12 nodes.
fn house(network: &mut Network) -> Result<Node, CircuitError> {
    network.clear();
    let mut nodes = [EARTH; 12];
    for node in &mut nodes {
        *node = network.add_node()?;
    }
    let [panel, neutral, line, common, t1, t2, far1, far2, load, shell, metal, ghost] = nodes;
    network.source(panel, neutral, 120.0, 0.05)?;
    for (a, b, ohms) in [
        (neutral, EARTH, 0.1),
        (panel, line, 0.12),
        (line, common, 0.08),
        (common, t1, 0.01),
        (t1, far1, 0.09),
        (t2, far2, 0.09),
        (far2, load, 0.01),
        (load, shell, 240.0),
        (shell, neutral, 0.2),
        (line, neutral, 900.0),
        (ghost, EARTH, 10e6),
        (metal, ghost, 3e3),
    ] {
        network.resistor(a, b, ohms)?;
    }
    for (a, b) in [(t1, t2), (far1, far2), (line, metal), (ghost, t1), (ghost, load), (far1, EARTH)] {
        network.capacitor(a, b, 0.7e-9)?;
    }
    Ok(ghost)
}

/// A chain with side branches and a capacitor from every node to the next but one: what a house looks like.
fn sparse(count: usize) -> Network {
    let (mut network, nodes) = fed(count);
    for (place, &node) in nodes.iter().enumerate().skip(1) {
        network
            .resistor(nodes[place - 1 - place % 2 * usize::from(place > 1)], node, 0.1 + place as f64)
            .unwrap();
        network.capacitor(nodes[place.saturating_sub(2)], node, 1e-9).unwrap();
        network.capacitor(node, EARTH, 0.5e-9).unwrap();
    }
    network
}

/// Every pair of nodes joined: nothing to skip, the most work there can be.
fn full(count: usize) -> Network {
    let (mut network, nodes) = fed(count);
    for (place, &a) in nodes.iter().enumerate() {
        for (other, &b) in nodes.iter().enumerate().skip(place + 1) {
            if (place + other) % 2 == 0 {
                network.resistor(a, b, 10.0 + (place * other) as f64).unwrap();
            } else {
                network.capacitor(a, b, 1e-9 * (1 + place + other) as f64).unwrap();
            }
        }
    }
    network
}

fn fed(count: usize) -> (Network, Vec<Node>) {
    let mut network = Network::new();
    let nodes: Vec<Node> = (0..count).map(|_| network.add_node().unwrap()).collect();
    network.source(nodes[0], EARTH, 120.0, 0.1).unwrap();
    network.resistor(nodes[count - 1], EARTH, 240.0).unwrap();
    (network, nodes)
}

fn benches(criterion: &mut Criterion) {
    let (mut workspace, mut solution) = (Workspace::new(), Solution::default());
    let mut network = Network::new();
    criterion.bench_function("house of 12 nodes: build and solve", |bencher| {
        bencher.iter(|| {
            let ghost = house(&mut network).unwrap();
            network.solve_ac_into(60.0, &mut workspace, &mut solution).unwrap();
            solution.magnitude(black_box(ghost)).unwrap()
        });
    });
    criterion.bench_function("house of 12 nodes: ohms", |bencher| {
        let ghost = house(&mut network).unwrap();
        bencher.iter(|| network.resistance_between_with(black_box(ghost), EARTH, &mut workspace).unwrap());
    });
    for count in [10, 20, 30] {
        for (shape, network) in [("house-like", sparse(count)), ("every pair joined", full(count))] {
            criterion.bench_function(&format!("solve, {count} nodes, {shape}"), |bencher| {
                bencher.iter(|| {
                    network.solve_ac_into(black_box(60.0), &mut workspace, &mut solution).unwrap();
                });
            });
        }
    }
}

/// The quickest of several runs.
fn quickest(mut run: impl FnMut()) -> Duration {
    (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn ngspice(directory: &Path, file: &str) {
    let status = Command::new("ngspice")
        .args(["-n", "-b", file])
        .current_dir(directory)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success(), "ngspice solves {file}");
}

/// One changed network: built and solved here, and by a process of ngspice.
fn changed_network(directory: &Path) {
    let (mut workspace, mut solution) = (Workspace::new(), Solution::default());
    let mut network = Network::new();
    let rounds = 10_000;
    let ours = quickest(|| {
        for _ in 0..rounds {
            house(&mut network).unwrap();
            network.solve_ac_into(black_box(60.0), &mut workspace, &mut solution).unwrap();
            black_box(&solution);
        }
    }) / rounds;
    std::fs::write(directory.join("house.cir"), deck(&network, "house", Analysis::Ac(60.0))).unwrap();
    let theirs = quickest(|| ngspice(directory, "house.cir"));
    let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
    println!(
        "changed network, 12 nodes: lath {ours:?}, an ngspice process {theirs:?}: {ratio:.0} times as fast"
    );
}

/// One factorisation: a long sweep, less a sweep of one point, divided by the points between.
fn factorisation(directory: &Path, shape: &str, network: &Network) {
    let (mut workspace, mut solution) = (Workspace::new(), Solution::default());
    let ours = quickest(|| {
        for point in 0..POINTS {
            network.solve_ac_into(50.0 + f64::from(point) * 0.01, &mut workspace, &mut solution).unwrap();
            black_box(&solution);
        }
    }) / POINTS;
    let time = |points: u32| {
        let sweep = Analysis::Sweep { from: 50.0, to: 100.0, points };
        std::fs::write(directory.join("sweep.cir"), deck(network, "sweep", sweep)).unwrap();
        // Only one voltage is kept: ngspice is not charged for memory that nobody asked for.
        let script = "* run\n.control\nsource sweep.cir\nsave v(1)\nrun\nquit\n.endc\n.end\n";
        std::fs::write(directory.join("run.cir"), script).unwrap();
        quickest(|| ngspice(directory, "run.cir"))
    };
    let theirs = time(POINTS).saturating_sub(time(2)) / (POINTS - 2);
    let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
    let nodes = network.node_count() - 1;
    println!(
        "factorisation, {nodes} nodes, {shape}: lath {ours:?}, ngspice {theirs:?} ({POINTS} points in one sweep): \
         {ratio:.2} times as fast"
    );
}

fn main() {
    let mut criterion = Criterion::default()
        .configure_from_args()
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(1));
    benches(&mut criterion);
    criterion.final_summary();
    // Only `cargo bench` gives `--bench`; `cargo test` runs each benchmark once, unoptimised, to see that it runs.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    if Command::new("ngspice").arg("--version").output().is_err() {
        println!("ngspice is not on the path: no comparison");
        return;
    }
    let directory = tempfile::tempdir().unwrap();
    changed_network(directory.path());
    for count in [10, 20, 30] {
        factorisation(directory.path(), "house-like", &sparse(count));
        factorisation(directory.path(), "every pair joined", &full(count));
    }
}
