//! A scheme: a netlist over the terminals of an ordered chain of switches and the light.

use crate::call::job::any_of;
use crate::house::{DeviceKind, Terminal};
use serde::Deserialize;

/// One pole of a feed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Pole {
    /// The ungrounded conductor.
    Line,
    /// The grounded conductor.
    Neutral,
    /// The ungrounded conductor of another circuit.
    OtherLine,
    /// The grounded conductor of another circuit.
    OtherNeutral,
}

impl Pole {
    /// All poles.
    pub const ALL: [Pole; 4] = [Pole::Line, Pole::Neutral, Pole::OtherLine, Pole::OtherNeutral];

    /// As packs write it.
    pub fn word(self) -> &'static str {
        match self {
            Pole::Line => "feed.line",
            Pole::Neutral => "feed.neutral",
            Pole::OtherLine => "other-feed.line",
            Pole::OtherNeutral => "other-feed.neutral",
        }
    }

    /// Whether it is another circuit's.
    pub fn is_other(self) -> bool {
        matches!(self, Pole::OtherLine | Pole::OtherNeutral)
    }

    /// Whether it is a grounded conductor.
    pub fn is_neutral(self) -> bool {
        matches!(self, Pole::Neutral | Pole::OtherNeutral)
    }
}

/// A point that a scheme's net joins: a pole of the feed, a terminal of a switch by its slot, or of the light.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(try_from = "String")]
pub enum SlotPoint {
    /// `feed.line`, `feed.neutral`; of another circuit `other-feed.line`, `other-feed.neutral`.
    Feed(Pole),
    /// `SLOT.terminal`.
    Switch(String, Terminal),
    /// `light.center`, `light.shell`.
    Light(Terminal),
    /// `self.terminal`, of the device that an attachment attaches.
    Own(Terminal),
}

/// A place in the chain of switches.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slot {
    /// What nets call it.
    #[serde(rename = "as")]
    pub name: String,
    /// Kinds of device that can fill it.
    pub kinds: Vec<DeviceKind>,
    /// Terminals tied one to one to the `out` terminals of the switch before.
    #[serde(default, rename = "in", deserialize_with = "terminals")]
    pub inward: Vec<Terminal>,
    /// Terminals tied one to one to the `in` terminals of the switch after.
    #[serde(default, rename = "out", deserialize_with = "terminals")]
    pub outward: Vec<Terminal>,
    /// Any number of switches may fill it, none too.
    #[serde(default)]
    pub repeat: bool,
}

/// How the switches control the light, before any cable is drawn.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scheme {
    /// Its name.
    pub scheme: String,
    /// A few words.
    pub title: String,
    /// One plain sentence.
    pub sentence: String,
    /// What to beware of, if anything.
    #[serde(default)]
    pub caution: Option<String>,
    /// Why it must not be put back so, where it must not.
    #[serde(default)]
    pub refuse: Option<String>,
    /// The light may be either way round.
    #[serde(default, rename = "either-polarity")]
    pub either_polarity: bool,
    /// How common it is, relative to the other schemes that the devices allow.
    pub weight: f64,
    /// The chain.
    pub switches: Vec<Slot>,
    /// What is joined, besides the hops between neighbours in the chain.
    pub nets: Vec<Vec<SlotPoint>>,
}

/// A terminal as a pack writes it. Read one by one, so that what is none is refused in its own line.
#[derive(Deserialize)]
#[serde(try_from = "String")]
struct Screw(Terminal);

impl TryFrom<String> for Screw {
    type Error = String;

    fn try_from(word: String) -> Result<Screw, String> {
        terminal(&word).map(Screw)
    }
}

fn terminals<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Vec<Terminal>, D::Error> {
    Ok(Vec::<Screw>::deserialize(from)?.into_iter().map(|Screw(terminal)| terminal).collect())
}

fn terminal(word: &str) -> Result<Terminal, String> {
    Terminal::from_word(word).ok_or_else(|| {
        format!("there is no such screw; found \"{word}\"; write for instance common, t1 or s1")
    })
}

impl TryFrom<String> for SlotPoint {
    type Error = String;

    fn try_from(word: String) -> Result<SlotPoint, String> {
        let wrong = |instead: &str| format!("this is no point; found \"{word}\"; write {instead}");
        let (place, screw) =
            word.split_once('.').ok_or_else(|| wrong("a place, a dot and a screw, as in first.common"))?;
        if let Some(pole) = Pole::ALL.into_iter().find(|pole| pole.word() == word) {
            return Ok(SlotPoint::Feed(pole));
        }
        match (place, screw) {
            ("feed" | "other-feed", _) | (_, "line" | "neutral") => {
                Err(wrong(&any_of(Pole::ALL.map(Pole::word))))
            }
            ("light", _) => Ok(SlotPoint::Light(terminal(screw)?)),
            ("self", _) => Ok(SlotPoint::Own(terminal(screw)?)),
            _ => Ok(SlotPoint::Switch(place.to_owned(), terminal(screw)?)),
        }
    }
}

impl Scheme {
    /// The chain for so many switches: slots that repeat are filled as often as it takes; `None` where the scheme is not
    /// for so many.
    pub fn chain(&self, switches: usize) -> Option<Vec<&Slot>> {
        let once = self.switches.iter().filter(|slot| !slot.repeat).count();
        let repeats = self.switches.len() - once;
        let more = switches.checked_sub(once)?;
        let fits = if repeats == 1 { true } else { more == 0 };
        let times = |slot: &Slot| if slot.repeat { more } else { 1 };
        fits.then(|| self.switches.iter().flat_map(|slot| std::iter::repeat_n(slot, times(slot))).collect())
    }
}
