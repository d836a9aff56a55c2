//! The two fonts: how wide letters are, and which glyphs a line is.

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider};
use std::ops::Range;
use unicode_bidi::{BidiInfo, Level};

/// Liberation Sans, under the SIL Open Font License 1.1, whose text is beside it.
pub const PLAIN: &[u8] = include_bytes!("fonts/LiberationSans-Regular.ttf");
/// The same, bold.
pub const BOLD: &[u8] = include_bytes!("fonts/LiberationSans-Bold.ttf");

/// Shown for what the fonts have no letter for.
const INSTEAD: char = '\u{25a1}';

/// Both fonts.
pub struct Faces {
    plain: Face,
    bold: Face,
}

impl Faces {
    /// Reads them.
    pub fn new() -> Result<Faces, String> {
        Ok(Faces { plain: Face::new(PLAIN)?, bold: Face::new(BOLD)? })
    }

    /// One of them.
    pub fn of(&self, bold: bool) -> &Face {
        if bold { &self.bold } else { &self.plain }
    }
}

/// A font.
pub struct Face {
    letters: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    em: f64,
    instead: GlyphId,
}

/// A letter on a line.
pub struct Glyph {
    /// Its number in the font.
    pub id: u32,
    /// How far it goes, in parts of the font's size.
    pub advance: f64,
    /// Where it stands in the text.
    pub at: Range<usize>,
}

impl Face {
    fn new(bytes: &'static [u8]) -> Result<Face, String> {
        let font = FontRef::new(bytes).map_err(|error| error.to_string())?;
        let letters = font.charmap();
        let instead = letters.map(INSTEAD).ok_or("the font has no box")?;
        let em = f64::from(font.metrics(Size::unscaled(), LocationRef::default()).units_per_em);
        Ok(Face {
            metrics: font.glyph_metrics(Size::unscaled(), LocationRef::default()),
            letters,
            em,
            instead,
        })
    }

    fn glyph(&self, letter: char) -> (GlyphId, f64) {
        let found = self.letters.map(letter).filter(|id| id.to_u32() != 0);
        let id = found.unwrap_or(self.instead);
        (id, f64::from(self.metrics.advance_width(id).unwrap_or(0.0)) / self.em)
    }

    /// How wide a letter is.
    pub fn advance(&self, letter: char, size: f64) -> f64 {
        self.glyph(letter).1 * size
    }

    /// How wide a text is.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        text.chars().map(|letter| self.advance(letter, size)).sum()
    }

    /// The text, cut to a width with a sign that it was cut.
    pub fn fit(&self, text: &str, size: f64, width: f64) -> String {
        if self.width(text, size) <= width {
            return text.to_owned();
        }
        let mut left = width - self.advance('…', size);
        let kept: String = text
            .chars()
            .take_while(|&letter| {
                left -= self.advance(letter, size);
                left >= 0.0
            })
            .collect();
        format!("{}…", kept.trim_end())
    }

    /// The glyphs of a line from left to right, whichever way its scripts are written.
    pub fn glyphs(&self, line: &str) -> Vec<Glyph> {
        let order = BidiInfo::new(line, Some(Level::ltr()));
        let Some(whole) = order.paragraphs.first() else { return Vec::new() };
        let (levels, runs) = order.visual_runs(whole, whole.range.clone());
        let mut glyphs = Vec::new();
        for run in runs {
            let start = run.start;
            let leftward = levels.get(start).is_some_and(Level::is_rtl);
            let letters = line.get(run).unwrap_or_default().char_indices();
            let mut letters: Vec<(usize, char)> = letters.map(|(at, letter)| (start + at, letter)).collect();
            if leftward {
                letters.reverse();
            }
            glyphs.extend(letters.into_iter().map(|(at, letter)| {
                let (id, advance) = self.glyph(if leftward { mirrored(letter) } else { letter });
                Glyph { id: id.to_u32(), advance, at: at..at + letter.len_utf8() }
            }));
        }
        glyphs
    }
}

/// What is drawn for a bracket in a script written leftward (UAX #9, L4).
fn mirrored(letter: char) -> char {
    const PAIRS: [(char, char); 5] = [('(', ')'), ('[', ']'), ('{', '}'), ('<', '>'), ('«', '»')];
    let other = |&(open, close)| match letter {
        _ if letter == open => Some(close),
        _ if letter == close => Some(open),
        _ => None,
    };
    PAIRS.iter().find_map(other).unwrap_or(letter)
}
