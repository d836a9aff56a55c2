//! Where every seen cable end goes, and where the feed enters: a search with undo.
//!
//! Each wire end and each joint as found is a node; joints and matched cables merge nodes into fragments, and a
//! fragment keeps the set of labels it may still have. A choice that leaves a fragment without a label is undone.

use super::closing::Answered;
use super::collection::Collection;
use super::continuity::Joined;
use super::facts::{EndFact, Facts, WireIndex};
use super::hints::Hints;
use super::islands::{Reach, Tally};
use super::netlist::Netlist;
use super::space::{Dest, Label};
use super::supply::Supplies;
use crate::house::{BoxId, DeviceId, EndId, House, Place, Terminal};
use crate::knowledge::Pole;

/// A set of labels: one bit a net, and the bits of [`Label::SPARE`] and [`Label::GROUND`].
pub(super) type Mask = u32;
pub(super) const SPARE: Mask = 1 << Label::SPARE.0;
pub(super) const GROUND: Mask = 1 << Label::GROUND.0;

/// A box nobody has looked into, by its place in [`Search::dark`].
pub(super) type Dark = usize;

/// Where one pole of the feed enters.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Entry {
    /// By a seen cable end, on this wire.
    Seen(EndId, WireIndex),
    /// In a box nobody has looked into.
    Dark(Dark),
}

/// Where each pole enters.
pub(super) type Feed = [Option<Entry>; 4];

/// What readings make of a search.
#[derive(Clone, Copy)]
pub(super) struct Guide<'a> {
    pub(super) hints: &'a Hints,
    /// How many readings a wiring may be at odds with, of those that hints count one by one.
    pub(super) budget: usize,
    /// Whether ends whose wires read closed to each other are taken to be one cable: what is joined in the dark instead is
    /// joined all the same.
    pub(super) straight: bool,
}

/// The search for one netlist and one number of buried boxes.
pub(super) struct Search<'a> {
    pub(super) house: &'a House,
    pub(super) facts: &'a Facts,
    pub(super) netlist: &'a Netlist,
    /// The number under which wirings name the netlist: the first with its scheme and order.
    pub(super) named: usize,
    pub(super) buried: u8,
    pub(super) found: &'a mut Collection,
    /// What readings rule out, where the search is to be cut by them.
    pub(super) hints: Option<&'a Hints>,
    /// How many readings a wiring may be at odds with, of those that hints count one by one.
    pub(super) budget: usize,
    /// Whether ends whose wires read closed to each other are taken to be one cable, and not to be joined in the dark.
    straight: bool,
    /// How many it is at odds with by what is decided so far.
    pub(super) cost: usize,
    /// By which breakers the lines may come: ways of which readings say the same.
    pub(super) supplies: Supplies,
    /// Boxes nobody has looked into: unopened ones, then buried ones.
    pub(super) dark: Vec<Place>,
    /// Where each pole enters, in the order of [`Pole::ALL`]; nothing where it does not.
    pub(super) feed: Feed,
    pub(super) dests: Vec<Option<Dest>>,
    /// The other end of each wire, where that was seen.
    pub(super) partner: Vec<Option<WireIndex>>,
    parent: Vec<usize>,
    /// Labels still possible, kept at roots.
    masks: Vec<Mask>,
    /// How many times a fragment was joined to itself, kept at roots.
    loops: Vec<u8>,
    /// What fragments have, kept at roots.
    tallies: Vec<Tally>,
    /// What each net has to reach.
    pub(super) reaches: Vec<Reach>,
    trail: Vec<Undo>,
    /// For each end, what its wires may carry where it goes onward.
    onward: Vec<Vec<Vec<Mask>>>,
    /// Ways to join nets that were asked for before.
    pub(super) answered: Answered,
}

enum Undo {
    Mask(usize, Mask),
    Join { child: usize, root: usize, loops: u8 },
    Loop(usize),
    Settled(usize),
}

