//! The head of the call, the house, the instruments, proofs and terms.

use super::Report;
use super::names::Names;
use super::survey;
use crate::call::job::{Field, Found, Job, JobHouse, JobInstrument, Path, items};
use crate::call::{Call, Instrument, InstrumentKind, Proof};
use crate::house::{Feed, FeedKind, Goal, House};
use std::collections::BTreeSet;

/// Volts, line to neutral, where nothing is said.
pub const SUPPLY: f64 = 120.0;

/// How far from the supply as a share of it the volts may be that proved the reference, to be taken for the supply of that day.
/// ANSI C84.1 allows 104 to 127 V on 120 V where they are used (range B); the rest is for what old houses add. From memory.
const OFF_SUPPLY: f64 = 0.2;

/// Circuits, supply, region, age.
pub fn house(job: &Job, house: &mut House, report: &mut Report) {
    let none = JobHouse::default();
    let said = job.house.as_ref().unwrap_or(&none);
    let path = Path::top().key("house");
    feeds(said, house, &path.key("feeds"), report);
    house.supply = report.positive(said.supply, &path.key("supply"), "volts").unwrap_or(SUPPLY);
    if let Some(supply) = said.supply
        && supply > 300.0
    {
        let what = "the supply is counted line to neutral, and no house has that much";
        report.wrong(
            &path.key("supply"),
            what,
            supply.to_string(),
            "120, or what the meter shows line to neutral",
        );
    }
    house.region = said.region.clone().unwrap_or_else(|| "us".to_owned());
    house.grounds = said.grounds.unwrap_or_default();
    if let Some(built) = said.built {
        house.built = i32::try_from(built).ok().filter(|year| (1600..=2200).contains(year));
        if house.built.is_none() {
            report.wrong(
                &path.key("built"),
                "that is no year a house was built in",
                built.to_string(),
                "the year in four figures",
            );
        }
    }
    if let Some(reference) = &said.reference {
        let proven = report.positive(reference.proven, &path.key("reference").key("proven"), "volts");
        // What is live reads what the reference was proved with, however far that is from the usual.
        let near = |volts: &f64| (volts / house.supply - 1.0).abs() <= OFF_SUPPLY;
        house.supply = proven.filter(near).unwrap_or(house.supply);
    }
}

fn feeds(said: &JobHouse, house: &mut House, path: &Path, report: &mut Report) {
    let mut names = BTreeSet::new();
    for (i, feed) in items(&said.feeds).iter().enumerate() {
        let path = path.index(i);
        survey::free_name(&feed.name, "a circuit", &path.key("name"), report);
        if !names.insert(feed.name.as_str()) {
            let what = "two circuits have the same name";
            report.wrong(&path.key("name"), what, feed.name.as_str(), "the name on the panel, each once");
        }
        let amps = report.positive(feed.amps, &path.key("amps"), "amperes");
        let kind = feed.kind.unwrap_or_default();
        house.feeds.push(Feed { name: feed.name.clone(), kind, amps, leg: feed.leg.clone() });
    }
    if house.feeds.is_empty() {
        report
            .warn(&Path::top(), "no feeds are named under house: one circuit called \"circuit\" is assumed");
        house.feeds.push(Feed {
            name: Feed::UNNAMED.to_owned(),
            kind: FeedKind::default(),
            amps: None,
            leg: None,
        });
    }
}

/// Goal, complaint, instruments.
pub fn call(job: &Job, names: &Names, report: &mut Report) -> Call {
    let mut call = Call::default();
    let path = Path::top().key("call");
    if let Some(head) = &job.call {
        call.goal = goal(head.goal.as_deref(), names, &path.key("goal"), report);
        call.complaint = head.complaint.as_ref().is_some_and(|complaint| !complaint.trim().is_empty());
        call.worked_before = head.worked_before;
        call.helper = head.helper.unwrap_or(false);
        day(head.date.as_deref(), &path.key("date"), report);
    }
    call.reference = job.house.as_ref().is_some_and(|house| house.reference.is_some());
    let path = Path::top().key("instruments");
    for (i, owned) in items(&job.instruments).iter().enumerate() {
        call.instruments.push(instrument(owned, &path.index(i), report));
    }
    call
}

