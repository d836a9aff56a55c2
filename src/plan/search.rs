//! The search for the reading that tells most for its minutes.
//!
//! Rigs are tried in the order of what it costs to make them; as no reading tells more than is open, the search is over
//! when that, over the cost, falls below the best rate found.

use super::belief::{Belief, entropy};
use super::bridges;
use super::campaign::{Campaign, Pick};
use super::errand::{Errand, Want};
use super::gain::Table;
use super::rig::{Present, Rig};
use super::round::{Query, Round, Scope, bits};
use super::site::Site;
use super::taken::Taken;
use super::vague::Vague;
use crate::call::InstrumentKind;
use crate::house::BoxId;
use crate::predict::{Forecast, Ghosts, Scene};
use crate::workers;

/// Less than this many bits are not worth a reading.
pub const USEFUL: f64 = 0.002;

/// Rigs whose bound is below this share of the best rate found are not looked into.
const NEAR: f64 = 0.8;

/// What was found in rigs that were looked into.
#[derive(Default)]
pub struct Found {
    /// What could be asked.
    pub picks: Vec<Pick>,
    /// The most bits a minute of any of it.
    best: f64,
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
    /// How much depends on what is not known.
    pub vague: Vague,
    /// Tables made so far.
    pub rounds: Vec<Round>,
    /// One for each worker.
    ghosts: Vec<Ghosts>,
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
        let ghosts = workers::memories(|| Forecast::ghosts(scene));
        let vague = Vague::of(site.call);
        Search { site, scene, belief, present, taken, error, vague, rounds: Vec::new(), ghosts }
    }

    /// The best picks, by the rate of the campaign that each opens.
    pub fn run(&mut self, rigs: &[Rig]) -> Found {
        let mut found = Found::default();
        let open = self.belief.bits();
        let mut order: Vec<(f64, Scope, &Rig)> = Vec::new();
        for rig in rigs {
            let Some(way) = self.way(rig) else { continue };
            order.extend(Scope::ALL.map(|scope| (self.least(&way, scope), scope, rig)));
        }
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(b.2)));
        for (floor, scope, rig) in order {
            if found.best > 0.0 && open / floor < found.best * NEAR {
                break;
            }
            self.look(rig, scope, &mut found);
        }
        found
    }

    /// The same with jumpers, where these come near the best found without.
    pub fn bridge(&mut self, mut found: Found) -> Found {
        for rig in bridges::rigs(self, found.best * NEAR) {
            let scope = if rig.is_earthed() { Scope::ToEarth } else { Scope::Pairs };
            self.look(&rig, scope, &mut found);
        }
        found
    }

    fn look(&mut self, rig: &Rig, scope: Scope, found: &mut Found) {
        let Some(round) = self.round(rig, scope) else { return };
        for mut pick in Campaign::new(self, round).picks() {
            // What cannot come near the best is weighed only where more than one is asked for.
            if pick.bound() >= found.best * NEAR {
                let (rate, bits) = self.rate(&mut pick);
                found.best = if bits >= USEFUL { f64::max(found.best, rate) } else { found.best };
            }
            found.picks.push(pick);
        }
    }

    /// One question, whatever it tells; with an instrument, and in a box where that is said.
    pub fn single(
        &mut self,
        rig: &Rig,
        scope: Scope,
        query: Query,
        by: (Option<InstrumentKind>, Option<BoxId>),
        positions: &[bool],
    ) -> Option<Pick> {
        let round = self.round(rig, scope)?;
        Campaign::new(self, round).single(query, by, positions)
    }

    /// What can be asked in a rig; nothing where that is nothing.
    pub fn round(&mut self, rig: &Rig, scope: Scope) -> Option<usize> {
        let round = Round::new(self.site, self.scene, self.belief, rig, scope, &mut self.ghosts);
        (!round.columns.is_empty()).then(|| {
            self.rounds.push(round);
            self.rounds.len() - 1
        })
    }

    /// The way to looking at the light in a rig.
    fn way(&self, rig: &Rig) -> Option<Errand> {
        let positions = &self.present.positions;
        let want = Want { rig, positions, at: None, far: None, probes: 0, to_earth: false, barred: &[] };
        Errand::to(self.site, self.present, &want)
    }

    /// The least that a reading of a scope costs, where it is so far to looking at the light: with a probe, in a box that
    /// has to be come to, and proved dead where it has no power.
    fn least(&self, way: &Errand, scope: Scope) -> f64 {
        if scope == Scope::Look {
            return way.cost();
        }
        let (prices, after) = (self.site.prices(), &way.after);
        let probe = if after.rig.on { prices.work.probe * prices.factor.live } else { prices.work.probe };
        let prove = if !after.rig.on && after.dead.is_empty() { prices.work.prove } else { 0.0 };
        let go = if after.at.is_none() { prices.travel.outlet } else { 0.0 };
        way.cost() - prices.work.flip + probe + prove + go
    }

    /// Bits a minute of a pick, exactly: by itself or with the campaign it opens, whichever is more; with the bits that
    /// are to be had.
    pub fn rate(&self, pick: &mut Pick) -> (f64, f64) {
        if let Some(known) = pick.exact {
            return known;
        }
        let round = &self.rounds[pick.round];
        let bits = |asked: &[_]| {
            let errors = self.vague.errors(self.error, round, asked);
            Table::new(self.belief, &round.rows, round, asked, errors).weigh().bits
        };
        let (own, all) = (bits(&pick.asked()), bits(&pick.campaign));
        let rates = [(own / pick.errand.cost(), own), (all / pick.cost, all)];
        let exact = if pick.joint || rates[1].0 > rates[0].0 && own >= USEFUL { rates[1] } else { rates[0] };
        pick.exact = Some(exact);
        exact
    }

    /// Bits that a pick tells by itself, exactly.
    pub fn own_bits(&self, pick: &Pick) -> f64 {
        let (round, asked) = (&self.rounds[pick.round], pick.asked());
        let errors = self.vague.errors(self.error, round, &asked);
        Table::new(self.belief, &round.rows, round, &asked, errors).weigh().bits
    }

    /// The table of a pick by another belief, and the round that it is from.
    pub fn table_by(&mut self, belief: &Belief, pick: &Pick) -> (Round, Table) {
        let of = &self.rounds[pick.round];
        let columns: Vec<_> = pick.columns.iter().map(|&column| of.columns[column].clone()).collect();
        let round = of.again(self.scene, belief, &columns, &mut self.ghosts);
        let positions = bits(&pick.positions);
        let asked: Vec<_> = (0..columns.len()).map(|column| (column, positions)).collect();
        let errors = self.vague.errors(self.error, &round, &asked);
        let table = Table::new(belief, &belief.states, &round, &asked, errors);
        (round, table)
    }

    /// Bits that so many answers as expected tell against *something else*.
    pub fn confirms(&self, answers: usize) -> f64 {
        let other = self.belief.other;
        entropy(&[other, (1.0 - other).max(0.0)]) * (1.0 - libm::pow(0.25, answers as f64))
    }
}
