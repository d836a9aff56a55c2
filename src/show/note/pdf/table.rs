//! Tables: columns as wide as what is in them, rows that are not cut, the head on every page.

use super::lines::{lines, widest_word};
use super::pages::repeated;
use super::piece::{Kind, Node, Piece, rule, text};
use super::set::{LEADING, Setter};
use crate::show::picture::{Dash, Shape};

/// Between columns.
const GAP: f64 = 10.0;
/// Above and below what a row says.
const ROOM: f64 = 1.2;
/// A row of more lines than this is cut: no page holds it.
const LINES: usize = 40;
/// The lines between rows.
const GREY: [u8; 3] = [150, 150, 150];

/// Sets a table.
pub fn set(setter: &mut Setter<'_>, title: &str, head: &[String], rows: &[Vec<String>]) {
    let columns = columns(setter, head, rows);
    let (part, caption) = setter.part(Kind::Caption);
    let mut pieces = setter.column(false, title, 0.0, 0.0, part);
    pieces.iter_mut().for_each(|piece| piece.keep = true);
    if let Some(first) = pieces.first_mut() {
        first.above = 4.0;
    }
    let (names, mut tops) = row(setter, head, &columns, true);
    let again = tops.first().map(repeated);
    tops.iter_mut().for_each(|piece| piece.keep = true);
    pieces.extend(tops);
    let mut body = Vec::new();
    for cells in rows {
        let (node, mut cut) = row(setter, cells, &columns, false);
        cut.iter_mut().for_each(|piece| piece.again = again.clone());
        pieces.extend(cut);
        body.push(node);
    }
    // The last row has company.
    if let [.., last_but_one, _] = pieces.as_mut_slice() {
        last_but_one.keep = true;
    }
    setter.add(pieces);
    setter.grow(Node::of(
        Kind::Table,
        vec![caption, Node::of(Kind::Head, vec![names]), Node::of(Kind::Rows, body)],
    ));
}

/// Where each column begins, and how wide it is.
fn columns(setter: &Setter<'_>, head: &[String], rows: &[Vec<String>]) -> Vec<(f64, f64)> {
    let whole = setter.width - GAP * head.len().saturating_sub(1) as f64;
    let size = setter.size;
    let widest = |n: usize, of: &dyn Fn(&super::face::Face, &str) -> f64| {
        let cells = rows.iter().filter_map(|row| row.get(n)).map(|cell| of(setter.faces.of(false), cell));
        cells.chain(head.get(n).map(|name| of(setter.faces.of(true), name))).fold(0.0, f64::max) + 0.1
    };
    // What a column takes at least, and what it would like.
    let needs: Vec<(f64, f64)> = (0..head.len())
        .map(|n| {
            let least = widest(n, &|face, cell| widest_word(face, cell, size)).min(whole * 0.4);
            (least, widest(n, &|face, cell| face.width(cell, size)).max(least))
        })
        .collect();
    let least: f64 = needs.iter().map(|(least, _)| least).sum();
    let liked: f64 = needs.iter().map(|(_, liked)| liked).sum();
    let share = ((whole - least) / (liked - least).max(0.1)).clamp(0.0, 1.0);
    let shrink = (whole / least.max(0.1)).min(1.0);
    let mut x = 0.0;
    needs
        .iter()
        .map(|(least, liked)| {
            let column = (x, (least + (liked - least) * share) * shrink);
            x += column.1 + GAP;
            column
        })
        .collect()
}

/// A row as one piece, or as several where it is higher than a page.
fn row(setter: &mut Setter<'_>, cells: &[String], columns: &[(f64, f64)], head: bool) -> (Node, Vec<Piece>) {
    let size = setter.size;
    let step = size * LEADING;
    let cells: Vec<Vec<String>> = cells
        .iter()
        .zip(columns)
        .map(|(cell, (_, width))| lines(setter.faces.of(head), cell, size, *width, 0.0))
        .collect();
    let (parts, nodes): (Vec<usize>, Vec<Node>) = (0..cells.len())
        .map(|n| {
            setter.part(if head {
                Kind::ColumnName
            } else if n == 0 {
                Kind::RowName
            } else {
                Kind::Cell
            })
        })
        .unzip();
    let high = cells.iter().map(Vec::len).max().unwrap_or(0);
    let mut pieces = Vec::new();
    for from in (0..high).step_by(LINES) {
        let many = (high - from).min(LINES);
        let height = many as f64 * step + 2.0 * ROOM;
        let mut piece = Piece { height, ..Piece::default() };
        for ((cell, (x, _)), part) in cells.iter().zip(columns).zip(&parts) {
            let shown = cell.iter().skip(from).take(LINES).enumerate();
            piece.marks.extend(
                shown.map(|(n, line)| {
                    text((*x, ROOM + n as f64 * step + size), size, head, line, Some(*part))
                }),
            );
        }
        let mut below = rule((0.0, height), (setter.width, height), if head { 1.0 } else { 0.4 });
        if let (Shape::Line { ink, dash, .. }, false) = (&mut below.shape, head) {
            (*ink, *dash) = (GREY, Dash::Solid);
        }
        piece.marks.push(below);
        pieces.push(piece);
    }
    (Node::of(Kind::Row, nodes), pieces)
}