impl<'a> Search<'a> {
    pub(super) fn new(
        house: &'a House,
        facts: &'a Facts,
        netlist: &'a Netlist,
        named: usize,
        buried: u8,
        found: &'a mut Collection,
    ) -> Search<'a> {
        let nodes = facts.wires.len() + facts.joints.len();
        let buried_places = (0..buried).map(Place::Buried);
        let onward = facts.ends.iter().map(|end| onward(facts, netlist, end)).collect();
        let search = Search {
            house,
            facts,
            netlist,
            named,
            buried,
            found,
            hints: None,
            budget: usize::MAX,
            straight: false,
            cost: 0,
            supplies: Supplies::default(),
            dark: facts.unopened.iter().map(|b| Place::Box(*b)).chain(buried_places).collect(),
            feed: [None; 4],
            dests: vec![None; facts.ends.len()],
            partner: vec![None; facts.wires.len()],
            parent: (0..nodes).collect(),
            masks: vec![0; nodes],
            loops: vec![0; nodes],
            tallies: Tally::of_all(house, facts, netlist),
            reaches: Vec::new(),
            trail: Vec::new(),
            onward,
            answered: Answered::default(),
        };
        Search { reaches: search.reaches(), ..search }
    }

    /// The same search, cut by readings.
    pub(super) fn guided(self, Guide { hints, budget, straight }: Guide<'a>) -> Search<'a> {
        Search { hints: Some(hints), budget, straight, ..self }
    }

    /// Takes down readings that what was just decided is at odds with; false when there are too many.
    fn spend(&mut self, readings: usize) -> bool {
        self.cost += readings;
        self.affords(self.cost)
    }

    /// Whether being at odds with so many readings is within what there may be; what is not is left out.
    pub(super) fn affords(&mut self, odds: usize) -> bool {
        let affords = odds <= self.budget;
        if !affords {
            self.found.leave_out(odds);
        }
        affords
    }

    /// Puts every wiring into `found`.
    pub(super) fn run(mut self) {
        for supplies in Supplies::every(self.house, self.netlist, self.hints) {
            self.supplies = supplies;
            self.answered = Answered::default();
            if self.take_survey() && !self.is_refuted_by_ohms() {
                self.run_supplied();
            }
            self.undo_to(0);
        }
    }

    fn run_supplied(&mut self) {
        for feed in self.feeds() {
            let mark = self.trail.len();
            self.feed = feed;
            self.cost = 0;
            if self.bring_in(feed) {
                self.pair();
            }
            self.undo_to(mark);
            self.dests.fill(None);
        }
    }

    pub(super) fn root(&self, mut node: usize) -> usize {
        while self.parent[node] != node {
            node = self.parent[node];
        }
        node
    }

    pub(super) fn mask(&self, root: usize) -> Mask {
        self.masks[root]
    }

    pub(super) fn loops(&self, root: usize) -> u8 {
        self.loops[root]
    }

    pub(super) fn tally(&self, root: usize) -> &Tally {
        &self.tallies[root]
    }

    pub(super) fn pole_net(&self, pole: Pole) -> Option<usize> {
        self.netlist.net_of_pole(pole)
    }

    /// The nets that may end unused where that is seen.
    pub(super) fn may_end(&self) -> Mask {
        let bit = |pole| self.pole_net(pole).map_or(0, |net| 1 << net);
        Pole::ALL.into_iter().fold(0, |mask, pole| mask | bit(pole))
    }

    /// Whether a net need not be anywhere: a pole that nothing in the house is on, and that does not come in by a wire.
    pub(super) fn is_needless(&self, net: usize) -> bool {
        let net = &self.netlist.nets[net];
        let seen = |pole: &Pole| matches!(self.feed[*pole as usize], Some(Entry::Seen(..)));
        net.terminals.is_empty() && !net.poles.iter().any(seen)
    }

    /// Whether a net is a pole that does not come in.
    pub(super) fn is_absent(&self, net: usize) -> bool {
        let poles = &self.netlist.nets[net].poles;
        !poles.is_empty() && poles.iter().all(|pole| self.feed[*pole as usize].is_none())
    }

    fn all_nets(&self) -> Mask {
        (1 << self.netlist.nets.len()) - 1
    }

    /// Starts every node with the labels that its own looks allow, and merges joints as found.
    fn take_survey(&mut self) -> bool {
        for (wire, fact) in self.facts.wires.iter().enumerate() {
            let capped = !fact.free && fact.joint.is_none();
            self.masks[wire] = match (fact.ground, capped) {
                (true, _) => GROUND,
                (false, true) => self.may_end() | SPARE,
                (false, false) => self.all_nets() | SPARE,
            } & !self.supplies.carried.never(wire);
        }
        for (at, joint) in self.facts.joints.iter().enumerate() {
            let node = self.facts.wires.len() + at;
            self.masks[node] = self.joint_mask(&joint.terminals);
            for &wire in &joint.wires {
                if !self.join(wire, node) {
                    return false;
                }
            }
        }
        self.join_tabs() && self.grounds_serve() && self.terminals_reached()
    }

    /// Joints as found that a receptacle's tab joins.
    fn join_tabs(&mut self) -> bool {
        let netlist = self.netlist;
        let terminals = netlist.nets.iter().flat_map(|net| &net.terminals);
        for &(device, terminal) in terminals {
            let Some(other) = netlist.linked(device, terminal).filter(|other| *other > terminal) else {
                continue;
            };
            let joints = (self.facts.joint_of(device, terminal), self.facts.joint_of(device, other));
            let wires = self.facts.wires.len();
            if let (Some(one), Some(other)) = joints
                && !self.join(wires + one, wires + other)
            {
                return false;
            }
        }
        true
    }

    /// Whether a terminal whose joint is not a fact gets its net by a tab: from a joint as found, or from the terminal
    /// that stands for both.
    pub(super) fn served_by_tab(&self, device: DeviceId, terminal: Terminal) -> bool {
        let linked = self.netlist.linked(device, terminal);
        linked.is_some_and(|other| self.facts.joint_of(device, other).is_some() || other < terminal)
    }

    fn joint_mask(&self, terminals: &[(DeviceId, Terminal)]) -> Mask {
        let net = |&(device, terminal): &(DeviceId, Terminal)| match self.netlist.net_of(device, terminal) {
            Some(net) => 1 << net,
            None => 0,
        };
        let open = self.all_nets() | SPARE | GROUND;
        if terminals.is_empty() { open } else { terminals.iter().map(net).fold(open, |mask, net| mask & net) }
    }

    /// A grounding conductor, bonded at the service, can do the work of a neutral and of nothing else.
    fn grounds_serve(&self) -> bool {
        let neutral = self.pole_net(Pole::Neutral);
        let mut nets = self.facts.on_ground.iter().map(|&(device, t)| self.netlist.net_of(device, t));
        nets.all(|net| net == neutral)
    }

    /// A terminal of an opened box must be in a joint, unless its box is apart there.
    fn terminals_reached(&self) -> bool {
        let nets = self.netlist.nets.iter().flat_map(|net| &net.terminals);
        nets.into_iter().all(|&(device, terminal)| {
            let reached = |terminal| {
                self.is_free_terminal(device, terminal)
                    || self.facts.joint_of(device, terminal).is_some()
                    || self.facts.on_ground.contains(&(device, terminal))
            };
            reached(terminal) || self.netlist.linked(device, terminal).is_some_and(reached)
        })
    }

    /// Whether a terminal's joint is not a fact: its box is dark, or apart there, or the joint was not seen.
    pub(super) fn is_free_terminal(&self, device: DeviceId, terminal: Terminal) -> bool {
        let outlet = self.house.outlet(self.house.device(device).at);
        let point = crate::house::LocalPoint::Terminal(device, terminal);
        !outlet.opened || super::facts::is_free(outlet, point)
    }

    /// Every way the feed may enter, and another circuit's where there is one.
    fn feeds(&self) -> Vec<Feed> {
        let own = self.ways_in([Pole::Line, Pole::Neutral]);
        if !self.netlist.has_other_circuit() {
            return own.into_iter().map(|[line, neutral]| [line, neutral, None, None]).collect();
        }
        let others = self.ways_in([Pole::OtherLine, Pole::OtherNeutral]);
        let end =
            |entry: &Option<Entry>| if let Some(Entry::Seen(end, _)) = entry { Some(*end) } else { None };
        let apart = |one: &[Option<Entry>; 2], other: &[Option<Entry>; 2]| {
            !one.iter().filter_map(end).any(|at| other.iter().filter_map(end).any(|there| there == at))
        };
        let with = |one: &[Option<Entry>; 2]| {
            let one = *one;
            let fits = others.iter().filter(move |other| apart(&one, other));
            fits.map(move |other| [one[0], one[1], other[0], other[1]]).collect::<Vec<Feed>>()
        };
        own.iter().flat_map(with).collect()
    }

    /// Every way the two poles of a circuit may enter. One that nothing is on may stay away, where the other is a single.
    fn ways_in(&self, poles: [Pole; 2]) -> Vec<[Option<Entry>; 2]> {
        let dark = || (0..self.dark.len()).map(Entry::Dark);
        let mut ways: Vec<[Option<Entry>; 2]> = dark().map(|entry| [Some(entry); 2]).collect();
        for (end, pairs) in self.ends_with_pairs(poles) {
            let whole = |(l, n)| [Some(Entry::Seen(end, l)), Some(Entry::Seen(end, n))];
            ways.extend(pairs.into_iter().map(whole));
        }
        if self.facts.singles {
            let singles = self.facts.ends.iter().enumerate().filter(|(_, end)| end.count == 1);
            let singles: Vec<(EndId, WireIndex)> =
                singles.map(|(at, end)| (EndId(at as u8), end.first)).collect();
            let idle =
                |pole| self.pole_net(pole).is_some_and(|net| self.netlist.nets[net].terminals.is_empty());
            let of = |pole| {
                let fit = singles.iter().filter(|(_, wire)| self.may_bring(*wire, pole));
                let entries = fit.map(|&(end, wire)| Entry::Seen(end, wire)).chain(dark()).map(Some);
                entries.chain(idle(pole).then_some(None)).collect::<Vec<_>>()
            };
            let (lines, neutrals) = (of(poles[0]), of(poles[1]));
            let pairs = lines.iter().flat_map(|&l| neutrals.iter().map(move |&n| [l, n]));
            ways.extend(pairs.filter(|[l, n]| l != n));
        }
        ways
    }

    /// Ends with two wires or more that are no grounds, with each choice of a line and a neutral among them.
    fn ends_with_pairs(&self, poles: [Pole; 2]) -> Vec<(EndId, Vec<(WireIndex, WireIndex)>)> {
        let pairs = |end: EndId| {
            let wires: Vec<WireIndex> = self.facts.ends[usize::from(end.0)]
                .wires()
                .filter(|&w| !self.facts.wires[w].ground)
                .collect();
            let of = |pole| wires.iter().copied().filter(move |&wire| self.may_bring(wire, pole));
            let all = of(poles[0]).flat_map(|l| of(poles[1]).map(move |n| (l, n)));
            (end, all.filter(|(l, n)| l != n).collect())
        };
        (0..self.facts.ends.len()).map(|end| pairs(EndId(end as u8))).collect()
    }

    /// Whether a pole can enter on a wire, as joints were found and by what readings say of it.
    fn may_bring(&self, wire: WireIndex, pole: Pole) -> bool {
        let Some(net) = self.pole_net(pole) else { return false };
        let against = self.hints.is_some_and(|hints| hints.not_pole(wire, pole, self.supplies.breakers()));
        self.masks[self.root(wire)] & 1 << net != 0 && !against
    }

    fn bring_in(&mut self, feed: Feed) -> bool {
        for (entry, pole) in feed.into_iter().zip(Pole::ALL) {
            let Some(Entry::Seen(end, wire)) = entry else { continue };
            // Neutrals meet in the panel; a line that reads closed to another wire does not come from there.
            let partners = self.hints.filter(|_| !pole.is_neutral()).map_or(0, |hints| hints.partners(wire));
            if !self.spend(partners) {
                return false;
            }
            let Some(net) = self.pole_net(pole) else { return false };
            if self.dests[usize::from(end.0)].is_none() {
                self.settle(self.facts.ends[usize::from(end.0)].wires());
            }
            self.dests[usize::from(end.0)] = Some(Dest::Panel);
            let others = feed.map(|entry| if let Some(Entry::Seen(_, w)) = entry { Some(w) } else { None });
            for other in self.facts.ends[usize::from(end.0)].wires() {
                let allowed = if other == wire { 1 << net } else { SPARE | GROUND };
                if (other == wire || !others.contains(&Some(other))) && !self.restrict(other, allowed) {
                    return false;
                }
            }
        }
        true
    }

    /// Gives an end that has no destination each one it can have, and goes on from there.
    fn pair(&mut self) {
        if !self.found.step(1) {
            return;
        }
        let Some(at) = self.next_end() else {
            self.lay();
            return;
        };
        if let Some((far, map)) = self.read_as_one(at) {
            self.found.straighten();
            self.try_cable(at, far, map);
            return;
        }
        for far in 0..self.dests.len() {
            if far != at && self.dests[far].is_none() {
                for map in 0..self.facts.maps[at][far].len() {
                    self.try_cable(at, far, map);
                }
            }
        }
        for d in 0..self.dark.len() {
            self.dests[at] = Some(match self.dark[d] {
                // Buried boxes go by the order in which ends go to them.
                Place::Buried(n) if n > 0 && !self.dests.contains(&Some(Dest::Buried(n - 1))) => {
                    continue;
                }
                Place::Buried(n) => Dest::Buried(n),
                Place::Box(b) => Dest::Box(b),
                Place::Panel | Place::Onward => continue,
            });
            self.pair();
        }
        self.dests[at] = Some(Dest::Onward);
        let facts = self.facts;
        let wires = || facts.ends[at].wires();
        let joined = |hints: &Hints| wires().map(|wire| hints.partners(wire)).sum();
        let before = self.cost;
        let ways = if self.spend(self.hints.map_or(0, joined)) { self.onward[at].len() } else { 0 };
        for way in 0..ways {
            let mark = self.trail.len();
            self.settle(wires());
            let carries = |(nth, wire)| {
                let allowed = self.onward[at][way][nth];
                self.restrict(wire, allowed)
            };
            let fits = wires().enumerate().all(carries) && !wires().any(|wire| self.is_island(wire));
            if fits {
                self.pair();
            }
            self.undo_to(mark);
        }
        self.cost = before;
        self.dests[at] = None;
    }

    /// The end to decide on next: one whose wires hang together with few that are not decided, since what leads nowhere
    /// shows there first. Boxes nobody knows of go by the order in which ends go to them: where there are several, the
    /// first end.
    fn next_end(&self) -> Option<usize> {
        let mut undecided = (0..self.dests.len()).filter(|&end| self.dests[end].is_none());
        let loose = |end: &usize| {
            let wires = self.facts.ends[*end].wires();
            wires.map(|wire| self.tallies[self.root(wire)].loose).min()
        };
        if self.buried > 1 { undecided.next() } else { undecided.min_by_key(loose) }
    }

    /// Whether the cables decided so far take more wrong ohms readings, or failures, than there may be.
    fn is_refuted_by_ohms(&mut self) -> bool {
        let group = |wire: WireIndex| self.partner[wire].map_or(wire, |other| wire.min(other));
        let more = |wire: WireIndex| self.partner[wire].is_none();
        let joined = Joined { group: &group, more: &more };
        let odds = self.hints.map_or(0, |hints| hints.at_odds(&joined));
        !self.affords(odds)
    }

    /// The end whose every wire read closed to one of this end; grounds, which meet anywhere, say nothing of that.
    fn read_as_one(&self, at: usize) -> Option<(usize, usize)> {
        let hints = self.hints.filter(|_| self.straight)?;
        let Facts { ends, wires, maps, .. } = self.facts;
        let ground = |wire: WireIndex| wires[wire].ground;
        if ends[at].wires().all(ground) {
            return None;
        }
        let closed = |map: &Vec<WireIndex>| {
            let mut pairs = ends[at].wires().zip(map);
            pairs.all(|(wire, &other)| ground(wire) || hints.read_closed(wire, other) > 0)
        };
        (0..self.dests.len())
            .filter(|&far| far != at && self.dests[far].is_none())
            .find_map(|far| maps[at][far].iter().position(closed).map(|map| (far, map)))
    }

    fn try_cable(&mut self, near: usize, far: usize, map: usize) {
        let facts = self.facts;
        let mark = self.trail.len();
        let far_wires = &facts.maps[near][far][map];
        let against = |hints: &Hints| {
            let wires = facts.ends[near].wires().zip(far_wires);
            wires.map(|(a, &b)| hints.against_cable(a, b)).sum()
        };
        let before = self.cost;
        if !self.may_be_one(near, far_wires) || !self.spend(self.hints.map_or(0, against)) {
            self.cost = before;
            return;
        }
        self.dests[near] = Some(Dest::End(EndId(far as u8)));
        self.dests[far] = Some(Dest::End(EndId(near as u8)));
        let mut fits = true;
        for (wire, &other) in facts.ends[near].wires().zip(far_wires) {
            self.partner[wire] = Some(other);
            self.partner[other] = Some(wire);
            fits = fits && self.join(wire, other);
        }
        self.settle(facts.ends[near].wires());
        self.settle(facts.ends[far].wires());
        let island = |search: &Self| facts.ends[near].wires().any(|wire| search.is_island(wire));
        if fits && !island(self) && !self.is_refuted_by_ohms() {
            self.pair();
        }
        self.undo_to(mark);
        self.cost = before;
        for (wire, &other) in facts.ends[near].wires().zip(far_wires) {
            self.partner[wire] = None;
            self.partner[other] = None;
        }
        self.dests[near] = None;
        self.dests[far] = None;
    }

    /// Whether labels are left for each wire of an end, joined to one of another end, and no net would be on two of them.
    fn may_be_one(&self, near: usize, far_wires: &[WireIndex]) -> bool {
        let mut carried: Mask = 0;
        self.facts.ends[near].wires().zip(far_wires).all(|(wire, &other)| {
            let left = self.masks[self.root(wire)] & self.masks[self.root(other)];
            let sure = if left.is_power_of_two() { left & !(SPARE | GROUND) } else { 0 };
            let fits = left != 0 && carried & sure == 0;
            carried |= sure;
            fits
        })
    }

    /// Takes down that it is decided where an end goes, and that this is not into the dark.
    fn settle(&mut self, wires: std::ops::Range<WireIndex>) {
        for wire in wires {
            let root = self.root(wire);
            self.tallies[root].loose -= 1;
            self.trail.push(Undo::Settled(root));
        }
    }

    /// Leaves a node's fragment only the labels of `allowed`; false when none is left.
    fn restrict(&mut self, node: usize, allowed: Mask) -> bool {
        let root = self.root(node);
        self.trail.push(Undo::Mask(root, self.masks[root]));
        self.masks[root] &= allowed;
        self.masks[root] != 0
    }

    /// Merges two nodes' fragments; false when no label is left.
    fn join(&mut self, one: usize, other: usize) -> bool {
        let (child, root) = (self.root(one), self.root(other));
        if child == root {
            self.loops[root] += 1;
            self.trail.push(Undo::Loop(root));
            return true;
        }
        self.trail.push(Undo::Join { child, root, loops: self.loops[root] });
        self.parent[child] = root;
        self.loops[root] += self.loops[child];
        let joined = self.tallies[child];
        self.tallies[root].add(joined);
        self.restrict(root, self.masks[child])
    }

    fn undo_to(&mut self, mark: usize) {
        while self.trail.len() > mark {
            match self.trail.pop() {
                Some(Undo::Mask(root, mask)) => self.masks[root] = mask,
                Some(Undo::Join { child, root, loops }) => {
                    self.parent[child] = child;
                    self.loops[root] = loops;
                    let joined = self.tallies[child];
                    self.tallies[root].take(joined);
                }
                Some(Undo::Loop(root)) => self.loops[root] -= 1,
                Some(Undo::Settled(root)) => self.tallies[root].loose += 1,
                None => {}
            }
        }
    }

    /// The box, or buried box, of a place in the dark.
    pub(super) fn dark_at(&self, at: BoxId) -> Option<Dark> {
        self.dark.iter().position(|place| *place == Place::Box(at))
    }

    /// The place in the dark that an end goes to.
    pub(super) fn dark_of(&self, dest: Option<Dest>) -> Option<Dark> {
        let place = match dest? {
            Dest::Box(at) => Place::Box(at),
            Dest::Buried(n) => Place::Buried(n),
            Dest::End(_) | Dest::Panel | Dest::Onward => return None,
        };
        self.dark.iter().position(|dark| *dark == place)
    }
}

