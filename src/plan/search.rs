//! The search for the reading that tells most for its minutes.
//!
//! Rigs are tried in the order of what it costs to make them; as no reading tells more than is open, the search is over
//! when that, over the cost, falls below the best found. In each rig a *campaign* is put together: the group of answers
//! with the best rate, then what adds to it at a better rate still. So the cost of setting up is set against all that is
//! asked once things stand so.

use super::belief::Belief;
use super::errand::{Errand, Want};
use super::gain::{Gain, Split, weigh};
use super::rig::{Present, Rig};
use super::round::{Query, Round, Scope, bits};
use super::site::Site;
use super::taken::Taken;
use crate::house::{BoxId, Point};
use crate::predict::{Ghosts, Scene};

/// Positions in which the breaker opens with this chance are barred.
const BARRED: f64 = 0.01;

/// Less than this many bits are not worth a reading.
pub const USEFUL: f64 = 0.002;

/// A campaign has at most so many groups.
const MOST_GROUPS: usize = 5;

/// Rigs whose bound is below this share of the best rate found are not looked into.
const NEAR: f64 = 0.8;

/// A reading that could be asked for.
#[derive(Clone, Debug)]
pub struct Pick {
    /// Which of the search's rounds.
    pub round: usize,
    /// The handles.
    pub positions: Vec<bool>,
    /// Where it is taken.
    pub at: Option<BoxId>,
    /// What the points are measured to, where it is between points.
    pub to: Option<Point>,
    /// Which columns.
    pub columns: Vec<usize>,
    /// The way to it.
    pub errand: Errand,
    /// Bits it tells, at most.
    pub most: f64,
    /// Bits and cost of the campaign that it opens.
    pub campaign: (f64, f64),
    /// It only tells together with the rest of its campaign.
    pub joint: bool,
}

impl Pick {
    /// Bits a minute.
    pub fn rate(&self) -> f64 {
        self.campaign.0 / self.campaign.1
    }
}

/// What is searched, and for what.
pub struct Search<'s, 'a> {
    /// The call.
    pub site: &'s Site<'a>,
    /// The boxes.
    pub scene: &'s Scene<'a>,
    /// What may be so.
    pub belief: &'s Belief<'a>,
    /// How things stand.
    pub present: &'s Present,
    /// Readings not to be asked again.
    pub taken: &'s Taken,
    /// Chance that an answer is wrong.
    pub error: f64,
    /// Tables made so far.
    pub rounds: Vec<Round>,
    ghosts: Ghosts,
}

/// Answers that can be asked for in one go.
struct Group {
    positions: Vec<bool>,
    at: Option<BoxId>,
    far: Option<BoxId>,
    to: Option<Point>,
    columns: Vec<usize>,
}

impl<'s, 'a> Search<'s, 'a> {
    /// Begins.
    pub fn new(
        site: &'s Site<'a>,
        scene: &'s Scene<'a>,
        belief: &'s Belief<'a>,
        present: &'s Present,
        taken: &'s Taken,
        error: f64,
    ) -> Self {
        let ghosts = crate::predict::Forecast::ghosts(scene);
        Search { site, scene, belief, present, taken, error, rounds: Vec::new(), ghosts }
    }

