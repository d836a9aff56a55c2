//! What a rule can ask about: the fields, what each may hold, and the values they have in one call.

use std::collections::BTreeMap;

/// What a condition can be found at.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Scope {
    /// The house and its circuits.
    House,
    /// An opened or unopened box.
    Box,
    /// A cable end seen in a box.
    Cable,
    /// A wire of a cable end.
    Wire,
    /// A joint as found.
    Joint,
    /// A device in a box.
    Device,
    /// A defect of the verdict.
    Defect,
}

impl Scope {
    /// All of them.
    pub const ALL: [Scope; 7] =
        [Scope::House, Scope::Box, Scope::Cable, Scope::Wire, Scope::Joint, Scope::Device, Scope::Defect];

    /// The word for it in packs.
    pub fn word(self) -> &'static str {
        match self {
            Scope::House => "house",
            Scope::Box => "box",
            Scope::Cable => "cable",
            Scope::Wire => "wire",
            Scope::Joint => "joint",
            Scope::Device => "device",
            Scope::Defect => "defect",
        }
    }

    /// Whether a rule about this may ask for fields of `other`: its own, and those of what it lies in.
    pub fn sees(self, other: Scope) -> bool {
        match other {
            Scope::House => true,
            Scope::Box => self != Scope::House,
            Scope::Cable => matches!(self, Scope::Cable | Scope::Wire),
            own => self == own,
        }
    }
}

/// What a field may hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FieldKind {
    /// One of these words.
    Words(&'static [&'static str]),
    /// The name of a defect.
    Defect,
    /// The name of an observation in the packs.
    Observation,
    /// The name of a scheme in the packs.
    Scheme,
    /// Any word: names of regions.
    Name,
    /// A number.
    Number,
}

/// A field that rules may ask for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct FieldSpec {
    /// Its name in packs.
    pub name: &'static str,
    /// What it is a field of.
    pub scope: Scope,
    /// What it may hold.
    pub kind: FieldKind,
    /// What it means.
    pub means: &'static str,
}

const fn field(name: &'static str, scope: Scope, kind: FieldKind, means: &'static str) -> FieldSpec {
    FieldSpec { name, scope, kind, means }
}

const YES_NO: FieldKind = FieldKind::Words(&["yes", "no"]);
const SHEATHS: FieldKind =
    FieldKind::Words(&["cloth-nm", "nm", "armored", "knob-and-tube", "conduit", "lead"]);
const METALS: FieldKind = FieldKind::Words(&["copper", "aluminum"]);
const LAMPS: FieldKind = FieldKind::Words(&["incandescent", "led", "cfl", "unknown"]);
const ROLES: FieldKind =
    FieldKind::Words(&["line", "neutral", "load", "tie", "traveler", "ground", "other", "spare"]);
