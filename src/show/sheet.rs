//! A page of text being filled: wraps, aligns, tones; whatever is put on it comes out inert and in its width.

use super::palette::{Palette, Tone};
use super::text::{pad, sanitize, width, wrap};

/// How text is to look.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Style {
    /// Columns; fewer than [`Style::NARROWEST`] are taken as that many.
    pub width: usize,
    /// For screen readers: sentences and labels, no drawing, no columns, no symbols.
    pub plain: bool,
    /// Colours, or none.
    pub palette: Palette,
}

impl Style {
    /// Below this many columns nothing is laid out any narrower.
    pub const NARROWEST: usize = 24;

    /// No colour, with drawing.
    pub fn of_width(width: usize) -> Self {
        Style { width, plain: false, palette: Palette::PLAIN }
    }
}

impl Default for Style {
    fn default() -> Self {
        Style::of_width(80)
    }
}

/// A paragraph by itself.
pub fn paragraph(text: &str, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    sheet.text(Tone::Plain, text);
    sheet.finish()
}

/// A cell of a row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cell {
    text: String,
    tone: Tone,
}

impl Cell {
    /// A cell in a tone.
    pub fn new(tone: Tone, text: impl AsRef<str>) -> Self {
        Cell { text: sanitize(text.as_ref()), tone }
    }

    /// A cell of running text.
    pub fn plain(text: impl AsRef<str>) -> Self {
        Cell::new(Tone::Plain, text)
    }
}

/// A page of text.
pub(crate) struct Sheet<'a> {
    style: &'a Style,
    /// Stands before every line, for frames and indents.
    gutter: String,
    out: String,
}

impl<'a> Sheet<'a> {
    /// An empty page.
    pub fn new(style: &'a Style) -> Self {
        Sheet { style, gutter: String::new(), out: String::new() }
    }

    /// Whether the page is for a screen reader.
    pub fn is_plain(&self) -> bool {
        self.style.plain
    }

    /// What stands before every line from here on. Only drawing and spaces belong there.
    pub fn gutter(&mut self, gutter: &str) {
        self.gutter = gutter.to_owned();
    }

    /// Columns that are left.
    pub fn room(&self) -> usize {
        self.style.width.max(Style::NARROWEST).saturating_sub(width(&self.gutter)).max(8)
    }

    /// One line; `shown` is the painted form of something that already fits.
    fn line(&mut self, shown: &str) {
        let line = format!("{}{shown}", self.gutter);
        self.out.push_str(line.trim_end());
        self.out.push('\n');
    }

