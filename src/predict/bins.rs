//! Bins from nets: what each kind of question would show.
//!
//! A net is *hard* when it is a pole of the supply (line, neutral, another circuit's line), *held* when lamps tie it to
//! one of them only, *between* when lamps tie it to several, and *floating* otherwise. All but the last two are answered
//! at once.

use super::ghost::Ghosts;
use super::nets::{LampEdge, NetId, Nets};
use super::{ANY_LOAD, OTHER_LOADS, OtherLoad};
use crate::call::Bins;
use crate::circuit::{Network, Node, Resistance};
use crate::house::LampKind;

pub(super) const NONE: Bins = [1.0, 0.0, 0.0, 0.0, 0.0];
pub(super) const TRIPS: Bins = [0.0, 0.0, 0.0, 0.0, 1.0];

/// A bin for certain.
pub(super) fn only(bin: usize) -> Bins {
    let mut bins = [0.0; 5];
    bins[bin] = 1.0;
    bins
}

fn mix(parts: &[(f64, Bins)]) -> Bins {
    let mut sum = [0.0; 5];
    for (p, bins) in parts {
        sum.iter_mut().zip(bins).for_each(|(sum, bin)| *sum += p * bin);
    }
    sum
}

/// What ties a net to the supply.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Tie {
    /// A pole of the supply itself, or tied by lamps to one of them only: its potential (as a share of the supply) and the
    /// ohms between.
    Held(f64, f64),
    /// Tied by lamps to several.
    Between,
    /// To none.
    Floating,
}

