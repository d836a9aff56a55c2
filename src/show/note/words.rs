//! The words of the trade that a note cannot do without, each said once what it is.

use super::document::{Block, Document};

/// A word, the phrases by which it is found, and what it is.
const WORDS: [(&str, &[&str], &str); 9] = [
    ("Line", &["line"], "the wire that carries power in; it is live whatever the switches do."),
    ("Load", &["load"], "the wire that goes on to the light; it is live when the light is on."),
    (
        "Travelers",
        &["traveler"],
        "the two wires from switch to switch; how the switches stand decides which of them carries power.",
    ),
    ("Tie", &["tie between"], "a wire that joins the two switches and is live in some of their positions."),
    ("Neutral", &["neutral"], "the wire by which the current goes back to the panel."),
    (
        "Ground",
        &["ground", "grounding"],
        "the wire that carries no current unless something is wrong; then it opens the breaker.",
    ),
    ("Three-way switch", &["three-way"], "one of two switches that work the same light."),
    ("Four-way switch", &["four-way"], "a switch between two others that work the same light."),
    ("Common", &["common"], "the screw of a three-way switch that is not like the other two."),
];

/// The words that a document uses, each with its meaning; the words for how sure something is come last.
pub(super) fn used_in(note: &Document) -> Vec<(&'static str, &'static str)> {
    let mut text = String::new();
    for block in note.blocks() {
        text.push('\n');
        text.push_str(&words_of(block));
    }
    // Words alone, each between two spaces, so that a phrase is found and a part of a word is not.
    let said: Vec<&str> = text.split(|letter: char| !letter.is_alphanumeric() && letter != '-').collect();
    let text = format!(" {} ", said.join(" ").to_lowercase());
    let used = |phrases: &[&str]| {
        phrases.iter().any(|phrase| ["", "s"].iter().any(|many| text.contains(&format!(" {phrase}{many} "))))
    };
    let mut terms: Vec<(&str, &str)> =
        WORDS.iter().filter(|(_, starts, _)| used(starts)).map(|(word, _, means)| (*word, *means)).collect();
    terms.push(("Likely", "right at least nine times in ten."));
    terms.push(("Perhaps, open, not settled", "less sure than that."));
    terms
}

fn words_of(block: &Block) -> String {
    let join = |fields: &[(String, String)]| {
        fields.iter().map(|(label, text)| format!("{label} {text}")).collect::<Vec<_>>().join("\n")
    };
    match block {
        Block::Heading { text, .. } | Block::Paragraph(text) => text.clone(),
        Block::List { items, .. } => items.join("\n"),
        Block::Table { head, rows, .. } => {
            let rows: Vec<String> = rows.iter().map(|row| row.join("\n")).collect();
            format!("{}\n{}", head.join("\n"), rows.join("\n"))
        }
        Block::Fields(fields) => join(fields),
        Block::Finding(found) => format!("{}\n{}", found.title, join(&found.says)),
        Block::Picture { lines, .. } => lines.join("\n"),
        Block::NewPage => String::new(),
    }
}
