//! What a wire is for.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a wire is for in the intended wiring.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Reaches the feed's line with no switch or lamp between.
    Line,
    /// Reaches the feed's neutral.
    Neutral,
    /// Joined to a light terminal.
    Load,
    /// Joined to commons only.
    Tie,
    /// Joined to other switch terminals.
    Traveler,
    /// A grounding conductor.
    Ground,
    /// Another circuit's, or another switch's light.
    Other,
    /// Joined to nothing.
    Spare,
}

impl Role {
    /// All of them.
    pub const ALL: [Role; 8] = [
        Role::Line,
        Role::Neutral,
        Role::Load,
        Role::Tie,
        Role::Traveler,
        Role::Ground,
        Role::Other,
        Role::Spare,
    ];

    /// The word for it in documents and packs.
    pub fn word(self) -> &'static str {
        match self {
            Role::Line => "line",
            Role::Neutral => "neutral",
            Role::Load => "load",
            Role::Tie => "tie",
            Role::Traveler => "traveler",
            Role::Ground => "ground",
            Role::Other => "other",
            Role::Spare => "spare",
        }
    }
}
