//! The solver: nodal analysis by symmetric elimination, one node at a time.
//!
//! Eliminating node *k* replaces the star of admittances around it by a mesh between its neighbours: between
//! neighbours *i* and *j* appears `y_ik · y_kj / d_k`, where `d_k` is the sum of all admittances at *k*. This is
//! Gaussian elimination (an LDLᵀ factorisation) of the nodal matrix, arranged so that a diagonal is always *added
//! up* from the admittances around the node and never left over from a subtraction. A milliohm wire that hangs on a
//! leakage of a picosiemens therefore keeps its digits, where an ordinary LU of the matrix loses fifteen of
//! sixteen (W. K. Grassmann, M. I. Taksar and D. P. Heyman, Operations Research 33, 1985, use the same arrangement
//! for Markov chains). What remains is the rounding of the sources' own currents: a floating source of low
//! resistance that only the leakage holds has its common voltage to about `10⁻¹⁶ · amperes / siemens`; the
//! voltages inside it stay exact.
//!
//! Rows are not exchanged for size. The nodal matrix of resistors and capacitors is `G + jωC`, both parts symmetric
//! and positive semidefinite; for such matrices elimination in any order is stable, with a growth factor below 3
//! (N. J. Higham, Mathematics of Computation 67, 1998, 1591–1599). The order is free, then, to keep the work
//! small: the node with the fewest neighbours goes first, the lower number where two have equally many.

use num_complex::Complex64;

use super::network::{CircuitError, Element, Kind, Network, Node, within};

/// Bits in one word of a neighbour set.
const WORD: usize = u64::BITS as usize;
const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// The solver's memory. Keep one and pass it to [`Network::solve_ac_into`]: after the first solution of a given
/// size nothing is allocated. It holds no state that a solution could depend on.
#[derive(Debug, Clone, Default)]
pub struct Workspace {
    /// Nodes in the present problem, the reference included.
    size: usize,
    /// Words in one neighbour set.
    words: usize,
    /// Admittance between nodes i < j at `i * size + j`; after elimination of k, row `factors` has its shares.
    admittance: Vec<Complex64>,
    /// `y_kj / d_k` for the neighbours j of k at `k * size + j`, once k is eliminated.
    factors: Vec<Complex64>,
    /// Neighbour sets, a row of words for each node; of an eliminated node, those it had then.
    neighbours: Vec<u64>,
    /// Currents put into the nodes; after elimination, `i_k / d_k`.
    injected: Vec<Complex64>,
    /// The order of elimination.
    order: Vec<usize>,
    /// Nodes still to be eliminated, ascending.
    left: Vec<usize>,
    /// The neighbours of the node being eliminated.
    around: Vec<usize>,
    /// Their admittances to it.
    star: Vec<Complex64>,
}

/// Node voltages.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solution {
    voltages: Vec<Complex64>,
    /// Angular frequency; 0 at DC.
    omega: f64,
}

/// What an ohmmeter finds between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Resistance {
    /// A path, and its resistance.
    Ohms(f64),
    /// No conducting path: decided by following the elements, not by a large number.
    Open,
}

impl Resistance {
    /// The resistance in ohms, infinite where there is no path.
    #[must_use]
    pub const fn ohms(self) -> f64 {
        match self {
            Self::Ohms(ohms) => ohms,
            Self::Open => f64::INFINITY,
        }
    }
}

impl Solution {
    /// The voltage of a node against the reference.
    ///
    /// # Errors
    /// When the solved network had no such node.
    pub fn voltage(&self, node: Node) -> Result<Complex64, CircuitError> {
        let nodes = self.voltages.len();
        self.voltages
            .get(node.index())
            .copied()
            .ok_or(CircuitError::UnknownNode { node: node.index(), nodes })
    }

    /// The magnitude of the voltage of a node against the reference.
    ///
    /// # Errors
    /// When the solved network had no such node.
    pub fn magnitude(&self, node: Node) -> Result<f64, CircuitError> {
        self.voltage(node).map(size_of)
    }

    /// The voltage of `from` against `to`.
    ///
    /// # Errors
    /// When the solved network had no such node.
    pub fn between(&self, from: Node, to: Node) -> Result<Complex64, CircuitError> {
        Ok(self.voltage(from)? - self.voltage(to)?)
    }

