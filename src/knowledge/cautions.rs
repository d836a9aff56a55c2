//! Cautions: what the person must be told, and the sentence for it.

use serde::Deserialize;
use std::collections::BTreeMap;

/// What a caution is about. The sentences are in the pack; when one applies is decided where it is shown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caution {
    /// Who may do this work.
    QualifiedPerson,
    /// Every wire is live until proven dead.
    LiveUntilProven,
    /// More than one circuit comes into a box.
    MoreCircuits,
    /// The question is not settled.
    NotSettled,
    /// The readings contradict each other.
    Contradiction,
    /// The breaker opened.
    Tripped,
    /// The metal of a box read live.
    LiveMetal,
    /// What comes before any wire is moved.
    BeforeLanding,
    /// What comes after the wires are landed.
    AfterLanding,
    /// A box that must not be put back as it was.
    NotAsItWas,
    /// A white wire that is line.
    WhiteIsLine,
    /// A white wire that goes to the light.
    WhiteIsLoad,
    /// A white wire that is a traveler or a tie.
    WhiteIsTraveler,
    /// A splice of whites that carries power.
    LiveWhiteSplice,
    /// A neutral that no reading has proven.
    NeutralNotProven,
    /// A neutral joint that must not be parted under power.
    NeutralJoint,
    /// A box without a neutral of this circuit.
    NoNeutral,
    /// A grounding conductor that no reading has proven.
    GroundNotProven,
    /// A wire that is another circuit's.
    OtherCircuit,
    /// No grounding conductors.
    NoGround,
    /// The lamp sits between the commons.
    LampBetweenCommons,
    /// The switch is in the neutral.
    SwitchedNeutral,
    /// Line from one circuit, neutral from another.
    TwoFeeds,
    /// Boxes that nobody has opened.
    Unopened,
    /// A box that may be hidden.
    BuriedBox,
    /// Work from a ladder.
    Ladder,
    /// A jumper between two points.
    Jumper,
    /// Old insulation.
    OldInsulation,
    /// Knob-and-tube wiring.
    KnobAndTube,
    /// Aluminium conductors.
    Aluminum,
    /// Armour that is no proven ground.
    Armor,
    /// Lead-covered cable.
    LeadSheath,
}

impl Caution {
    /// All of them, the gravest first: the order they are shown in.
    pub const ALL: [Caution; 32] = [
        Caution::LiveMetal,
        Caution::Tripped,
        Caution::Contradiction,
        Caution::NotSettled,
        Caution::NotAsItWas,
        Caution::QualifiedPerson,
        Caution::LiveUntilProven,
        Caution::MoreCircuits,
        Caution::Jumper,
        Caution::LampBetweenCommons,
        Caution::SwitchedNeutral,
        Caution::TwoFeeds,
        Caution::BeforeLanding,
        Caution::AfterLanding,
        Caution::LiveWhiteSplice,
        Caution::WhiteIsLine,
        Caution::WhiteIsLoad,
        Caution::WhiteIsTraveler,
        Caution::NeutralNotProven,
        Caution::NeutralJoint,
        Caution::NoNeutral,
        Caution::GroundNotProven,
        Caution::OtherCircuit,
        Caution::NoGround,
        Caution::Armor,
        Caution::KnobAndTube,
        Caution::Aluminum,
        Caution::LeadSheath,
        Caution::OldInsulation,
        Caution::Unopened,
        Caution::BuriedBox,
        Caution::Ladder,
    ];

