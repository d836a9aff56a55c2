//! A small checker for the part of JSON Schema (draft 2020-12) that `lath schema` uses. A keyword it does not know is a
//! complaint too, so that nothing in a schema goes unchecked.

use serde_json::Value;

/// Keywords that say nothing about a document.
const SILENT: [&str; 6] = ["$schema", "$defs", "title", "description", "default", "format"];

/// What in a document is not as its schema says, each with its place.
pub fn faults(schema: &Value, document: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    Checker { root: schema }.check(schema, document, "", &mut faults);
    faults
}

struct Checker<'a> {
    root: &'a Value,
}

impl Checker<'_> {
    fn check(&self, schema: &Value, value: &Value, place: &str, faults: &mut Vec<String>) {
        match schema {
            Value::Bool(true) => return,
            Value::Object(_) => {}
            _ => return faults.push(format!("{place}: nothing may stand here")),
        }
        for (keyword, wanted) in schema.as_object().unwrap() {
            let right = match keyword.as_str() {
                silent if SILENT.contains(&silent) => true,
                "$ref" => {
                    let pointer = wanted.as_str().unwrap().strip_prefix('#').unwrap();
                    self.check(self.root.pointer(pointer).unwrap(), value, place, faults);
                    true
                }
                "type" => types(wanted).iter().any(|word| is(word, value)),
                "const" => wanted == value,
                "enum" => wanted.as_array().unwrap().contains(value),
                "minimum" => value.as_f64().is_none_or(|number| number >= wanted.as_f64().unwrap()),
                "minItems" => {
                    value.as_array().is_none_or(|list| list.len() as u64 >= wanted.as_u64().unwrap())
                }
                "maxItems" => {
                    value.as_array().is_none_or(|list| list.len() as u64 <= wanted.as_u64().unwrap())
                }
                "required" => {
                    let missing = |key: &&Value| value.get(key.as_str().unwrap()).is_none();
                    !value.is_object() || wanted.as_array().unwrap().iter().find(missing).is_none()
                }
                "anyOf" => self.fitting(wanted, value) >= 1,
                "oneOf" => self.fitting(wanted, value) == 1,
                "items" => {
                    for (at, item) in value.as_array().into_iter().flatten().enumerate() {
                        self.check(wanted, item, &format!("{place}/{at}"), faults);
                    }
                    true
                }
                "properties" => {
                    for (key, inner) in wanted.as_object().unwrap() {
                        if let Some(value) = value.get(key) {
                            self.check(inner, value, &format!("{place}/{key}"), faults);
                        }
                    }
                    true
                }
                "additionalProperties" => {
                    let named = |key: &str| schema.pointer(&format!("/properties/{key}")).is_some();
                    for (key, inner) in value.as_object().into_iter().flatten().filter(|(key, _)| !named(key))
                    {
                        self.check(wanted, inner, &format!("{place}/{key}"), faults);
                    }
                    true
                }
                unknown => {
                    faults.push(format!("{place}: the checker does not know {unknown}"));
                    true
                }
            };
            if !right {
                faults.push(format!("{place}: {keyword} {wanted}"));
            }
        }
    }

    fn fitting(&self, branches: &Value, value: &Value) -> usize {
        let fits = |branch: &&Value| {
            let mut faults = Vec::new();
            self.check(branch, value, "", &mut faults);
            faults.is_empty()
        };
        branches.as_array().unwrap().iter().filter(fits).count()
    }
}

fn types(wanted: &Value) -> Vec<&str> {
    match wanted {
        Value::Array(words) => words.iter().map(|word| word.as_str().unwrap()).collect(),
        word => vec![word.as_str().unwrap()],
    }
}

fn is(word: &str, value: &Value) -> bool {
    match word {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        // A number without a fraction is an integer, however it is written.
        "integer" => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        _ => false,
    }
}

/// Keys of objects in a document that its schema does not name, wherever the schema names any.
pub fn unnamed(schema: &Value, document: &Value) -> Vec<String> {
    let mut closed = schema.clone();
    close(&mut closed);
    faults(&closed, document)
}

/// Bars keys that are not named from every object that names some.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(keywords) => {
            if keywords.get("properties").is_some_and(Value::is_object)
                && !keywords.contains_key("additionalProperties")
            {
                keywords.insert("additionalProperties".to_owned(), Value::Bool(false));
            }
            keywords.values_mut().for_each(close);
        }
        Value::Array(items) => items.iter_mut().for_each(close),
        _ => {}
    }
}