    /// The magnitude of the voltage between two nodes: what a voltmeter shows that is itself in the network.
    ///
    /// # Errors
    /// When the solved network had no such node.
    pub fn volts(&self, from: Node, to: Node) -> Result<f64, CircuitError> {
        self.between(from, to).map(size_of)
    }

    /// The current through an element from its first end to its second. A voltage source that feeds something
    /// has a negative one: its current leaves at the first, positive, end.
    ///
    /// # Errors
    /// When `network` has no such element, or is not the one that was solved and has other nodes.
    pub fn current(&self, network: &Network, element: Element) -> Result<Complex64, CircuitError> {
        let branch = network.branch(element)?;
        let across = self.between(branch.from, branch.to)?;
        Ok(match branch.kind {
            Kind::Resistor { ohms } => across / ohms,
            Kind::Capacitor { farads } => across * Complex64::new(0.0, self.omega * farads),
            Kind::Source { volts, ohms } => (across - self.standing(volts)) / ohms,
            Kind::Current { amps } => self.standing(amps),
        })
    }

    /// The magnitude of the current through an element.
    ///
    /// # Errors
    /// As [`Solution::current`].
    pub fn current_magnitude(&self, network: &Network, element: Element) -> Result<f64, CircuitError> {
        self.current(network, element).map(size_of)
    }

    /// The complex power an element takes up, in volt-amperes: the real part is watts, negative in a source that
    /// feeds something. Of a voltage source it includes what its series resistance turns into heat.
    ///
    /// # Errors
    /// As [`Solution::current`].
    pub fn power(&self, network: &Network, element: Element) -> Result<Complex64, CircuitError> {
        let current = self.current(network, element)?;
        let branch = network.branch(element)?;
        Ok(self.between(branch.from, branch.to)? * current.conj())
    }

    /// Every node's voltage, the reference first.
    #[must_use]
    pub fn voltages(&self) -> &[Complex64] {
        &self.voltages
    }

    /// A phasor as it stands in this solution: at DC its real part.
    fn standing(&self, phasor: Complex64) -> Complex64 {
        standing(phasor, self.omega)
    }
}

impl Network {
    /// Solves at one frequency.
    ///
    /// # Errors
    /// When the frequency is not between 1 mHz and 1 GHz, or the network has no solution.
    pub fn solve_ac(&self, frequency_hz: f64) -> Result<Solution, CircuitError> {
        let mut solution = Solution::default();
        self.solve_ac_into(frequency_hz, &mut Workspace::default(), &mut solution)?;
        Ok(solution)
    }

    /// Solves at DC: capacitors are open, sources stand at the real part of their phasor.
    ///
    /// # Errors
    /// When the network has no solution.
    pub fn solve_dc(&self) -> Result<Solution, CircuitError> {
        let mut solution = Solution::default();
        self.solve_dc_into(&mut Workspace::default(), &mut solution)?;
        Ok(solution)
    }

    /// [`Network::solve_ac`] in memory that is used again. After an error `solution` holds nothing of use.
    ///
    /// # Errors
    /// As [`Network::solve_ac`].
    pub fn solve_ac_into(
        &self,
        frequency_hz: f64,
        workspace: &mut Workspace,
        solution: &mut Solution,
    ) -> Result<(), CircuitError> {
        within("a frequency", frequency_hz, &(1e-3..=1e9))?;
        self.solve_at(std::f64::consts::TAU * frequency_hz, workspace, solution)
    }

    /// [`Network::solve_dc`] in memory that is used again. After an error `solution` holds nothing of use.
    ///
    /// # Errors
    /// As [`Network::solve_dc`].
    pub fn solve_dc_into(
        &self,
        workspace: &mut Workspace,
        solution: &mut Solution,
    ) -> Result<(), CircuitError> {
        self.solve_at(0.0, workspace, solution)
    }

    /// The DC resistance between two nodes, by putting 1 A in at one and taking it out at the other. Sources
    /// are silent (their series resistance stays), capacitors are open, and the leakage is left out: an ohmmeter
    /// shows the wiring, not the solver's crutch.
    ///
    /// # Errors
    /// When a node is unknown.
    pub fn resistance_between(&self, a: Node, b: Node) -> Result<Resistance, CircuitError> {
        self.resistance_between_with(a, b, &mut Workspace::default())
    }

