//! The arrangement in words, built from the wiring itself.

use super::cables::{place_name, wirings};
use super::{Arrangement, Case, FAINT, FeedFound, any_apart, roles, rounded};
use crate::house::{DeviceId, Place, Role, Terminal};
use crate::knowledge::{Pole, Scheme, Slot, SlotPoint};
use crate::weigh::Weighed;
use crate::wiring::{Dest, Net, Wiring};
use petgraph::graph::UnGraph;
use std::collections::BTreeMap;

/// Names the likeliest wiring; `None` where there is none.
pub(super) fn name(case: &Case) -> Option<Arrangement> {
    let mut schemes: BTreeMap<&str, f64> = BTreeMap::new();
    let mut feeds: BTreeMap<Place, f64> = BTreeMap::new();
    // In a box taken apart the scheme is the plan's to choose; where the feed enters is not.
    let planned = any_apart(case.call);
    let asked = |weighed: &Weighed| {
        let wirings = &case.space.rows[weighed.row].wirings;
        if planned { &wirings[..1] } else { &wirings[..] }
    };
    let scheme_of = |wiring: &Wiring| case.space.netlists[wiring.netlist].scheme.as_str();
    for weighed in &case.posterior.rows {
        let whole: f64 = asked(weighed).iter().map(|wiring| wiring.weight).sum();
        for wiring in asked(weighed) {
            *schemes.entry(scheme_of(wiring)).or_default() += weighed.p * wiring.weight / whole;
        }
    }
    for (wiring, p) in wirings(case) {
        *feeds.entry(wiring.feed).or_default() += p;
    }
    let (scheme, scheme_p) = schemes.iter().max_by(|a, b| a.1.total_cmp(b.1))?;
    let (feed, feed_p) = feeds.iter().max_by(|a, b| a.1.total_cmp(b.1))?;
    // Of what holds next to nothing beside all that is not listed none is the likeliest.
    let mut rows = case.posterior.rows.iter().filter(|_| *feed_p >= FAINT);
    // What is told is of the scheme that is named: no reading may tell it from a rarer one with the same walls.
    let named = |wiring: &&Wiring| scheme_of(wiring) == *scheme;
    let wiring = rows.find_map(|weighed| asked(weighed).iter().find(named))?;
    Some(Arrangement {
        text: sentence(case, wiring),
        scheme: (*scheme).to_owned(),
        scheme_p: rounded(*scheme_p),
        feed: FeedFound { at: place_name(case, *feed), p: rounded(*feed_p) },
    })
}