    /// Its name in packs.
    pub fn word(self) -> &'static str {
        match self {
            Caution::QualifiedPerson => "qualified-person",
            Caution::LiveUntilProven => "live-until-proven",
            Caution::MoreCircuits => "more-circuits",
            Caution::NotSettled => "not-settled",
            Caution::Contradiction => "contradiction",
            Caution::Tripped => "tripped",
            Caution::LiveMetal => "live-metal",
            Caution::BeforeLanding => "before-landing",
            Caution::AfterLanding => "after-landing",
            Caution::NotAsItWas => "not-as-it-was",
            Caution::WhiteIsLine => "white-is-line",
            Caution::WhiteIsLoad => "white-is-load",
            Caution::WhiteIsTraveler => "white-is-traveler",
            Caution::LiveWhiteSplice => "live-white-splice",
            Caution::NeutralNotProven => "neutral-not-proven",
            Caution::NeutralJoint => "neutral-joint",
            Caution::NoNeutral => "no-neutral",
            Caution::GroundNotProven => "ground-not-proven",
            Caution::OtherCircuit => "other-circuit",
            Caution::NoGround => "no-ground",
            Caution::LampBetweenCommons => "lamp-between-commons",
            Caution::SwitchedNeutral => "switched-neutral",
            Caution::TwoFeeds => "two-feeds",
            Caution::Unopened => "unopened",
            Caution::BuriedBox => "buried-box",
            Caution::Ladder => "ladder",
            Caution::Jumper => "jumper",
            Caution::OldInsulation => "old-insulation",
            Caution::KnobAndTube => "knob-and-tube",
            Caution::Aluminum => "aluminum",
            Caution::Armor => "armor",
            Caution::LeadSheath => "lead-sheath",
        }
    }
}

/// What a caution belongs to: cautions are shown group by group, each group with its words in front.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Group {
    /// How far the verdict can be trusted, and hazards that come before everything else.
    First,
    /// What holds in every box of every house.
    Always,
    /// Putting wires back.
    Landing,
    /// Wires and joints of this circuit.
    Wires,
    /// What the house is made of.
    House,
}

impl Group {
    /// All of them, in the order they are shown in.
    pub const ALL: [Group; 5] = [Group::First, Group::Always, Group::Landing, Group::Wires, Group::House];

    /// The words in front of the group.
    pub fn title(self) -> &'static str {
        match self {
            Group::First => "First of all",
            Group::Always => "Always",
            Group::Landing => "Putting wires back",
            Group::Wires => "The wires here",
            Group::House => "This house",
        }
    }
}

impl Caution {
    /// The group it is shown in.
    pub fn group(self) -> Group {
        use Caution::*;
        match self {
            LiveMetal | Tripped | Contradiction | NotSettled | NotAsItWas | LampBetweenCommons
            | SwitchedNeutral | TwoFeeds => Group::First,
            QualifiedPerson | LiveUntilProven | MoreCircuits | Jumper => Group::Always,
            BeforeLanding | AfterLanding => Group::Landing,
            LiveWhiteSplice | WhiteIsLine | WhiteIsLoad | WhiteIsTraveler | NeutralNotProven
            | NeutralJoint | NoNeutral | GroundNotProven | OtherCircuit => Group::Wires,
            NoGround | Armor | KnobAndTube | Aluminum | LeadSheath | OldInsulation | Unopened | BuriedBox
            | Ladder => Group::House,
        }
    }
}

/// A sentence for every caution.
#[derive(Clone, PartialEq, Eq, Debug, Deserialize)]
#[serde(try_from = "BTreeMap<Caution, String>")]
pub struct Cautions {
    sentences: BTreeMap<Caution, String>,
}

impl Cautions {
    /// The name of the pack file.
    pub const NAME: &'static str = "knowledge/cautions.yaml";
    /// The pack as shipped.
    pub const TEXT: &'static str = include_str!("../../knowledge/cautions.yaml");

    /// The sentence for a caution.
    pub fn sentence(&self, caution: Caution) -> &str {
        // A set is only made when it has them all.
        self.sentences.get(&caution).map_or("", String::as_str)
    }
}

impl TryFrom<BTreeMap<Caution, String>> for Cautions {
    type Error = String;

    fn try_from(sentences: BTreeMap<Caution, String>) -> Result<Self, String> {
        let missing: Vec<&str> = Caution::ALL
            .iter()
            .filter(|c| sentences.get(c).is_none_or(|s| s.trim().is_empty()))
            .map(|c| c.word())
            .collect();
        if missing.is_empty() {
            Ok(Cautions { sentences })
        } else {
            Err(format!("a sentence is missing; write one for {}", missing.join(", ")))
        }
    }
}
