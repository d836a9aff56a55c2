//! What a disk, a clock, a pipe or somebody else can do to a call.

use crate::desk::{Desk, Ended, ended, example};
use crate::walked::hand::{Hand, Listed, before, now};
use lath::call::edit::same_question;
use lath::call::job::{Do, Job, JobReading, items};
use lath::files::{self, Held, Keep, packs, parse_str};
use lath::walk::{Now, Stage, Walk};
use std::process::Stdio;

/// A refusal, with nothing on standard output that could be taken for a result.
fn refused(ended: &Ended, why: &str) {
    assert_eq!(ended.code(), 3, "{}", ended.err);
    assert!(ended.err.contains(why), "{}", ended.err);
    assert!(ended.out.is_empty(), "{}", ended.out);
}

/// A folder that may be read and not written. Root may write everywhere, so it is somebody else who runs it.
#[cfg(unix)]
#[test]
fn a_folder_that_may_only_be_read() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    const NOBODY: u32 = 65534;
    let desk = Desk::with(&example());
    let mode =
        |mode| std::fs::set_permissions(desk.folder.path(), std::fs::Permissions::from_mode(mode)).unwrap();
    mode(0o555);
    let root = std::fs::write(desk.folder.path().join("probe"), "").is_ok();
    let _ = std::fs::remove_file(desk.folder.path().join("probe"));
    // The program may lie where only root goes.
    let elsewhere = tempfile::tempdir().unwrap();
    std::fs::set_permissions(elsewhere.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
    let program = elsewhere.path().join("lath");
    std::fs::copy(crate::desk::program(), &program).unwrap();
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(&program);
        command.args(arguments).current_dir(desk.folder.path()).env_clear();
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        if root {
            command.uid(NOBODY);
        }
        // While another test makes a process, that one may for a moment still hold the copy open to write it.
        let busy = |error: &std::io::Error| error.kind() == std::io::ErrorKind::ExecutableFileBusy;
        loop {
            match command.spawn() {
                Err(error) if busy(&error) => std::thread::sleep(std::time::Duration::from_millis(5)),
                child => break ended(child.unwrap()),
            }
        }
    };
    let before = desk.bytes();
    for reads in [&["check", "job.yaml"][..], &["verdict", "job.yaml", "--buried", "0"]] {
        assert_eq!(run(reads).code(), 0, "what only reads needs no more");
    }
    for writes in [
        &["record", "job.yaml", "--watch", "lit"][..],
        &["walk", "job.yaml", "--answers", "/dev/null"],
        &["walk", "new.yaml", "--answers", "/dev/null"],
    ] {
        refused(&run(writes), "in this folder no file can be made");
    }
    mode(0o755);
    assert!(desk.bytes() == before);
    assert_eq!(desk.files(), ["job.yaml"]);
}

/// Whatever is written to a full disk, or to a pipe that nobody reads any more.
#[cfg(target_os = "linux")]
#[test]
fn output_that_goes_nowhere() {
    let desk = Desk::with(&example());
    let mut tried = 0;
    for arguments in [
        &["verdict", "job.yaml", "--buried", "0"][..],
        &["verdict", "job.yaml", "--buried", "0", "--json"],
        &["next", "job.yaml", "--buried", "0"],
        &["tags", "job.yaml", "--buried", "0"],
        &["draw", "job.yaml", "--buried", "0", "--format", "svg"],
        &["note", "job.yaml", "--buried", "0", "--format", "pdf"],
        &["check", "job.yaml"],
        &["schema"],
        &["knowledge", "list"],
        &["--help"],
        &["--version"],
    ] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let ended = ended(desk.command(arguments).stdout(full).spawn().unwrap());
        refused(&ended, "output could not be written");
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let ended = self::ended(desk.command(arguments).stdout(writer).spawn().unwrap());
        assert_eq!((ended.code(), ended.err.as_str()), (0, ""), "{arguments:?}");
        tried += 1;
    }
    // Nor does it matter to a refusal that nobody hears it.
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let ended = ended(desk.command(&["check", "nowhere.yaml"]).stderr(writer).spawn().unwrap());
    assert_eq!(ended.code(), 3);
    eprintln!("{tried} commands, each to a full disk and to a closed pipe");
}

/// A reading is recorded even where nobody hears that it is.
#[cfg(unix)]
#[test]
fn a_reading_is_written_before_anything_is_said_of_it() {
    let desk = Desk::with(&example());
    let count = items(&files::load(&desk.path()).unwrap().job.readings).len();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let ended =
        ended(desk.command(&["record", "job.yaml", "--watch", "lit"]).stdout(writer).spawn().unwrap());
    assert_eq!(ended.code(), 0, "{}", ended.err);
    assert_eq!(items(&files::load(&desk.path()).unwrap().job.readings).len(), count + 1);
}

