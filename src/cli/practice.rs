//! `lath practice`: a simulated house to try oneself on.
//!
//! The apprentice asks, the house answers; at the end stands what was in the walls, and how `lath` went about the same
//! house.

mod level;
mod visit;

use super::Screen;
use super::exit::{Exit, Trouble};
use super::walk::asker::{Asker, Ended};
use crate::files;
use crate::practice::{Slips, Teller};
use crate::show::{self, text};
use crate::verdict::{SETTLED, Verdict};
use std::path::PathBuf;
use visit::{Visit, Wrong};

/// Arguments of `lath practice`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// Which house: the same number is always the same house.
    #[arg(long, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// How hard: 1, a pair of three-ways with every box open; 2, a light that nobody has opened, odd schemes; 3, something
    /// taken apart; 4, one thing wrong; 5, four-ways, one thing wrong, a box nobody knows of.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=5), value_name = "1-5")]
    level: u8,
    /// Let lath choose every reading.
    #[arg(long)]
    auto: bool,
    /// Take what is asked from a file, one question a line; lines that begin with # are remarks.
    #[arg(long, value_name = "FILE", conflicts_with = "auto")]
    answers: Option<PathBuf>,
    /// Write what was found into a new job file.
    #[arg(long, value_name = "JOB")]
    save: Option<PathBuf>,
}

/// What is less likely is not worth a word.
const LEAST: f64 = 0.05;

const HELP: [&str; 6] = [
    "watch: the light; watch NAME where there are several. volts a.black to earth at hall. ohms a.black to b.black at hall.",
    "load a.black to a.white at hall: a test lamp between the two. amps a at hall: a clamp round the cable.",
    "What is other than before comes after a semicolon: volts a.black to earth at hall; hall down, lamp out.",
    "There are: on, off, hall down, lamp out, out hall/switch, in hall/switch, lifted hall/a.black, joined hall/a.black, with test-lamp.",
    "open stair ceiling: what is in the box. survey: what is known. done: what was in the walls.",
    "This house hurts nobody. In a real one every wire is live until proven dead, and local codes and licensed practice come first.",
];

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let building = level::house(arguments.level, arguments.seed);
    // Whatever is opened later is answered for from the start.
    let mut all = building.clone();
    all.outlets.iter_mut().for_each(|outlet| outlet.opened |= outlet.known);
    let knowledge = files::packs::embedded().map_err(Trouble::Internal)?;
    let fresh = || Visit::new(building.clone(), Teller::new(&all, Slips::none()), &knowledge);
    let mut mine = fresh();
    // Before anything is asked: a file that cannot be made is no surprise at the end.
    let mut saved = arguments.save.as_ref().map(|path| files::Held::create(path, mine.job())).transpose()?;
    let exit = if arguments.auto {
        introduce(&mine, screen)?;
        mine.follow(|said| say(screen, said))?;
        Exit::Done
    } else {
        let asker = super::walk::asker(arguments.answers.as_deref(), "practice")?;
        introduce(&mine, screen)?;
        say(
            screen,
            "Ask what you would measure, as in: volts a.black to earth at hall. help lists the rest; done ends.",
        )?;
        converse(&mut mine, asker, screen)?
    };
    if let Some(held) = &mut saved {
        held.save(mine.job())?;
    }
    let found = mine.verdict()?;
    reveal(&mine, &found, screen)?;
    if arguments.auto {
        return compare(&[("lath", &mine, &found)], screen).map(|()| exit);
    }
    say(
        screen,
        "Now lath goes through the same house; where little was open this may take a minute or two.",
    )?;
    let mut other = fresh();
    other.follow(|_| Ok(()))?;
    let by_lath = other.verdict()?;
    compare(&[("you", &mine, &found), ("lath", &other, &by_lath)], screen)?;
    Ok(exit)
}

fn say(screen: &mut Screen, said: &str) -> Result<(), Trouble> {
    write!(screen.out, "{}", show::paragraph(said, &screen.style()))?;
    Ok(screen.out.flush()?)
}

