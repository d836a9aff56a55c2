//! `lath knowledge`: the packs, listed, shown and checked.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::conditions::defects_untold;
use crate::files::packs;
use crate::files::{self, Complaint, Failure};
use crate::show;
use crate::show::palette::Tone;
use std::path::PathBuf;

/// Arguments of `lath knowledge`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

/// What to do with the packs.
#[derive(clap::Subcommand, Debug)]
enum What {
    /// List the packs and what is in them.
    List,
    /// Show a pack file, a condition, or `fields` and `provisions`.
    Show {
        /// The name of a pack file or condition; `fields` for what rules may ask for, `provisions` for all that are named.
        name: String,
    },
    /// Check pack files; without one, those that are compiled in. A scheme is thrown through every position.
    Check {
        /// Pack files. One that is called as one of those compiled in is checked in its place; conditions may name
        /// schemes and observations of the others given.
        files: Vec<PathBuf>,
    },
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    match &arguments.what {
        What::List => list(screen),
        What::Show { name } => show(name, screen),
        What::Check { files } => check(files, screen),
    }
}

fn list(screen: &mut Screen) -> Result<Exit, Trouble> {
    let mut rows = Vec::new();
    for (name, kind, text) in packs::all() {
        let node = files::yaml::parse(text).map_err(|error| Trouble::Internal(error.what))?;
        rows.push((name.to_owned(), kind.word(), show::knowledge::holds(&node)));
    }
    write!(screen.out, "{}", show::knowledge::list(&rows, &screen.style()))?;
    Ok(Exit::Done)
}

fn show(name: &str, screen: &mut Screen) -> Result<Exit, Trouble> {
    let pack = files::conditions::embedded().map_err(Trouble::Internal)?;
    let style = screen.style();
    let file = packs::all().into_iter().find(|(file, ..)| {
        *file == name
            || file.rsplit('/').next().is_some_and(|base| base == name || base == format!("{name}.yaml"))
    });
    let text = match (name, pack.condition(name), file) {
        ("fields", ..) => show::knowledge::fields(&pack, &style),
        ("provisions", ..) => show::knowledge::provisions(&pack, &style),
        (_, Some(condition), _) => show::knowledge::condition(&pack, condition, &style),
        (_, None, Some((_, _, text))) => text.to_owned(),
        (_, None, None) => {
            let known = pack.conditions.iter().map(|condition| condition.name.as_str());
            let near =
                crate::call::job::likely(name, known).map_or(String::new(), |near| format!(" ({near}?)"));
            let shown = crate::call::job::shorten(name);
            writeln!(
                screen.err,
                "no pack or condition is called \"{shown}\"{near}; `lath knowledge list` names them"
            )?;
            return Ok(Exit::Usage);
        }
    };
    write!(screen.out, "{text}")?;
    Ok(Exit::Done)
}

fn check(paths: &[PathBuf], screen: &mut Screen) -> Result<Exit, Trouble> {
    let texts: Vec<(String, String)> = if paths.is_empty() {
        packs::all().into_iter().map(|(name, _, text)| (name.to_owned(), text.to_owned())).collect()
    } else {
        let read = paths.iter().map(|path| Ok((path.display().to_string(), files::text(path)?)));
        read.collect::<Result<_, Failure>>()?
    };
    let given: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let mut wrong: Vec<Complaint> = Vec::new();
    for (name, text) in &texts {
        match packs::check_beside(name, text, &given) {
            Ok(checked) => {
                let good = screen.out_palette.paint(Tone::Good, "ok");
                let does = match checked.proofs.as_slice() {
                    [] => String::new(),
                    proofs => format!(", {}", show::proof::proof(proofs)),
                };
                writeln!(screen.out, "{name}: {good}: {}{does}", checked.kind.word())?;
            }
            // What is wrong with a pack that is compiled in is found beside each of those given.
            Err(complaints) => {
                let new: Vec<Complaint> = complaints.into_iter().filter(|one| !wrong.contains(one)).collect();
                wrong.extend(new);
            }
        }
    }
    if !wrong.is_empty() {
        return Err(Failure::Wrong(wrong).into());
    }
    let untold = if paths.is_empty() {
        defects_untold(&files::conditions::embedded().map_err(Trouble::Internal)?)
    } else {
        Vec::new()
    };
    for defect in untold {
        writeln!(screen.err, "no condition tells of the defect {defect}")?;
    }
    Ok(Exit::Done)
}
