//! Texts that are nearly right, to everything that reads one: a job or a complaint with its line, never a panic, and what was
//! read is written and read again.

use crate::mutate::{Dice, TRAPS, cases, jobs, mutated, seed, tried};
use lath::call::check::check;
use lath::call::edit::{Edit, Said, said, undo};
use lath::call::job::{Field, Job, JobBox, Node, items};
use lath::files::{Complaint, Failure, packs, parse_bytes, parse_str, patched, to_yaml};

#[test]
fn jobs_that_are_nearly_right() {
    let jobs = jobs();
    let texts: Vec<String> = jobs.iter().map(|(_, text)| text.clone()).collect();
    let (all, mut taken) = (cases(1500), 0);
    for case in 0..all {
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let given = mutated(dice.word(&texts), &texts, &mut dice);
        taken += usize::from(tried("a job", case, &given, || job_or_complaint(&given)));
    }
    eprintln!("{all} job files: {taken} taken, {} refused with their line", all - taken);
    assert!(taken * 20 > all && (all - taken) * 20 > all, "the changes are too wild, or do nothing");
}

/// Whether it is a job; if so it is written, read, and the same; a text with a change in it keeps to the job as well.
fn job_or_complaint(given: &[u8]) -> bool {
    let loaded = match parse_bytes("job.yaml", given) {
        Ok(loaded) => loaded,
        Err(Failure::Wrong(complaints)) => {
            complain("job.yaml", given, &complaints);
            return false;
        }
        Err(other) => panic!("{other}"),
    };
    let job = loaded.job;
    assert_eq!(parse_str("again", &to_yaml(&job)).expect("what is written is read").job, job);
    let fewer = Job { readings: None, history: None, ..job.clone() };
    let text = std::str::from_utf8(given).unwrap();
    assert_eq!(parse_str("fewer", &patched(text, &job, &fewer)).expect("what is changed is read").job, fewer);
    true
}

/// There is a complaint, each has a line that is there, and is short enough to be read.
fn complain(name: &str, given: &[u8], complaints: &[Complaint]) {
    let lines = given.iter().filter(|&&byte| byte == b'\n').count() + 1;
    assert!(!complaints.is_empty());
    for Complaint { name: said, line, what } in complaints {
        assert_eq!(said, name);
        assert!((1..=lines).contains(line), "line {line} of {lines}: {what}");
        assert!(!what.is_empty() && what.chars().count() < 1000, "{what}");
        assert!(!what.contains(['\u{1b}', '\u{202e}']), "{what:?} does something to a terminal");
    }
}

#[test]
fn readings_in_json_that_are_nearly_right() {
    let json = |node: Node| serde_json::to_string_pretty(&node).unwrap();
    // Each job with what could be recorded in it.
    let said = |job: &Job| {
        let readings = items(&job.readings).iter().map(|reading| json(reading.write()));
        let outlets = items(&job.boxes).iter().enumerate().map(|(at, outlet)| {
            let known = JobBox { name: format!("attic {at}"), ..outlet.clone() };
            format!("{{\"do\": \"open\", \"at\": \"attic {at}\", \"box\": {}}}", json(known.write()))
        });
        readings.chain(outlets).collect::<Vec<String>>()
    };
    let jobs: Vec<(Job, Vec<String>)> = jobs()
        .iter()
        .filter_map(|(_, text)| parse_str("job", text).ok())
        .map(|loaded| Job { history: None, ..loaded.job })
        .filter(|job| !items(&job.readings).is_empty())
        .map(|job| (job.clone(), said(&job)))
        .collect();
    let (all, mut taken) = (cases(3000), 0);
    for case in 0..all {
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let (job, texts) = dice.one(&jobs);
        let text = dice.word(texts);
        let given = if dice.once_in(10) { text.as_bytes().to_vec() } else { mutated(text, texts, &mut dice) };
        taken += usize::from(tried("a reading", case, &given, || recorded_or_refused(job, &given)));
    }
    eprintln!("{all} readings in JSON: {taken} taken, {} refused", all - taken);
    assert!(taken * 10 > all && (all - taken) * 10 > all);
}

/// What `lath record --reading` does, without the disk. Taken back, the job is as it was.
fn recorded_or_refused(job: &Job, given: &[u8]) -> bool {
    let Ok(node) = serde_json::from_slice::<Node>(given) else { return false };
    let Ok(said) = said(job, &node) else { return false };
    let edit = match &said {
        Said::Open(outlet) => Edit::outlet(job, outlet),
        Said::Reading(reading) if reading.why.is_some() => Edit::skip(job, reading),
        Said::Reading(reading) => Edit::reading(job, reading),
    };
    let Ok(after) = edit.apply(job) else { return false };
    if check(&after).is_err() {
        return false;
    }
    let written = parse_str("after", &to_yaml(&after)).expect("what is recorded is read").job;
    assert_eq!(written, after);
    assert_eq!(undo(&written).expect("what is recorded is taken back").job, *job);
    true
}

#[test]
fn packs_that_are_nearly_right() {
    let packs = packs::all();
    let texts: Vec<String> = packs.iter().map(|(_, _, text)| (*text).to_owned()).collect();
    let (all, mut taken) = (cases(600), 0);
    for case in 0..all {
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let (name, _, text) = dice.one(&packs);
        let given = mutated(text, &texts, &mut dice);
        let Ok(text) = String::from_utf8(given.clone()) else { continue };
        let checked = tried("a pack", case, &given, || packs::check(name, &text));
        match checked {
            Ok(_) => taken += 1,
            // A pack may be in its own file while others, that it belongs to, complain of it.
            Err(complaints) => assert!(!complaints.is_empty(), "case {case}"),
        }
    }
    eprintln!("{all} packs: {taken} taken, {} refused", all - taken);
    assert!(taken * 50 > all && (all - taken) * 20 > all);
}

/// A reading in words, as it is typed at a walk.
#[test]
fn answers_as_they_are_typed() {
    let rights = [
        "119",
        "119v",
        "0",
        "OL",
        "beep",
        "lit",
        "about 60",
        "110-120",
        "0.4 ohms",
        "a.black 121 volts",
        "~60",
        "dim",
    ];
    let rights = rights.map(str::to_owned);
    let all = cases(20_000);
    for case in 0..all {
        let mut dice = Dice::new(seed() << 32 | case as u64);
        let mut text = dice.one(&rights).clone();
        for _ in 0..=dice.below(3) {
            let at = text.char_indices().map(|(at, _)| at).nth(dice.below(text.chars().count())).unwrap_or(0);
            text.insert_str(at, if dice.once_in(2) { dice.word(TRAPS) } else { dice.word(&rights) });
        }
        tried("an answer", case, text.as_bytes(), || {
            let _ = lath::walk::own::question(&text, None);
            lath::call::job::inert(&text)
        });
    }
    eprintln!("{all} answers as typed");
}
