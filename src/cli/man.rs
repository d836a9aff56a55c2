//! `lath man`: the manual pages.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::files;
use crate::show::text::count;
use clap_mangen::Man;
use std::path::PathBuf;

/// Arguments of `lath man`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// A folder to write all pages into: lath.1, lath-walk.1 and so on. Without it, lath.1 goes to standard output.
    folder: Option<PathBuf>,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let mut command = super::command();
    command.build();
    let Some(folder) = &arguments.folder else {
        Man::new(command).render(screen.out)?;
        return Ok(Exit::Done);
    };
    let mut pages = Vec::new();
    every(&command, &mut pages)?;
    for (name, page) in &pages {
        files::replace(&folder.join(name), page)?;
    }
    writeln!(screen.out, "{} in {}", count(pages.len(), "page", "pages"), files::shown(folder))?;
    Ok(Exit::Done)
}

/// The page of a command, and those of the commands below it.
fn every(command: &clap::Command, pages: &mut Vec<(String, Vec<u8>)>) -> std::io::Result<()> {
    let man = Man::new(command.clone());
    let mut page = Vec::new();
    man.render(&mut page)?;
    pages.push((man.get_filename(), page));
    let below = command.get_subcommands().filter(|command| command.get_name() != "help");
    below.into_iter().try_for_each(|command| every(command, pages))
}
