//! Conditions: the packs, what triggers each, box fill, and what is said of when and where.

#![expect(clippy::expect_used, clippy::panic, reason = "a test's helpers fail the test")]

mod each;
mod era;
mod examples;
mod fill;
mod packs;
mod world;
