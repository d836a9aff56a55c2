//! A document as plain data: what YAML and JSON have in common.
//!
//! Reading goes text → [`Node`] → [`Job`](super::Job), writing goes back the same way. A node keeps a number as it
//! was written, because a number often stands where a name belongs (`name: 7`, `code: 2020.10`).

use super::inert::harmless;
use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde::ser::{Serialize, SerializeMap, SerializeSeq, Serializer};
use std::borrow::Cow;
use std::fmt;

/// One value of a document.
#[derive(Clone, PartialEq, Debug, Default)]
pub enum Node {
    /// Nothing.
    #[default]
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A number, with the text it was written as.
    Number {
        /// Its value.
        value: f64,
        /// Its text.
        text: String,
    },
    /// A word or a name.
    Text(String),
    /// Somebody's own words. Read as [`Node::Text`]; always quoted when written.
    Prose(String),
    /// A list.
    List(Vec<Node>),
    /// A map in file order; keys may repeat, which the reader of a job reports.
    Map(Vec<(String, Node)>),
}

impl Node {
    /// A number with its usual text.
    pub fn number(value: f64) -> Node {
        // There is one zero on a display.
        let value = if value == 0.0 { 0.0 } else { value };
        Node::Number { value, text: value.to_string() }
    }

    /// A word or name.
    pub fn text(text: impl Into<String>) -> Node {
        Node::Text(text.into())
    }

    /// A map of named fields.
    pub fn map<'a>(fields: impl IntoIterator<Item = (&'a str, Node)>) -> Node {
        Node::Map(fields.into_iter().map(|(key, node)| (key.to_owned(), node)).collect())
    }

    /// The first value under `key`, where this is a map that has it.
    pub fn get(&self, key: &str) -> Option<&Node> {
        match self {
            Node::Map(fields) => fields.iter().find(|(name, _)| name == key).map(|(_, node)| node),
            _ => None,
        }
    }

    /// A scalar as a name: `true` and `false` are `on` and `off`, a number is its text.
    pub fn word(&self) -> Option<Cow<'_, str>> {
        match self {
            Node::Bool(on) => Some(Cow::Borrowed(switch_word(*on))),
            Node::Number { text, .. } => Some(Cow::Borrowed(text)),
            Node::Text(text) | Node::Prose(text) => Some(Cow::Borrowed(text)),
            Node::Null | Node::List(_) | Node::Map(_) => None,
        }
    }

    /// What to show of it in a message: one line, cut off where it is long.
    pub fn excerpt(&self) -> String {
        let mut whole = String::new();
        self.excerpt_into(&mut whole);
        shorten(&whole)
    }

    fn excerpt_into(&self, out: &mut String) {
        // A message shows a few dozen characters; what lies far beyond need not be spelled out.
        if out.len() > 4 * EXCERPT {
            return;
        }
        match self {
            Node::Null => out.push_str("nothing"),
            Node::Bool(value) => out.push_str(if *value { "true" } else { "false" }),
            Node::Number { text, .. } | Node::Text(text) | Node::Prose(text) => out.push_str(text),
            Node::List(items) => {
                out.push('[');
                for (i, item) in items.iter().enumerate() {
                    out.push_str(if i == 0 { "" } else { ", " });
                    item.excerpt_into(out);
                }
                out.push(']');
            }
            Node::Map(fields) => {
                out.push('{');
                for (i, (key, node)) in fields.iter().enumerate() {
                    out.push_str(if i == 0 { "" } else { ", " });
                    out.push_str(key);
                    out.push_str(": ");
                    node.excerpt_into(out);
                }
                out.push('}');
            }
        }
    }
}

/// Longest excerpt in a message, in characters.
const EXCERPT: usize = 60;

/// Longest sentence in a message, in characters.
const SENTENCE: usize = 400;

/// An offending text on one line, cut off where it is long, with whatever could act on a terminal made inert.
pub fn shorten(text: &str) -> String {
    cut(text, EXCERPT)
}

/// A sentence on one line: names in it may hold anything while a file is wrong.
pub fn sentence(text: &str) -> String {
    cut(text, SENTENCE)
}

fn cut(text: &str, most: usize) -> String {
    let line: String = text.chars().filter_map(harmless).take(most + 1).collect();
    if line.chars().count() <= most {
        return line;
    }
    let cut: String = line.chars().take(most - 1).collect();
    format!("{cut}…")
}

fn switch_word(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

impl Serialize for Node {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Node::Null => to.serialize_unit(),
            Node::Bool(value) => to.serialize_bool(*value),
            Node::Number { value, text } => match text.parse::<i64>() {
                Ok(whole) => to.serialize_i64(whole),
                Err(_) => to.serialize_f64(*value),
            },
            Node::Text(text) | Node::Prose(text) => to.serialize_str(text),
            Node::List(items) => {
                let mut list = to.serialize_seq(Some(items.len()))?;
                for item in items {
                    list.serialize_element(item)?;
                }
                list.end()
            }
            Node::Map(fields) => {
                let mut map = to.serialize_map(Some(fields.len()))?;
                for (key, node) in fields {
                    map.serialize_entry(key, node)?;
                }
                map.end()
            }
        }
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Node, D::Error> {
        from.deserialize_any(NodeVisitor)
    }
}

struct NodeVisitor;

impl<'de> Visitor<'de> for NodeVisitor {
    type Value = Node;

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("a word, a number, a list or a map (no !tags)")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }

    fn visit_none<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Node, E> {
        Ok(Node::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Node, E> {
        Ok(Node::Number { value: value as f64, text: value.to_string() })
    }

    fn visit_u64<E>(self, value: u64) -> Result<Node, E> {
        Ok(Node::Number { value: value as f64, text: value.to_string() })
    }

    fn visit_i128<E>(self, value: i128) -> Result<Node, E> {
        Ok(Node::Number { value: value as f64, text: value.to_string() })
    }

    fn visit_u128<E>(self, value: u128) -> Result<Node, E> {
        Ok(Node::Number { value: value as f64, text: value.to_string() })
    }

    fn visit_f64<E>(self, value: f64) -> Result<Node, E> {
        Ok(Node::number(value))
    }

    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(Node::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = from.next_element()? {
            items.push(item);
        }
        Ok(Node::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let mut fields = Vec::new();
        while let Some(Key(key)) = from.next_key()? {
            fields.push((key, from.next_value()?));
        }
        Ok(Node::Map(fields))
    }
}

/// A key, as text: asking for text keeps `1.10` as it was written.
struct Key(String);

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Key, D::Error> {
        from.deserialize_str(KeyVisitor)
    }
}

struct KeyVisitor;

impl Visitor<'_> for KeyVisitor {
    type Value = Key;

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("a word before the colon")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Key, E> {
        // Another writer may have turned the key `on` into a truth value.
        Ok(Key(match text {
            "true" | "True" | "TRUE" => switch_word(true).to_owned(),
            "false" | "False" | "FALSE" => switch_word(false).to_owned(),
            _ => text.to_owned(),
        }))
    }
}