    /// [`Network::resistance_between`] in memory that is used again.
    ///
    /// # Errors
    /// As [`Network::resistance_between`].
    pub fn resistance_between_with(
        &self,
        a: Node,
        b: Node,
        workspace: &mut Workspace,
    ) -> Result<Resistance, CircuitError> {
        self.has(a)?;
        self.has(b)?;
        if a == b {
            return Ok(Resistance::Ohms(0.0));
        }
        workspace.clear(self.node_count());
        workspace.connect(self, 0.0);
        workspace.reach(a.index());
        if !workspace.left.contains(&b.index()) {
            return Ok(Resistance::Open);
        }
        workspace.left.retain(|&node| node != b.index());
        workspace.inject(a, Complex64::new(1.0, 0.0));
        let mut voltages = Vec::new();
        workspace.eliminate()?;
        workspace.substitute(&mut voltages)?;
        Ok(voltages.get(a.index()).map_or(Resistance::Open, |volts| Resistance::Ohms(volts.re)))
    }

    fn solve_at(
        &self,
        omega: f64,
        workspace: &mut Workspace,
        solution: &mut Solution,
    ) -> Result<(), CircuitError> {
        workspace.clear(self.node_count());
        workspace.connect(self, omega);
        workspace.drive(self, omega);
        if self.leakage() > 0.0 {
            for node in self.nodes() {
                workspace.join(Node::REFERENCE, node, Complex64::new(self.leakage(), 0.0));
            }
        }
        workspace.left.extend(1..self.node_count());
        solution.omega = omega;
        workspace.eliminate()?;
        workspace.substitute(&mut solution.voltages)
    }
}

