//! A scheme with real devices in its slots: the nets, before any cable is drawn.

use crate::house::{DeviceId, DeviceKind, House, Role, Terminal};
use crate::knowledge::{Pole, Scheme, Slot, SlotPoint};

/// What one net of a netlist must reach.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Net {
    /// Poles of the feed.
    pub poles: Vec<Pole>,
    /// Terminals.
    pub terminals: Vec<(DeviceId, Terminal)>,
    /// For a net between neighbours in the chain: which pair of neighbours. Nets of one hop are interchangeable.
    pub hop: Option<u8>,
}

/// A scheme laid on devices, with the order of the switches and the way each device is turned.
#[derive(Clone, PartialEq, Debug)]
pub struct Netlist {
    /// The scheme's name.
    pub scheme: String,
    /// The scheme's weight, shared among its orders.
    pub weight: f64,
    /// The switches, line side first.
    pub order: Vec<DeviceId>,
    /// What each switch is taken to be (a switch whose type was not seen is what its slot asks for).
    pub kinds: Vec<(DeviceId, DeviceKind)>,
    /// The nets.
    pub nets: Vec<Net>,
    /// A wiring with it must not be put back so.
    pub refused: bool,
}

impl Net {
    /// The role of a wire that carries this net, decided in the agreed order.
    pub fn role(&self) -> Role {
        let commons_only = self.terminals.iter().all(|(_, terminal)| *terminal == Terminal::Common);
        let at_light =
            self.terminals.iter().any(|(_, terminal)| matches!(terminal, Terminal::Center | Terminal::Shell));
        if self.poles.contains(&Pole::Line) {
            Role::Line
        } else if self.poles.contains(&Pole::Neutral) {
            Role::Neutral
        } else if at_light {
            Role::Load
        } else if commons_only {
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

    /// Whether another netlist of the same scheme joins the same points.
    fn same_nets(&self, other: &Netlist) -> bool {
        let sorted = |netlist: &Netlist| {
            let mut nets: Vec<_> =
                netlist.nets.iter().map(|net| (net.poles.clone(), net.terminals.clone())).collect();
            nets.iter_mut().for_each(|(poles, terminals)| {
                poles.sort_unstable();
                terminals.sort_unstable();
            });
            nets.sort_unstable();
            nets
        };
        self.scheme == other.scheme && sorted(self) == sorted(other)
    }

    /// The net of a pole of the feed.
    pub fn net_of_pole(&self, pole: Pole) -> Option<usize> {
        self.nets.iter().position(|net| net.poles.contains(&pole))
    }
}

/// Every way to lay `schemes` on the devices of the house: each order of the switches and, where a device's joints
/// are facts, each way of turning it that changes nothing but names. `fixed` says where joints are facts. Orders that
/// come to the same nets are one.
pub fn netlists(house: &House, schemes: &[Scheme], fixed: impl Fn(DeviceId) -> bool) -> Vec<Netlist> {
    let switches: Vec<DeviceId> = house.switches().collect();
    let lights: Vec<DeviceId> = house.lights().collect();
    let [light] = lights[..] else { return Vec::new() };
    let mut found = Vec::new();
    let mut by_weight: Vec<&Scheme> = schemes.iter().collect();
    by_weight.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    for scheme in by_weight {
        let Some(chain) = scheme.chain(switches.len()) else { continue };
        let mut laid: Vec<Netlist> = Vec::new();
        for order in permutations(&switches) {
            let fits = chain
                .iter()
                .zip(&order)
                .all(|(slot, &device)| slot.kinds.contains(&house.device(device).kind));
            let netlist = lay(house, scheme, &chain, &order, light);
            if fits && !laid.iter().any(|other| other.same_nets(&netlist)) {
                laid.push(netlist);
            }
        }
        let orders = laid.len() as f64;
        for mut netlist in laid {
            netlist.weight /= orders;
            let mut all = turned(house, netlist, &fixed);
            if scheme.either_polarity && fixed(light) {
                let back = [(Terminal::Center, Terminal::Shell), (Terminal::Shell, Terminal::Center)];
                all = all.iter().flat_map(|n| [n.clone(), turn_device(n, light, &back)]).collect();
            }
            let ways = all.len() as f64;
            all.iter_mut().for_each(|netlist| netlist.weight /= ways);
            found.extend(all);
        }
    }
    found
}

fn resolve(slot: &Slot, seen: DeviceKind) -> DeviceKind {
    let concrete = slot.kinds.iter().find(|kind| **kind != DeviceKind::Switch);
    if seen == DeviceKind::Switch { concrete.copied().unwrap_or(seen) } else { seen }
}

fn lay(house: &House, scheme: &Scheme, chain: &[&Slot], order: &[DeviceId], light: DeviceId) -> Netlist {
    let device = |name: &str| chain.iter().position(|slot| slot.name == name).map(|at| order[at]);
    let mut nets: Vec<Net> = scheme
        .nets
        .iter()
        .map(|points| {
            let mut net = Net::default();
            for point in points {
                match point {
                    SlotPoint::Feed(pole) => net.poles.push(*pole),
                    SlotPoint::Light(terminal) => net.terminals.push((light, *terminal)),
                    SlotPoint::Switch(name, terminal) => {
                        net.terminals.extend(device(name).map(|device| (device, *terminal)));
                    }
                }
            }
            net
        })
        .collect();
    for (hop, pair) in chain.windows(2).enumerate() {
        for (from, to) in pair[0].outward.iter().zip(&pair[1].inward) {
            let terminals = vec![(order[hop], *from), (order[hop + 1], *to)];
            nets.push(Net { poles: Vec::new(), terminals, hop: Some(hop as u8) });
        }
    }
    let kinds =
        chain.iter().zip(order).map(|(slot, &device)| (device, resolve(slot, house.device(device).kind)));
    Netlist {
        scheme: scheme.scheme.clone(),
        weight: scheme.weight,
        order: order.to_vec(),
        kinds: kinds.collect(),
        nets,
        refused: scheme.refuse.is_some(),
    }
}

/// All ways to turn the switches whose joints are facts. Turning the first of them in a chain of hops only renames the
/// hop's nets, so it is left as it lies.
fn turned(house: &House, laid: Netlist, fixed: &impl Fn(DeviceId) -> bool) -> Vec<Netlist> {
    let order = laid.kinds.clone();
    let in_hop =
        |device: DeviceId, net: &Net| net.hop.is_some() && net.terminals.iter().any(|(d, _)| *d == device);
    let mut all = vec![laid];
    for (at, &(device, kind)) in order.iter().enumerate() {
        let hops = all[0].nets.iter().any(|net| in_hop(device, net));
        let leads =
            hops && kind == DeviceKind::ThreeWay && order[..at].iter().all(|&(before, _)| !fixed(before));
        if !fixed(device) || !house.device(device).marked || leads {
            continue;
        }
        let turns = automorphisms(kind);
        all = all
            .iter()
            .flat_map(|netlist| turns.iter().map(|turn| turn_device(netlist, device, turn)))
            .collect();
    }
    all
}

fn turn_device(netlist: &Netlist, device: DeviceId, turn: &[(Terminal, Terminal)]) -> Netlist {
    let mut turned = netlist.clone();
    let terminals = turned.nets.iter_mut().flat_map(|net| &mut net.terminals);
    for (_, terminal) in terminals.filter(|(at, _)| *at == device) {
        if let Some((_, to)) = turn.iter().find(|(from, _)| from == terminal) {
            *terminal = *to;
        }
    }
    turned
}

/// The ways to rename a device's terminals that leave what it can do unchanged, the identity among them: the traveler
/// screws of a three-way trade places, a four-way's pairs and sides do, the two screws of a single-pole do.
pub fn automorphisms(kind: DeviceKind) -> Vec<Vec<(Terminal, Terminal)>> {
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
    let plain = ways(&[]);
    let renames =
        permutations(terminals).into_iter().map(|to| terminals.iter().copied().zip(to).collect::<Vec<_>>());
    renames.filter(|rename| ways(rename) == plain).collect()
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
