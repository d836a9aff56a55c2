//! What survey and readings settle, in data: the verdict and its JSON form.

mod arrangement;
mod because;
mod cables;
mod defects;
mod devices;
mod landing;
mod proven;
mod report;
mod roles;

pub use crate::house::Role;
pub use report::{
    Arrangement, BoxRoles, CableFound, Candidates, DefectFound, DeviceFound, Disbelieved, FeedFound, Landing,
    NeutralFound, State, Verdict, WireFound,
};

use crate::call::Call;
use crate::house::{Apart, Goal, Reach};
use crate::knowledge::Knowledge;
use crate::predict::Scene;
use crate::weigh::{self, Evidence, Known, Ledger, Posterior};
use crate::wiring::{Chances, Depth, FEW_READINGS, Facts, Options, Space, Wiring};
pub(crate) use landing::in_question as landing_in_question;
pub(crate) use proven::{line_is_proven, ways_left};
use roles::Roles;
pub(crate) use roles::{intents, roles};
use std::cell::RefCell;

/// A role at or above this is settled.
pub const SETTLED: f64 = 0.99;
/// A role at or above this is likely.
pub const LIKELY: f64 = 0.9;
/// Walls that hold less than this are out of the question.
pub(crate) const FAINT: f64 = 1e-4;

/// What a role's probability counts for where survey and readings contradict each other: nothing is likely then.
const DOUBTFUL: f64 = 0.85;

/// More prior mass than this that was not listed leaves nothing settled.
pub(crate) const UNLISTED: f64 = 0.15;

/// Or more than this, where what was listed explains the readings badly.
const UNLISTED_IF_STRAINED: f64 = 0.01;

/// More than this is most of all there is.
const MOSTLY: f64 = 0.5;

/// Sound wirings that hold less of the prior than this are no likelier than a failure.
const RARE: f64 = 0.1;

/// All that a verdict is drawn from.
pub(crate) struct Case<'a> {
    pub(crate) call: &'a Call,
    pub(crate) knowledge: &'a Knowledge,
    pub(crate) facts: &'a Facts,
    pub(crate) space: &'a Space,
    pub(crate) posterior: &'a Posterior,
}

/// Weighs a call and says what it settles.
pub fn reach(call: &Call, knowledge: &Knowledge, options: Options) -> Verdict {
    within(call, knowledge, &Space::of_call(call, knowledge, options))
}

/// Weighs a call within a space listed for its house, be it before some of the readings were taken.
pub fn within(call: &Call, knowledge: &Knowledge, space: &Space) -> Verdict {
    following(call, knowledge, space, &mut Ledger::default())
}

/// The same, going on from what the ledger holds of this house and space: after each reading of a call.
pub fn following(call: &Call, knowledge: &Knowledge, space: &Space, ledger: &mut Ledger) -> Verdict {
    with_case(call, knowledge, space, ledger, |case, _| case.verdict())
}

