//! All that can be asked with power, lamps, devices and wires as they are, and what each of the walls would answer.

use super::belief::{Belief, State};
use super::gain::in_grains;
use super::rig::Rig;
use super::site::Site;
use crate::call::{Ask, Bins, InstrumentKind, LampState, Level, Seen};
use crate::house::{BoxId, DeviceId, DeviceKind, EndId, Joint, LocalPoint, Point, WireId};
use crate::predict::{Ghosts, Scene, Tester, Trial, fit};
use crate::wiring::Walls;
use crate::workers;
use rustc_hash::FxHashMap;

/// What one answer is about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Query {
    /// Volts between two points.
    Volts(Point, Point),
    /// Ohms between two points.
    Ohms(Point, Point),
    /// A test lamp between two points.
    Load(Point, Point),
    /// A clamp round a cable.
    Cable(EndId),
    /// A clamp round a wire.
    Wire(WireId),
    /// A light.
    Light(DeviceId),
}

impl Query {
    /// Whether one lead is on earth.
    pub fn is_to_earth(self) -> bool {
        match self {
            Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => [p, q].contains(&Point::Earth),
            Query::Cable(_) | Query::Wire(_) | Query::Light(_) => false,
        }
    }
}

impl Query {
    /// The question on its own.
    fn ask(self) -> Ask {
        match self {
            Query::Volts(p, q) => Ask::Volts(vec![(p, q)]),
            Query::Ohms(p, q) => Ask::Ohms(vec![(p, q)]),
            Query::Load(p, q) => Ask::Load(vec![(p, q)]),
            Query::Cable(end) => Ask::AmpsCable(end),
            Query::Wire(wire) => Ask::AmpsWire(wire),
            Query::Light(light) => Ask::Watch(vec![light]),
        }
    }
}

/// A question, and what it is asked with.
type Asked = (Ask, Option<Tester>);

/// One answer that can be asked for: a column of the table.
#[derive(Clone, Debug)]
pub struct Column {
    /// What it is about.
    pub query: Query,
    /// With what.
    pub with: Option<Tester>,
    /// Which words it is answered in, by place in [`Round::alphabets`].
    pub alphabet: usize,
    /// For each walls, each of the other loads where they matter, and each way the handles are thrown inside that matters, the
    /// place of its prediction in [`Round::shows`].
    codes: Vec<u8>,
    /// Whether each of its predictions is sure of one word.
    sure: bool,
}

/// The words that a question is answered in.
#[derive(Clone, PartialEq, Debug)]
pub struct Alphabet {
    /// The words, as a job file has them.
    pub words: Vec<&'static str>,
    /// For each word, how well it fits each bin.
    fits: Vec<Bins>,
    /// For each word, the chance of it where an answer is wrong.
    pub blind: Vec<f64>,
}

/// The table.
pub struct Round {
    /// How things stand.
    pub rig: Rig,
    /// One column an answer.
    pub columns: Vec<Column>,
    /// Words.
    pub alphabets: Vec<Alphabet>,
    /// Predictions that occur: for each word of the question, its probability where the answer is right; and whether the
    /// breaker opens.
    pub shows: Vec<([f64; 5], bool)>,
    /// What may be so, as far as it is told apart here, in the order of what it answers to the call.
    pub rows: Vec<State>,
    /// Bits that are open about that.
    pub open: f64,
    /// For each prediction, how sure it is of its likeliest word.
    surest: Vec<f64>,
    loads: usize,
    matters: u32,
    /// For each way the handles can be thrown inside its place among those that can change an answer, and how many these are.
    places: Vec<usize>,
    throws: usize,
}

/// Bins of a question that is answered in the words of an alphabet, as a key.
type Predicted = (usize, [u64; 5]);

/// What some walls predict: for each column, other load and throw its place in what was found.
struct Answered {
    places: Vec<u16>,
    found: Vec<Predicted>,
}

/// So many answers are worked out before they are numbered, and so many a worker takes at a time.
const AT_ONCE: usize = 1 << 22;
const AT_A_TIME: usize = 1 << 12;

/// A prediction that is surer than this of one word is not vague.
const SURE: f64 = 0.9;

