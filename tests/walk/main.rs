//! The guided call: to the same verdict as the same answers written by hand, whatever interrupts it; back to the start
//! exactly; at a terminal and without one.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a helper of tests may fail as a test does"
)]

mod desk;
mod examples;
mod hand;
mod killed;
#[allow(dead_code, reason = "of what plays whole calls only the answers are wanted here")]
#[path = "../plan/play.rs"]
mod play;
mod recorded;
mod service;
mod slips;
mod terminal;
mod whole;

use hand::{Hand, Listed, before, example, now, proving};
use lath::call::job::{AllOrEach, Found, Job, Power, items};
use lath::files::{self, packs};
use lath::practice::{Features, Scheme, Slips, Teller, draw};
use lath::verdict::SETTLED;
use lath::walk::{Engine, Stage, Walk};
use lath::wiring::Options;

/// More answers than these are no walk any more.
const MOST: usize = 400;

#[test]
fn a_new_call_is_walked_from_nothing() {
    let knowledge = packs::embedded().unwrap();
    let mut walk = Walk::resume(Job::default(), Engine::new(&knowledge, Options::default())).unwrap();
    let answers = [
        (Stage::Safety, "y"),
        (Stage::Title, "Stair light"),
        (Stage::Site, "9 Quarry Row, R. Adeyemi"),
        (Stage::Who, "M. Tarrow, Tarrow & Daughter Electric"),
        (Stage::Complaint, ""),
        (Stage::Changed, "Both switches last week"),
        (Stage::Worked, "y"),
        (Stage::Built, "about 1948"),
        (Stage::Instruments, "1 2 3"),
        (Stage::LowOhms, ""),
        (Stage::Circuit, "7"),
        (Stage::Reference, "water pipe"),
        (Stage::Proven, "120v"),
        (Stage::Light, "stair ceiling"),
        (Stage::Lamp, "i"),
        (Stage::Reach, "l"),
        (Stage::Switch, "hall"),
        (Stage::Kind, "t"),
        (Stage::Switch, "upper landing, 2"),
        (Stage::Kind, "t"),
        (Stage::Switch, ""),
        (Stage::Goal, "2"),
        (Stage::Customer, "l"),
        (Stage::Customer, "dark"),
        (Stage::Customer, "u"),
        (Stage::Customer, "d"),
    ];
    for (stage, answer) in answers {
        assert_eq!(walk.place().stage, stage);
        let turn = walk.answer(answer, &now());
        assert!(turn.changed, "{stage:?} {answer:?}: {:?}", turn.says);
        assert!(files::parse_str("new", &files::to_yaml(walk.job())).is_ok());
    }
    assert_eq!(walk.place().stage, Stage::Work);
    let job = walk.job();
    assert_eq!(items(&job.readings).len(), 3);
    assert_eq!(items(&job.boxes)[2].floor, Some(2));
    let head = job.call.clone().unwrap();
    let said = [head.site, head.customer, head.technician, head.firm].map(|said| said.unwrap().0);
    assert_eq!(said, ["9 Quarry Row", "R. Adeyemi", "M. Tarrow", "Tarrow & Daughter Electric"]);
    assert_eq!(head.goal.as_deref(), Some("neutral-at hall"));
    assert_eq!(job.house.clone().unwrap().built, Some(1948));
    for _ in 0..answers.len() {
        assert!(walk.answer("undo", &now()).changed);
    }
    assert_eq!(*walk.job(), Job::default());
    assert!(!walk.answer("undo", &now()).changed);
}

