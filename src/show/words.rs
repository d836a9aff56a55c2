//! The words of the trade for what a verdict says.
//!
//! One rule runs through all of them: nothing is called dead, neutral or ground because it was inferred. Those
//! words come with "should be" until a reading of that very wire has proven it.

use super::known::Known;
use super::palette::Tone;
use super::text::{number, percent};
use crate::house::{BoxKind, DeviceKind, Feed, FeedKind, Goal, House, Metal, Reach, Sheath, Terminal};
use crate::verdict::{Arrangement, DefectFound, Role, State, WireFound};

/// How firm a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Confidence {
    /// Not told yet.
    Open,
    /// Nine times in ten or better.
    Likely,
    /// Ninety-nine times in a hundred or better.
    Settled,
}

impl Confidence {
    /// The word for a probability.
    pub fn of(p: f64) -> Self {
        if p >= 0.99 {
            Confidence::Settled
        } else if p >= 0.9 {
            Confidence::Likely
        } else {
            Confidence::Open
        }
    }

    /// `settled`, `likely` or `open`.
    pub fn word(self) -> &'static str {
        match self {
            Confidence::Settled => "settled",
            Confidence::Likely => "likely",
            Confidence::Open => "open",
        }
    }

    /// The adverb before a statement: nothing, `likely`, `perhaps`.
    pub fn hedge(self) -> &'static str {
        match self {
            Confidence::Settled => "",
            Confidence::Likely => "likely ",
            Confidence::Open => "perhaps ",
        }
    }

    /// The tone that repeats the word.
    pub fn tone(self) -> Tone {
        match self {
            Confidence::Settled => Tone::Good,
            Confidence::Likely => Tone::Plain,
            Confidence::Open => Tone::Caution,
        }
    }
}

/// `settled, 99.5%`.
pub fn firmness(p: f64) -> String {
    format!("{}, {}", Confidence::of(p).word(), percent(p))
}

/// A role in words; `proven` only where a reading has proven that very wire.
pub fn role(role: Role, proven: bool) -> &'static str {
    match role {
        Role::Line => "line",
        Role::Neutral if proven => "neutral, proven",
        Role::Neutral => "should be neutral",
        Role::Load => "load",
        Role::Tie => "tie between commons",
        Role::Traveler => "traveler",
        Role::Ground => "should be ground",
        Role::Other => "of another circuit or light",
        Role::Spare => "spare",
    }
}

/// The circuit to name beside a line or a neutral; never one that nobody has named.
pub(crate) fn circuit_of(wire: &WireFound) -> Option<&str> {
    let told = matches!(wire.role, Role::Line | Role::Neutral);
    wire.circuit.as_deref().filter(|name| told && *name != Feed::UNNAMED)
}

/// A role with its circuit: `line, circuit 7`.
pub(crate) fn role_of(known: &Known<'_>, wire: &WireFound) -> String {
    let words = role(wire.role, known.is_proven_neutral(wire));
    // Of one circuit, its line says the name.
    let told = wire.role == Role::Line || known.house.feeds.len() > 1;
    match circuit_of(wire).filter(|_| told) {
        Some(circuit) => format!("{words}, circuit {circuit}"),
        None => words.to_owned(),
    }
}

/// The other roles a wire may have: `else load 38%, else should be neutral 2%`; empty where none is left.
pub fn others(wire: &WireFound) -> String {
    let mut left: Vec<_> = wire.others.iter().collect();
    // The likeliest first; equal ones in the roles' own order.
    left.sort_by(|a, b| b.1.total_cmp(a.1).then(a.0.cmp(b.0)));
    let said: Vec<String> =
        left.iter().map(|&(&r, &p)| format!("else {} {}", role(r, false), percent(p))).collect();
    said.join(", ")
}

/// The state in one word or two, for a heading.
pub fn state_word(state: State) -> &'static str {
    match state {
        State::Settled => "Settled",
        State::Open => "Not settled yet",
        State::Exhausted => "Not settled, and nothing in reach can settle it",
        State::Contradiction => "Contradiction",
    }
}

/// The state as a sentence about what the call asks; where the wires are settled and the call is not, about what is wrong.
pub fn state_sentence(state: State, wires_settled: bool, goal: Goal, house: &House) -> String {
    let asked = match goal {
        // A neutral has to be proven, however sure its role is.
        Goal::NeutralAt(at) => {
            format!("whether this circuit's neutral is in {}", house.outlet(at).name)
        }
        _ if wires_settled && state != State::Settled => "what is wrong".to_owned(),
        Goal::Identify => "what every wire is for".to_owned(),
        Goal::Repair => "how the wires have to be landed".to_owned(),
    };
    match state {
        State::Settled => format!("Settled: {asked} is answered."),
        State::Open => format!("Not settled yet: {asked} is still open, and more readings can tell."),
        State::Exhausted => {
            format!("Not settled: {asked} is still open, and nothing at the boxes in reach would tell more.")
        }
        State::Contradiction => {
            "Contradiction: what was seen and read cannot all be true of any wiring considered.".to_owned()
        }
    }
}

/// A kind of box.
pub fn box_kind(kind: BoxKind) -> &'static str {
    match kind {
        BoxKind::Switch => "switch box",
        BoxKind::Light => "light box",
        BoxKind::Junction => "junction box",
        BoxKind::Receptacle => "receptacle box",
    }
}

/// How a box is reached.
pub fn reach(reach: Reach) -> &'static str {
    match reach {
        Reach::Stand => "reached standing",
        Reach::Steps => "reached from steps",
        Reach::Ladder => "reached from a ladder",
        Reach::Blocked => "out of reach today",
    }
}