/// Which questions a table has.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Scope {
    /// Looking at the lights.
    Look,
    /// Every point against earth.
    ToEarth,
    /// Pairs of points, the test lamp.
    Pairs,
    /// The clamp.
    Clamp,
}

impl Scope {
    /// All of them, the cheapest to work out first.
    pub const ALL: [Scope; 4] = [Scope::Look, Scope::ToEarth, Scope::Pairs, Scope::Clamp];
}

impl Round {
    /// Puts the questions of a scope to the walls.
    pub fn new(
        site: &Site,
        scene: &Scene,
        belief: &Belief,
        rig: &Rig,
        scope: Scope,
        ghosts: &mut [Ghosts],
    ) -> Round {
        let asked = questions(site, rig, scope);
        let mut columns: Vec<Column> = Vec::new();
        let mut alphabets: Vec<Alphabet> = Vec::new();
        for (ask, with) in &asked {
            let alphabet = Alphabet::of(ask, with.as_ref(), site.house().supply);
            let place = alphabets.iter().position(|known| *known == alphabet).unwrap_or_else(|| {
                alphabets.push(alphabet);
                alphabets.len() - 1
            });
            let column =
                |query| Column { query, with: *with, alphabet: place, codes: Vec::new(), sure: false };
            columns.extend(queries(ask).into_iter().map(column));
        }
        Round::filled(scene, belief, rig, (columns, alphabets), &asked, ghosts)
    }

    /// Puts some of the questions to other walls.
    pub fn again(&self, scene: &Scene, belief: &Belief, columns: &[Column], ghosts: &mut [Ghosts]) -> Round {
        let asked: Vec<Asked> = columns.iter().map(|column| (column.query.ask(), column.with)).collect();
        let table = (columns.to_vec(), self.alphabets.clone());
        Round::filled(scene, belief, &self.rig, table, &asked, ghosts)
    }

    fn filled(
        scene: &Scene,
        belief: &Belief,
        rig: &Rig,
        (columns, alphabets): (Vec<Column>, Vec<Alphabet>),
        asked: &[Asked],
        ghosts: &mut [Ghosts],
    ) -> Round {
        let asked: Vec<(Ask, Tester)> =
            asked.iter().map(|(ask, with)| (ask.clone(), with.unwrap_or(NOTHING))).collect();
        let trial = Trial::new(scene, &rig.setup(scene.facts), &asked);
        let mut round = Round {
            rig: rig.clone(),
            columns,
            alphabets,
            shows: Vec::new(),
            rows: Vec::new(),
            open: 0.0,
            surest: Vec::new(),
            loads: trial.loads(),
            matters: trial.matters(),
            places: vec![0; 1 << scene.switches()],
            throws: 1,
        };
        round.fill(scene, belief, &trial, ghosts);
        round.take_as_one(belief);
        round
    }

    /// Puts the questions to the walls, shared among the processors; predictions are numbered in the order of the walls.
    fn fill(&mut self, scene: &Scene, belief: &Belief, trial: &Trial, ghosts: &mut [Ghosts]) {
        let throws: Vec<u32> =
            (0..self.places.len() as u32).filter(|throw| throw & !self.matters == 0).collect();
        for (place, &thrown) in throws.iter().enumerate() {
            self.places[thrown as usize] = place;
        }
        self.throws = throws.len();
        let block = self.loads * self.throws;
        for column in &mut self.columns {
            column.codes = Vec::with_capacity(belief.walls.len() * block);
        }
        let each = (self.columns.len() * block).max(1);
        let mut numbers: FxHashMap<Predicted, u8> = FxHashMap::default();
        for some in belief.walls.chunks((AT_ONCE / each).max(1)) {
            let (round, throws) = (&*self, throws.as_slice());
            let work =
                |walls: &Walls, ghosts: &mut Ghosts| round.answered((scene, walls), trial, throws, ghosts);
            let done = workers::map_with(some.to_vec(), (AT_A_TIME / each).max(1), ghosts, work);
            let Round { columns, alphabets, shows, .. } = self;
            for Answered { places, found } in done {
                let number = |predicted: &Predicted| {
                    *numbers.entry(*predicted).or_insert_with(|| {
                        let (alphabet, bins) = (predicted.0, predicted.1.map(f64::from_bits));
                        code(shows, (alphabets[alphabet].of_bins(&bins), bins[4] > 0.5))
                    })
                };
                let found: Vec<u8> = found.iter().map(number).collect();
                for (column, places) in columns.iter_mut().zip(places.chunks(block)) {
                    column.codes.extend(places.iter().map(|place| found[usize::from(*place)]));
                }
            }
        }
    }