/// What is known on arriving.
fn introduce(visit: &Visit, screen: &mut Screen) -> Result<(), Trouble> {
    let job = visit.job();
    if let Some(complaint) = job.call.as_ref().and_then(|call| call.complaint.as_ref()) {
        say(screen, &format!("The customer says: {}", complaint.0))?;
    }
    for outlet in job.boxes.iter().flatten() {
        say(screen, &visit::box_in_words(outlet))?;
    }
    Ok(())
}

/// Answers until the apprentice has enough.
fn converse(visit: &mut Visit, mut asker: Box<dyn Asker>, screen: &mut Screen) -> Result<Exit, Trouble> {
    loop {
        screen.out.flush()?;
        let line = match asker.ask(screen.out) {
            Ok(line) => line,
            Err(Ended::NoAnswer) => return Ok(Exit::Done),
            Err(Ended::Stopped) => {
                writeln!(screen.out)?;
                return Ok(Exit::Stopped);
            }
            Err(Ended::Broken(error)) => return Err(Trouble::Output(error)),
        };
        match line.trim() {
            "" => {}
            "done" | "stop" => return Ok(Exit::Done),
            "help" => HELP.iter().try_for_each(|said| say(screen, said))?,
            "survey" => introduce(visit, screen)?,
            asked => match visit.asked(asked) {
                Ok(said) => say(screen, &said)?,
                Err(Wrong::Asked(wrong)) => say(screen, &format!("Not done: {wrong}"))?,
                Err(Wrong::Broken(trouble)) => return Err(trouble),
            },
        }
    }
}

/// What was in the walls, beside what the readings say.
fn reveal(visit: &Visit, found: &Verdict, screen: &mut Screen) -> Result<(), Trouble> {
    let truth = visit.building().truth();
    writeln!(screen.out)?;
    say(screen, &format!("In the walls: {}, fed at {}.", truth.scheme.replace('-', " "), truth.feed))?;
    for fault in &truth.faults {
        say(screen, &format!("Wrong there: {} at {} {}", fault.what, fault.at, fault.detail.join(", ")))?;
    }
    for (wire, purpose) in &truth.wires {
        let said = found.wires.iter().find(|found| found.wire == *wire);
        let said = said.map_or_else(String::new, |said| {
            let p = text::percent(said.p);
            match (said.p >= SETTLED, said.role == purpose.role) {
                (true, true) => "told by the readings".to_owned(),
                (true, false) => format!("the readings WRONGLY say {}", said.role.word()),
                (false, _) if said.p < LEAST => "not settled".to_owned(),
                (false, _) => format!("not settled: {} {p}", said.role.word()),
            }
        });
        writeln!(screen.out, "  {} {} {said}", text::pad(wire, 26), text::pad(purpose.role.word(), 9))?;
    }
    for defect in &found.defects {
        let p = text::percent(defect.p);
        say(screen, &format!("The readings say {} at {} ({p})", defect.what, defect.at))?;
    }
    Ok(())
}

/// How long it took, and what came of it.
fn compare(visits: &[(&str, &Visit, &Verdict)], screen: &mut Screen) -> Result<(), Trouble> {
    writeln!(screen.out)?;
    for (who, visit, found) in visits {
        let truth = visit.building().truth();
        let settled = found.wires.iter().filter(|wire| wire.p >= SETTLED);
        let (right, wrong): (Vec<_>, Vec<_>) = settled
            .partition(|wire| truth.wires.get(&wire.wire).is_some_and(|purpose| purpose.role == wire.role));
        let line = format!(
            "{who}: {}, {}, {} minutes of work; {} of {} settled{}.",
            text::count(visit.readings(), "reading", "readings"),
            text::count(visit.opened(), "box opened", "boxes opened"),
            text::number(visit.minutes()),
            right.len(),
            text::count(found.wires.len(), "wire", "wires"),
            if wrong.is_empty() { String::new() } else { format!(", {} WRONGLY", wrong.len()) },
        );
        say(screen, &text::capital(&line))?;
    }
    Ok(())
}
