//! Fields that may be written in several ways.

use super::field::{Field, as_data, record};
use super::node::Node;
use super::problem::{Path, Problem};
use super::words::Power;
use crate::call::{InstrumentKind, LampState, Source};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Points that touch: `[a.black, switch.common]`, or `{points: [...], sure: false}`.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct JobJoint {
    /// The points.
    pub points: Vec<String>,
    /// Whether the person was sure, if said.
    pub sure: Option<bool>,
}

record! {
    /// A joint with a remark.
    pub struct JointMap {
        /// The points.
        "points" points: Vec<String>,
        /// `false` where the person was not sure of it.
        "sure" sure: Option<bool>,
    }
}

impl Field for JobJoint {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Map(_) => {
                JointMap::read(node, at, out).map(|joint| JobJoint { points: joint.points, sure: joint.sure })
            }
            list => Vec::read(list, at, out).map(|points| JobJoint { points, sure: None }),
        }
    }

    fn write(&self) -> Node {
        match self.sure {
            None => self.points.write(),
            sure => JointMap { points: self.points.clone(), sure }.write(),
        }
    }
}

impl JsonSchema for JobJoint {
    fn schema_name() -> Cow<'static, str> {
        "JobJoint".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let list = generator.subschema_for::<Vec<String>>();
        let map = generator.subschema_for::<JointMap>();
        json_schema!({ "description": "Points that touch in one box.", "anyOf": [list, map] })
    }
}

/// What was undone before the survey: `true` for everything, or points.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum JobApart {
    /// Everything, or nothing.
    All(bool),
    /// These points.
    Points(Vec<String>),
}

impl Field for JobApart {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::List(_) => Vec::read(node, at, out).map(JobApart::Points),
            Node::Bool(all) => Some(JobApart::All(*all)),
            other => {
                let what = "what was taken apart belongs here";
                let instead = "true for the whole box, or a list of points: [a.black]";
                out.push(Problem::new(at.clone(), what, other.excerpt(), instead));
                None
            }
        }
    }

    fn write(&self) -> Node {
        match self {
            JobApart::All(all) => Node::Bool(*all),
            JobApart::Points(points) => points.write(),
        }
    }
}

impl JsonSchema for JobApart {
    fn schema_name() -> Cow<'static, str> {
        "JobApart".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let list = generator.subschema_for::<Vec<String>>();
        json_schema!({ "anyOf": [{ "type": "boolean" }, list] })
    }
}

/// One value for all, or a map by name.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum AllOrEach<T> {
    /// The same for all.
    All(T),
    /// By name; the others are not known.
    Each(BTreeMap<String, T>),
}

impl<T: Field> Field for AllOrEach<T> {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Map(_) => BTreeMap::read(node, at, out).map(AllOrEach::Each),
            one => T::read(one, at, out).map(AllOrEach::All),
        }
    }

    fn write(&self) -> Node {
        match self {
            AllOrEach::All(one) => one.write(),
            AllOrEach::Each(each) => each.write(),
        }
    }
}

impl<T: JsonSchema> JsonSchema for AllOrEach<T> {
    fn schema_name() -> Cow<'static, str> {
        format!("AllOrEach_{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<T>();
        json_schema!({ "anyOf": [one, { "type": "object", "additionalProperties": one }] })
    }
}

impl JsonSchema for Power {
    fn schema_name() -> Cow<'static, str> {
        "Power".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        // A YAML 1.1 editor takes a bare `on` for a truth value.
        json_schema!({ "enum": ["on", "off", true, false] })
    }
}

impl JsonSchema for LampState {
    fn schema_name() -> Cow<'static, str> {
        "LampState".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "The lamp that belongs there, nothing, or a known good incandescent lamp.",
            "enum": LampState::WORDS,
        })
    }
}

impl JsonSchema for Source {
    fn schema_name() -> Cow<'static, str> {
        "Source".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "enum": ["technician", "customer"] })
    }
}

/// One answer, as written: a number, or words such as `lit`, `110-120`, `about 60`.
#[derive(Clone, PartialEq, Debug)]
pub enum JobAnswer {
    /// A plain number.
    Number(f64),
    /// Anything else.
    Word(String),
}

impl Field for JobAnswer {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Number { value, .. } if value.is_finite() => Some(JobAnswer::Number(*value)),
            Node::Number { .. } => {
                let what = "that is no number a tester can show";
                let instead = "the number on the display, or a word such as open, none or trips";
                out.push(Problem::new(at.clone(), what, node.excerpt(), instead));
                None
            }
            other => String::read(other, at, out).map(JobAnswer::Word),
        }
    }

    fn write(&self) -> Node {
        match self {
            JobAnswer::Number(value) => Node::number(*value),
            JobAnswer::Word(word) => word.write(),
        }
    }
}

