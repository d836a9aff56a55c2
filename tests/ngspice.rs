//! The solver against ngspice, on random networks.
//!
//! Every network is drawn from a fixed seed and solved twice: by `lath::circuit`, and by ngspice from the deck that
//! `lath::circuit::export` writes. Every node voltage must agree to 0.1 %.
//!
//! With `ngspice` on the path the comparison is live, and the committed answers in `tests/oracle/ngspice` must
//! still be what ngspice says. Without it the committed answers are used, and standard error says so; where the
//! environment has `CI=true`, a missing ngspice is a failure. `LATH_WRITE_REFERENCE=1` writes the committed
//! answers anew from a live run.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a check that cannot run has failed")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use lath::circuit::export::{Analysis, deck};
use lath::circuit::{Network, Node};
use num_complex::Complex64;

/// Networks at 60 Hz and at DC.
const AC_CASES: usize = 240;
const DC_CASES: usize = 80;
/// Relative agreement asked of every node voltage.
const RELATIVE: f64 = 1e-3;
/// Absolute floor in volts: far below any meter's step, and where the rounding of ngspice's own LU lies for nodes
/// that only picofarads hold beside milliohms.
const FLOOR: f64 = 1e-9;
/// Agreement asked between a live run and the committed answers: another release may order its elimination otherwise.
const COMMITTED: f64 = 1e-5;
/// Circuits given to one ngspice process.
const BATCH: usize = 80;

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

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// Log-uniform between two positive values.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low * libm::exp(self.unit() * libm::log(high / low))
    }
}

struct Case {
    network: Network,
    dc: bool,
}

impl Case {
    fn deck(&self, number: usize) -> String {
        let analysis = if self.dc { Analysis::OperatingPoint } else { Analysis::Ac(60.0) };
        deck(&self.network, &format!("case {number}"), analysis)
    }

    fn ours(&self) -> Vec<Complex64> {
        let solution = if self.dc { self.network.solve_dc() } else { self.network.solve_ac(60.0) };
        solution.unwrap().voltages()[1..].to_vec()
    }
}

fn cases() -> Vec<Case> {
    (0..AC_CASES + DC_CASES)
        .map(|number| {
            let dc = number >= AC_CASES;
            Case { network: draw(&mut Draw(0x1a7b_0000 + number as u64), number, dc), dc }
        })
        .collect()
}

/// A network of 2 to 30 nodes: sources, a part that conducts, a part that floats and is coupled by capacitors
/// alone, resistors and capacitors at random, meters across what comes.
fn draw(random: &mut Draw, number: usize, dc: bool) -> Network {
    let mut network = Network::new();
    let count = if number.is_multiple_of(8) { 30 } else { 2 + random.below(29) };
    let nodes: Vec<Node> = (0..count).map(|_| network.add_node().unwrap()).collect();
    let floating = random.below(1 + count / 2);
    let (held, loose) = nodes.split_at(count - floating);
    sources(random, &mut network, held, dc);
    for (place, &node) in held.iter().enumerate().skip(1) {
        network.resistor(held[random.below(place)], node, random.between(1e-3, 1e7)).unwrap();
    }
    for (place, &node) in loose.iter().enumerate() {
        let farads = random.between(10e-12, 50e-9);
        network.capacitor(held[random.below(held.len())], node, farads).unwrap();
        if place > 0 && random.below(3) == 0 {
            network.resistor(loose[place - 1], node, random.between(1e-3, 1e7)).unwrap();
        }
    }
    scatter(random, &mut network, held, &nodes);
    network
}

/// One to three sources: a leg, the opposite leg, a third of any phase that may stand between two nodes.
fn sources(random: &mut Draw, network: &mut Network, held: &[Node], dc: bool) {
    let volts = 100.0 + 140.0 * random.unit();
    network.source(held[0], Node::REFERENCE, volts, random.between(1e-3, 10.0)).unwrap();
    let more = random.below(3);
    if more >= 1 {
        let at = held[random.below(held.len())];
        network.source(at, Node::REFERENCE, -volts, random.between(1e-3, 10.0)).unwrap();
    }
    if more == 2 {
        let (at, to) = (held[random.below(held.len())], held[random.below(held.len())]);
        let phase = if dc { 0.0 } else { std::f64::consts::TAU * random.unit() };
        let third = Complex64::new(volts * libm::cos(phase), volts * libm::sin(phase));
        network.source(at, to, third, random.between(1e-3, 1e3)).unwrap();
    }
}