const COLOURS: FieldKind = FieldKind::Words(&[
    "black", "white", "red", "blue", "brown", "yellow", "green", "gray", "grey", "bare", "untold", "another",
]);
/// Every field, by scope.
pub const FIELDS: &[FieldSpec] = &[
    field("region", Scope::House, FieldKind::Name, "the region's pack"),
    field("built", Scope::House, FieldKind::Number, "the year the house was built"),
    field("grounds", Scope::House, FieldKind::Words(&["none", "some", "all"]), "cables with a ground"),
    field(
        "state",
        Scope::House,
        FieldKind::Words(&["open", "settled", "exhausted", "contradiction"]),
        "where the question stands",
    ),
    field("scheme", Scope::House, FieldKind::Scheme, "how the switches control the light"),
    field("circuits", Scope::House, FieldKind::Number, "circuits that wires were found to belong to"),
    field("buried", Scope::House, YES_NO, "whether a box nobody has seen is needed"),
    field("neutral-ring", Scope::House, YES_NO, "whether the neutral closes a ring"),
    field("complaint", Scope::House, YES_NO, "whether something was complained of"),
    field("observed", Scope::House, FieldKind::Observation, "what was seen at any box"),
    field(
        "watched",
        Scope::House,
        FieldKind::Words(&["lit", "dim", "glow", "dark", "trips"]),
        "what lights were seen to do",
    ),
    field("lamps", Scope::House, LAMPS, "the lamps in the lights"),
    field(
        "box-kind",
        Scope::Box,
        FieldKind::Words(&["switch", "light", "junction", "receptacle"]),
        "what it is for",
    ),
    field("opened", Scope::Box, YES_NO, "whether it was opened"),
    field("seen", Scope::Box, FieldKind::Observation, "what was seen at it"),
    field("doubled", Scope::Box, FieldKind::Number, "screws that hold two wires"),
    field("grounding", Scope::Box, YES_NO, "whether a bare or green wire is in it"),
    field("metal-bonded", Scope::Box, YES_NO, "whether its metal is joined to a grounding conductor"),
    field(
        "metal-volts",
        Scope::Box,
        FieldKind::Number,
        "most volts read from its metal, on no ordinary meter",
    ),
    field("neutral", Scope::Box, YES_NO, "whether a neutral of this circuit is in it"),
    field("roles", Scope::Box, ROLES, "what its wires are for"),
    field("circuits-here", Scope::Box, FieldKind::Number, "circuits that its wires belong to"),
    field(
        "fill",
        Scope::Box,
        FieldKind::Words(&["within", "over", "untold"]),
        "its fill by the edition adopted",
    ),
    field(
        "landing",
        Scope::Box,
        FieldKind::Words(&["none", "planned", "refused"]),
        "what the plan says of it",
    ),
    field("sheaths", Scope::Box, SHEATHS, "coverings of the cables in it"),
    field("sheath", Scope::Cable, SHEATHS, "its covering"),
    field("gauge", Scope::Cable, FieldKind::Number, "its wires' size, American wire gauge"),
    field("metal", Scope::Cable, METALS, "what its wires are made of"),
    field("wires", Scope::Cable, FieldKind::Number, "how many wires it has"),
    field(
        "goes-to",
        Scope::Cable,
        FieldKind::Words(&["box", "buried", "panel", "onward"]),
        "where its other end is",
    ),
    field("amps", Scope::Cable, FieldKind::Number, "the rating of what protects it"),
    field(
        "net-current",
        Scope::Cable,
        FieldKind::Words(&["none", "some"]),
        "what a clamp round all of it showed",
    ),
    field("colour", Scope::Wire, COLOURS, "its colour as seen"),
    field("role", Scope::Wire, ROLES, "what it is for"),
    field(
        "lands-on",
        Scope::Wire,
        FieldKind::Words(&[
            "common", "t1", "t2", "a1", "a2", "b1", "b2", "s1", "s2", "center", "shell", "h1", "h2", "n1",
            "n2", "metal",
        ]),
        "the screws and metal it is joined to",
    ),
    field("joint-colours", Scope::Joint, COLOURS, "the colours of its wires"),
    field("joint-role", Scope::Joint, ROLES, "what all its wires are for"),
    field("joint-wires", Scope::Joint, FieldKind::Number, "how many wires are in it"),
    field("screws", Scope::Joint, FieldKind::Number, "how many screws are in it"),
    field(
        "device-kind",
        Scope::Device,
        FieldKind::Words(&[
            "single-pole",
            "three-way",
            "four-way",
            "double-pole",
            "dimmer",
            "electronic",
            "switch",
            "light",
            "pull-chain",
            "receptacle",
        ]),
        "what it is",
    ),
    field("lamp", Scope::Device, LAMPS, "the lamp in it"),
    field("defect", Scope::Defect, FieldKind::Defect, "what is wrong or broken"),
];

/// The field of that name.
pub fn spec(name: &str) -> Option<&'static FieldSpec> {
    FIELDS.iter().find(|field| field.name == name)
}

/// What a field holds in one call.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// One of these words, each with its probability; together at most 1.
    OneOf(BTreeMap<String, f64>),
    /// Each of these words, with the probability that it is there.
    Each(BTreeMap<String, f64>),
    /// A number, with the probability that it is that.
    Number {
        /// The number.
        value: f64,
        /// Its probability.
        p: f64,
    },
}

impl Value {
    /// A word that is certain.
    pub fn word(word: &str) -> Value {
        Value::OneOf(BTreeMap::from([(word.to_owned(), 1.0)]))
    }

    /// Words that are all there for certain.
    pub fn words<S: AsRef<str>>(words: impl IntoIterator<Item = S>) -> Value {
        Value::Each(words.into_iter().map(|word| (word.as_ref().to_owned(), 1.0)).collect())
    }

    /// A number that is certain.
    pub fn number(value: f64) -> Value {
        Value::Number { value, p: 1.0 }
    }

    /// `yes` with probability `p`, else `no`.
    pub fn yes(p: f64) -> Value {
        Value::OneOf(BTreeMap::from([("yes".to_owned(), p), ("no".to_owned(), 1.0 - p)]))
    }
}

/// The fields of one thing, those of what it lies in among them. A field that is not there is not known.
pub type Facts = BTreeMap<&'static str, Value>;
