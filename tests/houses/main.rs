//! Houses drawn by `lath::practice`, which has no part in the enumeration and answers by a network of its own; the verdict
//! held against what was in the walls.
//!
//! `LATH_HOUSES=1000` draws so many of each kind and prints the table; `LATH_KEEP=DIR` keeps job and truth of those that
//! come out other than drawn.

#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::panic, reason = "a test that measures")]

mod drawn;
mod judge;
mod spice;

use judge::{Kind, judge_all};
use lath::practice::Features;

fn houses(usual: u64) -> u64 {
    std::env::var("LATH_HOUSES").ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

#[test]
fn fault_free_houses_are_identified() {
    let plain = Features { apart: [0.0; 2], ..Features::default() };
    let table = judge_all(&[Kind { name: "as found", features: plain, houses: houses(8), first: 0 }]);
    let all = table.whole();
    assert!(all.wrong * 1000 <= all.settled, "settled and wrong");
    assert_eq!(all.failing, 0, "a landing plan that does not work");
}

#[test]
fn boxes_taken_apart_are_put_back() {
    let apart = Features { apart: [1.0, 0.2], four_way: 0.0, ..Features::default() };
    let table = judge_all(&[Kind { name: "apart", features: apart, houses: houses(5), first: 500_000 }]);
    let all = table.whole();
    assert!(all.wrong * 1000 <= all.settled, "settled and wrong");
    assert_eq!(all.failing, 0, "a landing plan that does not work");
}
