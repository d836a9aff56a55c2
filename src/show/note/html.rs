//! The note as one HTML file: no script, no request, fit for screen, screen reader, Letter and A4.

use super::document::{Block, Document, Finding};
use crate::show::picture::svg;
use crate::show::text::escape;
use std::fmt::Write;

/// How the page looks. Nothing is said by colour alone, and it prints in black and white.
const STYLE: &str = include_str!("note.css");

/// The document as a file of its own.
pub fn text(note: &Document) -> String {
    let title = note.blocks().iter().find_map(|block| match block {
        Block::Heading { level: 1, text } => Some(text.as_str()),
        _ => None,
    });
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    // Nothing may be fetched, run or sent, whatever the text says.
    out.push_str(
        "<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n",
    );
    let _ = writeln!(out, "<title>{}</title>", escape(title.unwrap_or("Found conditions")));
    let _ = write!(out, "<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n");
    let mut record = false;
    for block in note.blocks() {
        if *block == Block::NewPage {
            if !record {
                out.push_str("<div class=\"record\">\n");
            }
            record = true;
        } else {
            out.push_str(&self::block(block));
        }
    }
    if record {
        out.push_str("</div>\n");
    }
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

fn block(block: &Block) -> String {
    match block {
        Block::Heading { level, text } => {
            let level = (*level).clamp(1, 6);
            format!("<h{level}>{}</h{level}>\n", escape(text))
        }
        Block::Paragraph(text) if text.starts_with("NOT SETTLED") => {
            format!("<p class=\"unsettled\">{}</p>\n", escape(text))
        }
        Block::Paragraph(text) => format!("<p>{}</p>\n", escape(text)),
        Block::List { ordered, items } => {
            let tag = if *ordered { "ol" } else { "ul" };
            let items: String = items.iter().map(|item| format!("<li>{}</li>\n", escape(item))).collect();
            format!("<{tag}>\n{items}</{tag}>\n")
        }
        Block::Table { title, head, rows } => table(title, head, rows),
        Block::Fields(fields) => labelled("fields", fields),
        Block::Finding(found) => finding(found),
        Block::Picture { picture, .. } => {
            format!("<div class=\"diagram\">\n{}</div>\n", svg::element(picture))
        }
        Block::NewPage => String::new(),
    }
}

fn labelled(class: &str, fields: &[(String, String)]) -> String {
    let rows: String = fields
        .iter()
        .map(|(label, text)| format!("<div><dt>{}</dt> <dd>{}</dd></div>\n", escape(label), escape(text)))
        .collect();
    format!("<dl class=\"{class}\">\n{rows}</dl>\n")
}

fn finding(found: &Finding) -> String {
    format!(
        "<section class=\"finding step-{}\">\n<h4>{}</h4>\n{}</section>\n",
        found.level,
        escape(&found.title),
        labelled("says", &found.says)
    )
}

/// A table whose first column names its rows.
fn table(title: &str, head: &[String], rows: &[Vec<String>]) -> String {
    let head: String = head.iter().map(|cell| format!("<th scope=\"col\">{}</th> ", escape(cell))).collect();
    let mut body = String::new();
    for row in rows {
        body.push_str("<tr>");
        for (n, cell) in row.iter().enumerate() {
            let (open, close) = if n == 0 { ("<th scope=\"row\">", "</th>") } else { ("<td>", "</td>") };
            let _ = write!(body, "{open}{}{close} ", escape(cell));
        }
        body.push_str("</tr>\n");
    }
    format!(
        "<table>\n<caption>{}</caption>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n",
        escape(title)
    )
}
