//! The packs as types: schemes, habits, instruments, cautions. Reading them from YAML is `files::packs`' job.

mod attachment;
mod cautions;
mod habits;
mod instruments;
mod scheme;

pub use attachment::Attachment;
pub use cautions::{Caution, Cautions};
pub use habits::{ColourHabit, Habits, PriorMass, RunHabits};
pub use instruments::{ErrorRates, InstrumentFacts, Instruments};
pub use scheme::{Pole, Scheme, Slot, SlotPoint};

/// Everything the engine takes from the packs.
#[derive(Clone, Debug)]
pub struct Knowledge {
    /// How switches control lights.
    pub schemes: Vec<Scheme>,
    /// What else hangs on the same cables.
    pub attachments: Vec<Attachment>,
    /// How likely runs and colours are.
    pub habits: Habits,
    /// What testers do, and how often a reading is wrong.
    pub instruments: Instruments,
    /// What to beware of, for screens and notes.
    pub cautions: Cautions,
}