    /// An empty line, unless the page just had one.
    pub fn blank(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.line("");
        }
    }

    /// A section's heading.
    pub fn heading(&mut self, text: &str) {
        self.blank();
        self.text(Tone::Heading, &sanitize(text).to_uppercase());
    }

    /// A paragraph.
    pub fn text(&mut self, tone: Tone, text: &str) {
        for line in wrap(&sanitize(text), self.room()) {
            let shown = self.style.palette.paint(tone, &line);
            self.line(&shown);
        }
    }

    /// A line of a drawing, its spaces kept; cut into several only where it is too long. It must be inert already.
    pub fn verbatim(&mut self, line: &str) {
        if width(line) <= self.room() {
            self.line(line);
        } else {
            self.text(Tone::Plain, line);
        }
    }

    /// A lead (`CAUTION:`, `1.`, `-`), then text that hangs to the right of it.
    pub fn hang(&mut self, tone: Tone, lead: &str, text: &str) {
        // The lead is drawing or a word of ours, or a name that has been made inert; its indent is kept.
        let indent = lead.len() - lead.trim_start_matches(' ').len();
        if lead.is_empty() {
            self.text(tone, text);
            return;
        }
        let lead = format!("{}{} ", " ".repeat(indent), sanitize(lead));
        let text = sanitize(text);
        let most = self.room() / 2;
        if width(&lead) > most {
            self.hang_below(tone, &lead, indent, &text);
            return;
        }
        let room = self.room() - width(&lead);
        for (n, line) in wrap(&text, room).iter().enumerate() {
            let front = if n == 0 { self.style.palette.paint(tone, &lead) } else { " ".repeat(width(&lead)) };
            self.line(&format!("{front}{line}"));
        }
    }

    /// The same where the lead is too long to leave room beside it.
    fn hang_below(&mut self, tone: Tone, lead: &str, indent: usize, text: &str) {
        let outer = self.gutter.clone();
        self.gutter(&format!("{outer}{}", " ".repeat(indent)));
        self.text(tone, lead);
        self.gutter(&format!("{outer}{}", " ".repeat(indent + 2)));
        self.text(Tone::Plain, text);
        self.gutter(&outer);
    }

    /// Rows under each other in columns; for a screen reader one sentence a row. A row's empty cells at its end
    /// may be left out.
    pub fn rows(&mut self, indent: usize, rows: &[Vec<Cell>]) {
        let outer = self.gutter.clone();
        self.gutter(&format!("{outer}{}", " ".repeat(indent)));
        let widths = self.columns(rows);
        for row in rows {
            if self.style.plain || widths.is_none() {
                self.sentence(row);
            } else if let Some(widths) = &widths {
                self.aligned(row, widths);
            }
        }
        self.gutter(&outer);
    }

    /// The columns' widths: what the cells need, the widest given up first; none where that leaves too little.
    fn columns(&self, rows: &[Vec<Cell>]) -> Option<Vec<usize>> {
        let many = rows.iter().map(Vec::len).max().unwrap_or(0);
        let mut widths = vec![0; many];
        for row in rows {
            for (w, cell) in widths.iter_mut().zip(row) {
                *w = (*w).max(width(&cell.text));
            }
        }
        let room = self.room().saturating_sub(2 * many.saturating_sub(1));
        if room < 8 * many {
            return None;
        }
        loop {
            let total: usize = widths.iter().sum();
            let widest = widths.iter().copied().max().unwrap_or(0);
            if total <= room || widest <= 8 {
                return Some(widths);
            }
            if let Some(w) = widths.iter_mut().rev().find(|w| **w == widest) {
                *w -= (total - room).min(widest - 8).clamp(1, widest.div_ceil(8));
            }
        }
    }

    fn aligned(&mut self, row: &[Cell], widths: &[usize]) {
        let cells: Vec<Vec<String>> = row.iter().zip(widths).map(|(c, &w)| wrap(&c.text, w)).collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(0);
        for n in 0..height {
            let mut line = String::new();
            for (at, lines) in cells.iter().enumerate() {
                let text = lines.get(n).map_or("", String::as_str);
                line.push_str(&self.style.palette.paint(row[at].tone, text));
                if at + 1 < cells.len() {
                    line.push_str(&pad("", widths[at].saturating_sub(width(text)) + 2));
                }
            }
            self.line(&line);
        }
    }

    /// `first: second, third` for a screen reader, or where there is no room for columns.
    fn sentence(&mut self, row: &[Cell]) {
        let mut rest: Vec<&str> = row.iter().map(|c| c.text.as_str()).filter(|t| !t.is_empty()).collect();
        if rest.len() < 2 {
            self.text(Tone::Plain, &rest.concat());
            return;
        }
        let lead = format!("{}:", rest.remove(0).trim_end_matches(':'));
        self.hang_flat(&lead, &rest.join(", "));
    }

    fn hang_flat(&mut self, lead: &str, text: &str) {
        let whole = format!("{lead} {text}");
        let room = self.room().saturating_sub(2);
        for (n, line) in wrap(&whole, room).iter().enumerate() {
            self.line(&format!("{}{line}", if n == 0 { "" } else { "  " }));
        }
    }

    /// The page, ended by one line end.
    pub fn finish(self) -> String {
        let end = self.out.trim_end_matches('\n').len();
        if end == 0 { String::new() } else { format!("{}\n", &self.out[..end]) }
    }
}
