//! The return to service: dead ohms before power, then everything the circuit feeds in every position of the switches, then
//! the screw shells.

use super::customer::{all_positions, in_words, positions};
use super::end::{again, done};
use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand};
use crate::call::job::{Do, JobAnswer, items};
use crate::call::typed;
use crate::house::{DeviceId, DeviceKind};
use crate::show::palette::Tone;
use crate::show::readings;
use crate::verdict::{Role, WireFound};

/// Under so many ohms two points count as joined: more than any lead and wire, less than any load on the circuit.
const SHORT: f64 = 10.0;

/// More positions than these are listed in short.
const LISTED: usize = 4;

/// From so many volts on a screw shell is no longer left so.
const LIVE: f64 = 30.0;

/// What is asked about in each position: lights, then receptacles.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Load {
    name: String,
    kind: DeviceKind,
    /// For each of its halves, whether a switch should control it, as far as that is known.
    switched: Vec<Option<bool>>,
}

impl Load {
    fn is_receptacle(&self) -> bool {
        self.kind == DeviceKind::Receptacle
    }

    /// What is asked of it.
    fn ask(&self, with: &str, alone: bool) -> String {
        match self.kind {
            DeviceKind::Receptacle => {
                format!("With {with}: which halves of the receptacle at {} are live?", self.name)
            }
            _ if alone => format!("With {with}: how is the light?"),
            DeviceKind::PullChain => format!("With {with}, its chain pulled on: the light at {}?", self.name),
            _ => format!("With {with}: how is the light at {}?", self.name),
        }
    }

    fn choices(&self) -> &'static [(&'static str, &'static str)] {
        if self.is_receptacle() {
            &[
                ("b", "both halves live"),
                ("u", "the upper only"),
                ("o", "the lower only"),
                ("n", "neither"),
                ("t", "the breaker trips"),
            ]
        } else {
            &[("l", "lit"), ("d", "dark"), ("m", "dim"), ("t", "the breaker trips")]
        }
    }
}

/// Everything that is asked about.
fn loads(stand: &Stand) -> Vec<Load> {
    let house = &stand.call.house;
    let load = |device: DeviceId| {
        let seen = house.device(device);
        let contacts = if seen.kind == DeviceKind::Receptacle { &["h1", "h2"][..] } else { &["center"] };
        let contacts = contacts.iter().map(|contact| format!("{}.{contact}", seen.name));
        let at = &house.outlet(seen.at).name;
        Load {
            name: readings::device(house, device),
            kind: seen.kind,
            switched: contacts.map(|contact| is_switched(stand, at, &contact)).collect(),
        }
    };
    let is_receptacle = |device: &DeviceId| house.device(*device).kind == DeviceKind::Receptacle;
    house.lights().chain(house.device_ids().filter(is_receptacle)).map(load).collect()
}

/// Whether a switch should control what is on a contact, by the wires that are on it.
fn is_switched(stand: &Stand, at: &str, contact: &String) -> Option<bool> {
    let joints = stand.outlet(at).map(|outlet| items(&outlet.joints)).unwrap_or_default();
    let joint = joints.iter().find(|joint| joint.points.contains(contact))?;
    let wires = &stand.advice?.verdict.wires;
    let here = |wire: &&WireFound| {
        wire.wire
            .split_once('/')
            .is_some_and(|(place, wire)| place == at && joint.points.iter().any(|on| on == wire))
    };
    wires.iter().filter(here).find_map(|wire| match wire.role {
        Role::Load => Some(true),
        Role::Line => Some(false),
        _ => None,
    })
}

/// How many answers there are to every position.
fn answers(stand: &Stand) -> usize {
    all_positions(stand) * loads(stand).len()
}

/// The position and the load that an answer is about.
fn about(stand: &Stand, at: usize) -> Option<(String, Load)> {
    let mut loads = loads(stand);
    let (position, load) = (at.checked_div(loads.len())?, at.checked_rem(loads.len())?);
    Some((in_words(&positions(stand, position)), loads.swap_remove(load)))
}

