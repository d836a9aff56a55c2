//! A pick written out: the question with every condition, what comes first, what it would tell.

use super::belief::Belief;
use super::beware::{Doing, cautions};
use super::campaign::Pick;
use super::errand::Errand;
use super::gain::{Gain, Table};
use super::report::{OneOrEach, Outcome, Reads, Suggestion};
use super::rig::Rig;
use super::round::{Column, Query, Round};
use super::say;
use super::search::USEFUL;
use super::site::Site;
use crate::call::LampState;
use crate::house::{BoxId, House, Point};
use crate::verdict::{FAINT, rounded};
use std::collections::BTreeMap;

/// Answers less likely than this are not listed.
const UNLIKELY: f64 = 1e-3;

/// A reading.
pub fn reading(site: &Site, belief: &Belief, round: &Round, pick: &Pick, table: &Table) -> Suggestion {
    let gain = table.weigh();
    let mut suggestion = bare(site, &pick.errand, round.rig.on);
    let columns: Vec<&Column> = pick.columns.iter().map(|&column| &round.columns[column]).collect();
    ask(site, &mut suggestion, &columns, pick);
    conditions(site, &mut suggestion, &round.rig, &pick.positions);
    let looks = columns.iter().all(|column| matches!(column.query, Query::Light(_)));
    let boxes: Vec<BoxId> = columns.iter().flat_map(|column| boxes(site.house(), column.query)).collect();
    let steps = &pick.errand.steps;
    let bridged = !round.rig.jumpers.is_empty();
    let doing = Doing { boxes: &boxes, steps, live: round.rig.on && !looks, opens: false, looks, bridged };
    suggestion.cautions = cautions(site, &doing);
    suggestion.bits = rounded(gain.bits);
    suggestion.outcomes = outcomes(belief, round, pick, table, &gain);
    suggestion.because = if pick.joint {
        "The light in every position of the switches, taken together, tells how it is switched.".to_owned()
    } else if gain.bits < USEFUL {
        "It tells little by itself, and lets what is read after it tell more.".to_owned()
    } else {
        say::because(site, belief, table, &gain)
    };
    suggestion
}

/// A suggestion with nothing asked yet.
pub fn bare(site: &Site, errand: &Errand, live: bool) -> Suggestion {
    Suggestion {
        ask: String::new(),
        at: None,
        between: None,
        points: None,
        to: None,
        around: None,
        light: None,
        lights: None,
        with: None,
        breaker: None,
        switches: None,
        lamp: None,
        out: None,
        lifted: None,
        jumpers: None,
        first: say::steps(site, &errand.steps, live),
        bits: 0.0,
        minutes: rounded(errand.minutes),
        live,
        outcomes: Vec::new(),
        because: String::new(),
        cautions: Vec::new(),
    }
}

fn boxes(house: &House, query: Query) -> Vec<BoxId> {
    let of = |point: Point| match point {
        Point::At(local) => Some(house.box_of(local)),
        Point::Earth => None,
    };
    match query {
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => {
            [p, q].into_iter().filter_map(of).collect()
        }
        Query::Cable(end) => vec![house.end(end).at],
        Query::Wire(wire) => vec![house.end(wire.end).at],
        Query::Light(_) => Vec::new(),
    }
}

/// The question itself.
fn ask(site: &Site, suggestion: &mut Suggestion, columns: &[&Column], pick: &Pick) {
    let house = site.house();
    let Some(first) = columns.first() else { return };
    suggestion.at = pick.at.map(|at| house.outlet(at).name.clone());
    suggestion.with = first.with.map(|with| with.kind);
    let word = match first.query {
        Query::Volts(..) => "volts",
        Query::Ohms(..) => "ohms",
        Query::Load(..) => "load",
        Query::Cable(end) => {
            suggestion.around = Some(house.end_name(end));
            "amps"
        }
        Query::Wire(wire) => {
            suggestion.around = Some(house.wire_name(wire));
            "amps"
        }
        Query::Light(light) => {
            if columns.len() == 1 {
                suggestion.light = Some(say::short(site, light));
            } else {
                let name = |column: &&Column| match column.query {
                    Query::Light(light) => Some(say::short(site, light)),
                    _ => None,
                };
                suggestion.lights = Some(columns.iter().filter_map(name).collect());
            }
            "watch"
        }
    };
    suggestion.ask = word.to_owned();
    let to = pick.to.unwrap_or(Point::Earth);
    let from = |query: Query| match query {
        Query::Volts(p, q) | Query::Ohms(p, q) | Query::Load(p, q) => Some(if p == to { q } else { p }),
        _ => None,
    };
    let points: Vec<String> =
        columns.iter().filter_map(|column| from(column.query)).map(|p| house.point_name(p)).collect();
    between(suggestion, points, house.point_name(to));
}

