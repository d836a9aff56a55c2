//! What work costs, in minutes, and what is held against it beside time.

use crate::call::job::{Path, Problem};
use serde::Deserialize;

/// Minutes on the way.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Travel {
    /// To another box on the same floor.
    #[serde(rename = "box")]
    pub outlet: f64,
    /// For each floor up or down.
    pub floor: f64,
    /// Setting up a pair of steps.
    pub steps: f64,
    /// Setting up a ladder.
    pub ladder: f64,
    /// To the panel and back.
    pub panel: f64,
    /// The same with somebody standing there.
    pub panel_with_helper: f64,
}

/// Minutes of work.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Work {
    /// One point probed.
    pub probe: f64,
    /// One switch flipped, and a look at the light.
    pub flip: f64,
    /// A box opened.
    pub open: f64,
    /// A device taken off its box.
    pub take_out: f64,
    /// A device put back on its wires.
    pub put_back: f64,
    /// A wire lifted from its joint.
    pub lift: f64,
    /// A wire put back into its joint.
    pub rejoin: f64,
    /// A lamp changed.
    pub lamp: f64,
    /// A jumper put on or taken off.
    pub bridge: f64,
    /// A long lead from box to box.
    pub lead: f64,
    /// A box proved dead.
    pub prove: f64,
    /// Something found that is earth, and proved.
    pub reference: f64,
}

/// Factors on the minutes at a box.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Factors {
    /// With the power on.
    pub live: f64,
    /// With the power on, from a ladder.
    pub live_on_ladder: f64,
}

/// What is held against a step beside its minutes, as if it were minutes.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Penalties {
    /// A live reading.
    pub live: f64,
    /// A live reading from a ladder.
    pub live_on_ladder: f64,
    /// Each time up a pair of steps.
    pub steps: f64,
    /// Each time up a ladder.
    pub ladder: f64,
    /// Each device or wire moved where the insulation is old.
    pub old_insulation: f64,
    /// A joint parted that may hold a neutral.
    pub neutral: f64,
}

/// All prices.
#[derive(Clone, Copy, PartialEq, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, try_from = "Prices")]
pub struct Effort {
    /// Minutes on the way.
    pub travel: Travel,
    /// Minutes of work.
    pub work: Work,
    /// Factors for live work.
    pub factor: Factors,
    /// What counts against a step beside its minutes.
    pub penalty: Penalties,
}

/// Prices as written, before they are checked.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    travel: Travel,
    work: Work,
    factor: Factors,
    penalty: Penalties,
}

impl Prices {
    /// What is no price.
    pub fn problems(&self) -> Vec<Problem> {
        let Prices { travel, work, factor, penalty } = self;
        // What costs nothing would be asked for ever.
        let above: [(&str, f64); 6] = [
            ("travel.box", travel.outlet),
            ("travel.panel", travel.panel),
            ("travel.panel-with-helper", travel.panel_with_helper),
            ("work.probe", work.probe),
            ("work.flip", work.flip),
            ("work.open", work.open),
        ];
        let least: [(&str, f64); 18] = [
            ("travel.floor", travel.floor),
            ("travel.steps", travel.steps),
            ("travel.ladder", travel.ladder),
            ("work.take-out", work.take_out),
            ("work.put-back", work.put_back),
            ("work.lift", work.lift),
            ("work.rejoin", work.rejoin),
            ("work.lamp", work.lamp),
            ("work.bridge", work.bridge),
            ("work.lead", work.lead),
            ("work.prove", work.prove),
            ("work.reference", work.reference),
            ("penalty.live", penalty.live),
            ("penalty.live-on-ladder", penalty.live_on_ladder),
            ("penalty.steps", penalty.steps),
            ("penalty.ladder", penalty.ladder),
            ("penalty.old-insulation", penalty.old_insulation),
            ("penalty.neutral", penalty.neutral),
        ];
        let factors: [(&str, f64); 2] =
            [("factor.live", factor.live), ("factor.live-on-ladder", factor.live_on_ladder)];
        let mut problems = Vec::new();
        let mut wrong = |name: &str, value: f64, fits: bool, instead: &str| {
            if !(value.is_finite() && fits) {
                let path = name.split('.').fold(Path::top(), |path, key| path.key(key));
                problems.push(Problem::new(path, "this is no price", value.to_string(), instead));
            }
        };
        for (name, value) in above {
            wrong(name, value, value > 0.0, "minutes above 0: what costs nothing would be asked for ever");
        }
        for (name, value) in least {
            wrong(name, value, value >= 0.0, "minutes, 0 or more");
        }
        for (name, value) in factors {
            wrong(name, value, value >= 1.0, "a factor of 1 or more");
        }
        problems
    }
}

impl TryFrom<Prices> for Effort {
    type Error = String;

    fn try_from(prices: Prices) -> Result<Effort, String> {
        if let Some(problem) = prices.problems().first() {
            return Err(problem.to_string());
        }
        let Prices { travel, work, factor, penalty } = prices;
        Ok(Effort { travel, work, factor, penalty })
    }
}
