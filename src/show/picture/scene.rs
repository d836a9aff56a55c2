//! What the picture shows, before anything has a place on the paper.

use super::tracks::{Field, Net, Placed, Steps, arrange};
use super::{Dash, order};
use crate::house::{Apart, BoxId, EndId, LocalPoint, OutletBox, WireId};
use crate::show::known::{Known, landing_box, place_of};
use crate::show::run::Run;
use crate::show::text::{capital, list, percent, sanitize};
use crate::show::verdict::goes_to;
use crate::show::words::{self, Confidence};
use crate::verdict::{CableFound, Landing};

/// Distances inside a box.
pub(super) const STEPS: Steps = Steps { head: 31.0, row: 17.0, device: 29.0 };

/// Everything, in the order in which it stands on the paper.
pub(super) struct Scene {
    pub bands: Vec<Band>,
    /// Cables between two bands: which port of which.
    pub cables: Vec<Sheathed>,
}

/// A cable in the margin.
pub(super) struct Sheathed {
    /// Band and port, the upper first.
    pub ends: [(usize, usize); 2],
    pub dash: Dash,
}

/// A place: a box, the panel.
pub(super) struct Band {
    pub name: String,
    pub what: String,
    /// Whether somebody looked into it.
    pub seen: bool,
    pub ports: Vec<Port>,
    pub wires: Vec<WireLine>,
    pub devices: Vec<DeviceFrame>,
    pub screws: Vec<String>,
    pub field: Field,
    /// Where all that stands.
    pub placed: Placed,
    /// Whether each net of the field is sure.
    pub sure: Vec<bool>,
    /// What must be said of it.
    pub remarks: Vec<String>,
}

/// Where a cable enters.
pub(super) struct Port {
    pub text: String,
    pub dash: Dash,
    /// Whether it leads to a place that is not drawn.
    pub away: bool,
    /// Its wires, by their number in the band.
    pub wires: Vec<usize>,
}

/// A wire in a box.
pub(super) struct WireLine {
    pub name: String,
    pub colour: String,
    pub role: String,
    pub dash: Dash,
    /// What is said at its end where it is joined to nothing.
    pub loose: Option<&'static str>,
}

/// A device; its screws are the numbers in the field.
pub(super) struct DeviceFrame {
    pub text: String,
    pub screws: Vec<usize>,
}

pub(super) fn dash(p: f64) -> Dash {
    match Confidence::of(p) {
        Confidence::Settled => Dash::Solid,
        Confidence::Likely => Dash::Dashed,
        Confidence::Open => Dash::Dotted,
    }
}

/// What enters a place: an end that was seen, or a cable of which this end was not.
enum Entry<'a> {
    Seen(EndId),
    Unseen(&'a str, f64),
}

/// A cable between two places that are drawn.
#[derive(Clone, Copy)]
struct Between<'a> {
    cable: &'a CableFound,
    /// Where its places stand, the upper first.
    ranks: [usize; 2],
    /// Its ends, in the same order.
    ends: [&'a str; 2],
}

impl Scene {
    /// In the order of places that makes the fewest crossings, in the margin first, then in the boxes.
    pub fn of(known: &Known<'_>) -> Self {
        let names = places(known);
        let at = |end: &str| names.iter().position(|name| name == place_of(end));
        let cables: Vec<(&CableFound, [usize; 2])> = known
            .verdict
            .cables
            .iter()
            .filter_map(|cable| Some((cable, [at(&cable.ends[0])?, at(&cable.ends[1])?])))
            .filter(|(_, [a, b])| a != b)
            .collect();
        let pairs: Vec<[usize; 2]> = cables.iter().map(|(_, ends)| *ends).collect();
        let mut best: Option<Scene> = None;
        for order in order::best(names.len(), &pairs) {
            let scene = Scene::ordered(known, &names, &cables, &order);
            if best.as_ref().is_none_or(|best| scene.crossings() < best.crossings()) {
                best = Some(scene);
            }
        }
        best.unwrap_or(Scene { bands: Vec::new(), cables: Vec::new() })
    }

    /// Crossings inside the boxes.
    fn crossings(&self) -> usize {
        self.bands.iter().map(|band| band.placed.crossings).sum()
    }

    fn ordered(
        known: &Known<'_>,
        names: &[String],
        cables: &[(&CableFound, [usize; 2])],
        order: &[usize],
    ) -> Self {
        let rank = |place: usize| order.iter().position(|p| *p == place).unwrap_or(0);
        let between: Vec<Between<'_>> = cables
            .iter()
            .map(|&(cable, places)| {
                let [a, b] = places.map(rank);
                let [one, two] = [cable.ends[0].as_str(), cable.ends[1].as_str()];
                let (ranks, ends) = if a < b { ([a, b], [one, two]) } else { ([b, a], [two, one]) };
                Between { cable, ranks, ends }
            })
            .collect();
        let mut scene = Scene { bands: Vec::new(), cables: Vec::new() };
        let mut found: Vec<[Option<usize>; 2]> = vec![[None; 2]; between.len()];
        for (here, &place) in order.iter().enumerate() {
            let mut band = Band::of(known, &names[place]);
            for (n, side) in ports(&between, here) {
                let Between { cable, ends, .. } = between[n];
                let entry = match known.end_named(ends[side]) {
                    Some(end) => Entry::Seen(end),
                    None => Entry::Unseen(ends[1 - side], cable.p),
                };
                found[n][side] = Some(band.enter(known, entry, false));
            }
            band.finish(known, &names[place], &between);
            scene.bands.push(band);
        }
        for (one, ports) in between.iter().zip(&found) {
            if let [Some(upper), Some(lower)] = ports {
                let ends = [(one.ranks[0], *upper), (one.ranks[1], *lower)];
                scene.cables.push(Sheathed { ends, dash: dash(one.cable.p) });
            }
        }
        scene
    }
}