/// Weighs a call and hands out all that a verdict is drawn from.
pub(crate) fn with_case<T>(
    call: &Call,
    knowledge: &Knowledge,
    space: &Space,
    ledger: &mut Ledger,
    work: impl FnOnce(&Case, &Scene) -> T,
) -> T {
    let facts = Facts::new(&call.house);
    let earthed = weigh::earthed(call, &knowledge.habits.earthed_metal);
    let scene = Scene::new(&call.house, &facts).with_earthed(earthed);
    let evidence = Evidence::new(&scene, call, &knowledge.instruments);
    let something_else = knowledge.habits.prior.something_else;
    let strained = |posterior: &Posterior| posterior.is_strained(call.readings.len());
    let mut posterior = Posterior::following(&scene, space, &evidence, something_else, ledger);
    let effort = if strained(&posterior) { THOROUGH } else { BRIEF };
    let hides = hides_slips(call, space, &posterior);
    if effort == BRIEF && !hides {
        leave_room(&mut posterior, space, UNLISTED);
        let sound = Case { call, knowledge, facts: &facts, space, posterior: &posterior };
        if !sound.leaves_room_for_failures() {
            return work(&sound, &scene);
        }
    }
    // What was weighed once comes again beside more.
    let known = RefCell::new(Known::default());
    // Each of the wirings that come nearest is tried with one failure more.
    let holding: Vec<usize> = posterior.rows.iter().map(|row| row.row).collect();
    let failed = |space: &Space, holding: &[usize], effort: Effort, already: usize| {
        let nearest = Posterior::nearest(&scene, space, &evidence, effort.parents, already);
        let likely = holding.iter().copied().chain(0..effort.heaviest).collect();
        // Of several defects one is what somebody complains about.
        let failure = |name| knowledge.defects.odds(name, call.suspects_wiring() && already == 0);
        let chances = Chances { failure: &failure, onward: knowledge.habits.prior.onward };
        let wide = space.with_faults(&call.house, &facts, &chances, &likely, &nearest, already);
        let posterior = Posterior::knowing(&scene, &wide, &evidence, something_else, &mut known.borrow_mut());
        (wide, posterior)
    };
    let looked = |depth| failed(&space.deeper(call, knowledge, depth), &[], effort, 0);
    let (mut wide, mut posterior) =
        if hides { looked(Depth::Close) } else { failed(space, &holding, effort, 0) };
    // Nothing is settled on one failure before its rivals are weighed.
    let unsure = |space: &Space, posterior: &Posterior| {
        strained(posterior)
            || hides_slips(call, space, posterior)
            || Case { call, knowledge, facts: &facts, space, posterior }.needs_rivals()
    };
    if wide.depth < Depth::Close && !strained(&posterior) && unsure(&wide, &posterior) {
        (wide, posterior) = looked(Depth::Close);
    }
    if wide.depth < Depth::Deep && strained(&posterior) {
        (wide, posterior) = looked(Depth::Deep);
    }
    if unsure(&wide, &posterior) {
        let holding: Vec<usize> = posterior.rows.iter().map(|row| row.row).collect();
        (wide, posterior) = failed(&wide, &holding, TWICE, 1);
    }
    // What was too much to list is more yet with two errors.
    let too_many = wide.uncovered > if wide.rows.is_empty() { UNLISTED } else { MOSTLY };
    if strained(&posterior) && space.depth < Depth::Twice && !too_many {
        (wide, posterior) = failed(&space.deeper(call, knowledge, Depth::Twice), &[], effort, 0);
    }
    let matters = if strained(&posterior) { UNLISTED_IF_STRAINED } else { UNLISTED };
    leave_room(&mut posterior, &wide, matters);
    let disbelieved = (0..call.readings.len()).filter(|&reading| posterior.wrong(reading) >= 0.5).count();
    if wide.left_out.is_some_and(|odds| disbelieved >= odds.max(2)) {
        // What is at odds with no more readings than this was not listed: it may as well be that.
        posterior.leave_out(MOSTLY);
    }
    work(&Case { call, knowledge, facts: &facts, space: &wide, posterior: &posterior }, &scene)
}

/// Leaves room for what was not listed. A small part that was left out does not matter beside something that explains
/// every reading.
fn leave_room(posterior: &mut Posterior, space: &Space, matters: f64) {
    if space.uncovered > matters {
        posterior.leave_out(space.uncovered);
    }
    posterior.leave_out(unlisted_slips(space, posterior));
}

/// Beside a slip that explains the readings, one of those that are not listed may do so too: how likely that is.
fn unlisted_slips(space: &Space, posterior: &Posterior) -> f64 {
    let is_slip = |wiring: &Wiring| wiring.defects.iter().any(|defect| defect.what.is_slip());
    space.unlisted_slips * held(space, posterior, is_slip)
}

/// Whether slips that may matter have not been looked for, and readings guide the search for them.
fn hides_slips(call: &Call, space: &Space, posterior: &Posterior) -> bool {
    call.readings.len() >= FEW_READINGS
        && space.depth < Depth::Close
        && unlisted_slips(space, posterior) > UNLISTED_IF_STRAINED
}

/// What the walls hold together of which the likeliest wiring is such a one.
fn held(space: &Space, posterior: &Posterior, is: impl Fn(&Wiring) -> bool) -> f64 {
    let likeliest = |row: usize| {
        let wirings = space.rows[row].wirings.iter();
        wirings.max_by(|a, b| a.weight.total_cmp(&b.weight))
    };
    let rows = posterior.rows.iter().filter(|row| likeliest(row.row).is_some_and(&is));
    rows.map(|row| row.p).sum()
}

/// How widely failures are looked for.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Effort {
    /// So many of the wirings that come nearest are tried with every failure.
    parents: usize,
    /// So many of the heaviest with failures of the feed.
    heaviest: usize,
}

