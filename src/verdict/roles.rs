//! Roles from the posterior: what each wire is for in the intended wiring.
//!
//! Where every joint is a fact, walls fix the roles. In a box taken apart several intents may fit the same walls; the
//! landing plan picks the heaviest, and the roles are those of the circuit once that plan is made.

use super::{Case, FAINT, LIKELY, any_apart};
use crate::house::Role;
use crate::knowledge::DefectName;
use crate::wiring::{Label, Netlist, Wiring};
use std::collections::BTreeMap;

/// The role of each wire, with the share of a row that says so.
type Shares = Vec<(f64, Vec<Role>)>;

/// Roles by row of the space.
pub(super) struct Roles {
    /// For each row in play: its number, its posterior, and the roles of its wires.
    rows: Vec<(usize, f64, Shares)>,
}

/// The role a label means.
pub(super) fn role_of(netlist: &Netlist, label: Label) -> Role {
    match label {
        Label::SPARE => Role::Spare,
        Label::GROUND => Role::Ground,
        Label(net) => netlist.nets[usize::from(net)].role(),
    }
}

/// The likeliest entry; nothing at all is *other* with no weight.
pub(super) fn best(chances: &BTreeMap<Role, f64>) -> (Role, f64) {
    let better = |best: (Role, f64), (role, p): (&Role, &f64)| if *p > best.1 { (*role, *p) } else { best };
    chances.iter().fold((Role::Other, 0.0), better)
}

impl Roles {
    pub(super) fn new(case: &Case) -> Roles {
        let row = |weighed: &crate::weigh::Weighed| {
            let mut shares: BTreeMap<Vec<Role>, f64> = BTreeMap::new();
            for (wiring, share) in intents(case, weighed.row) {
                *shares.entry(roles(case, wiring)).or_default() += share;
            }
            (weighed.row, weighed.p, shares.into_iter().map(|(roles, share)| (share, roles)).collect())
        };
        Roles { rows: case.posterior.rows.iter().map(row).collect() }
    }

    /// The chance of each role of a wire; what is missing to 1 belongs to something else.
    pub(super) fn chances(&self, wire: usize) -> BTreeMap<Role, f64> {
        let mut chances = BTreeMap::new();
        for (_, p, shares) in &self.rows {
            for (share, roles) in shares {
                *chances.entry(roles[wire]).or_default() += p * share;
            }
        }
        chances
    }

    /// The likeliest roles in a row of the space.
    pub(super) fn of_row(&self, row: usize) -> Option<&Vec<Role>> {
        let shares = self.rows.iter().find(|(r, ..)| *r == row).map(|(.., shares)| shares)?;
        shares.iter().max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, roles)| roles)
    }

    /// Wires of one cable end, in a box taken apart, that could trade places in plans that work: the same walls admit
    /// intents that differ in them.
    pub(super) fn choices(&self, case: &Case) -> Vec<Vec<String>> {
        let house = &case.call.house;
        let Some(top) = case.posterior.rows.first().filter(|row| row.p >= FAINT && any_apart(case.call))
        else {
            return Vec::new();
        };
        let all: Vec<Vec<Role>> =
            case.space.rows[top.row].wirings.iter().map(|wiring| roles(case, wiring)).collect();
        let varies = |wire: usize| all.iter().any(|roles| roles[wire] != all[0][wire]);
        let groups =
            case.facts.ends.iter().map(|end| end.wires().filter(|&wire| varies(wire)).collect::<Vec<_>>());
        let ids: Vec<_> = house.wires().collect();
        let name = |&wire: &usize| house.wire_name(ids[wire]);
        groups.filter(|group| group.len() > 1).map(|group| group.iter().map(name).collect()).collect()
    }
}

/// The wirings that a row may be for, each with its share: in a box taken apart the one that the plan goes by.
pub(crate) fn intents<'a>(case: &Case<'a>, row: usize) -> impl Iterator<Item = (&'a Wiring, f64)> {
    let row = &case.space.rows[row];
    let wirings = if any_apart(case.call) { &row.wirings[..1] } else { &row.wirings[..] };
    let whole: f64 = wirings.iter().map(|wiring| wiring.weight).sum();
    wirings.iter().map(move |wiring| (wiring, wiring.weight / whole))
}

impl Roles {
    /// By which of the house's feeds each wire is supplied, or returns: where one is as good as sure.
    pub(super) fn circuits(case: &Case) -> Vec<Option<usize>> {
        let feeds = case.call.house.feeds.len();
        // One nobody named is beside those that are.
        let mut chances = vec![vec![0.0; feeds + 1]; case.facts.wires.len()];
        for weighed in &case.posterior.rows {
            let breakers = case.space.rows[weighed.row].walls.breakers;
            for (wiring, share) in intents(case, weighed.row) {
                let netlist = &case.space.netlists[wiring.netlist];
                for (chances, label) in chances.iter_mut().zip(&wiring.labels) {
                    let poles = netlist.nets.get(usize::from(label.0)).map_or(&[][..], |net| &net.poles);
                    let feed = poles.first().map(|pole| usize::from(breakers[usize::from(pole.is_other())]));
                    if let Some(feed) = feed {
                        chances[feed.min(feeds)] += weighed.p * share;
                    }
                }
            }
        }
        let sure = |chances: &Vec<f64>| {
            let whole: f64 = chances.iter().sum();
            chances[..feeds].iter().position(|chance| *chance > 0.0 && *chance >= LIKELY * whole)
        };
        chances.iter().map(sure).collect()
    }
}

/// The role of every wire in a wiring.
pub(crate) fn roles(case: &Case, wiring: &Wiring) -> Vec<Role> {
    let netlist = &case.space.netlists[wiring.netlist];
    // Line and neutral exchanged at the feed: a wire is what it really is.
    let reversed = wiring.defects.iter().any(|defect| defect.what == DefectName::ReversedFeed);
    let role = |&label: &Label| match role_of(netlist, label) {
        Role::Line if reversed => Role::Neutral,
        Role::Neutral if reversed => Role::Line,
        role => role,
    };
    wiring.labels.iter().map(role).collect()
}
