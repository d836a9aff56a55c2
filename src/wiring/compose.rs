//! Schemes laid on the devices of a house: which switches make a chain, in which order, what each chain controls, and
//! how everything else hangs on the same cables.

use super::netlist::{Chain, Net, Netlist};
use super::turning;
use crate::house::{Apart, DeviceId, DeviceKind, EndId, House, LocalPoint, OutletBox, Terminal};
use crate::knowledge::{Attachment, Knowledge, Pole, Scheme, Slot, SlotPoint};
use std::collections::BTreeSet;

/// More switches than this on one call are not told apart: there are too many ways to chain them.
const MOST_SWITCHES: usize = 8;

/// More netlists than this are not looked at.
pub(super) const MOST_NETLISTS: usize = 4096;

/// Every way to lay schemes and attachments on the devices of a house, heaviest family first. `fixed` says of which
/// devices the joints are facts. Ways that come to the same nets are one.
/// Where more than one circuit is known, one of them may come through the boxes beside the light's own.
pub fn netlists(house: &House, knowledge: &Knowledge, fixed: &impl Fn(DeviceId) -> bool) -> Vec<Netlist> {
    let Knowledge { schemes, attachments, habits, .. } = knowledge;
    let beside = match house.feeds.len() {
        0 | 1 if house.live_when_off || has_stranger(house) => habits.prior.unnamed_circuit,
        0 | 1 => 0.0,
        _ => habits.prior.other_circuit,
    };
    let beside = Some(beside).filter(|mass| *mass > 0.0);
    let switches: Vec<DeviceId> = house.switches().collect();
    if switches.len() > MOST_SWITCHES {
        return Vec::new();
    }
    let mut laid: Vec<Netlist> = Vec::new();
    let mut known = BTreeSet::new();
    for chains in chainings(house, schemes, &switches) {
        for hanging in hangings(house, attachments, chains.len()) {
            if laid.len() >= MOST_NETLISTS {
                break;
            }
            let netlist = compose(house, &chains, &hanging);
            for netlist in circuits(netlist, beside) {
                if laid.len() < MOST_NETLISTS && known.insert(netlist.points()) {
                    laid.push(netlist);
                }
            }
        }
    }
    laid.sort_by(|a, b| b.mass.total_cmp(&a.mass).then_with(|| a.family.cmp(&b.family)));
    let orders = |family: &str| laid.iter().filter(|other| other.family == family).count() as f64;
    let mut found = Vec::new();
    for netlist in &laid {
        let room = MOST_NETLISTS - found.len();
        if room == 0 {
            break;
        }
        let mut all = turning::turned(house, netlist, fixed, room);
        let ways = all.len() as f64 * orders(&netlist.family);
        all.iter_mut().for_each(|netlist| netlist.weight = 1.0 / ways);
        found.extend(all);
    }
    found
}

/// Whether in some box cables are joined to each other, or capped, and to nothing else there: they may be anybody's.
fn has_stranger(house: &House) -> bool {
    let stranger = |outlet: &OutletBox| {
        let whole = outlet.opened && outlet.complete && outlet.apart == Apart::No;
        let mut groups: Vec<(Vec<EndId>, bool)> = outlet.ends.iter().map(|&end| (vec![end], false)).collect();
        for joint in &outlet.joints {
            let ends = joint.points.iter().filter_map(|point| match point {
                LocalPoint::Wire(wire) => Some(wire.end),
                _ => None,
            });
            let ends: Vec<EndId> = ends.collect();
            let (here, others): (Vec<_>, Vec<_>) =
                groups.into_iter().partition(|(group, _)| group.iter().any(|end| ends.contains(end)));
            let on_device = joint.points.iter().any(|point| matches!(point, LocalPoint::Terminal(..)));
            let on_device = on_device || here.iter().any(|(_, on_device)| *on_device);
            groups = others;
            groups.push((here.into_iter().flat_map(|(group, _)| group).collect(), on_device));
        }
        // A single that is only spliced through is as usual as can be.
        let cable = |end: &EndId| house.end(*end).wires.len() > 1;
        whole
            && groups.len() > 1
            && groups.iter().any(|(ends, on_device)| !on_device && ends.iter().any(cable))
    };
    house.boxes.iter().any(stranger)
}

