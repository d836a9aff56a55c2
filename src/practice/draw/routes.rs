//! Where cable runs, and which way each net takes.

use super::{Draft, Home, Net, Route};
use crate::house::BoxKind;
use std::collections::{BTreeMap, BTreeSet};

/// Up a wall, across a ceiling and down again, with some to spare.
fn metres(a: [f64; 3], b: [f64; 3]) -> f64 {
    1.5 + (0..3).map(|axis| (a[axis] - b[axis]).abs()).sum::<f64>()
}

impl Draft<'_> {
    /// Ways between the boxes: short ones mostly, a hub sometimes, and perhaps one more that closes a ring.
    pub(super) fn lay_routes(&mut self) {
        let count = self.building.outlets.len();
        let hub = self.hub();
        let mut linked: BTreeSet<usize> = BTreeSet::from([self.chance.below(count)]);
        while linked.len() < count {
            let mut best: Option<(f64, usize, usize)> = None;
            for from in linked.clone() {
                for to in (0..count).filter(|to| !linked.contains(to)) {
                    let at_hub = hub.is_some_and(|hub| from == hub || to == hub);
                    let pull = if at_hub { 0.2 } else { 1.0 };
                    let cost = self.distance(from, to) * pull * self.chance.between(0.4, 2.5);
                    if best.is_none_or(|(least, ..)| cost < least) {
                        best = Some((cost, from, to));
                    }
                }
            }
            let Some((_, from, to)) = best else { break };
            linked.insert(to);
            self.add_route(from, to);
        }
        if count > 2 && self.often(self.features.ring) {
            self.close_ring();
        }
    }

    /// A box that most cables go to: the light, or a box of splices.
    fn hub(&mut self) -> Option<usize> {
        let outlets = &self.building.outlets;
        let central: Vec<usize> = (0..outlets.len())
            .filter(|&at| matches!(outlets[at].kind, BoxKind::Light | BoxKind::Junction))
            .collect();
        let hub = self.chance.pick(&central)?;
        self.often(0.35).then_some(hub)
    }

    fn distance(&self, from: usize, to: usize) -> f64 {
        metres(self.building.outlets[from].place, self.building.outlets[to].place)
    }

    fn add_route(&mut self, from: usize, to: usize) {
        let metres = self.distance(from, to);
        self.routes.push(Route { ends: [from, to], metres });
    }

    /// One more way, between two boxes that none joins yet.
    fn close_ring(&mut self) {
        let count = self.building.outlets.len();
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        let joined =
            |a: usize, b: usize| self.routes.iter().any(|route| route.ends == [a, b] || route.ends == [b, a]);
        let free: Vec<(usize, usize)> = pairs.filter(|&(a, b)| !joined(a, b)).collect();
        if let Some((a, b)) = self.chance.pick(&free) {
            self.add_route(a, b);
        }
    }

    /// Which routes each net takes: the shortest way from stop to stop.
    pub(super) fn lay_trails(&mut self) {
        for net in self.nets() {
            let mut stops: Vec<usize> = self.stops(net).into_iter().collect();
            if let (Net::Neutral(circuit), true) = (net, self.features.neutral_everywhere > 0.0)
                && self.often(self.features.neutral_everywhere)
            {
                stops.extend(self.stops_beside_line(circuit));
                self.mark("neutral-everywhere");
            }
            let trail = self.reach(&stops);
            self.trails.insert(net, trail);
        }
        self.round_the_ring();
    }

    /// Switch boxes, which may be given a neutral too.
    fn stops_beside_line(&self, _circuit: usize) -> Vec<usize> {
        let outlets = &self.building.outlets;
        (0..outlets.len()).filter(|&at| outlets[at].kind == BoxKind::Switch).collect()
    }

    /// A tree of routes over some boxes, each joined by the shortest way to those before it.
    fn reach(&self, stops: &[usize]) -> BTreeSet<usize> {
        let mut trail = BTreeSet::new();
        let Some(&first) = stops.first() else { return trail };
        let mut reached = BTreeSet::from([first]);
        for &stop in stops {
            for route in self.way(&reached, stop, None) {
                trail.insert(route);
                reached.extend(self.routes[route].ends);
            }
        }
        trail
    }

    /// The shortest way from any of some boxes to another, without one of the routes.
    fn way(&self, from: &BTreeSet<usize>, to: usize, without: Option<usize>) -> Vec<usize> {
        let mut best: BTreeMap<usize, (f64, Option<usize>)> =
            from.iter().map(|&at| (at, (0.0, None))).collect();
        loop {
            let mut next: Option<(f64, usize, usize)> = None;
            for (number, route) in
                self.routes.iter().enumerate().filter(|(number, _)| Some(*number) != without)
            {
                for [here, there] in [route.ends, [route.ends[1], route.ends[0]]] {
                    let Some((metres, _)) = best.get(&here) else { continue };
                    let metres = metres + route.metres;
                    let shorter = best.get(&there).is_none_or(|(known, _)| metres < *known);
                    if shorter && next.is_none_or(|(least, ..)| metres < least) {
                        next = Some((metres, there, number));
                    }
                }
            }
            let Some((metres, there, number)) = next else { break };
            best.insert(there, (metres, Some(number)));
        }
        let mut way = Vec::new();
        let mut at = to;
        while let Some((_, Some(number))) = best.get(&at) {
            way.push(*number);
            let ends = self.routes[*number].ends;
            at = if ends[0] == at { ends[1] } else { ends[0] };
        }
        way
    }

    /// Where cables close a ring that the light is on, its neutral may go round: the far way only, or both ways.
    fn round_the_ring(&mut self) {
        let ring = self.ring();
        let Some(&light) = self.building.chains.first().and_then(|chain| chain.lights.first()) else {
            return;
        };
        let ceiling = self.building.fixtures[light].outlet;
        let used = ring.iter().all(|route| self.trails.values().any(|trail| trail.contains(route)));
        if !used || !self.touch(&ring, ceiling) {
            return;
        }
        self.mark("ring");
        let net = Net::Neutral(0);
        let trail = self.trails.get(&net).cloned().unwrap_or_default();
        match self.chance.below(3) {
            0 => {}
            1 => {
                self.mark("closed-neutral");
                self.trails.entry(net).or_default().extend(ring);
            }
            _ if trail.is_disjoint(&ring) => self.open_ring(&ring, ceiling),
            _ => {
                let far: BTreeSet<usize> = trail.symmetric_difference(&ring).copied().collect();
                if self.joins(&far, &self.stops(net)) {
                    self.mark("long-neutral");
                    self.trails.insert(net, far);
                }
            }
        }
    }

    /// Out with the line and home with the load; only what comes home is on the lamp.
    fn open_ring(&mut self, ring: &BTreeSet<usize>, ceiling: usize) {
        let net = Net::Neutral(0);
        let load = self.trails.get(&Net::Load(0)).cloned().unwrap_or_default();
        let mut beside: Vec<usize> =
            ring.iter().copied().filter(|&route| self.routes[route].ends.contains(&ceiling)).collect();
        beside.sort_by_key(|route| !load.contains(route));
        let Some(&route) = beside.first() else { return };
        self.mark("open-neutral");
        self.trails.entry(net).or_default().extend(ring);
        self.home = Some(Home { outlet: ceiling, net, route });
    }

    /// Whether some routes hang together and come to every one of some boxes.
    fn joins(&self, routes: &BTreeSet<usize>, stops: &BTreeSet<usize>) -> bool {
        let mut reached: BTreeSet<usize> = stops.iter().take(1).copied().collect();
        let mut left: Vec<usize> = routes.iter().copied().collect();
        loop {
            let (here, others): (Vec<usize>, Vec<usize>) = left
                .into_iter()
                .partition(|&route| self.routes[route].ends.iter().any(|end| reached.contains(end)));
            if here.is_empty() {
                return others.is_empty() && stops.is_subset(&reached);
            }
            reached.extend(here.into_iter().flat_map(|route| self.routes[route].ends));
            left = others;
        }
    }

    /// Whether any of some routes comes to a box.
    fn touch(&self, routes: &BTreeSet<usize>, outlet: usize) -> bool {
        routes.iter().any(|&route| self.routes[route].ends.contains(&outlet))
    }

    /// The routes of the ring; none where there is no ring.
    fn ring(&self) -> BTreeSet<usize> {
        let count = self.building.outlets.len();
        if self.routes.len() < count {
            return BTreeSet::new();
        }
        let last = self.routes.len() - 1;
        let [from, to] = self.routes[last].ends;
        let way = self.way(&BTreeSet::from([from]), to, Some(last));
        way.into_iter().chain([last]).collect()
    }
}