/// Whether what was seen is what a house does that was put right. In each position stands whether each load was on; from one
/// to the next a single switch was moved, which is said beside. Every switch changes something; a switch changes a load
/// always or never; loads go together, or no switch changes both; what no switch changes is on, and should be.
fn works(on: &[Vec<bool>], moved: &[usize], switches: usize, switched: &[Option<bool>]) -> bool {
    let loads = on.first().map_or(0, Vec::len);
    let mut changes = vec![vec![None; switches]; loads];
    for (two, &switch) in on.windows(2).zip(moved) {
        for (load, by) in changes.iter_mut().enumerate() {
            let changed = two[0][load] != two[1][load];
            if *by[switch].get_or_insert(changed) != changed {
                return false;
            }
        }
    }
    let by = |load: &Vec<Option<bool>>| -> Vec<bool> { load.iter().map(|by| *by == Some(true)).collect() };
    let by: Vec<Vec<bool>> = changes.iter().map(by).collect();
    let is_fixed = |load: usize| !by[load].contains(&true);
    let each_is_used = (0..switches).all(|switch| by.iter().any(|load| load[switch]));
    let is_on = |load: usize| switched[load] != Some(true) && on.iter().all(|position| position[load]);
    let together = |a: usize, b: usize| on.iter().all(|position| position[a] == position[b]);
    let apart = |a: usize, b: usize| !by[a].iter().zip(&by[b]).any(|(a, b)| *a && *b);
    each_is_used
        && (0..loads).all(|load| !is_fixed(load) || is_on(load))
        && (0..loads).all(|a| (0..a).all(|b| together(a, b) || apart(a, b)))
}

/// Whether everything works, by the words that were said of it.
fn all_works(stand: &Stand, lit: &[String]) -> bool {
    let loads = loads(stand);
    if lit.iter().any(|word| word == "dim") {
        return false;
    }
    let of = |(load, word): (&Load, &String)| -> Vec<bool> {
        match (load.is_receptacle(), word.as_str()) {
            (false, word) => vec![word == "lit"],
            (true, word) => vec![word == BOTH || word == UPPER, word == BOTH || word == LOWER],
        }
    };
    let position = |words: &[String]| loads.iter().zip(words).flat_map(of).collect::<Vec<bool>>();
    let on: Vec<Vec<bool>> = lit.chunks(loads.len().max(1)).map(position).collect();
    let moved: Vec<usize> = (1..on.len()).map(|position| position.trailing_zeros() as usize).collect();
    let switched: Vec<Option<bool>> = loads.iter().flat_map(|load| load.switched.clone()).collect();
    works(&on, &moved, stand.call.house.switches().count(), &switched)
}

const BOTH: &str = "both halves live";
const UPPER: &str = "only the upper half live";
const LOWER: &str = "only the lower half live";

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let service = |ask: &str| Screen::new("Return to service", ask);
    match stand.place.stage {
        Stage::ToNeutral => service("Ohms from line to neutral, the lowest of all switch positions?")
            .line(Tone::Caution, "CAUTION:", "Supply still off, lamp out, all plates still open.")
            .say("Where line and neutral come in, in every position of the switches; what else is on the circuit unplugged or off."),
        Stage::ToMetal => service("Ohms from line to metal, the lowest of all switch positions?")
            .line(Tone::Caution, "CAUTION:", "Supply still off, lamp out, all plates still open.")
            .say("To the box, the plate screws, the grounding conductor where there is one. No metal: OL."),
        Stage::Position => position_screen(stand),
        _ => shell_screen(stand),
    }
}

fn position_screen(stand: &Stand) -> Screen {
    let at = stand.place.index();
    let all = loads(stand);
    let Some((with, load)) = about(stand, at).filter(|_| at < answers(stand)) else {
        return not_working(stand);
    };
    let screen = Screen::new("Return to service", load.ask(&with, all.len() == 1));
    let screen = if at == 0 {
        let on = "Joints made and covered, hands out, lamp in, then the power on.";
        screen.line(Tone::Caution, "CAUTION:", on)
    } else {
        screen
    };
    screen.choose(load.choices())
}

