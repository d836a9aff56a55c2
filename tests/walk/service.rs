//! The end of a call: what was left is done after all, power that was on ends every proof, and what is wrong after the work
//! leads back to the wires.

use super::hand::Listed;
use super::hand::{example, now, proving};
use lath::call::Call;
use lath::call::job::{Job, items};
use lath::files::packs;
use lath::plan::Here;
use lath::verdict::Landing;
use lath::walk::{Advice, Adviser, Stage, Walk};

/// A walk of the taken-apart example, all of it read, at the first step of its landing plan.
fn landing(check: impl FnOnce(Walk<super::hand::Listed<'_>>)) {
    let knowledge = packs::embedded().unwrap();
    let job = Job { history: None, ..example("taken-apart.yaml") };
    let mut walk = Walk::resume(job.clone(), Listed::of(&job, &knowledge)).unwrap();
    assert_eq!(walk.screen().title, "Settled");
    say(&mut walk, "y");
    assert!(walk.screen().title.starts_with("Before anything is put back: prove back hall dead"));
    say(&mut walk, "d");
    check(walk);
}

fn say<A: Adviser>(walk: &mut Walk<A>, answer: &str) -> String {
    let screen = walk.screen();
    super::hand::fits(walk);
    let turn = walk.answer(answer, &now());
    assert!(turn.changed, "{answer:?} at {screen:?}: {:?}", turn.says);
    turn.says.join(" ")
}

/// Steps with done, and proofs on the way, up to a question.
fn through(walk: &mut Walk<super::hand::Listed<'_>>, to: Stage) {
    for _ in 0..20 {
        if walk.place().stage == to && !proving(&walk.screen()) {
            return;
        }
        let answer = match walk.place().stage {
            _ if proving(&walk.screen()) => "d",
            Stage::ToNeutral | Stage::ToMetal => "OL",
            _ => "y",
        };
        say(walk, answer);
    }
    panic!("{to:?} was not reached: {:?}", walk.screen());
}

fn done(walk: &Walk<super::hand::Listed<'_>>) -> Vec<String> {
    items(&walk.job().done).iter().map(|said| said.0.clone()).collect()
}

#[test]
fn a_step_that_was_left_keeps_the_supply_off_until_it_is_done() {
    landing(|mut walk| {
        say(&mut walk, "y");
        // A look at something else in between: on with the same step, and the proof is gone with the power.
        let step = walk.screen();
        for answer in ["own watch", "", "d"] {
            say(&mut walk, answer);
        }
        assert_eq!(items(&walk.job().readings).len(), items(&example("taken-apart.yaml").readings).len() + 1);
        assert!(proving(&walk.screen()));
        say(&mut walk, "d");
        assert_eq!(walk.screen(), step);
        for answer in ["n", "skip", "y"] {
            say(&mut walk, answer);
        }
        let left =
            |walk: &Walk<_>| walk.screen().lines.iter().any(|line| line.text == "Not done: step 2, 3.");
        assert!(left(&walk), "{:?}", walk.screen());
        // So it is for good where somebody says so.
        say(&mut walk, "y");
        assert_eq!(walk.place().stage, Stage::Note);
        say(&mut walk, "undo");
        say(&mut walk, "a");
        assert_eq!(walk.screen().title, "Put back: back hall, step 2 of 4");
        say(&mut walk, "y");
        assert_eq!(walk.screen().title, "Put back: back hall, step 3 of 4");
        say(&mut walk, "y");
        assert_eq!(walk.screen().ask, "Go on to the checks before power?");
        say(&mut walk, "y");
        assert_eq!(walk.place().stage, Stage::ToNeutral);
        assert!(done(&walk).iter().any(|said| said.starts_with("Not done, back hall: ")));
    });
}

#[test]
fn what_is_wrong_after_the_work_leads_back_to_the_wires_and_no_proof_outlives_power() {
    landing(|mut walk| {
        let again = |walk: &Walk<super::hand::Listed<'_>>| {
            assert!(walk.place().proven.is_none(), "a proof outlived power");
            let title = walk.screen().title;
            assert_eq!(title, "Before anything is put back: prove back hall dead, again");
        };
        // A short is no way on.
        through(&mut walk, Stage::ToNeutral);
        assert!(say(&mut walk, "0.4").contains("short"));
        assert_eq!(walk.place().stage, Stage::ToNeutral);
        // It trips.
        through(&mut walk, Stage::Position);
        say(&mut walk, "t");
        again(&walk);
        // One of the switches does nothing.
        through(&mut walk, Stage::Position);
        for answer in ["l", "l", "d", "d"] {
            say(&mut walk, answer);
            assert!(walk.place().proven.is_none(), "a proof outlived power");
        }
        let screen = walk.screen();
        assert!(
            screen.lines.iter().any(|line| line.text == "attic door up, back hall down: lit"),
            "{screen:?}"
        );
        say(&mut walk, "a");
        again(&walk);
        // It works, and the shell is live with the light off.
        through(&mut walk, Stage::Position);
        for answer in ["d", "l", "d", "l"] {
            say(&mut walk, answer);
        }
        assert_eq!(walk.place().stage, Stage::Shell);
        let off = walk.screen().lines.iter().any(|line| line.text == "attic door up, back hall up");
        assert!(off, "the position in which the light was dark is not said: {:?}", walk.screen());
        say(&mut walk, "119");
        again(&walk);
        through(&mut walk, Stage::Position);
        for answer in ["d", "l", "d", "l", "0"] {
            say(&mut walk, answer);
        }
        assert_eq!(walk.place().stage, Stage::Note);
        let said = done(&walk);
        let count = |text: &str| said.iter().filter(|said| said.contains(text)).count();
        assert_eq!((count("every wire looked at again"), count("the breaker trips")), (3, 1), "{said:?}");
        assert_eq!(count("After the work, attic door up, back hall up:"), 3, "{said:?}");
        assert_eq!(count("line to metal: open"), 4, "{said:?}");
        // And back to the start of the plan, one answer at a time.
        let mut steps = 0;
        while walk.place().stage != Stage::Work {
            say(&mut walk, "undo");
            steps += 1;
        }
        assert!(steps > 40, "{steps}");
        assert_eq!(walk.job().done, example("taken-apart.yaml").done);
    });
}

