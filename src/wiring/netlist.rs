//! Schemes with real devices in their slots: the nets, before any cable is drawn.

use crate::house::{DeviceId, DeviceKind, Role, Terminal};
use crate::knowledge::Pole;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What one net of a netlist must reach.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Net {
    /// Poles of the feed.
    pub poles: Vec<Pole>,
    /// Terminals.
    pub terminals: Vec<(DeviceId, Terminal)>,
    /// For a net between neighbours in a chain: which pair of neighbours. Nets of one hop are interchangeable.
    pub hop: Option<u8>,
    /// A scheme has a light on it.
    pub load: bool,
    /// It joins commons and nothing else.
    pub tie: bool,
}

/// One scheme on its devices.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chain {
    /// The scheme's name.
    pub scheme: String,
    /// The switches, line side first.
    pub order: Vec<DeviceId>,
    /// What they control: lights, and receptacles with a switched half at least.
    pub controls: Vec<DeviceId>,
}

/// A device whose screws nobody has told apart: the screw that each terminal of its kind is.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Screws {
    /// The device.
    pub device: DeviceId,
    /// What it is taken to be.
    pub kind: DeviceKind,
    /// A screw for each of [`DeviceKind::terminals`].
    pub places: Vec<Terminal>,
}

/// Schemes laid on all devices of a house, with the order of the switches, what hangs on the same cables, and the way
/// each device is turned.
#[derive(Clone, PartialEq, Debug)]
pub struct Netlist {
    /// The scheme of the longest chain.
    pub scheme: String,
    /// The switches of that chain, line side first.
    pub order: Vec<DeviceId>,
    /// All chains, longest first.
    pub chains: Vec<Chain>,
    /// Which schemes and attachments it is made of: netlists of one family share its prior mass.
    pub family: String,
    /// Prior mass of the family.
    pub mass: f64,
    /// Its share in the family.
    pub weight: f64,
    /// What each switch is taken to be (a switch whose type was not seen is what its slot asks for).
    pub kinds: Vec<(DeviceId, DeviceKind)>,
    /// The nets.
    pub nets: Vec<Net>,
    /// A wiring with it must not be put back so.
    pub refused: bool,
    /// Screws of unmarked devices.
    pub screws: Vec<Screws>,
    /// Lights that may be either way round.
    pub either: Vec<DeviceId>,
    /// Receptacles whose tab between the line screws is broken away.
    pub broken: Vec<DeviceId>,
}

impl Screws {
    /// The screw that a terminal of the kind is.
    pub fn screw(&self, terminal: Terminal) -> Option<Terminal> {
        let at = self.kind.terminals().iter().position(|t| *t == terminal)?;
        self.places.get(at).copied()
    }
}

impl Net {
    /// The role of a wire that carries this net, decided in the agreed order.
    pub fn role(&self) -> Role {
        let at_light =
            self.terminals.iter().any(|(_, terminal)| matches!(terminal, Terminal::Center | Terminal::Shell));
        if self.poles.contains(&Pole::Line) {
            Role::Line
        } else if self.poles.contains(&Pole::Neutral)
            || (at_light && self.poles.contains(&Pole::OtherNeutral))
        {
            Role::Neutral
        } else if self.poles.iter().any(|pole| pole.is_other()) {
            Role::Other
        } else if at_light || self.load {
            Role::Load
        } else if self.tie {
            Role::Tie
        } else {
            Role::Traveler
        }
    }
}

impl Netlist {
    /// The net a terminal belongs to.
    pub fn net_of(&self, device: DeviceId, terminal: Terminal) -> Option<usize> {
        self.nets.iter().position(|net| net.terminals.contains(&(device, terminal)))
    }

    /// Whether another circuit comes in.
    pub fn has_other_circuit(&self) -> bool {
        self.nets.iter().any(|net| net.poles.iter().any(|pole| pole.is_other()))
    }

    /// Whether a net is a neutral.
    pub fn is_neutral(&self, net: usize) -> bool {
        self.nets.get(net).is_some_and(|net| net.poles.iter().any(|pole| pole.is_neutral()))
    }

