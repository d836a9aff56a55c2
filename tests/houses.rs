//! Houses drawn by somebody else: a run and a scheme at random, wired as an electrician would, surveyed and measured, and
//! the verdict held against what was drawn. Neither the engine's enumeration nor its prediction has a part in it: readings
//! come from joined wires and one lamp, by hand (common practice, no source; the circuit is that of Hawkins Electrical
//! Guide vol. 4, 1917).
//!
//! `LATH_HOUSES=1000` draws so many and prints the table.

#![allow(
    clippy::too_many_arguments,
    clippy::needless_range_loop,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::panic,
    reason = "a test that measures"
)]

use lath::files::{self, packs};
use lath::verdict::{self, Landing, Role, SETTLED, Verdict};
use lath::wiring::Options;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Steele, Lea and Flood's SplitMix64 (OOPSLA 2014).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            let other = self.below(at + 1);
            items.swap(at, other);
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Net {
    Line,
    Neutral,
    Load,
    T1,
    T2,
    Spare,
}

/// A wire end: which cable, which of its wires.
type End = (usize, usize);

struct Cable {
    /// The boxes it joins; `None` is the panel, or the rest of the house.
    ends: [Option<usize>; 2],
    wires: Vec<(String, Net)>,
}

struct Drawn {
    boxes: usize,
    switches: usize,
    /// Boxes 0.. are switches, then the light, then perhaps a junction.
    light: usize,
    feed: usize,
    opened: Vec<bool>,
    apart: Vec<bool>,
    buried: Option<usize>,
    cables: Vec<Cable>,
    /// For each switch: handle up is t2.
    sense: Vec<bool>,
}

fn path(parent: &[usize], from: usize, to: usize) -> Vec<(usize, usize)> {
    let up = |mut at: usize| {
        let mut chain = vec![at];
        while parent[at] != at {
            at = parent[at];
            chain.push(at);
        }
        chain
    };
    let (one, other) = (up(from), up(to));
    let meet = one.iter().find(|at| other.contains(at)).copied().unwrap();
    let steps = |chain: &[usize]| -> Vec<(usize, usize)> {
        let end = chain.iter().position(|at| *at == meet).unwrap();
        chain[..=end].windows(2).map(|pair| (pair[0], pair[1])).collect()
    };
    steps(&one).into_iter().chain(steps(&other)).collect()
}

fn draw(seed: u64) -> Drawn {
    let mut random = Draw(seed);
    let switches = if random.chance(25) { 1 } else { 2 };
    let light = switches;
    let boxes = light + 1 + usize::from(random.chance(30));
    let parent: Vec<usize> = (0..boxes).map(|at| if at == 0 { 0 } else { random.below(at) }).collect();
    let feed = random.below(boxes);
    let mut nets: BTreeMap<(usize, usize), BTreeSet<Net>> = BTreeMap::new();
    let mut lay = |net: Net, from: usize, to: usize| {
        for step in path(&parent, from, to) {
            nets.entry(step).or_default().insert(net);
        }
    };
    let (first, last) = if switches == 2 && random.chance(50) { (1, 0) } else { (0, switches - 1) };
    lay(Net::Line, feed, first);
    lay(Net::Load, last, light);
    lay(Net::Neutral, feed, light);
    if switches == 2 {
        lay(Net::T1, first, last);
        lay(Net::T2, first, last);
    }
    // A junction that nothing needs would not be there: the line passes through it as the feed's box.
    let needed = |at: usize| at <= light || nets.keys().filter(|(a, b)| *a == at || *b == at).count() >= 2;
    let boxes_used: Vec<usize> = (0..boxes).filter(|&at| needed(at) || at == feed).collect();
    if boxes_used.len() < boxes
        || (boxes > light + 1 && feed == light + 1 && !nets.keys().any(|(a, _)| *a == feed))
    {
        return draw(seed + 1_000_003);
    }
    let mut cables = Vec::new();
    for ((child, up), mut carried) in nets {
        if random.chance(25) && (child < switches || up < switches) {
            carried.insert(Net::Neutral);
        }
        let carried: Vec<Net> = carried.into_iter().collect();
        let groups: Vec<Vec<Net>> = if carried.len() > 3 && random.chance(60) || carried.len() > 4 {
            carried.chunks(2).map(<[Net]>::to_vec).collect()
        } else {
            vec![carried]
        };
        for group in groups {
            cables.push(Cable { ends: [Some(child), Some(up)], wires: coloured(&mut random, group) });
        }
    }
    cables.push(Cable {
        ends: [Some(feed), None],
        wires: coloured(&mut random, vec![Net::Line, Net::Neutral]),
    });
    if random.chance(12) {
        cables.push(Cable {
            ends: [Some(feed), None],
            wires: coloured(&mut random, vec![Net::Line, Net::Neutral]),
        });
    }
    let junction = (boxes > light + 1).then_some(light + 1);
    let buried = junction.filter(|_| random.chance(30));
    let mut opened = vec![true; boxes];
    opened[light] = random.chance(60);
    junction.iter().for_each(|&at| opened[at] = buried.is_none() && random.chance(60));
    let mut apart = vec![false; boxes];
    if random.chance(30) {
        apart[random.below(switches)] = true;
    }
    let sense = (0..switches).map(|_| random.chance(50)).collect();
    // A neutral carried where nothing has it would be no neutral: it must reach one.
    let drawn = Drawn { boxes, switches, light, feed, opened, apart, buried, cables, sense };
    if drawn.whole() { drawn } else { draw(seed + 1_000_003) }
}

