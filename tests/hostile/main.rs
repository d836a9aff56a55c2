//! What nobody meant to give `lath`: texts that are nearly right, disks and clocks that fail, files of any size. Each ends in
//! a right answer or a clear refusal; nothing panics, nothing is lost.
//!
//! `LATH_FUZZ=N` tries N times as many cases as a plain run, `LATH_SEED=N` others; a case that fails names its own number.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a helper of tests may fail as a test does"
)]

mod deep;
mod desk;
mod faults;
mod fuzz;
mod kills;
mod large;
mod mutate;
mod walked;
