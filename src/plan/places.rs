//! What can be asked in which place, and what each state forecasts of it: what orders of readings are made of.

use super::belief::Belief;
use super::rig::Rig;
use super::round::{Query, Round, Scope};
use super::site::Site;
use super::taken::Taken;
use crate::house::{BoxId, House, Point};
use crate::predict::{Forecast, Ghosts, Scene};
use crate::workers;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::rc::Rc;

/// The chance of each word.
pub type Words = [f64; 5];

/// A word that is likelier than this is foreseen.
const FORESEEN: f64 = 0.995;

/// One answer: for each state what it forecasts.
#[derive(PartialEq, Debug)]
pub struct Answer {
    /// Its number: answers that every state forecasts alike have the same.
    pub id: u16,
    /// The numbers of the forecasts.
    pub codes: Vec<u16>,
    /// The words that are foreseen.
    pub words: Vec<Option<u8>>,
}

/// What can be asked at one place, with things set up and the handles so.
pub struct Place {
    /// Its number.
    pub id: u32,
    /// Power, lamps, devices, wires.
    pub rig: Rc<Rig>,
    /// The handles.
    pub positions: Vec<bool>,
    /// The box one stands in.
    pub at: Option<BoxId>,
    /// Another box that a lead goes to.
    pub far: Option<BoxId>,
    /// Whether earth has to be found for it.
    pub to_earth: bool,
    /// For each state, whether the breaker opens; nothing where it does for none.
    pub trips: Option<Rc<Vec<bool>>>,
    /// What is asked there.
    pub asked: Vec<Rc<Answer>>,
}

/// The places of the ways to set things up that were thought of.
pub struct Places<'e, 'a> {
    site: &'e Site<'a>,
    scene: &'e Scene<'a>,
    belief: &'e Belief<'a>,
    /// Readings not to be asked again.
    taken: &'e Taken,
    ghosts: Vec<Ghosts>,
    /// What is forecast: the chance of each word, and of each word where an answer tells nothing.
    forecasts: Vec<(Words, Words)>,
    answers: FxHashMap<Vec<u16>, Rc<Answer>>,
    known: BTreeMap<Rig, Rc<Vec<Rc<Place>>>>,
    count: u32,
}

impl<'e, 'a> Places<'e, 'a> {
    /// Begins.
    pub fn new(
        site: &'e Site<'a>,
        scene: &'e Scene<'a>,
        belief: &'e Belief<'a>,
        taken: &'e Taken,
    ) -> Places<'e, 'a> {
        let ghosts = workers::memories(|| Forecast::ghosts(scene));
        let (forecasts, answers, known) = (Vec::new(), FxHashMap::default(), BTreeMap::new());
        Places { site, scene, belief, taken, ghosts, forecasts, answers, known, count: 0 }
    }

    /// What can be asked in a rig.
    pub fn of(&mut self, rig: &Rig) -> Rc<Vec<Rc<Place>>> {
        if let Some(known) = self.known.get(rig) {
            return Rc::clone(known);
        }
        let mut places = Vec::new();
        // What a clamp shows takes long to work out, and in 40 drawn pairs of three-ways no call was shorter for it.
        for scope in [Scope::Look, Scope::ToEarth, Scope::Pairs] {
            let round = Round::new(self.site, self.scene, self.belief, rig, scope, &mut self.ghosts);
            if !round.columns.is_empty() {
                self.add(&round, &mut places);
            }
        }
        let places = Rc::new(places.into_iter().map(Rc::new).collect::<Vec<_>>());
        self.known.insert(rig.clone(), Rc::clone(&places));
        places
    }

    /// A forecast, by its number: the chance of each word, and of each where the answer tells nothing.
    pub fn forecast(&self, code: u16) -> &(Words, Words) {
        &self.forecasts[usize::from(code)]
    }