/// Colours by habit: white is the neutral where there is one; one in ten follows no habit.
fn coloured(random: &mut Draw, nets: Vec<Net>) -> Vec<(String, Net)> {
    let colours: &[&str] = match nets.len() {
        0..=2 => &["black", "white"],
        3 => &["black", "red", "white"],
        _ => &["black", "blue", "red", "white"],
    };
    let mut rest: Vec<Net> = nets.iter().copied().filter(|net| *net != Net::Neutral).collect();
    random.shuffle(&mut rest);
    let white = if nets.contains(&Net::Neutral) { Some(Net::Neutral) } else { None };
    while rest.len() + usize::from(white.is_some()) < colours.len() {
        rest.push(Net::Spare);
    }
    let mut carried: Vec<Net> = rest;
    carried.extend(white);
    if random.chance(10) {
        random.shuffle(&mut carried);
    }
    colours.iter().zip(carried).map(|(colour, net)| ((*colour).to_owned(), net)).collect()
}

/// What a switch or light terminal is called, and the net it belongs to.
fn terminals(drawn: &Drawn, at: usize) -> Vec<(&'static str, Net)> {
    let first = drawn.first();
    match () {
        () if at == drawn.light => vec![("light.center", Net::Load), ("light.shell", Net::Neutral)],
        () if at >= drawn.switches => Vec::new(),
        () if drawn.switches == 1 => vec![("switch.s1", Net::Line), ("switch.s2", Net::Load)],
        () if at == first => {
            vec![("switch.common", Net::Line), ("switch.t1", Net::T1), ("switch.t2", Net::T2)]
        }
        () => vec![("switch.common", Net::Load), ("switch.t1", Net::T1), ("switch.t2", Net::T2)],
    }
}

impl Drawn {
    /// The line-side switch: the one whose box the line reaches though the load's does not start there.
    fn first(&self) -> usize {
        let has = |at: usize, net: Net| self.ends_at(at).iter().any(|end| self.net(*end) == net);
        if self.switches == 1
            || (has(0, Net::Line) && !(has(1, Net::Line) && has(0, Net::Load) && !has(1, Net::Load)))
                && self.line_first(0)
        {
            0
        } else {
            1
        }
    }

    /// Whether a switch can be the line side: line in its box, load in the other's.
    fn line_first(&self, at: usize) -> bool {
        let has = |at: usize, net: Net| self.ends_at(at).iter().any(|end| self.net(*end) == net);
        has(at, Net::Line) && has(1 - at, Net::Load)
    }