    /// The best picks, best first.
    pub fn run(&mut self, rigs: &[Rig]) -> Vec<Pick> {
        let open = self.belief.bits();
        let mut order: Vec<(f64, Scope, &Rig)> = Vec::new();
        for rig in rigs {
            let floor = self.floor(rig);
            let scopes = [Scope::Look, Scope::ToEarth, Scope::Pairs, Scope::Clamp];
            order.extend(floor.into_iter().flat_map(|floor| scopes.map(|scope| (floor, scope, rig))));
        }
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(b.2)));
        let mut picks: Vec<Pick> = Vec::new();
        let mut best = 0.0;
        for (floor, scope, rig) in order {
            if best > 0.0 && open / floor < best * NEAR {
                break;
            }
            let round = Round::new(self.site, self.scene, self.belief, rig, &[scope], &mut self.ghosts);
            if round.columns.is_empty() {
                continue;
            }
            self.rounds.push(round);
            picks.extend(self.campaigns(self.rounds.len() - 1));
            best = picks.iter().map(Pick::rate).fold(best, f64::max);
        }
        picks.sort_by(|a, b| b.rate().total_cmp(&a.rate()));
        picks
    }

    /// The least that a reading in a rig costs.
    fn floor(&self, rig: &Rig) -> Option<f64> {
        let want =
            Want { rig, positions: &self.present.positions, at: None, far: None, probes: 0, barred: &[] };
        Errand::to(self.site, self.present, &want).map(|errand| errand.cost())
    }

    /// Exact figures for a pick.
    pub fn weigh(&self, pick: &Pick) -> Gain {
        weigh(self.belief, &self.rounds[pick.round], &pick.columns, bits(&pick.positions), self.error)
    }

    /// The campaigns of a rig: the best of all, and the look at every position.
    fn campaigns(&self, at: usize) -> Vec<Pick> {
        let round = &self.rounds[at];
        let (allowed, barred) = self.handles(round);
        let groups = self.groups(round, &allowed);
        let mut picks = Vec::new();
        let mut split = Split::new(self.belief);
        let mut present = self.present.clone();
        let mut told = 0.0;
        let mut cost = 0.0;
        for _ in 0..MOST_GROUPS {
            let Some(next) = self.best(at, &groups, &split, &present, &barred, told) else { break };
            if !picks.is_empty() && next.most / next.errand.cost() <= told / cost {
                break;
            }
            told += next.most;
            cost += next.errand.cost();
            next.columns.iter().for_each(|&column| split.refine(round, column, bits(&next.positions)));
            present = next.errand.after.clone();
            picks.push(next);
        }
        picks.truncate(1);
        picks.iter_mut().for_each(|pick| pick.campaign = (told, cost));
        picks.extend(self.count(at, &groups, &barred));
        picks
    }

    /// Looking at the light in every position: together they may tell what one alone does not.
    fn count(&self, at: usize, groups: &[Group], barred: &[Vec<bool>]) -> Option<Pick> {
        let round = &self.rounds[at];
        let looks = groups.iter().filter(|group| group.at.is_none());
        let mut left: Vec<&Group> = looks.collect();
        if left.len() < 2 {
            return None;
        }
        let mut split = Split::new(self.belief);
        for group in &left {
            group.columns.iter().for_each(|&column| split.refine(round, column, bits(&group.positions)));
        }
        let told = split.bits() + self.confirms(left.len());
        let (mut present, mut cost) = (self.present.clone(), 0.0);
        let mut first: Option<Pick> = None;
        while !left.is_empty() {
            let errands = left.iter().map(|group| self.errand(round, group, &present, barred, 0));
            let costs: Vec<Option<Errand>> = errands.collect();
            let near = (0..left.len()).filter(|&n| costs[n].is_some()).min_by(|&a, &b| {
                let of = |n: usize| costs[n].as_ref().map_or(f64::INFINITY, Errand::cost);
                of(a).total_cmp(&of(b))
            })?;
            let errand = costs.into_iter().nth(near).flatten()?;
            let group = left.remove(near);
            cost += errand.cost();
            present = errand.after.clone();
            first.get_or_insert(Pick {
                round: at,
                positions: group.positions.clone(),
                at: None,
                to: None,
                columns: group.columns.clone(),
                errand,
                most: told,
                campaign: (0.0, 1.0),
                joint: true,
            });
        }
        first.map(|first| Pick { campaign: (told, cost), ..first })
    }

    /// Bits that answers as expected tell against *something else*.
    fn confirms(&self, answers: usize) -> f64 {
        let other = self.belief.other;
        super::belief::entropy(&[other, (1.0 - other).max(0.0)]) * (1.0 - libm::pow(0.25, answers as f64))
    }

    /// Positions that are allowed in a rig, and those that are barred.
    fn handles(&self, round: &Round) -> (Vec<Vec<bool>>, Vec<Vec<bool>>) {
        let house = self.site.house();
        let mut all = vec![self.present.positions.clone()];
        for (at, switch) in house.switches().enumerate() {
            let free = !round.rig.out.contains(&switch)
                && self.site.acts(switch)
                && self.site.reachable(house.device(switch).at);
            if free {
                let turned = |positions: &Vec<bool>| {
                    let mut turned = positions.clone();
                    turned[at] = !turned[at];
                    turned
                };
                let more: Vec<Vec<bool>> = all.iter().map(turned).collect();
                all.extend(more);
            }
        }
        let barred = |positions: &Vec<bool>| {
            round.rig.on
                && (round.trips(self.belief, bits(positions)) >= BARRED
                    || self.site.tripped_at(&round.rig.out, positions))
        };
        let (barred, mut allowed): (Vec<_>, Vec<_>) = all.into_iter().partition(barred);
        // Where no handle changes an answer one position stands for all.
        if (0..house.switches().count()).all(|switch| !round.is_moved_by(switch)) {
            allowed.truncate(1);
        }
        (allowed, barred)
    }

    /// Everything that can be asked in one go.
    fn groups(&self, round: &Round, allowed: &[Vec<bool>]) -> Vec<Group> {
        let house = self.site.house();
        let mut groups: Vec<Group> = Vec::new();
        for positions in allowed {
            let start = groups.len();
            for (column, what) in round.columns.iter().enumerate() {
                let kind = what.with.map(|with| with.kind);
                if self.taken.has(&round.rig, positions, what.query, kind) {
                    continue;
                }
                for (at, far, to) in homes(house, what.query) {
                    let same = |group: &&mut Group| {
                        let first = &round.columns[group.columns[0]];
                        (group.at, group.far, group.to) == (at, far, to)
                            && to.is_some() == group.to.is_some()
                            && together(first.query, what.query)
                            && first.with.map(|with| with.kind) == kind
                    };
                    match groups[start..].iter_mut().find(same) {
                        Some(group) => group.columns.push(column),
                        None => groups.push(Group {
                            positions: positions.clone(),
                            at,
                            far,
                            to,
                            columns: vec![column],
                        }),
                    }
                }
            }
        }
        groups
    }

    fn errand(
        &self,
        round: &Round,
        group: &Group,
        present: &Present,
        barred: &[Vec<bool>],
        probes: usize,
    ) -> Option<Errand> {
        let want = Want {
            rig: &round.rig,
            positions: &group.positions,
            at: group.at,
            far: group.far,
            probes,
            barred,
        };
        Errand::to(self.site, present, &want)
    }

    /// The group, and the part of it, with the best rate from here.
    fn best(
        &self,
        at: usize,
        groups: &[Group],
        sofar: &Split,
        present: &Present,
        barred: &[Vec<bool>],
        told: f64,
    ) -> Option<Pick> {
        let round = &self.rounds[at];
        let before = sofar.bits();
        let mut order: Vec<(f64, &Group, Errand)> = Vec::new();
        for group in groups {
            let Some(errand) = self.errand(round, group, present, barred, 1) else { continue };
            let mut split = sofar.clone();
            group.columns.iter().for_each(|&column| split.refine(round, column, bits(&group.positions)));
            let most = (split.bits() - before).max(0.0) + self.adds(told, group.columns.len());
            order.push((most / errand.cost(), group, errand));
        }
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut best: Option<Pick> = None;
        for (bound, group, errand) in order {
            let rate = best.as_ref().map_or(0.0, |best| best.most / best.errand.cost());
            if bound <= rate || bound <= 0.0 {
                break;
            }
            let found = self.part(at, group, errand, sofar, told);
            if found.most / found.errand.cost() > rate {
                best = Some(found);
            }
        }
        best.filter(|best| best.most > 0.0)
    }

    fn adds(&self, told: f64, answers: usize) -> f64 {
        if told > 0.0 { 0.0 } else { self.confirms(answers) }
    }

    /// The columns of a group that are worth their probe: the best first, then while the rate rises.
    fn part(&self, at: usize, group: &Group, errand: Errand, sofar: &Split, told: f64) -> Pick {
        let round = &self.rounds[at];
        let positions = bits(&group.positions);
        let before = sofar.bits();
        let probe = self.probe(round, group);
        let mut left = group.columns.clone();
        let mut chosen: Vec<usize> = Vec::new();
        let mut split = sofar.clone();
        let (mut most, mut cost) = (0.0, errand.cost());
        while !left.is_empty() {
            let tried = left.iter().map(|&column| {
                let mut next = split.clone();
                next.refine(round, column, positions);
                let gain = (next.bits() - before).max(0.0) + self.adds(told, chosen.len() + 1);
                (gain, next)
            });
            let tried: Vec<(f64, Split)> = tried.collect();
            let Some(place) =
                (0..tried.len()).max_by(|&a, &b| tried[a].0.total_cmp(&tried[b].0).then(b.cmp(&a)))
            else {
                break;
            };
            let dearer = if chosen.is_empty() { cost } else { cost + probe };
            if !chosen.is_empty() && tried[place].0 / dearer <= most / cost {
                break;
            }
            (most, cost) = (tried[place].0, dearer);
            split = tried.into_iter().nth(place).map_or(split, |(_, next)| next);
            chosen.push(left.remove(place));
        }
        chosen.sort_unstable();
        let mut errand = errand;
        errand.minutes += cost - errand.cost();
        Pick {
            round: at,
            positions: group.positions.clone(),
            at: group.at,
            to: group.to,
            columns: chosen,
            errand,
            most,
            campaign: (most, cost),
            joint: false,
        }
    }

    /// Minutes of one more probe.
    fn probe(&self, round: &Round, group: &Group) -> f64 {
        let prices = self.site.prices();
        let ladder =
            group.at.is_some_and(|at| self.site.house().outlet(at).reach == crate::house::Reach::Ladder);
        let times = match (round.rig.on, ladder) {
            (false, _) => 1.0,
            (true, false) => prices.factor.live,
            (true, true) => prices.factor.live_on_ladder,
        };
        prices.work.probe * times
    }
}