/// A netlist with one circuit, and with another one that comes by; or only as its scheme wants it. `beside` is the mass of
/// another one, where there may be any.
fn circuits(netlist: Netlist, beside: Option<f64>) -> Vec<Netlist> {
    let with_all_poles = |mut netlist: Netlist| {
        let missing = Pole::ALL.into_iter().filter(|pole| netlist.net_of_pole(*pole).is_none());
        let missing: Vec<Net> = missing.map(|pole| Net { poles: vec![pole], ..Net::default() }).collect();
        netlist.nets.extend(missing);
        netlist
    };
    match (netlist.has_other_circuit(), beside) {
        (true, Some(_)) => vec![with_all_poles(netlist)],
        (true, None) => Vec::new(),
        (false, None) => vec![netlist],
        (false, Some(beside)) => {
            let family = format!("{} + another circuit", netlist.family);
            let other = Netlist { family, mass: netlist.mass * beside, ..netlist.clone() };
            let alone = Netlist { mass: netlist.mass * (1.0 - beside), ..netlist };
            vec![alone, with_all_poles(other)]
        }
    }
}

/// A scheme with switches in its slots.
#[derive(Clone)]
struct Laid<'a> {
    scheme: &'a Scheme,
    slots: Vec<&'a Slot>,
    order: Vec<DeviceId>,
}

/// Every way to share out all switches among chains, each with a scheme that fits; longest chains first.
fn chainings<'a>(house: &House, schemes: &'a [Scheme], switches: &[DeviceId]) -> Vec<Vec<Laid<'a>>> {
    let Some((&first, _)) = switches.split_first() else { return vec![Vec::new()] };
    let mut all = Vec::new();
    for scheme in schemes {
        for count in 1..=switches.len() {
            let Some(slots) = scheme.chain(count) else { continue };
            for order in filled(house, &slots, switches) {
                if !order.contains(&first) {
                    continue;
                }
                let rest: Vec<DeviceId> = switches.iter().copied().filter(|s| !order.contains(s)).collect();
                let laid = Laid { scheme, slots: slots.clone(), order };
                let with = |mut chains: Vec<Laid<'a>>| {
                    chains.push(laid.clone());
                    chains.sort_by_key(|chain| (std::cmp::Reverse(chain.order.len()), chain.order.clone()));
                    chains
                };
                all.extend(chainings(house, schemes, &rest).into_iter().map(with));
            }
        }
    }
    all
}

/// Every way to fill slots with devices of kinds that they take.
fn filled(house: &House, slots: &[&Slot], devices: &[DeviceId]) -> Vec<Vec<DeviceId>> {
    let Some((slot, rest)) = slots.split_first() else { return vec![Vec::new()] };
    let mut all = Vec::new();
    for &device in devices.iter().filter(|&&d| slot.kinds.contains(&house.device(d).kind)) {
        let others: Vec<DeviceId> = devices.iter().copied().filter(|other| *other != device).collect();
        all.extend(filled(house, rest, &others).into_iter().map(|tail| [vec![device], tail].concat()));
    }
    all
}

/// How one light or receptacle is joined to the rest.
#[derive(Clone, Copy)]
enum Hang<'a> {
    /// It is the scheme's own light, of that chain.
    Own(usize),
    /// By an attachment, to a chain where it is controlled.
    By(&'a Attachment, Option<usize>),
}

impl Hang<'_> {
    fn chain(&self) -> Option<usize> {
        match *self {
            Hang::Own(chain) => Some(chain),
            Hang::By(_, chain) => chain,
        }
    }
}

type Hanging<'a> = Vec<(DeviceId, Hang<'a>)>;

