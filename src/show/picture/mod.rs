//! The diagram as a picture: boxes one below the other, cables in the margin, every wire a line to what it is joined to.
//!
//! `scene` says what is to be shown, `order` in which order the boxes stand so that cables do not cross, `tracks` the
//! same for the wires inside a box, `paint` turns that into shapes, and `svg` writes the shapes out. Other forms draw
//! the same shapes.

mod order;
mod paint;
mod scene;
pub mod svg;
mod tracks;

use crate::house::House;
use crate::show::known::Known;
use crate::show::palette::Palette;
use crate::show::sheet::Style;
use crate::verdict::Verdict;

/// How a line is broken: the firmness of what it stands for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum Dash {
    /// Settled.
    #[default]
    Solid,
    /// Likely.
    Dashed,
    /// Not told yet.
    Dotted,
}

/// A colour: red, green, blue.
pub type Ink = [u8; 3];

/// What lines and letters are drawn in.
pub const BLACK: Ink = [22, 24, 26];
/// The paper.
pub const WHITE: Ink = [255, 255, 255];

/// A shape, in units of which a line of small print is eleven.
#[derive(Clone, PartialEq, Debug)]
pub enum Shape {
    /// A line through points.
    Line {
        /// From, through, to.
        points: Vec<(f64, f64)>,
        /// How thick.
        width: f64,
        /// Its colour.
        ink: Ink,
        /// How it is broken.
        dash: Dash,
    },
    /// A frame.
    Frame {
        /// Left, top, width, height.
        area: [f64; 4],
        /// Its paper.
        fill: Ink,
        /// How its border is broken.
        dash: Dash,
    },
    /// A round spot.
    Spot {
        /// Its middle.
        at: (f64, f64),
        /// Its radius.
        radius: f64,
        /// Whether it is filled.
        filled: bool,
    },
    /// A line of text.
    Text {
        /// Where it begins, on its base line.
        at: (f64, f64),
        /// Its height.
        size: f64,
        /// Whether it is bold.
        bold: bool,
        /// What it says, inert.
        text: String,
    },
}

/// A picture, and the same in words.
#[derive(Clone, PartialEq, Debug)]
pub struct Picture {
    /// How wide.
    pub width: f64,
    /// How high.
    pub height: f64,
    /// In the order they are drawn.
    pub shapes: Vec<Shape>,
    /// What it is a picture of.
    pub title: String,
    /// What it shows, for who cannot see it.
    pub description: String,
}

/// The wiring as found, as a picture.
pub fn picture(house: &House, verdict: &Verdict) -> Picture {
    of(&Known::new(house, verdict))
}

/// The same from what was looked up already.
pub(crate) fn of(known: &Known<'_>) -> Picture {
    let scene = scene::Scene::of(known);
    let plain = Style { width: 2000, plain: true, palette: Palette::PLAIN };
    let words = crate::show::draw::run_text(known, &plain);
    let description = words.split_whitespace().collect::<Vec<_>>().join(" ");
    paint::paint(&scene, description)
}

/// The lengths of a broken line: drawn, left out.
pub(crate) fn gaps(dash: Dash) -> Option<[f32; 2]> {
    match dash {
        Dash::Solid => None,
        Dash::Dashed => Some([9.0, 4.0]),
        Dash::Dotted => Some([2.0, 4.0]),
    }
}

/// How wide a text is, a little more rather than less: fonts differ.
pub(crate) fn measure(text: &str, size: f64, bold: bool) -> f64 {
    let em: f64 = text.chars().map(advance).sum();
    em * size * if bold { 1.08 } else { 1.0 }
}

fn advance(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | ' ' | 'f' | 't' | '/' => 0.31,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 0.95,
        'A'..='Z' => 0.74,
        ' '..='~' => 0.57,
        other => unicode_width::UnicodeWidthChar::width(other).map_or(0.0, |columns| columns as f64 * 0.7),
    }
}

/// The text, cut to a width with a sign that it was cut.
pub(crate) fn fit(text: &str, size: f64, bold: bool, width: f64) -> String {
    if measure(text, size, bold) <= width {
        return text.to_owned();
    }
    let mut cut = String::new();
    for letter in text.chars() {
        if measure(&cut, size, bold) + (advance(letter) + 1.0) * size > width {
            break;
        }
        cut.push(letter);
    }
    format!("{}…", cut.trim_end())
}
