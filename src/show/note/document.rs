//! The note between its making and its form: blocks of inert text.

use crate::show::picture::Picture;
use crate::show::text::sanitize;

/// A block of a note.
#[derive(Clone, PartialEq, Debug)]
pub enum Block {
    /// A heading, 1 for the note's title.
    Heading {
        /// From 1.
        level: u8,
        /// Its text.
        text: String,
    },
    /// Running text.
    Paragraph(String),
    /// A list.
    List {
        /// Whether its items are counted, from 1.
        ordered: bool,
        /// The items.
        items: Vec<String>,
    },
    /// A table: every row has as many cells as the head.
    Table {
        /// What it is a table of.
        title: String,
        /// What the columns are.
        head: Vec<String>,
        /// The rows.
        rows: Vec<Vec<String>>,
    },
    /// Labels with what stands beside them.
    Fields(Vec<(String, String)>),
    /// A condition that was found.
    Finding(Finding),
    /// The diagram, as a picture and as lines for forms that have none.
    Picture {
        /// The picture.
        picture: Picture,
        /// The lines, as they are.
        lines: Vec<String>,
    },
    /// What follows begins on a new page, where there are pages.
    NewPage,
}

/// A condition that was found, in words.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Finding {
    /// Its place on the scale, from 0, the gravest.
    pub level: usize,
    /// What it is, no firmer than it is.
    pub title: String,
    /// What there is to say of it: label and text.
    pub says: Vec<(String, String)>,
}

/// A note, ready to be written out. All its text is inert: the ways to add to it see to that.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Document {
    blocks: Vec<Block>,
}

impl Document {
    /// The blocks in reading order.
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// Adds a heading.
    pub fn heading(&mut self, level: u8, text: &str) {
        self.blocks.push(Block::Heading { level, text: sanitize(text) });
    }

    /// Adds a paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.blocks.push(Block::Paragraph(sanitize(text)));
    }

    /// Adds a list; nothing where it is empty.
    pub fn list<S: AsRef<str>>(&mut self, items: &[S]) {
        self.add_list(false, items);
    }

    /// Adds a counted list; nothing where it is empty.
    pub fn steps<S: AsRef<str>>(&mut self, items: &[S]) {
        self.add_list(true, items);
    }

    fn add_list<S: AsRef<str>>(&mut self, ordered: bool, items: &[S]) {
        if !items.is_empty() {
            let items = items.iter().map(|i| sanitize(i.as_ref())).collect();
            self.blocks.push(Block::List { ordered, items });
        }
    }

    /// Adds a table; nothing where it has no rows. Rows are cut or filled to the head.
    pub fn table<S: AsRef<str>>(&mut self, title: &str, head: &[S], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let fit = |row: &Vec<String>| -> Vec<String> {
            (0..head.len()).map(|n| row.get(n).map_or(String::new(), |c| sanitize(c))).collect()
        };
        let head = head.iter().map(|h| sanitize(h.as_ref())).collect();
        let rows = rows.iter().map(fit).collect();
        self.blocks.push(Block::Table { title: sanitize(title), head, rows });
    }

    /// Adds labels with what stands beside them; nothing where there are none.
    pub fn fields<S: AsRef<str>>(&mut self, fields: &[(&str, S)]) {
        if !fields.is_empty() {
            self.blocks
                .push(Block::Fields(inert(fields.iter().map(|(label, text)| (*label, text.as_ref())))));
        }
    }

    /// Adds a condition that was found.
    pub fn finding(&mut self, finding: &Finding) {
        let says = finding.says.iter().map(|(label, text)| (label.as_str(), text.as_str()));
        self.blocks.push(Block::Finding(Finding {
            level: finding.level,
            title: sanitize(&finding.title),
            says: inert(says),
        }));
    }

    /// What follows begins on a new page.
    pub fn new_page(&mut self) {
        self.blocks.push(Block::NewPage);
    }

    /// Adds all blocks of another document.
    pub fn append(&mut self, other: Document) {
        self.blocks.extend(other.blocks);
    }

    /// Adds a picture, and the lines that stand for it: spaces and all, but no control characters.
    pub fn picture(&mut self, picture: Picture, text: &str) {
        let inert = |line: &str| {
            // Word by word, because the spaces between them are the drawing.
            line.split(' ').map(sanitize).collect::<Vec<_>>().join(" ").trim_end().to_owned()
        };
        let lines = text.lines().map(inert).collect();
        self.blocks.push(Block::Picture { picture, lines });
    }
}

fn inert<'a>(fields: impl Iterator<Item = (&'a str, &'a str)>) -> Vec<(String, String)> {
    fields.map(|(label, text)| (sanitize(label), sanitize(text))).collect()
}