/// Every way to hang the lights and receptacles of a house on so many chains: each chain controls something, and the
/// first light that a chain controls is its own.
fn hangings<'a>(house: &House, attachments: &'a [Attachment], chains: usize) -> Vec<Hanging<'a>> {
    let is_receptacle = |d: &DeviceId| house.device(*d).kind == DeviceKind::Receptacle;
    let devices = house.lights().chain(house.device_ids().filter(is_receptacle));
    let mut all: Vec<Hanging> = vec![Vec::new()];
    for device in devices {
        let extend = |hanging: &Hanging<'a>| {
            let kind = house.device(device).kind;
            let with = |hang| [hanging.as_slice(), &[(device, hang)]].concat();
            ways_to_hang(kind, attachments, chains, hanging).into_iter().map(with).collect::<Vec<_>>()
        };
        all = all.iter().flat_map(extend).take(MOST_NETLISTS).collect();
    }
    let all_control =
        |h: &Hanging| (0..chains).all(|chain| h.iter().any(|(_, hang)| hang.chain() == Some(chain)));
    all.retain(all_control);
    all
}

fn ways_to_hang<'a>(
    kind: DeviceKind,
    attachments: &'a [Attachment],
    chains: usize,
    before: &Hanging<'a>,
) -> Vec<Hang<'a>> {
    let mut ways = Vec::new();
    let has_own = |chain| before.iter().any(|(_, hang)| matches!(hang, Hang::Own(own) if *own == chain));
    let fit = || attachments.iter().filter(|attachment| attachment.kinds.contains(&kind));
    for chain in 0..chains {
        if kind.is_light() && !has_own(chain) {
            ways.push(Hang::Own(chain));
        } else {
            ways.extend(fit().filter(|a| a.controlled()).map(|a| Hang::By(a, Some(chain))));
        }
    }
    ways.extend(fit().filter(|a| !a.controlled()).map(|a| Hang::By(a, None)));
    ways
}

/// The nets while they are put together.
#[derive(Default)]
struct Nets {
    all: Vec<Net>,
    /// For each chain, the nets of its light's center and shell.
    lights: Vec<[Option<usize>; 2]>,
}

impl Nets {
    fn of_pole(&mut self, pole: Pole) -> usize {
        let found = self.all.iter().position(|net| net.poles.contains(&pole));
        found.unwrap_or_else(|| {
            self.all.push(Net { poles: vec![pole], ..Net::default() });
            self.all.len() - 1
        })
    }

    /// The net that some points of a scheme or attachment belong to: that of the pole or the light among them, or a new
    /// one.
    fn of_points(&mut self, points: &[SlotPoint], chain: Option<usize>) -> usize {
        for point in points {
            match point {
                SlotPoint::Feed(pole) => return self.of_pole(*pole),
                SlotPoint::Light(terminal) => {
                    let side = usize::from(*terminal == Terminal::Shell);
                    if let Some(net) = chain.and_then(|chain| self.lights[chain][side]) {
                        return net;
                    }
                }
                SlotPoint::Switch(..) | SlotPoint::Own(_) => {}
            }
        }
        self.all.push(Net::default());
        self.all.len() - 1
    }

    fn scheme(&mut self, laid: &Laid, light: Option<DeviceId>, hops: &mut u8) {
        let device =
            |name: &str| laid.slots.iter().position(|slot| slot.name == name).map(|at| laid.order[at]);
        self.lights.push([None; 2]);
        let chain = self.lights.len() - 1;
        for points in &laid.scheme.nets {
            let at = self.of_points(points, None);
            for point in points {
                match point {
                    SlotPoint::Light(terminal) => {
                        self.lights[chain][usize::from(*terminal == Terminal::Shell)] = Some(at);
                        self.all[at].load = true;
                        self.all[at].terminals.extend(light.map(|light| (light, *terminal)));
                    }
                    SlotPoint::Switch(name, terminal) => {
                        self.all[at].terminals.extend(device(name).map(|device| (device, *terminal)));
                    }
                    SlotPoint::Feed(_) | SlotPoint::Own(_) => {}
                }
            }
        }
        for (hop, pair) in laid.slots.windows(2).enumerate() {
            if pair[0].outward.is_empty() {
                continue;
            }
            for (from, to) in pair[0].outward.iter().zip(&pair[1].inward) {
                let terminals = vec![(laid.order[hop], *from), (laid.order[hop + 1], *to)];
                self.all.push(Net { terminals, hop: Some(*hops), ..Net::default() });
            }
            *hops += 1;
        }
    }

