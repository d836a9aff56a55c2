//! What stands on a page: pieces that are not cut, made of marks.

use crate::show::picture::{BLACK, Dash, Shape};
use std::rc::Rc;

/// Something drawn.
#[derive(Clone, Debug)]
pub struct Mark {
    /// What, in points from its piece's top left.
    pub shape: Shape,
    /// The part of the structure that it belongs to; what only decorates or repeats belongs to none.
    pub part: Option<usize>,
}

/// What is not cut.
#[derive(Clone, Debug, Default)]
pub struct Piece {
    /// Room above it, except at the top of a page.
    pub above: f64,
    /// Its height.
    pub height: f64,
    /// Whether it is no good without what follows it.
    pub keep: bool,
    /// The part of its size that it may be made smaller to, where it fits its page then.
    pub least: Option<f64>,
    /// What is drawn.
    pub marks: Vec<Mark>,
    /// What stands above it once more where it begins a page.
    pub again: Option<Rc<Piece>>,
    /// The heading that it is, for the outline: its level and its text.
    pub heading: Option<(u8, String)>,
}

/// Pieces in reading order.
#[derive(Clone, Debug)]
pub enum Flow {
    /// A piece.
    Piece(Piece),
    /// What follows begins a page.
    NewPage,
}

/// What a part of the structure is.
#[derive(Clone, PartialEq, Debug)]
pub enum Kind {
    /// A heading of a level, with its text.
    Heading(u8, String),
    /// A paragraph.
    Paragraph,
    /// A list, counted or not.
    List(bool),
    /// What stands in a list.
    Item,
    /// The sign or word before an item.
    Label,
    /// What an item says.
    Body,
    /// Things that belong together.
    Section,
    /// A table.
    Table,
    /// What it is a table of.
    Caption,
    /// Its head.
    Head,
    /// Its rows.
    Rows,
    /// A row.
    Row,
    /// A cell that names its column.
    ColumnName,
    /// A cell that names its row.
    RowName,
    /// A cell.
    Cell,
    /// A picture, with what it shows.
    Figure(String),
}

/// A part of the structure.
#[derive(Clone, Debug)]
pub struct Node {
    /// What it is.
    pub kind: Kind,
    /// The number that its marks have; none where only its parts have any.
    pub part: Option<usize>,
    /// Its parts.
    pub inside: Vec<Node>,
}

impl Node {
    /// A part made of parts.
    pub fn of(kind: Kind, inside: Vec<Node>) -> Node {
        Node { kind, part: None, inside }
    }
}

/// A line of text.
pub fn text(at: (f64, f64), size: f64, bold: bool, text: &str, part: Option<usize>) -> Mark {
    Mark { shape: Shape::Text { at, size, bold, text: text.to_owned() }, part }
}

/// A straight line that only decorates.
pub fn rule(from: (f64, f64), to: (f64, f64), width: f64) -> Mark {
    Mark { shape: Shape::Line { points: vec![from, to], width, ink: BLACK, dash: Dash::Solid }, part: None }
}

/// The shape with every length scaled, then moved.
pub fn placed(shape: &Shape, scale: f64, (dx, dy): (f64, f64)) -> Shape {
    let point = |&(x, y): &(f64, f64)| (x * scale + dx, y * scale + dy);
    match shape {
        Shape::Line { points, width, ink, dash } => Shape::Line {
            points: points.iter().map(point).collect(),
            width: width * scale,
            ink: *ink,
            dash: *dash,
        },
        Shape::Frame { area: [x, y, width, height], fill, dash } => {
            let (x, y) = point(&(*x, *y));
            Shape::Frame { area: [x, y, width * scale, height * scale], fill: *fill, dash: *dash }
        }
        Shape::Spot { at, radius, filled } => {
            Shape::Spot { at: point(at), radius: radius * scale, filled: *filled }
        }
        Shape::Text { at, size, bold, text } => {
            Shape::Text { at: point(at), size: size * scale, bold: *bold, text: text.clone() }
        }
    }
}
