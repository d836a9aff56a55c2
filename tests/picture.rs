//! The committed diagram and note are what is made now; of diagrams every wire and screw is on them, and they act on nothing.

#![allow(clippy::unwrap_used, reason = "a test's helpers fail the test")]

use std::path::Path;
use std::process::Command;

fn written(words: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_lath"))
        .args(words)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(out.status.success(), "{words:?}");
    String::from_utf8(out.stdout).unwrap()
}

fn drawn(job: &str) -> String {
    written(&["draw", job, "--format", "svg"])
}

/// Kept by `LATH_WRITE_REFERENCE=1 cargo test --test picture`; looked at before it is committed.
#[test]
fn the_committed_picture_is_the_one_drawn() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/four-wire-legs.svg");
    let now = drawn("examples/four-wire-legs.yaml");
    if std::env::var_os("LATH_WRITE_REFERENCE").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    assert_eq!(now, std::fs::read_to_string(path).unwrap());
}

/// Kept and looked at like the picture.
#[test]
fn the_committed_note_is_the_one_written() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/feed-at-light-line-to-far.html");
    let now = written(&["note", "examples/feed-at-light-line-to-far.yaml", "--format", "html"]);
    if std::env::var_os("LATH_WRITE_REFERENCE").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    assert_eq!(now, std::fs::read_to_string(path).unwrap());
}

/// The wires are those that the job file lists, not what the program makes of it.
#[test]
fn every_wire_of_the_survey_is_named() {
    for job in ["four-wire-legs", "open-ring", "knob-and-tube", "taken-apart"] {
        let job = format!("examples/{job}.yaml");
        let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(&job)).unwrap();
        let survey: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
        let svg = drawn(&job);
        for outlet in survey["boxes"].as_sequence().unwrap() {
            for cable in outlet["cables"].as_sequence().into_iter().flatten() {
                let tag = cable["tag"].as_str().unwrap();
                for wire in cable["wires"].as_sequence().unwrap() {
                    let name = format!(">{tag}.{}<", wire.as_str().unwrap());
                    assert!(svg.contains(&name), "{job}: {name}");
                }
            }
        }
        for acting in ["<script", "href", "url(", "style="] {
            assert!(!svg.contains(acting), "{job}: {acting}");
        }
    }
}
