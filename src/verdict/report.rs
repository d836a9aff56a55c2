//! The verdict as data, in the shape of the documented JSON.

use super::SETTLED;
use crate::house::Role;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Where the question stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// More readings can settle more.
    Open,
    /// The goal is answered.
    Settled,
    /// It is not, and no action at a box in reach would change a role or a finding.
    Exhausted,
    /// Survey and readings cannot all be true of any wiring considered.
    Contradiction,
}

/// Where the feed enters.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct FeedFound {
    /// A box name, or `buried-1` …
    #[serde(rename = "box")]
    pub at: String,
    /// Probability.
    pub p: f64,
}

/// The arrangement, named from the wiring itself.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Arrangement {
    /// One plain sentence.
    pub text: String,
    /// The scheme's name in the knowledge base.
    pub scheme: String,
    /// Its probability.
    pub scheme_p: f64,
    /// The likeliest place of the feed.
    pub feed: FeedFound,
}

/// Two ends of one cable.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct CableFound {
    /// `BOX/tag` where the end was seen; otherwise a box name, `panel`, `onward` or `buried-1` …
    pub ends: [String; 2],
    /// Probability.
    pub p: f64,
}

/// The role of one wire end at an opened box.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct WireFound {
    /// `BOX/tag.wire`.
    pub wire: String,
    /// Its likeliest role.
    pub role: Role,
    /// The circuit, where the role is line or neutral and the circuit has a name.
    pub circuit: Option<String>,
    /// Probability of that role.
    pub p: f64,
    /// Other roles that hold 0.001 or more.
    pub others: BTreeMap<Role, f64>,
    /// The readings it rests on, counted from 1.
    pub because: Vec<usize>,
}

/// This circuit's neutral in a box.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct NeutralFound {
    /// The wires that should be it, `tag.wire`.
    pub wires: Vec<String>,
    /// Probability that they are.
    pub p: f64,
    /// Whether a reading of a kind that can tell has proven it; never by inference.
    pub proven: bool,
}

/// What an opened box holds.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct BoxRoles {
    /// Box name.
    #[serde(rename = "box")]
    pub at: String,
    /// Wires that should be line, `tag.wire`.
    pub line: Vec<String>,
    /// Its neutral, if there is one.
    pub neutral: Option<NeutralFound>,
    /// Grounding conductors, if there are any.
    pub ground: Option<Vec<String>>,
}

/// One box of the landing plan.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Landing {
    /// All joints of the box as they shall be; wires not named are capped.
    Joints {
        /// Box name.
        #[serde(rename = "box")]
        at: String,
        /// The joints, each a list of `tag.wire` and `device.terminal`.
        joints: Vec<Vec<String>>,
    },
    /// It must not be put back as it was, or cannot be told.
    Refused {
        /// Box name.
        #[serde(rename = "box")]
        at: String,
        /// Why.
        refuse: String,
        /// The safe state to leave it in.
        leave: String,
    },
}

/// A defect that explains what was read.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct DefectFound {
    /// A name of the closed list.
    pub what: String,
    /// BOX, BOX/device or BOX/tag.
    pub at: String,
    /// The points concerned.
    pub detail: Vec<String>,
    /// Probability.
    pub p: f64,
}

/// Which screw is which on an unmarked device.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct DeviceFound {
    /// `BOX/device`.
    pub device: String,
    /// Screw to terminal.
    pub screws: BTreeMap<String, String>,
    /// Probability.
    pub p: f64,
}

/// A reading that should not be believed.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Disbelieved {
    /// Counted from 1.
    pub reading: usize,
    /// Probability that it is wrong.
    pub p_wrong: f64,
}

/// The candidates behind a verdict.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Candidates {
    /// Classes that no reading in the vocabulary could tell apart.
    pub classes: usize,
    /// Wirings in them; one with a failure counts beside the same without.
    pub wirings: usize,
    /// Entropy over the classes, in bits.
    pub bits: f64,
    /// Prior mass left unexplored, at most. Where there was too much to list, wirings that disagree with several readings
    /// were left out on that ground and are not counted here.
    pub uncovered: f64,
}

/// What survey and readings settle, and how firmly.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Verdict {
    /// Version of this document.
    pub lath: u32,
    /// Where the question stands.
    pub state: State,
    /// What is still in play.
    pub candidates: Candidates,
    /// The arrangement; absent when nothing fits.
    pub arrangement: Option<Arrangement>,
    /// Cables at least likely.
    pub cables: Vec<CableFound>,
    /// Every wire end at every opened box.
    pub wires: Vec<WireFound>,
    /// Every opened box.
    pub boxes: Vec<BoxRoles>,
    /// Boxes that are apart or must change.
    pub landing: Vec<Landing>,
    /// What is miswired or broken.
    pub defects: Vec<DefectFound>,
    /// Unmarked devices.
    pub devices: Vec<DeviceFound>,
    /// Wires that may trade places freely in the landing plan.
    pub choices: Vec<Vec<String>>,
    /// Readings not believed.
    pub disbelieved: Vec<Disbelieved>,
    /// What cannot all be true, in words; `null` when all can.
    pub contradiction: Option<String>,
}

impl Verdict {
    /// Whether it is settled what every wire is for, and how they are landed.
    pub fn wires_settled(&self) -> bool {
        let planned = self.landing.iter().all(|entry| matches!(entry, Landing::Joints { .. }));
        planned && !self.wires.is_empty() && self.wires.iter().all(|wire| wire.p >= SETTLED)
    }
}
