//! `lath check`: reads a job file and says what is wrong with it.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::call::Call;
use crate::files;
use crate::show::palette::Tone;
use std::path::PathBuf;

/// Arguments of `lath check`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// The job file.
    job: PathBuf,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let loaded = files::load(&arguments.job)?;
    let warning = screen.err_palette.paint(Tone::Caution, "note:");
    for complaint in &loaded.warnings {
        let files::Complaint { name, line, what } = complaint;
        writeln!(screen.err, "{name}:{line}: {warning} {what}")?;
    }
    let good = screen.out_palette.paint(Tone::Good, "ok");
    writeln!(screen.out, "{}: {good}: {}", files::shown(&arguments.job), summary(&loaded.call))?;
    Ok(Exit::Done)
}

fn summary(call: &Call) -> String {
    let house = &call.house;
    let opened = house.boxes.iter().filter(|outlet| outlet.opened).count();
    [
        format!("{} ({opened} opened)", count(house.boxes.len(), "box", "boxes")),
        count(house.ends.len(), "cable end", "cable ends"),
        count(house.devices.len(), "device", "devices"),
        count(call.readings.len(), "reading", "readings"),
    ]
    .join(", ")
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