    fn ends_at(&self, at: usize) -> Vec<End> {
        let here = self.cables.iter().enumerate().filter(|(_, cable)| cable.ends.contains(&Some(at)));
        here.flat_map(|(c, cable)| (0..cable.wires.len()).map(move |w| (c, w))).collect()
    }

    fn net(&self, end: End) -> Net {
        self.cables[end.0].wires[end.1].1
    }

    /// Every net hangs together, and a joint has two points or ends unused where it is seen.
    fn whole(&self) -> bool {
        (0..self.boxes).all(|at| {
            [Net::Line, Net::Neutral, Net::Load, Net::T1, Net::T2].iter().all(|net| {
                let wires = self.ends_at(at).iter().filter(|end| self.net(**end) == *net).count();
                let screws = terminals(self, at).iter().filter(|(_, n)| n == net).count();
                let unused = *net == Net::Neutral && self.opened[at];
                wires + screws != 1 || (wires == 1 && unused)
            })
        }) && [Net::Line, Net::Neutral, Net::Load, Net::T1, Net::T2].iter().all(|net| self.is_tree(*net))
    }

    fn is_tree(&self, net: Net) -> bool {
        let edges: Vec<(usize, usize)> = self
            .cables
            .iter()
            .filter(|cable| cable.wires.iter().any(|(_, n)| *n == net))
            .filter_map(|cable| cable.ends[0].zip(cable.ends[1]))
            .collect();
        let places: BTreeSet<usize> = (0..self.boxes)
            .filter(|&at| {
                self.ends_at(at).iter().any(|end| self.net(*end) == net)
                    || terminals(self, at).iter().any(|(_, n)| *n == net)
            })
            .collect();
        let mut reached: BTreeSet<usize> = places.iter().take(1).copied().collect();
        loop {
            let next = edges.iter().find(|(a, b)| reached.contains(a) != reached.contains(b));
            let Some(&(a, b)) = next else { break };
            reached.extend([a, b]);
        }
        reached == places && edges.len() + 1 == places.len().max(1)
    }

    fn name(&self, at: usize) -> String {
        if at == self.light {
            "lamp".to_owned()
        } else if at > self.light {
            "junction".to_owned()
        } else {
            format!("s{at}")
        }
    }

    fn tag(&self, at: usize, cable: usize) -> char {
        let before = self.cables[..cable].iter().filter(|c| c.ends.contains(&Some(at))).count();
        (b'a' + before as u8) as char
    }

    fn wire(&self, at: usize, end: End) -> String {
        format!("{}.{}", self.tag(at, end.0), self.cables[end.0].wires[end.1].0)
    }

    fn joints(&self, at: usize) -> Vec<Vec<String>> {
        let mut joints = Vec::new();
        for net in [Net::Line, Net::Neutral, Net::Load, Net::T1, Net::T2] {
            let wires = self
                .ends_at(at)
                .into_iter()
                .filter(|end| self.net(*end) == net)
                .map(|end| self.wire(at, end));
            let screws =
                terminals(self, at).into_iter().filter(|(_, n)| *n == net).map(|(screw, _)| screw.to_owned());
            let points: Vec<String> = wires.chain(screws).collect();
            if points.len() > 1 {
                joints.push(points);
            }
        }
        joints
    }

    fn survey(&self) -> String {
        let mut job = "lath: 1\ncall: {goal: identify}\nhouse: {region: us, supply: 120, feeds: [{name: \"1\"}]}\ninstruments: [high-impedance, low-impedance]\nboxes:\n".to_owned();
        for at in (0..self.boxes).filter(|at| self.buried != Some(*at)) {
            let kind = if at < self.switches {
                "switch"
            } else if at == self.light {
                "light"
            } else {
                "junction"
            };
            writeln!(job, "  - name: {}\n    kind: {kind}\n    opened: {}", self.name(at), self.opened[at])
                .unwrap();
            if self.opened[at] {
                job.push_str("    cables:\n");
                for (c, cable) in
                    self.cables.iter().enumerate().filter(|(_, cable)| cable.ends.contains(&Some(at)))
                {
                    let words: Vec<&str> = cable.wires.iter().map(|(word, _)| word.as_str()).collect();
                    writeln!(job, "      - {{tag: {}, wires: [{}]}}", self.tag(at, c), words.join(", "))
                        .unwrap();
                }
            }
            let device = match () {
                () if at == self.light => "light, kind: light, lamp: incandescent, watts: 60",
                () if at >= self.switches => "",
                () if self.switches == 1 => "switch, kind: single-pole",
                () => "switch, kind: three-way",
            };
            if !device.is_empty() {
                writeln!(job, "    devices: [{{name: {device}}}]").unwrap();
            }
            if self.apart[at] {
                job.push_str("    apart: true\n");
            } else if self.opened[at] {
                job.push_str("    joints:\n");
                self.joints(at)
                    .iter()
                    .for_each(|joint| writeln!(job, "      - [{}]", joint.join(", ")).unwrap());
            }
        }
        job
    }

