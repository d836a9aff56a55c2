//! `lath demo`: a whole recorded call, replayed.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::Reached;
use crate::call::Call;
use crate::files;
use crate::knowledge::Knowledge;
use crate::show::note::Reader;
use crate::show::{self, readings};
use crate::verdict::{self, Verdict};
use crate::weigh::Ledger;
use crate::wiring::{Options, Space};

/// Arguments of `lath demo`.
#[derive(clap::Args, Debug)]
pub struct Arguments {}

const JOB: &str = include_str!("../../examples/taken-apart.yaml");

/// Runs it.
pub fn run(_: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = files::parse_str("the recorded call", JOB)?;
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    let style = screen.style();
    let call = &loaded.call;
    write!(screen.out, "{}", show::replay::opening(&loaded.job, call, &style))?;
    let mut verdicts = verdicts(call, &knowledge).into_iter();
    let mut verdict = verdicts.next().ok_or_else(|| Trouble::Internal("no verdict".to_owned()))?;
    for (at, next) in verdicts.enumerate() {
        let said = readings::reading(&call.house, &call.readings[at]);
        write!(screen.out, "{}", show::replay::step(at + 1, &said, &verdict, &next, &style))?;
        verdict = next;
    }
    let reached = Reached { loaded, knowledge, verdict };
    let (call, cautions) = (&reached.loaded.call, &reached.knowledge.cautions);
    write!(screen.out, "\n{}", show::verdict::text(call, &reached.verdict, cautions, &style))?;
    let tags = show::tags::text(&call.house, &reached.verdict, cautions, &style);
    write!(screen.out, "\n{tags}\n{}", super::note::terminal(&reached, Reader::Customer, &style)?)?;
    Ok(Exit::Done)
}

/// The verdict before any reading, and after each. The space is listed once, as it is before any reading, so that none
/// knows what comes later.
fn verdicts(call: &Call, knowledge: &Knowledge) -> Vec<Verdict> {
    let unread = Call { readings: Vec::new(), ..call.clone() };
    let space = Space::of_call(&unread, knowledge, Options::default());
    let mut ledger = Ledger::default();
    let after = |count: usize| {
        let early = Call { readings: call.readings[..count].to_vec(), ..call.clone() };
        verdict::following(&early, knowledge, &space, &mut ledger)
    };
    (0..=call.readings.len()).map(after).collect()
}
