//! Nodes and elements: what a network is made of, and what may not be put into it.

use std::ops::RangeInclusive;

use num_complex::Complex64;
use thiserror::Error;

/// Conductance from every node to the reference, in siemens.
///
/// One picosiemens is 10¹² Ω. A node that nothing else holds gets a voltage through it, and a node that something
/// does hold is not moved by it: against a 10 MΩ meter it is one part in 100 000, against the 10 pF of a metre of
/// wire at 60 Hz (3.8 nS) three parts in 10 000, in quadrature.
pub const LEAKAGE: f64 = 1e-12;

/// The most nodes a network may have, beside the reference. The solver keeps a full table of pairs of nodes, so
/// a mistake in a caller's loop is stopped here and not by the machine's memory.
pub const MAX_NODES: u16 = 2_000;

/// Resistances that may be entered. Below a nanohm two points are one node; above 10¹⁵ Ω nothing is connected.
pub(super) const OHMS: RangeInclusive<f64> = 1e-9..=1e15;
/// Capacitances that may be entered.
const FARADS: RangeInclusive<f64> = 1e-18..=1.0;
/// The largest source, in volts or amperes.
const SOURCE: f64 = 1e9;

/// A node of one [`Network`]. Node 0 is the reference, which stands at 0 V.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Node(pub(super) u16);

impl Node {
    /// The reference node of every network: earth.
    pub const REFERENCE: Self = Self(0);

    /// Its number: 0 for the reference, then 1, 2 … in the order in which they were added.
    #[must_use]
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// An element of one [`Network`], as returned when it was added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Element(pub(super) usize);

impl Element {
    /// Its number, from 0 in the order in which the elements were added.
    #[must_use]
    pub const fn index(self) -> usize {
        self.0
    }
}

/// What an element is. Its two ends are in [`Branch`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A resistor.
    Resistor {
        /// Its resistance, in ohms.
        ohms: f64,
    },
    /// A capacitor; open at DC.
    Capacitor {
        /// Its capacitance, in farads.
        farads: f64,
    },
    /// A voltage source in series with a resistance: `from` is its positive end.
    Source {
        /// Its open-circuit voltage (rms). At DC it stands at the real part.
        volts: Complex64,
        /// The resistance in series with it, in ohms.
        ohms: f64,
    },
    /// A current source that drives current through itself from `from` to `to`.
    Current {
        /// Its current (rms). At DC it stands at the real part.
        amps: Complex64,
    },
}

/// An element with its two ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// The first end; of a voltage source the positive one.
    pub from: Node,
    /// The second end.
    pub to: Node,
    /// What it is.
    pub kind: Kind,
}

/// What cannot be built or solved.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum CircuitError {
    /// A node that the network does not have.
    #[error("node {node} is not one of this network's {nodes}")]
    UnknownNode {
        /// Its number.
        node: usize,
        /// How many the network has, the reference included.
        nodes: usize,
    },
    /// An element that the network does not have.
    #[error("element {element} is not one of this network's {elements}")]
    UnknownElement {
        /// Its number.
        element: usize,
        /// How many the network has.
        elements: usize,
    },
    /// More than [`MAX_NODES`] nodes.
    #[error("a network has at most {MAX_NODES} nodes")]
    TooManyNodes,
    /// A figure that is not finite, not positive where it must be, or far outside anything physical.
    #[error("{what} of {value} is out of range")]
    OutOfRange {
        /// Which figure.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// Nothing fixes the voltage of a node. It takes a network whose leakage was set to nothing.
    #[error("nothing fixes the voltage of node {}", node.index())]
    Singular {
        /// The node at which the solution stopped.
        node: Node,
    },
    /// The arithmetic left the range of finite numbers.
    #[error("the voltage of node {} is not a finite number", node.index())]
    NotFinite {
        /// The first such node.
        node: Node,
    },
}

/// Nodes, and elements between them.
///
/// Elements keep the order in which they were added, and the arithmetic follows that order: equal networks give
/// equal bits. Both ends of an element may be the same node (joining wires into one node does that): it then
/// carries no current, or its own short-circuit current if it is a voltage source, and moves no voltage.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    nodes: u16,
    leakage: f64,
    branches: Vec<Branch>,
}

impl Default for Network {
    fn default() -> Self {
        Self::new()
    }
}

impl Network {
    /// An empty network: the reference node alone.
    #[must_use]
    pub const fn new() -> Self {
        Self { nodes: 1, leakage: LEAKAGE, branches: Vec::new() }
    }

    /// Empties the network, keeping its memory and its leakage, to build the next one in the same place.
    pub fn clear(&mut self) {
        self.nodes = 1;
        self.branches.clear();
    }

    /// Sets the leakage of every node to the reference, in siemens, in place of [`LEAKAGE`]. With 0 a node that
    /// nothing holds is [`CircuitError::Singular`].
    ///
    /// # Errors
    /// When it is negative, not finite, or above 1 S.
    pub fn set_leakage(&mut self, siemens: f64) -> Result<(), CircuitError> {
        if !(0.0..=1.0).contains(&siemens) {
            return Err(CircuitError::OutOfRange { what: "a leakage", value: siemens });
        }
        self.leakage = siemens;
        Ok(())
    }

