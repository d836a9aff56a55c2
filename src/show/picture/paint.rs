//! The scene as shapes.

use super::order::lanes;
use super::scene::{Band, STEPS, Scene, WireLine};
use super::tracks::Placed;
use super::{BLACK, Dash, Ink, Picture, Shape, WHITE, fit, measure};

const SMALL: f64 = 11.0;
const LARGE: f64 = 13.0;
/// From the top of a band to the head of its first cable.
const TOP: f64 = 22.0;
const LANE: f64 = 13.0;
const TRACK: f64 = 13.0;
/// From the left of a band to where its wires begin.
const INSET: f64 = 14.0;
const GAP: f64 = 11.0;
/// No label is wider.
const WIDEST: f64 = 280.0;
/// What the legend takes.
const LEGEND: f64 = 525.0;
const DEVICE: f64 = 190.0;

/// Where a band stands, and what is in it.
struct Laid<'a> {
    band: &'a Band,
    placed: &'a Placed,
    top: f64,
    height: f64,
}

/// The upright lines of the whole picture.
struct Columns {
    /// The left of the bands.
    left: f64,
    /// Where labels end.
    labels: f64,
    /// Where devices begin.
    devices: f64,
    /// The right of the bands.
    right: f64,
}

pub(super) fn paint(scene: &Scene, description: String) -> Picture {
    let mut top = 4.0;
    let mut laid: Vec<Laid<'_>> = Vec::new();
    for band in &scene.bands {
        let placed = &band.placed;
        let height = height(band, placed);
        laid.push(Laid { band, placed, top, height });
        top += height + GAP;
    }
    let spans: Vec<(f64, f64)> = scene
        .cables
        .iter()
        .map(|cable| {
            let [upper, lower] =
                cable.ends.map(|(band, port)| laid[band].top + port_height(&laid[band], port));
            (upper, lower)
        })
        .collect();
    let lanes = lanes(&spans);
    let columns = columns(&laid, lanes.iter().max().map_or(0, |most| most + 1));
    let mut shapes = Vec::new();
    for one in &laid {
        draw_band(&mut shapes, one, &columns);
    }
    for ((cable, span), lane) in scene.cables.iter().zip(&spans).zip(&lanes) {
        let x = columns.left - GAP - *lane as f64 * LANE;
        let points =
            vec![(columns.left + INSET, span.0), (x, span.0), (x, span.1), (columns.left + INSET, span.1)];
        cased(&mut shapes, points, 6.0, WHITE, cable.dash);
    }
    legend(&mut shapes, top, columns.left);
    Picture {
        width: columns.right + 4.0,
        height: top + 44.0,
        shapes,
        title: "The wiring as found".to_owned(),
        description,
    }
}

fn height(band: &Band, placed: &Placed) -> f64 {
    let cables = band.ports.iter().map(|p| STEPS.head + p.wires.len() as f64 * STEPS.row).sum::<f64>() - 8.0;
    let screws = placed.screws.iter().copied().fold(0.0, f64::max) + 14.0;
    let shut = band.devices.iter().filter(|d| d.screws.is_empty()).count() as f64 * 20.0;
    TOP + f64::max(cables, if placed.screws.is_empty() { 0.0 } else { screws })
        + shut
        + band.remarks.len() as f64 * 15.0
}

/// The height of a port from the top of its band.
fn port_height(laid: &Laid<'_>, port: usize) -> f64 {
    let above: f64 =
        laid.band.ports[..port].iter().map(|p| STEPS.head + p.wires.len() as f64 * STEPS.row).sum();
    TOP + above + 9.0
}

