//! Where the joints of a box are drawn: each is an upright line, its wires come from the left, its screws stand right.
//!
//! The order of wires in a cable, of screws on a device, and of the upright lines is free; it is chosen so that as few
//! lines as possible cross.

/// Something a joint holds: a wire at the left, by its row, or a screw at the right, by its number.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Net {
    pub wires: Vec<usize>,
    pub screws: Vec<usize>,
}

/// What is to be arranged.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Field {
    /// Wires by cable, from the top.
    pub cables: Vec<Vec<usize>>,
    /// Screws by device, from the top.
    pub devices: Vec<Vec<usize>>,
    pub nets: Vec<Net>,
}

/// Distances, in the picture's units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Steps {
    /// From the top of a cable to its first wire.
    pub head: f64,
    /// From wire to wire, and from screw to screw.
    pub row: f64,
    /// From the top of a device to its first screw.
    pub device: f64,
}

/// Where everything stands, heights counted from the top of the first cable.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Placed {
    pub field: Field,
    /// Height of each wire.
    pub wires: Vec<f64>,
    /// Height of each screw.
    pub screws: Vec<f64>,
    /// The nets from the left.
    pub order: Vec<usize>,
    pub crossings: usize,
}

/// The arrangement that no exchange of two wires, screws or devices makes better.
pub(super) fn arrange(field: &Field, steps: Steps) -> Placed {
    let mut best = place(&sorted(field, steps), steps);
    loop {
        let better = neighbours(&best.field).into_iter().map(|field| place(&field, steps));
        let Some(found) = better.min_by_key(|placed| placed.crossings) else { return best };
        if found.crossings >= best.crossings {
            return best;
        }
        best = found;
    }
}

/// Screws and devices in the order of the wires that go to them.
fn sorted(field: &Field, steps: Steps) -> Field {
    let wires = wire_heights(field, steps);
    let wish = |screw: usize| {
        let rows = field.nets.iter().find(|net| net.screws.contains(&screw)).map(|net| &net.wires);
        rows.and_then(|rows| rows.iter().map(|&w| wires[w]).min_by(f64::total_cmp)).unwrap_or(f64::INFINITY)
    };
    let mut out = field.clone();
    for device in &mut out.devices {
        device.sort_by(|&a, &b| wish(a).total_cmp(&wish(b)).then(a.cmp(&b)));
    }
    let first = |device: &Vec<usize>| device.first().map_or(f64::INFINITY, |&screw| wish(screw));
    out.devices.sort_by(|a, b| first(a).total_cmp(&first(b)));
    out
}

fn neighbours(field: &Field) -> Vec<Field> {
    let mut all = Vec::new();
    for n in 0..field.cables.len() {
        all.extend(swaps(field, field.cables[n].len(), |f, a, b| f.cables[n].swap(a, b)));
    }
    for n in 0..field.devices.len() {
        all.extend(swaps(field, field.devices[n].len(), |f, a, b| f.devices[n].swap(a, b)));
    }
    all.extend(swaps(field, field.devices.len(), |f, a, b| f.devices.swap(a, b)));
    all
}

fn swaps(field: &Field, count: usize, swap: impl Fn(&mut Field, usize, usize)) -> Vec<Field> {
    let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
    pairs
        .map(|(a, b)| {
            let mut other = field.clone();
            swap(&mut other, a, b);
            other
        })
        .collect()
}

fn wire_heights(field: &Field, steps: Steps) -> Vec<f64> {
    let mut heights = vec![0.0; field.cables.iter().map(Vec::len).sum()];
    let mut at = 0.0;
    for cable in &field.cables {
        at += steps.head;
        for &wire in cable {
            heights[wire] = at;
            at += steps.row;
        }
    }
    heights
}

fn place(field: &Field, steps: Steps) -> Placed {
    let wires = wire_heights(field, steps);
    let screws = screw_heights(field, &wires, steps);
    let (crossings, order) = best_order(&pins(field, &wires, &screws));
    Placed { field: field.clone(), wires, screws, order, crossings }
}

