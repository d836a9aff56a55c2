//! The way from how things stand to a reading: every step in order, with its minutes and what is held against it.

use super::rig::{Present, Rig};
use super::site::Site;
use crate::call::LampState;
use crate::house::{BoxId, DeviceId, House, Point, Reach, WireId};

/// One step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Step {
    /// The circuit off.
    Off,
    /// The whole house off.
    MainOff,
    /// The circuit on.
    On,
    /// All breakers on but that of this feed, which is off.
    AllBut(usize),
    /// To a box.
    Go(BoxId),
    /// The box proved dead.
    Prove(BoxId),
    /// A device off, its wires capped.
    TakeOut(DeviceId),
    /// A device back on its wires.
    PutBack(DeviceId),
    /// A wire away from its joint, capped.
    Lift(WireId),
    /// A wire back into its joint.
    Rejoin(WireId),
    /// A lamp changed.
    Lamp(DeviceId, LampState),
    /// A handle.
    Flip(DeviceId, bool),
    /// A jumper on.
    Bridge(Point, Point),
    /// A jumper off.
    Unbridge(Point, Point),
    /// A long lead between two boxes.
    Lead(BoxId, BoxId),
    /// Something found that is earth.
    Earth,
}

/// What is wanted.
pub struct Want<'a> {
    /// Power, lamps, devices, wires.
    pub rig: &'a Rig,
    /// The handles.
    pub positions: &'a [bool],
    /// Where the reading is taken; nowhere for watching.
    pub at: Option<BoxId>,
    /// Another box that a lead goes to.
    pub far: Option<BoxId>,
    /// How many points are probed.
    pub probes: usize,
    /// Whether they are measured to earth.
    pub to_earth: bool,
    /// Positions of the handles that the way must not pass through with the power on.
    pub barred: &'a [Vec<bool>],
}

/// The way to a reading, the reading itself among its minutes.
#[derive(Clone, PartialEq, Debug)]
pub struct Errand {
    /// What to do first.
    pub steps: Vec<Step>,
    /// Minutes, the reading's own among them.
    pub minutes: f64,
    /// What is held against it, as if it were minutes.
    pub penalty: f64,
    /// How things stand afterwards.
    pub after: Present,
}

impl Errand {
    /// Plans the way; `None` where it leads to a box out of reach, or would have a jumper on with the power on.
    pub fn to(site: &Site, present: &Present, want: &Want) -> Option<Errand> {
        if want.rig.on && !want.rig.jumpers.is_empty() {
            return None;
        }
        let start = Errand { steps: Vec::new(), minutes: 0.0, penalty: 0.0, after: present.clone() };
        let mut way = Way { site, errand: start };
        way.change(want)?;
        way.power_and_handles(want)?;
        way.read(want)?;
        Some(way.errand)
    }

    /// The way to opening a box, and the opening.
    pub fn open(site: &Site, present: &Present, at: BoxId) -> Option<Errand> {
        let start = Errand { steps: Vec::new(), minutes: 0.0, penalty: 0.0, after: present.clone() };
        let mut way = Way { site, errand: start };
        way.off(false);
        way.go(at)?;
        way.disturb(at);
        way.errand.minutes += site.prices().work.open;
        Some(way.errand)
    }

    /// What counts against it: minutes and penalty.
    pub fn cost(&self) -> f64 {
        self.minutes + self.held()
    }

    /// What is held against it. One more reading at the same place, with nothing done in between, is part of the one
    /// before.
    pub fn held(&self) -> f64 {
        if self.steps.is_empty() { 0.0 } else { self.penalty }
    }
}

/// Minutes from one place to another.
fn travel(site: &Site, from: Option<BoxId>, to: BoxId) -> f64 {
    if from == Some(to) {
        return 0.0;
    }
    let prices = &site.prices().travel;
    let outlet = site.house().outlet(to);
    let floors = from.map_or(0.0, |from| floors(site, from, to));
    let up = match outlet.reach {
        Reach::Stand | Reach::Blocked => 0.0,
        Reach::Steps => prices.steps,
        Reach::Ladder => prices.ladder,
    };
    prices.outlet + floors * prices.floor + up
}

/// Floors between two boxes.
fn floors(site: &Site, one: BoxId, other: BoxId) -> f64 {
    let floor = |at: BoxId| i32::from(site.house().outlet(at).floor);
    f64::from((floor(one) - floor(other)).abs())
}

struct Way<'s, 'a> {
    site: &'s Site<'a>,
    errand: Errand,
}

impl Way<'_, '_> {
    fn step(&mut self, step: Step, minutes: f64) {
        self.errand.steps.push(step);
        self.errand.minutes += minutes;
    }