/// The cables at a place, with the side it is on: from above first, the nearest foremost; then those that go down, the
/// farthest foremost.
fn ports(between: &[Between<'_>], here: usize) -> Vec<(usize, usize)> {
    let mut ports: Vec<(usize, usize)> = (0..between.len())
        .flat_map(|n| [(n, 0), (n, 1)])
        .filter(|&(n, side)| between[n].ranks[side] == here)
        .collect();
    ports.sort_by_key(|&(n, side)| {
        let far = between[n].ranks[1 - side];
        (1 - side, usize::MAX - far, if side == 0 { n } else { usize::MAX - n })
    });
    ports
}

/// The places to draw, the panel first where it is known how it is reached.
fn places(known: &Known<'_>) -> Vec<String> {
    let panel = known.verdict.cables.iter().any(|c| c.ends.iter().any(|e| e == "panel"));
    let mut names: Vec<String> = if panel { vec!["panel".to_owned()] } else { Vec::new() };
    names.extend(Run::of(known).order);
    names
}

impl Band {
    fn of(known: &Known<'_>, place: &str) -> Self {
        let outlet = known.box_named(place).map(|id| known.house.outlet(id));
        let feeds: Vec<String> = known.house.feeds.iter().map(words::feed).collect();
        let (name, mut what) = match outlet {
            Some(outlet) => (outlet.name.clone(), words::box_kind(outlet.kind).to_owned()),
            None if place == "panel" => ("panel".to_owned(), list(&feeds, "and")),
            None => (place.to_owned(), "a box nobody has seen; inferred".to_owned()),
        };
        let opened = outlet.is_some_and(|outlet| outlet.opened);
        if outlet.is_some() && !opened {
            what.push_str(", not opened: what is said here is inferred");
        }
        if let Some(found) = &known.verdict.arrangement
            && found.feed.at == place
            && !known.verdict.cables.iter().any(|c| c.ends.iter().any(|e| e == "panel"))
        {
            what.push_str(&format!("; the feed comes in here ({})", words::firmness(found.feed.p)));
        }
        Band {
            name: capital(&sanitize(&name)),
            what: sanitize(&what),
            seen: opened || place == "panel",
            ports: Vec::new(),
            wires: Vec::new(),
            devices: Vec::new(),
            screws: Vec::new(),
            field: Field::default(),
            placed: Placed::default(),
            sure: Vec::new(),
            remarks: Vec::new(),
        }
    }

    /// Adds a cable and gives the number of its port.
    fn enter(&mut self, known: &Known<'_>, entry: Entry<'_>, away: bool) -> usize {
        let (text, dash, wires) = match entry {
            Entry::Seen(end) => {
                let far = known.far(end);
                let text = format!("cable {} {}", known.house.end(end).tag, goes_to(far));
                let wires = known.wires_of(end).map(|wire| self.wire(known, wire)).collect();
                (text, far.map_or(Dash::Dotted, |far| dash(far.p)), wires)
            }
            Entry::Unseen(to, p) => {
                let seen = known.end_named(to).map(|end| known.house.end(end).wires.join(", "));
                let wires = seen.map_or(String::new(), |wires| format!(": {wires} as seen there"));
                let text = format!("cable to {}{wires} ({})", words::far_end(to), words::firmness(p));
                (text, dash(p), Vec::new())
            }
        };
        self.field.cables.push(wires);
        let wires = self.field.cables.last().cloned().unwrap_or_default();
        self.ports.push(Port { text: sanitize(&text), dash, away, wires });
        self.ports.len() - 1
    }

    fn wire(&mut self, known: &Known<'_>, wire: WireId) -> usize {
        let outlet = known.house.outlet(known.house.end(wire.end).at);
        let point = LocalPoint::Wire(wire);
        let joined = outlet.joints.iter().any(|j| j.points.len() > 1 && j.points.contains(&point));
        let (role, dash) = match known.wire(wire) {
            Some(found) => {
                let firm = Confidence::of(found.p);
                let said = format!("{}{}", firm.hedge(), words::role_of(known, found));
                let p = if firm == Confidence::Settled {
                    String::new()
                } else {
                    format!(", {}", percent(found.p))
                };
                (format!("{said}{p}"), dash(found.p))
            }
            None => ("not told: treat as live".to_owned(), Dash::Dotted),
        };
        self.wires.push(WireLine {
            name: sanitize(&known.house.local_name(point)),
            colour: known.house.wire_word(wire).trim_end_matches(|c: char| c.is_ascii_digit()).to_owned(),
            role: sanitize(&role),
            dash,
            loose: (!joined).then(|| loose(outlet, point)),
        });
        self.wires.len() - 1
    }

    /// Adds what does not go to another place that is drawn, and what is in the box.
    fn finish(&mut self, known: &Known<'_>, place: &str, between: &[Between<'_>]) {
        let id = known.box_named(place);
        let drawn = |end: EndId| {
            let name = known.house.end_name(end);
            between.iter().any(|one| one.ends.contains(&name.as_str()))
        };
        for end in known.house.end_ids().filter(|&e| Some(known.house.end(e).at) == id && !drawn(e)) {
            self.enter(known, Entry::Seen(end), true);
        }
        for cable in &known.verdict.cables {
            let [one, two] = &cable.ends;
            if (one == place && two == "onward") || (two == place && one == "onward") {
                self.enter(known, Entry::Unseen("onward", cable.p), true);
            }
        }
        if let Some(id) = id {
            self.furnish(known, id);
        }
        self.placed = arrange(&self.field, STEPS);
    }

    /// Devices, joints and remarks of a known box; its wires are there.
    fn furnish(&mut self, known: &Known<'_>, id: BoxId) {
        let outlet = known.house.outlet(id);
        let mut points: Vec<LocalPoint> = Vec::new();
        for &device in &outlet.devices {
            let seen = known.house.device(device);
            let mut numbers = Vec::new();
            for terminal in if outlet.opened { seen.terminals() } else { Vec::new() } {
                let point = LocalPoint::Terminal(device, terminal);
                numbers.push(points.len());
                points.push(point);
                let name = crate::show::draw::screw_name(known, device, terminal);
                self.screws.push(format!("{}{}", sanitize(&name), empty(outlet, point)));
            }
            let marked = if seen.marked { "" } else { ", screws not marked" };
            let kind = words::device_kind(seen.kind);
            let name = if seen.name == kind { String::new() } else { format!("{}: ", seen.name) };
            let text = format!("{name}{kind}{marked}");
            self.frame(&text, numbers);
        }
        let metal = LocalPoint::Metal(id);
        if outlet.joints.iter().any(|j| j.points.contains(&metal)) {
            self.screws.push("the box itself".to_owned());
            self.frame("metal", vec![points.len()]);
            points.push(metal);
        }
        let wires: Vec<String> = self.wires.iter().map(|w| w.name.clone()).collect();
        for joint in outlet.joints.iter().filter(|j| j.points.len() > 1) {
            let mut net = Net::default();
            for point in &joint.points {
                match points.iter().position(|p| p == point) {
                    Some(screw) => net.screws.push(screw),
                    None => {
                        let name = sanitize(&known.house.local_name(*point));
                        net.wires.extend(wires.iter().position(|w| *w == name));
                    }
                }
            }
            self.field.nets.push(net);
            self.sure.push(joint.sure);
        }
        self.remarks = remarks(known, outlet);
    }

    fn frame(&mut self, text: &str, screws: Vec<usize>) {
        self.field.devices.push(screws.clone());
        self.devices.push(DeviceFrame { text: sanitize(text), screws });
    }
}

