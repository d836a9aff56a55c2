//! The note as a file for a customer: what a browser makes of it, and a reader of PDF.

#![expect(clippy::expect_used, clippy::panic, reason = "a test's helpers fail the test")]

mod browser;
#[path = "../show/fixture.rs"]
mod fixture;
mod hostile;
mod html;
mod pdf;
