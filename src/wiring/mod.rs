//! The wirings that could be behind the plaster: a scheme laid over a run, coloured.
//!
//! Nothing here knows a named arrangement. `compose` puts devices into schemes, `turning` says which way round they are,
//! and the result is a [`netlist`]; [`facts`] turns the survey into small integers; `pairing` decides where every seen cable
//! end goes; `laying` decides what every wire carries; `closing` (with `filling`) joins each net in the boxes nobody has
//! looked into; `dark` asks whether cables between such boxes can do what that needs; `weights` says how likely the result
//! was before anything was read, with what `remembered` says of joints before somebody changed them. The outcome is a [`Space`]: every wiring, grouped by its [`Walls`], which are all that a
//! reading can depend on.

mod beyond;
mod carried;
mod closing;
mod collection;
mod compose;
mod continuity;
mod dark;
mod defect;
mod errors;
pub mod facts;
mod faults;
mod filling;
mod grounded;
pub mod hints;
mod islands;
mod joined;
mod laying;
mod listing;
pub mod netlist;
mod pairing;
mod remembered;
mod slips;
mod space;
mod supply;
mod turning;
mod twice;
mod walls;
mod weights;

pub use compose::netlists;
pub use defect::{Defect, DefectAt, FarSide, Fault};
pub use facts::{Facts, looks_like_ground};
pub use faults::Chances;
pub use hints::FEW_READINGS;
pub(crate) use hints::closed;
pub use netlist::{Chain, Net, Netlist, Screws};
pub use space::{Depth, Dest, Label, Options, Space, WallsRow, Wiring};
pub use walls::{DarkDevice, Walls};
