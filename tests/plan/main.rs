//! The next reading: what is suggested can be written down as it stands, never endangers anybody, and leads to the end.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a helper of tests may fail as a test does"
)]

mod play;

use play::{Truth, play};

#[test]
fn examples_are_played_to_the_end() {
    let only = std::env::var("LATH_ONLY").ok();
    for name in play::examples() {
        if only.as_ref().is_some_and(|only| !name.contains(only.as_str())) {
            continue;
        }
        let truth = Truth::of(&name);
        let played = play(&truth, Default::default());
        println!("{name}: {}", played.summary());
    }
}