    /// What some walls predict of each column, beside each of the other loads and for each way the handles are thrown.
    fn answered(
        &self,
        (scene, walls): (&Scene, &Walls),
        trial: &Trial,
        throws: &[u32],
        ghosts: &mut Ghosts,
    ) -> Answered {
        let block = self.loads * throws.len();
        let mut answered = Answered { places: vec![0; self.columns.len() * block], found: Vec::new() };
        let mut known: FxHashMap<Predicted, u16> = FxHashMap::default();
        for (throw, &thrown) in throws.iter().enumerate() {
            let mut columns = self.columns.iter().enumerate();
            trial.answers(scene, walls, thrown, ghosts, |beside| {
                let Some((at, column)) = columns.next() else { return };
                let mut last: Option<(Predicted, u16)> = None;
                for (load, bins) in beside.iter().enumerate().take(self.loads) {
                    let predicted = (column.alphabet, bins.map(f64::to_bits));
                    // Most answers are the same whatever else hangs on the circuit.
                    let same = last.filter(|(last, _)| *last == predicted).map(|(_, place)| place);
                    let place = same.unwrap_or_else(|| {
                        *known.entry(predicted).or_insert_with(|| {
                            answered.found.push(predicted);
                            (answered.found.len() - 1) as u16
                        })
                    });
                    last = Some((predicted, place));
                    answered.places[at * block + load * throws.len() + throw] = place;
                }
            });
        }
        answered
    }

    /// States that no answer here tells apart taken as one, in the order of what they answer.
    fn take_as_one(&mut self, belief: &Belief) {
        let mut known: FxHashMap<(usize, u32, u8, usize), usize> = FxHashMap::default();
        for state in &belief.states {
            let (sense, load) = (state.sense & self.matters, state.load % self.loads as u8);
            let next = self.rows.len();
            let place = *known.entry((state.walls, sense, load, state.target)).or_insert(next);
            if place == next {
                self.rows.push(State { sense, load, p: 0.0, ..*state });
            }
            self.rows[place].p += state.p;
        }
        // A stable sort: rows that answer the call alike stay in the order of the walls.
        self.rows.sort_by_key(|row| row.target);
        self.open = in_grains(belief.bits_within());
        self.surest = self.shows.iter().map(|(words, _)| words.iter().copied().fold(0.0, f64::max)).collect();
        let sure: Vec<bool> = self.surest.iter().map(|surest| *surest >= SURE).collect();
        for column in &mut self.columns {
            column.sure = column.codes.iter().all(|code| sure[usize::from(*code)]);
        }
    }

    /// The place of what a state would show, with the handles so.
    pub fn code(&self, column: usize, state: &State, positions: u32) -> u8 {
        let thrown = (positions ^ state.sense) & self.matters;
        let block = state.walls * self.loads + usize::from(state.load) % self.loads;
        self.columns[column].codes[block * self.throws + self.places[thrown as usize]]
    }

    /// Whether an answer depends on what nobody knows of the house: its prediction is spread over several words.
    pub fn is_vague(&self, column: usize, positions: u32) -> bool {
        if self.columns[column].sure {
            return false;
        }
        let (mut sure, mut whole) = (0.0, 0.0);
        for row in &self.rows {
            sure += row.p * self.surest[usize::from(self.code(column, row, positions))];
            whole += row.p;
        }
        sure < SURE * whole
    }

    /// Whether the handle of a switch can change an answer here.
    pub fn is_moved_by(&self, switch: usize) -> bool {
        self.matters >> switch & 1 == 1
    }

