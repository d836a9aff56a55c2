//! The run as a tree from the feed: the order in which places are drawn.

use super::known::{Known, place_of};
use super::words::is_buried;
use crate::verdict::CableFound;
use std::collections::BTreeSet;

/// A place with the cables that go on from it.
pub(crate) struct Branch {
    /// A box name, `panel`, `onward` or `buried-1` ….
    pub place: String,
    /// What must be said of it here, if anything.
    pub remark: Option<String>,
    /// What hangs on it.
    pub children: Vec<(CableFound, Branch)>,
}

/// The run: usually one tree; more where not every cable is told.
pub(crate) struct Run {
    pub roots: Vec<Branch>,
    /// Known and inferred boxes in the order they are reached.
    pub order: Vec<String>,
}

impl Run {
    /// Follows the cables from the panel, or from where the feed should come in.
    pub fn of(known: &Known<'_>) -> Self {
        let mut walk = Walk { known, used: BTreeSet::new(), reached: BTreeSet::new(), order: Vec::new() };
        let mut roots = Vec::new();
        let cables = &known.verdict.cables;
        if cables.iter().any(|c| c.ends.iter().any(|e| e == "panel")) {
            roots.push(walk.branch("panel"));
        } else if let Some(found) = &known.verdict.arrangement {
            let mut root = walk.branch(&found.feed.at);
            root.remark = Some(format!("the feed comes in here: {}", super::words::firmness(found.feed.p)));
            roots.push(root);
        }
        for outlet in &known.house.boxes {
            if !walk.reached.contains(&outlet.name) {
                let mut root = walk.branch(&outlet.name);
                if !roots.is_empty() {
                    root.remark = Some("its way to the feed is not told yet".to_owned());
                }
                roots.push(root);
            }
        }
        Run { roots, order: walk.order }
    }
}

struct Walk<'a> {
    known: &'a Known<'a>,
    /// Cables already drawn, by their place in the verdict.
    used: BTreeSet<usize>,
    reached: BTreeSet<String>,
    order: Vec<String>,
}

impl Walk<'_> {
    fn branch(&mut self, place: &str) -> Branch {
        if self.reached.insert(place.to_owned())
            && (self.known.box_named(place).is_some() || is_buried(place))
        {
            self.order.push(place.to_owned());
        }
        let mut branch = Branch { place: place.to_owned(), remark: None, children: Vec::new() };
        if place == "onward" {
            // The rest of the house is not one place: nothing is followed through it.
            return branch;
        }
        for (n, cable) in self.known.verdict.cables.iter().enumerate() {
            let [one, two] = [0, 1].map(|i| place_of(&cable.ends[i]));
            let far = match (one == place, two == place) {
                (true, _) => two,
                (_, true) => one,
                _ => continue,
            };
            if !self.used.insert(n) {
                continue;
            }
            let child = if self.reached.contains(far) && far != "onward" {
                let remark = Some("drawn already: a ring, or a second cable".to_owned());
                Branch { place: far.to_owned(), remark, children: Vec::new() }
            } else {
                self.branch(far)
            };
            branch.children.push((cable.clone(), child));
        }
        branch
    }
}
