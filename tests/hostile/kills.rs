//! Killed at any instant: the old file or the new one, whole; what was said to be recorded is recorded.

use crate::desk::{Desk, example};
use crate::mutate::{Dice, seed};
use lath::call::job::{JobAnswer, JobReads, items};
use lath::files::load;
use std::collections::BTreeSet;
use std::process::Stdio;
use std::time::{Duration, Instant};

/// `LATH_KILLS` kills of `lath record`, at instants from its start to past its end; or fewer, which show much the same.
#[cfg(unix)]
#[test]
fn a_writer_that_is_killed_leaves_a_whole_file() {
    let kills: usize = std::env::var("LATH_KILLS").ok().and_then(|text| text.parse().ok()).unwrap_or(150);
    let text = format!("# kept at the front desk\n{}", example());
    let desk = Desk::with(&text);
    let old = load(&desk.path()).unwrap().job;
    let volts = |n: usize| {
        format!(
            r#"{{"do":"volts","at":"front hall","between":["a.black","earth"],"with":"low-impedance","breaker":"on","reads":{n}}}"#
        )
    };
    let record = |n: usize| {
        let mut command = desk.command(&["record", "job.yaml", "--reading", &volts(n)]);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command.spawn().unwrap()
    };
    // How long it takes where nothing else has the machine.
    let undisturbed = |_| {
        let begin = Instant::now();
        assert!(record(100).wait().unwrap().success());
        let took = begin.elapsed().as_micros() as usize;
        std::fs::write(desk.path(), &text).unwrap();
        took
    };
    let usual = (0..8).map(undisturbed).min().unwrap();
    let mut dice = Dice::new(seed());
    let (mut olds, mut news, mut inside, mut done) = (0, 0, 0, 0);
    let mut left = BTreeSet::new();
    for n in 1..=kills {
        let mut writer = record(n);
        // A new file that is not in place yet: it is in the write itself.
        let new = |name: &String| name.ends_with(".tmp") && !left.contains(name);
        let wait = if n % 2 == 0 {
            // The write takes a small part of the time: every other kill waits for it.
            while writer.try_wait().unwrap().is_none() && !desk.files().iter().any(new) {}
            dice.below(usual / 50)
        } else {
            dice.below(usual * 6 / 5)
        };
        std::thread::sleep(Duration::from_micros(wait as u64));
        writer.kill().unwrap();
        let said_done = writer.wait().unwrap().success();
        let here: Vec<String> = desk.files().into_iter().filter(new).collect();
        inside += here.len();
        left.extend(here);
        let job = load(&desk.path()).unwrap().job;
        if job == old {
            assert!(!said_done, "kill {n}: it said to be done, and nothing is there");
            assert_eq!(desk.bytes(), text.as_bytes(), "kill {n}");
            olds += 1;
        } else {
            let last = items(&job.readings).last().unwrap();
            assert_eq!(last.reads, Some(JobReads::One(JobAnswer::Number(n as f64))), "kill {n}");
            assert_eq!(items(&job.readings).len(), items(&old.readings).len() + 1);
            std::fs::write(desk.path(), &text).unwrap();
            news += 1;
        }
        done += usize::from(said_done);
    }
    eprintln!(
        "killed {kills} times in {usual} us: the old file {olds} times, the new one {news} times ({done} of them after its end); \
         {inside} times in the write itself; nothing lost"
    );
    assert!(olds > 0 && news > 0, "all kills were too early, or too late");
    // Whoever was killed is no hindrance to the next, who tidies up.
    assert_eq!(desk.run(&["record", "job.yaml", "--watch", "dark"]).code(), 0);
    assert_eq!(desk.files(), ["job.yaml"]);
}
