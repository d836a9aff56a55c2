//! How well each of the walls fits what was read.
//!
//! Weights multiply, so everything is in logs. Each answer is wrong with a small probability, in which case it says
//! nothing; part of that error comes back when the same reading is repeated. How each switch's handle maps to its
//! contacts is unknown, so every walls row is weighed for every such map (*sense*) and summed over them.
//! *Something else*, which predicts nothing, stands beside the rows with a small prior.

mod bonding;
mod evidence;
mod posterior;

pub(crate) use bonding::earthed;
pub use evidence::Evidence;
pub use posterior::{Known, Ledger, Lost, Posterior, Weighed};