/// A house with two switches, drawn with no part of the engine, from the first question to a settled verdict.
#[test]
fn a_house_with_two_switches_takes_at_most_sixty_answers() {
    let knowledge = packs::embedded().unwrap();
    let (mut worst, mut keys, mut all) = (0, 0, 0);
    for seed in 0..4 {
        let mut building = draw(seed, &Features::bare(Scheme::Conventional));
        building.outlets.iter_mut().for_each(|outlet| outlet.opened = true);
        let truth = building.survey();
        let mut teller = Teller::new(&building, Slips::none());
        let mut hand = Hand::new(&truth, move |question| teller.ask(question).unwrap());
        let mut walk = Walk::resume(Job::default(), Engine::new(&knowledge, Options::default())).unwrap();
        let mut typed: Vec<String> = Vec::new();
        for answer in opening(&truth) {
            let turn = walk.answer(&answer, &now());
            assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.place().stage, turn.says);
            typed.push(answer);
        }
        while walk.place().stage != Stage::Landing && typed.len() < MOST {
            let answer = hand.answer(&walk);
            let (at80, at50) = (hand::lines(&walk.screen(), 80), hand::lines(&walk.screen(), 50));
            // A card fits the smallest screens, and what the last answer settled above it.
            assert!(at80 <= 22 && at50 <= 18, "{at80} and {at50} lines: {:?}", walk.screen());
            careful(&walk);
            let turn = walk.answer(&answer, &now());
            assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
            typed.push(answer);
        }
        let wires = &walk.advice().unwrap().verdict.wires;
        let settled = wires.iter().filter(|wire| wire.p >= SETTLED).count();
        let wrong = wires.iter().filter(|wire| building.truth().wires[&wire.wire].role != wire.role);
        let wrong: Vec<&str> =
            wrong.filter(|wire| wire.p >= SETTLED).map(|wire| wire.wire.as_str()).collect();
        let short = typed.iter().filter(|answer| answer.chars().count() <= 1).count();
        println!(
            "house {seed}: {} answers, {short} of one key or none, {} keys with Enter; {settled} of {} wire ends settled",
            typed.len(),
            typed.iter().map(|answer| answer.chars().count() + 1).sum::<usize>(),
            wires.len()
        );
        assert!(wrong.is_empty(), "{wrong:?}");
        worst = worst.max(typed.len());
        keys += short;
        all += typed.len();
    }
    assert!(worst <= 60, "{worst} answers");
    assert!(keys * 2 > all, "most answers are longer than a key");
}

/// A live card cautions, and says how the power comes back where it is off; a box is proved dead on a card of its own.
fn careful(walk: &Walk<Engine>) {
    let (screen, live) = (walk.screen(), walk.screen().title.ends_with("LIVE"));
    let says =
        |text: &str| screen.lines.iter().any(|line| line.text.contains(text) || line.lead.contains(text));
    assert!(!live || says("CAUTION"), "{screen:?}");
    if live && !items(&walk.place().proven).is_empty() {
        assert!(says("Everybody clear"), "{screen:?}");
    }
    let proof = |line: &lath::walk::Line| line.text.starts_with("Prove ");
    assert!(proving(&screen) || !screen.lines.iter().any(proof), "{screen:?}");
}

/// The head of the call and its boxes. The customer knows nothing, so that the light is watched.
fn opening(truth: &Job) -> Vec<String> {
    let mut answers: Vec<String> =
        ["y", "Hall light", "", "", "", "", "", "", "", "7", "water pipe", "120"].map(str::to_owned).to_vec();
    let light = |outlet: &&lath::call::job::JobBox| outlet.kind == lath::house::BoxKind::Light;
    let boxes = items(&truth.boxes);
    let lamp = boxes.iter().find(light).unwrap();
    answers.extend([lamp.name.clone(), "i".to_owned(), "t".to_owned()]);
    for outlet in boxes.iter().filter(|outlet| !light(outlet)) {
        answers.extend([outlet.name.clone(), "t".to_owned()]);
    }
    answers.extend(["", "", ""].map(str::to_owned));
    answers
}

