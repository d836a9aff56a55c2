//! Findings for the note: what was seen, read and concluded, held against the conditions in the packs.
//!
//! A condition is data: what triggers it is a [`Rule`] over named [`fields`](FIELDS) of the house, a box, a cable, a
//! wire, a joint, a device or a defect. Nothing here knows any condition by name, so a new one is an edit of a pack.
//! A finding is as firm as the least firm thing it rests on, and says so.

mod edition;
mod facts;
pub mod fill;
mod find;
mod gather;
mod pack;
mod read;
mod ring;
mod rule;

pub use edition::{Edition, Judged, judge};
pub use facts::{FIELDS, FieldKind, FieldSpec, Scope, Value};
pub use find::{Finding, Found, Place, find};
pub use pack::{Checked, Code, Condition, Level, Observation, Pack, Provision, Trigger};
pub use read::{Misread, defects_untold, read};
pub use rule::{Rule, Test};