    /// The chance that the breaker opens with the handles so.
    pub fn trips(&self, positions: u32) -> f64 {
        if !self.rig.on || self.columns.is_empty() {
            return 0.0;
        }
        let trips = |state: &&State| self.shows[usize::from(self.code(0, state, positions))].1;
        self.rows.iter().filter(trips).map(|state| state.p).sum()
    }
}

/// Handles as bits.
pub fn bits(positions: &[bool]) -> u32 {
    positions.iter().enumerate().fold(0, |bits, (at, second)| bits | u32::from(*second) << at)
}

/// Stands for an instrument where one only looks.
const NOTHING: Tester =
    Tester { kind: InstrumentKind::HighImpedance, ohms: 1e7, farads: 0.0, watts: 60.0, resolves: 0.1 };

fn code(shows: &mut Vec<([f64; 5], bool)>, shown: ([f64; 5], bool)) -> u8 {
    let known = shows.iter().position(|known| *known == shown);
    let place = known.unwrap_or_else(|| {
        // Past so many, the nearest one stands for it.
        if shows.len() < usize::from(u8::MAX) {
            shows.push(shown);
            shows.len() - 1
        } else {
            nearest(shows, &shown)
        }
    });
    place as u8
}

fn nearest(shows: &[([f64; 5], bool)], shown: &([f64; 5], bool)) -> usize {
    let apart = |known: &([f64; 5], bool)| -> f64 {
        known.0.iter().zip(&shown.0).map(|(a, b)| (a - b).abs()).sum::<f64>()
            + f64::from(u8::from(known.1 != shown.1))
    };
    let best = shows.iter().enumerate().min_by(|a, b| apart(a.1).total_cmp(&apart(b.1)));
    best.map_or(0, |(at, _)| at)
}

impl Alphabet {
    fn of(ask: &Ask, with: Option<&Tester>, supply: f64) -> Alphabet {
        let bin = |bin: u8| Seen::Bin(bin);
        let kind = with.map(|with| with.kind);
        let words: Vec<(&'static str, Seen)> = match (ask, kind) {
            (Ask::Volts(_), Some(InstrumentKind::NonContact)) => {
                vec![("alarm", Seen::Alarm(true)), ("silent", Seen::Alarm(false)), ("trips", Seen::Trips)]
            }
            (Ask::Volts(_), _) => vec![
                ("none", bin(0)),
                ("ghost", bin(1)),
                ("part", bin(2)),
                ("line", bin(3)),
                ("trips", Seen::Trips),
            ],
            (Ask::Ohms(_), Some(InstrumentKind::Continuity)) => {
                vec![("beep", Seen::Beep(true)), ("silent", Seen::Beep(false))]
            }
            (Ask::Ohms(_), _) => {
                vec![("closed", bin(0)), ("filament", bin(1)), ("load", bin(2)), ("open", bin(3))]
            }
            (Ask::Load(_), _) => vec![
                ("none", bin(Level::None as u8)),
                ("dim", bin(Level::Dim as u8)),
                ("bright", bin(Level::Bright as u8)),
                ("trips", Seen::Trips),
            ],
            (Ask::AmpsCable(_) | Ask::AmpsWire(_), _) => {
                vec![("none", bin(0)), ("some", bin(1)), ("trips", Seen::Trips)]
            }
            (Ask::Watch(_), _) => vec![
                ("lit", bin(0)),
                ("dim", bin(1)),
                ("glow", bin(2)),
                ("dark", bin(3)),
                ("trips", Seen::Trips),
            ],
        };
        let fits: Vec<Bins> = words.iter().map(|(_, seen)| fit(ask, *seen, with, supply)).collect();
        let blind = fits.iter().map(|fit| fit.iter().sum::<f64>() / 5.0).collect();
        Alphabet { words: words.into_iter().map(|(word, _)| word).collect(), fits, blind }
    }

    /// The chance of each word, where the bins have these.
    fn of_bins(&self, bins: &Bins) -> [f64; 5] {
        let mut words = [0.0; 5];
        for (word, fit) in words.iter_mut().zip(&self.fits) {
            *word = fit.iter().zip(bins).map(|(fit, bin)| fit * bin).sum();
        }
        words
    }
}

