//! The job file, from outside: the real binary on real files.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

mod bench;
mod edits;
mod good;
mod malformed;
mod round_trip;
mod saving;
mod unreadable;
