//! Which way round a device is: what its terminals are called in the joints as found.

use super::netlist::{Net, Netlist, Screws, automorphisms, permutations};
use crate::house::{DeviceId, DeviceKind, House, LocalPoint, Terminal};

/// All ways to turn the devices of a netlist whose joints are facts, and to tell the screws of those nobody has marked; at
/// most so many.
pub(super) fn turned(
    house: &House,
    laid: &Netlist,
    fixed: &impl Fn(DeviceId) -> bool,
    most: usize,
) -> Vec<Netlist> {
    let mut all = vec![laid.clone()];
    for chain in &laid.chains {
        for (at, &device) in chain.order.iter().enumerate() {
            let leads = chain.order[..at].iter().all(|&before| !fixed(before));
            let turns = turns_of_switch(house, laid, device, fixed(device), leads);
            all = all.iter().flat_map(|n| turns.iter().map(|turn| turn.apply(n))).take(most).collect();
        }
    }
    for device in house.device_ids().filter(|&d| !house.device(d).kind.is_switch()) {
        let turns = turns_of_load(house, laid, device, fixed(device));
        all = all.iter().flat_map(|n| turns.iter().map(|turn| turn.apply(n))).take(most).collect();
    }
    all
}

/// All ways to turn some devices of a netlist that leave what they can do unchanged, as they lie first.
pub(super) fn every_turn(house: &House, netlist: &Netlist, devices: &[DeviceId]) -> Vec<Netlist> {
    let mut all = vec![netlist.clone()];
    for &device in devices {
        let kind = house.device(device).kind;
        let turns: Vec<Turn> = if kind.is_light() && !netlist.either.contains(&device) {
            vec![Turn::none(device)]
        } else {
            let screws = netlist.screws.iter().find(|screws| screws.device == device);
            let on_screws = |&(from, to): &(Terminal, Terminal)| match screws {
                Some(screws) => screws.screw(from).zip(screws.screw(to)),
                None => Some((from, to)),
            };
            let kind = screws.map_or(kind, |screws| screws.kind);
            let renames = automorphisms(kind).iter().map(|turn| turn.iter().filter_map(on_screws).collect());
            renames.map(|rename| Turn { device, rename, screws: None }).collect()
        };
        all = turns.iter().flat_map(|turn| all.iter().map(|n| turn.apply(n))).collect();
    }
    all
}

/// One way to turn a device.
struct Turn {
    device: DeviceId,
    rename: Vec<(Terminal, Terminal)>,
    screws: Option<Screws>,
}

impl Turn {
    fn none(device: DeviceId) -> Turn {
        Turn { device, rename: Vec::new(), screws: None }
    }

    fn apply(&self, netlist: &Netlist) -> Netlist {
        let mut turned = netlist.clone();
        let terminals = turned.nets.iter_mut().flat_map(|net| &mut net.terminals);
        for (_, terminal) in terminals.filter(|(at, _)| *at == self.device) {
            if let Some((_, to)) = self.rename.iter().find(|(from, _)| from == terminal) {
                *terminal = *to;
            }
        }
        turned.screws.extend(self.screws.clone());
        // In whatever order a chain has its switches, the same screws are the same walls.
        turned.screws.sort_by_key(|screws| screws.device);
        turned
    }
}

/// Turning the first switch of a chain whose joints are facts only renames the nets of its hop, so it is left as it
/// lies.
fn turns_of_switch(house: &House, laid: &Netlist, device: DeviceId, fixed: bool, leads: bool) -> Vec<Turn> {
    let seen = house.device(device);
    let kind = laid.kinds.iter().find(|(d, _)| *d == device).map_or(seen.kind, |(_, kind)| *kind);
    let opened = house.outlet(seen.at).opened;
    let in_hop = |net: &Net| net.hop.is_some() && net.terminals.iter().any(|(d, _)| *d == device);
    let renames_only = laid.nets.iter().any(in_hop) && kind == DeviceKind::ThreeWay && leads;
    if !seen.marked && opened {
        return turns_unmarked(house, device, kind, fixed && !renames_only);
    }
    if !fixed || renames_only {
        return vec![Turn::none(device)];
    }
    automorphisms(kind).iter().cloned().map(|rename| Turn { device, rename, screws: None }).collect()
}

/// Every way to give a device's terminals to its screws; those that only turn it are one, unless `every`.
fn turns_unmarked(house: &House, device: DeviceId, kind: DeviceKind, every: bool) -> Vec<Turn> {
    let terminals = kind.terminals();
    let screws = used_screws(house, device, terminals.len());
    if screws.len() != terminals.len() {
        return Vec::new();
    }
    let mut turns: Vec<Turn> = Vec::new();
    for places in permutations(&screws) {
        let least = turned_least(kind, places.clone());
        if every || least == places {
            let rename = terminals.iter().copied().zip(places).collect();
            turns.push(Turn { device, rename, screws: Some(Screws { device, kind, places: least }) });
        }
    }
    turns
}

/// The screws that can hold a wire: where the type was not seen, those that do.
fn used_screws(house: &House, device: DeviceId, count: usize) -> Vec<Terminal> {
    let seen = house.device(device);
    let all = seen.terminals();
    if seen.kind != DeviceKind::Switch {
        return all;
    }
    let outlet = house.outlet(seen.at);
    let in_joint = |terminal: &Terminal| {
        let point = LocalPoint::Terminal(device, *terminal);
        outlet.joints.iter().any(|joint| joint.points.contains(&point))
    };
    let used: Vec<Terminal> = all.iter().copied().filter(in_joint).collect();
    if used.is_empty() { all.into_iter().take(count).collect() } else { used }
}

/// Lights that a scheme lets be either way round; receptacles of which one half is switched; unmarked lights.
fn turns_of_load(house: &House, laid: &Netlist, device: DeviceId, fixed: bool) -> Vec<Turn> {
    let seen = house.device(device);
    if !seen.marked && house.outlet(seen.at).opened {
        return if seen.kind.is_light() {
            turns_unmarked(house, device, seen.kind, true)
        } else {
            let rename = seen.kind.terminals().iter().copied().zip(seen.terminals()).collect();
            vec![Turn { device, rename, screws: None }]
        };
    }
    let swap = |one, other| Turn { device, rename: vec![(one, other), (other, one)], screws: None };
    match () {
        () if !fixed => vec![Turn::none(device)],
        () if laid.either.contains(&device) => {
            vec![Turn::none(device), swap(Terminal::Center, Terminal::Shell)]
        }
        () if laid.broken.contains(&device) => vec![Turn::none(device), swap(Terminal::H1, Terminal::H2)],
        () => vec![Turn::none(device)],
    }
}

/// Of the ways to turn a device that mean the same, the one that comes first.
pub(super) fn turned_least<T: Ord + Copy>(kind: DeviceKind, places: Vec<T>) -> Vec<T> {
    let terminals = kind.terminals();
    let place = |terminal| terminals.iter().position(|t| *t == terminal).unwrap_or(0);
    let turns = automorphisms(kind);
    let turned = turns.iter().map(|turn| turn.iter().map(|&(_, to)| places[place(to)]).collect::<Vec<_>>());
    turned.min().unwrap_or(places)
}
