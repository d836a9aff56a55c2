//! A picture as SVG: shapes and text, nothing that acts or is fetched.

use super::{BLACK, Dash, Ink, Picture, Shape};
use crate::show::text::escape;
use std::fmt::Write;

/// The picture as a file of its own.
pub fn file(picture: &Picture) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", element(picture))
}

/// The picture as an element, for a page.
pub fn element(picture: &Picture) -> String {
    let (width, height) = (picture.width.ceil(), picture.height.ceil());
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" role=\"img\" aria-labelledby=\"diagram-title\" aria-describedby=\"diagram-words\" \
         font-family=\"Liberation Sans, Arial, Helvetica, sans-serif\">\n"
    );
    let _ = writeln!(out, "<title id=\"diagram-title\">{}</title>", escape(&picture.title));
    let _ = writeln!(out, "<desc id=\"diagram-words\">{}</desc>", escape(&picture.description));
    for shape in &picture.shapes {
        let _ = writeln!(out, "{}", self::shape(shape));
    }
    out.push_str("</svg>\n");
    out
}

fn hex(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink[0], ink[1], ink[2])
}

/// A length to a tenth.
fn short(length: f64) -> f64 {
    (length * 10.0).round() / 10.0
}

fn broken(dash: Dash) -> String {
    super::gaps(dash).map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{on} {off}\""))
}

fn shape(shape: &Shape) -> String {
    match shape {
        Shape::Line { points, width, ink, dash } => {
            let points: Vec<String> =
                points.iter().map(|&(x, y)| format!("{},{}", short(x), short(y))).collect();
            format!(
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{}/>",
                points.join(" "),
                hex(*ink),
                short(*width),
                broken(*dash)
            )
        }
        Shape::Frame { area, fill, dash } => {
            let [x, y, width, height] = area.map(short);
            format!(
                "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{}\" stroke=\"{}\"{}/>",
                hex(*fill),
                hex(BLACK),
                broken(*dash)
            )
        }
        Shape::Spot { at, radius, filled } => {
            let fill = if *filled { BLACK } else { super::WHITE };
            format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\" stroke=\"{}\"/>",
                short(at.0),
                short(at.1),
                short(*radius),
                hex(fill),
                hex(BLACK)
            )
        }
        Shape::Text { at, size, bold, text } => {
            let weight = if *bold { " font-weight=\"bold\"" } else { "" };
            format!(
                "<text x=\"{}\" y=\"{}\" font-size=\"{size}\" fill=\"{}\"{weight}>{}</text>",
                short(at.0),
                short(at.1),
                hex(BLACK),
                escape(text)
            )
        }
    }
}
