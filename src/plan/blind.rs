//! What to read while more wirings fit than can be listed: every wire of a box to earth, for as many positions of the
//! handles as there are. Wires that read otherwise under the same conditions are not one, and a wire that reads nothing is
//! not the line: that cuts the search until it can be listed.

use super::beware::{Doing, cautions};
use super::errand::{Errand, Want};
use super::report::Suggestion;
use super::rig::{Present, Rig};
use super::round::Query;
use super::site::Site;
use super::suggest;
use super::taken::Taken;
use crate::call::{InstrumentKind, Seen};
use crate::house::{BoxId, LocalPoint, Point};

/// A box with the points that were not read yet.
struct Look {
    at: BoxId,
    points: Vec<Point>,
    with: InstrumentKind,
    positions: Vec<bool>,
    errand: Errand,
}

impl Look {
    /// Points a minute.
    fn rate(&self) -> f64 {
        self.points.len() as f64 / self.errand.cost()
    }
}

/// The readings that tell of most points for their minutes; with everything as it is but for the power and the handles.
pub fn suggestions(site: &Site, present: &Present, taken: &Taken, top: usize) -> Vec<Suggestion> {
    let rig = Rig { on: true, jumpers: Vec::new(), ..present.rig.clone() };
    let open_neutral = rig.lifted.iter().any(|wire| site.maybe_neutral.contains(wire));
    let Some(with) = tester(site).filter(|_| !open_neutral) else { return Vec::new() };
    let mut looks: Vec<Look> = Vec::new();
    for positions in ways(site, present) {
        looks.extend(site.boxes().filter_map(|at| look(site, present, taken, &rig, at, with, &positions)));
    }
    looks.sort_by(|a, b| b.rate().total_cmp(&a.rate()));
    looks.iter().take(top.max(1)).map(|look| written(site, &rig, look)).collect()
}

/// What tells a ghost from line comes first.
fn tester(site: &Site) -> Option<InstrumentKind> {
    use InstrumentKind::{HighImpedance, LowImpedance, Solenoid, TwoPole};
    [LowImpedance, TwoPole, Solenoid, HighImpedance].into_iter().find(|kind| site.tester(*kind).is_some())
}

/// Every way the handles can stand but those in which something tripped, the present one first.
fn ways(site: &Site, present: &Present) -> Vec<Vec<bool>> {
    let tripped = |positions: &Vec<bool>| {
        let here = |said: &[Option<bool>]| said.iter().zip(positions).all(|(said, is)| *said == Some(*is));
        let trips = site.call.readings.iter().filter(|reading| reading.seen.contains(&Seen::Trips));
        trips.clone().any(|reading| here(&reading.conditions.positions))
    };
    let switches = present.positions.len().min(MOST);
    let way = |bits: usize| {
        let turned =
            |(at, now): (usize, &bool)| if at < switches { now ^ (bits >> at & 1 == 1) } else { *now };
        present.positions.iter().enumerate().map(turned).collect()
    };
    (0..1 << switches).map(way).filter(|positions| !tripped(positions)).collect()
}

/// Of more switches than this the others are left as they are.
const MOST: usize = 6;

fn look(
    site: &Site,
    present: &Present,
    taken: &Taken,
    rig: &Rig,
    at: BoxId,
    with: InstrumentKind,
    positions: &[bool],
) -> Option<Look> {
    let probed =
        rig.clusters(site.house(), at).into_iter().map(|wires| Point::At(LocalPoint::Wire(wires[0])));
    let fresh = |point: &Point| !taken.has(rig, positions, Query::Volts(*point, Point::Earth), Some(with));
    let points: Vec<Point> = probed.filter(fresh).collect();
    let want = Want { rig, positions, at: Some(at), far: None, probes: points.len(), barred: &[] };
    let errand = Errand::to(site, present, &want).filter(|_| !points.is_empty())?;
    Some(Look { at, points, with, positions: positions.to_vec(), errand })
}

fn written(site: &Site, rig: &Rig, look: &Look) -> Suggestion {
    let house = site.house();
    let mut suggestion = suggest::bare(site, &look.errand, true);
    suggestion.ask = "volts".to_owned();
    suggestion.at = Some(house.outlet(look.at).name.clone());
    suggestion.with = Some(look.with);
    let names: Vec<String> = look.points.iter().map(|&point| house.point_name(point)).collect();
    suggest::between(&mut suggestion, names, house.point_name(Point::Earth));
    suggest::conditions(site, &mut suggestion, rig, &look.positions);
    let doing =
        Doing { boxes: &[look.at], steps: &look.errand.steps, live: true, opens: false, looks: false };
    suggestion.cautions = cautions(site, &doing);
    suggestion.because =
        "More wirings fit than can be listed. Wires that read otherwise under the same conditions are \
                          not one conductor: that leaves fewer."
            .to_owned();
    suggestion
}
