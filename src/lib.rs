//! `lath` works out how an unmarked lighting circuit in an old house is fed and wired.
//!
//! The rooms, in the order in which they may import each other: [`house`] holds what a house is made of;
//! [`call`] the service call as data; [`knowledge`] the packs; [`wiring`] the wirings that could be behind the
//! plaster; [`circuit`] a bare electrical network; [`predict`] what a tester would read; [`practice`] houses to try
//! it all on; [`weigh`] how well each wiring fits; [`verdict`] what is settled; [`plan`] what to ask next;
//! [`conditions`] what belongs in the note; [`show`] turns all that into text; [`walk`] is the guided call. Everything up
//! to there is pure; `workers` shares its work among the processors. [`files`] is the only room that touches the disk,
//! [`cli`] ties them together.

#![forbid(unsafe_code)]

pub mod call;
pub mod circuit;
pub mod cli;
pub mod conditions;
pub mod files;
pub mod house;
pub mod knowledge;
pub mod plan;
pub mod practice;
pub mod predict;
pub mod show;
pub mod verdict;
pub mod walk;
pub mod weigh;
pub mod wiring;
mod workers;