fn sentence(case: &Case, wiring: &Wiring) -> String {
    let netlist = &case.space.netlists[wiring.netlist];
    let house = &case.call.house;
    let box_of = |device: DeviceId| house.outlet(house.device(device).at).name.clone();
    let mut parts = vec![format!("The feed comes in at the {}", place_name(case, wiring.feed))];
    let (Some(&first), Some(&last)) = (netlist.order.first(), netlist.order.last()) else {
        return parts.concat();
    };
    let controls = netlist.chains.first().map_or(&[][..], |chain| &chain.controls);
    let light = controls.first().copied().or(house.lights().next()).map_or_else(String::new, box_of);
    let scheme = case.knowledge.schemes.iter().find(|scheme| scheme.scheme == netlist.scheme);
    if netlist.order.len() == 1 && breaks_line(case, wiring, first) && scheme.is_none_or(is_plain) {
        parts.push(format!(
            "line goes to the {} switch, and the load from there to the light at the {light}",
            box_of(first)
        ));
    } else if !ties(case, wiring, first, last) || !scheme.is_none_or(goes_by_travelers) {
        let meant = scheme.map_or("", |scheme| scheme.sentence.trim_end_matches('.'));
        parts = vec![format!("{}. {meant}", parts.concat())];
    } else {
        parts.push(format!("line goes to the common of the {} switch", box_of(first)));
        let way = way(case, wiring, Role::Traveler);
        let by =
            if way.is_empty() { String::new() } else { format!(", by way of the {}", way.join(" and the ")) };
        parts.push(format!("two travelers tie it to the {} switch{by}", box_of(last)));
        parts.push(format!("and the load goes from the common there to the light at the {light}"));
    }
    let sentences = [format!("{}.", parts.join("; ")), others(case, wiring), neutral_sentence(case, wiring)];
    sentences.into_iter().filter(|sentence| !sentence.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Whether a scheme has line, load and neutral, and nothing beside what its chain ties: that can be told box by box. Of
/// any other scheme its pack has the words.
fn is_plain(scheme: &Scheme) -> bool {
    scheme.nets.len() == 3
}

/// Whether the line goes to one common, two travelers on, and the load from the other common.
fn goes_by_travelers(scheme: &Scheme) -> bool {
    let (Some(first), Some(last)) = (scheme.switches.first(), scheme.switches.last()) else { return false };
    let joined = |slot: &Slot, to: SlotPoint| {
        let common = SlotPoint::Switch(slot.name.clone(), Terminal::Common);
        scheme.nets.iter().any(|net| net.contains(&common) && net.contains(&to))
    };
    is_plain(scheme)
        && (first.outward.len(), last.inward.len()) == (2, 2)
        && joined(first, SlotPoint::Feed(Pole::Line))
        && joined(last, SlotPoint::Light(Terminal::Center))
}

/// Whether the line ends at the first switch and reaches the last by what ties them only.
fn ties(case: &Case, wiring: &Wiring, first: DeviceId, last: DeviceId) -> bool {
    first != last && breaks_line(case, wiring, first) && !breaks_line(case, wiring, last)
}

/// Whether the line comes to a switch.
fn breaks_line(case: &Case, wiring: &Wiring, switch: DeviceId) -> bool {
    let nets = &case.space.netlists[wiring.netlist].nets;
    let line = nets.iter().find(|net| net.poles.contains(&Pole::Line));
    line.is_some_and(|line: &Net| line.terminals.iter().any(|(on, _)| *on == switch))
}

/// What else there is: further chains, and lights and receptacles besides the first.
fn others(case: &Case, wiring: &Wiring) -> String {
    let netlist = &case.space.netlists[wiring.netlist];
    let house = &case.call.house;
    let name = |device: &DeviceId| format!("the {}", house.device_name(*device));
    let names = |devices: &[DeviceId]| devices.iter().map(name).collect::<Vec<_>>().join(" and ");
    let mut said = Vec::new();
    for (at, chain) in netlist.chains.iter().enumerate() {
        let more = if at == 0 { chain.controls.get(1..).unwrap_or(&[]) } else { &chain.controls[..] };
        match (at, more.is_empty()) {
            (_, true) => {}
            (0, false) => said.push(format!("With it, in whole or in part, goes {}.", names(more))),
            (_, false) => {
                said.push(format!("By {} is switched {}.", names(&chain.order), names(more)));
            }
        }
    }
    let controlled = |device: &DeviceId| netlist.chains.iter().any(|chain| chain.controls.contains(device));
    let idle: Vec<DeviceId> =
        house.device_ids().filter(|d| !house.device(*d).kind.is_switch() && !controlled(d)).collect();
    if !idle.is_empty() {
        said.push(format!("No switch here should control {}.", names(&idle)));
    }
    said.join(" ")
}

/// Boxes without a switch that wires of a role pass through, in the order of the run.
fn way(case: &Case, wiring: &Wiring, role: Role) -> Vec<String> {
    let house = &case.call.house;
    let carries = roles::roles(case, wiring);
    let mut run: UnGraph<Place, ()> = UnGraph::new_undirected();
    let mut nodes = BTreeMap::new();
    for (end, fact) in case.facts.ends.iter().enumerate() {
        if !fact.wires().any(|wire| carries[wire] == role) {
            continue;
        }
        let far = match wiring.dests[end] {
            Dest::End(far) => Place::Box(case.facts.ends[usize::from(far.0)].at),
            Dest::Box(at) => Place::Box(at),
            Dest::Buried(n) => Place::Buried(n),
            Dest::Panel | Dest::Onward => continue,
        };
        let [one, other] =
            [Place::Box(fact.at), far].map(|p| *nodes.entry(p).or_insert_with(|| run.add_node(p)));
        run.update_edge(one, other, ());
    }
    let has_switch = |place: &Place| match place {
        Place::Box(at) => house.outlet(*at).devices.iter().any(|&d| house.device(d).kind.is_switch()),
        _ => false,
    };
    run.node_weights().filter(|place| !has_switch(place)).map(|place| place_name(case, *place)).collect()
}

fn neutral_sentence(case: &Case, wiring: &Wiring) -> String {
    let house = &case.call.house;
    let carries = roles::roles(case, wiring);
    let mut with = Vec::new();
    let mut without = Vec::new();
    for at in house.box_ids().filter(|&at| house.outlet(at).opened) {
        let outlet = house.outlet(at);
        if !outlet.devices.iter().any(|&d| house.device(d).kind.is_switch()) {
            continue;
        }
        let ends = outlet.ends.iter().flat_map(|end| case.facts.ends[usize::from(end.0)].wires());
        let list =
            if ends.clone().any(|wire| carries[wire] == Role::Neutral) { &mut with } else { &mut without };
        list.push(outlet.name.clone());
    }
    let boxes = |names: &[String]| names.join(" and the ");
    match (with.is_empty(), without.is_empty()) {
        (true, true) => String::new(),
        (true, false) if without.len() == 1 => {
            format!("There should be no neutral in the {} box.", boxes(&without))
        }
        (true, false) => format!("There should be no neutral in the {} boxes.", boxes(&without)),
        (false, true) => format!("A neutral should be in the {}.", boxes(&with)),
        (false, false) => {
            format!("A neutral should be in the {}, and none in the {}.", boxes(&with), boxes(&without))
        }
    }
}