/// Resistors inside the conducting part and to earth, capacitors anywhere, meters anywhere.
fn scatter(random: &mut Draw, network: &mut Network, held: &[Node], nodes: &[Node]) {
    let any = |random: &mut Draw, from: &[Node]| match random.below(from.len() + 1) {
        0 => Node::REFERENCE,
        other => from[other - 1],
    };
    for _ in 0..1 + random.below(held.len()) {
        let (a, b) = (any(random, held), any(random, held));
        network.resistor(a, b, random.between(1e-3, 1e7)).unwrap();
    }
    for _ in 0..1 + random.below(2 * nodes.len()) {
        let (a, b) = (any(random, nodes), any(random, nodes));
        network.capacitor(a, b, random.between(10e-12, 50e-9)).unwrap();
    }
    for _ in 0..random.below(3) {
        let (a, b) = (any(random, nodes), any(random, nodes));
        let ohms = if random.below(2) == 0 { 3e3 } else { 10e6 };
        network.resistor(a, b, ohms).unwrap();
    }
}

/// What ngspice says to every case, or `None` when there is no ngspice.
fn live(cases: &[Case]) -> Option<Vec<Vec<Complex64>>> {
    Command::new("ngspice").arg("--version").output().ok()?;
    let mut answers = Vec::new();
    for (batch, cases) in cases.chunks(BATCH).enumerate() {
        answers.extend(run_batch(batch * BATCH, cases));
    }
    Some(answers)
}

/// One ngspice process: a script that loads one deck after another, runs it, and prints its voltages.
fn run_batch(first: usize, cases: &[Case]) -> Vec<Vec<Complex64>> {
    let directory = tempfile::tempdir().unwrap();
    let mut script = String::from("* batch\n.control\nset numdgt=15\n");
    for (place, case) in cases.iter().enumerate() {
        let file = format!("n{place}.cir");
        std::fs::write(directory.path().join(&file), case.deck(first + place)).unwrap();
        writeln!(script, "source {file}\nrun\necho lath-case {place}").unwrap();
        for node in 1..case.network.node_count() {
            writeln!(script, "print v({node})").unwrap();
        }
        script.push_str("destroy all\nremcirc\n");
    }
    script.push_str("quit\n.endc\n.end\n");
    std::fs::write(directory.path().join("batch.cir"), script).unwrap();
    let output = Command::new("ngspice")
        .args(["-n", "-b", "batch.cir"])
        .current_dir(directory.path())
        .output()
        .expect("ngspice runs");
    let text = String::from_utf8_lossy(&output.stdout);
    let answers = parse(&text);
    assert_eq!(answers.len(), cases.len(), "ngspice answers every circuit");
    answers
}

/// Reads `lath-case` marks and lines such as `v(3) = 1.2e+02,-3.4e-01`.
fn parse(text: &str) -> Vec<Vec<Complex64>> {
    let mut answers: Vec<Vec<Complex64>> = Vec::new();
    for line in text.lines() {
        if line.starts_with("lath-case") {
            answers.push(Vec::new());
        } else if let Some((_, value)) = line.strip_prefix("v(").and_then(|rest| rest.split_once(") = ")) {
            let mut parts = value.split(',').map(|part| part.trim().parse::<f64>().unwrap());
            let real = parts.next().unwrap();
            let volts = Complex64::new(real, parts.next().unwrap_or(0.0));
            answers.last_mut().expect("a case before its voltages").push(volts);
        }
    }
    answers
}

fn committed_path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/ngspice/voltages.txt")
}

