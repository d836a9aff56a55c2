//! Blocks into pieces.

use super::face::Faces;
use super::lines::lines;
use super::piece::{Flow, Kind, Mark, Node, Piece, placed, rule, text};
use super::{figure, table};
use crate::show::note::document::{Block, Document, Finding};
use crate::show::picture::{BLACK, Dash, Shape, WHITE};

/// The size of the note's letters in points.
const NOTE: f64 = 8.9;
/// The size of the record's.
const RECORD: f64 = 8.5;
/// From line to line, in parts of the size.
pub const LEADING: f64 = 1.16;
/// Between paragraphs.
const GAP: f64 = 2.5;
/// From a list's edge to its text.
const INDENT: f64 = 13.0;
/// From a finding's bar to its text.
const BAR: f64 = 11.0;
/// A line is gone on in if so much is left of it behind a label.
const ROOM_FOR_WORDS: f64 = 60.0;
/// How much larger a small heading is than what it is over.
const SMALL_HEADING: f64 = 0.7;
/// From a heading to what goes on in its line.
const AFTER_HEADING: f64 = 8.0;
/// Between labels that stand beside each other.
const BESIDE: f64 = 14.0;

/// Pieces, and the structure that their marks are parts of.
#[derive(Debug, Default)]
pub struct Set {
    /// The pieces.
    pub flow: Vec<Flow>,
    /// The structure.
    pub tree: Vec<Node>,
}

/// Sets a document for pages of an area.
pub fn set(note: &Document, faces: &Faces, (width, height): (f64, f64)) -> Set {
    let mut setter = Setter {
        faces,
        width,
        height,
        size: NOTE,
        parts: 0,
        under: None,
        goes_on: None,
        set: Set::default(),
    };
    note.blocks().iter().for_each(|block| setter.block(block));
    setter.set
}

/// Where the setting has come to.
pub struct Setter<'a> {
    /// The fonts.
    pub faces: &'a Faces,
    /// How wide the page is.
    pub width: f64,
    /// How high.
    pub height: f64,
    /// The size of its letters.
    pub size: f64,
    parts: usize,
    /// The level of the heading that was just set.
    under: Option<u8>,
    /// Where a small heading of one line ends, if it was just set.
    goes_on: Option<f64>,
    set: Set,
}

