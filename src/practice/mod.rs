//! Simulated houses: drawing one, and answering for it.
//!
//! A [`Building`] is the physical truth: conductors, splices, screws. [`draw`] wires one as somebody once did, with no
//! part in it of the enumeration it is to be held against. [`Building::survey`] is what a visitor writes down,
//! [`Teller`] what instruments then show, [`Building::truth`] what there was to find out, [`technician::everything`]
//! every reading worth taking, and [`Building::land`] puts a box back as a plan says. [`proof`] throws a scheme through every
//! position before any house has it.

mod answer;
mod building;
mod chance;
mod draw;
mod features;
mod names;
mod network;
pub mod proof;
mod slips;
mod spoil;
mod survey;
pub mod technician;
mod trial;
mod truth;

pub use answer::Teller;
pub use building::{
    Broken, Building, Cable, Chain, Circuit, Far, Fault, Fixture, Joint, Lamp, Outlet, Pole, Spot, Strand,
    Undone,
};
pub use chance::Chance;
pub use draw::draw;
pub use features::{Features, Scheme};
pub use names::Probe;
pub use network::{Bench, Situation};
pub use slips::Slips;
pub use spoil::FAULTS;
pub use trial::Trial;
pub use truth::{Purpose, Truth};