    fn attach(&mut self, attachment: &Attachment, device: DeviceId, chain: Option<usize>) {
        for points in &attachment.nets {
            let at = self.of_points(points, chain);
            for point in points {
                if let SlotPoint::Own(terminal) = point {
                    self.all[at].terminals.push((device, *terminal));
                }
            }
        }
    }
}

fn compose(house: &House, chains: &[Laid], hanging: &Hanging) -> Netlist {
    let mut nets = Nets::default();
    let mut hops = 0;
    for (at, laid) in chains.iter().enumerate() {
        let own = hanging.iter().find(|(_, hang)| matches!(hang, Hang::Own(chain) if *chain == at));
        nets.scheme(laid, own.map(|(light, _)| *light), &mut hops);
    }
    let mut broken = Vec::new();
    let mut mass: f64 = chains.iter().map(|laid| laid.scheme.weight).product();
    let mut names: Vec<&str> = Vec::new();
    for (device, hang) in hanging {
        if let Hang::By(attachment, chain) = hang {
            nets.attach(attachment, *device, *chain);
            mass *= attachment.weight;
            names.push(&attachment.attachment);
        }
    }
    neutral_leads(house, &mut nets);
    for net in &mut nets.all {
        let common = |(_, terminal): &(DeviceId, Terminal)| *terminal == Terminal::Common;
        net.tie = net.hop.is_none() && !net.terminals.is_empty() && net.terminals.iter().all(common);
    }
    let either = hanging.iter().filter_map(|(device, hang)| match hang {
        Hang::Own(chain) if chains[*chain].scheme.either_polarity => Some(*device),
        _ => None,
    });
    let either = either.collect();
    for &(device, _) in hanging.iter().filter(|(d, _)| house.device(*d).kind == DeviceKind::Receptacle) {
        let of = |terminal| nets.all.iter().position(|net| net.terminals.contains(&(device, terminal)));
        if of(Terminal::H1) != of(Terminal::H2) {
            broken.push(device);
        }
    }
    let controls = |at: usize| {
        hanging.iter().filter(|(_, hang)| hang.chain() == Some(at)).map(|(device, _)| *device).collect()
    };
    let chain = |(at, laid): (usize, &Laid)| Chain {
        scheme: laid.scheme.scheme.clone(),
        order: laid.order.clone(),
        controls: controls(at),
    };
    let chains_of: Vec<Chain> = chains.iter().enumerate().map(chain).collect();
    names.sort_unstable();
    let schemes: Vec<&str> = chains.iter().map(|laid| laid.scheme.scheme.as_str()).collect();
    let family = schemes.into_iter().chain(names).collect::<Vec<_>>().join(" + ");
    let kinds = chains.iter().flat_map(|laid| {
        laid.slots.iter().zip(&laid.order).map(|(slot, &d)| (d, resolve(slot, house.device(d).kind)))
    });
    Netlist {
        scheme: chains_of.first().map_or_else(String::new, |chain| chain.scheme.clone()),
        order: chains_of.first().map_or_else(Vec::new, |chain| chain.order.clone()),
        chains: chains_of,
        family,
        mass,
        weight: 1.0,
        kinds: kinds.collect(),
        nets: nets.all,
        refused: chains.iter().any(|laid| laid.scheme.refuse.is_some()),
        screws: Vec::new(),
        either,
        broken,
    }
}

/// An electronic switch's neutral lead, where it was found in a joint.
fn neutral_leads(house: &House, nets: &mut Nets) {
    let electronic = house.device_ids().filter(|&d| house.device(d).kind == DeviceKind::Electronic);
    for device in electronic {
        let lead = crate::house::LocalPoint::Terminal(device, Terminal::N1);
        let joints = &house.outlet(house.device(device).at).joints;
        if joints.iter().any(|joint| joint.points.contains(&lead)) {
            let at = nets.of_pole(Pole::Neutral);
            nets.all[at].terminals.push((device, Terminal::N1));
        }
    }
}

fn resolve(slot: &Slot, seen: DeviceKind) -> DeviceKind {
    let concrete = slot.kinds.iter().find(|kind| **kind != DeviceKind::Switch);
    if seen == DeviceKind::Switch { concrete.copied().unwrap_or(seen) } else { seen }
}