#[test]
fn at_any_question_one_can_ask_skip_change_and_read_on_ones_own() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let mut walk =
        Walk::resume(Job { history: None, ..job.clone() }, Listed::of(&Job::default(), &knowledge)).unwrap();
    assert_eq!(walk.place().stage, Stage::Work);
    for word in ["help", "why", "state"] {
        let turn = walk.answer(word, &now());
        assert!(!turn.changed && !turn.says.is_empty(), "{word}");
    }
    // The first reading says lit; now it is dark, and then it is as it was again.
    for (answer, stage) in [("change", Stage::Change), ("1", Stage::Instead), ("dark", Stage::Work)] {
        assert!(walk.answer(answer, &now()).changed, "{answer}");
        assert_eq!(walk.place().stage, stage);
    }
    assert_eq!(hand::typed(items(&walk.job().readings)[0].reads.as_ref().unwrap()), "dark");
    (0..3).for_each(|_| assert!(walk.answer("undo", &now()).changed));
    assert_eq!(walk.job().readings, job.readings);
    // A reading of one's own, live, then one that is dead and needs the box proved first.
    let count = items(&job.readings).len();
    let own = [
        "own",
        "volts a.white to earth at pantry door",
        "on, lamp out, pantry door down, in pantry door/switch",
        "121v",
    ];
    for answer in own {
        let turn = walk.answer(answer, &now());
        assert!(turn.changed, "{answer}: {:?}", turn.says);
        if proving(&walk.screen()) {
            assert!(walk.answer("d", &now()).changed);
        }
    }
    let read = items(&walk.job().readings).last().unwrap();
    assert_eq!((items(&walk.job().readings).len(), read.at.as_deref()), (count + 1, Some("pantry door")));
    assert_eq!(hand::typed(read.reads.as_ref().unwrap()), "121");
    for answer in ["own", "ohms a.white to a.black at pantry door", "out pantry door/switch"] {
        assert!(walk.answer(answer, &now()).changed, "{answer}");
    }
    assert!(walk.screen().title.starts_with("Prove pantry door dead"), "{:?}", walk.screen());
    let proofs = items(&walk.job().proofs).len();
    walk.answer("d", &now());
    assert_eq!(items(&walk.job().proofs).len(), proofs + 1);
    assert!(walk.answer("OL", &now()).changed);
    // What was seen in a box is looked at again.
    assert!(walk.answer("change pantry light", &now()).changed);
    assert_eq!(walk.place().stage, Stage::Confirm);
    assert!(walk.answer("y", &now()).changed);
}

#[test]
fn a_reading_that_makes_no_sense_here_is_refused_before_it_is_taken() {
    let knowledge = packs::embedded().unwrap();
    let job = Job { history: None, ..example("single-pole-loop.yaml") };
    let mut walk = Walk::resume(job.clone(), Listed::of(&Job::default(), &knowledge)).unwrap();
    for (answer, said) in [
        ("own volts a.green to earth at pantry door", "no wire \"green\""),
        ("own volts a.white to earth at cellar", "cellar"),
        ("own volts a.white", "Two points"),
        ("own measure it", "volts, ohms, load, amps or watch"),
    ] {
        let turn = walk.answer(answer, &now());
        assert!(!turn.changed && turn.says.join(" ").contains(said), "{answer}: {:?}", turn.says);
    }
    assert!(walk.answer("own ohms a.white to a.black at pantry door", &now()).changed);
    let turn = walk.answer("on", &now());
    assert!(!turn.changed && turn.says[0].starts_with("Not taken: "), "{:?}", turn.says);
    assert_eq!(walk.job().readings, job.readings);
}

/// The same is read in several positions: without them the list would not say which is which.
#[test]
fn earlier_readings_are_listed_with_their_positions() {
    let knowledge = packs::embedded().unwrap();
    let job = Job { history: None, ..example("single-pole-loop.yaml") };
    let mut walk = Walk::resume(job, Listed::of(&Job::default(), &knowledge)).unwrap();
    assert!(walk.answer("change", &now()).changed);
    let screen = walk.screen();
    let listed = screen.lines.iter().filter(|line| line.text.contains(", pantry door down"));
    assert_eq!(listed.count(), 3, "{screen:?}");
    assert!(hand::lines(&screen, 50) <= 20 && hand::lines(&screen, 80) <= 22, "{screen:?}");
}

