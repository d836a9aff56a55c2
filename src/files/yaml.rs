//! YAML text into data, and a place in the data back into a line of the text.
//!
//! The only file that names the YAML library, so that it can be exchanged here. The library gives no line for a
//! value, but it gives one for every error: [`locate`] therefore walks the text once more, down to the place that
//! is looked for, and refuses it there.

use crate::call::job::{Node, Path, Spot, Step, any_of, likely};
use serde::de::{self, DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A text that is not YAML as `lath` reads it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Syntax {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: String,
}

/// Parses one YAML document.
///
/// # Errors
/// Whatever is not YAML, with its line.
pub fn parse(text: &str) -> Result<Node, Syntax> {
    if is_empty(text) {
        return Err(Syntax {
            line: 1,
            what: "the file is empty".to_owned(),
            instead: "lath: 1, then call:, house:, boxes: and readings:".to_owned(),
        });
    }
    let mut node: Node = serde_yaml::from_str(text).map_err(|error| syntax(text, &error))?;
    // A second pass fetches the numbers as they were written: `1.10` may be a name.
    Respell(&mut node)
        .deserialize(serde_yaml::Deserializer::from_str(text))
        .map_err(|error| syntax(text, &error))?;
    Ok(node)
}

/// Whether nothing but comments is in it.
pub fn is_empty(text: &str) -> bool {
    text.lines().all(|line| line.trim().is_empty() || line.trim_start().starts_with('#'))
}

/// Reads the text of a pack, known to people as `name`, into a type.
///
/// # Errors
/// Whatever is not YAML or not such a pack, with the pack's name and, where it is known, the line.
pub fn pack<T: de::DeserializeOwned>(name: &str, text: &str) -> Result<T, String> {
    typed(text).map_err(|Syntax { line, what, instead }| format!("{name}:{line}: {what}; write {instead}"))
}

/// Reads the text of a pack into a type.
///
/// # Errors
/// Whatever is not YAML or not such a pack, in words for the person who edits it.
pub fn typed<T: de::DeserializeOwned>(text: &str) -> Result<T, Syntax> {
    serde_yaml::from_str(text).map_err(|error| unfit(&error))
}

/// A value that does not fit the type of its pack. The library names the type as programs do, and the place twice.
fn unfit(error: &serde_yaml::Error) -> Syntax {
    let line = error.location().map_or(1, |place| place.line());
    let told = error.to_string();
    let told = told.rsplit_once(" at line ").map_or(told.as_str(), |(told, _)| told);
    let words: Vec<&str> = told.split('`').skip(1).step_by(2).collect();
    let named = |sign: &str| told.split_once(sign).map(|(place, _)| place);
    let (known, found) = (words.get(1..).unwrap_or_default(), words.first().copied().unwrap_or_default());
    let (place, what, instead) = if let Some(place) = named("unknown field `") {
        (
            place,
            format!("there is no such field; found \"{found}\""),
            format!("{}, or take it out", near(found, known)),
        )
    } else if let Some(place) = named("unknown variant `") {
        (place, format!("there is no such word; found \"{found}\""), near(found, known))
    } else if let Some(place) = named("missing field `") {
        (place, format!("the field {found} is missing"), format!("{found}: and its value as well"))
    } else if let Some((place, rest)) = told.split_once("invalid type: ") {
        let (found, wanted) = rest.split_once(", expected ").unwrap_or((rest, ""));
        let found = match found.split(['"', '`']).nth(1).unwrap_or(found) {
            "unit value" => "nothing",
            "sequence" => "a list",
            found => found,
        };
        let form = FORMS.iter().find(|(sign, ..)| wanted.starts_with(sign));
        let (what, instead) = form.map_or((wanted, wanted), |(_, what, instead)| (*what, *instead));
        (place, format!("{what} belongs here; found \"{found}\""), instead.to_owned())
    } else if let Some((what, instead)) = told.split_once("; write ") {
        ("", what.to_owned(), instead.to_owned())
    } else {
        ("", told.to_owned(), "what the packs that are compiled in have there".to_owned())
    };
    Syntax { line, what: format!("{place}{what}"), instead }
}

/// The word that was meant, or all that there are.
fn near(found: &str, known: &[&str]) -> String {
    likely(found, known.iter().copied()).map_or_else(|| any_of(known), str::to_owned)
}

/// What the library wants, what a person calls it, and what to write.
const FORMS: &[(&str, &str, &str)] = &[
    ("f64", "a number", "a plain number, as 0.3"),
    ("u", "a whole number", "a plain whole number"),
    ("a boolean", "true or false", "true or false"),
    ("a sequence", "a list", "a list in square brackets"),
    ("a string", "a text", "a text, in quotation marks where it looks like something else"),
    ("a map", "a map of fields", "the fields below it, each with its value"),
    ("struct", "a map of fields", "the fields below it, each with its value"),
];

/// The line of a place, from 1; the nearest place above it where the text has no such place.
pub fn locate(text: &str, spot: &Spot) -> usize {
    let seek = Seek { steps: &spot.path.0, key: spot.key };
    match seek.deserialize(serde_yaml::Deserializer::from_str(text)) {
        Err(error) => error.location().map_or(1, |place| place.line()),
        Ok(()) => match spot.path.0.split_last() {
            Some((_, above)) => locate(text, &Spot::from(Path(above.to_vec()))),
            None => 1,
        },
    }
}

/// Turns a library error into words for the person who wrote the file.
fn syntax(text: &str, error: &serde_yaml::Error) -> Syntax {
    let line = error.location().map_or(1, |place| place.line());
    if let Some(line) = tab_near(text, line) {
        return Syntax {
            line,
            what: "a tab is used to indent".to_owned(),
            instead: "spaces; YAML takes no tabs there".to_owned(),
        };
    }
    let told = error.to_string();
    if told.contains("more than one document") {
        let mut second = text.lines().enumerate().skip(1).filter(|(_, line)| line.starts_with("---"));
        return Syntax {
            line: second.next().map_or(line, |(i, _)| i + 1),
            what: "the file holds more than one document".to_owned(),
            instead: "one job a file, or one pack, without a second ---".to_owned(),
        };
    }
    if let Some((_, what, instead)) = KNOWN.iter().find(|(sign, ..)| told.contains(sign)) {
        return Syntax { line, what: began(what, &told), instead: (*instead).to_owned() };
    }
    let bare = told.split(" at line ").next().unwrap_or(&told);
    let instead = "the line again with its colons, brackets, quotation marks and indent in order";
    Syntax { line, what: began(&format!("this is not YAML: {bare}"), &told), instead: instead.to_owned() }
}

/// What the library says, what a person calls it, and what to write.
const KNOWN: &[(&str, &str, &str)] = &[
    (
        "mapping values are not allowed",
        "a colon stands where no value can begin",
        "a text that holds a colon between quotation marks, or the line with the indent of its neighbours",
    ),
    ("invalid type: enum", "a !tag stands before a value", "the value without the !tag"),
    ("before the colon", "what stands before a colon is no single word", "one word or name before the colon"),
    (
        "expected ',' or",
        "a comma or a closing bracket is missing",
        "the comma or the bracket before this place",
    ),
    ("expected '-' indicator", "the indent fits neither the lines above nor an item", INDENT),
    ("did not find expected key", "the indent or the quotation marks do not fit the lines above", INDENT),
    (
        "unexpected end of stream",
        "the file ends inside a value",
        "the quotation mark or bracket that closes it",
    ),
    (
        "unknown anchor",
        "a * calls for a name that no & gave",
        "the item itself; a text that begins with * in quotation marks",
    ),
    ("recursion limit", "lists or maps lie too deep in each other", "the brackets in pairs"),
    ("repetition limit", "items repeat each other too often", "the items themselves, without & and *"),
];

/// The remedy for lines out of line.
const INDENT: &str = "the line with the same indent as its neighbours, in spaces";

/// Adds where the thing began that was being read, as far as the library says.
fn began(what: &str, told: &str) -> String {
    let line = told
        .split_once(", while ")
        .and_then(|(_, rest)| rest.split_once(" at line "))
        .map(|(_, rest)| rest.chars().take_while(char::is_ascii_digit).collect::<String>());
    match line {
        Some(line) if !line.is_empty() => format!("{what} (what was being read began in line {line})"),
        _ => what.to_owned(),
    }
}

/// The line of a tab in the indent of a line at `line`, or just above it.
fn tab_near(text: &str, line: usize) -> Option<usize> {
    let first = line.saturating_sub(2);
    text.lines().enumerate().skip(first).take(line + 1 - first).find_map(|(i, line)| {
        let indent = &line[..line.len() - line.trim_start().len()];
        indent.contains('\t').then_some(i + 1)
    })
}

/// Visits a node that is known already and replaces the text of each number by what the file says.
struct Respell<'n>(&'n mut Node);