impl Nets<'_> {
    /// Volts between two nets on a meter of `ohms` and `farads`: none, ghost, part, line, trips. Without `ghosts` nothing
    /// is told from a ghost.
    pub(super) fn volts(
        &self,
        p: NetId,
        q: NetId,
        ohms: f64,
        farads: f64,
        mut ghosts: Option<&mut Ghosts>,
    ) -> Bins {
        if !self.power {
            return mix(&[(0.98, NONE), (0.02, only(1))]);
        }
        if self.shorted() {
            return TRIPS;
        }
        self.over_lamps(|nets| nets.volts_filament(p, q, ohms, farads, ghosts.as_deref_mut()))
    }

    fn volts_filament(
        &self,
        p: NetId,
        q: NetId,
        ohms: f64,
        farads: f64,
        ghosts: Option<&mut Ghosts>,
    ) -> Bins {
        let (p, q) = (self.as_one_line(p), self.as_one_line(q));
        if p == q {
            return NONE;
        }
        match (self.tie(p, true), self.tie(q, true)) {
            (Tie::Held(a, ra), Tie::Held(b, rb)) => volt_bin((a - b).abs() * ohms / (ohms + ra + rb)),
            (Tie::Floating, _) | (_, Tie::Floating) => {
                ghosts.map_or(NONE, |ghosts| ghosts.between(self, p, q, ohms, farads))
            }
            _ => volt_bin(self.divided(p, q, ohms, !self.burns())),
        }
    }

    /// A test lamp of `hot` ohms between two nets: none, dim, bright, -, trips.
    pub(super) fn load(&self, p: NetId, q: NetId, hot: f64) -> Bins {
        if !self.power {
            return NONE;
        }
        if self.shorted() {
            return TRIPS;
        }
        let (p, q) = (self.as_one_line(p), self.as_one_line(q));
        self.over_lamps(|nets| {
            let share = if p == q { 0.0 } else { nets.divided(p, q, hot, false) };
            only(if share >= 0.9 { 2 } else { usize::from(share >= 0.2) })
        })
    }

    /// A light: lit, dim, glow, dark, trips.
    pub(super) fn watch(&self, light: Option<LampEdge>) -> Bins {
        const DARK: usize = 3;
        if !self.power {
            return only(DARK);
        }
        // Before the lamp is looked for: a short trips with the lamp out too.
        if self.shorted() {
            return TRIPS;
        }
        let Some(light) = light else { return only(DARK) };
        let [p, q] = light.ends;
        if p == q {
            return only(DARK);
        }
        if self.pole(p).is_some() && self.pole(q).is_some() {
            return only(0);
        }
        let share = self.divided(p, q, f64::INFINITY, false);
        let filament = light.kind == LampKind::Incandescent;
        match (share >= 0.9, share >= 0.2) {
            (true, _) => only(0),
            (_, true) => only(1),
            _ if filament => only(DARK),
            // Coupled microamps are enough for a faint light of an LED; a filament never shows them.
            _ => mix(&[(0.85, only(DARK)), (0.15, only(2))]),
        }
    }

    /// Ohms between two nets, power off, beside any of the other loads: closed, filament, load, open, -.
    pub(super) fn ohms(&self, p: NetId, q: NetId) -> Bins {
        let beside = self.ohms_beside(p, q);
        mix(&std::array::from_fn::<_, { OTHER_LOADS.len() }, _>(|at| (ANY_LOAD[at], beside[at])))
    }

    /// The same beside each of the other loads.
    pub(super) fn ohms_beside(&self, p: NetId, q: NetId) -> [Bins; OTHER_LOADS.len()] {
        if p == q {
            return [only(0); OTHER_LOADS.len()];
        }
        let beyond = self.poles_beyond();
        let at = |other: OtherLoad| {
            let by_feed = self.lines().map(|line| [line, self.neutral]);
            let by_feed =
                other.at_feed.into_iter().flat_map(|ohms| by_feed.clone().map(move |ends| (ends, ohms)));
            let there =
                other.beyond.into_iter().flat_map(|ohms| beyond.iter().map(move |ends| (*ends, ohms)));
            let loads: Vec<_> = by_feed.chain(there).collect();
            self.over_lamps(|nets| ohm_bin(nets.dead_ohms(p, q, &loads)))
        };
        let mut beside = [[0.0; 5]; OTHER_LOADS.len()];
        for (nth, &other) in OTHER_LOADS.iter().enumerate() {
            let same = OTHER_LOADS[..nth].iter().position(|one| one.at_feed == other.at_feed);
            beside[nth] = match same.filter(|_| beyond.is_empty()) {
                Some(same) => beside[same],
                None => at(other),
            };
        }
        beside
    }

    /// Answers with lamps as filaments; for a lamp that is none, or unknown, mixes in that it may not conduct.
    fn over_lamps(&self, mut answer: impl FnMut(&Self) -> Bins) -> Bins {
        let with = answer(self);
        let filament = |lamp: &LampEdge| lamp.kind == LampKind::Incandescent;
        if self.lamps.iter().all(filament) {
            return with;
        }
        let open = self.with_lamps(self.lamps.iter().copied().filter(filament).collect());
        let without = answer(&open);
        if with == without {
            return with;
        }
        let vague = [0.25, 0.25, 0.25, 0.25, 0.0];
        let electronic = mix(&[(0.35, with), (0.35, without), (0.3, vague)]);
        if self.lamps.iter().any(|lamp| matches!(lamp.kind, LampKind::Led | LampKind::Cfl)) {
            electronic
        } else {
            mix(&[(0.5, with), (0.5, electronic)])
        }
    }

    fn tie(&self, net: NetId, cold: bool) -> Tie {
        if let Some(potential) = self.pole(net) {
            return Tie::Held(potential, 0.0);
        }
        let mut reached = vec![(net, 0.0)];
        let mut held: Option<(f64, f64)> = None;
        let mut at = 0;
        while let Some(&(here, ohms)) = reached.get(at) {
            at += 1;
            for lamp in self.lamps.iter().filter(|lamp| lamp.ends.contains(&here)) {
                let far = if lamp.ends[0] == here { lamp.ends[1] } else { lamp.ends[0] };
                let ohms = ohms + lamp.ohms(cold);
                let Some(potential) = self.pole(far) else {
                    if !reached.iter().any(|(net, _)| *net == far) {
                        reached.push((far, ohms));
                    }
                    continue;
                };
                match held {
                    None => held = Some((potential, ohms)),
                    Some((other, _)) if other != potential => return Tie::Between,
                    Some((_, before)) => held = Some((potential, before.min(ohms))),
                }
            }
        }
        held.map_or(Tie::Floating, |(potential, ohms)| Tie::Held(potential, ohms))
    }

    /// The potential of a net that lamps tie to several poles, as a share of the supply; `None` for any other.
    pub(super) fn between_poles(&self, net: NetId) -> Option<f64> {
        // One lamp ties a net to one pole at most.
        if self.lamps.iter().filter(|lamp| lamp.ends[0] != lamp.ends[1]).count() < 2 {
            return None;
        }
        let cold = !self.burns();
        // From the lowest pole, as what is solved tells no sign.
        let (lowest, potential) = self.other_leg().map_or((self.neutral, 0.0), |other| (other, -1.0));
        (self.tie(net, cold) == Tie::Between)
            .then(|| potential + self.divided(net, lowest, f64::INFINITY, cold))
    }

    /// Whether any lamp gets enough to be hot. One behind a bad joint may not.
    fn burns(&self) -> bool {
        let lamps = self.lamps.iter().filter(|lamp| lamp.hot != lamp.cold && lamp.ends[0] != lamp.ends[1]);
        lamps
            .map(|lamp| self.divided(lamp.ends[0], lamp.ends[1], f64::INFINITY, false))
            .any(|share| share >= 0.2)
    }

    /// The share of the supply between two nets, through lamps and with `ohms` between the two (infinite: nothing).
    fn divided(&self, p: NetId, q: NetId, ohms: f64, cold: bool) -> f64 {
        self.solved(p, q, ohms, cold).unwrap_or(0.0)
    }

    fn solved(&self, p: NetId, q: NetId, ohms: f64, cold: bool) -> Option<f64> {
        let (mut network, nodes) = self.lamp_network(&[p, q], cold)?;
        let node = |net| nodes.iter().find(|(n, _)| *n == net).map(|(_, node)| *node);
        network.source(node(self.line)?, node(self.neutral)?, 1.0, 1e-3).ok()?;
        if let Some(other) = self.other_leg() {
            network.source(node(other)?, node(self.neutral)?, -1.0, 1e-3).ok()?;
        }
        let (p, q) = (node(p)?, node(q)?);
        if ohms.is_finite() {
            network.resistor(p, q, ohms).ok()?;
        }
        network.solve_dc().ok()?.volts(p, q).ok()
    }

    /// Lamps as resistors between nets, with `also` and the poles of the supply; neutral is the reference.
    fn lamp_network(&self, also: &[NetId], cold: bool) -> Option<(Network, Vec<(NetId, Node)>)> {
        let mut network = Network::new();
        let mut nodes = vec![(self.neutral, Node::REFERENCE)];
        let ends = self.lamps.iter().flat_map(|lamp| lamp.ends);
        for net in ends.chain(also.iter().copied()).chain([self.line]).chain(self.other_leg()) {
            if !nodes.iter().any(|(n, _)| *n == net) {
                nodes.push((net, network.add_node().ok()?));
            }
        }
        let node = |net| nodes.iter().find(|(n, _)| *n == net).map(|(_, node)| *node);
        for lamp in self.lamps.iter().filter(|lamp| lamp.ends[0] != lamp.ends[1]) {
            network.resistor(node(lamp.ends[0])?, node(lamp.ends[1])?, lamp.ohms(cold)).ok()?;
        }
        Some((network, nodes))
    }

    /// Ohms between two nets with the power off, and other loads between some nets: what hangs on another circuit is taken
    /// for what hangs on this one.
    fn dead_ohms(&self, p: NetId, q: NetId, loads: &[([NetId; 2], f64)]) -> Option<f64> {
        let touched = |net: NetId| {
            let loaded = loads.iter().any(|(ends, _)| ends.contains(&net));
            loaded || self.lamps.iter().any(|lamp| lamp.ends.contains(&net))
        };
        if !touched(p) || !touched(q) {
            return None;
        }
        let lamps = self.lamps.iter().filter(|lamp| lamp.ends[0] != lamp.ends[1]);
        let mut edges = lamps.map(|lamp| (lamp.ends, lamp.cold)).chain(loads.iter().copied());
        if let (first, second, None) = (edges.next(), edges.next(), edges.next()) {
            return two_in_a_row(p, q, first, second);
        }
        let loaded = loads.iter().flat_map(|(ends, _)| *ends);
        let also: Vec<NetId> = [p, q].into_iter().chain(loaded).collect();
        let (mut network, nodes) = self.lamp_network(&also, true)?;
        let node = |net| nodes.iter().find(|(n, _)| *n == net).map(|(_, node)| *node);
        for &([one, other], ohms) in loads {
            network.resistor(node(one)?, node(other)?, ohms).ok()?;
        }
        match network.resistance_between(node(p)?, node(q)?).ok()? {
            Resistance::Ohms(ohms) => Some(ohms),
            Resistance::Open => None,
        }
    }
}

