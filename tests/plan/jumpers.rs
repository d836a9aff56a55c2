//! Jumpers: where one is worth its trouble it is suggested, written down and taken off again at its price, and never is one on
//! with the power on.

use super::play::reparsed;
use lath::call::job::{Do, Job, JobAnswer, JobReading, JobReads, Pair, items};
use lath::call::{Call, Conditions};
use lath::files::{self, packs};
use lath::house::Point;
use lath::knowledge::Knowledge;
use lath::plan::{self, Done, Reads, Suggestion, Wish};
use lath::practice::{Features, Scheme, Slips, Teller, draw};
use lath::wiring::{Options, Space};

/// Minutes by hand from `knowledge/effort.yaml`: a jumper on or off.
const BRIDGE: f64 = 0.5;

/// To another box on the same floor.
const WALK: f64 = 0.5;

fn suggested(call: &Call, knowledge: &Knowledge, wish: Wish) -> plan::Next {
    let space = Space::of_call(call, knowledge, Options::default());
    plan::next(call, knowledge, &space, wish)
}

fn is_bridged(suggestion: &Suggestion) -> bool {
    items(&suggestion.jumpers).len() == 1
}

/// The jumpers that a call leaves on: those of its last reading.
fn left_on(call: &Call) -> Vec<(Point, Point)> {
    call.readings.last().map(|reading| reading.conditions.jumpers.clone()).unwrap_or_default()
}

/// Everything wrong with a suggestion as far as jumpers go; `asked` is what it asks for, checked.
fn wrong(before: &Call, suggestion: &Suggestion, asked: &Conditions) -> Vec<&'static str> {
    let on = asked.breakers.contains(&Some(true));
    let first = |word: &str| suggestion.first.iter().position(|step| step.starts_with(word));
    let power = first("Everybody clear");
    let mut wrong = Vec::new();
    let mut check = |bad: bool, what| wrong.extend(bad.then_some(what));
    check(!asked.jumpers.is_empty() && (on || suggestion.live), "a jumper under power");
    check(!asked.jumpers.is_empty() && suggestion.ask != "ohms", "a jumper for something else than ohms");
    check(!asked.jumpers.is_empty() && power.is_some(), "power before a jumper");
    let before = left_on(before);
    let stays = |pair: &(_, _)| asked.jumpers.contains(pair) || asked.jumpers.contains(&(pair.1, pair.0));
    let comes_off = before.iter().any(|pair| !stays(pair));
    check(comes_off && first("Take the jumper off").is_none(), "a jumper is forgotten");
    check(power.is_some() && first("Take the jumper off") > power, "a jumper is on when power returns");
    let caution = "A jumper is for dead ohms only";
    let said = suggestion.cautions.iter().any(|said| said.starts_with(caution));
    check(said == asked.jumpers.is_empty(), "the caution of a jumper");
    wrong
}

/// Nothing is to be switched on there.
const LOFT: &str = include_str!("loft.yaml");

fn dead() -> Wish<'static> {
    Wish { dead_only: true, ..Wish::default() }
}

/// By hand: nothing that is read in the loft alone tells which of its three cables comes from the pantry. A lead from there is run
/// through two floors and goes to one wire of a cable; with both wires of the pantry's cable bridged, a pair in the loft reads
/// closed, and that is the cable. So the jumper comes before any long lead; and once the pair was found, that cable is the
/// switch's: its wires go to the switch, none of them is line or neutral of the feed as it comes in. (What comes first is
/// what hangs on a cable that goes on to the rest of the house, which is read in the loft alone, and takes half as long.)
#[test]
fn a_jumper_tells_which_cable_it_is_without_a_long_lead() {
    let knowledge = packs::embedded().unwrap();
    let mut job: Job = files::parse_str("loft.yaml", LOFT).unwrap().job;
    let call = reparsed(&job);
    let next = suggested(&call, &knowledge, Wish { top: 12, ..dead() });
    let bridged = |one: &Suggestion| one.jumpers.as_ref().is_some_and(|jumpers| !jumpers.is_empty());
    let runs_lead = |one: &Suggestion| one.first.iter().any(|step| step.starts_with("Run a long lead"));
    let place = next.suggestions.iter().position(bridged).unwrap();
    assert!(!next.suggestions[..place].iter().any(runs_lead), "a long lead before a jumper");
    let first = &next.suggestions[place];
    let both = ["pantry/a.black".to_owned(), "pantry/a.white".to_owned()];
    assert_eq!(first.jumpers.as_deref(), Some(&[both.clone()][..]), "{first:#?}");
    assert_eq!((first.ask.as_str(), first.at.as_deref(), first.live), ("ohms", Some("loft"), false));
    assert!(first.first.contains(&"Bridge pantry/a.black and pantry/a.white with a jumper.".to_owned()));
    assert!(!runs_lead(first));
    assert!(next.still_on.is_empty());
    // What is suggested is a reading that is read back as it was written, with each of its answers.
    for outcome in &first.outcomes {
        let word = |word: &String| JobAnswer::Word(word.clone());
        let reads = match &outcome.reads {
            Reads::One(one) => JobReads::One(word(one)),
            Reads::List(all) => JobReads::List(all.iter().map(word).collect()),
        };
        let mut with = job.clone();
        with.readings = Some(vec![JobReading { reads: Some(reads), ..first.question() }]);
        assert_eq!(left_on(&reparsed(&with)).len(), 1);
    }
    // The pair of cable b is the one that reads closed.
    let closed = JobReading {
        between: Some(Pair("loft/b.black".into(), "loft/b.white".into())),
        points: None,
        to: None,
        reads: Some(JobReads::One(JobAnswer::Number(0.4))),
        ..first.question()
    };
    job.readings = Some(vec![closed]);
    let call = reparsed(&job);
    let space = Space::of_call(&call, &knowledge, Options::default());
    let verdict = lath::verdict::within(&call, &knowledge, &space);
    let goes = verdict.cables.iter().find(|cable| cable.ends.contains(&"loft/b".to_owned()));
    assert!(goes.is_some_and(|cable| cable.ends.contains(&"pantry/a".to_owned())), "{:#?}", verdict.cables);
    assert_eq!(plan::next(&call, &knowledge, &space, dead()).still_on, [both]);
}

