//! The run as a graph in DOT, for other programs to lay out.

use super::known::{Known, place_of};
use super::text::sanitize;
use super::words::{self, Confidence, is_buried};
use crate::house::{BoxId, EndId, House};
use crate::verdict::{CableFound, Verdict};
use petgraph::dot::Dot;
use petgraph::graph::{NodeIndex, UnGraph};
use std::collections::BTreeMap;

/// A place of the graph.
struct Node {
    label: String,
    /// Solid where somebody looked, dashed where it is inferred or shut.
    seen: bool,
}

/// A cable of the graph.
struct Edge {
    label: String,
    firm: Confidence,
}

impl std::fmt::Display for Node {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.label)
    }
}

impl std::fmt::Display for Edge {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.label)
    }
}

type Graph = UnGraph<Node, Edge>;

/// Places and cables in DOT; a cable's wires and their roles label it.
pub fn dot(house: &House, verdict: &Verdict) -> String {
    let known = Known::new(house, verdict);
    let mut graph = Graph::new_undirected();
    let mut places = BTreeMap::new();
    for id in house.box_ids() {
        let outlet = house.outlet(id);
        let node = graph.add_node(Node { label: box_label(&known, id), seen: outlet.opened });
        places.insert(outlet.name.clone(), node);
    }
    for cable in &verdict.cables {
        let [one, two] = [0, 1].map(|i| place(&mut graph, &mut places, place_of(&cable.ends[i])));
        graph.add_edge(one, two, edge(&known, cable));
    }
    untold(&known, &mut graph, &places);
    let edge_look = |_: &Graph, e: petgraph::graph::EdgeReference<'_, Edge>| {
        let style = match e.weight().firm {
            Confidence::Settled => "solid",
            Confidence::Likely => "dashed",
            Confidence::Open => "dotted",
        };
        format!("style = {style}")
    };
    let node_look = |_: &Graph, (_, node): (NodeIndex, &Node)| {
        format!("shape = box, style = {}", if node.seen { "solid" } else { "dashed" })
    };
    Dot::with_attr_getters(&graph, &[], &edge_look, &node_look).to_string()
}

fn box_label(known: &Known<'_>, id: BoxId) -> String {
    let outlet = known.house.outlet(id);
    let mut lines = vec![sanitize(&outlet.name), words::box_kind(outlet.kind).to_owned()];
    if !outlet.opened {
        lines.push("not opened".to_owned());
    }
    lines.join("\n")
}

/// The node of a place; `onward` is a new one every time, being no one place.
fn place(graph: &mut Graph, places: &mut BTreeMap<String, NodeIndex>, name: &str) -> NodeIndex {
    if let Some(&node) = places.get(name) {
        return node;
    }
    let node = graph.add_node(Node { label: sanitize(&words::place(name)), seen: !is_buried(name) });
    if name != "onward" {
        places.insert(name.to_owned(), node);
    }
    node
}

fn edge(known: &Known<'_>, cable: &CableFound) -> Edge {
    let ends: Vec<EndId> = cable.ends.iter().filter_map(|e| known.end_named(e)).collect();
    let names: Vec<String> = ends.iter().map(|&e| sanitize(&known.house.end_name(e))).collect();
    let mut lines = Vec::new();
    if !names.is_empty() {
        lines.push(names.join(" to "));
    }
    lines.extend(ends.first().map(|&end| wires(known, end)).unwrap_or_default());
    lines.push(words::firmness(cable.p));
    Edge { label: lines.join("\n"), firm: Confidence::of(cable.p) }
}

/// A line a wire: colour and role.
fn wires(known: &Known<'_>, end: EndId) -> Vec<String> {
    known
        .wires_of(end)
        .map(|wire| {
            let role = known.wire(wire).map_or("not told".to_owned(), |found| {
                format!("{}{}", Confidence::of(found.p).hedge(), words::role_of(known, found))
            });
            sanitize(&format!("{}: {role}", known.house.wire_word(wire)))
        })
        .collect()
}

/// Ends whose cable is not told go to a place of their own that says so.
fn untold(known: &Known<'_>, graph: &mut Graph, places: &BTreeMap<String, NodeIndex>) {
    for end in known.house.end_ids().filter(|&e| known.far(e).is_none()) {
        let at = &known.house.outlet(known.house.end(end).at).name;
        let Some(&here) = places.get(at) else { continue };
        let there = graph.add_node(Node { label: "not told yet".to_owned(), seen: false });
        let mut lines = vec![sanitize(&known.house.end_name(end))];
        lines.extend(wires(known, end));
        graph.add_edge(here, there, Edge { label: lines.join("\n"), firm: Confidence::Open });
    }
}
