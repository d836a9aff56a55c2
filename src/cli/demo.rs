//! `lath demo`: a whole recorded call, replayed.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::Reached;
use crate::call::Call;
use crate::files;
use crate::show::{self, readings};
use crate::verdict::{self, Verdict};
use crate::wiring::{Options, Space};

/// Arguments of `lath demo`.
#[derive(clap::Args, Debug)]
pub struct Arguments {}

const JOB: &str = include_str!("../../examples/taken-apart.yaml");

/// Runs it.
pub fn run(_: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = files::parse_str("the recorded call", JOB)?;
    let style = screen.style();
    let reached = Reached::of(loaded, Options::default())?;
    let call = &reached.loaded.call;
    write!(screen.out, "{}", show::replay::opening(&reached.loaded.job, call, &style))?;
    let space = Space::new(&call.house, &reached.knowledge, Options::default());
    let mut before = verdict_after(&reached, &space, 0);
    for count in 1..=call.readings.len() {
        let after = verdict_after(&reached, &space, count);
        let said = readings::reading(&call.house, &call.readings[count - 1]);
        write!(screen.out, "{}", show::replay::step(count, &said, &before, &after, &style))?;
        before = after;
    }
    write!(
        screen.out,
        "\n{}",
        show::verdict::text(call, &reached.verdict, &reached.knowledge.cautions, &style)
    )?;
    let tags = show::tags::text(&call.house, &reached.verdict, &reached.knowledge.cautions, &style);
    write!(screen.out, "\n{tags}\n{}", super::note::terminal(&reached, &style))?;
    Ok(Exit::Done)
}

/// The verdict when only the first readings had been taken.
fn verdict_after(reached: &Reached, space: &Space, count: usize) -> Verdict {
    let call = &reached.loaded.call;
    let early = Call { readings: call.readings[..count].to_vec(), ..call.clone() };
    verdict::within(&early, &reached.knowledge, space)
}