/// Each screw level with a wire of its own where there is room, else between the rows of others.
fn screw_heights(field: &Field, wires: &[f64], steps: Steps) -> Vec<f64> {
    let mut heights = vec![0.0; field.devices.iter().map(Vec::len).sum()];
    let mut free = 0.0;
    for device in &field.devices {
        free += steps.device;
        for &screw in device {
            let own = field.nets.iter().find(|net| net.screws.contains(&screw)).map_or(&[][..], |n| &n.wires);
            let level = own.iter().map(|&w| wires[w]).filter(|y| *y >= free).min_by(f64::total_cmp);
            let at = level.unwrap_or_else(|| between(wires, own, free, steps.row));
            heights[screw] = at;
            free = at + steps.row;
        }
    }
    heights
}

/// The first height from `from` on that is not on a row of another.
fn between(wires: &[f64], own: &[usize], from: f64, row: f64) -> f64 {
    let near =
        |at: f64| wires.iter().enumerate().any(|(n, y)| !own.contains(&n) && (y - at).abs() < row / 3.0);
    let mut at = from;
    while near(at) {
        at += row / 6.0;
    }
    at
}

/// The heights of a net: of its wires, of its screws.
type Pins = (Vec<f64>, Vec<f64>);

fn pins(field: &Field, wires: &[f64], screws: &[f64]) -> Vec<Pins> {
    let of = |all: &[f64], which: &[usize]| which.iter().map(|&n| all[n]).collect();
    field.nets.iter().map(|net| (of(wires, &net.wires), of(screws, &net.screws))).collect()
}

/// How often the lines of two nets cross if the first stands left of the second.
fn cost(left: &Pins, right: &Pins) -> usize {
    let within = |net: &Pins, y: &f64| {
        let all = || net.0.iter().chain(&net.1);
        all().any(|a| a < y) && all().any(|b| b > y)
    };
    right.0.iter().filter(|y| within(left, y)).count() + left.1.iter().filter(|y| within(right, y)).count()
}

/// More nets than this are taken as they come: no box in a house has so many.
const MOST: usize = 12;

/// The order from the left with the fewest crossings: for every set of nets, the best order in which they stand first.
fn best_order(nets: &[Pins]) -> (usize, Vec<usize>) {
    let count = nets.len();
    if count > MOST {
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        return (pairs.map(|(a, b)| cost(&nets[a], &nets[b])).sum(), (0..count).collect());
    }
    let costs: Vec<Vec<usize>> =
        nets.iter().map(|left| nets.iter().map(|right| cost(left, right)).collect()).collect();
    let mut best: Vec<(usize, usize)> = vec![(0, 0); 1 << count];
    for set in 1..1_usize << count {
        let members = || (0..count).filter(|n| set & (1 << n) != 0);
        best[set] = members()
            .map(|last| {
                let rest = set & !(1 << last);
                let added: usize = members().filter(|&n| n != last).map(|n| costs[n][last]).sum();
                (best[rest].0 + added, last)
            })
            .min()
            .unwrap_or_default();
    }
    let mut order = Vec::new();
    let mut set = (1 << count) - 1;
    while set != 0 {
        let last = best[set].1;
        order.push(last);
        set &= !(1 << last);
    }
    order.reverse();
    (best[(1 << count) - 1].0, order)
}

#[cfg(test)]
mod tests {
    use super::{Field, Net, Steps, arrange};

    const STEPS: Steps = Steps { head: 16.0, row: 18.0, device: 20.0 };

    fn net(wires: &[usize], screws: &[usize]) -> Net {
        Net { wires: wires.to_vec(), screws: screws.to_vec() }
    }

    /// Two cables, a three-way: however the screws are listed, three wires on three screws and one splice need no crossing.
    #[test]
    fn a_switch_is_drawn_flat() {
        let field = Field {
            cables: vec![vec![0, 1], vec![2, 3, 4]],
            devices: vec![vec![0, 1, 2]],
            nets: vec![net(&[0], &[2]), net(&[2], &[1]), net(&[3], &[0]), net(&[1, 4], &[])],
        };
        let placed = arrange(&field, STEPS);
        assert_eq!(placed.crossings, 0);
        let mut order = placed.order.clone();
        order.sort_unstable();
        assert_eq!(order, [0, 1, 2, 3]);
    }

    /// Two wires and a screw that a third net must get through: K(2,3)-like, drawn flat by putting the wire outside.
    #[test]
    fn wires_trade_places_where_that_saves_a_crossing() {
        let field = Field {
            cables: vec![vec![0, 1, 2]],
            devices: vec![vec![0]],
            nets: vec![net(&[0, 2], &[]), net(&[1], &[0])],
        };
        assert_eq!(arrange(&field, STEPS).crossings, 0);
    }
}
