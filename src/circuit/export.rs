//! A network as the text of a SPICE deck, so that another program can solve it too.
//!
//! Node *n* keeps its number. Element *k* becomes `R`, `C`, `V` or `I` followed by `k`; a voltage source gets its
//! series resistance as `Rs` followed by `k`, with a node `s` followed by `k` between them. The leakage of node *n* is `Rl`
//! followed by *n*. The deck and [`Network::solve_ac`] describe the same circuit, the leakage included.

use std::fmt::Write;

use num_complex::Complex64;

use super::network::{Branch, Kind, Network};

/// What the deck asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Analysis {
    /// The DC operating point.
    OperatingPoint,
    /// One frequency, in hertz.
    Ac(f64),
    /// A linear sweep over frequencies in hertz: for timing, mostly.
    Sweep {
        /// The first frequency.
        from: f64,
        /// The last frequency.
        to: f64,
        /// How many, both ends included.
        points: u32,
    },
}

/// The deck: title, elements, analysis, what to print, end. Numbers are written so that they read back exactly.
#[must_use]
pub fn deck(network: &Network, title: &str, analysis: Analysis) -> String {
    let title: String = title.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let mut lines = vec![format!("* {title}")];
    lines.extend(elements(network));
    lines.extend(request(network, analysis));
    lines.push(".end".to_owned());
    lines.join("\n") + "\n"
}

/// The lines of the elements and the leakage alone.
fn elements(network: &Network) -> Vec<String> {
    let mut lines: Vec<String> =
        network.branches().iter().enumerate().map(|(place, branch)| element(place, branch)).collect();
    if network.leakage() > 0.0 {
        let ohms = 1.0 / network.leakage();
        lines.extend((1..network.node_count()).map(|node| format!("Rl{node} {node} 0 {ohms:e}")));
    }
    lines
}

fn element(place: usize, branch: &Branch) -> String {
    let (from, to) = (branch.from.index(), branch.to.index());
    match branch.kind {
        Kind::Resistor { ohms } => format!("R{place} {from} {to} {ohms:e}"),
        Kind::Capacitor { farads } => format!("C{place} {from} {to} {farads:e}"),
        Kind::Source { volts, ohms } => {
            format!("V{place} s{place} {to} {}\nRs{place} {from} s{place} {ohms:e}", drive(volts))
        }
        Kind::Current { amps } => format!("I{place} {from} {to} {}", drive(amps)),
    }
}

/// A source's value at DC, and its magnitude and phase in degrees at AC.
fn drive(phasor: Complex64) -> String {
    let magnitude = libm::hypot(phasor.re, phasor.im);
    let degrees = libm::atan2(phasor.im, phasor.re).to_degrees();
    format!("DC {:e} AC {magnitude:e} {degrees:e}", phasor.re)
}

/// The analysis, and the voltages to print: nothing for a sweep.
fn request(network: &Network, analysis: Analysis) -> Vec<String> {
    let (card, kind) = match analysis {
        Analysis::OperatingPoint => (".op".to_owned(), "op"),
        Analysis::Ac(hertz) => (format!(".ac lin 1 {hertz:e} {hertz:e}"), "ac"),
        Analysis::Sweep { from, to, points } => return vec![format!(".ac lin {points} {from:e} {to:e}")],
    };
    let mut print = format!(".print {kind}");
    for node in 1..network.node_count() {
        // Writing into a String cannot fail.
        let _ = write!(print, " v({node})");
    }
    vec![card, print]
}
