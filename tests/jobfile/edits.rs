//! Edits and their inverses, and the text of a job after them.

use crate::bench::STAIR;
use crate::round_trip::{head, job, outlet, prose, reading, reread};
use lath::call::edit::{Edit, Stuck, same_question, undo};
use lath::call::job::{Do, Job, JobBox, JobReading, Pair, items};
use lath::files::{parse_str, patched, to_yaml};
use lath::house::BoxKind;
use proptest::collection::vec;
use proptest::prelude::*;

/// Something that can be done to any job.
#[derive(Clone, Debug)]
enum Step {
    Reading(Box<JobReading>),
    Another(usize, Box<JobReading>),
    Without(usize),
    Skip(Box<JobReading>),
    Outlet(Box<JobBox>),
    Reopened(usize, Box<JobBox>),
    Head(Option<Box<lath::call::job::JobCall>>),
    Done(lath::call::job::Prose),
}

fn step() -> BoxedStrategy<Step> {
    prop_oneof![
        reading().prop_map(|reading| Step::Reading(Box::new(reading))).boxed(),
        (any::<usize>(), reading()).prop_map(|(at, reading)| Step::Another(at, Box::new(reading))).boxed(),
        any::<usize>().prop_map(Step::Without).boxed(),
        reading().prop_map(|reading| Step::Skip(Box::new(reading))).boxed(),
        outlet().prop_map(|outlet| Step::Outlet(Box::new(outlet))).boxed(),
        (any::<usize>(), outlet()).prop_map(|(at, outlet)| Step::Reopened(at, Box::new(outlet))).boxed(),
        proptest::option::of(head()).prop_map(|head| Step::Head(head.map(Box::new))).boxed(),
        prose().prop_map(Step::Done).boxed(),
    ]
    .boxed()
}

fn edit(step: &Step, job: &Job) -> Edit {
    let readings = items(&job.readings).len();
    let boxes = items(&job.boxes);
    match step {
        Step::Another(at, reading) if readings > 0 => Edit::another_reading(at % readings, reading),
        Step::Without(at) if readings > 0 => Edit::without_reading(at % readings),
        Step::Reading(reading) | Step::Another(_, reading) => Edit::reading(job, reading),
        Step::Without(_) => Edit::default(),
        Step::Skip(reading) => Edit::skip(job, reading),
        Step::Reopened(at, outlet) if !boxes.is_empty() => {
            let name = boxes[at % boxes.len()].name.clone();
            Edit::outlet(job, &JobBox { name, ..(**outlet).clone() })
        }
        Step::Outlet(outlet) | Step::Reopened(_, outlet) => Edit::outlet(job, outlet),
        Step::Head(head) => Edit::field("call", head.as_deref()),
        Step::Done(words) => Edit::done(job, words),
    }
}

/// A text with a comment before every line that begins a field or an item, and behind the last.
fn commented(text: &str) -> String {
    let mut out = String::new();
    for (n, line) in text.lines().enumerate() {
        if !line.starts_with("   ") {
            out.push_str(&format!("# remark {n}\n"));
        }
        out.push_str(line);
        out.push('\n');
    }
    out + "# the end\n"
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any number of edits, taken back one by one, each time through the file.
    #[test]
    fn undo_is_exact_and_survives_the_file(job in job().boxed(), steps in vec(step(), 1..6)) {
        let mut before = vec![reread(&to_yaml(&job))];
        for step in &steps {
            let last = before.last().unwrap();
            let after = edit(step, last).apply(last).unwrap();
            before.push(reread(&to_yaml(&after)));
        }
        let mut now = before.pop().unwrap();
        while let Some(earlier) = before.pop() {
            now = reread(&to_yaml(&undo(&now).unwrap().job));
            prop_assert_eq!(&now, &earlier);
        }
    }

    /// Whatever the text looks like, after an edit it says what the job says.
    #[test]
    fn an_edited_text_says_the_edited_job(old in job().boxed(), step in step(), new in job().boxed(), remarks in any::<bool>()) {
        let text = to_yaml(&old);
        let text = if remarks { commented(&text) } else { text };
        let old = reread(&text);
        let after = edit(&step, &old).apply(&old).unwrap();
        for new in [after, new] {
            prop_assert_eq!(reread(&patched(&text, &old, &new)), new);
        }
    }
}