/// After the last position: not everything changed as it should with every switch that was moved.
fn not_working(stand: &Stand) -> Screen {
    let what = if loads(stand).len() == 1 {
        "The light does not work from every switch: something is still wrong."
    } else {
        "Not everything works from its switches: something is still wrong."
    };
    let screen = Screen::new("Return to service", "What now?").line(Tone::Caution, "CAUTION:", what);
    let names: Vec<String> = loads(stand).into_iter().map(|load| load.name).collect();
    let screen = match names.as_slice() {
        [_] => screen,
        _ => screen.say(format!("In the order {}:", names.join(", "))),
    };
    let each = items(&stand.place.lit).chunks(loads(stand).len().max(1)).enumerate();
    let screen = if each.len() <= LISTED {
        each.fold(screen, |screen, (at, words)| {
            let words = words.join(", ");
            screen.line(Tone::Plain, "-", format!("{}: {words}", in_words(&positions(stand, at))))
        })
    } else {
        let names: Vec<String> = positions(stand, 0).into_keys().collect();
        let short = |(at, words): (usize, &[String])| {
            let handles: Vec<String> = positions(stand, at).into_values().collect();
            format!("{}: {}", handles.join(" "), words.join(", "))
        };
        let seen: Vec<String> = each.map(short).collect();
        screen.say(format!("{}.", names.join(", "))).say(format!("{}.", seen.join("; ")))
    };
    screen.choose(&[("a", "supply off, and the wires again"), ("l", "it is left so")])
}

/// The lights whose shells are tried, each with a position in which it was dark; none for one that no switch controls.
fn shells(stand: &Stand) -> Vec<(String, Option<String>)> {
    let all = loads(stand);
    let lit = items(&stand.place.lit);
    let lights = all.iter().enumerate().filter(|(_, load)| !load.is_receptacle());
    let of = |(at, load): (usize, &Load)| {
        let mut words = lit.chunks(all.len().max(1));
        let dark = words.position(|words| words.get(at).is_some_and(|word| word != "lit"));
        (load.name.clone(), dark.map(|dark| in_words(&positions(stand, dark))))
    };
    lights.map(of).collect()
}

/// The shell at hand: of which light, in which position, and whether there are others.
fn shell_of(stand: &Stand) -> (String, Option<String>, bool) {
    let all = shells(stand);
    let many = all.len() > 1;
    let (name, dark) = all.into_iter().nth(stand.place.index()).unwrap_or_default();
    (name, dark, many)
}

fn shell_screen(stand: &Stand) -> Screen {
    let (name, dark, many) = shell_of(stand);
    let of = if many { format!(" at {name}") } else { String::new() };
    let off = if dark.is_some() { ", with the light switched off" } else { "" };
    let screen = Screen::new("Return to service", format!("Volts from the screw shell{of} to earth{off}?"))
        .line(Tone::Caution, "CAUTION:", "Supply off, lamp out, hands out; then the power on. Live work: tester to the shell, nothing else touched.");
    let screen = match dark {
        Some(dark) => screen.line(Tone::Plain, "With:", dark),
        None => screen,
    };
    screen.empty("not taken")
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        Stage::ToNeutral => dead_ohms(stand, text, "line to neutral", Stage::ToMetal),
        Stage::ToMetal => dead_ohms(stand, text, "line to metal", Stage::Position),
        Stage::Position if stand.place.index() >= answers(stand) => left_or_again(stand, text),
        Stage::Position => position(stand, text),
        _ => shell(stand, text),
    }
}

fn dead_ohms(stand: &Stand, text: &str, what: &str, next: Stage) -> Reply {
    let answer = typed::answer(Do::Ohms, None, text);
    let (ohms, said) = match &answer {
        JobAnswer::Number(ohms) => (*ohms, format!("{ohms} ohms")),
        JobAnswer::Word(word) if word == "OL" || word == "open" || word == "silent" => {
            (f64::INFINITY, "open".to_owned())
        }
        JobAnswer::Word(word) if word == "closed" || word == "beep" => (0.0, "closed".to_owned()),
        JobAnswer::Word(_) => return Reply::say("Ohms as the meter shows them, or OL."),
    };
    let edit = done(stand, format!("Before power, lamp out, every switch position, {what}: {said}."));
    if ohms < SHORT {
        return Reply::edit(edit, stand.place.clone())
            .saying("That is a short. The supply stays off: find it, and measure again.");
    }
    Reply::edit(edit, stand.place.to(next))
}

/// After the last position, where not all is well.
fn left_or_again(stand: &Stand, text: &str) -> Reply {
    let one = loads(stand).len() == 1;
    match screen(stand).chosen(text) {
        Some("a") if one => again(stand, "the light does not work from every switch."),
        Some("a") => again(stand, "not everything works from its switches."),
        Some(_) => {
            let said = if one {
                "The light does not work from every switch, and was left so."
            } else {
                "Not everything works from its switches, and was left so."
            };
            Reply::edit(done(stand, said.to_owned()), stand.place.to(Stage::Note)).saying(said)
        }
        None => stand.again(),
    }
}

