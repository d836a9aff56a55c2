//! The text of a job after an edit: what did not change keeps its text, comments and all.
//!
//! The text is cut where fields of the document begin, and a list of one item a line or more where its items begin.
//! Whether it was cut well is not argued but tried: the new text must say the new job. Where it does not, the job is
//! written anew, and its comments are lost.

use super::emit::{item, section, to_yaml};
use super::yaml;
use crate::call::job::{Field, Job, Node, read_job};

/// The text that says `new`, close to `text`, which says `old`.
pub fn patched(text: &str, old: &Job, new: &Job) -> String {
    let says = |text: &str| yaml::parse(text).ok().and_then(|node| read_job(&node).ok());
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    match splice(body, &old.write(), &new.write()) {
        Some(patched) if says(&patched).as_ref() == Some(new) => patched,
        _ => to_yaml(new),
    }
}

/// A field of the document in its text.
struct Section<'t> {
    key: &'t str,
    /// Comments and empty lines before it.
    lead: &'t str,
    body: &'t str,
}

fn splice(text: &str, old: &Node, new: &Node) -> Option<String> {
    let (Node::Map(before), Node::Map(after)) = (old, new) else { return None };
    let (sections, tail) = sections(text, before);
    if sections.len() != before.len() {
        return None;
    }
    let mut out = String::with_capacity(text.len() + 1000);
    for section in &sections {
        out.push_str(section.lead);
        match (old.get(section.key), new.get(section.key)) {
            (Some(old), Some(new)) if old == new => out.push_str(section.body),
            (Some(old), Some(new)) => out.push_str(&changed(section, old, new)),
            _ => {}
        }
        end_line(&mut out);
    }
    out.push_str(tail);
    end_line(&mut out);
    for (key, node) in after.iter().filter(|(key, _)| old.get(key).is_none()) {
        out.push_str(&self::section(key, node));
    }
    Some(if text.contains("\r\n") { out.replace("\r\n", "\n").replace('\n', "\r\n") } else { out })
}

fn end_line(text: &mut String) {
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
}

/// The fields of the document in the order of the text, and what stands behind the last.
fn sections<'t>(text: &'t str, fields: &[(String, Node)]) -> (Vec<Section<'t>>, &'t str) {
    let mut starts: Vec<(usize, &'t str)> = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let begins = |key: &str| line.strip_prefix(key).is_some_and(|rest| rest.starts_with(':'));
        if fields.iter().any(|(key, _)| begins(key)) {
            starts.push((at, line.split(':').next().unwrap_or_default()));
        }
        at += line.len();
    }
    let mut sections = Vec::new();
    let mut from = 0;
    for (n, &(start, key)) in starts.iter().enumerate() {
        let end = starts.get(n + 1).map_or(text.len(), |&(next, _)| next);
        let end = start + without_comments_behind(&text[start..end]);
        sections.push(Section { key, lead: &text[from..start], body: &text[start..end] });
        from = end;
    }
    (sections, &text[from..])
}

/// How far a text goes before the empty lines and the comments at the margin that end it.
fn without_comments_behind(text: &str) -> usize {
    let mut end = text.len();
    for line in text.split_inclusive('\n').rev() {
        if !line.trim().is_empty() && !line.starts_with('#') {
            break;
        }
        end -= line.len();
    }
    end
}

/// A field with another value: a list keeps the text of the items at its beginning and end that are the same.
fn changed(section: &Section<'_>, old: &Node, new: &Node) -> String {
    let anew = || remarked(section, &self::section(section.key, new));
    let (Node::List(old), Node::List(new)) = (old, new) else { return anew() };
    let Some(places) = places(section.body).filter(|places| places.starts.len() == old.len()) else {
        return anew();
    };
    if new.is_empty() {
        return anew();
    }
    let least = old.len().min(new.len());
    let front = old.iter().zip(new).take_while(|(old, new)| old == new).count();
    let back = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count();
    let back = back.min(least - front);
    let start = |n: usize| places.starts.get(n).copied().unwrap_or(section.body.len());
    let mut out = section.body[..start(front)].to_owned();
    end_line(&mut out);
    for node in &new[front..new.len() - back] {
        for line in item(section.key, node).lines() {
            // Items are written two columns in; these are put where their neighbours are.
            out.push_str(&" ".repeat(places.indent));
            out.push_str(line.strip_prefix("  ").unwrap_or(line));
            out.push('\n');
        }
    }
    out.push_str(&section.body[start(old.len() - back)..]);
    out
}

/// A field written anew, with the remark that stood behind its first line.
fn remarked(section: &Section<'_>, anew: &str) -> String {
    let first = section.body.lines().next().unwrap_or_default();
    match (first.split_once(" #"), anew.split_once('\n')) {
        (Some((_, remark)), Some((line, rest))) => format!("{line}  #{remark}\n{rest}"),
        _ => anew.to_owned(),
    }
}

/// Where the items of a list begin, one to a line or more.
struct Places {
    indent: usize,
    starts: Vec<usize>,
}

fn places(body: &str) -> Option<Places> {
    let dash = |line: &str| {
        let text = line.trim_start_matches(' ');
        let item = text.strip_prefix('-').is_some_and(|rest| rest.starts_with([' ', '\n', '\r']));
        item.then_some(line.len() - text.len())
    };
    let indent = body.lines().find_map(dash)?;
    let mut starts = Vec::new();
    let mut at = 0;
    for line in body.split_inclusive('\n') {
        if dash(line) == Some(indent) {
            starts.push(at);
        }
        at += line.len();
    }
    Some(Places { indent, starts })
}
