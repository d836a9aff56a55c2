//! More of everything than any call has: an answer, or a refusal, in bounded time and memory.

use crate::desk::{Desk, Ended, example};
use serde_json::Value;
use std::fmt::Write;

/// What may be held at most, in kB: the bar is 200 MB for what a call is; this is what none is.
const MEMORY: u64 = 500_000;

fn modest(ended: &Ended) {
    assert!(ended.memory < MEMORY, "{} kB were held", ended.memory);
}

#[test]
fn a_job_of_ten_megabytes() {
    let mut text = example();
    while text.len() < 10_000_000 {
        text.push_str("# and so on, and so on, and so on, and so on, and so on, and so on, and so on\n");
    }
    let desk = Desk::with(&text);
    for arguments in [
        &["verdict", "job.yaml"][..],
        &["next", "job.yaml"],
        &["record", "job.yaml", "--watch", "lit"],
        &["walk", "job.yaml", "--answers", "/dev/null"],
        &["knowledge", "check", "job.yaml"],
    ] {
        let ended = desk.run(arguments);
        assert_eq!(ended.code(), 3, "{arguments:?}");
        assert!(ended.err.contains("larger than 1 MiB"), "{}", ended.err);
        assert!(ended.memory < 50_000, "{arguments:?}: {} kB were held", ended.memory);
    }
    assert_eq!(desk.bytes().len(), text.len());
}

/// The same few readings, again and again.
fn readings(count: usize) -> String {
    let text = example();
    let (survey, _) = text.split_once("\nreadings:\n").unwrap();
    let mut job = format!("{survey}\nreadings:\n");
    for n in 0..count {
        let position = ["up", "down"][n % 2];
        let at = ["front hall", "bedroom passage"][n / 2 % 2];
        writeln!(
            job,
            "  - {{do: volts, at: {at}, between: [a.white, earth], with: low-impedance, breaker: \"on\", \
             switches: {{{at}: {position}}}, lamp: in, reads: {}}}",
            118 + n % 3
        )
        .unwrap();
    }
    assert!(job.len() < 1 << 20, "no job file is so large");
    job
}

#[test]
fn five_thousand_readings() {
    let desk = Desk::with(&readings(5000));
    let counted = |count: &str| {
        let check = desk.run(&["check", "job.yaml"]);
        assert!(check.code() == 0 && check.out.contains(count), "{} {}", check.out, check.err);
    };
    counted("5000 readings");
    assert_eq!(desk.run(&["record", "job.yaml", "--watch", "lit"]).code(), 0);
    counted("5001 readings");
    assert_eq!(desk.run(&["record", "job.yaml", "--undo"]).code(), 0);
    counted("5000 readings");
    for arguments in [
        &["verdict", "job.yaml", "--json"][..],
        &["next", "job.yaml", "--json"],
        &["note", "job.yaml", "--format", "html"],
    ] {
        let ended = desk.run(arguments);
        assert_eq!(ended.code(), 0, "{arguments:?}: {}", ended.err);
        modest(&ended);
        eprintln!("5000 readings: {arguments:?}, {} kB", ended.memory);
    }
}

/// A light, two switches, and as many boxes more: opened with a cable through each, or not opened.
fn boxes(count: usize, opened: bool) -> String {
    let mut job =
        "lath: 1\nhouse: {supply: 120, feeds: [{name: \"7\", kind: breaker, amps: 15}]}\nboxes:\n".to_owned();
    for name in ["hall", "landing"] {
        writeln!(
            job,
            "  - {{name: {name}, kind: switch, opened: true, cables: [{{tag: a, wires: [black, red, white]}}],\n     \
             devices: [{{name: switch, kind: three-way}}],\n     \
             joints: [[a.black, switch.common], [a.red, switch.t1], [a.white, switch.t2]]}}"
        )
        .unwrap();
    }
    job.push_str("  - {name: ceiling, kind: light, opened: false, devices: [{name: light, kind: light}]}\n");
    for n in 3..count {
        if opened {
            writeln!(
                job,
                "  - {{name: box {n}, kind: junction, opened: true, joints: [[a.black, b.black], [a.white, b.white]],\n     \
                 cables: [{{tag: a, wires: [black, white]}}, {{tag: b, wires: [black, white]}}]}}"
            )
            .unwrap();
        } else {
            writeln!(job, "  - {{name: box {n}, kind: junction, opened: false}}").unwrap();
        }
    }
    job
}

#[test]
fn forty_boxes() {
    for opened in [true, false] {
        let desk = Desk::with(&boxes(40, opened));
        let check = desk.run(&["check", "job.yaml"]);
        assert!(check.code() == 0 && check.out.contains("40 boxes"), "{}", check.err);
        let ended = desk.run(&["verdict", "job.yaml", "--json"]);
        assert_eq!(ended.code(), 0, "{}", ended.err);
        modest(&ended);
        let verdict: Value = serde_json::from_str(&ended.out).unwrap();
        let (wirings, uncovered) = (&verdict["candidates"]["wirings"], &verdict["candidates"]["uncovered"]);
        eprintln!(
            "40 boxes, opened: {opened}: {wirings} wirings, uncovered {uncovered}, {} kB",
            ended.memory
        );
        // Nothing may be called settled of what was not looked at.
        if uncovered.as_f64().unwrap() > 0.5 {
            let wires = verdict["wires"].as_array().unwrap();
            assert!(wires.iter().all(|wire| wire["p"].as_f64().unwrap() < 0.99), "{}", ended.out);
        }
        for arguments in
            [&["draw", "job.yaml"][..], &["draw", "job.yaml", "--format", "svg"], &["next", "job.yaml"]]
        {
            let ended = desk.run(arguments);
            assert_eq!(ended.code(), 0, "{arguments:?}: {}", ended.err);
            modest(&ended);
        }
    }
}
