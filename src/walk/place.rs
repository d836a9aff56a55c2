//! Where the person stands in a call: which question is asked, and what was answered so far of something that becomes
//! data only as a whole. It is kept in the history of the job, so that it outlives a restart.

use crate::call::job::{Field, Job, JobBox, JobReading, Node, Path, field::record, field::words, items};

/// The question that is asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, schemars::JsonSchema)]
#[schemars(rename_all = "kebab-case")]
pub enum Stage {
    /// The safety terms.
    #[default]
    Safety,
    /// What the call is.
    Title,
    /// Where it is, and for whom.
    Site,
    /// Who works.
    Who,
    /// What the customer reports.
    Complaint,
    /// What was changed before.
    Changed,
    /// Whether it worked before that.
    Worked,
    /// When the house was built.
    Built,
    /// Instruments owned.
    Instruments,
    /// The input resistance of the low-impedance meter.
    LowOhms,
    /// The circuit.
    Circuit,
    /// The proven reference.
    Reference,
    /// The volts that proved it.
    Proven,
    /// The box of the light.
    Light,
    /// The lamp in it.
    Lamp,
    /// How it is reached.
    Reach,
    /// The next box with a switch.
    Switch,
    /// What kind of switch it is.
    Kind,
    /// What is wanted.
    Goal,
    /// What the customer says of one position of the switches.
    Customer,
    /// The next reading, or what to do where there is none.
    Work,
    /// What covers the cables of a box.
    Sheath,
    /// The cables of a box.
    Cables,
    /// Its devices.
    Devices,
    /// What is on one of its screws.
    Screw,
    /// What is spliced in it.
    Splice,
    /// Whether the box is as written.
    Confirm,
    /// What else is seen in it.
    Seen,
    /// Which earlier answer is changed.
    Change,
    /// What it is instead.
    Instead,
    /// A reading of one's own choosing.
    Own,
    /// The conditions of it.
    Conditions,
    /// A step of the landing plan.
    Landing,
    /// Dead ohms from line to neutral before power.
    ToNeutral,
    /// Dead ohms from line to metal before power.
    ToMetal,
    /// The light in one position of the switches.
    Position,
    /// Volts from the screw shell to earth.
    Shell,
    /// Whether a note is wanted.
    Note,
    /// Nothing is left.
    Done,
}

words!(Stage, "a question of the walk", {
    "safety" => Stage::Safety,
    "title" => Stage::Title,
    "site" => Stage::Site,
    "who" => Stage::Who,
    "complaint" => Stage::Complaint,
    "changed" => Stage::Changed,
    "worked" => Stage::Worked,
    "built" => Stage::Built,
    "instruments" => Stage::Instruments,
    "low-ohms" => Stage::LowOhms,
    "circuit" => Stage::Circuit,
    "reference" => Stage::Reference,
    "proven" => Stage::Proven,
    "light" => Stage::Light,
    "lamp" => Stage::Lamp,
    "reach" => Stage::Reach,
    "switch" => Stage::Switch,
    "kind" => Stage::Kind,
    "goal" => Stage::Goal,
    "customer" => Stage::Customer,
    "work" => Stage::Work,
    "sheath" => Stage::Sheath,
    "cables" => Stage::Cables,
    "devices" => Stage::Devices,
    "screw" => Stage::Screw,
    "splice" => Stage::Splice,
    "confirm" => Stage::Confirm,
    "seen" => Stage::Seen,
    "change" => Stage::Change,
    "instead" => Stage::Instead,
    "own" => Stage::Own,
    "conditions" => Stage::Conditions,
    "landing" => Stage::Landing,
    "to-neutral" => Stage::ToNeutral,
    "to-metal" => Stage::ToMetal,
    "position" => Stage::Position,
    "shell" => Stage::Shell,
    "note" => Stage::Note,
    "done" => Stage::Done,
});

record! {
    /// Where the person stands.
    #[derive(Default)]
    pub struct Place {
        /// The question.
        "stage" stage: Stage,
        /// Which of several alike: a screw, a position, a step, a reading.
        "step" step: Option<i64>,
        /// A box as entered so far.
        "draft" draft: Option<JobBox>,
        /// A question of the person's own choosing.
        "question" question: Option<JobReading>,
        /// Boxes proved dead since the power went off.
        "proven" proven: Option<Vec<String>>,
        /// The box where something was done since the last reading.
        "at" at: Option<String>,
        /// What the tester showed in the box that is being proved, where it is still asked what the tester was proved on.
        "showed" showed: Option<String>,
        /// A box where something was live with the power off, and it is not written down yet which wire.
        "live" live: Option<String>,
        /// What took it off: a breaker or fuse by its name, or the main.
        "cut" cut: Option<String>,
        /// The light in each position after landing.
        "lit" lit: Option<Vec<String>>,
        /// Where to go back to from something in between.
        "back" back: Option<Node>,
    }
}

