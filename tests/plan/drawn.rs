//! Calls in houses that `lath::practice` draws: no part of the planner has been there, and boxes can be opened.
//!
//! `LATH_HOUSES=300` plays so many of each kind and prints the table; `LATH_SEED=7` plays that one only; `LATH_TALK=1`
//! shows each step.

use crate::play::{MOST_STEPS, reparsed};
use lath::call::job::{Job, items};
use lath::files::packs;
use lath::knowledge::Knowledge;
use lath::plan::{self, Next, Suggestion, Wish};
use lath::practice::{Building, Features, Scheme, Slips, Teller, draw};
use lath::show::verdict::text as page_of;
use lath::show::{Palette, Style};
use lath::verdict::{self, SETTLED, State, Verdict};
use lath::wiring::{Options, Space};

/// A call in a drawn house, played to its end.
pub struct Call {
    pub building: Building,
    pub suggestions: Vec<Suggestion>,
    pub last: Next,
    pub verdict: Verdict,
    pub capped: bool,
}

/// Plays a call.
pub fn play(mut building: Building, knowledge: &Knowledge, wish: Wish, slips: Slips) -> Call {
    let talk = std::env::var("LATH_TALK").is_ok();
    let mut job = building.survey();
    // Whatever is opened later is answered for from the start.
    let mut told = building.clone();
    told.outlets.iter_mut().for_each(|outlet| outlet.opened = true);
    let mut teller = Teller::new(&told, slips);
    let mut suggestions: Vec<Suggestion> = Vec::new();
    loop {
        let call = reparsed(&job);
        let space = Space::of_call(&call, knowledge, Options::default());
        let next = plan::next(&call, knowledge, &space, wish);
        let capped = suggestions.len() >= MOST_STEPS;
        let Some(suggestion) = next.suggestions.first().filter(|_| !capped).cloned() else {
            let verdict = verdict::within(&call, knowledge, &space);
            return Call { building, suggestions, last: next, verdict, capped };
        };
        if suggestion.ask == "open" {
            open(&mut job, &mut building, suggestion.at.as_deref().unwrap());
        } else {
            let read = teller.take(&suggestion.question());
            let read = read.unwrap_or_else(|error| panic!("{error}: {suggestion:?}"));
            job.readings.get_or_insert_default().push(read);
        }
        if talk {
            println!("{}", line(suggestions.len() + 1, &suggestion, &job));
        }
        suggestions.push(suggestion);
    }
}

fn open(job: &mut Job, building: &mut Building, name: &str) {
    let outlet = building.outlet_called(name).unwrap();
    building.outlets[outlet].opened = true;
    let seen = building.survey_of(outlet);
    let boxes = job.boxes.as_mut().unwrap();
    *boxes.iter_mut().find(|seen| seen.name == name).unwrap() = seen;
}

fn line(step: usize, s: &Suggestion, job: &Job) -> String {
    let read = items(&job.readings).last().filter(|_| s.ask != "open").and_then(|read| read.reads.clone());
    format!(
        "  {step:2} {} {:.3} bits {:.1} min {:?} {:?} {:?}->{:?} {:?} {:?} {:?} lamp {:?} out {:?} lifted {:?}\n     -> {read:?}; {}",
        s.ask,
        s.bits,
        s.minutes,
        s.at,
        s.between,
        s.points,
        s.to,
        s.with,
        s.breaker,
        s.switches,
        s.lamp,
        s.out,
        s.lifted,
        s.because
    )
}

/// What came out, of one kind of house.
#[derive(Default, Debug)]
pub struct Tally {
    pub houses: usize,
    pub settled: usize,
    pub exhausted: usize,
    pub contradictions: usize,
    pub capped: usize,
    pub wires: usize,
    pub stated: usize,
    pub wrong: Vec<String>,
    pub steps: usize,
    pub minutes: f64,
}

