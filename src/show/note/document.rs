//! The note between its making and its form: blocks of inert text.

use crate::show::text::sanitize;

/// A block of a note.
#[derive(Clone, PartialEq, Eq, Debug)]
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
        /// What the columns are.
        head: Vec<String>,
        /// The rows.
        rows: Vec<Vec<String>>,
    },
    /// Lines to be kept as they are.
    Pre(Vec<String>),
}

/// A note, ready to be written out. All its text is inert: the ways to add to it see to that.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
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
    pub fn table(&mut self, head: &[&str], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let fit = |row: &Vec<String>| -> Vec<String> {
            (0..head.len()).map(|n| row.get(n).map_or(String::new(), |c| sanitize(c))).collect()
        };
        let head = head.iter().map(|&h| h.to_owned()).collect();
        self.blocks.push(Block::Table { head, rows: rows.iter().map(fit).collect() });
    }

    /// Adds lines that are kept as they are: spaces and all, but no control characters.
    pub fn pre(&mut self, text: &str) {
        let inert = |line: &str| {
            // Word by word, because the spaces between them are the drawing.
            line.split(' ').map(sanitize).collect::<Vec<_>>().join(" ").trim_end().to_owned()
        };
        self.blocks.push(Block::Pre(text.lines().map(inert).collect()));
    }
}
