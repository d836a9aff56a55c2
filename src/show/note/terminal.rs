//! The note on a terminal, or for a screen reader.

use super::document::{Block, Document};
use crate::show::palette::Tone;
use crate::show::sheet::{Cell, Sheet, Style};

/// The document as text of the style's width.
pub fn text(note: &Document, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    for block in note.blocks() {
        sheet.blank();
        match block {
            Block::Heading { level: 1 | 2, text } => sheet.heading(text),
            Block::Heading { text, .. } => sheet.text(Tone::Heading, text),
            Block::Paragraph(text) => sheet.text(tone(text), text),
            Block::List { ordered, items } => list(&mut sheet, *ordered, items),
            Block::Table { title, head, rows } => {
                sheet.text(Tone::Heading, title);
                table(&mut sheet, head, rows);
            }
            Block::Fields(fields) => labelled(&mut sheet, fields),
            Block::Finding(found) => {
                let tone = if found.level == 0 { Tone::Danger } else { Tone::Caution };
                sheet.text(tone, &found.title);
                labelled(&mut sheet, &found.says);
            }
            Block::NewPage => {}
            Block::Picture { lines, .. } => lines.iter().for_each(|line| sheet.verbatim(line)),
        }
    }
    sheet.finish()
}

/// Paragraphs that begin with a warning in capitals are toned as one; the words stay what says it.
fn tone(text: &str) -> Tone {
    if text.starts_with("NOT SETTLED") { Tone::Caution } else { Tone::Plain }
}

fn list(sheet: &mut Sheet<'_>, ordered: bool, items: &[String]) {
    for (n, item) in items.iter().enumerate() {
        if ordered {
            sheet.hang(Tone::Plain, &format!("{:>3}.", n + 1), item);
        } else if sheet.is_plain() {
            sheet.text(Tone::Plain, item);
        } else {
            sheet.hang(Tone::Plain, "  -", item);
        }
    }
}

fn labelled(sheet: &mut Sheet<'_>, fields: &[(String, String)]) {
    for (label, text) in fields {
        let indent = if sheet.is_plain() { "" } else { "  " };
        sheet.hang(Tone::Plain, &format!("{indent}{label}:"), text);
    }
}

/// Columns under their heads; for a screen reader every cell is said with its head.
fn table(sheet: &mut Sheet<'_>, head: &[String], rows: &[Vec<String>]) {
    if sheet.is_plain() {
        for row in rows {
            let said: Vec<String> = head
                .iter()
                .zip(row)
                .filter(|(_, cell)| !cell.is_empty())
                .map(|(head, cell)| format!("{head}: {cell}"))
                .collect();
            sheet.text(Tone::Plain, &format!("{}.", said.join(". ")));
        }
        return;
    }
    let mut all = vec![head.iter().map(|h| Cell::new(Tone::Heading, h)).collect()];
    all.extend(rows.iter().map(|row| row.iter().map(Cell::plain).collect::<Vec<_>>()));
    sheet.rows(2, &all);
}