impl Workspace {
    /// Memory for networks of any size; it grows as they need it.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    fn clear(&mut self, size: usize) {
        self.size = size;
        self.words = size.div_ceil(WORD);
        for table in [&mut self.admittance, &mut self.factors] {
            table.clear();
            table.resize(size * size, ZERO);
        }
        self.neighbours.clear();
        self.neighbours.resize(size * self.words, 0);
        self.injected.clear();
        self.injected.resize(size, ZERO);
        self.order.clear();
        self.left.clear();
    }

    /// Enters the admittance of every element that has one at this frequency.
    fn connect(&mut self, network: &Network, omega: f64) {
        for branch in network.branches() {
            match branch.kind {
                Kind::Resistor { ohms } | Kind::Source { ohms, .. } => {
                    self.join(branch.from, branch.to, Complex64::new(1.0 / ohms, 0.0));
                }
                Kind::Capacitor { farads } if omega > 0.0 => {
                    self.join(branch.from, branch.to, Complex64::new(0.0, omega * farads));
                }
                Kind::Capacitor { .. } | Kind::Current { .. } => {}
            }
        }
    }

    /// Enters what the sources drive: a voltage source as the current of its Norton equivalent.
    fn drive(&mut self, network: &Network, omega: f64) {
        for branch in network.branches() {
            let amps = match branch.kind {
                Kind::Source { volts, ohms } => -standing(volts, omega) / ohms,
                Kind::Current { amps } => standing(amps, omega),
                Kind::Resistor { .. } | Kind::Capacitor { .. } => continue,
            };
            if branch.from != branch.to {
                self.inject(branch.from, -amps);
                self.inject(branch.to, amps);
            }
        }
    }

    fn inject(&mut self, node: Node, amps: Complex64) {
        if let Some(injected) = self.injected.get_mut(node.index()) {
            *injected += amps;
        }
    }

    fn join(&mut self, a: Node, b: Node, admittance: Complex64) {
        let (i, j) = (a.index().min(b.index()), a.index().max(b.index()));
        if i == j {
            return;
        }
        self.admittance[i * self.size + j] += admittance;
        self.mark(i, j);
        self.mark(j, i);
    }

    fn mark(&mut self, node: usize, neighbour: usize) {
        self.neighbours[node * self.words + neighbour / WORD] |= 1 << (neighbour % WORD);
    }

    fn unmark(&mut self, node: usize, neighbour: usize) {
        self.neighbours[node * self.words + neighbour / WORD] &= !(1 << (neighbour % WORD));
    }

    fn degree(&self, node: usize) -> u32 {
        let row = node * self.words;
        self.neighbours[row..row + self.words].iter().map(|word| word.count_ones()).sum()
    }

    /// Puts the neighbours of a node into `around`, ascending.
    fn look_around(&mut self, node: usize) {
        self.around.clear();
        let row = node * self.words;
        for (place, &word) in self.neighbours[row..row + self.words].iter().enumerate() {
            let mut rest = word;
            while rest != 0 {
                self.around.push(place * WORD + rest.trailing_zeros() as usize);
                rest &= rest - 1;
            }
        }
    }

    /// Puts every node that a path reaches from `start`, itself included, into `left`, ascending.
    fn reach(&mut self, start: usize) {
        let mut seen = vec![false; self.size];
        let mut open = vec![start];
        seen[start] = true;
        while let Some(node) = open.pop() {
            self.look_around(node);
            for &next in &self.around {
                if !std::mem::replace(&mut seen[next], true) {
                    open.push(next);
                }
            }
        }
        self.left.extend(seen.iter().enumerate().filter(|(_, seen)| **seen).map(|(node, _)| node));
    }

    /// Eliminates every node in `left`, the one with the fewest neighbours first.
    fn eliminate(&mut self) -> Result<(), CircuitError> {
        while let Some(place) = (0..self.left.len()).min_by_key(|&place| self.degree(self.left[place])) {
            let node = self.left.remove(place);
            self.order.push(node);
            self.eliminate_one(node)?;
        }
        Ok(())
    }

    fn eliminate_one(&mut self, k: usize) -> Result<(), CircuitError> {
        self.look_around(k);
        self.star.clear();
        let mut sum = ZERO;
        for &j in &self.around {
            let admittance = self.admittance[k.min(j) * self.size + k.max(j)];
            sum += admittance;
            self.star.push(admittance);
        }
        let scale = sum.inv();
        if sum == ZERO || !scale.is_finite() {
            return Err(CircuitError::Singular { node: node_of(k) });
        }
        let (around, star) = (std::mem::take(&mut self.around), std::mem::take(&mut self.star));
        for (place, (&i, &admittance)) in around.iter().zip(&star).enumerate() {
            let share = admittance * scale;
            self.factors[k * self.size + i] = share;
            let current = self.injected[k];
            self.injected[i] += share * current;
            self.unmark(i, k);
            for (&j, &other) in around.iter().zip(&star).skip(place + 1) {
                self.admittance[i * self.size + j] += share * other;
                self.mark(i, j);
                self.mark(j, i);
            }
        }
        self.injected[k] *= scale;
        self.around = around;
        self.star = star;
        Ok(())
    }

    /// Finds the voltages, from the node eliminated last back to the first. A node's neighbours when it was
    /// eliminated all come before it here, or stand at 0 V.
    fn substitute(&mut self, voltages: &mut Vec<Complex64>) -> Result<(), CircuitError> {
        voltages.clear();
        voltages.resize(self.size, ZERO);
        for place in (0..self.order.len()).rev() {
            let k = self.order[place];
            self.look_around(k);
            let mut volts = self.injected[k];
            for &j in &self.around {
                volts += self.factors[k * self.size + j] * voltages[j];
            }
            if !volts.is_finite() {
                return Err(CircuitError::NotFinite { node: node_of(k) });
            }
            voltages[k] = volts;
        }
        Ok(())
    }
}

/// The node with this number; numbers come from the network's own, which fit.
fn node_of(index: usize) -> Node {
    Node(u16::try_from(index).unwrap_or(u16::MAX))
}

/// A source's phasor as it stands at this frequency: at DC its real part.
fn standing(phasor: Complex64, omega: f64) -> Complex64 {
    if omega > 0.0 { phasor } else { Complex64::new(phasor.re, 0.0) }
}

/// The magnitude, by a library whose answer is the same on every machine.
fn size_of(phasor: Complex64) -> f64 {
    libm::hypot(phasor.re, phasor.im)
}
