//! A bare linear electrical network and its solver. This room knows nothing of houses.
//!
//! [`Network`] is nodes and elements; [`Network::solve_ac`] and [`Network::solve_dc`] give the voltage of every
//! node, [`Network::resistance_between`] what an ohmmeter would find. [`copper`] holds the figures of wires and of
//! the capacitance between them, [`export`] writes a network as a SPICE deck so that another program can solve it.
//!
//! Elements are resistors, capacitors, voltage sources with a series resistance, and current sources. A voltage
//! source stands in the equations as its Norton equivalent, so the unknowns are node voltages and nothing else.
//! A wire without resistance cannot be written down: join its two ends into one node instead.
//!
//! Every node has a small [`LEAKAGE`] to the reference, so that a node nothing holds has a voltage all the same.
//!
//! ```
//! use lath::circuit::{Network, Node};
//!
//! # fn main() -> Result<(), lath::circuit::CircuitError> {
//! let mut network = Network::new();
//! let line = network.add_node()?;
//! let far = network.add_node()?;
//! network.source(line, Node::REFERENCE, 120.0, 0.1)?;
//! let lamp = network.resistor(line, far, 16.0)?;
//! network.resistor(far, Node::REFERENCE, 3_000.0)?;
//! let solution = network.solve_ac(60.0)?;
//! assert!(solution.magnitude(far)? > 119.0);
//! assert!(solution.current_magnitude(&network, lamp)? < 0.041);
//! # Ok(())
//! # }
//! ```

pub mod copper;
pub mod export;
mod network;
mod solve;

pub use network::{Branch, CircuitError, Element, Kind, LEAKAGE, MAX_NODES, Network, Node};
pub use solve::{Resistance, Solution, Workspace};
