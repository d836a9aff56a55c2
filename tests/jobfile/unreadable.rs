//! Files that are no YAML, no text, no file.

use crate::bench::{Bench, STAIR, changed, refused};

/// A job of one box with two switches and two lights.
const PAIR: &str = "lath: 1
boxes:
  - {name: kitchen, kind: switch, devices: [{name: left, kind: three-way}, {name: right, kind: single-pole}]}
  - {name: ceiling, kind: light, devices: [{name: light, kind: light}]}
  - {name: porch, kind: light, devices: [{name: light, kind: light}]}
readings:
  - {do: watch, light: ceiling, switches: {kitchen/left: up, kitchen/right: 2}, lamp: in, breaker: on, reads: lit}
";

#[test]
fn a_box_with_two_switches_wants_the_device() {
    let text = PAIR.replace("{kitchen/left: up, kitchen/right: 2}", "{kitchen: up}");
    refused(&text, "{kitchen: up}", "kitchen", "kitchen/left or kitchen/right");
}

#[test]
fn a_non_contact_tester_has_no_second_lead() {
    let reading =
        "{do: volts, at: hall, between: [a.black, a.white], with: non-contact, breaker: on, reads: alarm}";
    let text = changed("readings:\n", &format!("readings:\n  - {reading}\n"));
    refused(&text, "non-contact", "hall/a.white", "earth for the other point");
}

#[test]
fn two_lights_want_a_name() {
    let text = PAIR.replace("light: ceiling, ", "");
    refused(&text, "do: watch", "watch", "light: ceiling/light or porch/light");
}

#[test]
fn other_lights_answered_than_watched() {
    let text = PAIR
        .replace("light: ceiling, ", "lights: [ceiling, porch], ")
        .replace("reads: lit", "reads: {ceiling: lit}");
    refused(&text, "do: watch", "ceiling", "one answer for each light");
}

#[test]
fn a_light_taken_off_and_watched() {
    let text = PAIR.replace("{name: ceiling, kind: light,", "{name: ceiling, kind: light, opened: true,");
    let text = text.replace("lamp: in,", "out: [ceiling/light], lamp: in,");
    refused(&text, "do: watch", "ceiling/light", "out without it");
}

#[test]
fn the_job_of_two_switches_is_otherwise_good() {
    let ended = Bench::new().check(PAIR.as_bytes());
    assert_eq!(ended.status, Some(0), "{}", ended.err);
}

#[test]
fn a_tab_in_the_indent() {
    let text = changed("    opened: true\n    floor", "    opened: true\n\tfloor");
    refused(&text, "\tfloor", "floor: 1", "spaces");
}

#[test]
fn a_bracket_left_open() {
    let text = "lath: 1\nboxes: [{name: hall, kind: switch\nreadings: []\n";
    let ended = Bench::new().check(text.as_bytes());
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml:"), "{}", ended.err);
    assert!(ended.err.contains("a comma or a closing bracket is missing"), "{}", ended.err);
    assert!(ended.err.contains("began in line 2)") && ended.err.contains("; write "), "{}", ended.err);
}

#[test]
fn a_quotation_mark_left_open() {
    let ended = Bench::new().check(b"lath: 1\ncall:\n  title: \"Stair light\n  site: 9 Quarry Row\n");
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.contains("the file ends inside a value"), "{}", ended.err);
    assert!(ended.err.contains("began in line 3)"), "{}", ended.err);
}

#[test]
fn a_colon_in_a_text() {
    refused(
        &changed("title: Stair light,", "title: Stair light: it hums,"),
        "it hums",
        "title: Stair light: it hums, upstairs and downstairs switch…",
        "between quotation marks",
    );
}

#[test]
fn an_indent_out_of_line() {
    let text = changed("    kind: switch\n", "   kind: switch\n");
    refused(
        &text,
        "kind: switch\n    opened: true\n    floor",
        "kind: switch",
        "the same indent as its neighbours",
    );
}

#[test]
fn a_thousand_notes_are_not_a_thousand_lines() {
    let reading = "  - {do: amps, at: hall, around: a, reads: 0}\n";
    let ended =
        Bench::new().check(changed("proofs:\n", &format!("{}proofs:\n", reading.repeat(1000))).as_bytes());
    assert_eq!(ended.status, Some(0));
    assert_eq!(ended.err.lines().count(), 41, "{}", ended.err);
}

#[test]
fn an_empty_file() {
    let ended = Bench::new().check(b"# nothing yet\n");
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml:1: the file is empty"), "{}", ended.err);
    assert!(ended.err.contains("write lath: 1"), "{}", ended.err);
}

