//! Habits of the trade as weights, never rules.

use serde::Deserialize;
use std::collections::BTreeMap;

/// Prior mass of the strata.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PriorMass {
    /// Mass of the wirings with one buried box.
    pub buried: f64,
    /// For each cable that goes onward.
    pub onward: f64,
    /// Mass of the wirings in which a cable of another circuit comes by, where more than one is known.
    pub other_circuit: f64,
    /// The same, where only one is named but some cables in a box are joined to nothing else there.
    pub unnamed_circuit: f64,
    /// Mass of whatever no wiring describes.
    pub something_else: f64,
}

/// How likely the metal of a box is at earth without a wire to it, by the covering of its cables.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct EarthedMetal {
    /// One of them has armour, or lead.
    pub armored: f64,
    /// Or is a single drawn into conduit.
    pub conduit: f64,
    /// Neither.
    pub other: f64,
}

/// Factors on what a run looks like.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct RunHabits {
    /// Two cables between the same two boxes.
    pub parallel: f64,
    /// One net in two cables between the same two boxes: there and back.
    pub doubled_back: f64,
    /// Cables that close a ring.
    pub ring: f64,
    /// A neutral joined at both ends of a ring.
    pub closed_neutral: f64,
    /// Grounding conductors that reach no earth, where not every cable has one.
    pub loose_ground: f64,
    /// A cable none of whose wires is used.
    pub dead_cable: f64,
    /// A neutral that ends unused.
    pub unused_neutral: f64,
    /// A line that ends unused.
    pub unused_line: f64,
    /// A wire left over in a cable that is used.
    pub spare_wire: f64,
    /// Line and neutral of one circuit from different places.
    pub split_feed: f64,
    /// The circuit in question is not the one that is named first.
    pub not_first_feed: f64,
    /// A joint or a cable's colours other than written, where the person was not sure.
    pub other_than_written: f64,
    /// A joint that is remembered from before somebody changed it, where its points were not meant to be together.
    pub unlike_before: f64,
    /// The same, where it was marked unsure.
    pub perhaps_unlike_before: f64,
    /// All that is remembered of a box is of another one, or as it never was.
    pub never_so: f64,
}

/// What a wire of one colour carries: role word to factor, `other` for the rest.
#[derive(Clone, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ColourHabit {
    /// In a cable that holds the neutral.
    pub with_neutral: BTreeMap<String, f64>,
    /// In a cable that does not.
    pub without_neutral: BTreeMap<String, f64>,
}

/// All habits.
#[derive(Clone, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Habits {
    /// Strata.
    pub prior: PriorMass,
    /// The metal of boxes.
    #[serde(rename = "earthed-metal")]
    pub earthed_metal: EarthedMetal,
    /// Runs.
    pub run: RunHabits,
    /// Colours.
    pub colours: BTreeMap<String, ColourHabit>,
}

impl RunHabits {
    /// Each factor, as packs call it.
    pub fn factors(&self) -> [(&'static str, f64); 15] {
        [
            ("parallel", self.parallel),
            ("doubled-back", self.doubled_back),
            ("ring", self.ring),
            ("closed-neutral", self.closed_neutral),
            ("loose-ground", self.loose_ground),
            ("dead-cable", self.dead_cable),
            ("unused-neutral", self.unused_neutral),
            ("unused-line", self.unused_line),
            ("spare-wire", self.spare_wire),
            ("split-feed", self.split_feed),
            ("not-first-feed", self.not_first_feed),
            ("other-than-written", self.other_than_written),
            ("unlike-before", self.unlike_before),
            ("perhaps-unlike-before", self.perhaps_unlike_before),
            ("never-so", self.never_so),
        ]
    }
}

impl Habits {
    /// The factor for a wire of `colour` that carries `role`, in a cable with or without the neutral.
    /// A colour that no habit speaks of has factor 1 for everything.
    pub fn colour(&self, colour: &str, role: &str, with_neutral: bool) -> f64 {
        let Some(habit) = self.colours.get(colour) else { return 1.0 };
        let table = if with_neutral { &habit.with_neutral } else { &habit.without_neutral };
        table.get(role).or_else(|| table.get("other")).copied().unwrap_or(1.0)
    }
}