fn columns(laid: &[Laid<'_>], lanes: usize) -> Columns {
    let left = GAP + lanes as f64 * LANE + 6.0;
    let bands = || laid.iter().map(|l| l.band);
    let label = bands()
        .flat_map(|band| &band.wires)
        .map(|wire| measure(&wire.name, SMALL, true) + measure(&wire.role, SMALL, false) + 12.0)
        .chain(bands().flat_map(|band| &band.ports).map(|port| measure(&port.text, SMALL, false) - 14.0))
        .fold(150.0, f64::max);
    let tracks = laid.iter().map(|l| l.placed.order.len()).max().unwrap_or(0);
    let device = bands()
        .flat_map(|band| {
            let heads = band.devices.iter().map(|d| measure(&d.text, SMALL, true));
            heads.chain(band.screws.iter().map(|s| measure(s, SMALL, false) + 14.0)).collect::<Vec<_>>()
        })
        .fold(120.0, f64::max);
    // With room for a word behind a wire that ends by itself.
    let labels = left + INSET + label.min(WIDEST) + 22.0;
    let devices = labels + 44.0 + tracks as f64 * TRACK;
    let right = f64::max(devices + device.min(DEVICE) + 24.0, left + LEGEND);
    Columns { left, labels, devices, right }
}

fn draw_band(shapes: &mut Vec<Shape>, laid: &Laid<'_>, columns: &Columns) {
    let band = laid.band;
    let room = columns.right - columns.left;
    let dash = if band.seen { Dash::Solid } else { Dash::Dashed };
    let area = [columns.left, laid.top, room, laid.height];
    shapes.push(Shape::Frame { area, fill: WHITE, dash });
    let name = fit(&band.name, LARGE, true, room * 0.6);
    let beside = columns.left + 8.0 + measure(&name, LARGE, true) + 10.0;
    text(shapes, columns.left + 8.0, laid.top + 15.0, LARGE, true, name);
    text(
        shapes,
        beside,
        laid.top + 15.0,
        SMALL,
        false,
        fit(&band.what, SMALL, false, columns.right - beside),
    );
    for port in 0..band.ports.len() {
        draw_port(shapes, laid, port, columns);
    }
    draw_nets(shapes, laid, columns);
    // Labels last, so that nothing is drawn over them.
    for (n, wire) in band.wires.iter().enumerate() {
        label(shapes, wire, columns.left + INSET + 8.0, laid.top + TOP + laid.placed.wires[n]);
    }
    draw_devices(shapes, laid, columns);
    let first = laid.top + laid.height - band.remarks.len() as f64 * 15.0;
    for (n, remark) in band.remarks.iter().enumerate() {
        let said = fit(remark, SMALL, true, room - 16.0);
        text(shapes, columns.left + 8.0, first + n as f64 * 15.0 + 8.0, SMALL, true, said);
    }
}

fn draw_port(shapes: &mut Vec<Shape>, laid: &Laid<'_>, port: usize, columns: &Columns) {
    let y = laid.top + port_height(laid, port);
    let x = columns.left + INSET;
    let entry = &laid.band.ports[port];
    if entry.away {
        cased(shapes, vec![(columns.left - GAP, y), (x, y)], 6.0, WHITE, entry.dash);
    }
    let wires: Vec<f64> = entry.wires.iter().map(|&w| laid.top + TOP + laid.placed.wires[w]).collect();
    if let Some(last) = wires.iter().copied().max_by(f64::total_cmp) {
        shapes.push(Shape::Line {
            points: vec![(x, y), (x, last)],
            width: 1.5,
            ink: BLACK,
            dash: Dash::Solid,
        });
    }
    let room = if entry.wires.is_empty() { columns.right } else { columns.labels + 22.0 } - x - 12.0;
    text(shapes, x + 8.0, y + 4.0, SMALL, false, fit(&entry.text, SMALL, false, room));
}

/// A wire's own colour, as near as paper needs it.
fn ink(colour: &str) -> Ink {
    match colour {
        "black" => [40, 40, 40],
        "white" => WHITE,
        "red" => [200, 30, 30],
        "blue" => [40, 80, 190],
        "green" => [30, 130, 60],
        "yellow" => [240, 200, 40],
        "brown" => [120, 75, 40],
        "orange" => [240, 140, 30],
        "gray" | "grey" => [150, 150, 150],
        "bare" => [205, 140, 80],
        _ => [215, 215, 215],
    }
}

/// A line with an edge, so that white shows on paper.
fn cased(shapes: &mut Vec<Shape>, points: Vec<(f64, f64)>, width: f64, ink: Ink, dash: Dash) {
    shapes.push(Shape::Line { points: points.clone(), width, ink: BLACK, dash });
    shapes.push(Shape::Line { points, width: width - 2.0, ink, dash });
}

fn draw_nets(shapes: &mut Vec<Shape>, laid: &Laid<'_>, columns: &Columns) {
    let start = columns.left + INSET;
    let base = laid.top + TOP;
    for (n, wire) in laid.band.wires.iter().enumerate() {
        if let Some(why) = wire.loose {
            let y = base + laid.placed.wires[n];
            let end = columns.labels - 18.0;
            cased(shapes, vec![(start, y), (end, y)], 4.5, ink(&wire.colour), wire.dash);
            let bar = vec![(end, y - 5.0), (end, y + 5.0)];
            shapes.push(Shape::Line { points: bar, width: 2.5, ink: BLACK, dash: Dash::Solid });
            text(shapes, end + 6.0, y + 4.0, SMALL, false, why.to_owned());
        }
    }
    for (track, &n) in laid.placed.order.iter().enumerate() {
        let net = &laid.placed.field.nets[n];
        let x = columns.labels + 30.0 + track as f64 * TRACK;
        let wires: Vec<f64> = net.wires.iter().map(|&w| base + laid.placed.wires[w]).collect();
        let screws: Vec<f64> = net.screws.iter().map(|&s| base + laid.placed.screws[s]).collect();
        let dash = if laid.band.sure.get(n) == Some(&false) { Dash::Dashed } else { Dash::Solid };
        let plain = |points| Shape::Line { points, width: 2.0, ink: BLACK, dash };
        for (&wire, &y) in net.wires.iter().zip(&wires) {
            let wire = &laid.band.wires[wire];
            cased(shapes, vec![(start, y), (x, y)], 4.5, ink(&wire.colour), wire.dash);
        }
        shapes.extend(screws.iter().map(|&y| plain(vec![(x, y), (columns.devices, y)])));
        let all = || wires.iter().chain(&screws).copied();
        let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
        if high > low {
            shapes.push(plain(vec![(x, low), (x, high)]));
        }
        let spot = |&y: &f64| Shape::Spot { at: (x, y), radius: 3.5, filled: true };
        shapes.extend(wires.iter().map(spot));
        shapes.extend(screws.iter().filter(|y| !wires.contains(y)).map(spot));
    }
}

fn label(shapes: &mut Vec<Shape>, wire: &WireLine, x: f64, y: f64) {
    let name = fit(&wire.name, SMALL, true, WIDEST / 2.0);
    let beside = x + measure(&name, SMALL, true) + 8.0;
    let room = x + WIDEST - beside;
    text(shapes, x, y - 4.5, SMALL, true, name);
    text(shapes, beside, y - 4.5, SMALL, false, fit(&wire.role, SMALL, false, room));
}

fn draw_devices(shapes: &mut Vec<Shape>, laid: &Laid<'_>, columns: &Columns) {
    let base = laid.top + TOP;
    let x = columns.devices;
    let width = columns.right - x - 8.0;
    let mut below = laid.top
        + TOP
        + laid.band.ports.iter().map(|p| STEPS.head + p.wires.len() as f64 * STEPS.row).sum::<f64>()
        - 4.0;
    for device in &laid.band.devices {
        let heights: Vec<f64> = device.screws.iter().map(|&s| base + laid.placed.screws[s]).collect();
        let (Some(first), Some(last)) =
            (heights.iter().copied().min_by(f64::total_cmp), heights.iter().copied().max_by(f64::total_cmp))
        else {
            // In a box nobody opened: only that it is there.
            text(shapes, columns.left + 8.0, below + 8.0, SMALL, false, fit(&device.text, SMALL, false, x));
            below += 20.0;
            continue;
        };
        let top = first - 24.0;
        shapes.push(Shape::Frame { area: [x, top, width, last - top + 9.0], fill: WHITE, dash: Dash::Solid });
        text(shapes, x + 8.0, top + 12.0, SMALL, true, fit(&device.text, SMALL, true, width - 10.0));
        for (&screw, y) in device.screws.iter().zip(heights) {
            let filled = laid.placed.field.nets.iter().any(|net| net.screws.contains(&screw));
            shapes.push(Shape::Spot { at: (x, y), radius: 4.0, filled: false });
            if filled {
                shapes.push(Shape::Spot { at: (x, y), radius: 2.0, filled: true });
            }
            let said = fit(&laid.band.screws[screw], SMALL, false, width - 12.0);
            text(shapes, x + 10.0, y + 4.0, SMALL, false, said);
        }
    }
}

fn legend(shapes: &mut Vec<Shape>, top: f64, left: f64) {
    let mut x = left;
    let y = top + 8.0;
    for (dash, word) in [(Dash::Solid, "settled"), (Dash::Dashed, "likely"), (Dash::Dotted, "not told yet")] {
        cased(shapes, vec![(x, y), (x + 44.0, y)], 6.0, WHITE, dash);
        text(shapes, x + 50.0, y + 4.0, SMALL, false, word.to_owned());
        x += 64.0 + measure(word, SMALL, false) + 10.0;
    }
    shapes.push(Shape::Spot { at: (x + 4.0, y), radius: 3.5, filled: true });
    text(shapes, x + 14.0, y + 4.0, SMALL, false, "joined".to_owned());
    x += 66.0;
    shapes.push(Shape::Spot { at: (x, y), radius: 4.0, filled: false });
    text(shapes, x + 10.0, y + 4.0, SMALL, false, "a screw".to_owned());
    let line = "Wires have the colour seen at the box, and its name. \"Should be\" is no proof: test before touching.";
    text(shapes, left, y + 22.0, SMALL, false, line.to_owned());
}

fn text(shapes: &mut Vec<Shape>, x: f64, y: f64, size: f64, bold: bool, text: String) {
    if !text.is_empty() {
        shapes.push(Shape::Text { at: (x, y), size, bold, text });
    }
}