    /// The leakage of every node to the reference, in siemens.
    #[must_use]
    pub const fn leakage(&self) -> f64 {
        self.leakage
    }

    /// Adds a node.
    ///
    /// # Errors
    /// When there are [`MAX_NODES`] already.
    pub fn add_node(&mut self) -> Result<Node, CircuitError> {
        if self.nodes > MAX_NODES {
            return Err(CircuitError::TooManyNodes);
        }
        let node = Node(self.nodes);
        self.nodes += 1;
        Ok(node)
    }

    /// How many nodes there are, the reference included.
    #[must_use]
    pub const fn node_count(&self) -> usize {
        self.nodes as usize
    }

    /// Every node, the reference first.
    pub fn nodes(&self) -> impl Iterator<Item = Node> + use<> {
        (0..self.nodes).map(Node)
    }

    /// Every element, in the order in which they were added.
    #[must_use]
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// One element with its ends.
    ///
    /// # Errors
    /// When the network has no such element.
    pub fn branch(&self, element: Element) -> Result<&Branch, CircuitError> {
        let elements = self.branches.len();
        self.branches.get(element.0).ok_or(CircuitError::UnknownElement { element: element.0, elements })
    }

    /// Adds a resistor.
    ///
    /// # Errors
    /// When a node is unknown or `ohms` is not a positive finite figure in range.
    pub fn resistor(&mut self, from: Node, to: Node, ohms: f64) -> Result<Element, CircuitError> {
        self.add(Branch { from, to, kind: Kind::Resistor { ohms } })
    }

    /// Adds a capacitor.
    ///
    /// # Errors
    /// When a node is unknown or `farads` is not a positive finite figure in range.
    pub fn capacitor(&mut self, from: Node, to: Node, farads: f64) -> Result<Element, CircuitError> {
        self.add(Branch { from, to, kind: Kind::Capacitor { farads } })
    }

    /// Adds a voltage source with its series resistance. `volts` is a real or complex rms value; a leg in
    /// opposite phase is a negative one.
    ///
    /// # Errors
    /// When a node is unknown, `volts` is not finite, or `ohms` is not a positive finite figure in range.
    pub fn source(
        &mut self,
        positive: Node,
        negative: Node,
        volts: impl Into<Complex64>,
        ohms: f64,
    ) -> Result<Element, CircuitError> {
        self.add(Branch { from: positive, to: negative, kind: Kind::Source { volts: volts.into(), ohms } })
    }

    /// Adds a current source that takes `amps` out of `from` and puts them into `to`.
    ///
    /// # Errors
    /// When a node is unknown or `amps` is not finite.
    pub fn current_source(
        &mut self,
        from: Node,
        to: Node,
        amps: impl Into<Complex64>,
    ) -> Result<Element, CircuitError> {
        self.add(Branch { from, to, kind: Kind::Current { amps: amps.into() } })
    }

    /// Adds any element.
    ///
    /// # Errors
    /// When a node is unknown or a figure is out of range.
    pub fn add(&mut self, branch: Branch) -> Result<Element, CircuitError> {
        self.has(branch.from)?;
        self.has(branch.to)?;
        check(branch.kind)?;
        self.branches.push(branch);
        Ok(Element(self.branches.len() - 1))
    }

    /// Changes what an element is, leaving its ends: a lamp that warms up, a contact that closes.
    ///
    /// # Errors
    /// When the element is unknown or a figure is out of range.
    pub fn replace(&mut self, element: Element, kind: Kind) -> Result<(), CircuitError> {
        check(kind)?;
        let elements = self.branches.len();
        let branch = self
            .branches
            .get_mut(element.0)
            .ok_or(CircuitError::UnknownElement { element: element.0, elements })?;
        branch.kind = kind;
        Ok(())
    }

    /// Whether the node is one of this network's.
    pub(super) fn has(&self, node: Node) -> Result<(), CircuitError> {
        if node.0 < self.nodes {
            return Ok(());
        }
        Err(CircuitError::UnknownNode { node: node.index(), nodes: self.node_count() })
    }
}

/// Refuses figures that no physical element has.
fn check(kind: Kind) -> Result<(), CircuitError> {
    match kind {
        Kind::Resistor { ohms } => within("a resistance", ohms, &OHMS),
        Kind::Capacitor { farads } => within("a capacitance", farads, &FARADS),
        Kind::Source { volts, ohms } => {
            phasor("a source voltage", volts)?;
            within("a source resistance", ohms, &OHMS)
        }
        Kind::Current { amps } => phasor("a source current", amps),
    }
}

/// Refuses a figure outside its range; NaN is in no range.
pub(super) fn within(
    what: &'static str,
    value: f64,
    range: &RangeInclusive<f64>,
) -> Result<(), CircuitError> {
    if range.contains(&value) {
        return Ok(());
    }
    Err(CircuitError::OutOfRange { what, value })
}

/// Refuses a phasor that is not finite or absurdly large.
fn phasor(what: &'static str, value: Complex64) -> Result<(), CircuitError> {
    within(what, value.re, &(-SOURCE..=SOURCE))?;
    within(what, value.im, &(-SOURCE..=SOURCE))
}