/// What each answer of a question is about.
pub fn queries(ask: &Ask) -> Vec<Query> {
    match ask {
        Ask::Volts(pairs) => pairs.iter().map(|&(p, q)| Query::Volts(p, q)).collect(),
        Ask::Ohms(pairs) => pairs.iter().map(|&(p, q)| Query::Ohms(p, q)).collect(),
        Ask::Load(pairs) => pairs.iter().map(|&(p, q)| Query::Load(p, q)).collect(),
        Ask::AmpsCable(end) => vec![Query::Cable(*end)],
        Ask::AmpsWire(wire) => vec![Query::Wire(*wire)],
        Ask::Watch(lights) => lights.iter().map(|&light| Query::Light(light)).collect(),
    }
}

/// One point for everything that touches, box by box.
pub fn spots(site: &Site, rig: &Rig) -> Vec<(BoxId, Point)> {
    let of = |at: BoxId| {
        let clusters = rig.clusters(site.house(), at);
        clusters.into_iter().map(move |cluster| (at, Point::At(LocalPoint::Wire(cluster[0]))))
    };
    site.boxes().flat_map(of).collect()
}

/// The questions of a scope, each with what it is asked with.
fn questions(site: &Site, rig: &Rig, scope: Scope) -> Vec<Asked> {
    let mut spots = spots(site, rig);
    let bridged = !rig.jumpers.is_empty();
    // In its own box a jumper tells nothing.
    spots.retain(|(at, _)| !bridged || !rig.has_jumper_at(site.house(), *at));
    let earth = || spots.iter().map(|&(_, point)| (point, Point::Earth)).collect::<Vec<_>>();
    let near = || pairs(&spots, |p, q| p == q);
    let mut asked = Vec::new();
    match (scope, rig.on) {
        (Scope::Look, true) => asked.extend(look(site, rig)),
        (Scope::ToEarth, true) => {
            let all = || earth().into_iter().chain(metal(site)).collect();
            asked.extend(voltmeters(site).into_iter().map(|with| (Ask::Volts(all()), Some(with))));
        }
        (Scope::Pairs, true) => {
            let contact = voltmeters(site).into_iter().filter(|with| with.kind != InstrumentKind::NonContact);
            asked.extend(contact.map(|with| (Ask::Volts(near()), Some(with))));
            let lamp = site.tester(InstrumentKind::TestLamp);
            asked.extend(lamp.map(|with| (Ask::Load(near()), Some(with))));
        }
        (Scope::Clamp, true) => {
            if let Some(clamp) = site.tester(InstrumentKind::Clamp) {
                asked.extend(clamped(site).into_iter().map(|ask| (ask, Some(clamp))));
            }
        }
        (Scope::ToEarth, false) => {
            let live = site.call.live_metal().into_iter().map(|at| (metal_of(at), Point::Earth));
            let all = earth().into_iter().chain(live.filter(|_| !bridged)).collect();
            asked.extend(ohmmeter(site).map(|with| (Ask::Ohms(all), Some(with))));
        }
        (Scope::Pairs, false) => {
            // With a jumper on no lead is run: it is there to save that.
            let mut all = pairs(&spots, |p, q| !bridged || p == q);
            all.extend(across_switches(site, rig).chain(on_live_metal(site, &spots)).filter(|_| !bridged));
            asked.extend(ohmmeter(site).map(|with| (Ask::Ohms(all), Some(with))));
        }
        (Scope::Look | Scope::Clamp, false) => {}
    }
    asked.retain(|(ask, _)| !queries(ask).is_empty());
    asked
}

/// The metal of boxes, each to earth, where no wire holds it: whether it is live.
fn metal(site: &Site) -> impl Iterator<Item = (Point, Point)> {
    let house = site.house();
    let is_held = move |at: &BoxId| {
        let holds = |joint: &Joint| joint.points.len() > 1 && joint.points.contains(&LocalPoint::Metal(*at));
        house.outlet(*at).joints.iter().any(holds)
    };
    let bare = site.boxes().filter(move |at| !is_held(at));
    bare.map(|at| (metal_of(at), Point::Earth))
}

fn metal_of(at: BoxId) -> Point {
    Point::At(LocalPoint::Metal(at))
}