fn goal(goal: Option<&str>, names: &Names, path: &Path, report: &mut Report) -> Goal {
    let instead = "identify, repair, or neutral-at and the name of a box";
    match goal {
        None | Some("identify") => Goal::Identify,
        Some("repair") => Goal::Repair,
        Some(text) => {
            match text.strip_prefix("neutral-at").map(|rest| (rest.trim(), rest.starts_with(' '))) {
                Some((name, true)) if !name.is_empty() => {
                    report.found(names.outlet(name), path, text).map_or(Goal::Identify, Goal::NeutralAt)
                }
                Some((_, _)) => {
                    report.wrong(path, "the goal does not say in which box", text, instead);
                    Goal::Identify
                }
                None => {
                    report.wrong(path, "no such goal", text, instead);
                    Goal::Identify
                }
            }
        }
    }
}

/// An instrument, with the figures that belong to its kind.
pub fn instrument(said: &JobInstrument, path: &Path, report: &mut Report) -> Instrument {
    use InstrumentKind::*;
    let kind = said.kind;
    let figures = [
        (
            "ohms",
            said.ohms,
            matches!(kind, HighImpedance | LowImpedance | TwoPole | Solenoid | Neon | Continuity),
        ),
        ("watts", said.watts, kind == TestLamp),
        ("resolves", said.resolves, kind == Clamp),
    ];
    for (key, value, belongs) in figures {
        let Some(value) = value else { continue };
        let path = path.key(key);
        if belongs {
            report.positive(Some(value), &path, if key == "resolves" { "amperes" } else { key });
        } else {
            let word = said.kind.write().excerpt();
            let what = format!("a {word} has no {key}");
            report.wrong_key(
                &path,
                what,
                format!("{key}: {value}"),
                "ohms for a meter or beeper, watts for a test-lamp, resolves for a clamp",
            );
        }
    }
    Instrument { kind, ohms: said.ohms, watts: said.watts, resolves: said.resolves }
}

/// Proofs, and the safety terms: these are kept as data, but must be able to be true.
pub fn records(job: &Job, names: &Names, report: &mut Report) -> Vec<Proof> {
    let mut proofs = Vec::new();
    for (i, proof) in items(&job.proofs).iter().enumerate() {
        let path = Path::top().key("proofs").index(i);
        let at = report.found(names.outlet(&proof.at), &path.key("at"), &proof.at);
        proofs.extend(at.map(|at| Proof { at, dead: proof.found == Found::Dead }));
        instrument(&proof.with, &path.key("with"), report);
        let contact = InstrumentKind::TwoPole;
        let proves = matches!(
            proof.with.kind,
            InstrumentKind::TwoPole
                | InstrumentKind::LowImpedance
                | InstrumentKind::HighImpedance
                | InstrumentKind::TestLamp
        );
        if proof.found == Found::Dead && !proves {
            let found = proof.with.kind.write().excerpt();
            let instead = format!(
                "{}, after testing every point in reach with a two-lead contact tester",
                contact.write().excerpt()
            );
            report.wrong(&path.key("with"), "that tester proves nothing dead", found, instead);
        }
        if let Some(time) = &proof.time
            && !is_time(time)
        {
            report.wrong(
                &path.key("time"),
                "that is no time of day",
                time.as_str(),
                "\"HH:MM\", such as \"14:20\"",
            );
        }
    }
    if let Some(safety) = &job.safety {
        day(safety.accepted.as_deref(), &Path::top().key("safety").key("accepted"), report);
    }
    proofs
}

fn day(text: Option<&str>, path: &Path, report: &mut Report) {
    if let Some(text) = text
        && !is_day(text)
    {
        report.wrong(path, "that is no date", text, "YYYY-MM-DD, such as 2026-05-14");
    }
}

fn figures(text: &str, digits: usize) -> Option<u32> {
    (text.len() == digits && text.bytes().all(|byte| byte.is_ascii_digit()))
        .then(|| text.parse().ok())
        .flatten()
}

fn is_day(text: &str) -> bool {
    let mut parts = text.splitn(3, '-');
    let mut part = |digits| parts.next().and_then(|text| figures(text, digits));
    let (Some(year), Some(month), Some(day)) = (part(4), part(2), part(2)) else { return false };
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => return false,
    };
    (1..=days).contains(&day)
}

fn is_time(text: &str) -> bool {
    let Some((hours, minutes)) = text.split_once(':') else { return false };
    figures(hours, 2).is_some_and(|hours| hours < 24)
        && figures(minutes, 2).is_some_and(|minutes| minutes < 60)
}
