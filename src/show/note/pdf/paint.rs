//! Pages written as a PDF that follows PDF/UA-1 as far as a program can see to it.

use super::face::{BOLD, Faces, PLAIN};
use super::pages::Page;
use super::piece::{Kind, Mark, Node};
use crate::show::picture::{BLACK, Dash, Ink, Shape, gaps};
use krilla::Document;
use krilla::SerializeSettings;
use krilla::color::{Color, luma, rgb};
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node as TagNode, TableHeaderScope, Tag,
    TagGroup, TagKind, TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use std::collections::BTreeMap;
use std::num::NonZeroU16;

/// What a file is made of.
pub struct Book {
    /// Its title.
    pub title: String,
    /// Width and height of its paper.
    pub size: (f64, f64),
    /// Where on the paper the top left of what is written is.
    pub origin: (f64, f64),
    /// The pages.
    pub pages: Vec<Page>,
    /// The structure of what is on them.
    pub tree: Vec<Node>,
}

/// The marks of each part, as the file names them.
type Named = BTreeMap<usize, Vec<Identifier>>;

/// Writes the file.
pub fn file(book: &Book, faces: &Faces) -> Result<Vec<u8>, String> {
    let font = |bytes: &'static [u8]| Font::new(bytes.into(), 0).ok_or("a font that cannot be embedded");
    let fonts = [font(PLAIN)?, font(BOLD)?];
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| format!("{error:?}"))?;
    let mut file = Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
    let mut named = Named::new();
    for page in &book.pages {
        let paper = PageSettings::from_wh(book.size.0 as f32, book.size.1 as f32).ok_or("no paper")?;
        // Both are finished where they are dropped.
        let mut sheet = file.start_page_with(paper);
        let mut pen = Pen { surface: sheet.surface(), faces, fonts: &fonts, origin: book.origin };
        pen.marks(&page.marks, &mut named);
    }
    let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
    book.tree.iter().for_each(|node| tree.push(group(node, &named)));
    file.set_tag_tree(tree);
    file.set_outline(outline(book));
    file.set_metadata(Metadata::new().title(book.title.clone()).language("en".to_owned()));
    file.finish().map_err(|error| format!("{error:?}"))
}

/// The sections, for finding one's way.
fn outline(book: &Book) -> Outline {
    let mut outline = Outline::new();
    for (n, page) in book.pages.iter().enumerate() {
        for (_, text, down) in page.headings.iter().filter(|(level, ..)| *level <= 2) {
            let place = Point::from_xy(0.0, (book.origin.1 + down) as f32);
            outline.push_child(OutlineNode::new(text.clone(), XyzDestination::new(n, place)));
        }
    }
    outline
}

fn group(node: &Node, named: &Named) -> TagGroup {
    let own = node.part.and_then(|part| named.get(&part)).into_iter().flatten().copied().map(TagNode::from);
    let inside = node.inside.iter().map(|node| TagNode::from(group(node, named)));
    TagGroup::with_children(tag(&node.kind), own.chain(inside).collect())
}

fn tag(kind: &Kind) -> TagKind {
    match kind {
        Kind::Heading(level, text) => {
            let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(text.clone())).into()
        }
        Kind::Paragraph => Tag::P.into(),
        Kind::List(true) => Tag::L(ListNumbering::Decimal).into(),
        Kind::List(false) => Tag::L(ListNumbering::None).into(),
        Kind::Item => Tag::LI.into(),
        Kind::Label => Tag::Lbl.into(),
        Kind::Body => Tag::LBody.into(),
        Kind::Section => Tag::Section.into(),
        Kind::Table => Tag::Table.into(),
        Kind::Caption => Tag::Caption.into(),
        Kind::Head => Tag::THead.into(),
        Kind::Rows => Tag::TBody.into(),
        Kind::Row => Tag::TR.into(),
        Kind::ColumnName => Tag::TH(TableHeaderScope::Column).into(),
        Kind::RowName => Tag::TH(TableHeaderScope::Row).into(),
        Kind::Cell => Tag::TD.into(),
        Kind::Figure(shown) => Tag::Figure(Some(shown.clone())).into(),
    }
}

/// What draws on one page.
struct Pen<'a, 'page> {
    surface: Surface<'page>,
    faces: &'a Faces,
    fonts: &'a [Font; 2],
    origin: (f64, f64),
}

