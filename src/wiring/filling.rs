//! Every way to put the points of one net into joints, point by point; given up as soon as a ring closes that may not.

use super::closing::{Bin, DarkGroup, Item, Open, Site, Way};
use super::facts::FixedJoint;
use std::collections::BTreeMap;

/// More fragments and joints of one net than this are too many to list.
const NODES: usize = 96;

/// And so are more joints tried than this.
const MOST_TRIED: u64 = 400_000;

/// What is joined in the dark and in joints that were not seen, and whether that takes a ring.
type Ways = BTreeMap<(Vec<DarkGroup>, Vec<FixedJoint>), bool>;

/// All the ways to join a net.
pub(super) struct Filled {
    pub(super) ways: Vec<Way>,
    /// How many joints were tried.
    pub(super) tried: u64,
    /// The fewest readings to be at odds with for which there would be more.
    pub(super) beyond: usize,
}

/// Every way to keep joints apart that leaves one piece, without a ring where none is allowed. `None` where there are too
/// many.
pub(super) fn every_way(open: &Open) -> Option<Filled> {
    let found = open.found.iter().map(|&found| Bin {
        site: Site::Apart(found.at),
        found: Some(found),
        items: Vec::new(),
    });
    let bins: Vec<Bin> = found.collect();
    if open.fragments + bins.len() + open.items.len() > NODES {
        return None;
    }
    let graph = Graph::new(open.fragments, open.loops);
    let mut filling = Filling { open, bins, graph, ways: Ways::new(), cost: 0, tried: 0, beyond: usize::MAX };
    if open.loops == 0 || open.ring {
        filling.fill(0);
    }
    let Filling { ways, tried, beyond, .. } = filling;
    let ways = ways.into_iter().map(|((groups, hidden), closed)| Way { groups, hidden, closed });
    (tried <= MOST_TRIED).then(|| Filled { ways: ways.collect(), tried, beyond })
}

struct Filling<'a> {
    open: &'a Open<'a>,
    bins: Vec<Bin>,
    graph: Graph,
    ways: Ways,
    /// How many readings the joints so far are at odds with.
    cost: usize,
    tried: u64,
    beyond: usize,
}

impl Filling<'_> {
    /// Puts point `at` and those after it into joints, in every way.
    fn fill(&mut self, at: usize) {
        let Some(&(site, _)) = self.open.items.get(at) else {
            self.judge();
            return;
        };
        let same = |bin: &Bin| match (bin.site, site) {
            (Site::Dark(_), Site::Dark(_)) => true,
            (one, other) => one == other,
        };
        let dark = matches!(site, Site::Dark(_));
        for bin in 0..self.bins.len() {
            if same(&self.bins[bin]) {
                self.put(at, bin);
            }
        }
        let new_here = self.bins.iter().filter(|bin| same(bin) && bin.found.is_none()).count();
        let room = if dark { 2 * self.open.dark } else { 2 };
        if new_here < room {
            self.bins.push(Bin { site, found: None, items: Vec::new() });
            self.put(at, self.bins.len() - 1);
            self.bins.pop();
        }
    }

    /// Puts a point into a joint, goes on from there, and takes it out again.
    fn put(&mut self, at: usize, bin: usize) {
        self.tried += 1;
        if self.tried > MOST_TRIED {
            return;
        }
        let cost = self.cost;
        let Some(more) = self.at_odds(at, bin) else { return };
        if cost + more > self.open.budget {
            self.beyond = self.beyond.min(cost + more);
            return;
        }
        let before = self.graph;
        let node = self.open.fragments + bin;
        if self.bins[bin].items.is_empty() {
            self.graph.pieces += 1;
            self.bins[bin].found.iter().for_each(|found| self.graph.link(found.fragment, node));
        }
        if let Item::Wire { fragment, .. } = self.open.items[at].1 {
            self.graph.link(fragment, node);
        }
        if self.graph.rings == 0 || self.open.ring {
            self.bins[bin].items.push(at);
            self.cost += more;
            self.fill(at + 1);
            self.cost = cost;
            self.bins[bin].items.pop();
        }
        self.graph = before;
    }

    /// With how many readings it is at odds to put a point in the dark into this joint and into none of the others; `None`
    /// where it is out of the question.
    fn at_odds(&self, at: usize, bin: usize) -> Option<usize> {
        let is_dark = |bin: &Bin| matches!(bin.site, Site::Dark(_));
        if !is_dark(&self.bins[bin]) {
            return Some(0);
        }
        let mut dark = self.bins.iter().enumerate().filter(|(_, other)| is_dark(other));
        dark.try_fold(0, |sum, (other, Bin { items, .. })| {
            let odds = |&item: &usize| {
                if other == bin { self.open.against(item, at) } else { Some(self.open.read_closed(item, at)) }
            };
            Some(sum + items.iter().map(odds).sum::<Option<usize>>()?)
        })
    }

    fn judge(&mut self) {
        let used: Vec<Bin> = self.bins.iter().filter(|bin| !bin.items.is_empty()).cloned().collect();
        let sound = used.iter().all(|bin| match bin.site {
            Site::Apart(_) => self.open.sound_apart(&bin.items, bin.found.is_some()),
            Site::Dark(_) => bin.items.len() >= 2,
        });
        if self.graph.pieces != 1 || !sound || !self.open.two_joints_a_box(&used) {
            return;
        }
        let dark = used.iter().filter(|bin| matches!(bin.site, Site::Dark(_)));
        let mut groups: Vec<DarkGroup> = dark.map(|bin| self.open.dark_group(&bin.items)).collect();
        groups.sort();
        let hidden = used.iter().filter_map(|bin| match bin.site {
            Site::Apart(at) => self.open.hidden(at, &bin.items, bin.found.map(|found| found.joint)),
            Site::Dark(_) => None,
        });
        let mut hidden: Vec<FixedJoint> = hidden.collect();
        hidden.sort();
        let closed = self.ways.entry((groups, hidden)).or_insert(true);
        *closed &= self.graph.rings > 0;
    }
}

/// Fragments and joints that hang together.
#[derive(Clone, Copy)]
struct Graph {
    parent: [u8; NODES],
    pieces: usize,
    rings: usize,
}

impl Graph {
    /// So many fragments, each by itself, that close on themselves so often.
    fn new(fragments: usize, rings: usize) -> Graph {
        let mut parent = [0; NODES];
        parent.iter_mut().zip(0..).for_each(|(parent, node)| *parent = node);
        Graph { parent, pieces: fragments, rings }
    }

    fn root(&self, mut node: usize) -> usize {
        while usize::from(self.parent[node]) != node {
            node = usize::from(self.parent[node]);
        }
        node
    }

    fn link(&mut self, one: usize, other: usize) {
        let (a, b) = (self.root(one), self.root(other));
        if a == b {
            self.rings += 1;
        } else {
            self.parent[a] = b as u8;
            self.pieces -= 1;
        }
    }
}
