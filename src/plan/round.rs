//! All that can be asked with power, lamps, devices and wires as they are, and what each of the walls would answer.

use super::belief::{Belief, State};
use super::rig::Rig;
use super::site::Site;
use crate::call::{Ask, Bins, InstrumentKind, LampState, Level, Seen};
use crate::house::{BoxId, DeviceId, EndId, LocalPoint, Point, WireId};
use crate::predict::{Ghosts, OTHER_LOADS, Scene, Tester, Trial, fit};

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
    /// For each walls, each of the other loads where they matter, and each way the handles are thrown inside, the place of
    /// its prediction in [`Round::shows`].
    codes: Vec<u8>,
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
    ways: u32,
    loads: usize,
    matters: u32,
}

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

    /// That of one question.
    pub fn of(query: Query) -> Scope {
        match query {
            Query::Light(_) => Scope::Look,
            Query::Cable(_) | Query::Wire(_) => Scope::Clamp,
            _ if query.is_to_earth() => Scope::ToEarth,
            _ => Scope::Pairs,
        }
    }
}

impl Round {
    /// Puts the questions of a scope to the walls.
    pub fn new(
        site: &Site,
        scene: &Scene,
        belief: &Belief,
        rig: &Rig,
        scope: Scope,
        ghosts: &mut Ghosts,
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
            let column = |query| Column { query, with: *with, alphabet: place, codes: Vec::new() };
            columns.extend(queries(ask).into_iter().map(column));
        }
        Round::filled(scene, belief, rig, (columns, alphabets), &asked, ghosts)
    }

    /// Puts some of the questions to other walls.
    pub fn again(&self, scene: &Scene, belief: &Belief, columns: &[Column], ghosts: &mut Ghosts) -> Round {
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
        ghosts: &mut Ghosts,
    ) -> Round {
        let asked: Vec<(Ask, Tester)> =
            asked.iter().map(|(ask, with)| (ask.clone(), with.unwrap_or(NOTHING))).collect();
        let trial = Trial::new(scene, &rig.setup(scene.facts), &asked);
        let mut round = Round {
            rig: rig.clone(),
            columns,
            alphabets,
            shows: Vec::new(),
            ways: 1 << scene.switches(),
            loads: trial.loads(),
            matters: trial.matters(),
        };
        round.fill(scene, belief, &trial, ghosts);
        round
    }

    fn fill(&mut self, scene: &Scene, belief: &Belief, trial: &Trial, ghosts: &mut Ghosts) {
        let cells = belief.walls.len() * self.loads * self.ways as usize;
        for column in &mut self.columns {
            column.codes = vec![0; cells];
        }
        for (at, &walls) in belief.walls.iter().enumerate() {
            for thrown in (0..self.ways).filter(|thrown| thrown & !self.matters == 0) {
                let cells: [usize; OTHER_LOADS.len()] =
                    std::array::from_fn(|load| self.cell(at, load, thrown));
                let Round { columns, alphabets, shows, loads, .. } = self;
                let mut next = columns.iter_mut();
                trial.answers(scene, walls, thrown, ghosts, |beside| {
                    let Some(column) = next.next() else { return };
                    for (bins, cell) in beside.iter().zip(cells).take(*loads) {
                        let shown = (alphabets[column.alphabet].of_bins(bins), bins[4] > 0.5);
                        column.codes[cell] = code(shows, shown);
                    }
                });
            }
        }
    }

    /// The place of what a state would show, with the handles so.
    pub fn code(&self, column: usize, state: &State, positions: u32) -> u8 {
        let thrown = (positions ^ state.sense) & self.matters;
        self.columns[column].codes[self.cell(state.walls, usize::from(state.load), thrown)]
    }

    fn cell(&self, walls: usize, load: usize, thrown: u32) -> usize {
        (walls * self.loads + load % self.loads) * self.ways as usize + thrown as usize
    }

    /// Whether an answer depends on what nobody knows of the house: its prediction is spread over several words.
    pub fn is_vague(&self, belief: &Belief, column: usize, positions: u32) -> bool {
        let (mut sure, mut whole) = (0.0, 0.0);
        for state in &belief.states {
            let shows = &self.shows[usize::from(self.code(column, state, positions))].0;
            sure += state.p * shows.iter().copied().fold(0.0, f64::max);
            whole += state.p;
        }
        sure < SURE * whole
    }

    /// Whether the handle of a switch can change an answer here.
    pub fn is_moved_by(&self, switch: usize) -> bool {
        self.matters >> switch & 1 == 1
    }

    /// The chance that the breaker opens with the handles so.
    pub fn trips(&self, belief: &Belief, positions: u32) -> f64 {
        if !self.rig.on || self.columns.is_empty() {
            return 0.0;
        }
        let trips = |state: &&State| self.shows[usize::from(self.code(0, state, positions))].1;
        belief.states.iter().filter(trips).map(|state| state.p).sum()
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
fn spots(site: &Site, rig: &Rig) -> Vec<(BoxId, Point)> {
    let of = |at: BoxId| {
        let clusters = rig.clusters(site.house(), at);
        clusters.into_iter().map(move |cluster| (at, Point::At(LocalPoint::Wire(cluster[0]))))
    };
    site.boxes().flat_map(of).collect()
}

/// The questions of a scope, each with what it is asked with.
fn questions(site: &Site, rig: &Rig, scope: Scope) -> Vec<Asked> {
    let spots = spots(site, rig);
    let earth = || spots.iter().map(|&(_, point)| (point, Point::Earth)).collect::<Vec<_>>();
    let near = || pairs(&spots, |p, q| p == q);
    let mut asked = Vec::new();
    match (scope, rig.on) {
        (Scope::Look, true) => asked.extend(look(site, rig)),
        (Scope::ToEarth, true) => {
            asked.extend(voltmeters(site).into_iter().map(|with| (Ask::Volts(earth()), Some(with))));
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
            asked.extend(ohmmeter(site).map(|with| (Ask::Ohms(earth()), Some(with))));
        }
        (Scope::Pairs, false) => {
            let all = pairs(&spots, |_, _| true);
            asked.extend(ohmmeter(site).map(|with| (Ask::Ohms(all), Some(with))));
        }
        (Scope::Look | Scope::Clamp, false) => {}
    }
    asked.retain(|(ask, _)| !queries(ask).is_empty());
    asked
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