    fn go(&mut self, to: BoxId) -> Option<()> {
        if self.errand.after.at == Some(to) {
            return Some(());
        }
        if !self.site.reachable(to) {
            return None;
        }
        let minutes = travel(self.site, self.errand.after.at, to);
        self.errand.penalty += match self.site.house().outlet(to).reach {
            Reach::Stand | Reach::Blocked => 0.0,
            Reach::Steps => self.site.prices().penalty.steps,
            Reach::Ladder => self.site.prices().penalty.ladder,
        };
        self.step(Step::Go(to), minutes);
        self.errand.after.at = Some(to);
        Some(())
    }

    fn panel(&self) -> f64 {
        let prices = &self.site.prices().travel;
        if self.site.call.helper { prices.panel_with_helper } else { prices.panel }
    }

    /// Off, unless it is; the whole house where a joint that may hold a neutral is parted.
    fn off(&mut self, main: bool) {
        if main {
            self.errand.penalty += self.site.prices().penalty.neutral;
        }
        if self.errand.after.rig.on || main {
            let minutes = self.panel();
            self.step(if main { Step::MainOff } else { Step::Off }, minutes);
            self.errand.after.rig.on = false;
            self.errand.after.rig.off = None;
        }
    }

    /// On, all but one feed that is to be off.
    fn on(&mut self, off: Option<usize>) {
        let rig = &self.errand.after.rig;
        if !rig.on || rig.off != off {
            let minutes = self.panel();
            self.step(off.map_or(Step::On, Step::AllBut), minutes);
            self.errand.after.rig.on = true;
            self.errand.after.rig.off = off;
            self.errand.after.dead.clear();
        }
    }

    fn prove(&mut self, at: BoxId) {
        if !self.errand.after.dead.contains(&at) {
            let minutes = self.site.prices().work.prove;
            self.step(Step::Prove(at), minutes);
            self.errand.after.dead.push(at);
        }
    }

    fn disturb(&mut self, at: BoxId) {
        if self.site.is_old(at) {
            self.errand.penalty += self.site.prices().penalty.old_insulation;
        }
    }

    /// Whatever has to be moved, box by box, dead; the nearest box first.
    fn change(&mut self, want: &Want) -> Option<()> {
        let mut changes = changes(self.site, &self.errand.after.rig, want.rig);
        if changes.is_empty() {
            return Some(());
        }
        let parts = |step: &Step| matches!(step, Step::Lift(wire) if self.site.maybe_neutral.contains(wire));
        let main = changes.iter().any(|(_, step)| parts(step));
        self.off(main);
        while let Some(at) = self.nearest(changes.iter().map(|(at, _)| *at)) {
            self.go(at)?;
            let (here, rest): (Vec<_>, Vec<_>) = changes.into_iter().partition(|(place, _)| *place == at);
            changes = rest;
            // A lamp is changed without reaching past the plate.
            if here.iter().any(|(_, step)| !matches!(step, Step::Lamp(..))) {
                self.prove(at);
            }
            for (_, step) in here {
                self.make(step, at);
            }
        }
        let Rig { on, off, .. } = self.errand.after.rig;
        self.errand.after.rig = Rig { on, off, ..want.rig.clone() };
        Some(())
    }

    fn make(&mut self, step: Step, at: BoxId) {
        let work = &self.site.prices().work;
        let minutes = match step {
            Step::TakeOut(_) => work.take_out,
            Step::PutBack(_) => work.put_back,
            Step::Lift(_) => work.lift,
            Step::Rejoin(_) => work.rejoin,
            Step::Lamp(..) => work.lamp,
            _ => work.bridge,
        };
        if matches!(step, Step::TakeOut(_) | Step::PutBack(_) | Step::Lift(_) | Step::Rejoin(_)) {
            self.disturb(at);
        }
        // It has to come off again, whatever is asked next.
        if matches!(step, Step::Bridge(..)) {
            self.errand.penalty += work.bridge;
        }
        self.step(step, minutes);
    }

    fn nearest(&self, boxes: impl Iterator<Item = BoxId>) -> Option<BoxId> {
        let from = self.errand.after.at;
        boxes.min_by(|a, b| {
            let (near, far) = (travel(self.site, from, *a), travel(self.site, from, *b));
            near.total_cmp(&far).then(a.cmp(b))
        })
    }

    /// Handles first where the power is off; where it is on and stays on they are flipped one by one, and never through a
    /// barred position.
    fn power_and_handles(&mut self, want: &Want) -> Option<()> {
        if !want.rig.on || (self.errand.after.rig.on && !self.passes(want)) {
            self.off(false);
        }
        while let Some((at, switch, second)) = self.next_flip(want) {
            self.go(self.site.house().device(switch).at)?;
            let minutes = self.site.prices().work.flip;
            self.step(Step::Flip(switch, second), minutes);
            self.errand.after.positions[at] = second;
        }
        if want.rig.on {
            self.on(want.rig.off);
        }
        Some(())
    }

