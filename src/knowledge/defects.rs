//! What can be miswired or broken, and how likely that is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A defect by its documented name.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DefectName {
    /// Two wires on each other's screws.
    SwappedLanding,
    /// A wire on a screw where it does not belong.
    WrongScrew,
    /// A wire in a splice where it does not belong.
    WrongSplice,
    /// A wire in no joint that belongs in one.
    LeftOut,
    /// A four-way's pairs exchanged in part.
    PairsCrossed,
    /// A wire broken between two boxes.
    OpenWire,
    /// A wire that lies in its joint and does not touch it.
    OpenSplice,
    /// Two wires of a cable that touch.
    Short,
    /// A live part on metal that is bonded to nothing.
    LiveMetal,
    /// No contact in one position of a switch.
    DeadThrow,
    /// A switch that stays as it is.
    Stuck,
    /// A switch of one type where another belongs.
    WrongDevice,
    /// A lamp burnt out, loose, or off at the light.
    LampOut,
    /// Line and neutral exchanged at the feed.
    ReversedFeed,
    /// The neutral open on its way to the panel.
    LostNeutral,
    /// The neutrals of two circuits joined.
    JoinedNeutrals,
    /// A grounding conductor used as the neutral.
    GroundAsNeutral,
    /// A joint of high resistance.
    BadJoint,
    /// A breaker that does not feed this circuit.
    WrongBreaker,
    /// A receptacle's tab broken or left on.
    Tab,
}

impl DefectName {
    /// Whether it is an error made in landing wires on screws and in splices, one wire or two.
    pub fn is_slip(self) -> bool {
        use DefectName::*;
        matches!(self, SwappedLanding | WrongScrew | WrongSplice | LeftOut | PairsCrossed)
    }

    /// All of them.
    pub const ALL: [DefectName; 20] = {
        use DefectName::*;
        [
            SwappedLanding,
            WrongScrew,
            WrongSplice,
            LeftOut,
            PairsCrossed,
            OpenWire,
            OpenSplice,
            Short,
            LiveMetal,
            DeadThrow,
            Stuck,
            WrongDevice,
            LampOut,
            ReversedFeed,
            LostNeutral,
            JoinedNeutrals,
            GroundAsNeutral,
            BadJoint,
            WrongBreaker,
            Tab,
        ]
    };

    /// The word for it in documents and packs.
    pub fn word(self) -> &'static str {
        use DefectName::*;
        match self {
            SwappedLanding => "swapped-landing",
            WrongScrew => "wrong-screw",
            WrongSplice => "wrong-splice",
            LeftOut => "left-out",
            PairsCrossed => "pairs-crossed",
            OpenWire => "open-wire",
            OpenSplice => "open-splice",
            Short => "short",
            LiveMetal => "live-metal",
            DeadThrow => "dead-throw",
            Stuck => "stuck",
            WrongDevice => "wrong-device",
            LampOut => "lamp-out",
            ReversedFeed => "reversed-feed",
            LostNeutral => "lost-neutral",
            JoinedNeutrals => "joined-neutrals",
            GroundAsNeutral => "ground-as-neutral",
            BadJoint => "bad-joint",
            WrongBreaker => "wrong-breaker",
            Tab => "tab",
        }
    }
}

/// What is known of one defect.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DefectFacts {
    /// How often, beside the others.
    pub weight: f64,
    /// One plain sentence.
    pub sentence: String,
    /// Nobody who turns the light on and off notices it.
    #[serde(default)]
    pub unnoticed: bool,
}

/// The pack of defects.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Defects {
    /// Prior mass of one defect, where nobody complains.
    pub prior: f64,
    /// And where somebody does.
    #[serde(rename = "on-complaint")]
    pub on_complaint: f64,
    /// Each defect.
    pub defects: BTreeMap<DefectName, DefectFacts>,
}

impl Defects {
    /// The prior mass of any defect.
    pub fn any(&self, complaint: bool) -> f64 {
        if complaint { self.on_complaint } else { self.prior }
    }

    /// Whether somebody who turns the light on and off notices such a defect.
    pub fn is_noticed(&self, name: DefectName) -> bool {
        self.defects.get(&name).is_none_or(|facts| !facts.unnoticed)
    }

    /// How likely a defect of that name is beside nothing wrong.
    pub fn odds(&self, name: DefectName, complaint: bool) -> f64 {
        self.mass(name, complaint) / (1.0 - self.any(complaint))
    }

    /// The prior mass of a defect of that name, wherever it is.
    pub fn mass(&self, name: DefectName, complaint: bool) -> f64 {
        let whole: f64 = self.defects.values().map(|facts| facts.weight).sum();
        let weight = self.defects.get(&name).map_or(0.0, |facts| facts.weight);
        if whole > 0.0 { self.any(complaint) * weight / whole } else { 0.0 }
    }
}