/// A kind of device.
pub fn device_kind(kind: DeviceKind) -> &'static str {
    match kind {
        DeviceKind::SinglePole => "single-pole switch",
        DeviceKind::ThreeWay => "three-way switch",
        DeviceKind::FourWay => "four-way switch",
        DeviceKind::DoublePole => "double-pole switch",
        DeviceKind::Dimmer => "dimmer",
        DeviceKind::Electronic => "electronic control",
        DeviceKind::Switch => "switch, type not seen",
        DeviceKind::Light => "light",
        DeviceKind::PullChain => "light with a pull chain",
        DeviceKind::Receptacle => "receptacle",
    }
}

/// A cable's covering.
pub fn sheath(sheath: Sheath) -> &'static str {
    match sheath {
        Sheath::ClothNm => "cloth-covered cable",
        Sheath::Nm => "plastic-covered cable",
        Sheath::Armored => "armoured cable",
        Sheath::KnobAndTube => "knob-and-tube single",
        Sheath::Conduit => "single in conduit",
        Sheath::Lead => "lead-covered cable",
    }
}

/// A conductor metal.
pub fn metal(metal: Metal) -> &'static str {
    match metal {
        Metal::Copper => "copper",
        Metal::Aluminum => "aluminium",
    }
}

/// A screw or lead, the way one asks for it: `common screw`.
pub fn terminal(terminal: Terminal) -> String {
    match terminal {
        Terminal::Common => "common screw".to_owned(),
        Terminal::T1 | Terminal::T2 => format!("traveler screw {}", terminal.word()),
        Terminal::Center => "center contact".to_owned(),
        Terminal::Shell => "screw shell".to_owned(),
        other => format!("screw {}", other.word()),
    }
}

/// `circuit 7, 15 A breaker`.
pub fn feed(feed: &Feed) -> String {
    let kind = match feed.kind {
        FeedKind::Breaker => "breaker",
        FeedKind::Fuse => "fuse",
        FeedKind::Gfci => "ground-fault breaker",
        FeedKind::Afci => "arc-fault breaker",
    };
    let name = match feed.name.as_str() {
        Feed::UNNAMED => "the circuit".to_owned(),
        name => format!("circuit {name}"),
    };
    match feed.amps {
        Some(amps) => format!("{name}, {} A {kind}", number(amps)),
        None => format!("{name}, {kind} of a size not noted"),
    }
}

/// Whether what trips it is called a fuse or a breaker.
pub fn feed_word(feed: &Feed) -> &'static str {
    if feed.kind == FeedKind::Fuse { "fuse" } else { "breaker" }
}

/// What a defect is, in a sentence's middle: `… at hall`.
fn defect_name(what: &str) -> Option<&'static str> {
    Some(match what {
        "swapped-landing" => "two wires are on each other's screws",
        "wrong-screw" => "a wire is on a screw where it does not belong",
        "wrong-splice" => "a wire is in a splice where it does not belong",
        "left-out" => "a wire was left out of the joint it belongs in",
        "pairs-crossed" => "the two pairs on the four-way switch are crossed",
        "open-wire" => "a wire is broken somewhere along its cable",
        "open-splice" => "a splice does not connect",
        "short" => "two wires touch that must not",
        "live-metal" => "metal is live that must not be,",
        "dead-throw" => "a switch does not connect in one of its positions",
        "stuck" => "a switch no longer changes over",
        "wrong-device" => "a switch of the wrong type sits",
        "lamp-out" => "the lamp does not light, being out or switched off by its own chain",
        "reversed-feed" => "line and neutral of the feed are reversed",
        "lost-neutral" => "the return to the panel is lost",
        "joined-neutrals" => "the returns of two circuits are joined",
        "ground-as-neutral" => "a grounding conductor is used as the return",
        "bad-joint" => "a joint has a high resistance and fails under load",
        "wrong-breaker" => "the breaker that was switched is not this circuit's",
        "tab" => "a receptacle's tab is left on, or broken, where it should not be",
        _ => return None,
    })
}

/// The arrangement's sentence, no firmer than it is: it names the scheme and the feed's place, so it holds no
/// better than the weaker of the two.
pub fn arrangement(found: &Arrangement) -> String {
    match Confidence::of(found.scheme_p.min(found.feed.p)) {
        Confidence::Settled => found.text.clone(),
        Confidence::Likely => format!("Likely, and not settled: {}", found.text),
        Confidence::Open => format!("Open, one explanation among others: {}", found.text),
    }
}

/// A defect as a sentence with its firmness.
pub fn defect(found: &DefectFound) -> String {
    let what = defect_name(&found.what).map_or_else(|| found.what.replace('-', " "), str::to_owned);
    let detail =
        if found.detail.is_empty() { String::new() } else { format!(" ({})", found.detail.join(", ")) };
    let front = match Confidence::of(found.p) {
        Confidence::Settled => "",
        Confidence::Likely => "likely, ",
        Confidence::Open => "perhaps, ",
    };
    format!("{front}{what} at {}{detail} ({})", found.at, percent(found.p))
}

/// A cable's far end: `the panel`, `hall, its end a`, `a box nobody has seen (buried-1)`.
pub fn far_end(end: &str) -> String {
    match end.split_once('/') {
        Some((place, tag)) => format!("{place}, its end {tag}"),
        None => place(end),
    }
}

/// A place by name.
pub fn place(name: &str) -> String {
    match name {
        "panel" => "the panel".to_owned(),
        "onward" => "the rest of the house".to_owned(),
        buried if is_buried(buried) => format!("a box nobody has seen ({buried})"),
        other => other.to_owned(),
    }
}

/// Whether a name is that of a box nobody knows of: these names are reserved.
pub fn is_buried(name: &str) -> bool {
    name.strip_prefix("buried-").is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}
