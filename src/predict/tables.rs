//! One reading against many walls: what does not depend on the walls is worked out once.

use super::bins::{TRIPS, only};
use super::fit::{self, Tester};
use super::ghost::Ghosts;
use super::nets::{NetId, Nets};
use super::network::{Assumed, Full};
use super::scene::{Opened, Scene, Setup, Spot};
use super::{BEYOND, OTHER_LOADS, OtherLoad};
use crate::call::{Ask, Bins, Reading};
use crate::house::{DeviceId, Point};
use crate::wiring::Walls;
use rustc_hash::FxHashMap;

/// How well one answer fits some walls, for each way the switches may be thrown inside: bit `i` of the index is
/// switch `i`. An answer that depends on what else hangs on the circuit has this for each of [`OTHER_LOADS`] in turn, or
/// for those with the first by the feed where it is all one what hangs there.
pub type Table = Vec<f64>;

/// What one answer of a reading is about.
#[derive(Clone, Debug)]
enum Target {
    Volts(Option<Spot>, Option<Spot>),
    Ohms(Option<Spot>, Option<Spot>),
    Load(Option<Spot>, Option<Spot>),
    Light(DeviceId),
    Amps(Vec<usize>),
}

/// A question, ready to be put to walls.
struct Question {
    targets: Vec<Target>,
    tester: Tester,
    switches: Vec<DeviceId>,
    supply: f64,
}

impl Question {
    fn new(scene: &Scene, ask: &Ask, tester: Tester) -> Question {
        let spots = |pairs: &[(Point, Point)]| {
            pairs.iter().map(|&(p, q)| (scene.spot(p), scene.spot(q))).collect::<Vec<_>>()
        };
        let targets = match ask {
            Ask::Volts(pairs) => spots(pairs).into_iter().map(|(p, q)| Target::Volts(p, q)).collect(),
            Ask::Ohms(pairs) => spots(pairs).into_iter().map(|(p, q)| Target::Ohms(p, q)).collect(),
            Ask::Load(pairs) => spots(pairs).into_iter().map(|(p, q)| Target::Load(p, q)).collect(),
            Ask::Watch(lights) => lights.iter().map(|&light| Target::Light(light)).collect(),
            Ask::AmpsCable(end) => vec![Target::Amps(scene.facts.ends[usize::from(end.0)].wires().collect())],
            Ask::AmpsWire(wire) => vec![Target::Amps(vec![scene.facts.index(*wire)])],
        };
        Question { targets, tester, switches: scene.house.switches().collect(), supply: scene.house.supply }
    }

    /// The prediction for one answer: a distribution over the bins of its question. Without `ghosts`, what floats may be
    /// put down as nothing.
    fn bins(
        &self,
        scene: &Scene,
        opened: &Opened,
        nets: &Nets,
        thrown: u32,
        answer: usize,
        ghosts: Option<&mut Ghosts>,
    ) -> Bins {
        match &self.targets[answer] {
            Target::Volts(p, q) => {
                nets.volts(nets.at(*p), nets.at(*q), self.tester.ohms, self.tester.farads, ghosts)
            }
            Target::Ohms(p, q) => nets.ohms(nets.at(*p), nets.at(*q)),
            Target::Load(p, q) => {
                nets.load(nets.at(*p), nets.at(*q), self.supply * self.supply / self.tester.watts)
            }
            Target::Light(light) => nets.watch(nets.light(opened, *light)),
            Target::Amps(wires) => self.amps(scene, opened, nets, thrown, wires),
        }
    }

    /// The prediction for one answer beside each of the other loads.
    fn beside(
        &self,
        scene: &Scene,
        opened: &Opened,
        Beyond { nets, loaded }: &Beyond,
        thrown: u32,
        answer: usize,
        mut ghosts: Option<&mut Ghosts>,
    ) -> [Bins; OTHER_LOADS.len()] {
        if let Target::Ohms(p, q) = &self.targets[answer] {
            return nets.ohms_beside(nets.at(*p), nets.at(*q));
        }
        let mut bins = |nets: &Nets| self.bins(scene, opened, nets, thrown, answer, ghosts.as_deref_mut());
        let alone = bins(nets);
        let beyond = loaded.each_ref().map(|loaded| loaded.as_ref().map_or(alone, &mut bins));
        std::array::from_fn(|at| beyond[at % BEYOND.len()])
    }

