//! How a value of the job file is read from a [`Node`] and written back.

use super::node::Node;
use super::problem::{Path, Problem, any_of, likely};
use std::collections::BTreeMap;

/// A value of the job file.
pub trait Field: Sized {
    /// Reads it; what is wrong is added to `out`, and then there is no value.
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self>;

    /// The data to write.
    fn write(&self) -> Node;

    /// The value of a field that is not there, where it may be left out.
    fn absent() -> Option<Self> {
        None
    }
}

impl<T: Field> Field for Option<T> {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Null => Some(None),
            node => T::read(node, at, out).map(Some),
        }
    }

    fn write(&self) -> Node {
        self.as_ref().map_or(Node::Null, T::write)
    }

    fn absent() -> Option<Self> {
        Some(None)
    }
}

impl<T: Field> Field for Vec<T> {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        let Node::List(items) = node else {
            let instead = match node {
                Node::Null | Node::Map(_) => "a list in square brackets, or [] for none".to_owned(),
                one => format!("a list: [{}]", one.excerpt()),
            };
            out.push(Problem::new(at.clone(), "a list belongs here", node.excerpt(), instead));
            return None;
        };
        // Every item is looked at, so that one report shows all that is wrong.
        let read: Vec<Option<T>> =
            items.iter().enumerate().map(|(i, item)| T::read(item, &at.index(i), out)).collect();
        read.into_iter().collect()
    }

    fn write(&self) -> Node {
        Node::List(self.iter().map(T::write).collect())
    }
}

impl<T: Field> Field for BTreeMap<String, T> {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        let Node::Map(fields) = node else {
            let instead = "a map: {NAME: VALUE}";
            out.push(Problem::new(at.clone(), "a map of names belongs here", node.excerpt(), instead));
            return None;
        };
        let read: Vec<Option<(String, T)>> = fields
            .iter()
            .map(|(key, node)| T::read(node, &at.key(key), out).map(|value| (key.clone(), value)))
            .collect();
        read.into_iter().collect()
    }

    fn write(&self) -> Node {
        Node::Map(self.iter().map(|(key, value)| (key.clone(), value.write())).collect())
    }
}

impl Field for String {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        let word = node.word();
        if word.is_none() {
            out.push(Problem::new(
                at.clone(),
                "a single word or name belongs here",
                node.excerpt(),
                "one name",
            ));
        }
        word.map(std::borrow::Cow::into_owned)
    }

    fn write(&self) -> Node {
        Node::Text(self.clone())
    }
}

impl Field for bool {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        let value = match node.word().as_deref() {
            Some("on" | "yes" | "true") => Some(true),
            Some("off" | "no" | "false") => Some(false),
            _ => None,
        };
        if value.is_none() {
            out.push(Problem::new(at.clone(), "yes or no belongs here", node.excerpt(), "true or false"));
        }
        value
    }

    fn write(&self) -> Node {
        Node::Bool(*self)
    }
}

impl Field for f64 {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Number { value, .. } if value.is_finite() => Some(*value),
            node => {
                let instead = plain_number(&node.excerpt()).unwrap_or_else(|| "a plain number".to_owned());
                out.push(Problem::new(at.clone(), "a number belongs here", node.excerpt(), instead));
                None
            }
        }
    }

    fn write(&self) -> Node {
        Node::number(*self)
    }
}

impl Field for i64 {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Number { value, .. } if value.fract() == 0.0 && value.abs() < 1e15 => Some(*value as i64),
            node => {
                let instead = plain_number(&node.excerpt())
                    .filter(|number| number.parse::<i64>().is_ok())
                    .unwrap_or_else(|| "a plain whole number".to_owned());
                out.push(Problem::new(at.clone(), "a whole number belongs here", node.excerpt(), instead));
                None
            }
        }
    }

    fn write(&self) -> Node {
        Node::Number { value: *self as f64, text: self.to_string() }
    }
}

impl Field for Node {
    fn read(node: &Node, _: &Path, _: &mut Vec<Problem>) -> Option<Self> {
        Some(node.clone())
    }

    fn write(&self) -> Node {
        self.clone()
    }
}

/// The number that was probably meant by a text such as `118,4`, `118.4 V` or `"12"`.
pub fn plain_number(text: &str) -> Option<String> {
    let digits: String = text
        .trim()
        .trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace() || matches!(c, 'Ω' | 'µ' | '"'))
        .replace(',', ".");
    let fits =
        digits.parse::<f64>().is_ok_and(f64::is_finite) && digits.starts_with(|c: char| c.is_ascii_digit());
    fits.then_some(digits)
}

/// Somebody's own words: quoted whenever they are written.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default, schemars::JsonSchema)]
#[schemars(transparent)]
pub struct Prose(pub String);

impl std::ops::Deref for Prose {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl From<&str> for Prose {
    fn from(text: &str) -> Prose {
        Prose(text.to_owned())
    }
}

impl Field for Prose {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        let word = node.word();
        if word.is_none() {
            let instead = "the words between quotation marks";
            out.push(Problem::new(at.clone(), "a text belongs here", node.excerpt(), instead));
        }
        word.map(|text| Prose(text.into_owned()))
    }

