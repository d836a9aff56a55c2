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
    /// The node that stands at 0 V and is never eliminated.
    ground: usize,
    /// Admittance between nodes i < j at `i * size + j`: means something only where they are neighbours.
    admittance: Vec<Complex64>,
    /// Admittance to the ground.
    shunt: Vec<Complex64>,
    /// Neighbour sets, a row of words for each node; the ground is in none.
    neighbours: Vec<u64>,
    /// How many neighbours a node has.
    degree: Vec<u32>,
    /// Currents put into the nodes; after elimination, `i_k / d_k`.
    injected: Vec<Complex64>,
    /// Nodes still to be eliminated, ascending.
    left: Vec<usize>,
    /// The neighbours of the node being eliminated.
    around: Vec<usize>,
    /// Their admittances to it.
    star: Vec<Complex64>,
    /// Nodes in the order of elimination, and where the shares of each end in `shares`.
    order: Vec<(usize, usize)>,
    /// `(j, y_kj / d_k)` for the neighbours j that k had when it was eliminated.
    shares: Vec<(usize, Complex64)>,
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

    /// The DC resistance between two nodes: what 1 A put in at one and taken out at the other would raise between
    /// them in volts. Sources are silent (their series resistance stays), capacitors are open, and the leakage is
    /// left out: an ohmmeter shows the wiring, not the solver's crutch.
    ///
    /// All other nodes are eliminated, and the one admittance left between the two is the answer. As nothing is ever
    /// subtracted it is zero exactly when no path joins them.
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
        // One order of the ends, so that exchanged leads give the same bits.
        let (ground, end) = (a.min(b), a.max(b));
        workspace.clear(self.node_count(), ground);
        workspace.connect(self, 0.0);
        workspace.left.extend((0..self.node_count()).filter(|&n| n != ground.index() && n != end.index()));
        // Parts of the network that neither end reaches are of no interest here.
        let _ = workspace.eliminate();
        let siemens = workspace.shunt[end.index()].re;
        Ok(if siemens > 0.0 { Resistance::Ohms(1.0 / siemens) } else { Resistance::Open })
    }

    fn solve_at(
        &self,
        omega: f64,
        workspace: &mut Workspace,
        solution: &mut Solution,
    ) -> Result<(), CircuitError> {
        workspace.clear(self.node_count(), Node::REFERENCE);
        workspace.connect(self, omega);
        workspace.drive(self, omega);
        let leakage = Complex64::new(self.leakage(), 0.0);
        workspace.shunt.iter_mut().for_each(|shunt| *shunt += leakage);
        workspace.left.extend(1..self.node_count());
        solution.omega = omega;
        if let Some(node) = workspace.eliminate() {
            return Err(CircuitError::Singular { node: node_of(node) });
        }
        workspace.substitute(&mut solution.voltages)
    }
}

