//! A campaign: what is best asked once things are set up so, and in which order.
//!
//! It begins with the group of answers that has the best rate, setting up among its cost, and goes on with what adds to it
//! at a better rate still. So the cost of setting up is held against all that is asked once things stand so.

use super::errand::{Errand, Want};
use super::gain::{Asked, Split};
use super::rig::Present;
use super::round::{Query, Round, bits};
use super::search::Search;
use crate::call::InstrumentKind;
use crate::house::{BoxId, House, Point, Reach};

/// Positions in which the breaker opens with this chance are barred.
const BARRED: f64 = 0.01;

/// A campaign has at most so many groups.
const MOST_GROUPS: usize = 5;

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
    /// All that is asked in the campaign that it opens.
    pub campaign: Vec<Asked>,
    /// Bits that the campaign tells, at most.
    pub told: f64,
    /// What the campaign costs.
    pub cost: f64,
    /// It only tells together with the rest of its campaign.
    pub joint: bool,
    /// Bits a minute and bits, once they were weighed exactly.
    pub exact: Option<(f64, f64)>,
}

impl Pick {
    /// Bits a minute, at most.
    pub fn bound(&self) -> f64 {
        self.told / self.cost
    }

    /// What it asks.
    pub fn asked(&self) -> Vec<Asked> {
        let positions = bits(&self.positions);
        self.columns.iter().map(|&column| (column, positions)).collect()
    }
}

/// Answers that can be asked for in one go.
#[derive(Clone)]
struct Group {
    positions: Vec<bool>,
    at: Option<BoxId>,
    far: Option<BoxId>,
    to: Option<Point>,
    columns: Vec<usize>,
    /// For each column, the chance that its answer tells nothing, and whether it is vague.
    idle: Vec<f64>,
    vague: Vec<bool>,
}

/// What can be asked in one rig.
pub struct Campaign<'c, 's, 'a> {
    search: &'c Search<'s, 'a>,
    at: usize,
    groups: Vec<Group>,
    barred: Vec<Vec<bool>>,
}

impl<'c, 's, 'a> Campaign<'c, 's, 'a> {
    /// Looks at what one of the search's rounds allows.
    pub fn new(search: &'c Search<'s, 'a>, at: usize) -> Self {
        let mut campaign = Campaign { search, at, groups: Vec::new(), barred: Vec::new() };
        let allowed = campaign.handles();
        for positions in allowed {
            campaign.add_groups(&positions);
        }
        campaign
    }