/// A card that has the power on ends every proof, whatever is said instead of the reading.
#[test]
fn no_proof_outlives_a_live_card() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    for instead in ["skip", "skip cannot", "own", "change", "l"] {
        let mut walk = Walk::resume(super::before(&job), Listed::of(&job, &knowledge)).unwrap();
        let mut hand = super::hand::Hand::new(&job, |_: &lath::call::job::JobReading| unreachable!());
        while walk.screen().title != "Watch the light" {
            let answer = hand.answer(&walk);
            say(&mut walk, &answer);
        }
        assert_eq!(items(&walk.place().proven).len(), 2);
        assert!(walk.screen().lines.iter().any(|line| line.text.starts_with("Everybody clear")));
        say(&mut walk, instead);
        assert!(items(&walk.place().proven).is_empty(), "a proof outlived {instead:?} at a live card");
        say(&mut walk, "undo");
        assert!(items(&walk.place().proven).is_empty(), "a proof came back");
    }
}

/// A hall switch with two lights in parallel on it, and a receptacle that it does not control. By hand: both lights change with
/// the switch, both halves are live at all times (common practice, no source).
const SEVERAL: &str = r#"
lath: 1
call: {title: Two lights, goal: identify}
house: {supply: 120, grounds: none, feeds: [{name: "7", kind: breaker}], reference: {what: pipe, proven: 120}}
instruments: [high-impedance, two-pole]
boxes:
  - {name: hall, kind: switch, opened: true, complete: true, devices: [{name: switch, kind: single-pole}],
     cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}],
     joints: [[a.black, switch.s1], [b.black, switch.s2], [a.white, b.white]]}
  - {name: porch, kind: light, opened: true, complete: true, devices: [{name: light, kind: light, lamp: incandescent}],
     cables: [{tag: a, wires: [black, white]}, {tag: b, wires: [black, white]}],
     joints: [[a.black, b.black, light.center], [a.white, b.white, light.shell]]}
  - {name: carport, kind: light, opened: true, complete: true, devices: [{name: light, kind: light, lamp: incandescent}],
     cables: [{tag: a, wires: [black, white]}], joints: [[a.black, light.center], [a.white, light.shell]]}
  - {name: bench, kind: receptacle, opened: true, complete: true, devices: [{name: receptacle, kind: receptacle}],
     cables: [{tag: a, wires: [black, white]}], joints: [[a.black, receptacle.h1], [a.white, receptacle.n1]]}