#[test]
fn comments_stay_where_they_are_and_undo_gives_back_the_very_bytes() {
    let mut reading = JobReading::new(Do::Watch);
    reading.reads = Some(lath::call::job::JobReads::One(lath::call::job::JobAnswer::Word("lit".to_owned())));
    let shed = JobBox::new("shed", BoxKind::Switch);
    for text in [commented(STAIR), STAIR.to_owned(), STAIR.replace('\n', "\r\n")] {
        let job = reread(&text);
        for edit in [
            Edit::reading(&job, &reading),
            Edit::without_reading(items(&job.readings).len() - 1),
            Edit::outlet(&job, &shed),
            Edit::together([Edit::reading(&job, &reading), Edit::outlet(&job, &shed)]),
        ] {
            let after = edit.apply(&job).unwrap();
            let changed = patched(&text, &job, &after);
            assert_eq!(reread(&changed), after);
            for line in text.lines().filter(|line| line.starts_with('#')) {
                let kept = changed.lines().any(|other| other == line);
                // A remark behind the reading that was taken out went with it.
                assert!(kept || edit == Edit::without_reading(items(&job.readings).len() - 1), "{line}");
            }
            let back = undo(&after).unwrap().job;
            assert_eq!(back, job);
            if edit != Edit::without_reading(items(&job.readings).len() - 1) {
                // How far a remark stands from what it is behind may change with that.
                let close = |text: &str| {
                    let lines = text.split_inclusive('\n');
                    let each = lines.map(|line| match line.split_once(" #") {
                        Some((said, remark)) => format!("{} #{remark}", said.trim_end()),
                        None => line.to_owned(),
                    });
                    each.collect::<String>()
                };
                assert_eq!(close(&patched(&changed, &after, &back)), close(&text), "{edit:?}");
            }
        }
    }
}

#[test]
fn a_flow_style_job_is_written_anew_and_loses_nothing_else() {
    let text = "{lath: 1, boxes: [{name: hall, kind: switch}], readings: []}\n";
    let job = reread(text);
    let after = Edit::outlet(&job, &JobBox::new("shed", BoxKind::Light)).apply(&job).unwrap();
    assert_eq!(reread(&patched(text, &job, &after)), after);
}

#[test]
fn an_undo_takes_nothing_that_was_changed_by_hand() {
    let job = parse_str("stair", STAIR).unwrap().job;
    let mut reading = JobReading::new(Do::Volts);
    reading.between = Some(Pair("hall/a.black".to_owned(), "earth".to_owned()));
    let after = Edit::reading(&job, &reading).apply(&job).unwrap();
    // The reading was corrected by hand, or another one was put before it.
    let mut corrected = after.clone();
    corrected.readings.as_mut().unwrap().last_mut().unwrap().at = Some("hall".to_owned());
    let mut more = after.clone();
    more.readings.as_mut().unwrap().insert(0, JobReading::new(Do::Watch));
    for changed in [corrected, more] {
        assert_eq!(undo(&changed), Err(Stuck::Changed));
    }
    assert_eq!(undo(&after).unwrap().job, job);
    assert_eq!(undo(&Job { history: None, ..job }), Err(Stuck::Nothing));
    // What stands in the history may be anything.
    let odd = Job { history: Some(vec![lath::call::job::Node::text("yesterday")]), ..after };
    assert_eq!(undo(&odd), Err(Stuck::Changed));
}

#[test]
fn a_skipped_question_is_skipped_once_and_ends_when_it_is_answered() {
    let job = Job { skipped: None, readings: None, ..reread(STAIR) };
    let mut question = JobReading::new(Do::Volts);
    question.at = Some("hall".to_owned());
    question.between = Some(Pair("a.black".to_owned(), "earth".to_owned()));
    let full = JobReading {
        between: Some(Pair("hall/a.black".to_owned(), "earth".to_owned())),
        out: Some(Vec::new()),
        ..question.clone()
    };
    assert!(same_question(&question, &full));
    let once = Edit::skip(&job, &question).apply(&job).unwrap();
    let twice = Edit::skip(&once, &full).apply(&once).unwrap();
    assert_eq!(items(&twice.skipped).len(), 1);
    let answered = Edit::reading(&twice, &full).apply(&twice).unwrap();
    assert_eq!((items(&answered.skipped).len(), items(&answered.readings).len()), (0, 1));
    assert_eq!(undo(&answered).unwrap().job, twice);
}
