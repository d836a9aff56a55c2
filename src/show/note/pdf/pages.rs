//! Pieces onto pages.

use super::face::Faces;
use super::piece::{Flow, Mark, Piece, placed, text};
use std::rc::Rc;

/// A page: marks in points from the top left of what is written, and where headings stand.
#[derive(Clone, Debug, Default)]
pub struct Page {
    /// In reading order.
    pub marks: Vec<Mark>,
    /// Level, text and height from the top.
    pub headings: Vec<(u8, String, f64)>,
}

/// Puts pieces on pages of a height.
pub fn pages(flow: Vec<Flow>, height: f64) -> Vec<Page> {
    let mut book = Book { pages: vec![Page::default()], down: 0.0, height };
    let mut group: Vec<Piece> = Vec::new();
    for one in flow {
        match one {
            Flow::Piece(piece) => {
                let more = piece.keep;
                group.push(piece);
                if !more {
                    book.put_group(std::mem::take(&mut group));
                }
            }
            Flow::NewPage => {
                book.put_group(std::mem::take(&mut group));
                book.turn();
            }
        }
    }
    book.put_group(group);
    book.pages
}

struct Book {
    pages: Vec<Page>,
    /// How far the last page is filled.
    down: f64,
    height: f64,
}

impl Book {
    /// Pieces that belong together begin a page where they do not fit on this one. Those that fit on none go on as far as
    /// they go.
    fn put_group(&mut self, mut group: Vec<Piece>) {
        self.make_fit(&mut group);
        let whole = height_of(&group);
        let again = group.first().and_then(|first| first.again.as_ref()).map_or(0.0, |head| head.height);
        if self.down > 0.0 && self.down + whole > self.height && whole + again <= self.height {
            self.turn();
        }
        group.into_iter().for_each(|piece| self.put(piece));
    }

    /// Makes what may be made smaller so small that the group fits on this page, if it may be that small.
    fn make_fit(&self, group: &mut [Piece]) {
        let over = self.down + height_of(group) - self.height;
        let Some(piece) = group.iter_mut().find(|piece| piece.least.is_some()) else { return };
        let part = 1.0 - over / piece.height;
        if over > 0.0 && piece.least.is_some_and(|least| part >= least) {
            piece.height *= part;
            piece.marks.iter_mut().for_each(|mark| mark.shape = placed(&mark.shape, part, (0.0, 0.0)));
        }
    }

    fn put(&mut self, piece: Piece) {
        if self.down > 0.0 && self.down + piece.above + piece.height > self.height {
            self.turn();
        }
        if self.down == 0.0 {
            if let Some(again) = piece.again.clone() {
                self.place(&again);
            }
        } else {
            self.down += piece.above;
        }
        self.place(&piece);
    }

    fn place(&mut self, piece: &Piece) {
        let down = self.down;
        if let Some(page) = self.pages.last_mut() {
            let moved = |mark: &Mark| Mark { shape: placed(&mark.shape, 1.0, (0.0, down)), part: mark.part };
            page.marks.extend(piece.marks.iter().map(moved));
            page.headings.extend(piece.heading.iter().map(|(level, text)| (*level, text.clone(), down)));
        }
        self.down += piece.height;
    }

    fn turn(&mut self) {
        if self.down > 0.0 {
            self.pages.push(Page::default());
            self.down = 0.0;
        }
    }
}

/// What a group takes, one piece below the other.
fn height_of(group: &[Piece]) -> f64 {
    group.iter().map(|piece| piece.above + piece.height).sum()
}

/// What a table repeats at the top of a page: no part of the structure a second time.
pub fn repeated(piece: &Piece) -> Rc<Piece> {
    let mut again = piece.clone();
    again.marks.iter_mut().for_each(|mark| mark.part = None);
    Rc::new(again)
}

/// The foot of every page: what it is of, and its number.
pub fn foot(pages: &mut [Page], faces: &Faces, title: &str, (width, height): (f64, f64)) {
    const SIZE: f64 = 8.0;
    let face = faces.of(false);
    let many = pages.len();
    for (n, page) in pages.iter_mut().enumerate() {
        let number = format!("Page {} of {many}", n + 1);
        let right = width - face.width(&number, SIZE);
        let down = height + 18.0;
        page.marks.push(text((0.0, down), SIZE, false, &face.fit(title, SIZE, right - 20.0), None));
        page.marks.push(text((right, down), SIZE, false, &number, None));
    }
}
