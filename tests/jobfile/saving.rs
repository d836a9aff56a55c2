//! Saving, the schema, and the command line round it.

use crate::bench::{Bench, STAIR};
use lath::files::{load, parse_str, save};

#[test]
fn what_is_saved_is_loaded_again() {
    let bench = Bench::new();
    let job = parse_str("stair", STAIR).unwrap().job;
    save(&bench.path(), &job).unwrap();
    assert_eq!(load(&bench.path()).unwrap().job, job);
    assert_eq!(bench.files(), ["job.yaml"], "no other file is left");
}

#[cfg(unix)]
#[test]
fn permissions_are_kept_and_new_files_are_ordinary() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    let job = parse_str("stair", STAIR).unwrap().job;
    let mode = || std::fs::metadata(bench.path()).unwrap().permissions().mode() & 0o777;
    save(&bench.path(), &job).unwrap();
    // What the system gives any new file here.
    let other = bench.path().with_file_name("other");
    std::fs::write(&other, "").unwrap();
    assert_eq!(mode(), std::fs::metadata(&other).unwrap().permissions().mode() & 0o777);
    for kept in [0o600, 0o664] {
        std::fs::set_permissions(bench.path(), std::fs::Permissions::from_mode(kept)).unwrap();
        save(&bench.path(), &job).unwrap();
        assert_eq!(mode(), kept);
    }
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link() {
    let bench = Bench::new();
    let real = bench.path().with_file_name("real.yaml");
    std::fs::write(&real, "old").unwrap();
    std::os::unix::fs::symlink("real.yaml", bench.path()).unwrap();
    save(&bench.path(), &parse_str("stair", STAIR).unwrap().job).unwrap();
    assert!(std::fs::symlink_metadata(bench.path()).unwrap().is_symlink());
    assert!(std::fs::read_to_string(&real).unwrap().starts_with("lath: 1\n"));
}

#[test]
fn a_folder_that_is_not_there() {
    let bench = Bench::new();
    let path = bench.path().with_file_name("nowhere").join("job.yaml");
    let error = save(&path, &parse_str("stair", STAIR).unwrap().job).unwrap_err();
    let message = error.to_string();
    assert!(message.contains("nowhere") && message.contains("cannot be saved"), "{message}");
    assert!(message.ends_with("the file is as it was"), "{message}");
}

/// A name below `/proc` takes no new file even from root.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_takes_no_file() {
    let error =
        save(std::path::Path::new("/proc/job.yaml"), &parse_str("stair", STAIR).unwrap().job).unwrap_err();
    assert_eq!(error.step, "making a new file beside it");
}

/// A process that may not make a file grow meets what a full disk is: a write that fails half-way. The test runs itself
/// again in such a process, with the place to save to in its environment.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_is_full() {
    if let Some(path) = std::env::var_os("LATH_TEST_SAVE_TO") {
        let error = save(std::path::Path::new(&path), &parse_str("stair", STAIR).unwrap().job).unwrap_err();
        assert_eq!(error.step, "writing the new file");
        return;
    }
    let bench = Bench::new();
    bench.write(b"old");
    let ended = std::process::Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" --exact saving::a_disk_that_is_full"])
        .arg(std::env::current_exe().unwrap())
        .env("LATH_TEST_SAVE_TO", bench.path())
        .output()
        .unwrap();
    let out = String::from_utf8_lossy(&ended.stdout);
    assert!(ended.status.success() && out.contains("1 passed"), "{out}");
    assert_eq!(std::fs::read(bench.path()).unwrap(), b"old");
    assert_eq!(bench.files(), ["job.yaml"], "no half-written file is left");
}

/// Where a folder cannot be written the old file stays; root writes everywhere, so the test says so and stops.
#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    bench.write(b"old");
    let folder = bench.path().parent().unwrap().to_owned();
    std::fs::set_permissions(&folder, std::fs::Permissions::from_mode(0o555)).unwrap();
    let allowed = std::fs::write(folder.join("probe"), "").is_ok();
    let result = save(&bench.path(), &parse_str("stair", STAIR).unwrap().job);
    std::fs::set_permissions(&folder, std::fs::Permissions::from_mode(0o755)).unwrap();
    if allowed {
        assert!(result.is_ok(), "whoever may write the folder may save");
        return;
    }
    assert!(result.unwrap_err().to_string().contains("job.yaml: cannot be saved"));
    assert_eq!(std::fs::read(bench.path()).unwrap(), b"old");
    assert_eq!(bench.files(), ["job.yaml"]);
}