    /// How many other loads the answers are worked out beside: dead ohms meet all of them, and where power flows none by the
    /// feed makes a difference.
    fn loads(&self) -> usize {
        let ohms = |target: &Target| matches!(target, Target::Ohms(..));
        if self.targets.iter().any(ohms) { OTHER_LOADS.len() } else { BEYOND.len() }
    }

    /// A clamp: none, some, -, -, trips.
    fn amps(&self, scene: &Scene, opened: &Opened, nets: &Nets, thrown: u32, wires: &[usize]) -> Bins {
        if !nets.power {
            return only(0);
        }
        if nets.shorted() {
            return TRIPS;
        }
        let assumed = Assumed { metres: super::METRES[1], other: OtherLoad::NONE, supply: self.supply };
        let full = Full::build(scene, nets.walls, opened, thrown, assumed, false);
        let amps = full.and_then(|full| full.amps(wires.iter().copied())).unwrap_or(0.0);
        // What is near the resolution may show or not; another load may lie beyond, and on another circuit something is on
        // as often as not.
        if amps >= self.tester.resolves {
            [0.05, 0.95, 0.0, 0.0, 0.0]
        } else if wires.iter().any(|&wire| nets.may_be_another(Spot::Wire(wire))) {
            [0.5, 0.5, 0.0, 0.0, 0.0]
        } else {
            [0.9, 0.1, 0.0, 0.0, 0.0]
        }
    }
}

/// Nets with nothing beyond the cables that go on, and with each of the loads there where that makes a difference.
struct Beyond<'a> {
    nets: Nets<'a>,
    loaded: [Option<Nets<'a>>; BEYOND.len()],
}

impl<'a> Beyond<'a> {
    fn new(nets: Nets<'a>) -> Beyond<'a> {
        let loaded = BEYOND.map(|ohms| nets.with_load_beyond(ohms?));
        Beyond { nets, loaded }
    }
}

/// What a question would be answered, for given walls, one setup, and one way the switches are thrown inside: for each
/// pair, light or cable of the question a distribution over its bins.
pub fn answer(
    scene: &Scene,
    walls: &Walls,
    setup: &Setup,
    thrown: u32,
    ask: &Ask,
    tester: Tester,
) -> Vec<Bins> {
    let question = Question::new(scene, ask, tester);
    let opened = scene.opened(setup);
    let nets = Nets::new(walls, &opened, thrown, &question.switches);
    let mut ghosts = Forecast::ghosts(scene);
    (0..question.targets.len())
        .map(|answer| question.bins(scene, &opened, &nets, thrown, answer, Some(&mut ghosts)))
        .collect()
}

/// Questions under one setup, ready to be put to walls: what is asked before anybody has measured.
pub struct Trial {
    opened: Opened,
    questions: Vec<Question>,
    matters: u32,
}

impl Trial {
    /// Prepares questions, each with what it is asked with.
    pub fn new(scene: &Scene, setup: &Setup, asked: &[(Ask, Tester)]) -> Trial {
        let any = |switch: usize| asked.iter().any(|(ask, _)| scene.matters(setup, switch, ask));
        let matters =
            (0..scene.switches()).filter(|&switch| any(switch)).fold(0, |bits, switch| bits | 1 << switch);
        let questions = asked.iter().map(|(ask, tester)| Question::new(scene, ask, *tester)).collect();
        Trial { opened: scene.opened(setup), questions, matters }
    }

    /// One bit a switch that the answers can depend on.
    pub fn matters(&self) -> u32 {
        self.matters
    }

    /// How many other loads the answers are worked out beside.
    pub fn loads(&self) -> usize {
        self.questions.iter().map(Question::loads).max().unwrap_or(1)
    }