    /// The next handle to flip: the nearest whose position passes through nothing barred.
    fn next_flip(&self, want: &Want) -> Option<(usize, DeviceId, bool)> {
        let after = &self.errand.after;
        let differ = self.site.house().switches().enumerate().filter(|(at, switch)| {
            after.positions[*at] != want.positions[*at] && !want.rig.out.contains(switch)
        });
        let through = |at: usize| {
            let mut passed = after.positions.clone();
            passed[at] = want.positions[at];
            after.rig.on && passed != want.positions && want.barred.contains(&passed)
        };
        let near = |switch: DeviceId| travel(self.site, after.at, self.site.house().device(switch).at);
        let best = differ.min_by(|a, b| {
            through(a.0).cmp(&through(b.0)).then(near(a.1).total_cmp(&near(b.1))).then(a.0.cmp(&b.0))
        });
        best.map(|(at, switch)| (at, switch, want.positions[at]))
    }

    /// Whether the handles can be flipped one by one with the power on.
    fn passes(&self, want: &Want) -> bool {
        let mut trial = Way { site: self.site, errand: self.errand.clone() };
        while let Some((at, _, second)) = trial.next_flip(want) {
            trial.errand.after.positions[at] = second;
            let here = &trial.errand.after.positions;
            if here.as_slice() != want.positions && want.barred.contains(here) {
                return false;
            }
        }
        true
    }

    /// The reading itself.
    fn read(&mut self, want: &Want) -> Option<()> {
        let (work, factor, penalty) = {
            let prices = self.site.prices();
            (&prices.work, &prices.factor, &prices.penalty)
        };
        let Some(at) = want.at else {
            let flipped = self.errand.steps.iter().any(|step| matches!(step, Step::Flip(..)));
            self.errand.minutes += if flipped { 0.0 } else { work.flip };
            return Some(());
        };
        self.go(at)?;
        if want.to_earth && !self.errand.after.earth {
            self.step(Step::Earth, work.reference);
            self.errand.after.earth = true;
        }
        if !want.rig.on {
            self.prove(at);
        }
        if let Some(far) = want.far.filter(|far| *far != at) {
            // It is run on the way there, and wound up on the way back.
            let stairs = floors(self.site, at, far) * self.site.prices().travel.floor;
            self.step(Step::Lead(at, far), work.lead + stairs);
            self.go(far)?;
            self.prove(far);
        }
        let ladder = self.site.house().outlet(at).reach == Reach::Ladder;
        let (times, held) = match (want.rig.on, ladder) {
            (false, _) => (1.0, 0.0),
            (true, false) => (factor.live, penalty.live),
            (true, true) => (factor.live_on_ladder, penalty.live_on_ladder),
        };
        self.errand.minutes += work.probe * want.probes as f64 * times;
        self.errand.penalty += held;
        Some(())
    }
}

/// What differs between two rigs, as steps at boxes.
fn changes(site: &Site, from: &Rig, to: &Rig) -> Vec<(BoxId, Step)> {
    let house = site.house();
    let mut steps = Vec::new();
    let of_device = |device: DeviceId| house.device(device).at;
    let of_wire = |wire: WireId| house.end(wire.end).at;
    for &(p, q) in from.jumpers.iter().filter(|pair| !to.jumpers.contains(pair)) {
        steps.extend(box_of(house, p, q).map(|at| (at, Step::Unbridge(p, q))));
    }
    for &wire in from.lifted.iter().filter(|wire| !to.lifted.contains(wire)) {
        steps.push((of_wire(wire), Step::Rejoin(wire)));
    }
    for &device in from.out.iter().filter(|device| !to.out.contains(device)) {
        steps.push((of_device(device), Step::PutBack(device)));
    }
    for &device in to.out.iter().filter(|device| !from.out.contains(device)) {
        steps.push((of_device(device), Step::TakeOut(device)));
    }
    for &wire in to.lifted.iter().filter(|wire| !from.lifted.contains(wire)) {
        steps.push((of_wire(wire), Step::Lift(wire)));
    }
    for (at, light) in house.lights().enumerate() {
        if from.lamps.get(at) != to.lamps.get(at) {
            steps.extend(to.lamps.get(at).map(|&lamp| (of_device(light), Step::Lamp(light, lamp))));
        }
    }
    for &(p, q) in to.jumpers.iter().filter(|pair| !from.jumpers.contains(pair)) {
        steps.extend(box_of(house, p, q).map(|at| (at, Step::Bridge(p, q))));
    }
    steps
}

/// The box where a jumper is put on.
fn box_of(house: &House, p: Point, q: Point) -> Option<BoxId> {
    match (p, q) {
        (Point::At(local), _) | (_, Point::At(local)) => Some(house.box_of(local)),
        _ => None,
    }
}
