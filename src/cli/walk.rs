//! `lath walk`: the guided call.

pub mod asker;
mod terminal;

use super::Screen;
use super::exit::{Exit, Trouble};
use super::reached::Reached;
use crate::call::job::Job;
use crate::files::{self, Failure, Held, Keep};
use crate::knowledge::Knowledge;
use crate::show::note::Reader;
use crate::show::palette::Tone;
use crate::show::{self, Style};
use crate::walk::{Engine, Now, Page, Stage, Turn, Walk};
use crate::wiring::Options;
use asker::{Asker, Ended, Plain, Rich, Scripted};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// Arguments of `lath walk`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// The job file: gone on with where it was left, or made. Without it, call-DAY.yaml here.
    job: Option<PathBuf>,
    /// Take the answers from a file, one a line; lines that begin with # are remarks.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// How many boxes nobody knows of there may be.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=1), value_name = "N")]
    buried: u8,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let mut asker = asker(arguments.answers.as_deref(), "a walk", screen)?;
    let now = now();
    let path = arguments.job.clone().unwrap_or_else(|| PathBuf::from(format!("call-{}.yaml", now.day)));
    let mut held = hold(&path)?;
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    let engine = Engine::new(&knowledge, Options { buried: arguments.buried });
    let job = held.loaded().job.clone();
    let resumed = job.history.as_ref().is_some_and(|history| !history.is_empty());
    let mut walk =
        Walk::resume(job, engine).map_err(|_| Trouble::Internal("a checked job was wrong".to_owned()))?;
    let name = files::shown(&path);
    let head = if resumed {
        format!("Going on with {name} where it was left.")
    } else {
        format!("Everything goes into {name}.")
    };
    writeln!(
        screen.out,
        "{}",
        show::paragraph(
            &format!("{head} Type help at any question; stop ends, and loses nothing."),
            &screen.style()
        )
        .trim_end()
    )?;
    loop {
        let style = screen.style();
        let card = walk.screen();
        write!(screen.out, "{}", card.text(&style))?;
        screen.out.flush()?;
        let answer = match asker.ask(screen.out) {
            Ok(answer) => answer,
            Err(ended) => return end(ended, &name, screen),
        };
        let turn = walk.answer(&answer, &self::now());
        if turn.changed {
            held.save(walk.job())?;
        }
        tell(&turn, &held, &walk, &knowledge, screen)?;
        if turn.stop {
            return stopped(walk.place().stage, &name, screen);
        }
    }
}

/// Who is asked by something that asks.
pub fn asker(answers: Option<&Path>, what: &str, screen: &Screen) -> Result<Box<dyn Asker>, Trouble> {
    if let Some(path) = answers {
        return Ok(Box::new(Scripted::new(&files::text(path)?)));
    }
    if !std::io::stdin().is_terminal() || !std::io::stdout().is_terminal() {
        return Err(Trouble::Nobody(format!(
            "{what} asks questions, and here is no terminal to ask them at: run it in one, or give --answers FILE"
        )));
    }
    terminal::guard();
    if screen.plain {
        return Ok(Box::new(Plain));
    }
    Ok(Box::new(Rich))
}

fn hold(path: &Path) -> Result<Held, Trouble> {
    match Held::open(path, Keep::Long) {
        Err(Failure::Read { source, .. }) if source.kind() == std::io::ErrorKind::NotFound => {
            Ok(Held::create(path, &Job::default())?)
        }
        held => Ok(held?),
    }
}

fn now() -> Now {
    let now = jiff::Zoned::now();
    Now { day: now.strftime("%Y-%m-%d").to_string(), time: now.strftime("%H:%M").to_string() }
}

/// Says what came of an answer.
fn tell(
    turn: &Turn,
    held: &Held,
    walk: &Walk<Engine>,
    knowledge: &Knowledge,
    screen: &mut Screen,
) -> Result<(), Trouble> {
    let style = screen.style();
    for said in &turn.says {
        write!(screen.out, "{}", show::paragraph(said, &style))?;
    }
    for page in &turn.pages {
        let Some(advice) = walk.advice() else { continue };
        let text = self::page(*page, held, advice.verdict.clone(), knowledge, &style)?;
        write!(screen.out, "\n{text}")?;
    }
    Ok(())
}

fn page(
    page: Page,
    held: &Held,
    verdict: crate::verdict::Verdict,
    knowledge: &Knowledge,
    style: &Style,
) -> Result<String, Trouble> {
    let loaded = held.loaded();
    let cautions = &knowledge.cautions;
    Ok(match page {
        Page::Verdict => show::verdict::text(&loaded.call, &verdict, cautions, style),
        Page::Tags => show::tags::text(&loaded.call.house, &verdict, cautions, style),
        Page::Note => {
            let reached = Reached { loaded: loaded.clone(), knowledge: knowledge.clone(), verdict };
            super::note::terminal(&reached, Reader::Customer, style)?
        }
    })
}

fn stopped(stage: Stage, name: &str, screen: &mut Screen) -> Result<Exit, Trouble> {
    if stage == Stage::Done {
        return Ok(Exit::Done);
    }
    let said = format!("Stopped. Everything is in {name}; the next walk goes on at this question.");
    write!(screen.out, "{}", show::paragraph(&said, &screen.style()))?;
    Ok(Exit::Stopped)
}

fn end(ended: Ended, name: &str, screen: &mut Screen) -> Result<Exit, Trouble> {
    match ended {
        Ended::Stopped => {
            writeln!(screen.out)?;
            stopped(Stage::Work, name, screen)
        }
        Ended::NoAnswer => {
            let note = screen.err_palette.paint(Tone::Caution, "note:");
            writeln!(
                screen.err,
                "{note} the answers end at this question; everything before it is in {name}"
            )?;
            Ok(Exit::NobodyToAsk)
        }
        Ended::Broken(error) => Err(Trouble::Output(error)),
    }
}