/// What a cable that goes onward may carry: for each way, the labels allowed on each of its wires.
fn onward(facts: &Facts, netlist: &Netlist, end: &EndFact) -> Vec<Vec<Mask>> {
    let circuits = [[Pole::Line, Pole::Neutral], [Pole::OtherLine, Pole::OtherNeutral]];
    let circuits = circuits.map(|poles| poles.map(|pole| netlist.net_of_pole(pole)));
    let nothing = vec![SPARE | GROUND; end.count];
    let with = |pairs: &[(WireIndex, usize)]| {
        let mut masks = nothing.clone();
        pairs.iter().for_each(|&(wire, net)| masks[wire - end.first] = 1 << net);
        masks
    };
    let mut ways = vec![nothing.clone()];
    let wires: Vec<WireIndex> = end.wires().filter(|&w| !facts.wires[w].ground).collect();
    for circuit in circuits {
        let [Some(line), Some(neutral)] = circuit else { continue };
        if let ([wire], 1) = (&wires[..], end.count) {
            ways.extend([line, neutral].map(|net| with(&[(*wire, net)])));
        }
        for &l in &wires {
            ways.extend(wires.iter().filter(|&&n| n != l).map(|&n| with(&[(l, line), (n, neutral)])));
        }
    }
    ways
}
