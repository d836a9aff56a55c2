//! The note in Markdown. Every text is escaped, so that what somebody typed stays what they typed.

use super::document::{Block, Document, Finding};

/// The document in Markdown (CommonMark with tables).
pub fn text(note: &Document) -> String {
    let blocks: Vec<String> = note.blocks().iter().map(block).collect();
    let mut out = blocks.join("\n\n");
    out.push('\n');
    out
}

fn block(block: &Block) -> String {
    match block {
        Block::Heading { level, text } => {
            format!("{} {}", "#".repeat(usize::from(*level).clamp(1, 6)), escape(text))
        }
        Block::Paragraph(text) => escape(text),
        Block::List { ordered, items } => {
            let lead = |n: usize| if *ordered { format!("{}. ", n + 1) } else { "- ".to_owned() };
            let lines: Vec<String> =
                items.iter().enumerate().map(|(n, i)| format!("{}{}", lead(n), escape(i))).collect();
            lines.join("\n")
        }
        Block::Table { title, head, rows } => format!("{}\n\n{}", escape(title), table(head, rows)),
        Block::Fields(fields) => labelled(fields),
        Block::Finding(Finding { title, says, .. }) => {
            format!("#### {}\n\n{}", escape(title), labelled(says))
        }
        Block::Picture { lines, .. } => pre(lines),
        Block::NewPage => "---".to_owned(),
    }
}

fn labelled(fields: &[(String, String)]) -> String {
    let lines: Vec<String> =
        fields.iter().map(|(label, text)| format!("- {}", escape(&format!("{label}: {text}")))).collect();
    lines.join("\n")
}

fn table(head: &[String], rows: &[Vec<String>]) -> String {
    let line = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|c| escape(c)).collect();
        format!("| {} |", cells.join(" | "))
    };
    let rule = format!("|{}", " --- |".repeat(head.len()));
    let mut lines = vec![line(head), rule];
    lines.extend(rows.iter().map(|r| line(r)));
    lines.join("\n")
}

/// A fenced block; the fence is longer than any run of its character inside.
fn pre(lines: &[String]) -> String {
    let longest = lines.iter().map(|l| longest_run(l, '`')).max().unwrap_or(0);
    let fence = "`".repeat(longest.max(2) + 1);
    format!("{fence}text\n{}\n{fence}", lines.join("\n"))
}

fn longest_run(text: &str, of: char) -> usize {
    let mut longest = 0;
    let mut run = 0;
    for c in text.chars() {
        run = if c == of { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    longest
}

/// Text as text: whatever Markdown could read as more is escaped.
///
/// Beyond the standard's own characters this covers what common extensions add: formulas, strikethrough, and bare
/// web addresses, which lose their link at the escaped colon or dot.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (at, c) in text.char_indices() {
        let special = match c {
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '|' | '~' | '&' | '!'
            | '$' | '^' => true,
            ':' => text[at..].starts_with("://"),
            '.' => text[..at].to_ascii_lowercase().ends_with("www") || is_list_number(&text[..at]),
            ')' => is_list_number(&text[..at]),
            '-' | '+' | '=' => at == 0,
            _ => false,
        };
        if special {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// Whether what stands before a point or bracket would make the line an item of a counted list.
fn is_list_number(before: &str) -> bool {
    !before.is_empty() && before.len() < 10 && before.bytes().all(|b| b.is_ascii_digit())
}
