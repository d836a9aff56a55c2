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
use crate::walk::{Engine, Now, Page, Screen as Card, Stage, Walk};
use crate::wiring::Options;
use asker::{Asker, Ended, Person, Scripted};
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
    /// How many boxes nobody knows of there may be: 0 to 2. With 2 it can take long.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(0..=2), value_name = "N")]
    buried: u8,
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let mut asker = asker(arguments.answers.as_deref(), "a walk")?;
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
    terminal::guard(format!("\n{}", stopped_at(&name, screen)));
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
    let (mut shown, mut again): (Option<Card>, bool) = (None, false);
    loop {
        let style = screen.style();
        let card = walk.screen();
        // What was said in between pushes the card up; only its question is repeated.
        let text = if again { card.question(&style) } else { card.text(&style, shown.as_ref()) };
        write!(screen.out, "{text}")?;
        let answer = match asker.ask(screen.out) {
            Ok(answer) => answer,
            Err(ended) => return end(ended, &name, screen),
        };
        let meant = if screen.plain { card.by_number(&answer) } else { &answer };
        let turn = walk.answer(meant, &self::now());
        if turn.changed {
            save(&mut held, walk.job(), asker.as_mut(), screen)?;
        }
        for said in &turn.says {
            write!(screen.out, "{}", show::paragraph(said, &style))?;
        }
        for page in &turn.pages {
            let Some(advice) = walk.advice() else { continue };
            let text = self::page(*page, &held, advice.verdict.clone(), &knowledge, &style)?;
            if let Err(ended) = leaf(&text, asker.as_mut(), screen) {
                return end(ended, &name, screen);
            }
        }
        again = !turn.changed && !answer.trim().is_empty();
        shown = Some(card);
        if turn.stop {
            return stopped(walk.place().stage, &name, screen);
        }
    }
}

/// Who is asked by something that asks.
pub fn asker(answers: Option<&Path>, what: &str) -> Result<Box<dyn Asker>, Trouble> {
    if let Some(path) = answers {
        return Ok(Box::new(Scripted::new(&files::text(path)?)));
    }
    if !std::io::stdin().is_terminal() || !std::io::stdout().is_terminal() {
        return Err(Trouble::Nobody(format!(
            "{what} asks questions, and here is no terminal to ask them at: run it in one, or give --answers FILE"
        )));
    }
    Ok(Box::new(Person))
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

/// Saves the job. A person can put right what stands in the way, a full disk say: the answer is kept meanwhile.
fn save(held: &mut Held, job: &Job, asker: &mut dyn Asker, screen: &mut Screen) -> Result<(), Trouble> {
    loop {
        let Err(failure) = terminal::undisturbed(|| held.save(job)) else { return Ok(()) };
        let said = format!("Not saved: {failure}. The answer is kept here meanwhile; put that right.");
        let said = show::paragraph(&said, &screen.style());
        if !asker.again(&said, screen.out).unwrap_or(false) {
            return Err(not_saved(failure, screen));
        }
    }
}

/// Says, before the reason, what became of the answer.
fn not_saved(failure: Failure, screen: &mut Screen) -> Trouble {
    // Where this cannot be said either, the reason still is.
    let _ = writeln!(screen.out, "The last answer is not in the file; all before it are.");
    failure.into()
}

/// Shows a page, a screen at a time where a person reads it.
fn leaf(text: &str, asker: &mut dyn Asker, screen: &mut Screen) -> Result<(), Ended> {
    writeln!(screen.out)?;
    let lines: Vec<&str> = text.lines().collect();
    let most = screen.height.filter(|_| !screen.plain).map_or(lines.len(), |height| height.saturating_sub(2));
    let parts = lines.chunks(most.max(5));
    let last = parts.len().saturating_sub(1);
    for (at, part) in parts.enumerate() {
        for line in part {
            writeln!(screen.out, "{line}")?;
        }
        if at < last && !asker.more(screen.out)? {
            break;
        }
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
    write!(screen.out, "{}", stopped_at(name, screen))?;
    Ok(Exit::Stopped)
}

fn stopped_at(name: &str, screen: &Screen) -> String {
    let said = format!("Stopped. Everything is in {name}; the next walk goes on at this question.");
    show::paragraph(&said, &screen.style())
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