/// Points that are read against another.
pub fn between(suggestion: &mut Suggestion, points: Vec<String>, to: String) {
    match points.as_slice() {
        [] => {}
        [one] => suggestion.between = Some([one.clone(), to]),
        _ => {
            suggestion.points = Some(points);
            suggestion.to = Some(to);
        }
    }
}

/// Every condition.
pub fn conditions(site: &Site, suggestion: &mut Suggestion, rig: &Rig, positions: &[bool]) {
    let house = site.house();
    let word = |on: bool| if on { "on" } else { "off" }.to_owned();
    suggestion.breaker = Some(match rig.off {
        None => OneOrEach::One(word(rig.on)),
        Some(off) => {
            let feeds = house.feeds.iter().enumerate();
            OneOrEach::Each(feeds.map(|(at, feed)| (feed.name.clone(), word(at != off))).collect())
        }
    });
    let position = |(switch, second): (crate::house::DeviceId, &bool)| {
        (say::short(site, switch), house.position_word(switch, *second).to_owned())
    };
    suggestion.switches = Some(house.switches().zip(positions).map(position).collect());
    let lamp = |lamp: &LampState| match lamp {
        LampState::In => "in",
        LampState::Out => "out",
        LampState::Test => "test",
    };
    let same = rig.lamps.windows(2).all(|two| two[0] == two[1]);
    suggestion.lamp = match rig.lamps.first() {
        None => None,
        Some(first) if same => Some(OneOrEach::One(lamp(first).to_owned())),
        Some(_) => {
            let each = house.lights().zip(&rig.lamps);
            let each = each.map(|(light, state)| (say::short(site, light), lamp(state).to_owned()));
            Some(OneOrEach::Each(each.collect::<BTreeMap<_, _>>()))
        }
    };
    suggestion.out = Some(rig.out.iter().map(|&device| house.device_name(device)).collect());
    suggestion.lifted = Some(rig.lifted.iter().map(|&wire| house.wire_name(wire)).collect());
    suggestion.jumpers = Some(jumpers(site, rig));
}

/// The points that are bridged.
pub fn jumpers(site: &Site, rig: &Rig) -> Vec<[String; 2]> {
    let pair = |&(p, q): &(Point, Point)| [p, q].map(|point| site.house().point_name(point));
    rig.jumpers.iter().map(pair).collect()
}

/// What may be read, and how many classes that leaves, counted as the verdict will count them.
fn outcomes(belief: &Belief, round: &Round, pick: &Pick, table: &Table, gain: &Gain) -> Vec<Outcome> {
    let listed = gain.outcomes.iter();
    let listed = listed.filter(|outcome| !outcome.words.is_empty() && outcome.p >= UNLIKELY);
    let outcome = |outcome: &super::gain::Expected| {
        let word = |(word, &column): (&u8, &usize)| {
            round.alphabets[round.columns[column].alphabet].words[usize::from(*word)].to_owned()
        };
        let words: Vec<String> = outcome.words.iter().zip(&pick.columns).map(word).collect();
        let reads = match words.as_slice() {
            [one] => Reads::One(one.clone()),
            _ => Reads::List(words),
        };
        Outcome { reads, p: rounded(outcome.p), leaves: table.leaves(belief, outcome, FAINT) }
    };
    let mut outcomes: Vec<Outcome> = listed.map(outcome).collect();
    outcomes.sort_by(|a, b| b.p.total_cmp(&a.p));
    outcomes
}
