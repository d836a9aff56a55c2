//! What to read while more wirings fit than can be listed: every wire of a box to earth, for as many positions of the
//! handles as there are; volts, or ohms where nothing is to be turned on or nobody has a voltage tester. Wires that read
//! otherwise under the same conditions are not one, and a wire that reads nothing is not the line: that cuts the search until it
//! can be listed.

use super::beware::{Doing, cautions};
use super::errand::{Errand, Want};
use super::report::Suggestion;
use super::rig::{Present, Rig};
use super::rigs;
use super::round::Query;
use super::site::Site;
use super::suggest;
use super::taken::Taken;
use crate::call::InstrumentKind;
use crate::house::{BoxId, LocalPoint, Point};

/// How wires are read.
struct Way {
    rig: Rig,
    ask: &'static str,
    with: InstrumentKind,
}

/// A box with the points that were not read yet.
struct Look {
    at: BoxId,
    points: Vec<Point>,
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
/// Those with the handles as they are, and then the others.
pub fn suggestions(site: &Site, present: &Present, taken: &Taken, dead_only: bool) -> [Vec<Suggestion>; 2] {
    let mut power = [true, false].into_iter().filter(|on| !(*on && dead_only));
    let Some(way) = power.find_map(|on| way(site, present, on)) else {
        return [Vec::new(), Vec::new()];
    };
    let trips = |positions: &Vec<bool>| way.rig.on && site.tripped_at(&way.rig.out, positions);
    let (barred, free): (Vec<_>, Vec<_>) = positions(present).into_iter().partition(trips);
    let mut looks: Vec<Look> = Vec::new();
    for positions in &free {
        let want = |at| Want {
            rig: &way.rig,
            positions,
            at: Some(at),
            far: None,
            probes: 0,
            to_earth: true,
            barred: &barred,
        };
        looks.extend(site.boxes().filter_map(|at| look(site, present, taken, &way, &want(at))));
    }
    looks.sort_by(|a, b| b.rate().total_cmp(&a.rate()));
    let (here, others): (Vec<_>, Vec<_>) =
        looks.into_iter().partition(|look| look.positions == present.positions);
    [here, others].map(|looks| looks.iter().map(|look| written(site, &way, look)).collect())
}

/// How to read with the power on or off, if that may be done. What tells a ghost from line comes first.
fn way(site: &Site, present: &Present, on: bool) -> Option<Way> {
    use InstrumentKind::{Continuity, HighImpedance, LowImpedance, Solenoid, TwoPole};
    let rig = Rig { on, off: None, jumpers: Vec::new(), ..present.rig.clone() };
    let (ask, testers): (_, &[InstrumentKind]) = match on {
        true => ("volts", &[LowImpedance, TwoPole, Solenoid, HighImpedance]),
        false => ("ohms", &[HighImpedance, Continuity]),
    };
    let with = testers.iter().copied().find(|kind| site.tester(*kind).is_some());
    with.filter(|_| rigs::allowed(site, present, &rig)).map(|with| Way { rig, ask, with })
}

/// Every way the handles can stand, the present one first.
fn positions(present: &Present) -> Vec<Vec<bool>> {
    let switches = present.positions.len().min(MOST);
    let stand = |bits: usize| {
        let turned = |(at, now): (usize, &bool)| now ^ (at < switches && bits >> at & 1 == 1);
        present.positions.iter().enumerate().map(turned).collect()
    };
    (0..1 << switches).map(stand).collect()
}

const BECAUSE: &str = "More wirings fit than can be listed. Wires that read otherwise under the same conditions are not one \
                       conductor: that leaves fewer.";

/// Of more switches than this the others are left as they are.
const MOST: usize = 6;

/// What is wanted in one box, if any of it is new.
fn look(site: &Site, present: &Present, taken: &Taken, way: &Way, want: &Want) -> Option<Look> {
    let (at, positions) = (want.at?, want.positions);
    let touched = want.rig.clusters(site.house(), at);
    let probed = touched.into_iter().map(|wires| Point::At(LocalPoint::Wire(wires[0])));
    let asks = |point: Point| match way.rig.on {
        true => Query::Volts(point, Point::Earth),
        false => Query::Ohms(point, Point::Earth),
    };
    let points: Vec<Point> =
        probed.filter(|point| !taken.has(want.rig, positions, asks(*point), Some(way.with))).collect();
    let want = Want { probes: points.len(), ..*want };
    let errand = Errand::to(site, present, &want).filter(|_| !points.is_empty())?;
    Some(Look { at, points, positions: positions.to_vec(), errand })
}

fn written(site: &Site, way: &Way, look: &Look) -> Suggestion {
    let house = site.house();
    let mut suggestion = suggest::bare(site, &look.errand, way.rig.on);
    suggestion.ask = way.ask.to_owned();
    suggestion.at = Some(house.outlet(look.at).name.clone());
    suggestion.with = Some(way.with);
    let names: Vec<String> = look.points.iter().map(|&point| house.point_name(point)).collect();
    suggest::between(&mut suggestion, names, house.point_name(Point::Earth));
    suggest::conditions(site, &mut suggestion, &way.rig, &look.positions);
    let doing = Doing {
        boxes: &[look.at],
        steps: &look.errand.steps,
        live: way.rig.on,
        opens: false,
        looks: false,
        bridged: false,
    };
    suggestion.cautions = cautions(site, &doing);
    suggestion.because = BECAUSE.to_owned();
    suggestion
}