    fn round(&self) -> &'c Round {
        &self.search.rounds[self.at]
    }

    /// What campaigns begin with: of all answers, of those that do not depend on what is not known, and the look at every
    /// position.
    pub fn picks(&self) -> Vec<Pick> {
        let first = self.first(&self.groups);
        let firm = self.firm();
        let other = firm.and_then(|firm| self.first(&firm));
        first.into_iter().chain(other).chain(self.count()).collect()
    }

    /// Everything that can be asked in one go, all of it, with the bits it tells at most.
    pub fn whole(&self) -> Vec<Pick> {
        let of = |group: &Group| {
            let errand = self.errand(group, self.search.present, group.columns.len())?;
            let mut split = Split::new(self.round());
            split.refine(&group.columns, bits(&group.positions));
            let cost = errand.cost();
            let most = split.bits() + self.search.confirms(group.columns.len());
            Some(self.pick(group, group.columns.clone(), errand, (most, cost)))
        };
        self.groups.iter().filter_map(of).collect()
    }

    /// Every answer by itself.
    pub fn singles(&self) -> Vec<Pick> {
        let mut all = Vec::new();
        for group in &self.groups {
            let Some(errand) = self.errand(group, self.search.present, 1) else { continue };
            let pick = |&column: &usize| {
                self.pick(group, vec![column], errand.clone(), (f64::INFINITY, errand.cost()))
            };
            all.extend(group.columns.iter().map(pick));
        }
        all
    }

    /// The groups without their vague answers, where there are any.
    fn firm(&self) -> Option<Vec<Group>> {
        let mut any = false;
        let mut firm = Vec::new();
        for group in &self.groups {
            let kept: Vec<usize> = (0..group.columns.len()).filter(|&at| !group.vague[at]).collect();
            any |= kept.len() < group.columns.len();
            if !kept.is_empty() {
                let columns = kept.iter().map(|&at| group.columns[at]).collect();
                let idle = kept.iter().map(|&at| group.idle[at]).collect();
                firm.push(Group { columns, idle, vague: vec![false; kept.len()], ..group.clone() });
            }
        }
        any.then_some(firm)
    }

    fn first(&self, groups: &[Group]) -> Option<Pick> {
        let mut split = Split::new(self.round());
        let mut present = self.search.present.clone();
        let (mut told, mut cost) = (0.0, 0.0);
        let mut campaign = Vec::new();
        let mut first: Option<Pick> = None;
        for _ in 0..MOST_GROUPS {
            let Some(next) = self.best(groups, &split, &present, first.is_none()) else { break };
            if first.is_some() && next.most / next.errand.cost() <= told / cost {
                break;
            }
            told += next.most;
            cost += next.errand.cost();
            campaign.extend(next.asked());
            split.refine(&next.columns, bits(&next.positions));
            present = next.errand.after.clone();
            first.get_or_insert(next);
        }
        first.map(|first| Pick { campaign, told, cost, ..first })
    }

    /// One question at given positions.
    pub fn single(
        &self,
        query: Query,
        (kind, at): (Option<InstrumentKind>, Option<BoxId>),
        positions: &[bool],
    ) -> Option<Pick> {
        let round = self.round();
        let fits = |column: &usize| {
            let column = &round.columns[*column];
            column.query == query && column.with.map(|with| with.kind) == kind
        };
        let here = |group: &&Group| {
            group.positions == positions
                && (at.is_none() || group.at == at)
                && group.columns.iter().any(&fits)
        };
        let group = self.groups.iter().find(here)?;
        let column = group.columns.iter().copied().find(fits)?;
        let errand = self.errand(group, self.search.present, 1)?;
        let cost = errand.cost();
        Some(self.pick(group, vec![column], errand, (0.0, cost)))
    }

    fn pick(&self, group: &Group, columns: Vec<usize>, errand: Errand, (most, cost): (f64, f64)) -> Pick {
        let Group { positions, at, to, .. } = group;
        let positions_bits = bits(positions);
        Pick {
            campaign: columns.iter().map(|&column| (column, positions_bits)).collect(),
            round: self.at,
            positions: positions.clone(),
            at: *at,
            to: *to,
            columns,
            errand,
            most,
            told: most,
            cost,
            joint: false,
            exact: None,
        }
    }

    /// Looking at the light in every position: together they may tell what one alone does not.
    fn count(&self) -> Option<Pick> {
        let mut left: Vec<&Group> = self.groups.iter().filter(|group| group.at.is_none()).collect();
        if left.len() < 2 {
            return None;
        }
        let mut split = Split::new(self.round());
        left.iter().for_each(|group| split.refine(&group.columns, bits(&group.positions)));
        let told = split.bits() + self.search.confirms(left.len());
        let (mut present, mut cost) = (self.search.present.clone(), 0.0);
        let mut first: Option<Pick> = None;
        let mut campaign = Vec::new();
        while !left.is_empty() {
            let errands = left.iter().enumerate();
            let errands = errands.filter_map(|(at, group)| Some((at, self.errand(group, &present, 0)?)));
            let (near, errand) = errands.min_by(|a, b| a.1.cost().total_cmp(&b.1.cost()))?;
            let group = left.remove(near);
            cost += errand.cost();
            present = errand.after.clone();
            let pick = self.pick(group, group.columns.clone(), errand, (told, cost));
            campaign.extend(pick.asked());
            first.get_or_insert(pick);
        }
        first.map(|first| Pick { campaign, told, cost, joint: true, ..first })
    }

    /// Positions that are allowed; those that are barred are kept aside.
    fn handles(&mut self) -> Vec<Vec<bool>> {
        let (site, round) = (self.search.site, self.round());
        let house = site.house();
        let present = &self.search.present.positions;
        let turned = |positions: &Vec<bool>, at: usize| {
            let mut turned = positions.clone();
            turned[at] = !turned[at];
            turned
        };
        let mut all = vec![present.clone()];
        let mut in_hand = Vec::new();
        for (at, switch) in house.switches().enumerate() {
            let reached = site.reachable(house.device(switch).at);
            if reached && site.acts(switch) && !round.rig.out.contains(&switch) {
                let more: Vec<Vec<bool>> = all.iter().map(|positions| turned(positions, at)).collect();
                all.extend(more);
            } else if reached && !round.rig.on && round.is_moved_by(at) {
                // What a switch does by itself does not depend on the others.
                in_hand.push(turned(present, at));
            }
        }
        all.extend(in_hand);
        let barred = |positions: &Vec<bool>| {
            round.rig.on
                && (round.trips(bits(positions)) >= BARRED || site.tripped_at(&round.rig.out, positions))
        };
        let (barred, mut allowed): (Vec<_>, Vec<_>) = all.into_iter().partition(barred);
        // Where no handle changes an answer one position stands for all.
        if (0..house.switches().count()).all(|switch| !round.is_moved_by(switch)) {
            allowed.truncate(1);
        }
        self.barred = barred;
        allowed
    }

    /// Everything that can be asked in one go with the handles so.
    fn add_groups(&mut self, positions: &[bool]) {
        let (search, round) = (self.search, self.round());
        let start = self.groups.len();
        for (column, what) in round.columns.iter().enumerate() {
            let kind = what.with.map(|with| with.kind);
            if search.taken.has(&round.rig, positions, what.query, kind) {
                continue;
            }
            let vague = round.is_vague(column, bits(positions));
            let idle = search.vague.error(search.error, round, column, vague);
            for (at, far, to) in homes(search.site.house(), what.query).into_iter().flatten() {
                let same = |group: &&mut Group| {
                    let first = &round.columns[group.columns[0]];
                    (group.at, group.far, group.to) == (at, far, to)
                        && together(first.query, what.query)
                        && first.with.map(|with| with.kind) == kind
                };
                match self.groups[start..].iter_mut().find(same) {
                    Some(group) => {
                        group.columns.push(column);
                        group.idle.push(idle);
                        group.vague.push(vague);
                    }
                    None => self.groups.push(Group {
                        positions: positions.to_vec(),
                        at,
                        far,
                        to,
                        columns: vec![column],
                        idle: vec![idle],
                        vague: vec![vague],
                    }),
                }
            }
        }
    }

    fn errand(&self, group: &Group, present: &Present, probes: usize) -> Option<Errand> {
        let Group { positions, at, far, to, .. } = group;
        let to_earth = *to == Some(Point::Earth);
        let (rig, barred) = (&self.round().rig, self.barred.as_slice());
        let want = Want { rig, positions, at: *at, far: *far, probes, to_earth, barred };
        Errand::to(self.search.site, present, &want)
    }

    /// The way to each group; groups at the same place with the handles so have the same.
    fn errands<'g>(&self, groups: &'g [Group], present: &Present) -> Vec<(&'g Group, Errand)> {
        let to_earth = |group: &Group| group.to == Some(Point::Earth);
        let mut known: Vec<(&Group, Option<Errand>)> = Vec::new();
        let mut all = Vec::new();
        for group in groups {
            let same = |other: &&(&Group, Option<Errand>)| {
                let other = other.0;
                (other.at, other.far, to_earth(other)) == (group.at, group.far, to_earth(group))
                    && other.positions == group.positions
            };
            let errand = match known.iter().rev().find(same) {
                Some((_, errand)) => errand.clone(),
                None => {
                    let errand = self.errand(group, present, 1);
                    known.push((group, errand.clone()));
                    errand
                }
            };
            all.extend(errand.map(|errand| (group, errand)));
        }
        all
    }

    /// The group, and the part of it, with the best rate from here.
    fn best(&self, groups: &[Group], sofar: &Split, present: &Present, first: bool) -> Option<Pick> {
        let confirms = |answers: usize| if first { self.search.confirms(answers) } else { 0.0 };
        let mut order = self.errands(groups, present);
        order.sort_by(|a, b| a.1.cost().total_cmp(&b.1.cost()));
        let mut best: Option<Pick> = None;
        for (group, errand) in order {
            let rate = best.as_ref().map_or(0.0, |best| best.most / best.errand.cost());
            let sure = confirms(group.columns.len());
            let tells = 1.0 - group.idle.iter().copied().fold(1.0, f64::min);
            if (tells * sofar.open() + sure) / errand.cost() <= rate {
                continue;
            }
            let mut split = sofar.clone();
            split.refine(&group.columns, bits(&group.positions));
            let most = tells * (split.bits() - sofar.bits()) + sure;
            if most / errand.cost() <= rate || most <= 0.0 {
                continue;
            }
            let found = self.part(group, errand, sofar, &confirms);
            if found.most / found.errand.cost() > rate {
                best = Some(found);
            }
        }
        best
    }

    /// The columns of a group that are worth their probe: the best first, then while the rate rises.
    fn part(
        &self,
        group: &Group,
        mut errand: Errand,
        sofar: &Split,
        confirms: &dyn Fn(usize) -> f64,
    ) -> Pick {
        let positions = bits(&group.positions);
        let probe = self.probe(group);
        let mut left = group.columns.clone();
        let mut chosen: Vec<usize> = Vec::new();
        let mut split = sofar.clone();
        let mut idle = group.idle.clone();
        let (mut most, mut cost, mut told) = (0.0, errand.cost(), 0.0);
        while !left.is_empty() {
            let adds = |(column, idle): (&usize, &f64)| (1.0 - idle) * split.adds(*column, positions);
            let gains: Vec<f64> = left.iter().zip(&idle).map(adds).collect();
            let better = |a: &usize, b: &usize| gains[*a].total_cmp(&gains[*b]).then(b.cmp(a));
            let Some(place) = (0..gains.len()).max_by(better) else { break };
            let more = told + gains[place] + confirms(chosen.len() + 1);
            let dearer = if chosen.is_empty() { cost } else { cost + probe };
            if !chosen.is_empty() && more / dearer <= most / cost {
                break;
            }
            (most, cost) = (more, dearer);
            told += gains[place];
            idle.remove(place);
            let column = left.remove(place);
            split.refine(&[column], positions);
            chosen.push(column);
        }
        chosen.sort_unstable();
        errand.minutes += cost - errand.cost();
        self.pick(group, chosen, errand, (most, cost))
    }

    /// Minutes of one more probe.
    fn probe(&self, group: &Group) -> f64 {
        let site = self.search.site;
        let prices = site.prices();
        let ladder = group.at.is_some_and(|at| site.house().outlet(at).reach == Reach::Ladder);
        let times = match (self.round().rig.on, ladder) {
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
type Home = (Option<BoxId>, Option<BoxId>, Option<Point>);

/// The ways to ask a question: either of two points may be the one that is measured to.
fn homes(house: &House, query: Query) -> [Option<Home>; 2] {
    let of = |point: Point| match point {
        Point::At(local) => Some(house.box_of(local)),
        Point::Earth => None,
    };
    match query {
        Query::Light(_) => [Some((None, None, None)), None],
        Query::Cable(end) => [Some((Some(house.end(end).at), None, None)), None],
        Query::Wire(wire) => [Some((Some(house.end(wire.end).at), None, None)), None],
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => match (of(p), of(q)) {
            (Some(at), None) | (None, Some(at)) => [Some((Some(at), None, Some(Point::Earth))), None],
            (a, b) if a == b => [Some((a, None, Some(q))), Some((a, None, Some(p)))],
            (a, b) => [Some((b, a, Some(q))), Some((a, b, Some(p)))],
        },
    }
}