    /// The net of a pole of the feed.
    pub fn net_of_pole(&self, pole: Pole) -> Option<usize> {
        self.nets.iter().position(|net| net.poles.contains(&pole))
    }

    /// The terminal that is joined to this one inside the device, whatever the switches do: a receptacle's tab.
    pub fn linked(&self, device: DeviceId, terminal: Terminal) -> Option<Terminal> {
        let other = match terminal {
            Terminal::H1 => Terminal::H2,
            Terminal::H2 => Terminal::H1,
            Terminal::N1 => Terminal::N2,
            Terminal::N2 => Terminal::N1,
            _ => return None,
        };
        let net = self.net_of(device, terminal);
        (net.is_some() && net == self.net_of(device, other)).then_some(other)
    }

    /// Whether another netlist says the same about what stands for what.
    pub(super) fn same_story(&self, other: &Netlist) -> bool {
        self.family == other.family && self.chains == other.chains && self.screws == other.screws
    }

    /// The family, and the points that each net joins, in order: equal for netlists that come to the same.
    pub(super) fn points(&self) -> (String, Points) {
        let net = |net: &Net| {
            let (mut poles, mut terminals) = (net.poles.clone(), net.terminals.clone());
            poles.sort_unstable();
            terminals.sort_unstable();
            (poles, terminals)
        };
        let mut nets: Points = self.nets.iter().map(net).collect();
        nets.sort_unstable();
        (self.family.clone(), nets)
    }
}

/// For each net its poles and terminals.
pub(super) type Points = Vec<(Vec<Pole>, Vec<(DeviceId, Terminal)>)>;

/// Other names for a device's terminals: each with the one it takes.
pub type Rename = Vec<(Terminal, Terminal)>;

/// The ways to rename a device's terminals that leave what it can do unchanged, the identity among them: the traveler
/// screws of a three-way trade places, a four-way's pairs and sides do, the two screws of a single-pole do.
pub fn automorphisms(kind: DeviceKind) -> &'static [Rename] {
    // Asked for once a wiring, and always the same.
    static KNOWN: LazyLock<BTreeMap<DeviceKind, Vec<Rename>>> =
        LazyLock::new(|| DeviceKind::ALL.into_iter().map(|kind| (kind, renames(kind))).collect());
    KNOWN.get(&kind).map_or(&[], Vec::as_slice)
}

fn renames(kind: DeviceKind) -> Vec<Rename> {
    let terminals = kind.terminals();
    let joined = |thrown: bool, rename: &[(Terminal, Terminal)]| {
        let name = |t: Terminal| rename.iter().find(|(from, _)| *from == t).map_or(t, |(_, to)| *to);
        let pair = |&(a, b): &(Terminal, Terminal)| (name(a).min(name(b)), name(a).max(name(b)));
        let mut pairs: Vec<_> = kind.contacts(thrown).iter().map(pair).collect();
        pairs.sort_unstable();
        pairs
    };
    let ways = |rename: &[(Terminal, Terminal)]| {
        let mut both = [joined(false, rename), joined(true, rename)];
        both.sort_unstable();
        both
    };
    let sides = |rename: &[(Terminal, Terminal)]| {
        // A receptacle's line side stays its line side, and an electronic switch's neutral lead what it is.
        let side = |t: Terminal| match t {
            Terminal::H1 | Terminal::H2 => 1,
            Terminal::N1 | Terminal::N2 => 2,
            _ => 0,
        };
        rename.iter().all(|(from, to)| side(*from) == side(*to))
    };
    let plain = ways(&[]);
    let renames =
        permutations(terminals).into_iter().map(|to| terminals.iter().copied().zip(to).collect::<Vec<_>>());
    renames.filter(|rename| sides(rename) && ways(rename) == plain).collect()
}

/// All orders of a few items, in lexicographic order of their places.
pub fn permutations<T: Copy>(items: &[T]) -> Vec<Vec<T>> {
    if items.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (at, &first) in items.iter().enumerate() {
        let mut rest = items.to_vec();
        rest.remove(at);
        all.extend(permutations(&rest).into_iter().map(|tail| [vec![first], tail].concat()));
    }
    all
}