/// FNV-1a of a deck, so that a committed answer cannot be held against another network than it was made for.
fn fingerprint(deck: &str) -> u64 {
    deck.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

fn write_committed(cases: &[Case], answers: &[Vec<Complex64>]) {
    let mut text = String::from(
        "# Node voltages as ngspice gives them (release 39), one network a line:\n\
         # number, ac or dc, fingerprint of the deck, then each node's voltage from node 1 (at ac: real, imaginary).\n\
         # Written by `LATH_WRITE_REFERENCE=1 cargo test --test ngspice`.\n",
    );
    for (number, (case, answer)) in cases.iter().zip(answers).enumerate() {
        let kind = if case.dc { "dc" } else { "ac" };
        write!(text, "{number} {kind} {:016x}", fingerprint(&case.deck(number))).unwrap();
        for volts in answer {
            write!(text, " {:.8e}", volts.re).unwrap();
            if !case.dc {
                write!(text, " {:.8e}", volts.im).unwrap();
            }
        }
        text.push('\n');
    }
    std::fs::write(committed_path(), text).unwrap();
}

fn read_committed(cases: &[Case]) -> Vec<Vec<Complex64>> {
    let text = std::fs::read_to_string(committed_path()).expect("the committed answers");
    let lines: Vec<&str> = text.lines().filter(|line| !line.starts_with('#')).collect();
    assert_eq!(lines.len(), cases.len(), "one committed answer for every network");
    cases.iter().zip(lines).enumerate().map(|(number, (case, line))| read_line(number, case, line)).collect()
}

fn read_line(number: usize, case: &Case, line: &str) -> Vec<Complex64> {
    let mut words = line.split(' ');
    assert_eq!(words.next(), Some(number.to_string().as_str()), "numbers in order");
    assert_eq!(words.next(), Some(if case.dc { "dc" } else { "ac" }), "network {number}");
    let expected = format!("{:016x}", fingerprint(&case.deck(number)));
    assert_eq!(words.next(), Some(expected.as_str()), "network {number} is not the one that was solved");
    let values: Vec<f64> = words.map(|word| word.parse().unwrap()).collect();
    if case.dc {
        return values.iter().map(|&re| Complex64::new(re, 0.0)).collect();
    }
    values.chunks_exact(2).map(|pair| Complex64::new(pair[0], pair[1])).collect()
}

/// The worst disagreement, as a fraction of what is allowed, over all nodes; at least `worst`.
fn compare(number: usize, got: &[Complex64], wanted: &[Complex64], relative: f64) -> f64 {
    assert_eq!(got.len(), wanted.len(), "network {number}: one voltage a node");
    let mut worst = 0.0_f64;
    for (place, (a, b)) in got.iter().zip(wanted).enumerate() {
        let share = (a - b).norm() / (relative * b.norm() + FLOOR);
        assert!(share <= 1.0, "network {number}, node {}: {a} against {b}", place + 1);
        worst = worst.max(share);
    }
    worst
}

#[test]
fn every_node_voltage_agrees_with_ngspice() {
    let cases = cases();
    let live = live(&cases);
    let in_ci = std::env::var("CI").is_ok_and(|value| !value.is_empty() && value != "false");
    assert!(live.is_some() || !in_ci, "ngspice is not installed, and under CI it must be");
    if std::env::var("LATH_WRITE_REFERENCE").is_ok_and(|value| value == "1") {
        write_committed(&cases, live.as_ref().expect("writing the reference takes ngspice"));
    }
    let committed = read_committed(&cases);
    match &live {
        Some(live) => {
            for (number, (now, then)) in live.iter().zip(&committed).enumerate() {
                compare(number, now, then, COMMITTED);
            }
        }
        None => eprintln!("ngspice is not installed: comparing with its committed answers"),
    }
    let reference = live.as_ref().unwrap_or(&committed);
    let mut worst = 0.0_f64;
    for (number, (case, answer)) in cases.iter().zip(reference).enumerate() {
        worst = worst.max(compare(number, &case.ours(), answer, RELATIVE));
    }
    eprintln!("worst disagreement with ngspice: {:.1e} of what is allowed", worst);
}

#[test]
fn the_networks_are_as_varied_as_promised() {
    let cases = cases();
    let sizes: Vec<usize> = cases.iter().map(|case| case.network.node_count() - 1).collect();
    assert!(cases.iter().filter(|case| !case.dc).count() >= 240);
    assert!(cases.iter().filter(|case| case.dc).count() >= 60);
    assert_eq!((sizes.iter().min(), sizes.iter().max()), (Some(&2), Some(&30)));
    // A voltage that is neither nothing nor the supply in at least half the networks: they are not trivial.
    let telling =
        cases.iter().filter(|case| case.ours().iter().any(|volts| (1.0..90.0).contains(&volts.norm())));
    assert!(telling.count() * 2 >= cases.len());
}