impl std::fmt::Display for JobAnswer {
    fn fmt(&self, out: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self {
            JobAnswer::Number(value) => write!(out, "{value}"),
            JobAnswer::Word(word) => out.write_str(word),
        }
    }
}

impl JsonSchema for JobAnswer {
    fn schema_name() -> Cow<'static, str> {
        "JobAnswer".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A number, a range (\"110-120\"), an approximation (about 60), or a word of the question.",
            "type": ["number", "string"],
        })
    }
}

/// What was read: one answer, one a point, or one a light by name.
#[derive(Clone, PartialEq, Debug)]
pub enum JobReads {
    /// One answer.
    One(JobAnswer),
    /// One for each of `points` or `lights`.
    List(Vec<JobAnswer>),
    /// One a light, by name.
    Map(BTreeMap<String, JobAnswer>),
}

impl Field for JobReads {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::List(_) => Vec::read(node, at, out).map(JobReads::List),
            Node::Map(_) => BTreeMap::read(node, at, out).map(JobReads::Map),
            one => JobAnswer::read(one, at, out).map(JobReads::One),
        }
    }

    fn write(&self) -> Node {
        match self {
            JobReads::One(answer) => answer.write(),
            JobReads::List(answers) => answers.write(),
            JobReads::Map(answers) => answers.write(),
        }
    }
}

impl JsonSchema for JobReads {
    fn schema_name() -> Cow<'static, str> {
        "JobReads".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<JobAnswer>();
        let list = generator.subschema_for::<Vec<JobAnswer>>();
        let map = generator.subschema_for::<BTreeMap<String, JobAnswer>>();
        json_schema!({ "anyOf": [one, list, map] })
    }
}

/// An instrument: its kind alone, or a map with what is particular about it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct JobInstrument {
    /// Its kind.
    pub kind: InstrumentKind,
    /// Input resistance in ohms; for a beeper, the resistance up to which it beeps.
    pub ohms: Option<f64>,
    /// Test lamp watts.
    pub watts: Option<f64>,
    /// Clamp resolution in amperes.
    pub resolves: Option<f64>,
}

record! {
    /// An instrument with what is particular about it.
    pub struct InstrumentMap {
        /// Its kind.
        "kind" kind: InstrumentKind,
        /// Input resistance in ohms; for a beeper, the resistance up to which it beeps.
        "ohms" ohms: Option<f64>,
        /// Test lamp watts.
        "watts" watts: Option<f64>,
        /// Clamp resolution in amperes.
        "resolves" resolves: Option<f64>,
    }
}

impl From<InstrumentKind> for JobInstrument {
    fn from(kind: InstrumentKind) -> JobInstrument {
        JobInstrument { kind, ohms: None, watts: None, resolves: None }
    }
}

impl Field for JobInstrument {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        match node {
            Node::Map(_) => InstrumentMap::read(node, at, out).map(|map| JobInstrument {
                kind: map.kind,
                ohms: map.ohms,
                watts: map.watts,
                resolves: map.resolves,
            }),
            word => InstrumentKind::read(word, at, out).map(JobInstrument::from),
        }
    }

    fn write(&self) -> Node {
        let JobInstrument { kind, ohms, watts, resolves } = *self;
        if ohms.is_none() && watts.is_none() && resolves.is_none() {
            return kind.write();
        }
        InstrumentMap { kind, ohms, watts, resolves }.write()
    }
}

impl JsonSchema for JobInstrument {
    fn schema_name() -> Cow<'static, str> {
        "JobInstrument".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let word = generator.subschema_for::<InstrumentKind>();
        let map = generator.subschema_for::<InstrumentMap>();
        json_schema!({ "anyOf": [word, map] })
    }
}

/// Two points: `[a.black, earth]`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pair(pub String, pub String);

impl Field for Pair {
    fn read(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Self> {
        if let Node::List(items) = node
            && items.len() != 2
        {
            let what = "two points belong here";
            out.push(Problem::new(at.clone(), what, node.excerpt(), "exactly two: [a.black, earth]"));
            return None;
        }
        let points: Vec<String> = Vec::read(node, at, out)?;
        let mut points = points.into_iter();
        Some(Pair(points.next()?, points.next()?))
    }

    fn write(&self) -> Node {
        Node::List(vec![self.0.write(), self.1.write()])
    }
}

impl JsonSchema for Pair {
    fn schema_name() -> Cow<'static, str> {
        "Pair".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Two points.",
            "type": "array", "items": { "type": "string" }, "minItems": 2, "maxItems": 2,
        })
    }
}

impl JsonSchema for Node {
    fn schema_name() -> Cow<'static, str> {
        "Data".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "description": "Kept as it is." })
    }
}

as_data!(JobJoint);
as_data!(JobInstrument);