    /// Nets joined for one state: joints given for each box, contacts, which wires are parted.
    fn joined(&self, joints: &[Vec<Vec<String>>], thrown: &[Option<bool>], parted: bool) -> Joined {
        let mut joined = Joined::default();
        for (c, cable) in self.cables.iter().enumerate() {
            for w in 0..cable.wires.len() {
                let names: Vec<String> = cable
                    .ends
                    .iter()
                    .flatten()
                    .map(|&at| format!("{}/{}", self.name(at), self.wire(at, (c, w))))
                    .collect();
                names.windows(2).for_each(|pair| joined.join(&pair[0], &pair[1]));
            }
        }
        let panel = self.cables.iter().position(|cable| cable.ends[1].is_none()).unwrap();
        for (w, (_, net)) in self.cables[panel].wires.iter().enumerate() {
            let name = format!("{}/{}", self.name(self.feed), self.wire(self.feed, (panel, w)));
            match net {
                Net::Line => joined.join(&name, "line"),
                Net::Neutral => joined.join(&name, "neutral"),
                _ => {}
            }
        }
        for at in 0..self.boxes {
            if parted && self.opened[at] {
                continue;
            }
            for joint in &joints[at] {
                let name = self.name(at);
                joint.windows(2).for_each(|pair| {
                    joined.join(&format!("{name}/{}", pair[0]), &format!("{name}/{}", pair[1]))
                });
            }
            if let Some(Some(thrown)) = thrown.get(at) {
                let screws = if self.switches == 1 {
                    ["switch.s1", "switch.s2", ""]
                } else {
                    ["switch.common", "switch.t1", "switch.t2"]
                };
                let name = self.name(at);
                let far = if self.switches == 1 {
                    if *thrown { screws[1] } else { "" }
                } else {
                    screws[1 + usize::from(*thrown)]
                };
                if !far.is_empty() {
                    joined.join(&format!("{name}/{}", screws[0]), &format!("{name}/{far}"));
                }
            }
        }
        joined
    }

    fn as_found(&self) -> Vec<Vec<Vec<String>>> {
        (0..self.boxes).map(|at| if self.apart[at] { Vec::new() } else { self.joints(at) }).collect()
    }

    fn lamp(&self) -> [String; 2] {
        let name = self.name(self.light);
        [format!("{name}/light.center"), format!("{name}/light.shell")]
    }

    fn lit(&self, joined: &Joined) -> Option<bool> {
        let [center, shell] = self.lamp();
        if joined.same("line", "neutral") {
            return None;
        }
        let across = |a: &str, b: &str| joined.same(&center, a) && joined.same(&shell, b);
        Some(across("line", "neutral") || across("neutral", "line"))
    }