    /// For each answer of each question, in order, a distribution over its bins beside each of the other loads; for one way
    /// the switches are thrown inside. It goes through `each` as it comes.
    pub fn answers(
        &self,
        scene: &Scene,
        walls: &Walls,
        thrown: u32,
        ghosts: &mut Ghosts,
        mut each: impl FnMut([Bins; OTHER_LOADS.len()]),
    ) {
        let Some(first) = self.questions.first() else { return };
        let beyond = Beyond::new(Nets::new(walls, &self.opened, thrown, &first.switches));
        let nets = &beyond.nets;
        // Many pairs of points are the same pair of nets.
        let mut ohms: FxHashMap<(NetId, NetId), [Bins; OTHER_LOADS.len()]> = FxHashMap::default();
        for question in &self.questions {
            for (answer, target) in question.targets.iter().enumerate() {
                let mut beside =
                    || question.beside(scene, &self.opened, &beyond, thrown, answer, Some(&mut *ghosts));
                each(match target {
                    Target::Ohms(p, q) => {
                        let (p, q) = (nets.at(*p), nets.at(*q));
                        *ohms.entry((p.min(q), p.max(q))).or_insert_with(beside)
                    }
                    _ => beside(),
                });
            }
        }
    }
}

/// A reading, ready to be held against walls.
pub struct Forecast {
    setups: Vec<(Opened, f64)>,
    question: Question,
    /// For each answer, how well it fits each bin.
    fits: Vec<Bins>,
    /// One bit a switch that the answer can depend on.
    matters: u32,
}

impl Forecast {
    /// Prepares a reading.
    pub fn new(scene: &Scene, reading: &Reading, tester: Tester) -> Forecast {
        let supply = scene.house.supply;
        let fits =
            reading.seen.iter().map(|&seen| fit::fit(&reading.ask, seen, Some(&tester), supply)).collect();
        let setups: Vec<_> = scene.setups(&reading.conditions);
        let matters = (0..scene.switches())
            .filter(|&switch| {
                setups.first().is_some_and(|(setup, _)| scene.matters(setup, switch, &reading.ask))
            })
            .fold(0, |bits, switch| bits | 1 << switch);
        let question = Question::new(scene, &reading.ask, tester);
        Forecast {
            setups: setups.iter().map(|(setup, p)| (scene.opened(setup), *p)).collect(),
            question,
            fits,
            matters,
        }
    }

    /// An empty memory for what floats in a scene.
    pub fn ghosts(scene: &Scene) -> Ghosts {
        Ghosts::new(scene.facts)
    }

    /// How many answers the reading has.
    pub fn answers(&self) -> usize {
        self.question.targets.len().min(self.fits.len())
    }

    /// How many other loads the answers are worked out beside.
    pub fn loads(&self) -> usize {
        self.question.loads()
    }

    /// Whether another forecast for the same question and conditions comes to the same.
    pub fn says_as(&self, other: &Forecast) -> bool {
        self.fits == other.fits && self.question.tester == other.question.tester
    }

    /// How well an answer fits a bin drawn blindly.
    pub fn blind(&self, answer: usize) -> f64 {
        self.fits[answer].iter().sum::<f64>() / 5.0
    }

    /// One table an answer.
    pub fn tables(&self, scene: &Scene, walls: &Walls, ghosts: &mut Ghosts) -> Vec<Table> {
        let ways = 1u32 << self.question.switches.len();
        let loads = self.loads();
        let mut tables: Vec<Table> = vec![vec![0.0; loads * ways as usize]; self.answers()];
        for thrown in (0..ways).filter(|thrown| thrown & !self.matters == 0) {
            for (opened, share) in &self.setups {
                let beyond = Beyond::new(Nets::new(walls, opened, thrown, &self.question.switches));
                for (answer, table) in tables.iter_mut().enumerate() {
                    let fits = &self.fits[answer];
                    // Most answers fit whatever a floating wire may show as well as nothing: not at all.
                    let ghosts = (fits[..4] != [fits[0]; 4]).then_some(&mut *ghosts);
                    let beside = self.question.beside(scene, opened, &beyond, thrown, answer, ghosts);
                    for (bins, part) in beside.iter().zip(table.chunks_mut(ways as usize)) {
                        let fit: f64 = bins.iter().zip(fits).map(|(bin, fit)| bin * fit).sum();
                        part[thrown as usize] += share * fit;
                    }
                }
            }
        }
        for part in tables.iter_mut().flat_map(|table| table.chunks_mut(ways as usize)) {
            for thrown in 0..ways {
                part[thrown as usize] = part[(thrown & self.matters) as usize];
            }
        }
        tables
    }
}

/// The nets of points, by number: points with the same are joined with nothing between.
pub fn joined(scene: &Scene, walls: &Walls, opened: &Opened, thrown: u32, points: &[Point]) -> Vec<u8> {
    let switches: Vec<DeviceId> = scene.house.switches().collect();
    let nets = Nets::new(walls, opened, thrown, &switches);
    points.iter().map(|&point| nets.at(scene.spot(point))).collect()
}

/// What each light does, in the order of `House::lights`: lit, dim, glow, dark, trips.
pub fn watch(scene: &Scene, walls: &Walls, opened: &Opened, thrown: u32) -> Vec<Bins> {
    let switches: Vec<DeviceId> = scene.house.switches().collect();
    let nets = Nets::new(walls, opened, thrown, &switches);
    scene.house.lights().map(|light| nets.watch(nets.light(opened, light))).collect()
}
