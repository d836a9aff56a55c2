//! Text on its way out: made inert, measured, wrapped.
//!
//! Names and remarks come from files that anybody may have written. What leaves this room goes through
//! [`sanitize`] first, so that no escape sequence reaches a terminal and no invisible character turns a line
//! round.

use crate::call::job::harmless;
use std::borrow::Cow;
use textwrap::{Options, WordSplitter};
use unicode_width::UnicodeWidthStr;

/// Text that can do nothing but be read: one line, no control characters, no direction changes, nothing
/// invisible; runs of white space are one space.
pub fn sanitize(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match harmless(c) {
            Some(' ') if out.is_empty() || out.ends_with(' ') => {}
            Some(c) => out.push(c),
            None => {}
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Columns that a text takes on a terminal.
pub fn width(text: &str) -> usize {
    // Scripts whose letters join can measure less together than one by one, and some terminals do not join
    // them: the larger count is the safe one.
    let apart: usize = text.chars().map(|c| UnicodeWidthStr::width(c.encode_utf8(&mut [0; 4]) as &str)).sum();
    apart.max(UnicodeWidthStr::width(text))
}

/// A text filled up with spaces to a width.
pub fn pad(text: &str, to: usize) -> String {
    format!("{text}{}", " ".repeat(to.saturating_sub(width(text))))
}

/// A text in lines of at most `to` columns; words longer than a line are cut, hyphens are no break.
pub fn wrap(text: &str, to: usize) -> Vec<String> {
    let options = Options::new(to.max(2)).break_words(true).word_splitter(WordSplitter::NoHyphenation);
    textwrap::wrap(text, options).into_iter().map(Cow::into_owned).collect()
}

/// A number as a person would write it: no more than three decimals, none that say nothing.
pub fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// A probability in percent, rounded down, so that nothing reads firmer than it is and nothing reads certain.
pub fn percent(p: f64) -> String {
    let tenths = (p * 1000.0 + 1e-6).floor();
    if tenths.is_nan() || tenths < 10.0 {
        "under 1%".to_owned()
    } else if tenths > 999.0 {
        "over 99.9%".to_owned()
    } else if p >= 0.9 {
        format!("{}%", number(tenths / 10.0))
    } else {
        format!("{}%", (tenths / 10.0).floor())
    }
}

/// `a`, `a and b`, `a, b and c`.
pub fn list(items: &[String], last: &str) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., end] => format!("{} {last} {end}", most.join(", ")),
    }
}

/// The text as a sentence: with a stop at its end.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() || text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

/// The text with a capital at its front.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// `1 wire`, `2 wires`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Text as text in HTML and XML.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}
