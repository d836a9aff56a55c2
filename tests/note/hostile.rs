//! Whatever text a job file takes comes out as text in every form, and the job that shows it leaves no field out.

use crate::fixture::{self, HOSTILE, HOSTILE_NAME};
use crate::html::document;
use lath::show::note::{Reader, html, markdown, pdf, terminal};
use lath::show::picture::{picture, svg};
use lath::show::{Style, draw, tags};
use pulldown_cmark::{Event, Options, Parser, Tag};
use serde_json::Value;
use std::collections::BTreeSet;

/// Places in a job file that hold no free text: the program refuses what is no day, no point, no position and so on.
const REFUSED: [&str; 11] = [
    "call.date",
    "call.goal",
    "house.region",
    "safety.accepted",
    "proofs[].time",
    "readings[].reads",
    "readings[].reads[]",
    "readings[].reads{}",
    "skipped[].reads",
    "skipped[].reads[]",
    "skipped[].reads{}",
];

/// Every place where the published schema of job files has a string that is none of a closed list. `history` holds edits,
/// which are never shown.
fn strings(root: &Value, schema: &Value, place: &str, within: &[&str], out: &mut BTreeSet<String>) {
    if let Some(reference) = schema["$ref"].as_str() {
        if !within.contains(&reference) {
            let inner = root.pointer(&reference[1..]).expect("what it refers to");
            strings(root, inner, place, &[within, &[reference]].concat(), out);
        }
        return;
    }
    let is_string = schema["type"] == "string"
        || schema["type"].as_array().is_some_and(|types| types.contains(&"string".into()));
    if is_string && schema.get("enum").is_none() && schema.get("const").is_none() {
        out.insert(place.to_owned());
    }
    let any = ["anyOf", "oneOf", "allOf"].iter().filter_map(|key| schema[key].as_array()).flatten();
    any.for_each(|inner| strings(root, inner, place, within, out));
    for (key, inner) in schema["properties"].as_object().into_iter().flatten() {
        let dot = if place.is_empty() { "" } else { "." };
        strings(root, inner, &format!("{place}{dot}{key}"), within, out);
    }
    let items = schema["items"].is_object().then_some(&schema["items"]);
    let items = items.into_iter().chain(schema["prefixItems"].as_array().into_iter().flatten());
    items.for_each(|inner| strings(root, inner, &format!("{place}[]"), within, out));
    if schema["additionalProperties"].is_object() {
        out.insert(format!("{place}{{}}"));
        strings(root, &schema["additionalProperties"], &format!("{place}{{}}"), within, out);
    }
}

/// Every place where a document has a string with markup in it.
fn marked(value: &Value, place: &str, out: &mut BTreeSet<String>) {
    match value {
        Value::String(text) if text.contains('<') => drop(out.insert(place.to_owned())),
        Value::Array(items) => items.iter().for_each(|item| marked(item, &format!("{place}[]"), out)),
        Value::Object(fields) => {
            for (key, inner) in fields {
                if key.contains('<') {
                    out.insert(format!("{place}{{}}"));
                } else {
                    let dot = if place.is_empty() { "" } else { "." };
                    marked(inner, &format!("{place}{dot}{key}"), out);
                }
            }
        }
        _ => {}
    }
}

#[test]
fn no_free_field_of_a_job_file_is_left_out() {
    let schema = std::process::Command::new(env!("CARGO_BIN_EXE_lath")).args(["schema", "job"]).output();
    let schema: Value = serde_json::from_slice(&schema.expect("it runs").stdout).expect("a schema");
    let mut free = BTreeSet::new();
    strings(&schema, &schema, "", &[], &mut free);
    let job: Value = serde_json::from_str(&fixture::hostile_file(HOSTILE, HOSTILE_NAME)).expect("JSON");
    let mut filled = BTreeSet::new();
    marked(&job, "", &mut filled);
    // A reading that was skipped has the fields of one that was taken.
    let there =
        |place: &str| filled.contains(&place.replacen("skipped", "readings", 1)) || filled.contains(place);
    let left: Vec<&String> =
        free.iter().filter(|place| !there(place) && !REFUSED.contains(&place.as_str())).collect();
    assert!(free.len() > 50 && left.is_empty(), "{left:?}");
}

/// Every form of everything that is shown, where text goes straight to a screen or a file.
#[test]
fn every_form_of_it_is_inert() {
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let long = HOSTILE.repeat(10_000 / HOSTILE.len() + 1);
    for text in [HOSTILE, &long] {
        let (call, verdict, header) = fixture::hostile_job(text, HOSTILE_NAME);
        let (house, cautions) = (&call.house, &knowledge.cautions);
        let style = Style::of_width(80);
        let note = document(&header, &call, &verdict, Reader::Customer);
        let sheet = tags::sheet(header.title.as_deref(), house, &verdict, cautions);
        let markdown = markdown::text(&note);
        let picture = svg::file(&picture(house, &verdict));
        for (form, text) in [
            ("text", terminal::text(&note, &style)),
            ("markdown", markdown.clone()),
            ("html", html::text(&note)),
            ("tags", tags::text(house, &verdict, cautions, &style)),
            ("tags to print", html::text(&sheet)),
            ("diagram", draw::text(house, &verdict, &style)),
            ("picture", picture.clone()),
            ("graph", draw::dot(house, &verdict)),
        ] {
            assert!(!text.contains(|c: char| c.is_control() && c != '\n'), "{form}");
            // UAX #9: the explicit formatting characters.
            let turns = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            assert!(!text.contains(turns), "{form}");
            assert!(text.contains("img src=x"), "{form} still says what was typed");
            if form.contains("html") || form.contains("print") || form == "picture" {
                assert!(
                    !text.contains("<img") && !text.contains("<script") && !text.contains("<b>"),
                    "{form}"
                );
            }
        }
        let acts = Parser::new_ext(&markdown, Options::all()).find(|event| {
            matches!(
                event,
                Event::Html(_)
                    | Event::InlineHtml(_)
                    | Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::HtmlBlock)
            )
        });
        assert_eq!(acts, None);
        for document in [&note, &sheet] {
            let file = pdf::file(document, pdf::Paper::Letter).unwrap_or_else(|error| panic!("{error}"));
            for word in ["/JavaScript", "/URI", "/OpenAction", "/Launch"] {
                assert!(!file.windows(word.len()).any(|part| part == word.as_bytes()), "{word}");
            }
        }
    }
}

/// Where no free text belongs there is none: the file is refused, and the complaint is inert itself.
#[test]
fn what_is_no_free_text_is_refused() {
    let text = fixture::hostile_file("a", "b");
    let job: Value = serde_json::from_str(&text).expect("JSON");
    let evil = Value::from(HOSTILE);
    for place in ["/call/date", "/call/goal", "/safety/accepted", "/proofs/0/time", "/readings/0/reads"] {
        let mut job = job.clone();
        *job.pointer_mut(place).expect("a field") = evil.clone();
        let refused = lath::files::parse_str("job.yaml", &job.to_string());
        let said = refused.err().unwrap_or_else(|| panic!("{place} was taken")).to_string();
        assert!(!said.contains(|c: char| c.is_control() && c != '\n'), "{place}: {said:?}");
    }
}