#[test]
fn the_head_of_a_call_is_answered_once_more_from_anywhere() {
    let knowledge = packs::embedded().unwrap();
    let job = Job { history: None, ..example("single-pole-loop.yaml") };
    let mut walk = Walk::resume(job.clone(), Listed::of(&Job::default(), &knowledge)).unwrap();
    let asked = walk.screen();
    for answer in ["change instruments", "1 2 3 4", "300k"] {
        assert!(walk.answer(answer, &now()).changed, "{answer}");
    }
    assert_eq!(walk.screen().ask, asked.ask);
    let owned: Vec<_> = walk.call().instruments.iter().map(|one| (one.kind, one.ohms)).collect();
    assert_eq!(owned.len(), 4);
    assert!(owned.iter().any(|(_, ohms)| *ohms == Some(300e3)), "{owned:?}");
    // Enter leaves it as it is, in the middle of a box as well.
    assert!(walk.answer("change pantry light", &now()).changed && walk.answer("d", &now()).changed);
    let place = walk.place().clone();
    for (answer, back) in
        [("change goal", ""), ("change", "year"), ("own", ""), ("change who", "A. Bell, Bell Electric")]
    {
        assert!(walk.answer(answer, &now()).changed && walk.answer(back, &now()).changed, "{answer}");
        if back == "year" {
            assert!(walk.answer("1949", &now()).changed);
        }
        assert_eq!(*walk.place(), place, "{answer}");
    }
    assert_eq!(walk.job().house.clone().unwrap().built, Some(1949));
    assert_eq!(walk.job().call.clone().unwrap().goal, job.call.clone().unwrap().goal);
}

