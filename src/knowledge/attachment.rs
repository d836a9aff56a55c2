//! What else hangs on the cables of a scheme: a further light, a receptacle.

use super::scheme::SlotPoint;
use crate::house::DeviceKind;
use serde::Deserialize;

/// How a device that no scheme has in its chain is joined to the scheme's nets.
#[derive(Clone, PartialEq, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attachment {
    /// Its name.
    pub attachment: String,
    /// A few words.
    pub title: String,
    /// One plain sentence.
    pub sentence: String,
    /// What to beware of, if anything.
    #[serde(default)]
    pub caution: Option<String>,
    /// Kinds of device that can hang so.
    pub kinds: Vec<DeviceKind>,
    /// How common it is, beside a light that is the scheme's own (1).
    pub weight: f64,
    /// What is joined: `self.TERMINAL` to `feed.line`, `feed.neutral`, or to the `light.center` or `light.shell` of the
    /// scheme.
    pub nets: Vec<Vec<SlotPoint>>,
}

impl Attachment {
    /// Whether it comes on with the light of a scheme, in part at least.
    pub fn controlled(&self) -> bool {
        self.nets.iter().flatten().any(|point| matches!(point, SlotPoint::Light(_)))
    }
}
