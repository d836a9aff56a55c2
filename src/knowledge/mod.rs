//! The packs as types: schemes, attachments, defects, habits, instruments, cautions; and whether what they say can be so
//! (`sound`). Reading them from YAML is `files::packs`' job.

mod attachment;
mod cautions;
mod defects;
mod effort;
mod habits;
mod instruments;
mod scheme;
mod sound;

pub use attachment::Attachment;
pub use cautions::{Caution, Cautions, Group};
pub use defects::{DefectFacts, DefectName, Defects};
pub use effort::{Effort, Factors, Penalties, Prices, Travel, Work};
pub use habits::{ColourHabit, EarthedMetal, Habits, PriorMass, RunHabits};
pub use instruments::{ErrorRates, InstrumentFacts, Instruments};
pub use scheme::{Pole, Scheme, Slot, SlotPoint};

/// Everything the engine takes from the packs.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// How switches control lights.
    pub schemes: Vec<Scheme>,
    /// What else hangs on the same cables.
    pub attachments: Vec<Attachment>,
    /// What can be miswired or broken.
    pub defects: Defects,
    /// How likely runs and colours are.
    pub habits: Habits,
    /// What testers do, and how often a reading is wrong.
    pub instruments: Instruments,
    /// What work costs.
    pub effort: Effort,
    /// What to beware of, for screens and notes.
    pub cautions: Cautions,
}