impl Pen<'_, '_> {
    /// Draws marks; those of one part that follow each other are one thing in the file.
    fn marks(&mut self, marks: &[Mark], named: &mut Named) {
        for run in marks.chunk_by(|one, other| one.part == other.part) {
            let part = run.first().and_then(|mark| mark.part);
            let tag = match part {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
            };
            let name = self.surface.start_tagged(tag);
            run.iter().for_each(|mark| self.shape(&mark.shape));
            self.surface.end_tagged();
            if let Some(part) = part {
                named.entry(part).or_default().push(name);
            }
        }
    }

    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Line { points, width, ink, dash } => {
                let points: Vec<(f32, f32)> = points.iter().map(|&at| self.point(at)).collect();
                self.path(None, Some(stroke(*width, *ink, *dash)), line(&points));
            }
            Shape::Frame { area: [x, y, width, height], fill, dash } => {
                let (x, y) = self.point((*x, *y));
                let mut path = PathBuilder::new();
                if let Some(area) = Rect::from_xywh(x, y, *width as f32, *height as f32) {
                    path.push_rect(area);
                }
                self.path(Some(filled(*fill)), Some(stroke(FRAME, BLACK, *dash)), path.finish());
            }
            Shape::Spot { at, radius, filled: full } => {
                let (x, y) = self.point(*at);
                let ink = if *full { BLACK } else { crate::show::picture::WHITE };
                self.path(
                    Some(filled(ink)),
                    Some(stroke(FRAME, BLACK, Dash::Solid)),
                    circle(x, y, *radius as f32),
                );
            }
            Shape::Text { at, size, bold, text } => self.text(*at, *size, *bold, text),
        }
    }

    fn point(&self, (x, y): (f64, f64)) -> (f32, f32) {
        ((x + self.origin.0) as f32, (y + self.origin.1) as f32)
    }

    fn path(&mut self, fill: Option<Fill>, stroke: Option<Stroke>, path: Option<Path>) {
        if let Some(path) = path {
            self.surface.set_fill(fill);
            self.surface.set_stroke(stroke);
            self.surface.draw_path(&path);
        }
    }

    fn text(&mut self, at: (f64, f64), size: f64, bold: bool, text: &str) {
        // No character of a text: PDF/UA-1 takes none of them.
        let text = text.replace(['\0', '\u{feff}', '\u{fffe}'], "\u{fffd}");
        let letter = |glyph: super::face::Glyph| KrillaGlyph {
            glyph_id: GlyphId::new(glyph.id),
            text_range: glyph.at,
            x_advance: glyph.advance as f32,
            x_offset: 0.0,
            y_offset: 0.0,
            y_advance: 0.0,
            location: None,
        };
        let glyphs: Vec<KrillaGlyph> = self.faces.of(bold).glyphs(&text).into_iter().map(letter).collect();
        let (x, y) = self.point(at);
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(filled(BLACK)));
        let font = self.fonts[usize::from(bold)].clone();
        self.surface.draw_glyphs(Point::from_xy(x, y), &glyphs, font, &text, size as f32, false);
    }
}

/// The border of a frame in points.
const FRAME: f64 = 0.75;

/// Black is black and nothing of red, green and blue, so that every printer prints it as such.
fn color(ink: Ink) -> Color {
    let [red, green, blue] = ink;
    if ink == BLACK {
        luma::Color::black().into()
    } else if red == green && green == blue {
        luma::Color::new(red).into()
    } else {
        rgb::Color::new(red, green, blue).into()
    }
}

fn filled(ink: Ink) -> Fill {
    Fill { paint: color(ink).into(), ..Fill::default() }
}

fn stroke(width: f64, ink: Ink, dash: Dash) -> Stroke {
    let dash = gaps(dash).map(|[on, off]| StrokeDash { array: vec![on * 0.75, off * 0.75], offset: 0.0 });
    Stroke { paint: color(ink).into(), width: width as f32, dash, ..Stroke::default() }
}

fn line(points: &[(f32, f32)]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (n, &(x, y)) in points.iter().enumerate() {
        if n == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
    }
    path.finish()
}

/// Four curves that are a circle to the eye.
fn circle(x: f32, y: f32, r: f32) -> Option<Path> {
    // How far the handles of a quarter's curve are from its ends: 4/3 (√2 - 1).
    let k = r * 0.552_284_8;
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    path.close();
    path.finish()
}