/// Whether two questions can be asked in one go, at the same place to the same point.
fn together(one: Query, other: Query) -> bool {
    use Query::{Light, Load, Ohms, Volts};
    matches!(
        (one, other),
        (Volts(..), Volts(..)) | (Ohms(..), Ohms(..)) | (Load(..), Load(..)) | (Light(_), Light(_))
    )
}

/// Where a question is asked: the box one stands in, the box that a lead goes to, the point that others are measured to.
fn homes(house: &crate::house::House, query: Query) -> Vec<(Option<BoxId>, Option<BoxId>, Option<Point>)> {
    let of = |point: Point| match point {
        Point::At(local) => Some(house.box_of(local)),
        Point::Earth => None,
    };
    match query {
        Query::Light(_) => vec![(None, None, None)],
        Query::Cable(end) => vec![(Some(house.end(end).at), None, None)],
        Query::Wire(wire) => vec![(Some(house.end(wire.end).at), None, None)],
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => match (of(p), of(q)) {
            (Some(at), None) | (None, Some(at)) => vec![(Some(at), None, Some(Point::Earth))],
            (Some(a), Some(b)) if a == b => vec![(Some(a), None, Some(q)), (Some(a), None, Some(p))],
            (a, b) => vec![(b, a, Some(q)), (a, b, Some(p))],
        },
    }
}