impl<'de> DeserializeSeed<'de> for Respell<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        match self.0 {
            Node::Number { text, .. } => from.deserialize_str(RespellNumber(text)),
            Node::List(_) | Node::Map(_) => from.deserialize_any(self),
            _ => from.deserialize_ignored_any(IgnoredAny).map(|_| ()),
        }
    }
}

impl<'de> Visitor<'de> for Respell<'_> {
    type Value = ();

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("the same document as before")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        if let Node::List(items) = self.0 {
            for item in items {
                from.next_element_seed(Respell(item))?;
            }
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        if let Node::Map(fields) = self.0 {
            for (_, value) in fields {
                from.next_key::<IgnoredAny>()?;
                from.next_value_seed(Respell(value))?;
            }
        }
        while from.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(())
    }
}

struct RespellNumber<'n>(&'n mut String);

impl Visitor<'_> for RespellNumber<'_> {
    type Value = ();

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("the same number as before")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<(), E> {
        text.clone_into(self.0);
        Ok(())
    }
}

/// Walks down to a place and fails there on purpose.
struct Seek<'p> {
    steps: &'p [Step],
    key: Option<usize>,
}

/// The error raised at the place; only its position is used.
fn here<E: de::Error>() -> E {
    E::custom("here")
}

impl<'de> DeserializeSeed<'de> for Seek<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Seek<'_> {
    type Value = ();

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("the same document as before")
    }

    fn visit_unit<E: de::Error>(self) -> Result<(), E> {
        if self.steps.is_empty() { Err(here()) } else { Ok(()) }
    }

    fn visit_none<E: de::Error>(self) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_bool<E: de::Error>(self, _: bool) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_i64<E: de::Error>(self, _: i64) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_u64<E: de::Error>(self, _: u64) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_i128<E: de::Error>(self, _: i128) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_u128<E: de::Error>(self, _: u128) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_f64<E: de::Error>(self, _: f64) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_str<E: de::Error>(self, _: &str) -> Result<(), E> {
        self.visit_unit()
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        let Some((step, rest)) = self.steps.split_first() else { return Err(here()) };
        if let Step::Index(index) = step {
            for _ in 0..*index {
                if from.next_element::<IgnoredAny>()?.is_none() {
                    return Ok(());
                }
            }
            from.next_element_seed(Seek { steps: rest, key: self.key })?;
        }
        while from.next_element::<IgnoredAny>()?.is_some() {}
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        let Some((step, rest)) = self.steps.split_first() else { return Err(here()) };
        let mut nth = self.key.filter(|_| rest.is_empty());
        if let Step::Key(wanted) = step {
            while let Some(found) = from.next_key_seed(SeekKey { wanted, nth: &mut nth })? {
                if found {
                    from.next_value_seed(Seek { steps: rest, key: self.key })?;
                    continue;
                }
                from.next_value::<IgnoredAny>()?;
            }
        }
        while from.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(())
    }
}