#[test]
fn a_list_instead_of_a_job() {
    refused("- hall\n- attic\n", "- hall", "[hall, attic]", "lath: 1");
}

#[test]
fn a_second_document() {
    refused(&format!("{STAIR}---\nlath: 1 # again\n"), "---\n", "---", "one job a file");
}

#[test]
fn a_yaml_tag() {
    let ended = Bench::new().check(changed("title: Stair", "title: !secret Stair").as_bytes());
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml:3: "), "{}", ended.err);
    assert!(ended.err.contains("title: !secret Stair light"), "{}", ended.err);
}

#[test]
fn latin_1_instead_of_utf_8() {
    let mut bytes = b"lath: 1\ncall:\n  site: Caf".to_vec();
    bytes.extend([0xe9, b'\n']);
    let ended = Bench::new().check(&bytes);
    assert_eq!(ended.status, Some(3));
    assert!(
        ended.err.starts_with("job.yaml:3: the text is not UTF-8; found \"byte 0xe9\"; write "),
        "{}",
        ended.err
    );
}

#[test]
fn a_job_of_ten_megabytes() {
    let mut text = STAIR.to_owned();
    while text.len() < 10_000_000 {
        text.push_str("# and so on, and so on, and so on, and so on, and so on, and so on, and so on\n");
    }
    let ended = Bench::new().check(text.as_bytes());
    assert_eq!(ended.status, Some(3));
    let message = format!("job.yaml:1: the file is larger than 1 MiB ({} bytes)", text.len());
    assert!(ended.err.starts_with(&message), "{}", ended.err);
}

#[test]
fn brackets_without_end() {
    let ended = Bench::new().check(format!("lath: 1\nboxes: {}\n", "[".repeat(50_000)).as_bytes());
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml:"), "{}", ended.err);
}

#[test]
fn aliases_that_multiply() {
    let mut text = "lath: 1\ndone: &a [x, x, x, x, x, x, x, x, x]\n".to_owned();
    for (new, old) in ('b'..='j').zip('a'..) {
        text.push_str(&format!("{new}: &{new} [{}]\n", vec![format!("*{old}"); 9].join(", ")));
    }
    let ended = Bench::new().check(text.as_bytes());
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml:") && ended.err.len() < 5_000, "{}", ended.err);
}

#[test]
fn no_such_file() {
    let ended = Bench::new().lath(&["check", "other.yaml"]);
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("other.yaml: cannot be read: "), "{}", ended.err);
    assert!(ended.err.contains("write the name of a file that exists"), "{}", ended.err);
}

#[test]
fn a_folder() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path()).unwrap();
    let ended = bench.lath(&["check", "job.yaml"]);
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.starts_with("job.yaml: cannot be read: "), "{}", ended.err);
}

#[test]
fn more_than_can_be_numbered() {
    let mut text =
        "lath: 1\nboxes:\n  - name: attic\n    kind: junction\n    opened: true\n    cables:\n".to_owned();
    for i in 0..300 {
        text.push_str(&format!("      - {{tag: t{i}, wires: [black, white]}}\n"));
    }
    refused(&text, "- name: attic", "300 cable ends", "a job file for each part of the house");
}

#[test]
fn a_cable_like_a_rope() {
    let wires: Vec<String> = (1..=300).map(|i| format!("w{i}")).collect();
    let wires = wires.join(", ");
    let text = format!(
        "lath: 1\nboxes:\n  - {{name: attic, kind: junction, opened: true, cables: [{{tag: a, wires: [{wires}]}}]}}\n"
    );
    refused(&text, "attic", "300 wires", "each cable apart");
}

#[test]
fn everything_that_is_wrong_is_told_at_once() {
    let text = changed("goal: identify ", "goal: guess ");
    let text =
        text.replace("built: 1948", "built: 48").replace("- [b.red, switch.t2]", "- [b.blue, switch.t9]");
    let ended = Bench::new().check(text.as_bytes());
    let lines: Vec<&str> = ended.err.lines().filter_map(|line| line.split(':').nth(1)).collect();
    assert_eq!(lines, ["11", "18", "38", "38"], "{}", ended.err);
}

#[test]
fn a_thousand_mistakes_are_not_a_thousand_lines() {
    let text = format!("lath: 1\ndone: [{}]\n", vec!["[x]"; 1000].join(", "));
    let ended = Bench::new().check(text.as_bytes());
    assert_eq!(ended.status, Some(3));
    assert_eq!(ended.err.lines().count(), 41);
    assert!(ended.err.ends_with("and 960 more problems; write these right first\n"), "{}", ended.err);
}