impl Workspace {
    /// Memory for networks of any size; it grows as they need it.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    fn clear(&mut self, size: usize, ground: Node) {
        self.size = size;
        self.words = size.div_ceil(WORD);
        self.ground = ground.index();
        if self.admittance.len() < size * size {
            self.admittance.resize(size * size, ZERO);
        }
        renew(&mut self.neighbours, size * self.words, 0);
        renew(&mut self.degree, size, 0);
        renew(&mut self.shunt, size, ZERO);
        renew(&mut self.injected, size, ZERO);
        self.left.clear();
        self.order.clear();
        self.shares.clear();
    }

    /// Enters the admittance of every element that has one at this frequency.
    fn connect(&mut self, network: &Network, omega: f64) {
        for branch in network.branches() {
            let admittance = match branch.kind {
                Kind::Resistor { ohms } | Kind::Source { ohms, .. } => Complex64::new(1.0 / ohms, 0.0),
                Kind::Capacitor { farads } if omega > 0.0 => Complex64::new(0.0, omega * farads),
                Kind::Capacitor { .. } | Kind::Current { .. } => continue,
            };
            self.join(branch.from.index(), branch.to.index(), admittance);
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
                self.injected[branch.from.index()] -= amps;
                self.injected[branch.to.index()] += amps;
            }
        }
    }

    fn join(&mut self, a: usize, b: usize, admittance: Complex64) {
        let (i, j) = (a.min(b), a.max(b));
        if i == j {
            return;
        }
        if i == self.ground {
            self.shunt[j] += admittance;
        } else if j == self.ground {
            self.shunt[i] += admittance;
        } else if self.mark(i, j) {
            self.mark(j, i);
            self.admittance[i * self.size + j] = admittance;
        } else {
            self.admittance[i * self.size + j] += admittance;
        }
    }

    /// Makes `neighbour` one of the node's; false when it was already.
    fn mark(&mut self, node: usize, neighbour: usize) -> bool {
        let word = &mut self.neighbours[node * self.words + neighbour / WORD];
        let bit = 1 << (neighbour % WORD);
        let new = *word & bit == 0;
        *word |= bit;
        self.degree[node] += u32::from(new);
        new
    }

    /// Puts the neighbours of a node into `around` and their admittances into `star`, ascending, and gives the
    /// sum of all admittances at the node.
    fn look_around(&mut self, k: usize) -> Complex64 {
        self.around.clear();
        self.star.clear();
        let mut sum = self.shunt[k];
        for place in 0..self.words {
            for j in bits(self.neighbours[k * self.words + place], place) {
                let admittance = self.admittance[k.min(j) * self.size + k.max(j)];
                sum += admittance;
                self.around.push(j);
                self.star.push(admittance);
            }
        }
        sum
    }

    /// Eliminates every node in `left`, the one with the fewest neighbours first. Gives the first node whose voltage
    /// nothing fixes, if there is one.
    fn eliminate(&mut self) -> Option<usize> {
        let mut loose = None;
        // Eliminating a node with d neighbours leaves none with fewer than d - 1: no need to look further.
        let mut fewest = 0;
        while let Some(place) = self.next_to_go(fewest) {
            let node = self.left.remove(place);
            fewest = self.degree[node].saturating_sub(1);
            if !self.eliminate_one(node) {
                loose = loose.or(Some(node));
            }
        }
        loose
    }

    /// The place in `left` of the first node with the fewest neighbours; none has fewer than `fewest`.
    fn next_to_go(&self, fewest: u32) -> Option<usize> {
        let mut best = None;
        for (place, &node) in self.left.iter().enumerate() {
            let degree = self.degree[node];
            if degree <= fewest {
                return Some(place);
            }
            if best.is_none_or(|(least, _)| degree < least) {
                best = Some((degree, place));
            }
        }
        best.map(|(_, place)| place)
    }

    /// Turns the star around a node into a mesh; false when the node hangs on nothing.
    fn eliminate_one(&mut self, k: usize) -> bool {
        let sum = self.look_around(k);
        let scale = sum.inv();
        if sum == ZERO || !scale.is_finite() {
            return false;
        }
        let (current, shunt) = (self.injected[k], self.shunt[k]);
        for place in 0..self.around.len() {
            let i = self.around[place];
            let share = self.star[place] * scale;
            self.shares.push((i, share));
            self.injected[i] += share * current;
            self.shunt[i] += share * shunt;
            self.inherit(i, k);
            let row = &mut self.admittance[i * self.size..(i + 1) * self.size];
            for (&j, &other) in self.around[place + 1..].iter().zip(&self.star[place + 1..]) {
                row[j] += share * other;
            }
        }
        self.injected[k] = current * scale;
        self.order.push((k, self.shares.len()));
        true
    }

    /// Gives node i the neighbours of k in place of k itself; what is new starts from nothing.
    fn inherit(&mut self, i: usize, k: usize) {
        let mut degree = 0;
        for place in 0..self.words {
            let old = self.neighbours[i * self.words + place];
            let mut new = old | self.neighbours[k * self.words + place];
            for gone in [i, k] {
                if gone / WORD == place {
                    new &= !(1 << (gone % WORD));
                }
            }
            self.neighbours[i * self.words + place] = new;
            degree += new.count_ones();
            // Each pair once, at its lower node, before anything is added to it: neighbours come in ascending order.
            for j in bits(new & !old, place).filter(|&j| j > i) {
                self.admittance[i * self.size + j] = ZERO;
            }
        }
        self.degree[i] = degree;
    }

    /// Finds the voltages, from the node eliminated last back to the first. A node's neighbours when it was
    /// eliminated all come before it here.
    fn substitute(&mut self, voltages: &mut Vec<Complex64>) -> Result<(), CircuitError> {
        renew(voltages, self.size, ZERO);
        for (place, &(k, end)) in self.order.iter().enumerate().rev() {
            let start = place.checked_sub(1).map_or(0, |before| self.order[before].1);
            let mut volts = self.injected[k];
            for &(j, share) in &self.shares[start..end] {
                volts += share * voltages[j];
            }
            if !volts.is_finite() {
                return Err(CircuitError::NotFinite { node: node_of(k) });
            }
            voltages[k] = volts;
        }
        Ok(())
    }
}

/// Empties a table and fills it anew, in the memory it has.
fn renew<T: Clone>(table: &mut Vec<T>, size: usize, value: T) {
    table.clear();
    table.resize(size, value);
}

/// The numbers whose bits are set in one word of a set.
fn bits(mut word: u64, place: usize) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let bit = (word != 0).then(|| word.trailing_zeros() as usize)?;
        word &= word - 1;
        Some(place * WORD + bit)
    })
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
