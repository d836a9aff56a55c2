//! The diagram, as large as it has to be.

use super::piece::{Kind, Mark, Piece, placed};
use super::set::Setter;
use crate::show::picture::{Picture, Shape};

/// Small print, of eleven units, is 8 points.
const SCALE: f64 = 8.0 / 11.0;
/// What spares a page may make it 6.8 points.
const LEAST: f64 = 6.8 / 8.0;

/// Sets a picture: on one page where it can be read there, else cut where nothing but cables is cut.
pub fn set(setter: &mut Setter<'_>, picture: &Picture) {
    let (part, node) = setter.part(Kind::Figure(format!("{}. {}", picture.title, picture.description)));
    let room = setter.height - 40.0;
    // A page that is too narrow wins over the size of letters: what is cut off is not read at all.
    let scale = SCALE.min(setter.width / picture.width);
    let mut from = 0.0;
    while from < picture.height {
        let to = cut(picture, from, from + room / scale);
        let height = (to - from) * scale;
        let shapes = picture.shapes.iter().flat_map(|shape| within(shape, from, to));
        let place = |shape: Shape| placed(&shape, scale, (0.0, -from * scale));
        let marks = shapes.map(|shape| Mark { shape: place(shape), part: Some(part) }).collect();
        // Parts of one picture are all of one size.
        let least = (height >= picture.height * scale).then_some(LEAST);
        setter.add([Piece { above: 4.0, height, marks, least, ..Piece::default() }]);
        from = to;
    }
    setter.grow(node);
}

/// The lowest place above `limit` that goes through no frame and no text.
fn cut(picture: &Picture, from: f64, limit: f64) -> f64 {
    if picture.height <= limit {
        return picture.height;
    }
    let free = |y: f64| {
        picture.shapes.iter().all(|shape| {
            let (top, bottom) = extent(shape);
            matches!(shape, Shape::Line { .. }) || y <= top || y >= bottom
        })
    };
    let ends = picture.shapes.iter().filter(|shape| matches!(shape, Shape::Frame { .. }));
    let ends = ends.map(|shape| extent(shape).1 + 1.0).filter(|&y| y > from && y <= limit && free(y));
    ends.fold(None, |lowest: Option<f64>, y| Some(lowest.map_or(y, |lowest| lowest.max(y)))).unwrap_or(limit)
}

fn extent(shape: &Shape) -> (f64, f64) {
    match shape {
        Shape::Line { points, .. } => points
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(top, bottom), (_, y)| (top.min(*y), bottom.max(*y))),
        Shape::Frame { area: [_, y, _, height], .. } => (*y, y + height),
        Shape::Spot { at, radius, .. } => (at.1 - radius, at.1 + radius),
        Shape::Text { at, size, .. } => (at.1 - size, at.1 + size * 0.25),
    }
}

/// The part of a shape between two heights: whole for what begins there, the rest cut off a line that goes on.
fn within(shape: &Shape, from: f64, to: f64) -> Vec<Shape> {
    let (top, bottom) = extent(shape);
    match shape {
        _ if top >= from && bottom <= to => vec![shape.clone()],
        Shape::Line { points, width, ink, dash } => {
            let pieces = cut_line(points, from, to);
            let line = |points| Shape::Line { points, width: *width, ink: *ink, dash: *dash };
            pieces.into_iter().map(line).collect()
        }
        _ if top >= from && top < to => vec![shape.clone()],
        _ => Vec::new(),
    }
}

/// What is left of a line of level and upright steps between two heights.
fn cut_line(points: &[(f64, f64)], from: f64, to: f64) -> Vec<Vec<(f64, f64)>> {
    let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
    for step in points.windows(2) {
        let [(x, y), (right, low)] = [step[0], step[1]];
        if f64::max(y, low) < from || f64::min(y, low) > to {
            continue;
        }
        let (start, end) = ((x, y.clamp(from, to)), (right, low.clamp(from, to)));
        match pieces.last_mut() {
            Some(last) if last.last() == Some(&start) => last.push(end),
            _ => pieces.push(vec![start, end]),
        }
    }
    pieces
}