impl Tally {
    fn add(&mut self, seed: u64, call: &Call) {
        let truth = call.building.truth();
        self.houses += 1;
        self.capped += usize::from(call.capped);
        match call.last.state {
            State::Settled => self.settled += 1,
            State::Exhausted => self.exhausted += 1,
            State::Contradiction => self.contradictions += 1,
            State::Open => {}
        }
        self.steps += call.suggestions.len();
        self.minutes += call.suggestions.iter().map(|suggestion| suggestion.minutes).sum::<f64>();
        for found in &call.verdict.wires {
            self.wires += 1;
            if found.p >= SETTLED {
                self.stated += 1;
                let role = truth.wires[&found.wire].role;
                if role != found.role {
                    self.wrong.push(format!("{seed} {}: {:?}, not {role:?}", found.wire, found.role));
                }
            }
        }
    }

    fn print(&self, name: &str) {
        let each = |sum: f64| sum / self.houses.max(1) as f64;
        println!(
            "{name}: {} houses, {} settled, {} exhausted, {} contradictions, {} capped; {:.1} steps, {:.1} min; \
             {}/{} wires settled, {} wrong",
            self.houses,
            self.settled,
            self.exhausted,
            self.contradictions,
            self.capped,
            each(self.steps as f64),
            each(self.minutes),
            self.stated,
            self.wires,
            self.wrong.len()
        );
        self.wrong.iter().take(20).for_each(|wrong| println!("   {wrong}"));
    }
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Plays houses of one kind.
pub fn tally(name: &str, features: &Features, usual: u64, slips: impl Fn(u64) -> Slips) -> Tally {
    let knowledge = packs::embedded().unwrap();
    let mut tally = Tally::default();
    let seeds = number("LATH_SEED").map_or(0..number("LATH_HOUSES").unwrap_or(usual), |seed| seed..seed + 1);
    for seed in seeds {
        let building = draw(seed, features);
        let call = play(building, &knowledge, Wish::default(), slips(seed));
        if std::env::var("LATH_TALK").is_ok() || number("LATH_HOUSES").is_some() {
            let bits = &call.last.candidates;
            println!("{name} {seed}: {:?} after {} steps, {bits:?}", call.last.state, call.suggestions.len());
        }
        tally.add(seed, &call);
    }
    tally.print(name);
    tally
}

/// Boxes as found, one or two switches, every box opened or to be opened.
#[test]
fn drawn_houses_are_played_to_the_end() {
    let plain = Features { apart: [0.0; 2], four_way: 0.0, ..Features::default() };
    let all = tally("as found", &plain, 4, |_| Slips::none());
    assert_eq!(all.capped, 0);
    assert!(all.wrong.len() * 1000 <= all.stated, "{:?}", all.wrong);
}

/// The kind that comes first, and often: two three-ways, nothing odd.
#[test]
fn plain_pairs_of_three_ways_are_settled() {
    let features = Features { light_shut: 0.5, ..Features::bare(Scheme::Conventional) };
    let all = tally("plain", &features, 3, |_| Slips::none());
    assert_eq!((all.settled, all.wrong.len()), (all.houses, 0), "{all:?}");
}

/// Two four-ways, two lights and a box nobody knows of: from the survey alone there is more than can be listed.
#[test]
fn where_more_fits_than_can_be_listed_no_wire_is_told_and_a_reading_is_asked_for() {
    let four_ways = Features {
        four_way: 1.0,
        junction: 1.0,
        buried: 1.0,
        second_light: 1.0,
        ..Features::bare(Scheme::Conventional)
    };
    let call = reparsed(&draw(0, &four_ways).survey());
    let knowledge = packs::embedded().unwrap();
    let space = Space::of_call(&call, &knowledge, Options::default());
    let verdict = verdict::within(&call, &knowledge, &space);
    assert!(verdict.candidates.uncovered > 0.99, "{}", verdict.candidates.uncovered);
    assert!(verdict.wires.iter().all(|wire| wire.p == 0.0));
    let style = Style { width: 4000, plain: true, palette: Palette::PLAIN };
    let page = page_of(&call, &verdict, &knowledge.cautions, &style);
    assert!(page.contains("not told") && !page.contains("belongs to another circuit"), "{page}");
    let next = plan::next(&call, &knowledge, &space, Wish::default());
    assert_eq!(next.suggestions[0].ask, "volts");
    let dead = plan::next(&call, &knowledge, &space, Wish { dead_only: true, ..Wish::default() });
    let first = &dead.suggestions[0];
    assert!(first.ask == "ohms" && !first.live && first.breaker.is_some(), "{first:?}");
}