/// Metal that read live with what is in its box: what touches it.
fn on_live_metal(site: &Site, spots: &[(BoxId, Point)]) -> Vec<(Point, Point)> {
    let live = site.call.live_metal();
    let here = spots.iter().filter(|(at, _)| live.contains(at));
    here.map(|&(at, point)| (point, metal_of(at))).collect()
}

/// The screws of switches that are off their boxes, or have no wires on them, each with each of its own: what a switch does by
/// itself. An ohmmeter says nothing firm of electronics.
fn across_switches(site: &Site, rig: &Rig) -> impl Iterator<Item = (Point, Point)> {
    let house = site.house();
    let has_contacts =
        |kind: DeviceKind| kind.is_switch() && !matches!(kind, DeviceKind::Dimmer | DeviceKind::Electronic);
    let hangs_free = move |device: &DeviceId| {
        (rig.out.contains(device) || !site.acts(*device)) && has_contacts(house.device(*device).kind)
    };
    let boxes: Vec<BoxId> = site.boxes().collect();
    let free = boxes.into_iter().flat_map(|at| &house.outlet(at).devices).copied().filter(hangs_free);
    free.flat_map(|device| {
        let screw = |terminal| Point::At(LocalPoint::Terminal(device, terminal));
        let screws: Vec<Point> = house.device(device).terminals().into_iter().map(screw).collect();
        let with_later = |at: usize| screws[at + 1..].iter().map(|&q| (screws[at], q)).collect::<Vec<_>>();
        (0..screws.len()).flat_map(with_later).collect::<Vec<_>>()
    })
}

fn pairs(spots: &[(BoxId, Point)], fits: impl Fn(BoxId, BoxId) -> bool) -> Vec<(Point, Point)> {
    let mut pairs = Vec::new();
    for (at, &(place, p)) in spots.iter().enumerate() {
        let others = spots[at + 1..].iter().filter(|(other, _)| fits(place, *other));
        pairs.extend(others.map(|&(_, q)| (p, q)));
    }
    pairs
}

fn look(site: &Site, rig: &Rig) -> Option<Asked> {
    let hangs = |light: &DeviceId| !rig.out.contains(light);
    let lights: Vec<DeviceId> = site.house().lights().filter(hangs).collect();
    let burn = rig.lamps.iter().any(|lamp| *lamp != LampState::Out);
    (burn && !lights.is_empty()).then_some((Ask::Watch(lights), None))
}

/// Voltmeters owned, those first that coupling moves least; a non-contact tester only where there is no other.
fn voltmeters(site: &Site) -> Vec<Tester> {
    use InstrumentKind::{HighImpedance, LowImpedance, Neon, NonContact, Solenoid, TwoPole};
    let kinds = [LowImpedance, TwoPole, Solenoid, HighImpedance, Neon];
    let mut owned: Vec<Tester> = kinds.into_iter().filter_map(|kind| site.tester(kind)).collect();
    owned.sort_by(|a, b| a.most_ghost().total_cmp(&b.most_ghost()));
    // Between the firmest and the most sensitive the others say nothing new.
    if owned.len() > 2 {
        owned.drain(1..owned.len() - 1);
    }
    if owned.is_empty() {
        owned.extend(site.tester(NonContact));
    }
    owned
}

/// What dead ohms are taken with: the meter, or the beeper of those who own none.
fn ohmmeter(site: &Site) -> Option<Tester> {
    site.tester(InstrumentKind::HighImpedance).or_else(|| site.tester(InstrumentKind::Continuity))
}

fn clamped(site: &Site) -> Vec<Ask> {
    let ends: Vec<EndId> = site.boxes().flat_map(|at| site.house().outlet(at).ends.clone()).collect();
    let wires = |end: &EndId| {
        let end = *end;
        (0..site.house().end(end).wires.len() as u8).map(move |wire| Ask::AmpsWire(WireId { end, wire }))
    };
    let whole = ends.iter().filter(|end| site.house().end(**end).wires.len() > 1);
    whole.map(|end| Ask::AmpsCable(*end)).chain(ends.iter().flat_map(wires)).collect()
}