impl Place {
    /// A question about nothing in particular.
    pub fn at(stage: Stage) -> Place {
        Place { stage, ..Place::default() }
    }

    /// Where somebody stands who has answered what the job holds: what the last answer left, or, in a job that was written
    /// otherwise, at the first thing that is not known.
    pub fn of(job: &Job) -> Place {
        let last = items(&job.history).last();
        let kept = last.and_then(|entry| entry.get("place")).and_then(Place::from_node);
        kept.unwrap_or_else(|| Place::at(first_unknown(job)))
    }

    fn from_node(node: &Node) -> Option<Place> {
        Place::read(node, &Path::top(), &mut Vec::new())
    }

    /// The same on another day: no proof outlives that, and nobody knows how far the steps of a suggestion were carried out.
    pub fn resumed(self) -> Place {
        let step = self.step.filter(|_| self.stage != Stage::Work);
        Place { proven: None, showed: None, step, ..self }
    }

    /// Another question, with what is known of the power kept.
    pub fn to(&self, stage: Stage) -> Place {
        Place {
            stage,
            proven: self.proven.clone(),
            at: self.at.clone(),
            live: self.live.clone(),
            cut: self.cut.clone(),
            ..Place::default()
        }
    }

    /// The boxes that are still proved dead when an answer is taken back: what was proved before it, and still is.
    pub fn still_proven(&self, now: &Place) -> Place {
        let both = items(&self.proven).iter().filter(|name| now.is_proven(name)).cloned().collect();
        Place { proven: Some(both).filter(|list: &Vec<String>| !list.is_empty()), ..self.clone() }
    }

    /// Another question in between.
    pub fn aside(&self, stage: Stage) -> Place {
        let back = match (&self.back, self.stage) {
            // A reading of one's own is in between as well, until it is read.
            (Some(back), Stage::Change | Stage::Instead | Stage::Own | Stage::Conditions | Stage::Work) => {
                back.clone()
            }
            _ => self.write(),
        };
        Place { back: Some(back), ..self.to(stage) }
    }

    /// Back from in between.
    pub fn back(&self) -> Place {
        let back = self.back.as_ref().and_then(Place::from_node);
        Place {
            proven: self.proven.clone(),
            at: self.at.clone(),
            live: self.live.clone(),
            cut: self.cut.clone(),
            ..back.unwrap_or_else(|| Place::at(Stage::Work))
        }
    }

    /// Back from a reading of one's own, read or left; among the suggestions, at the one that comes next.
    pub fn after_own(&self) -> Place {
        let back = self.back();
        match back.stage {
            Stage::Work => Place { question: None, step: None, ..back },
            _ => back,
        }
    }

    /// Whether it is in the head of the call or in the survey of a box.
    pub fn is_before_readings(&self) -> bool {
        use Stage::*;
        let later = [
            Work, Change, Instead, Own, Conditions, Landing, ToNeutral, ToMetal, Position, Shell, Note, Done,
        ];
        !later.contains(&self.stage)
    }

    /// Which of several alike, from 0.
    pub fn index(&self) -> usize {
        self.step.and_then(|step| usize::try_from(step).ok()).unwrap_or(0)
    }

    /// The next of several alike.
    pub fn next(&self) -> Place {
        Place { step: Some(self.step.unwrap_or(0) + 1), ..self.clone() }
    }

    /// Whether a box was proved dead and the power has been off since.
    pub fn is_proven(&self, name: &str) -> bool {
        items(&self.proven).iter().any(|proven| proven == name)
    }
}

fn first_unknown(job: &Job) -> Stage {
    let accepted = job.safety.as_ref().is_some_and(|safety| safety.accepted.is_some());
    let boxes = items(&job.boxes);
    match () {
        () if !accepted => Stage::Safety,
        () if boxes.is_empty() => Stage::Title,
        () => Stage::Work,
    }
}
