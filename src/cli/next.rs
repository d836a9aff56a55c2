//! `lath next`: what to measure next, and why.

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::JobArguments;
use crate::files;
use crate::house::{BoxId, House};
use crate::plan::{self, Wish};
use crate::show;
use crate::wiring::{Options, Space};

/// Arguments of `lath next`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(flatten)]
    job: JobArguments,
    /// Print the documented JSON.
    #[arg(long)]
    json: bool,
    /// How many suggestions, the best first.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=50), value_name = "N")]
    top: u8,
    /// No readings with the power on.
    #[arg(long)]
    dead_only: bool,
    /// Where one stands and would rather stay.
    #[arg(long, value_name = "BOX")]
    at: Option<String>,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = files::load(&arguments.job.job)?;
    let call = &loaded.call;
    let at = arguments.at.as_ref().map(|name| place(&call.house, name)).transpose()?;
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    let space = Space::of_call(call, &knowledge, Options { buried: arguments.job.buried });
    let (top, dead_only) = (usize::from(arguments.top), arguments.dead_only);
    let wish = Wish { top, dead_only, at, here: None, resumed: true };
    let next = plan::next(call, &knowledge, &space, wish);
    let text = if arguments.json {
        let json = serde_json::to_string_pretty(&next);
        json.map_err(|error| Trouble::Internal(error.to_string()))? + "\n"
    } else {
        show::next::text(call, &next, &screen.style())
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}

fn place(house: &House, name: &str) -> Result<BoxId, Trouble> {
    house.box_ids().find(|&at| house.outlet(at).name == *name).ok_or_else(|| {
        let known: Vec<&str> = house.boxes.iter().map(|outlet| outlet.name.as_str()).collect();
        Trouble::Usage(format!("--at: there is no box called \"{name}\"; write one of: {}", known.join(", ")))
    })
}