safety: {accepted: 2026-05-01}
proofs: [{at: hall, time: "14:00", with: two-pole, on: kitchen receptacle, found: dead}]
"#;

#[test]
fn each_light_and_receptacle_is_tried_in_each_position() {
    let knowledge = packs::embedded().unwrap();
    let job = lath::files::parse_str("several", SEVERAL).unwrap().job;
    let mut walk = Walk::resume(job.clone(), Listed::of(&job, &knowledge)).unwrap();
    through(&mut walk, Stage::Position);
    let asked = |walk: &Walk<_>| walk.screen().ask;
    let mut asks = Vec::new();
    for answer in ["l", "l", "b", "d", "l"] {
        asks.push(asked(&walk));
        say(&mut walk, answer);
    }
    assert_eq!(asks[0], "With hall up: how is the light at porch?");
    assert_eq!(asks[2], "With hall up: which halves of the receptacle at bench are live?");
    assert_eq!(asks[4], "With hall down: how is the light at carport?");
    // The carport stayed on: something is wrong, and it is said which.
    say(&mut walk, "b");
    let screen = walk.screen();
    assert!(
        screen.lines.iter().any(|line| line.text == "hall down: dark, lit, both halves live"),
        "{screen:?}"
    );
    (0..2).for_each(|_| drop(say(&mut walk, "undo")));
    for answer in ["d", "b"] {
        say(&mut walk, answer);
    }
    assert_eq!(walk.place().stage, Stage::Shell);
    // The shell of each light, in a position in which it was dark.
    for name in ["porch", "carport"] {
        let screen = walk.screen();
        assert_eq!(
            screen.ask,
            format!("Volts from the screw shell at {name} to earth, with the light switched off?")
        );
        assert!(screen.lines.iter().any(|line| line.text == "hall down"), "{screen:?}");
        say(&mut walk, "0");
    }
    assert_eq!(walk.place().stage, Stage::Note);
    let said = done(&walk);
    for line in [
        "After the work, hall down: carport dark.",
        "Screw shell of carport to earth with the light off: 0 V.",
    ] {
        assert!(said.iter().any(|said| said == line), "{said:?}");
    }
    let tried = |said: &&String| said.starts_with("After the work");
    assert_eq!(said.iter().filter(tried).count(), 6, "{said:?}");
}

/// Whoever advises takes the first step out of the plan once something more was read.
struct Replanned<'a>(Listed<'a>);

impl Adviser for Replanned<'_> {
    fn advise(&mut self, call: &Call, here: Option<Here>) -> Advice {
        let mut advice = self.0.advise(call, here);
        if call.readings.len() > self.0.readings.len()
            && let Some(Landing::Joints { joints, .. }) = advice.verdict.landing.first_mut()
        {
            joints.remove(0);
        }
        advice
    }
}

/// A reading in between may change the plan: the step at hand is then still one that was not done, by its number in the new
/// plan, and what is said at it is about it.
#[test]
fn a_reading_in_between_does_not_move_the_step_at_hand() {
    let knowledge = packs::embedded().unwrap();
    let job = Job { history: None, ..example("taken-apart.yaml") };
    let mut walk = Walk::resume(job.clone(), Replanned(Listed::of(&job, &knowledge))).unwrap();
    for answer in ["y", "d", "y"] {
        say(&mut walk, answer);
    }
    assert_eq!(walk.screen().title, "Put back: back hall, step 2 of 4");
    let step = walk.screen().lines;
    assert!(walk.answer("state", &now()).says.join(" ").contains("1 of 4 steps of putting back done."));
    for answer in ["own watch", "", "d", "d"] {
        say(&mut walk, answer);
    }
    // What was on the common is capped now, as the last step; the rest moved up.
    assert_eq!(walk.screen().title, "Put back: back hall, step 1 of 4");
    assert_eq!(walk.screen().lines, step);
    assert!(walk.answer("state", &now()).says.join(" ").contains("0 of 4 steps of putting back done."));
    assert!(walk.answer("why", &now()).says[0].starts_with("Landed so"));
    assert!(!walk.answer("help", &now()).changed);
    for answer in ["y", "n"] {
        say(&mut walk, answer);
    }
    assert_eq!(walk.screen().title, "Put back: back hall, step 3 of 4");
    say(&mut walk, "y");
    assert!(
        walk.answer("state", &now()).says.join(" ").contains("2 of 4 steps of putting back done; left: 2.")
    );
}
