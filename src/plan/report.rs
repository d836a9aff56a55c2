//! What to do next, as data, in the shape of the documented JSON.

use crate::call::InstrumentKind;
use crate::call::LampState;
use crate::call::job::{AllOrEach, Do, Field, JobReading, Node, Pair, Path, Power};
use crate::verdict::{Candidates, State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What to do next.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Next {
    /// Version of this document.
    pub lath: u32,
    /// Where the question stands: open as long as there is a suggestion.
    pub state: State,
    /// Whether the wires are settled all the same, and only what is wrong is open.
    #[serde(skip)]
    pub wires_settled: bool,
    /// What is still in play.
    pub candidates: Candidates,
    /// What to do, the best first.
    pub suggestions: Vec<Suggestion>,
    /// The jumpers that are on: where nothing more is done dead, they come off before anything is switched on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub still_on: Vec<[String; 2]>,
    /// Where nothing in reach would tell more: what might.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub would_help: Vec<String>,
}

/// One value for all, or one each by name.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum OneOrEach {
    /// For all.
    One(String),
    /// By name.
    Each(BTreeMap<String, String>),
}

/// One answer, or one for each point or light.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Reads {
    /// One word.
    One(String),
    /// One word for each of `points` or `lights`.
    List(Vec<String>),
}

/// What may be read, and what that would leave.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Outcome {
    /// The answer, in the words of the question.
    pub reads: Reads,
    /// Its probability.
    pub p: f64,
    /// How many classes it would leave.
    pub leaves: usize,
}

/// A question under conditions, what to do before it, and why.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Suggestion {
    /// `volts`, `ohms`, `amps`, `load`, `watch` or `open`.
    #[serde(rename = "do")]
    pub ask: String,
    /// The box where it is done; absent where one only looks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The two points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[String; 2]>,
    /// Several points, each to the point `to`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub points: Option<Vec<String>>,
    /// What `points` are measured to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// The cable or the wire in the clamp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub around: Option<String>,
    /// The light that is watched.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<String>,
    /// Several lights that are watched.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lights: Option<Vec<String>>,
    /// The instrument.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<InstrumentKind>,
    /// Breakers: `on` or `off`, for all or by name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breaker: Option<OneOrEach>,
    /// Every switch with its position.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub switches: Option<BTreeMap<String, String>>,
    /// Lamps: `in`, `out` or `test`, for all or by light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamp: Option<OneOrEach>,
    /// Devices taken off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub out: Option<Vec<String>>,
    /// Wires away from their joint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lifted: Option<Vec<String>>,
    /// Points bridged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jumpers: Option<Vec<[String; 2]>>,
    /// What to do before it, in order.
    pub first: Vec<String>,
    /// Expected information about what the call asks.
    pub bits: f64,
    /// Minutes of work, those of `first` among them.
    pub minutes: f64,
    /// Whether the power is on.
    pub live: bool,
    /// What may be read, the likeliest first; answers that nobody expects are left out.
    pub outcomes: Vec<Outcome>,
    /// Why.
    pub because: String,
    /// What to beware of.
    pub cautions: Vec<String>,
}

impl Suggestion {
    /// The question and its conditions as a job file has them; nothing is read yet.
    pub fn question(&self) -> JobReading {
        let ask = word::<Do>(&self.ask).unwrap_or(Do::Open);
        let mut reading = JobReading::new(ask);
        reading.at.clone_from(&self.at);
        reading.between = self.between.clone().map(|[p, q]| Pair(p, q));
        reading.points.clone_from(&self.points);
        reading.to.clone_from(&self.to);
        reading.around.clone_from(&self.around);
        reading.light.clone_from(&self.light);
        reading.lights.clone_from(&self.lights);
        reading.with = self.with.map(Into::into);
        reading.breaker = self.breaker.as_ref().and_then(each::<Power>);
        reading.switches.clone_from(&self.switches);
        reading.lamp = self.lamp.as_ref().and_then(each::<LampState>);
        reading.out.clone_from(&self.out);
        reading.lifted.clone_from(&self.lifted);
        let pair = |[p, q]: &[String; 2]| Pair(p.clone(), q.clone());
        reading.jumpers = self.jumpers.as_ref().map(|pairs| pairs.iter().map(pair).collect());
        reading
    }
}

fn each<T: Field>(said: &OneOrEach) -> Option<AllOrEach<T>> {
    match said {
        OneOrEach::One(said) => word(said).map(AllOrEach::All),
        OneOrEach::Each(words) => {
            let all = words.iter().map(|(name, said)| word(said).map(|value| (name.clone(), value)));
            all.collect::<Option<BTreeMap<_, _>>>().map(AllOrEach::Each)
        }
    }
}

/// The value that a word of the job file stands for.
fn word<T: Field>(said: &str) -> Option<T> {
    T::read(&Node::text(said), &Path::top(), &mut Vec::new())
}
