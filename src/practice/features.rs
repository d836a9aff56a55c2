//! What kind of house is asked for: how often each thing is drawn.

/// How switches and light are wired.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Scheme {
    /// A light with a chain of its own and no switch.
    PullChain,
    /// One switch.
    SinglePole,
    /// Two three-ways, with four-ways between them: line on the first common, load on the last.
    Conventional,
    /// Line and load at both three-ways, a tie between the commons.
    CommonsJoined,
    /// Line and neutral at both three-ways, the lamp between the commons.
    LampBetween,
    /// Line of one circuit and neutral of another.
    TwoFeeds,
}

impl Scheme {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Scheme::PullChain => "pull-chain",
            Scheme::SinglePole => "single-pole",
            Scheme::Conventional => "conventional",
            Scheme::CommonsJoined => "commons-joined",
            Scheme::LampBetween => "lamp-between-commons",
            Scheme::TwoFeeds => "two-feeds",
        }
    }
}

/// How often each thing is drawn, from 0 (never) to 1 (always). Schemes have weights.
#[derive(Clone, PartialEq, Debug)]
pub struct Features {
    /// Weights of the schemes.
    pub schemes: Vec<(f64, Scheme)>,
    /// One four-way in a conventional chain; and then a second.
    pub four_way: f64,
    /// A box of splices only; and then a second.
    pub junction: f64,
    /// That nobody knows of it.
    pub buried: f64,
    /// Cables that close a ring.
    pub ring: f64,
    /// Two cables where one would do.
    pub parallel: f64,
    /// A neutral carried to the switches.
    pub neutral_everywhere: f64,
    /// A cable to the rest of the house, at each box that has line and neutral.
    pub onward: f64,
    /// Wires of no use in a larger cable than needed.
    pub spare: f64,
    /// Knob-and-tube singles, or singles in conduit.
    pub singles: f64,
    /// Armored cable.
    pub armored: f64,
    /// A bare grounding conductor.
    pub grounds: f64,
    /// Wires whose colour cannot be told.
    pub colourless: f64,
    /// Wires landed with no regard to colour.
    pub no_habit: f64,
    /// Each switch box stays shut.
    pub switch_shut: f64,
    /// A light's box stays shut.
    pub light_shut: f64,
    /// Somebody has taken a switch box apart; and then the other ones too.
    pub apart: [f64; 2],
    /// Of a box taken apart: only the device is off.
    pub in_part: f64,
    /// A lamp that is no filament, or that nobody looked at.
    pub other_lamp: f64,
    /// A second light that comes on with the first.
    pub second_light: f64,
    /// A light that no wall switch controls.
    pub other_light: f64,
    /// A receptacle: always on, switched, or half switched.
    pub receptacle: f64,
    /// One more switch with a light of its own.
    pub second_chain: f64,
    /// Each switch in an opened box: nobody can tell its screws.
    pub unmarked: f64,
    /// Each opened box of which nothing is apart: its splices are under one bundle of tape.
    pub bundled: f64,
}

impl Default for Features {
    fn default() -> Features {
        Features {
            schemes: vec![
                (0.25, Scheme::SinglePole),
                (0.69, Scheme::Conventional),
                (0.06, Scheme::CommonsJoined),
            ],
            four_way: 0.12,
            junction: 0.3,
            buried: 0.35,
            ring: 0.1,
            parallel: 0.1,
            neutral_everywhere: 0.15,
            onward: 0.12,
            spare: 0.06,
            singles: 0.1,
            armored: 0.12,
            grounds: 0.15,
            colourless: 0.08,
            no_habit: 0.1,
            switch_shut: 0.05,
            light_shut: 0.4,
            apart: [0.25, 0.2],
            in_part: 0.35,
            other_lamp: 0.15,
            second_light: 0.0,
            other_light: 0.0,
            receptacle: 0.0,
            second_chain: 0.0,
            unmarked: 0.0,
            bundled: 0.0,
        }
    }
}

impl Features {
    /// Nothing that is not asked for: cloth cable, colours by habit, every box opened, nothing taken apart.
    pub fn bare(scheme: Scheme) -> Features {
        Features {
            schemes: vec![(1.0, scheme)],
            four_way: 0.0,
            junction: 0.0,
            buried: 0.0,
            ring: 0.0,
            parallel: 0.0,
            neutral_everywhere: 0.0,
            onward: 0.0,
            spare: 0.0,
            singles: 0.0,
            armored: 0.0,
            grounds: 0.0,
            colourless: 0.0,
            no_habit: 0.0,
            switch_shut: 0.0,
            light_shut: 0.0,
            apart: [0.0; 2],
            in_part: 0.0,
            other_lamp: 0.0,
            second_light: 0.0,
            other_light: 0.0,
            receptacle: 0.0,
            second_chain: 0.0,
            unmarked: 0.0,
            bundled: 0.0,
        }
    }
}