fn was_apart(outlet: &OutletBox, point: LocalPoint) -> bool {
    match &outlet.apart {
        Apart::No => false,
        Apart::All => true,
        Apart::Points(points) => points.contains(&point),
    }
}

fn loose(outlet: &OutletBox, point: LocalPoint) -> &'static str {
    match (was_apart(outlet, point), outlet.complete) {
        (true, _) => "apart",
        (false, true) => "capped",
        (false, false) => "not seen",
    }
}

/// What is said beside a screw with nothing on it.
fn empty(outlet: &OutletBox, point: LocalPoint) -> &'static str {
    if outlet.joints.iter().any(|j| j.points.len() > 1 && j.points.contains(&point)) {
        ""
    } else if was_apart(outlet, point) {
        " (apart)"
    } else if outlet.complete {
        " (empty)"
    } else {
        " (not seen)"
    }
}

fn remarks(known: &Known<'_>, outlet: &OutletBox) -> Vec<String> {
    let mut all: Vec<String> = known
        .verdict
        .defects
        .iter()
        .filter(|defect| place_of(&defect.at) == outlet.name)
        .map(|defect| format!("Found here: {}.", words::defect(defect)))
        .collect();
    for landing in known.verdict.landing.iter().filter(|l| landing_box(l) == outlet.name) {
        all.push(
            match landing {
                Landing::Joints { .. } => "Drawn as found; to be connected by the plan in the record.",
                Landing::Refused { .. } => "NOT TO BE PUT BACK AS IT WAS: see what to do next.",
            }
            .to_owned(),
        );
    }
    all.iter().map(|text| sanitize(text)).collect()
}