/// Looks at one key: says whether it is the wanted one, or fails at it where the key itself is looked for.
struct SeekKey<'p> {
    wanted: &'p str,
    nth: &'p mut Option<usize>,
}

impl<'de> DeserializeSeed<'de> for SeekKey<'_> {
    type Value = bool;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<bool, D::Error> {
        from.deserialize_str(self)
    }
}

impl Visitor<'_> for SeekKey<'_> {
    type Value = bool;

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("the same document as before")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<bool, E> {
        let same = text == self.wanted
            || (self.wanted == "on" && text.eq_ignore_ascii_case("true"))
            || (self.wanted == "off" && text.eq_ignore_ascii_case("false"));
        match self.nth {
            Some(0) if same => Err(here()),
            Some(left) if same => {
                *left -= 1;
                Ok(false)
            }
            Some(_) => Ok(false),
            None => Ok(same),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "lath: 1\nboxes:\n  - name: hall\n    joints:\n      - [a.black,\n         b.black]\n    tag: x\n    tag: y\n\
                        readings: [{do: volts, reads:\n  118},\n {do: ohms}]\n";

    fn line(steps: &[Step], key: Option<usize>) -> usize {
        locate(TEXT, &Spot { path: Path(steps.to_vec()), key })
    }

    fn key(name: &str) -> Step {
        Step::Key(name.to_owned())
    }

    #[test]
    fn places_in_block_and_flow_style() {
        assert_eq!(line(&[], None), 1);
        assert_eq!(line(&[key("boxes"), Step::Index(0), key("name")], None), 3);
        let joint = [key("boxes"), Step::Index(0), key("joints"), Step::Index(0)];
        assert_eq!(line(&joint, None), 5);
        let second = [joint.as_slice(), &[Step::Index(1)]].concat();
        assert_eq!(line(&second, None), 6);
        assert_eq!(line(&[key("readings"), Step::Index(0), key("reads")], None), 10);
        assert_eq!(line(&[key("readings"), Step::Index(0), key("reads")], Some(0)), 9);
        assert_eq!(line(&[key("readings"), Step::Index(1)], None), 11);
    }

    #[test]
    fn a_repeated_key_is_found_where_it_repeats() {
        let tag = [key("boxes"), Step::Index(0), key("tag")];
        assert_eq!(line(&tag, Some(0)), 7);
        assert_eq!(line(&tag, Some(1)), 8);
    }

    #[test]
    fn a_place_that_is_not_there_points_at_what_is_above() {
        assert_eq!(line(&[key("boxes"), Step::Index(0), key("volume")], None), 3);
    }

    #[test]
    fn numbers_keep_their_text() {
        let node = parse("a: 1.10\n2.50: [0x1F, true]\n").unwrap();
        assert_eq!(node.get("a").unwrap().word().unwrap(), "1.10");
        let Some(Node::List(items)) = node.get("2.50") else { panic!("{node:?}") };
        assert_eq!(items[0], Node::Number { value: 31.0, text: "0x1F".to_owned() });
        assert_eq!(items[1].word().unwrap(), "on");
    }
}
