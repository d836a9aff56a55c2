//! What to read while more wirings fit than can be listed: every wire of a box to earth, for as many positions of the
//! handles as there are. Wires that read otherwise under the same conditions are not one, and a wire that reads nothing is
//! not the line: that cuts the search until it can be listed.

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
/// Those with the handles as they are, and then the others.
pub fn suggestions(site: &Site, present: &Present, taken: &Taken) -> [Vec<Suggestion>; 2] {
    let rig = Rig { on: true, off: None, jumpers: Vec::new(), ..present.rig.clone() };
    let Some(with) = tester(site).filter(|_| rigs::allowed(site, present, &rig)) else {
        return [Vec::new(), Vec::new()];
    };
    let (barred, ways): (Vec<_>, Vec<_>) =
        ways(present).into_iter().partition(|way| site.tripped_at(&rig.out, way));
    let mut looks: Vec<Look> = Vec::new();
    for positions in &ways {
        let want = |at| Want {
            rig: &rig,
            positions,
            at: Some(at),
            far: None,
            probes: 0,
            to_earth: true,
            barred: &barred,
        };
        looks.extend(site.boxes().filter_map(|at| look(site, present, taken, with, &want(at))));
    }
    looks.sort_by(|a, b| b.rate().total_cmp(&a.rate()));
    let (here, others): (Vec<_>, Vec<_>) =
        looks.into_iter().partition(|look| look.positions == present.positions);
    [here, others].map(|looks| looks.iter().map(|look| written(site, &rig, look)).collect())
}

/// What tells a ghost from line comes first.
fn tester(site: &Site) -> Option<InstrumentKind> {
    use InstrumentKind::{HighImpedance, LowImpedance, Solenoid, TwoPole};
    [LowImpedance, TwoPole, Solenoid, HighImpedance].into_iter().find(|kind| site.tester(*kind).is_some())
}

/// Every way the handles can stand, the present one first.
fn ways(present: &Present) -> Vec<Vec<bool>> {
    let switches = present.positions.len().min(MOST);
    let way = |bits: usize| {
        let turned = |(at, now): (usize, &bool)| now ^ (at < switches && bits >> at & 1 == 1);
        present.positions.iter().enumerate().map(turned).collect()
    };
    (0..1 << switches).map(way).collect()
}

const BECAUSE: &str = "More wirings fit than can be listed. Wires that read otherwise under the same conditions are not one \
                       conductor: that leaves fewer.";

/// Of more switches than this the others are left as they are.
const MOST: usize = 6;

/// What is wanted in one box, if any of it is new.
fn look(site: &Site, present: &Present, taken: &Taken, with: InstrumentKind, want: &Want) -> Option<Look> {
    let (at, positions) = (want.at?, want.positions);
    let touched = want.rig.clusters(site.house(), at);
    let probed = touched.into_iter().map(|wires| Point::At(LocalPoint::Wire(wires[0])));
    let asks = |point: &Point| Query::Volts(*point, Point::Earth);
    let points: Vec<Point> =
        probed.filter(|point| !taken.has(want.rig, positions, asks(point), Some(with))).collect();
    let want = Want { probes: points.len(), ..*want };
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
    let doing = Doing {
        boxes: &[look.at],
        steps: &look.errand.steps,
        live: true,
        opens: false,
        looks: false,
        bridged: false,
    };
    suggestion.cautions = cautions(site, &doing);
    suggestion.because = BECAUSE.to_owned();
    suggestion
}