/// Where nothing sound explains the readings.
const THOROUGH: Effort = Effort { parents: 300, heaviest: 4000 };

/// Where one failure does not either, or would settle the call: the wirings with one that come nearest get a second.
const TWICE: Effort = Effort { parents: 40, heaviest: 4000 };

/// Where something does.
const BRIEF: Effort = Effort { parents: 100, heaviest: 1000 };

impl Case<'_> {
    pub(crate) fn verdict(&self) -> Verdict {
        let roles = Roles::new(self);
        let contradiction = self.contradiction();
        let landing = landing::plan(self, &roles, contradiction.is_some());
        // The least bad explanation is no likely one.
        let trust = if contradiction.is_some() { DOUBTFUL } else { 1.0 };
        let mut wires = self.wires(&roles, trust);
        because::explain(self, &mut wires);
        let defects = defects::found(self);
        let answered = self.answered(&wires, &landing) && self.accounts_for_complaint(&defects);
        let settled = contradiction.is_none() && answered;
        Verdict {
            lath: 1,
            state: self.state(settled, contradiction.is_some()),
            candidates: self.candidates(&roles),
            arrangement: arrangement::name(self),
            cables: cables::found(self),
            boxes: self.boxes(&wires),
            wires,
            landing,
            defects,
            devices: devices::found(self),
            choices: roles.choices(self),
            disbelieved: self.disbelieved(),
            contradiction,
        }
    }

    /// Whether failures are to be weighed beside what is sound and explains the readings: it is as rare as they are, or it
    /// leaves nothing to ask where somebody complains.
    fn leaves_room_for_failures(&self) -> bool {
        let asked = !self.call.readings.is_empty();
        let rare = || self.posterior.prior(self.space) < RARE;
        let unexplained = || self.call.suspects_wiring() && self.is_settled();
        asked && (rare() || unexplained())
    }

    /// Whether nothing is left to ask, and something is likely wrong, or what somebody complains of is not found.
    fn needs_rivals(&self) -> bool {
        let sound = || held(self.space, self.posterior, |wiring| wiring.defects.is_empty());
        let unexplained = || !self.accounts_for_complaint(&defects::found(self));
        self.is_settled() && (unexplained() || sound() < 1.0 - LIKELY)
    }

    fn is_settled(&self) -> bool {
        let roles = Roles::new(self);
        let landing = landing::plan(self, &roles, false);
        self.contradiction().is_none() && self.answered(&self.wires(&roles, 1.0), &landing)
    }

    fn state(&self, settled: bool, contradiction: bool) -> State {
        let distinct = self.posterior.rows.iter().filter(|row| row.p >= FAINT).count();
        let unopened = self.call.house.boxes.iter().any(|b| !b.opened && b.reach != Reach::Blocked);
        match () {
            () if contradiction => State::Contradiction,
            () if settled => State::Settled,
            () if distinct == 1 && !unopened && self.posterior.uncovered <= UNLISTED => State::Exhausted,
            () => State::Open,
        }
    }

    /// Whether the goal is answered. A goal that nobody set is to identify every role.
    fn answered(&self, wires: &[WireFound], landing: &[Landing]) -> bool {
        match self.call.goal {
            Goal::Identify => !wires.is_empty() && wires.iter().all(|wire| wire.p >= SETTLED),
            Goal::Repair => {
                let planned = landing.iter().all(|entry| matches!(entry, Landing::Joints { .. }));
                planned && !wires.is_empty() && wires.iter().all(|wire| wire.p >= SETTLED)
            }
            Goal::NeutralAt(at) => self.neutral_answered(at, wires),
        }
    }

    /// Where somebody complains, whether it is likely what is wrong, or settled that nothing anybody would notice is.
    fn accounts_for_complaint(&self, defects: &[DefectFound]) -> bool {
        let named = || defects.iter().any(|defect| defect.p >= LIKELY);
        !self.call.suspects_wiring() || named() || defects::noticed(self) <= 1.0 - SETTLED
    }

    /// A neutral proven in the box, or excluded.
    fn neutral_answered(&self, at: crate::house::BoxId, wires: &[WireFound]) -> bool {
        let house = &self.call.house;
        let here: Vec<_> = house.wires().filter(|wire| house.end(wire.end).at == at).collect();
        let proven = here.iter().any(|&wire| proven::neutral(self, wire));
        let neutral = |wire: &WireFound| match wire.role {
            Role::Neutral => wire.p,
            _ => wire.others.get(&Role::Neutral).copied().unwrap_or(0.0),
        };
        let named = |found: &&WireFound| here.iter().any(|&wire| house.wire_name(wire) == found.wire);
        // What no wiring describes may be a neutral for all one knows.
        let unknown = self.posterior.something_else + self.posterior.uncovered;
        let is_none = |wire: &WireFound| neutral(wire) + unknown <= 1.0 - SETTLED;
        let excluded = house.outlet(at).opened && wires.iter().filter(named).all(is_none);
        proven || excluded
    }

    fn candidates(&self, roles: &Roles) -> Candidates {
        let alive = self.posterior.rows.iter().filter(|row| row.p >= FAINT);
        let mut classes = std::collections::BTreeMap::new();
        let mut wirings = 0;
        for row in alive {
            let full = &self.space.rows[row.row];
            wirings += full.wirings.len();
            *classes.entry((&full.walls, roles.of_row(row.row))).or_insert(0.0) += row.p;
        }
        let whole: f64 = classes.values().sum();
        let entropy = |p: &f64| if *p > 0.0 { -(p / whole) * libm::log2(p / whole) } else { 0.0 };
        Candidates {
            classes: classes.len(),
            wirings,
            bits: rounded(classes.values().map(entropy).sum()),
            uncovered: rounded(self.posterior.uncovered.max(self.space.uncovered).min(1.0)),
        }
    }

    /// Every wire with its role, which is yet to be explained; probabilities are scaled by `trust`.
    fn wires(&self, roles: &Roles, trust: f64) -> Vec<WireFound> {
        let house = &self.call.house;
        let circuits = Roles::circuits(self);
        let name = |feed: usize| {
            house.feeds.get(feed).filter(|feed| !feed.name.is_empty()).map(|feed| feed.name.clone())
        };
        let wire = |(at, id): (usize, crate::house::WireId)| {
            let mut chances = roles.chances(at);
            chances.values_mut().for_each(|p| *p *= trust);
            let (role, p) = roles::best(&chances);
            chances.remove(&role);
            chances.retain(|_, p| *p >= 0.001);
            chances.values_mut().for_each(|p| *p = rounded(*p));
            WireFound {
                wire: house.wire_name(id),
                role,
                circuit: circuits[at]
                    .filter(|_| matches!(role, Role::Line | Role::Neutral | Role::Other))
                    .and_then(name),
                p: rounded(p),
                others: chances,
                because: Vec::new(),
            }
        };
        house.wires().enumerate().map(wire).collect()
    }

    fn boxes(&self, wires: &[WireFound]) -> Vec<BoxRoles> {
        let house = &self.call.house;
        let opened = house.box_ids().filter(|&at| house.outlet(at).opened);
        opened
            .map(|at| {
                let here: Vec<(crate::house::WireId, &WireFound)> =
                    house.wires().zip(wires).filter(|(id, _)| house.end(id.end).at == at).collect();
                let names = |role: Role| {
                    let of_role = here.iter().filter(|(_, found)| found.role == role && found.p >= LIKELY);
                    of_role
                        .map(|(id, _)| house.local_name(crate::house::LocalPoint::Wire(*id)))
                        .collect::<Vec<String>>()
                };
                let neutral = names(Role::Neutral);
                let of_neutral =
                    here.iter().filter(|(_, found)| found.role == Role::Neutral && found.p >= LIKELY);
                let p = of_neutral.clone().map(|(_, found)| found.p).fold(0.0, f64::max);
                let proven = of_neutral.clone().all(|(id, _)| proven::neutral(self, *id));
                let ground = names(Role::Ground);
                BoxRoles {
                    at: house.outlet(at).name.clone(),
                    line: names(Role::Line),
                    neutral: (!neutral.is_empty()).then_some(NeutralFound { wires: neutral, p, proven }),
                    ground: (!ground.is_empty()).then_some(ground),
                }
            })
            .collect()
    }

    fn disbelieved(&self) -> Vec<Disbelieved> {
        let wrong = (0..self.call.readings.len()).map(|at| (at, self.posterior.wrong(at)));
        let wrong = wrong.filter(|(_, p)| *p >= 0.5);
        wrong.map(|(at, p)| Disbelieved { reading: at + 1, p_wrong: rounded(p) }).collect()
    }

    /// What cannot all be true, if more is wrong than chance allows.
    fn contradiction(&self) -> Option<String> {
        if self.space.netlists.is_empty() {
            return Some(
                "No scheme in the knowledge base is for the switches and lights written down. Check their number and \
                 kinds; a light elsewhere that a switch here controls is written down too, as a box that is not opened."
                    .to_owned(),
            );
        }
        if self.space.rows.is_empty() && self.space.uncovered == 0.0 {
            return Some(
                "No wiring considered fits what was seen at the boxes. Check the survey: cables, colours, and what is \
                 on which screw."
                    .to_owned(),
            );
        }
        let wrong: Vec<usize> = self.disbelieved().iter().map(|d| d.reading).collect();
        let too_many = wrong.len() > most_wrong(self.call.readings.iter().map(|reading| reading.seen.len()));
        // Beside more that was not looked at than was, what speaks against this says nothing of the whole.
        let looked = !self.space.rows.is_empty() && self.posterior.uncovered < MOSTLY;
        if !looked || (self.posterior.something_else < 0.5 && !too_many) {
            return None;
        }
        // What opened a breaker is not tried again.
        let tripped: Vec<usize> = self.call.tripped().map(|at| at + 1).collect();
        let (trips, again): (Vec<usize>, Vec<usize>) =
            wrong.into_iter().partition(|one| tripped.contains(one));
        let list = |readings: &[usize]| {
            readings.iter().map(|n| format!("reading {n}")).collect::<Vec<_>>().join(", ")
        };
        let mut said = Vec::new();
        if !trips.is_empty() {
            said.push(format!(
                "Nothing considered explains that the breaker opened ({}). Leave it off, and look for the short dead: \
                 line to neutral and line to metal, box by box.",
                list(&trips)
            ));
        }
        if !again.is_empty() {
            said.push(format!(
                "What was seen and read cannot all be true of any wiring considered: {} would have to be wrong. \
                 Take these again, another way if there is one.",
                list(&again)
            ));
        }
        if said.is_empty() {
            said.push(
                "None of the wirings considered explains the readings. Something here is not one of them."
                    .to_owned(),
            );
        }
        Some(said.join(" "))
    }
}