    fn write(&self) -> Node {
        Node::Prose(self.0.clone())
    }
}

/// Reads a word of a closed list.
pub fn read_word<T: Copy>(
    node: &Node,
    at: &Path,
    out: &mut Vec<Problem>,
    (what, known): (&str, &[(&str, T)]),
) -> Option<T> {
    let word = node.word();
    let found = word.as_deref().and_then(|word| known.iter().find(|(name, _)| *name == word));
    if found.is_none() {
        let names = known.iter().map(|(name, _)| *name);
        let instead = match word.as_deref().and_then(|word| likely(word, names.clone())) {
            Some(name) => format!("{name} (one of {})", any_of(names)),
            None => format!("one of {}", any_of(names)),
        };
        out.push(Problem::new(at.clone(), format!("{what} belongs here"), node.excerpt(), instead));
    }
    found.map(|(_, value)| *value)
}

/// Makes an enum a [`Field`] by the words of the file.
macro_rules! words {
    ($type:ty, $what:literal, { $($word:literal => $value:path,)+ }) => {
        impl $crate::call::job::Field for $type {
            fn read(
                node: &$crate::call::job::Node,
                at: &$crate::call::job::Path,
                out: &mut Vec<$crate::call::job::Problem>,
            ) -> Option<Self> {
                $crate::call::job::field::read_word(node, at, out, ($what, &[$(($word, $value)),+]))
            }

            fn write(&self) -> $crate::call::job::Node {
                $crate::call::job::Node::text(match self { $($value => $word),+ })
            }
        }
    };
}

/// The fields of a map while it is read into a record.
pub struct Fields<'a> {
    fields: &'a [(String, Node)],
    at: &'a Path,
}

impl<'a> Fields<'a> {
    /// Opens a map; anything but the `known` keys is reported.
    pub fn open(node: &'a Node, at: &'a Path, known: &[&str], out: &mut Vec<Problem>) -> Option<Fields<'a>> {
        let Node::Map(fields) = node else {
            let instead = format!("a map with {}", any_of(known.iter().take(4)));
            out.push(Problem::new(at.clone(), "a map of fields belongs here", node.excerpt(), instead));
            return None;
        };
        for (key, _) in fields.iter().filter(|(key, _)| !known.contains(&key.as_str())) {
            let instead = match likely(key, known.iter().copied()) {
                Some(name) => format!("{name}, or take the line out"),
                None => format!("one of {}", any_of(known)),
            };
            out.push(Problem::new(at.key(key), "there is no such field", key.as_str(), instead).at_key(0));
        }
        Some(Fields { fields, at })
    }

    /// Reads one field.
    pub fn take<T: Field>(&self, key: &str, out: &mut Vec<Problem>) -> Option<T> {
        let node = self.fields.iter().find(|(name, _)| name == key).map(|(_, node)| node);
        match node {
            Some(Node::Null) | None => match T::absent() {
                Some(value) => Some(value),
                None => {
                    let what = format!("the field {key} is missing");
                    let here: Vec<&str> = self.fields.iter().map(|(name, _)| name.as_str()).collect();
                    let found = here.join(", ");
                    out.push(Problem::new(
                        self.at.clone(),
                        what,
                        found,
                        format!("{key}: and its value as well"),
                    ));
                    None
                }
            },
            Some(node) => T::read(node, &self.at.key(key), out),
        }
    }
}

/// Defines a map of the job file: a struct, its fields in file order under the words of the file, how it is read
/// and written, its JSON form and its schema.
macro_rules! record {
    (
        $(#[$meta:meta])*
        pub struct $name:ident {
            $($(#[$doc:meta])* $key:literal $field:ident: $type:ty,)+
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, PartialEq, Debug, schemars::JsonSchema)]
        #[schemars(deny_unknown_fields)]
        pub struct $name {
            $($(#[$doc])* #[schemars(rename = $key)] pub $field: $type,)+
        }

        impl $crate::call::job::Field for $name {
            fn read(
                node: &$crate::call::job::Node,
                at: &$crate::call::job::Path,
                out: &mut Vec<$crate::call::job::Problem>,
            ) -> Option<Self> {
                let fields = $crate::call::job::field::Fields::open(node, at, &[$($key),+], out)?;
                $(let $field = fields.take::<$type>($key, out);)+
                Some($name { $($field: $field?),+ })
            }

            fn write(&self) -> $crate::call::job::Node {
                let fields = [$(($key, self.$field.write())),+];
                $crate::call::job::Node::map(
                    fields.into_iter().filter(|(_, node)| *node != $crate::call::job::Node::Null),
                )
            }
        }

        $crate::call::job::field::as_data!($name);
    };
}

/// Gives a [`Field`] its JSON form.
macro_rules! as_data {
    ($name:ty) => {
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                serde::Serialize::serialize(&$crate::call::job::Field::write(self), to)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let node = <$crate::call::job::Node as serde::Deserialize>::deserialize(from)?;
                $crate::call::job::read_node(&node).map_err(|problems| {
                    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
                    serde::de::Error::custom(lines.join("\n"))
                })
            }
        }
    };
}

pub(crate) use {as_data, record, words};
