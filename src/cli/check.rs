//! `lath check`: reads a job file and says what is wrong with it.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::call::Call;
use crate::call::job::{Path, Spot, items, likely, shorten};
use crate::files::{self, Complaint, Loaded};
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
    for complaint in loaded.warnings.iter().chain(&nearly_seen(arguments, &loaded)?) {
        let files::Complaint { name, line, what } = complaint;
        writeln!(screen.err, "{name}:{line}: {warning} {what}")?;
    }
    let good = screen.out_palette.paint(Tone::Good, "ok");
    writeln!(screen.out, "{}: {good}: {}", files::shown(&arguments.job), summary(&loaded.call))?;
    Ok(Exit::Done)
}

/// Words under `seen` that nearly are observations: anything may stand there, and what is misspelt would not count.
fn nearly_seen(arguments: &Arguments, loaded: &Loaded) -> Result<Vec<Complaint>, Trouble> {
    let pack = files::conditions::embedded().map_err(Trouble::Internal)?;
    let text = files::text(&arguments.job)?;
    let known = || pack.observations.iter().map(|one| one.name.as_str());
    let mut found = Vec::new();
    for (at, outlet) in items(&loaded.job.boxes).iter().enumerate() {
        for (nth, word) in items(&outlet.seen).iter().enumerate() {
            let path = Path::top().key("boxes").index(at).key("seen").index(nth);
            if let (false, Some(near)) = (known().any(|one| one == word), likely(word, known())) {
                let what =
                    format!("{path}: no condition asks for \"{}\"; they ask for {near}", shorten(word));
                let line = files::yaml::locate(&text, &Spot::from(path));
                found.push(Complaint { name: files::shown(&arguments.job), line, what });
            }
        }
    }
    Ok(found)
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