    fn readings(&self) -> String {
        let mut text = "readings:\n".to_owned();
        let found = self.as_found();
        let handles = |way: usize| -> Vec<Option<bool>> {
            (0..self.switches).map(|s| Some((way >> s & 1 == 1) != self.sense[s])).collect()
        };
        let said = |way: usize| -> String {
            let each = (0..self.switches)
                .map(|s| format!("s{s}: {}", if way >> s & 1 == 1 { "down" } else { "up" }));
            format!("{{{}}}", each.collect::<Vec<_>>().join(", "))
        };
        let wires: Vec<String> = (0..self.boxes)
            .filter(|&at| self.opened[at])
            .flat_map(|at| {
                self.ends_at(at)
                    .into_iter()
                    .map(move |end| format!("{}/{}", self.name(at), self.wire(at, end)))
            })
            .collect();
        for way in 0..1 << self.switches {
            let joined = self.joined(&found, &handles(way), false);
            let lit = if self.lit(&joined) == Some(true) { "lit" } else { "dark" };
            writeln!(
                text,
                "  - {{do: watch, light: lamp, breaker: on, switches: {}, lamp: in, reads: {lit}}}",
                said(way)
            )
            .unwrap();
            self.volts(&mut text, &joined, &wires, &said(way), "in", "[]", "[]");
        }
        let opened = |at: &usize| self.opened[*at];
        let off: Vec<String> = (0..self.switches).filter(opened).map(|s| format!("s{s}/switch")).collect();
        let out = format!("[{}]", off.join(", "));
        let lifted = format!("[{}]", wires.join(", "));
        let parted = self.joined(&found, &[], true);
        self.volts(&mut text, &parted, &wires, &said(0), "out", &out, &lifted);
        for (lamp, filament) in [("out", false), ("in", true)] {
            for (at, to) in wires.iter().enumerate() {
                let others: Vec<&String> = wires[at + 1..].iter().collect();
                if others.is_empty() {
                    continue;
                }
                let ohms = |a: &str, b: &str| self.ohms(&parted, a, b, filament);
                let reads: Vec<String> = others.iter().map(|other| ohms(other, to)).collect();
                let points: Vec<&str> = others.iter().map(|other| other.as_str()).collect();
                writeln!(text, "  - {{do: ohms, at: {}, points: [{}], to: \"{to}\", with: high-impedance, breaker: off, switches: {}, lamp: {lamp}, out: {out}, lifted: {lifted}, reads: [{}]}}",
                    to.split('/').next().unwrap(), points.join(", "), said(0), reads.join(", ")).unwrap();
            }
        }
        for wire in &wires {
            let reads = self.ohms(&parted, wire, "neutral", false);
            writeln!(text, "  - {{do: ohms, at: {}, between: [\"{wire}\", earth], with: high-impedance, breaker: off, switches: {}, lamp: out, out: {out}, lifted: {lifted}, reads: {reads}}}",
                wire.split('/').next().unwrap(), said(0)).unwrap();
        }
        text
    }

    /// A device in a box that stays shut carries on as its handle stands; everything else is parted.
    fn ohms(&self, joined: &Joined, a: &str, b: &str, filament: bool) -> String {
        let [center, shell] = self.lamp();
        let ends = |p: &str, q: &str| joined.same(a, p) && joined.same(b, q);
        match () {
            () if joined.same(a, b) => "0.3".to_owned(),
            () if filament
                && !self.opened[self.light]
                && (ends(&center, &shell) || ends(&shell, &center)) =>
            {
                "17".to_owned()
            }
            () => "open".to_owned(),
        }
    }

    fn volts(
        &self,
        text: &mut String,
        joined: &Joined,
        wires: &[String],
        said: &str,
        lamp: &str,
        out: &str,
        lifted: &str,
    ) {
        let [center, shell] = self.lamp();
        let through = |wire: &str| {
            let behind = |one: &str, other: &str| joined.same(wire, one) && joined.same(other, "line");
            lamp == "in" && (behind(&center, &shell) || behind(&shell, &center))
        };
        let mut by_box: BTreeMap<&str, Vec<&String>> = BTreeMap::new();
        wires.iter().for_each(|wire| by_box.entry(wire.split('/').next().unwrap()).or_default().push(wire));
        for (at, wires) in by_box {
            let reads = wires.iter().map(|wire| {
                if joined.same(wire, "line") {
                    "120"
                } else if through(wire) && !joined.same(wire, "neutral") {
                    "119"
                } else {
                    "0"
                }
            });
            let reads: Vec<&str> = reads.collect();
            let points: Vec<&str> = wires.iter().map(|wire| wire.as_str()).collect();
            writeln!(text, "  - {{do: volts, at: {at}, points: [{}], to: earth, with: low-impedance, breaker: on, switches: {said}, lamp: {lamp}, out: {out}, lifted: {lifted}, reads: [{}]}}",
                points.join(", "), reads.join(", ")).unwrap();
        }
    }
}

