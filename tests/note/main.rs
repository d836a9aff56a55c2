//! The note as a file for a customer: what a browser makes of it, and a reader of PDF.

#![expect(clippy::expect_used, clippy::panic, reason = "a test's helpers fail the test")]

#[path = "../show/fixture.rs"]
#[expect(dead_code, reason = "shared with the tests of the terminal pages")]
mod fixture;
mod html;
mod pdf;