/// Ohms between two nets through two resistors at most: one of them, both side by side, or one behind the other.
fn two_in_a_row(
    p: NetId,
    q: NetId,
    first: Option<([NetId; 2], f64)>,
    second: Option<([NetId; 2], f64)>,
) -> Option<f64> {
    let joins = |ends: &[NetId; 2], a: NetId, b: NetId| *ends == [a, b] || *ends == [b, a];
    let over = |edge: Option<([NetId; 2], f64)>| edge.filter(|(ends, _)| joins(ends, p, q));
    match (over(first), over(second)) {
        (Some((_, one)), Some((_, other))) => Some(one * other / (one + other)),
        (Some((_, one)), None) | (None, Some((_, one))) => Some(one),
        (None, None) => {
            let ((one, a), (other, b)) = (first?, second?);
            let shared = one.iter().find(|net| other.contains(net))?;
            let far = |ends: [NetId; 2]| if ends[0] == *shared { ends[1] } else { ends[0] };
            joins(&[far(one), far(other)], p, q).then_some(a + b)
        }
    }
}

/// The bin of a share of the supply that is not coupled.
fn volt_bin(share: f64) -> Bins {
    only(if share >= 0.9 { 3 } else { 2 * usize::from(share >= super::fit::NOTHING) })
}

/// The bin of a resistance; `None` is open.
fn ohm_bin(ohms: Option<f64>) -> Bins {
    only(match ohms {
        Some(ohms) if ohms < 3.0 => 0,
        Some(ohms) if ohms < 80.0 => 1,
        Some(ohms) if ohms < 1e6 => 2,
        _ => 3,
    })
}
