//! A job as YAML text: compact, and quoted wherever another reader could take a word for something else.

use crate::call::job::{Field, Job, Node};
use std::fmt::Write;

/// Widest line, where it can be kept.
const WIDTH: usize = 100;

/// The whole file.
pub fn to_yaml(job: &Job) -> String {
    let mut out = String::new();
    if let Node::Map(fields) = job.write() {
        for (key, node) in &fields {
            top(&mut out, key, node);
        }
    }
    out
}

/// One field of the document, as text of its own.
pub(super) fn section(key: &str, node: &Node) -> String {
    let mut out = String::new();
    top(&mut out, key, node);
    out
}

/// One item of a list that is a field of the document, as [`section`] writes it: behind a dash, two columns in.
pub(super) fn item(key: &str, node: &Node) -> String {
    let mut out = String::new();
    match node {
        Node::Map(fields) if key == "boxes" => outlet(&mut out, fields),
        item => line(&mut out, 2, "-", Some(item)),
    }
    out
}

/// One field of the document.
fn top(out: &mut String, key: &str, node: &Node) {
    match node {
        Node::Map(fields) if !fields.is_empty() && (key == "call" || key == "house") => {
            line(out, 0, &format!("{key}:"), None);
            for (key, node) in fields {
                line(out, 2, &label(key), Some(node));
            }
        }
        Node::List(items) if !items.is_empty() && key != "instruments" => {
            line(out, 0, &format!("{key}:"), None);
            for one in items {
                out.push_str(&item(key, one));
            }
        }
        node => line(out, 0, &label(key), Some(node)),
    }
}

/// One box: its fields below each other, its cables and joints one to a line.
fn outlet(out: &mut String, fields: &[(String, Node)]) {
    for (i, (key, node)) in fields.iter().enumerate() {
        let label = label(key);
        let label = if i == 0 { format!("- {label}") } else { label };
        let indent = if i == 0 { 2 } else { 4 };
        match node {
            Node::List(items) if !items.is_empty() && matches!(key.as_str(), "cables" | "joints" | "was") => {
                line(out, indent, &label, None);
                for item in items {
                    line(out, 6, "-", Some(item));
                }
            }
            node => line(out, indent, &label, Some(node)),
        }
    }
}

fn label(key: &str) -> String {
    format!("{}:", word(key))
}

/// One entry with its value behind it, broken between the items of the value where it is long.
fn line(out: &mut String, indent: usize, label: &str, node: Option<&Node>) {
    let mut text = format!("{:indent$}{label}", "");
    if let Some(node) = node {
        let hang = indent + 2;
        for (i, piece) in pieces(node).iter().enumerate() {
            // The column is that of the last line of the entry.
            let column = text.len() - text.rfind('\n').map_or(0, |at| at + 1);
            if i == 0 || column + 1 + piece.len() <= WIDTH {
                text.push(' ');
            } else {
                let _ = write!(text, "\n{:hang$} ", "");
            }
            text.push_str(piece);
        }
    }
    out.push_str(&text);
    out.push('\n');
}

/// A value in flow style, cut where a line may be broken.
fn pieces(node: &Node) -> Vec<String> {
    let (open, inner, close) = match node {
        Node::List(items) => ('[', items.iter().map(flow).collect::<Vec<_>>(), ']'),
        Node::Map(fields) => ('{', fields.iter().map(|(key, node)| entry(key, node)).collect(), '}'),
        scalar => return vec![flow(scalar)],
    };
    let last = inner.len().saturating_sub(1);
    let mut pieces: Vec<String> = inner
        .into_iter()
        .enumerate()
        .map(|(i, piece)| if i == last { piece } else { format!("{piece},") })
        .collect();
    if pieces.is_empty() {
        pieces.push(String::new());
    }
    if let Some(first) = pieces.first_mut() {
        first.insert(0, open);
    }
    if let Some(last) = pieces.last_mut() {
        last.push(close);
    }
    pieces
}

fn entry(key: &str, node: &Node) -> String {
    format!("{}: {}", word(key), flow(node))
}

fn flow(node: &Node) -> String {
    match node {
        Node::Null => "null".to_owned(),
        Node::Bool(value) => value.to_string(),
        Node::Number { value, text } => number(*value, text),
        Node::Text(text) => word(text),
        Node::Prose(text) => quoted(text),
        list_or_map => pieces(list_or_map).join(" "),
    }
}

/// A number that any reader takes for the same number: its own text where that is plain.
fn number(value: f64, text: &str) -> String {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let figures = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    // A leading zero makes it octal for some.
    let plain = figures(whole) && figures(part) && (whole == "0" || !whole.starts_with('0'));
    if plain { text.to_owned() } else { scientific(value) }
}

fn scientific(value: f64) -> String {
    if value.is_nan() {
        ".nan".to_owned()
    } else if value.is_infinite() {
        if value > 0.0 { ".inf".to_owned() } else { "-.inf".to_owned() }
    } else {
        value.to_string()
    }
}

/// A word or name: bare where every reader takes it for the same text.
fn word(text: &str) -> String {
    if is_plain(text) { text.to_owned() } else { quoted(text) }
}

/// Words that some reader takes for a truth value, for nothing, or for a number.
const MISREAD: [&str; 12] =
    ["y", "n", "yes", "no", "on", "off", "true", "false", "null", "nan", "inf", "infinity"];

fn is_plain(text: &str) -> bool {
    let starts = text.starts_with(|c: char| c.is_ascii_alphabetic());
    let ends = text.ends_with(|c: char| c.is_ascii_alphanumeric());
    let body = text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '.' | '/' | '_'));
    let harmless = !MISREAD.contains(&text.to_ascii_lowercase().as_str());
    starts && ends && body && harmless
}

/// Double quotes, with everything escaped that is not plain text.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control()
                || matches!(c, '\u{2028}' | '\u{2029}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}') =>
            {
                let _ = write!(out, "\\U{:08x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
