//! The packs as text, for whoever edits them.

use super::palette::Tone;
use super::sheet::{Cell, Sheet, Style};
use super::text::{capital, count};
use crate::call::job::Node;
use crate::conditions::{Condition, FIELDS, FieldKind, Pack, Provision, Scope};

/// Pack files in a table: name, kind, what is in it.
pub fn list(packs: &[(String, &str, String)], style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    let mut rows = vec![["Pack", "Kind", "Holds"].map(|head| Cell::new(Tone::Heading, head)).to_vec()];
    rows.extend(
        packs.iter().map(|(name, kind, holds)| {
            vec![Cell::new(Tone::Name, name), Cell::plain(kind), Cell::plain(holds)]
        }),
    );
    sheet.rows(0, &rows);
    sheet.finish()
}

/// A condition, with the provisions behind it.
pub fn condition(pack: &Pack, condition: &Condition, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    sheet.heading(&condition.name);
    sheet.text(Tone::Heading, &condition.title);
    let step = pack.level(condition).map_or("", |level| &level.words);
    let found: Vec<String> = condition
        .found
        .iter()
        .map(|trigger| {
            let fields: Vec<&str> = trigger.when.tests().into_iter().map(|(field, _)| field).collect();
            format!("a {}, by {}", trigger.about.word(), fields.join(", "))
        })
        .collect();
    let mut say = |label: &str, text: &str| sheet.hang(Tone::Plain, &format!("{label}:"), text);
    say("How serious", step);
    say("Found at", &found.join("; "));
    if !condition.regions.is_empty() {
        say("In", &condition.regions.join(", "));
    }
    say("What it means", &condition.says);
    say("Usually done", &condition.usually);
    condition.installed.iter().for_each(|text| say("When installed", &capital(text)));
    let cautions: Vec<&str> = condition.cautions.iter().map(|caution| caution.word()).collect();
    if !cautions.is_empty() {
        say("Cautions", &cautions.join(", "));
    }
    condition.provisions.iter().for_each(|provision| say("Provision", &self::provision(provision)));
    sheet.finish()
}

fn provision(provision: &Provision) -> String {
    let since = provision.since.map_or(String::new(), |year| format!(", since {year}"));
    let until = provision.until.map_or(String::new(), |year| format!(", to {year}"));
    let source = if provision.source.is_empty() { String::new() } else { format!(": {}", provision.source) };
    format!(
        "{} {}{since}{until}. {} {}{source}",
        provision.code,
        provision.section,
        provision.says,
        capital(provision.checked.words())
    )
}

/// Every provision that a condition names, with how it was checked.
pub fn provisions(pack: &Pack, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    let mut said: Vec<&Provision> = Vec::new();
    for condition in &pack.conditions {
        for one in &condition.provisions {
            if !said.contains(&one) {
                said.push(one);
                let of = format!("{}:", condition.name);
                sheet.hang(Tone::Name, &of, &provision(one));
            }
        }
    }
    sheet.finish()
}

/// The fields that rules may ask for, by what they are fields of.
pub fn fields(pack: &Pack, style: &Style) -> String {
    let mut sheet = Sheet::new(style);
    for scope in Scope::ALL {
        sheet.heading(&format!("Fields of a {}", scope.word()));
        let seen: Vec<&str> = Scope::ALL
            .into_iter()
            .filter(|other| *other != scope && scope.sees(*other))
            .map(Scope::word)
            .collect();
        if !seen.is_empty() {
            sheet.text(
                Tone::Faint,
                &format!("A rule about one may also ask for fields of the {}.", seen.join(" and the ")),
            );
        }
        for field in FIELDS.iter().filter(|field| field.scope == scope) {
            let holds = match field.kind {
                FieldKind::Words(words) => words.join(", "),
                FieldKind::Defect => "the name of a defect".to_owned(),
                FieldKind::Observation => "the name of an observation".to_owned(),
                FieldKind::Scheme => "the name of a scheme".to_owned(),
                FieldKind::Name => "a name".to_owned(),
                FieldKind::Number => "a number, or {from: …, to: …}".to_owned(),
            };
            sheet.hang(Tone::Name, &format!("{}:", field.name), &format!("{}: {holds}", field.means));
        }
    }
    sheet.heading("Observations");
    for one in &pack.observations {
        sheet.hang(Tone::Name, &format!("{}:", one.name), &one.words);
    }
    sheet.finish()
}

/// What a pack file holds, in a few words: its title, the names of its conditions, or how much of what.
pub fn holds(node: &Node) -> String {
    if let Some(title) = node.get("title").and_then(Node::word) {
        return title.into_owned();
    }
    let Node::Map(fields) = node else { return String::new() };
    if fields.len() > 8 {
        return count(fields.len(), "entry", "entries");
    }
    let each = fields.iter().map(|(key, value)| match value {
        Node::List(items) => {
            let names: Vec<_> = items.iter().filter_map(|item| item.get("name")?.word()).collect();
            if names.is_empty() { format!("{key} ({})", items.len()) } else { names.join(", ") }
        }
        Node::Map(inside) => format!("{key} ({})", inside.len()),
        _ => key.clone(),
    });
    each.collect::<Vec<_>>().join(", ")
}