/// Names that touch.
#[derive(Default)]
struct Joined(BTreeMap<String, String>);

impl Joined {
    fn root(&self, name: &str) -> String {
        let mut at = name.to_owned();
        while let Some(up) = self.0.get(&at) {
            at.clone_from(up);
        }
        at
    }

    fn join(&mut self, one: &str, other: &str) {
        let (a, b) = (self.root(one), self.root(other));
        if a != b {
            self.0.insert(a, b);
        }
    }

    fn same(&self, one: &str, other: &str) -> bool {
        self.root(one) == self.root(other)
    }
}

#[derive(Default, Debug)]
struct Tally {
    houses: usize,
    /// In houses with every box as found.
    wires: usize,
    settled: usize,
    wrong: usize,
    /// In houses with a box apart: wires, settled, and of these other than drawn.
    apart: [usize; 3],
    /// Stated 0.9 to 0.99: how many, and how many of them right.
    likely: [usize; 2],
    plans: usize,
    refused: usize,
    failing: usize,
    feed_wrong: usize,
    failures: Vec<String>,
}

fn role(net: Net) -> Role {
    match net {
        Net::Line => Role::Line,
        Net::Neutral => Role::Neutral,
        Net::Load => Role::Load,
        Net::T1 | Net::T2 => Role::Traveler,
        Net::Spare => Role::Spare,
    }
}

/// The joints of every box once the plan is made; `None` where it is refused.
fn landed(drawn: &Drawn, verdict: &Verdict) -> Option<Vec<Vec<Vec<String>>>> {
    let mut joints = drawn.as_found();
    for entry in &verdict.landing {
        let Landing::Joints { at, joints: planned } = entry else { return None };
        let place = (0..drawn.boxes).find(|&place| drawn.name(place) == *at).unwrap();
        joints[place] = planned.clone();
    }
    Some(joints)
}

/// What a wire is for by what it reaches with every contact open, in the agreed order.
fn role_by_nets(drawn: &Drawn, joined: &Joined, wire: &str) -> Role {
    let [center, shell] = drawn.lamp();
    let at_switch = || {
        let screws = ["common", "t1", "t2", "s1", "s2"];
        (0..drawn.switches)
            .any(|s| screws.iter().any(|screw| joined.same(wire, &format!("s{s}/switch.{screw}"))))
    };
    match () {
        () if joined.same(wire, "line") => Role::Line,
        () if joined.same(wire, "neutral") => Role::Neutral,
        () if joined.same(wire, &center) || joined.same(wire, &shell) => Role::Load,
        () if at_switch() => Role::Traveler,
        () => Role::Spare,
    }
}

/// Whether, landed by the plan, every switch changes the light in every position.
fn plan_works(drawn: &Drawn, verdict: &Verdict) -> bool {
    let Some(joints) = landed(drawn, verdict) else { return false };
    let lit: Option<Vec<bool>> = (0..1usize << drawn.switches)
        .map(|way| {
            let thrown: Vec<Option<bool>> = (0..drawn.switches).map(|s| Some(way >> s & 1 == 1)).collect();
            drawn.lit(&drawn.joined(&joints, &thrown, false))
        })
        .collect();
    lit.is_some_and(|lit| {
        (0..lit.len()).all(|way| (0..drawn.switches).all(|s| lit[way] != lit[way ^ (1 << s)]))
    })
}