/// How many readings, of so many answers each, may be wrong before chance is no excuse: the least number that a 2 % error
/// rate of answers exceeds less than once in a thousand times.
fn most_wrong(answers: impl Iterator<Item = usize>) -> usize {
    const RATE: f64 = 0.02;
    // For each number of wrong readings its chance: the distribution of a sum of unlike trials.
    let mut chances = vec![1.0];
    for answers in answers {
        let wrong = 1.0 - libm::pow(1.0 - RATE, answers as f64);
        chances.push(0.0);
        for k in (0..chances.len()).rev() {
            let fewer = if k > 0 { chances[k - 1] } else { 0.0 };
            chances[k] = chances[k] * (1.0 - wrong) + fewer * wrong;
        }
    }
    let sums = chances.iter().scan(0.0, |sum, chance| {
        *sum += chance;
        Some(*sum)
    });
    sums.take_while(|sum| *sum < 0.999).count()
}

/// Figures in documents are rounded to 1e-6, so that they are the same everywhere.
pub(crate) fn rounded(p: f64) -> f64 {
    // There is one zero in a document.
    libm::round(p * 1e6) / 1e6 + 0.0
}

/// Whether any box was taken apart.
pub(crate) fn any_apart(call: &Call) -> bool {
    call.house.boxes.iter().any(|outlet| outlet.apart != Apart::No)
}

#[cfg(test)]
mod tests {
    use super::most_wrong;

    /// The 99.9 % points of binomial distributions, worked out with Python's `math.comb`: 50 readings of one answer; 50 of
    /// ten, each wrong with 1 - 0.98^10; 4, 300 and 1 of one.
    #[test]
    fn how_many_readings_chance_makes_wrong() {
        for (readings, answers, most) in [(50, 1, 5), (50, 10, 18), (4, 1, 2), (300, 1, 15), (1, 1, 1)] {
            assert_eq!(most_wrong(std::iter::repeat_n(answers, readings)), most);
        }
    }
}