#[test]
fn another_reader_sees_text_where_text_was_meant() {
    // Words that YAML 1.1 takes for truth values, times or dates; see the type repository at yaml.org/type.
    let text = lath::files::to_yaml(&parse_str("stair", STAIR).unwrap().job);
    for quoted in [
        "breaker: \"on\"",
        "breaker: \"off\"",
        "\"on\": \"kitchen receptacle\"",
        "time: \"14:20\"",
        "date: \"2026-05-14\"",
        "accepted: \"2026-05-14\"",
        "name: \"7\"",
    ] {
        assert!(text.contains(quoted), "{quoted} in:\n{text}");
    }
    assert!(text.contains("\n      - [a.black, switch.common]\n"), "{text}");
    assert!(text.contains("title: \"Stair light, upstairs and downstairs switches\""), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
}

#[test]
fn the_schema_of_the_job_names_its_fields() {
    let ended = Bench::new().lath(&["schema"]);
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    let schema: serde_json::Value = serde_json::from_str(&ended.out).unwrap();
    let top = schema["properties"].as_object().unwrap();
    for field in [
        "lath",
        "call",
        "house",
        "instruments",
        "boxes",
        "readings",
        "proofs",
        "skipped",
        "safety",
        "done",
        "history",
    ] {
        assert!(top.contains_key(field), "{field}");
    }
    assert_eq!(schema["required"], serde_json::json!(["lath"]));
    assert_eq!(schema["additionalProperties"], serde_json::json!(false));
    let reading = schema["$defs"]["JobReading"]["properties"].as_object().unwrap();
    assert!(reading.contains_key("do") && reading.contains_key("jumpers"));
}

#[test]
fn the_schema_of_the_verdict() {
    let ended = Bench::new().lath(&["schema", "verdict"]);
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    let schema: serde_json::Value = serde_json::from_str(&ended.out).unwrap();
    assert!(schema["properties"]["landing"].is_object());
}

#[test]
fn wrong_usage_is_told_from_a_wrong_file() {
    let bench = Bench::new();
    for arguments in [&["check"][..], &["frobnicate"], &["check", "--color", "mauve", "job.yaml"], &[]] {
        let ended = bench.lath(arguments);
        assert_eq!((ended.status, ended.out.as_str()), (Some(2), ""), "{arguments:?}: {}", ended.err);
        assert!(!ended.err.is_empty());
    }
    let help = bench.lath(&["--help"]);
    assert_eq!(help.status, Some(0));
    assert!(help.out.contains("Exit status") && help.err.is_empty());
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_cannot_be_written() {
    use std::process::{Command, Stdio};
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ended =
        Command::new(env!("CARGO_BIN_EXE_lath")).arg("schema").stdout(Stdio::from(full)).output().unwrap();
    assert_eq!(ended.status.code(), Some(3), "{}", String::from_utf8_lossy(&ended.stderr));
}

#[cfg(unix)]
#[test]
fn a_reader_that_has_seen_enough() {
    use std::process::{Command, Stdio};
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let ended =
        Command::new(env!("CARGO_BIN_EXE_lath")).arg("schema").stdout(Stdio::from(writer)).output().unwrap();
    assert_eq!((ended.status.code(), ended.stderr.len()), (Some(0), 0));
}

#[test]
fn colour_only_where_it_is_wanted() {
    let bench = Bench::new();
    bench.write(STAIR.as_bytes());
    let plain = bench.lath(&["check", "job.yaml"]);
    assert!(!plain.out.contains('\u{1b}') && !plain.err.contains('\u{1b}'));
    let painted = bench.lath(&["check", "job.yaml", "--color", "always"]);
    assert!(painted.out.contains("\u{1b}[") && painted.out.contains("ok"));
    assert!(!bench.lath(&["--plain", "--color", "always", "check", "job.yaml"]).out.contains('\u{1b}'));
}