fn judge(seed: u64, tally: &mut Tally) {
    let drawn = draw(seed);
    let text = drawn.survey() + &drawn.readings();
    let call = files::parse_str(&format!("house {seed}"), &text)
        .unwrap_or_else(|error| panic!("{error}\n{text}"))
        .call;
    let verdict = verdict::reach(&call, &packs::embedded().unwrap(), Options::default());
    tally.houses += 1;
    let apart = drawn.apart.iter().any(|apart| *apart);
    let mut notes = Vec::new();
    let planned = landed(&drawn, &verdict).map(|joints| drawn.joined(&joints, &[], false));
    for at in (0..drawn.boxes).filter(|&at| drawn.opened[at]) {
        for end in drawn.ends_at(at) {
            let name = format!("{}/{}", drawn.name(at), drawn.wire(at, end));
            let found = verdict.wires.iter().find(|wire| wire.wire == name).unwrap();
            let right = found.role == role(drawn.net(end));
            if apart {
                // Another intent than the drawn one may fit the same walls: the role must be the wire's once the plan is
                // made, which the joined wires say.
                tally.apart[0] += 1;
                if found.p >= SETTLED {
                    tally.apart[1] += 1;
                    tally.apart[2] += usize::from(!right);
                    let by_plan = planned.as_ref().map(|joined| role_by_nets(&drawn, joined, &name));
                    if by_plan.is_some_and(|role| role != found.role) {
                        tally.wrong += 1;
                        notes.push(format!(
                            "{name}: {:?} {:.4}, by the plan {by_plan:?}",
                            found.role, found.p
                        ));
                    }
                }
                continue;
            }
            tally.wires += 1;
            if found.p >= SETTLED {
                tally.settled += 1;
                tally.wrong += usize::from(!right);
            } else if found.p >= 0.9 {
                tally.likely[0] += 1;
                tally.likely[1] += usize::from(right);
            }
            if !right || found.p < SETTLED {
                notes.push(format!("{name}: {:?} {:.4}, drawn {:?}", found.role, found.p, drawn.net(end)));
            }
        }
    }
    if apart {
        match plan_works(&drawn, &verdict) {
            true => tally.plans += 1,
            false if verdict.landing.iter().any(|entry| matches!(entry, Landing::Refused { .. })) => {
                tally.refused += 1
            }
            false => tally.failing += 1,
        }
        notes.extend((!plan_works(&drawn, &verdict)).then(|| format!("landing {:?}", verdict.landing)));
    }
    let feed = drawn
        .buried
        .filter(|buried| *buried == drawn.feed)
        .map_or_else(|| drawn.name(drawn.feed), |_| "buried-1".to_owned());
    if verdict.arrangement.as_ref().is_none_or(|found| found.feed.at != feed) {
        tally.feed_wrong += 1;
    }
    if !notes.is_empty() {
        tally.failures.push(format!(
            "house {seed} ({:?}, {:?}): {}",
            verdict.state,
            verdict.contradiction,
            notes.join("; ")
        ));
        if let Ok(folder) = std::env::var("LATH_KEEP") {
            std::fs::write(format!("{folder}/house-{seed}.yaml"), &text).unwrap();
        }
    }
}

#[test]
fn drawn_houses_are_identified() {
    let houses = std::env::var("LATH_HOUSES").ok().and_then(|n| n.parse().ok()).unwrap_or(20u64);
    let mut tally = Tally::default();
    (0..houses).for_each(|seed| judge(seed, &mut tally));
    let Tally { houses, wires, settled, wrong, apart, likely, plans, refused, failing, feed_wrong, failures } =
        &tally;
    println!(
        "{houses} houses, {wires} wires: {settled} settled, {wrong} of them wrong; {} likely, {} of them right",
        likely[0], likely[1]
    );
    println!(
        "houses with a box apart: {} wires, {} settled, {} of them other than drawn",
        apart[0], apart[1], apart[2]
    );
    println!(
        "boxes taken apart: {plans} plans that work, {refused} refused, {failing} that do not work; feed box wrong in {feed_wrong}"
    );
    failures.iter().take(40).for_each(|failure| println!("{failure}"));
    assert_eq!(*failing, 0, "a landing plan that does not work");
    assert!(wrong * 1000 <= *settled, "settled and wrong");
    // The aim is 99 %; what is missing are houses with more wirings than are listed, which say so and settle nothing.
    assert!(settled * 100 >= wires * 95, "too few settled");
}
