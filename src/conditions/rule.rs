//! Rules: what triggers a condition, as data.

use super::facts::{Facts, Value};

/// What a rule asks of one field.
#[derive(Clone, PartialEq, Debug)]
pub enum Test {
    /// It is, or has, at least one of these words.
    Any(Vec<String>),
    /// It has something, and nothing but these words.
    Only(Vec<String>),
    /// It is, or has, none of these words.
    None(Vec<String>),
    /// A number in a range, both ends in it.
    Range {
        /// The least.
        from: Option<f64>,
        /// The most.
        to: Option<f64>,
    },
}

/// What has to hold.
#[derive(Clone, PartialEq, Debug)]
pub enum Rule {
    /// All of these.
    All(Vec<Rule>),
    /// At least one of these.
    Any(Vec<Rule>),
    /// Not this.
    Not(Box<Rule>),
    /// A test of a field.
    Field(String, Test),
}

impl Rule {
    /// How firmly it holds: the probability of the least firm thing it rests on. `None` where it cannot be told, as for
    /// a field of which nothing is known.
    pub fn holds(&self, facts: &Facts) -> Option<f64> {
        match self {
            Rule::All(rules) => all(rules.iter().map(|rule| rule.holds(facts))),
            Rule::Any(rules) => rules.iter().filter_map(|rule| rule.holds(facts)).reduce(f64::max),
            Rule::Not(rule) => rule.holds(facts).map(|p| 1.0 - p),
            Rule::Field(name, test) => facts.get(name.as_str()).and_then(|value| test.holds(value)),
        }
    }

    /// The fields it asks for, each test with its field.
    pub fn tests(&self) -> Vec<(&str, &Test)> {
        match self {
            Rule::All(rules) | Rule::Any(rules) => rules.iter().flat_map(Rule::tests).collect(),
            Rule::Not(rule) => rule.tests(),
            Rule::Field(name, test) => vec![(name, test)],
        }
    }
}

/// The least of them; one that fails for certain decides before one that cannot be told.
fn all(parts: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    let parts: Vec<Option<f64>> = parts.collect();
    if parts.contains(&Some(0.0)) {
        return Some(0.0);
    }
    parts.into_iter().try_fold(1.0, |least: f64, part| part.map(|p| least.min(p)))
}

impl Test {
    fn holds(&self, value: &Value) -> Option<f64> {
        match (self, value) {
            (Test::Range { from, to }, Value::Number { value, p }) => {
                let fits = from.is_none_or(|from| *value >= from) && to.is_none_or(|to| *value <= to);
                Some(if fits { *p } else { 1.0 - *p })
            }
            (Test::Range { .. }, _) | (_, Value::Number { .. }) => None,
            (Test::Any(words), _) => Some(any(words, value)),
            (Test::None(words), _) => Some(1.0 - any(words, value)),
            (Test::Only(words), Value::OneOf(_)) => Some(any(words, value)),
            (Test::Only(words), Value::Each(each)) => {
                let others = each.iter().filter(|(word, _)| !words.contains(word));
                let other = others.map(|(_, p)| *p).fold(0.0, f64::max);
                Some(any(words, value).min(1.0 - other))
            }
        }
    }
}

fn any(words: &[String], value: &Value) -> f64 {
    match value {
        Value::OneOf(one) => words.iter().filter_map(|word| one.get(word)).sum::<f64>().min(1.0),
        Value::Each(each) => words.iter().filter_map(|word| each.get(word)).copied().fold(0.0, f64::max),
        Value::Number { .. } => 0.0,
    }
}