    fn add(&mut self, round: &Round, places: &mut Vec<Place>) {
        let switches = self.site.house().switches().count();
        let rig = Rc::new(round.rig.clone());
        for thrown in 0..1_u32 << switches {
            let positions: Vec<bool> = (0..switches).map(|at| thrown >> at & 1 == 1).collect();
            // Nothing is reset into a suspected short.
            if rig.on && self.site.tripped_at(&rig.out, &positions) {
                continue;
            }
            let trips = self.belief.states.iter();
            let trips = trips.map(|state| round.shows[usize::from(round.code(0, state, thrown))].1);
            let trips: Vec<bool> = trips.collect();
            let trips = (rig.on && trips.contains(&true)).then(|| Rc::new(trips));
            let start = places.len();
            for column in 0..round.columns.len() {
                let (query, with) = (round.columns[column].query, round.columns[column].with);
                let with = with.map(|with| with.kind);
                if self.taken.has(&round.rig, &positions, query, with) {
                    continue;
                }
                let answer = self.answer(round, column, thrown);
                if answer.codes.iter().all(|code| *code == answer.codes[0]) {
                    continue;
                }
                let to_earth = query.is_to_earth();
                for (at, far) in places_of(self.site.house(), query) {
                    let here = |place: &Place| (place.at, place.far, place.to_earth) == (at, far, to_earth);
                    let known = places[start..].iter().position(here);
                    let place = known.map_or(places.len(), |known| start + known);
                    if known.is_none() {
                        let (id, rig) = (self.count, Rc::clone(&rig));
                        let (positions, trips) = (positions.clone(), trips.clone());
                        places.push(Place {
                            id,
                            rig,
                            positions,
                            at,
                            far,
                            to_earth,
                            trips,
                            asked: Vec::new(),
                        });
                        self.count += 1;
                    }
                    if !places[place].asked.iter().any(|known| known.id == answer.id) {
                        places[place].asked.push(Rc::clone(&answer));
                    }
                }
            }
        }
    }

    /// An answer, with what each state forecasts of it.
    fn answer(&mut self, round: &Round, column: usize, thrown: u32) -> Rc<Answer> {
        let alphabet = &round.alphabets[round.columns[column].alphabet];
        let mut blind = [0.0; 5];
        blind.iter_mut().zip(&alphabet.blind).for_each(|(to, from)| *to = *from);
        let mut numbers: Vec<Option<u16>> = vec![None; round.shows.len()];
        let mut codes = Vec::with_capacity(self.belief.states.len());
        for state in &self.belief.states {
            let show = usize::from(round.code(column, state, thrown));
            let number = numbers[show].unwrap_or_else(|| self.number((round.shows[show].0, blind)));
            numbers[show] = Some(number);
            codes.push(number);
        }
        if let Some(known) = self.answers.get(&codes) {
            return Rc::clone(known);
        }
        let word = |code: &u16| {
            let words = self.forecasts[usize::from(*code)].0;
            words.iter().position(|p| *p >= FORESEEN).map(|word| word as u8)
        };
        let words = codes.iter().map(word).collect();
        let answer = Rc::new(Answer { id: self.answers.len() as u16, codes: codes.clone(), words });
        self.answers.insert(codes, Rc::clone(&answer));
        answer
    }

    /// The number of a forecast.
    fn number(&mut self, forecast: (Words, Words)) -> u16 {
        let known = self.forecasts.iter().position(|known| *known == forecast);
        known.unwrap_or_else(|| {
            self.forecasts.push(forecast);
            self.forecasts.len() - 1
        }) as u16
    }
}

/// The box one stands in, and another that a lead goes to.
type Where = (Option<BoxId>, Option<BoxId>);

/// Where a question can be asked.
fn places_of(house: &House, query: Query) -> Vec<Where> {
    let of = |point: Point| match point {
        Point::At(local) => Some(house.box_of(local)),
        Point::Earth => None,
    };
    match query {
        Query::Light(_) => vec![(None, None)],
        Query::Cable(end) => vec![(Some(house.end(end).at), None)],
        Query::Wire(wire) => vec![(Some(house.end(wire.end).at), None)],
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => match (of(p), of(q)) {
            (a, b) if a == b => vec![(a, None)],
            (Some(at), None) | (None, Some(at)) => vec![(Some(at), None)],
            (a, b) => vec![(a, b), (b, a)],
        },
    }
}