impl Setter<'_> {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { level, text } => self.heading(*level, text),
            Block::Paragraph(text) if text.starts_with("NOT SETTLED") => self.framed(text),
            Block::Paragraph(text) => self.paragraph(text),
            Block::List { ordered, items } => self.list(*ordered, items),
            Block::Fields(fields) => self.fields(fields),
            Block::Finding(found) => self.finding(found),
            Block::Table { title, head, rows } => table::set(self, title, head, rows),
            Block::Picture { picture, .. } => figure::set(self, picture),
            Block::NewPage => {
                self.size = RECORD;
                self.set.flow.push(Flow::NewPage);
            }
        }
        self.under = match block {
            Block::Heading { level, .. } => Some(*level),
            _ => None,
        };
        self.goes_on = self.goes_on.filter(|_| self.under.is_some());
    }

    /// Adds pieces.
    pub fn add(&mut self, pieces: impl IntoIterator<Item = Piece>) {
        self.set.flow.extend(pieces.into_iter().map(Flow::Piece));
    }

    /// Adds to the structure.
    pub fn grow(&mut self, node: Node) {
        self.set.tree.push(node);
    }

    /// A new part of the structure, and the number that its marks have.
    pub fn part(&mut self, kind: Kind) -> (usize, Node) {
        let part = self.parts;
        self.parts += 1;
        (part, Node { kind, part: Some(part), inside: Vec::new() })
    }

    fn heading(&mut self, level: u8, said: &str) {
        // Size, room above, and the rule: below the title, above a section.
        let (size, above) = match level {
            1 => (17.0, 0.0),
            2 => (self.size + 2.0, 7.0),
            _ => (self.size + SMALL_HEADING, 4.0),
        };
        let (part, node) = self.part(Kind::Heading(level, said.to_owned()));
        let all = lines(self.faces.of(true), said, size, self.width, 0.0);
        let last = all.len() - 1;
        for (n, line) in all.iter().enumerate() {
            let ruled = level == 2 && n == 0 && self.under != Some(1);
            let down = if ruled { 3.0 } else { 0.0 };
            let mut marks = Vec::new();
            if ruled {
                marks.push(rule((0.0, 0.0), (self.width, 0.0), 0.6));
            }
            marks.push(text((0.0, down + size), size, true, line, Some(part)));
            let mut height = down + size * LEADING;
            if level == 1 && n == last {
                marks.push(rule((0.0, height + 1.0), (self.width, height + 1.0), 1.6));
                height += 5.0;
            }
            // A long one may be cut; what follows stays with its last lines.
            let keep = n + 3 > last;
            let heading = (n == 0).then(|| (level, said.to_owned()));
            let above = if n == 0 { above } else { 0.0 };
            self.add([Piece { above, height, keep, marks, heading, ..Piece::default() }]);
        }
        self.goes_on =
            (level > 2 && last == 0).then(|| self.faces.of(true).width(said, size) + AFTER_HEADING);
        self.grow(node);
    }

    /// Words that say what a small heading means go on in its line.
    fn beside_heading(&mut self, said: &str, first: f64) {
        let (part, node) = self.part(Kind::Paragraph);
        let mut pieces = self.column(false, said, 0.0, first, part);
        pieces.iter_mut().for_each(|piece| piece.keep = true);
        if let Some(Flow::Piece(heading)) = self.set.flow.last_mut() {
            let line = pieces.remove(0);
            // The heading's letters are larger: both stand on one line.
            let moved = |mark: Mark| Mark { shape: placed(&mark.shape, 1.0, (0.0, SMALL_HEADING)), ..mark };
            heading.marks.extend(line.marks.into_iter().map(moved));
        }
        self.add(pieces);
        self.grow(node);
    }

    /// Lines one below the other, `x` from the left. No first or last line of a paragraph stands alone on a page.
    pub fn column(&mut self, bold: bool, said: &str, x: f64, first: f64, part: usize) -> Vec<Piece> {
        let all = lines(self.faces.of(bold), said, self.size, self.width - x, first);
        let last = all.len() - 1;
        let piece = |(n, line): (usize, &String)| Piece {
            above: 0.0,
            height: self.size * LEADING,
            keep: last <= 2 && n < last || n == 0 && last > 0 || n + 1 == last,
            marks: vec![text(
                (if n == 0 { x + first } else { x }, self.size),
                self.size,
                bold,
                line,
                Some(part),
            )],
            ..Piece::default()
        };
        all.iter().enumerate().map(piece).collect()
    }

    /// How far to the right of `x` the last line of such a column goes, with room for what goes on there.
    fn end(&self, said: &str, x: f64, first: f64) -> f64 {
        let all = lines(self.faces.of(false), said, self.size, self.width - x, first);
        let indent = if all.len() == 1 { first } else { 0.0 };
        indent + all.last().map_or(0.0, |line| self.faces.of(false).width(line, self.size)) + 7.0
    }

    fn paragraph(&mut self, said: &str) {
        if let Some(first) = self.goes_on.filter(|_| self.size == NOTE && !said.ends_with(':')) {
            return self.beside_heading(said, first);
        }
        let (part, node) = self.part(Kind::Paragraph);
        let mut pieces = self.column(false, said, 0.0, 0.0, part);
        lower(&mut pieces, GAP);
        // What only leads to what is below it stays with it, as do the words under a small heading.
        if said.ends_with(':') || self.under.is_some_and(|level| level > 2) {
            pieces.iter_mut().for_each(|piece| piece.keep = true);
        }
        self.add(pieces);
        self.grow(node);
    }

    /// What nobody may miss.
    fn framed(&mut self, said: &str) {
        const ROOM: f64 = 7.0;
        let (part, node) = self.part(Kind::Paragraph);
        let all = lines(self.faces.of(true), said, self.size, self.width - 2.0 * ROOM, 0.0);
        let step = self.size * LEADING;
        let height = all.len() as f64 * step + 2.0 * ROOM - 3.0;
        let area = [0.5, 0.0, self.width - 1.0, height];
        let mut marks =
            vec![Mark { shape: Shape::Frame { area, fill: WHITE, dash: Dash::Solid }, part: None }];
        marks.push(rule((3.0, 3.0), (3.0, height - 3.0), 3.0));
        marks.extend(all.iter().enumerate().map(|(n, line)| {
            let down = ROOM - 2.0 + n as f64 * step + self.size;
            text((ROOM + 2.0, down), self.size, true, line, Some(part))
        }));
        self.add([Piece { above: GAP + 2.0, height, marks, ..Piece::default() }]);
        self.grow(node);
    }

    fn list(&mut self, ordered: bool, items: &[String]) {
        let mut inside = Vec::new();
        // Wide enough for the number of the last.
        let indent = if ordered {
            INDENT.max(self.faces.of(false).width(&format!("{}. ", items.len()), self.size) + 2.0)
        } else {
            INDENT
        };
        for (n, item) in items.iter().enumerate() {
            let (label, sign) = self.part(Kind::Label);
            let (part, body) = self.part(Kind::Body);
            let mut pieces = self.column(false, item, indent, 0.0, part);
            if let Some(first) = pieces.first_mut() {
                first.marks.insert(0, self.sign(ordered.then_some(n + 1), label));
            }
            lower(&mut pieces, if n == 0 { GAP } else { 0.8 });
            self.add(pieces);
            inside.push(Node::of(Kind::Item, vec![sign, body]));
        }
        self.grow(Node::of(Kind::List(ordered), inside));
    }

    fn sign(&self, number: Option<usize>, part: usize) -> Mark {
        match number {
            Some(n) => text((0.0, self.size), self.size, false, &format!("{n}."), Some(part)),
            None => text((3.0, self.size), self.size, false, "•", Some(part)),
        }
    }

    fn fields(&mut self, fields: &[(String, String)]) {
        let widest = fields.iter().map(|(label, _)| self.faces.of(true).width(label, self.size));
        let x = widest.fold(60.0, f64::max).min(self.width * 0.4) + 12.0;
        // Short ones stand two beside each other.
        let half = (self.width + BESIDE) / 2.0;
        let (faces, size) = (self.faces, self.size);
        let short = |said: &str| x + faces.of(false).width(said, size) + BESIDE <= half;
        let mut inside = Vec::new();
        let mut rows: Vec<Piece> = Vec::new();
        let mut beside = false;
        for (label, said) in fields {
            let (name, sign) = self.part(Kind::Label);
            let (part, body) = self.part(Kind::Body);
            let label = self.faces.of(true).fit(label, self.size, x - 6.0);
            inside.push(Node::of(Kind::Item, vec![sign, body]));
            let label = |left: f64| text((left, size), size, true, &label, Some(name));
            if let (true, true, Some(row)) = (beside, short(said), rows.last_mut()) {
                row.marks
                    .extend([label(half), text((half + x, self.size), self.size, false, said, Some(part))]);
                beside = false;
                continue;
            }
            beside = short(said);
            let mut pieces = self.column(false, said, x, 0.0, part);
            if let Some(first) = pieces.first_mut() {
                first.marks.insert(0, label(0.0));
            }
            rows.extend(pieces);
        }
        lower(&mut rows, GAP);
        self.add(rows);
        self.grow(Node::of(Kind::List(false), inside));
    }

    /// A finding with a bar beside it, the thicker the graver; a short one is not cut.
    fn finding(&mut self, found: &Finding) {
        let (part, title) = self.part(Kind::Paragraph);
        let mut pieces = self.column(true, &found.title, BAR, 0.0, part);
        pieces.iter_mut().for_each(|piece| piece.keep = true);
        let mut inside = Vec::new();
        // Where the last of what was said ends, from the finding's left; the title has its line to itself.
        let mut end = 0.0;
        for (label, said) in &found.says {
            let (name, sign) = self.part(Kind::Label);
            let (part, body) = self.part(Kind::Body);
            let label = format!("{label}: ");
            let long = self.faces.of(true).width(&label, self.size);
            // It goes on where the last one ended, if there is room for more than its label.
            let from = if end > 0.0 && BAR + end + long + ROOM_FOR_WORDS <= self.width { end } else { 0.0 };
            let mut more = self.column(false, said, BAR, from + long, part);
            end = self.end(said, BAR, from + long);
            if let Some(first) = more.first_mut() {
                first.marks.insert(0, text((BAR + from, self.size), self.size, true, &label, Some(name)));
            }
            if let (true, [line, ..], Some(last)) = (from > 0.0, more.as_mut_slice(), pieces.last_mut()) {
                last.marks.append(&mut line.marks);
                more.remove(0);
            }
            pieces.extend(more);
            inside.push(Node::of(Kind::Item, vec![sign, body]));
        }
        bar(&mut pieces, found.level);
        together(&mut pieces, self.height / 6.0);
        lower(&mut pieces, 4.0);
        self.add(pieces);
        self.grow(Node::of(Kind::Section, vec![title, Node::of(Kind::List(false), inside)]));
    }
}

/// Gives the first piece room above it.
fn lower(pieces: &mut [Piece], room: f64) {
    if let Some(first) = pieces.first_mut() {
        first.above = room;
    }
}

/// Holds pieces together that a height holds.
fn together(pieces: &mut [Piece], height: f64) {
    let whole: f64 = pieces.iter().map(|piece| piece.above + piece.height).sum();
    let last = pieces.len().saturating_sub(1);
    if whole <= height {
        pieces.iter_mut().take(last).for_each(|piece| piece.keep = true);
    }
}

fn bar(pieces: &mut [Piece], level: usize) {
    let width = [5.0, 3.2, 1.8].get(level).copied().unwrap_or(0.8);
    for piece in pieces {
        let points = vec![(3.0, 0.0), (3.0, piece.height + 0.2)];
        let shape = Shape::Line { points, width, ink: BLACK, dash: Dash::Solid };
        piece.marks.insert(0, Mark { shape, part: None });
    }
}