/// What was put on is taken off before anything else is read, and that is paid for: by hand, from the loft down two floors to the
/// pantry, proved dead before, the jumper off, and to where the next reading is taken.
#[test]
fn taking_a_jumper_off_is_paid_for() {
    let knowledge = packs::embedded().unwrap();
    let text = LOFT.replace("floor: 2, reach: steps", "floor: 0, reach: stand");
    let mut job: Job = files::parse_str("loft.yaml", &text).unwrap().job;
    let ohms = |jumpers: &[Pair]| JobReading {
        at: Some("loft".to_owned()),
        between: Some(Pair("a.black".into(), "a.white".into())),
        with: Some(lath::call::InstrumentKind::HighImpedance.into()),
        breaker: Some(lath::call::job::AllOrEach::All(lath::call::job::Power::Off)),
        switches: Some([("pantry".to_owned(), "up".to_owned())].into()),
        lamp: Some(lath::call::job::AllOrEach::All(lath::call::LampState::Out)),
        out: Some(Vec::new()),
        lifted: Some(Vec::new()),
        jumpers: Some(jumpers.to_vec()),
        reads: Some(JobReads::One(JobAnswer::Word("open".to_owned()))),
        ..JobReading::new(Do::Ohms)
    };
    let bridged = [Pair("pantry/a.black".into(), "pantry/a.white".into())];
    let next = JobReading { between: Some(Pair("b.black".into(), "b.white".into())), ..ohms(&[]) };
    let mut minutes = |before: JobReading| {
        job.readings = Some(vec![before.clone()]);
        let call = reparsed(&job);
        job.readings = Some(vec![before, next.clone()]);
        let reading = reparsed(&job).readings.pop().unwrap();
        let space = Space::of_call(&call, &knowledge, Options::default());
        plan::minutes(&call, &knowledge, &space, Done::Read(&reading)).unwrap()
    };
    let (with, without) = (minutes(ohms(&bridged)), minutes(ohms(&[])));
    assert!((with - without - (WALK + BRIDGE + WALK)).abs() < 1e-9, "{with} {without}");
}

/// Whatever happens, no jumper is on with the power on: in houses taken apart, gone through with a jumper wherever one is offered.
#[test]
fn no_jumper_is_on_with_the_power_on() {
    let knowledge = packs::embedded().unwrap();
    let of = |scheme| Features { apart: [1.0; 2], colourless: 0.5, ..Features::bare(scheme) };
    let features = [of(Scheme::SinglePole), of(Scheme::Conventional)];
    let (mut bridged, mut taken_off, mut seen) = (0, 0, 0);
    for seed in 0..8 {
        let building = draw(seed, &features[seed as usize % 2]);
        let mut job = building.survey();
        job.readings = None;
        let mut teller = Teller::new(&building, Slips::none());
        for step in 0..6 {
            let call = reparsed(&job);
            // Dead at first, so that power comes back later.
            let wish = Wish { top: 12, dead_only: step < 3, ..Wish::default() };
            let next = suggested(&call, &knowledge, wish);
            let on = left_on(&call);
            assert_eq!(next.still_on.len(), on.len());
            let readings = || next.suggestions.iter().filter(|suggestion| suggestion.ask != "open");
            for suggestion in readings() {
                let mut with = job.clone();
                let blank = teller.take(&suggestion.question());
                let Ok(blank) = blank else { continue };
                with.readings.get_or_insert_default().push(blank);
                let asked = reparsed(&with).readings.pop().unwrap();
                assert_eq!(wrong(&call, suggestion, &asked.conditions), [""; 0], "{seed}: {suggestion:#?}");
                seen += 1;
            }
            let choice = readings().find(|suggestion| step % 2 == 0 && is_bridged(suggestion));
            let Some(choice) = choice.or_else(|| readings().find(|suggestion| !is_bridged(suggestion)))
            else {
                break;
            };
            bridged += usize::from(is_bridged(choice));
            taken_off += usize::from(!on.is_empty() && !is_bridged(choice));
            let Ok(read) = teller.take(&choice.question()) else { break };
            job.readings.get_or_insert_default().push(read);
        }
    }
    println!("{seen} suggestions, {bridged} jumpers put on, {taken_off} taken off");
    assert!(seen > 50 && bridged > 2 && taken_off > 0, "{seen} {bridged} {taken_off}");
}