fn position(stand: &Stand, text: &str) -> Reply {
    let shown = screen(stand);
    let Some((with, load)) = about(stand, stand.place.index()) else { return stand.again() };
    let Some(key) = shown.chosen(text) else { return stand.again() };
    let word = match (load.is_receptacle(), key) {
        (_, "t") => return again(stand, &format!("with {with} the breaker trips.")),
        (true, "b") => BOTH,
        (true, "u") => UPPER,
        (true, "o") => LOWER,
        (true, _) => "neither half live",
        (false, "l") => "lit",
        (false, "d") => "dark",
        (false, _) => "dim",
    };
    let all = loads(stand).len();
    let of = if all > 1 { format!("{} ", load.name) } else { String::new() };
    let edit = done(stand, format!("After the work, {with}: {of}{word}."));
    let mut next = Place { proven: None, ..stand.place.next() };
    next.lit.get_or_insert_default().push(word.to_owned());
    if next.index() < answers(stand) || !all_works(stand, items(&next.lit)) {
        return Reply::edit(edit, next);
    }
    let said =
        if all == 1 { "The light works from every switch." } else { "Everything works from its switches." };
    Reply::edit(edit, Place { lit: next.lit.clone(), ..next.to(Stage::Shell) }).saying(said)
}

fn shell(stand: &Stand, text: &str) -> Reply {
    let (name, dark, many) = shell_of(stand);
    let of = if many { format!(" of {name}") } else { String::new() };
    let off = if dark.is_some() { " with the light off" } else { "" };
    let next = Place { lit: stand.place.lit.clone(), ..stand.place.next() };
    let is_last = next.index() >= shells(stand).len();
    let place = if is_last { stand.place.to(Stage::Note) } else { next };
    if text.is_empty() {
        return Reply::edit(done(stand, format!("Screw shell{of} to earth{off}: not taken.")), place);
    }
    let JobAnswer::Number(volts) = typed::answer(Do::Volts, None, text) else {
        return Reply::say("Volts, as the meter shows them.");
    };
    if volts >= LIVE {
        return again(stand, &format!("the screw shell{of} reads {volts} V to earth{off}."));
    }
    Reply::edit(done(stand, format!("Screw shell{of} to earth{off}: {volts} V.")), place)
}

#[cfg(test)]
mod tests {
    use super::works;

    /// Positions as figures, one a load: on or off.
    fn tried(positions: &[&str], switches: usize) -> bool {
        let on: Vec<Vec<bool>> =
            positions.iter().map(|seen| seen.chars().map(|on| on == '1').collect()).collect();
        let moved: Vec<usize> = (1..on.len()).map(|at| at.trailing_zeros() as usize).collect();
        works(&on, &moved, switches, &vec![None; positions[0].len()])
    }

    /// By hand: what two three-ways, a single pole, or two of them beside each other do.
    #[test]
    fn what_works_is_told_from_what_does_not() {
        // One light: both switches change it.
        assert!(tried(&["1", "0", "1", "0"], 2));
        assert!(!tried(&["1", "1", "0", "0"], 2));
        assert!(!tried(&["1", "0", "0", "0"], 2));
        assert!(!tried(&["0", "0", "0", "0"], 2));
        // Two lights on one pair: together, and not one against the other.
        assert!(tried(&["11", "00", "11", "00"], 2));
        assert!(!tried(&["10", "01", "10", "01"], 2));
        // The second light follows one of the two switches only.
        assert!(!tried(&["11", "00", "10", "01"], 2));
        // The second light is on always; or never, and that is none.
        assert!(tried(&["11", "01", "11", "01"], 2));
        assert!(!tried(&["10", "00", "10", "00"], 2));
        // On always, and it should be switched.
        assert!(!works(&[vec![true, true], vec![false, true]], &[0], 1, &[Some(true); 2]));
        // Two lights with a switch each.
        assert!(tried(&["11", "01", "00", "10"], 2));
        // Nothing follows the second switch.
        assert!(!tried(&["11", "01", "01", "11"], 2));
    }
}