/// A three-way alone is no circuit: the switch that was forgotten is added where that is noticed.
#[test]
fn a_switch_that_was_forgotten_is_added() {
    let knowledge = packs::embedded().unwrap();
    let mut walk = Walk::resume(Job::default(), Engine::new(&knowledge, Options::default())).unwrap();
    let begin =
        ["y", "Hall light", "", "", "", "", "", "1 3", "7", "", "ceiling", "i", "t", "hall", "t", "", "", ""];
    for answer in begin {
        assert!(walk.answer(answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    assert_eq!(walk.screen().title, "The readings contradict each other");
    for answer in ["change switch", "landing, 2", "t", ""] {
        assert!(walk.answer(answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    assert_eq!(walk.screen().title, "Watch the light");
}

/// A box is corrected while another one is being written down, which goes on where it was.
#[test]
fn another_box_is_corrected_in_the_middle_of_one() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let mut walk = Walk::resume(before(&job), Listed::of(&job, &knowledge)).unwrap();
    let mut hand = Hand::new(&job, |_: &lath::call::job::JobReading| unreachable!());
    let first = items(&job.boxes)[0].name.clone();
    let opened = |walk: &Walk<Listed<'_>>| {
        items(&walk.job().boxes).iter().filter(|one| one.opened == Some(true)).count()
    };
    while opened(&walk) == 0 || walk.place().stage != Stage::Screw {
        let answer = hand.answer(&walk);
        assert!(walk.answer(&answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    let place = walk.place().clone();
    for answer in [&format!("change {first}"), "o", "scorched", "y"] {
        assert!(walk.answer(answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    assert_eq!(*walk.place(), place);
    assert!(items(&items(&walk.job().boxes)[0].seen).iter().any(|seen| seen == "scorched"));
}

/// A bare conductor on the metal of the box, the last wire there is.
#[test]
fn a_grounding_conductor_goes_to_the_metal_of_its_box() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let mut walk = Walk::resume(before(&job), Listed::of(&job, &knowledge)).unwrap();
    for answer in ["d", "kitchen receptacle", "n", "2g", "s", "1", "2", "3 metal", "y"] {
        let turn = walk.answer(answer, &now());
        assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
    }
    let outlet = &items(&walk.job().boxes)[0];
    let metal =
        items(&outlet.joints).iter().find(|joint| joint.points.contains(&"metal".to_owned())).unwrap();
    assert!(metal.points.contains(&"a.bare".to_owned()), "{metal:?}");
}

/// What proved the reference says what the supply is, where it is another one than is taken for granted.
#[test]
fn the_supply_is_the_one_that_was_measured() {
    let knowledge = packs::embedded().unwrap();
    for (typed, supply) in [("118", 118.0), ("233v", 233.0)] {
        let mut walk = Walk::resume(Job::default(), Listed::of(&Job::default(), &knowledge)).unwrap();
        for answer in ["y", "Hall light", "", "", "", "", "", "1 3", "7", "water pipe", typed] {
            assert!(walk.answer(answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
        }
        assert_eq!((walk.place().stage, walk.call().house.supply), (Stage::Light, supply));
    }
}

#[test]
fn a_suggestion_is_put_off_or_not_asked_again() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let bare = Job { readings: None, history: None, ..job.clone() };
    let mut walk = Walk::resume(bare, Engine::new(&knowledge, Options::default())).unwrap();
    let asked = |walk: &Walk<Engine>| walk.advice().unwrap().next.suggestions[0].question();
    let first = asked(&walk);
    assert!(walk.answer("skip cannot", &now()).changed);
    assert!(!lath::call::edit::same_question(&first, &asked(&walk)));
    assert_eq!(items(&walk.job().skipped).len(), 1);
    assert!(walk.answer("undo", &now()).changed);
    assert_eq!(first, asked(&walk));
    // An answer that is none is refused, and nothing is written.
    let before = walk.job().clone();
    assert!(!walk.answer("blue", &now()).changed);
    assert_eq!(*walk.job(), before);
}

#[test]
fn a_box_that_is_live_is_not_opened_and_the_proof_becomes_a_reading() {
    let knowledge = packs::embedded().unwrap();
    let job = example("single-pole-loop.yaml");
    let listed = Listed::of(&job, &knowledge);
    let mut walk = Walk::resume(before(&job), listed).unwrap();
    assert_eq!(walk.screen().title, "Open pantry door, and prove it dead");
    walk.answer("l", &now());
    walk.answer("kitchen receptacle", &now());
    assert_eq!(walk.screen().title, "pantry door is live");
    assert!(!walk.answer("d", &now()).changed);
    assert!(walk.answer("9", &now()).changed);
    assert_eq!(walk.screen().title, "Open pantry door, and prove it dead");
    let feeds: Vec<String> = walk.call().house.feeds.iter().map(|feed| feed.name.clone()).collect();
    assert_eq!(feeds, ["6", "9"]);
    let shows = |_: &lath::call::job::JobReading| unreachable!();
    let mut hand = Hand::new(&job, shows);
    while !walk.screen().title.contains("was live with the supply off") {
        let answer = hand.answer(&walk);
        assert!(walk.answer(&answer, &now()).changed, "{answer:?} at {:?}", walk.screen());
    }
    let turn = walk.answer("a.white 121 volts", &now());
    assert!(turn.changed, "{:?}", turn.says);
    let read = items(&walk.job().readings).last().unwrap();
    let power = [("6", Power::Off), ("9", Power::On)].map(|(name, power)| (name.to_owned(), power));
    assert_eq!(read.breaker, Some(AllOrEach::Each(power.into())));
    let found: Vec<Found> = items(&walk.job().proofs).iter().map(|proof| proof.found).collect();
    assert_eq!(found[..2], [Found::Live, Found::Dead]);
}