/// An editor saves while a call is worked on: what it wrote stays, and the answer is refused.
#[test]
fn a_file_that_an_editor_changed_underneath() {
    let desk = Desk::with(&example());
    let mut held = Held::open(&desk.path(), Keep::Long).unwrap();
    let job = held.loaded().job.clone();
    let mine = Job { skipped: None, ..job.clone() };
    // In place, as some editors do; by another file put there, as others do; gone; of the same length.
    let text = example();
    let other = text.replace("41 Mill Lane", "43 Mill Lane");
    assert!(other != text && other.len() == text.len());
    std::fs::write(desk.path(), &other).unwrap();
    let wrong = held.save(&mine).unwrap_err().to_string();
    assert!(wrong.contains("another program has changed it in the meantime"), "{wrong}");
    assert_eq!(desk.bytes(), other.as_bytes());
    let new = desk.folder.path().join("new");
    std::fs::write(&new, format!("{text}# and a remark\n")).unwrap();
    std::fs::rename(&new, desk.path()).unwrap();
    assert!(held.save(&mine).is_err());
    assert!(desk.bytes().ends_with(b"# and a remark\n"));
    std::fs::remove_file(desk.path()).unwrap();
    assert!(held.save(&mine).is_err());
    assert!(!desk.path().exists());
    // Put back as it was, it is as if nothing had been.
    std::fs::write(desk.path(), &text).unwrap();
    held.save(&mine).unwrap();
    assert_eq!(files::load(&desk.path()).unwrap().job, mine);
    // Meanwhile another lath gets to know that somebody works on it, and can read.
    refused(&desk.run(&["record", "job.yaml", "--watch", "lit"]), "another lath is working on this job");
    assert_eq!(desk.run(&["check", "job.yaml"]).code(), 0);
    drop(held);
    assert_eq!(desk.run(&["record", "job.yaml", "--watch", "lit"]).code(), 0);
}

/// Nothing that was written by a newer program is touched by this one.
#[test]
fn a_job_from_a_newer_format() {
    let text = example().replace("lath: 1\n", "lath: 2\n") + "ghosts: [{what: nobody knows}]\n";
    let desk = Desk::with(&text);
    for arguments in [
        &["check", "job.yaml"][..],
        &["verdict", "job.yaml"],
        &["next", "job.yaml"],
        &["note", "job.yaml"],
        &["record", "job.yaml", "--watch", "lit"],
        &["record", "job.yaml", "--undo"],
        &["walk", "job.yaml", "--answers", "/dev/null"],
    ] {
        refused(&desk.run(arguments), "written by a newer lath");
        assert_eq!(desk.bytes(), text.as_bytes());
    }
    assert_eq!(desk.files(), ["job.yaml"]);
}

fn single_pole() -> Job {
    crate::walked::hand::example("single-pole-loop.yaml")
}

/// The clock runs backwards, over midnight and New Year, while a call is walked: the order is that of the file.
#[test]
fn a_clock_that_goes_backwards() {
    let knowledge = packs::embedded().unwrap();
    let whole = single_pole();
    let walk_with = |clock: &dyn Fn(usize) -> Now| {
        let readings = items(&whole.readings).to_vec();
        let shows = |question: &JobReading| {
            readings.iter().find(|reading| same_question(reading, question)).unwrap().reads.clone().unwrap()
        };
        let mut hand = Hand::new(&whole, shows);
        let mut walk = Walk::resume(before(&whole), Listed::of(&whole, &knowledge)).unwrap();
        let mut count = 0;
        while walk.place().stage != Stage::Done {
            let answer = hand.answer(&walk);
            let turn = walk.answer(&answer, &clock(count));
            assert!(turn.changed, "{answer:?}: {:?}", turn.says);
            count += 1;
        }
        walk.job().clone()
    };
    let steady = walk_with(&|_| now());
    let back = walk_with(&|count| {
        let minutes = (24 * 60 - 7 * count % (24 * 60)) % (24 * 60);
        let day = if count.is_multiple_of(2) { "2025-12-31" } else { "2026-01-01" };
        Now { day: day.to_owned(), time: format!("{:02}:{:02}", minutes / 60, minutes % 60) }
    });
    let timeless = |job: &Job| {
        let mut job = Job { history: None, safety: None, ..job.clone() };
        job.proofs.iter_mut().flatten().for_each(|proof| proof.time = None);
        job
    };
    assert!(items(&back.proofs).len() > 1);
    assert_eq!(timeless(&back), timeless(&steady));
    assert_eq!(parse_str("back", &files::to_yaml(&back)).unwrap().job, back);
    assert!(items(&steady.readings).iter().all(|reading| reading.ask != Do::Open));
}
