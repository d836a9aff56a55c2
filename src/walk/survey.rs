//! What is in a box: cables, devices, what is on which screw, what is spliced; shown again before it counts.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand};
use crate::call::edit::Edit;
use crate::call::job::{JobApart, JobBox, JobCable, JobDevice, JobJoint, Screws, items};
use crate::house::{BoxKind, DeviceKind, Sheath, Terminal};
use crate::show::palette::Tone;
use crate::show::text::{pad, width};
use crate::show::words;
use std::collections::BTreeMap;

/// Common cables: the key, what is said of them, the wires.
const CABLES: [(&str, &str, &[&str]); 7] = [
    ("2", "two-wire: black, white", &["black", "white"]),
    ("3", "three-wire: black, red, white", &["black", "red", "white"]),
    ("2g", "two-wire with bare", &["black", "white", "bare"]),
    ("3g", "three-wire with bare", &["black", "red", "white", "bare"]),
    ("c2", "old cloth, two wires, colours gone", &["w1", "w2"]),
    ("c3", "old cloth, three wires, colours gone", &["w1", "w2", "w3"]),
    ("s", "a single wire, colour gone", &["w1"]),
];

const SHEATHS: [(&str, Sheath); 6] = [
    ("c", Sheath::ClothNm),
    ("n", Sheath::Nm),
    ("a", Sheath::Armored),
    ("k", Sheath::KnobAndTube),
    ("p", Sheath::Conduit),
    ("l", Sheath::Lead),
];

const DEVICES: [(&str, DeviceKind); 9] = [
    ("s", DeviceKind::SinglePole),
    ("t", DeviceKind::ThreeWay),
    ("f", DeviceKind::FourWay),
    ("2", DeviceKind::DoublePole),
    ("d", DeviceKind::Dimmer),
    ("e", DeviceKind::Electronic),
    ("l", DeviceKind::Light),
    ("p", DeviceKind::PullChain),
    ("r", DeviceKind::Receptacle),
];

/// A three-way or four-way as people write it, by its key.
pub fn ways(text: &str) -> Option<&'static str> {
    match text.to_lowercase().trim_end_matches("way").trim_end_matches([' ', '-']) {
        "3" | "three" => Some("t"),
        "4" | "four" => Some("f"),
        _ => None,
    }
}

/// Begins the survey of a box that was opened.
pub fn begin(stand: &Stand, name: &str) -> Place {
    let draft = stand.outlet(name).cloned().unwrap_or_else(|| JobBox::new(name, BoxKind::Junction));
    let stage = if last_sheath(stand).is_some() { Stage::Cables } else { Stage::Sheath };
    Place { draft: Some(draft), ..stand.place.to(stage) }
}

/// A survey that is looked at again.
pub fn again(stand: &Stand, outlet: &JobBox) -> Place {
    Place { draft: Some(outlet.clone()), ..stand.place.to(Stage::Confirm) }
}

fn last_sheath(stand: &Stand) -> Option<Sheath> {
    stand.boxes().iter().rev().flat_map(|outlet| items(&outlet.cables)).find_map(|cable| cable.sheath)
}

fn draft(stand: &Stand) -> JobBox {
    stand.place.draft.clone().unwrap_or_else(|| JobBox::new("", BoxKind::Junction))
}

/// All wires of a box, as points.
fn wires(outlet: &JobBox) -> Vec<String> {
    let of = |cable: &JobCable| -> Vec<String> {
        cable.wires.iter().map(|wire| format!("{}.{wire}", cable.tag)).collect()
    };
    items(&outlet.cables).iter().flat_map(of).collect()
}

/// Wires that are in no joint yet.
fn free(outlet: &JobBox) -> Vec<String> {
    let joined = |wire: &String| items(&outlet.joints).iter().any(|joint| joint.points.contains(wire));
    wires(outlet).into_iter().filter(|wire| !joined(wire)).collect()
}

/// Whether a wire is a grounding conductor by its look.
fn is_ground(wire: &str) -> bool {
    ["bare", "green"]
        .iter()
        .any(|colour| wire.rsplit_once('.').is_some_and(|(_, wire)| wire.starts_with(colour)))
}

/// The screws of a device; of a three-way the odd-coloured one comes first.
fn screws(device: &JobDevice) -> Vec<(String, String)> {
    let terminals = device.kind.terminals();
    if device.screws == Some(Screws::Unmarked) {
        let name = |at: usize| format!("{}.x{at}", device.name);
        return (1..=terminals.len())
            .map(|at| (name(at), format!("screw x{at} of {}", device.name)))
            .collect();
    }
    let named = |terminal: &Terminal| {
        let hint = if *terminal == Terminal::Common { " (the odd-coloured one)" } else { "" };
        let label = format!("the {}{hint} of {}", words::terminal(*terminal), device.name);
        (format!("{}.{}", device.name, terminal.word()), label)
    };
    terminals.iter().map(named).collect()
}

fn all_screws(outlet: &JobBox) -> Vec<(String, String)> {
    items(&outlet.devices).iter().flat_map(screws).collect()
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let outlet = draft(stand);
    let new = |ask: &str| Screen::new(format!("In {}", outlet.name), ask);
    match stand.place.stage {
        Stage::Sheath => {
            let choices = SHEATHS.map(|(key, sheath)| (key, words::sheath(sheath)));
            new("What covers the cables?").choose(&choices).empty("not told")
        }
        Stage::Cables => {
            let choices = CABLES.map(|(key, label, _)| (key, label));
            let screen =
                new("Which cables come in? All of them, as in: 2 3. They are a, b, c in this order.")
                    .choose(&choices)
                    .choose(&[("black,blue", "others: their colours")])
                    .typed();
            match sheath_before(stand, &outlet) {
                Some(sheath) => screen.say(format!(
                    "Each is {}, unless its letter stands before it: c cloth, n plastic, a armoured, k knob-and-tube, p conduit, l lead.",
                    words::sheath(sheath)
                )),
                None => screen,
            }
        }
        Stage::Devices => devices_screen(stand, new("Which devices are in it?")),
        Stage::Screw => screw_screen(stand, &outlet),
        Stage::Splice => {
            let screen = new("Which are spliced? One splice at a time, as in: 1 2.").typed();
            let free = free(&outlet);
            let screen = numbered(screen, &outlet, &free);
            let screen = if free.iter().any(|wire| is_ground(wire)) {
                screen.choose(&[("metal", "the box itself, as in: 3 metal")])
            } else {
                screen
            };
            screen
                .choose(&[("?", "a taped bundle hides some"), ("x", "the rest was taken apart before")])
                .empty("no more; each that is left is capped by itself")
        }
        Stage::Seen => new("What else is seen, as in: brittle-insulation, scorched?").empty("nothing"),
        _ => confirm_screen(&outlet),
    }
}

fn devices_screen(stand: &Stand, screen: Screen) -> Screen {
    let choices = DEVICES.map(|(key, kind)| (key, words::device_kind(kind)));
    let screen = screen
        .choose(&choices)
        .typed()
        .say("Add u where its screws cannot be told apart, as in: tu. None: 0.");
    let known: Vec<&str> = items(&draft(stand).devices)
        .iter()
        .filter(|device| device.kind != DeviceKind::Switch)
        .map(|device| words::device_kind(device.kind))
        .collect();
    if known.is_empty() { screen } else { screen.empty(known.join(", ")) }
}

/// Wires as choices, by their numbers in the box.
fn numbered(screen: Screen, outlet: &JobBox, these: &[String]) -> Screen {
    let all = wires(outlet);
    let number = |wire: &String| all.iter().position(|one| one == wire).map(|at| (at + 1).to_string());
    these.iter().fold(screen, |screen, wire| screen.choose(&[(&number(wire).unwrap_or_default(), wire)]))
}

/// What is written on a screw already.
fn on_screw(outlet: &JobBox, screw: &String) -> Vec<String> {
    let joint = items(&outlet.joints).iter().find(|joint| joint.points.contains(screw));
    let points = joint.map(|joint| joint.points.clone()).unwrap_or_default();
    points.into_iter().filter(|point| point != screw).collect()
}

fn screw_screen(stand: &Stand, outlet: &JobBox) -> Screen {
    let at = stand.place.index();
    let screws = all_screws(outlet);
    let (screw, label) = screws.get(at).cloned().unwrap_or_default();
    let offered = if is_again(outlet, at) { wires(outlet) } else { free(outlet) };
    let screen = Screen::new(format!("In {}", outlet.name), format!("Which wire is on {label}?"))
        .say("Two under one screw: 1 2. Two spliced to a tail on it: 1 2 t. None: 0.")
        .typed();
    let screen = numbered(screen, outlet, &offered);
    let screen = if at == 0 { screen.choose(&[("x", "all of it was taken apart before")]) } else { screen };
    let known = on_screw(outlet, &screw);
    if known.is_empty() {
        screen.empty("none")
    } else {
        screen.empty(format!("{}, as written", known.join(", ")))
    }
}

/// Whether the screws are gone through again: then a wire may also come from another screw.
fn is_again(outlet: &JobBox, at: usize) -> bool {
    all_screws(outlet).iter().skip(at).any(|(screw, _)| !on_screw(outlet, screw).is_empty())
}

/// Where each wire of a box goes, for the drawing: its screws and what it is spliced with.
fn goes(outlet: &JobBox, wire: &String) -> String {
    let Some(joint) = items(&outlet.joints).iter().find(|joint| joint.points.contains(wire)) else {
        return match (&outlet.apart, outlet.complete) {
            (Some(JobApart::All(true)), _) => "taken apart before",
            (Some(JobApart::Points(points)), _) if points.contains(wire) => "taken apart before",
            (_, Some(false)) => "hidden or capped",
            _ => "capped by itself",
        }
        .to_owned();
    };
    let screws: Vec<String> = all_screws(outlet).into_iter().map(|(screw, _)| screw).collect();
    let (on, with): (Vec<&String>, Vec<&String>) =
        joint.points.iter().filter(|point| *point != wire).partition(|point| screws.contains(point));
    let list = |points: Vec<&String>| points.into_iter().cloned().collect::<Vec<_>>().join(" and ");
    let doubled = on.iter().any(|screw| items(&outlet.doubled).contains(screw));
    match (on.is_empty(), with.is_empty()) {
        (false, true) => list(on),
        (false, false) if doubled => format!("{}, under it with {}", list(on), list(with)),
        (false, false) => format!("{} by a tail, with {}", list(on), list(with)),
        (true, _) => format!("spliced with {}", list(with)),
    }
}

fn confirm_screen(outlet: &JobBox) -> Screen {
    let mut screen = Screen::new(format!("In {}, as written", outlet.name), "Is that how it is?");
    for cable in items(&outlet.cables) {
        let widest = cable.wires.iter().map(|wire| width(wire)).max().unwrap_or(0);
        for (at, wire) in cable.wires.iter().enumerate() {
            let lead = if at == 0 { format!("{} ", cable.tag) } else { " ".repeat(width(&cable.tag) + 1) };
            let point = format!("{}.{wire}", cable.tag);
            let goes = goes(outlet, &point);
            screen = screen.draw(&point, format!("{lead}{} ── {goes}", pad(wire, widest)), goes.clone());
        }
    }
    if items(&outlet.devices).is_empty() {
        screen = screen.say("No device.");
    }
    for (screw, _) in all_screws(outlet) {
        if on_screw(outlet, &screw).is_empty() && outlet.apart != Some(JobApart::All(true)) {
            screen = screen.say(format!("Nothing on {screw}."));
        }
    }
    if let Some(seen) = &outlet.seen {
        screen = screen.line(Tone::Plain, "seen:", seen.join(", "));
    }
    screen
        .choose(&[
            ("y", "yes"),
            ("c", "cables again"),
            ("d", "devices, screws again"),
            ("s", "splices again"),
            ("o", "more is seen"),
        ])
        .empty("yes")
}

/// What an answer leads to.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        Stage::Sheath => sheath(stand, text),
        Stage::Cables => cables(stand, text),
        Stage::Devices => devices(stand, text),
        Stage::Screw => screw(stand, text),
        Stage::Splice => splice(stand, text),
        Stage::Seen => seen(stand, text),
        _ => confirm(stand, text),
    }
}

/// Goes on with the draft.
fn go(stand: &Stand, draft: JobBox, stage: Stage, step: usize) -> Reply {
    let step = i64::try_from(step).ok().filter(|step| *step > 0);
    let back = stand.place.back.clone();
    Reply::to(Place { draft: Some(draft), step, back, ..stand.place.to(stage) })
}

fn sheath(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let key = screen(stand).chosen(text).map(str::to_owned);
    let Some(sheath) = SHEATHS.iter().find(|(known, _)| Some(*known) == key.as_deref()) else {
        return if text.is_empty() { go(stand, outlet, Stage::Cables, 0) } else { stand.again() };
    };
    // Kept on an end that has no wires yet; the cables that are named next take it over.
    let end = JobCable { tag: "a".to_owned(), sheath: Some(sheath.1), ..JobCable::default() };
    outlet.cables = Some(vec![end]);
    go(stand, outlet, Stage::Cables, 0)
}

/// What covers the cables that are named next, where nothing else is said.
fn sheath_before(stand: &Stand, outlet: &JobBox) -> Option<Sheath> {
    items(&outlet.cables).first().and_then(|cable| cable.sheath).or_else(|| last_sheath(stand))
}

fn cables(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let mut sheath = sheath_before(stand, &outlet);
    let known = items(&outlet.cables).to_vec();
    let mut cables: Vec<JobCable> = Vec::new();
    let mut tags = 'a'..='z';
    for word in text.to_lowercase().split_whitespace() {
        if let Some((_, said)) = SHEATHS.iter().find(|(key, _)| *key == word) {
            sheath = Some(*said);
            continue;
        }
        let (Some(wires), Some(tag)) = (wires_of(word), tags.next()) else {
            return Reply::say(format!(
                "\"{word}\" is no cable: type 2, 3, or colours with commas between them."
            ));
        };
        let end = JobCable { tag: tag.to_string(), sheath, wires, ..JobCable::default() };
        // What else was known of it stays.
        let same = known.iter().find(|known| known.tag == end.tag && known.wires == end.wires);
        cables.push(same.map_or(end.clone(), |same| JobCable { sheath, ..same.clone() }));
    }
    if cables.is_empty() {
        return Reply::say("At least one cable comes into every box.");
    }
    outlet.cables = Some(cables);
    keep_joints(&mut outlet);
    go(stand, outlet, Stage::Devices, 0)
}

/// The wires that a word for a cable stands for; a colour that repeats is numbered.
fn wires_of(word: &str) -> Option<Vec<String>> {
    if let Some((_, _, wires)) = CABLES.iter().find(|(key, ..)| *key == word) {
        return Some(wires.iter().map(|&wire| wire.to_owned()).collect());
    }
    let colours: Vec<&str> = word.split(',').filter(|colour| !colour.is_empty()).collect();
    let named =
        |colour: &&str| colour.starts_with(char::is_alphabetic) && colour.chars().all(char::is_alphanumeric);
    if colours.is_empty() || word.len() < 3 || !colours.iter().all(named) {
        return None;
    }
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    let mut wires = Vec::new();
    for colour in &colours {
        let nth = count.entry(colour).and_modify(|nth| *nth += 1).or_insert(1);
        let alone = colours.iter().filter(|other| *other == colour).count() == 1;
        wires.push(if alone { (*colour).to_owned() } else { format!("{colour}{nth}") });
    }
    Some(wires)
}

fn devices(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let known = items(&outlet.devices).to_vec();
    if text.is_empty() {
        if known.is_empty() || known.iter().any(|device| device.kind == DeviceKind::Switch) {
            return stand.again();
        }
    } else if text == "0" {
        outlet.devices = None;
    } else {
        let mut devices: Vec<JobDevice> = Vec::new();
        for word in text.to_lowercase().split_whitespace() {
            let (word, unmarked) = match word.strip_suffix('u') {
                Some(rest) if !rest.is_empty() => (rest, true),
                _ => (word, false),
            };
            let word = ways(word).unwrap_or(word);
            let Some(kind) = DEVICES.iter().find(|(key, _)| *key == word).map(|(_, kind)| *kind) else {
                return stand.again();
            };
            devices.push(device(&known, &devices, kind, unmarked));
        }
        outlet.devices = Some(devices);
    }
    keep_joints(&mut outlet);
    if all_screws(&outlet).is_empty() {
        after_screws(stand, outlet)
    } else {
        go(stand, outlet, Stage::Screw, 0)
    }
}

/// Drops from the joints what is not in the box any more.
fn keep_joints(outlet: &mut JobBox) {
    let screws: Vec<String> = all_screws(outlet).into_iter().map(|(screw, _)| screw).collect();
    let mut there = wires(outlet);
    there.extend(screws.iter().cloned().chain(["metal".to_owned()]));
    for joint in outlet.joints.iter_mut().flatten() {
        joint.points.retain(|point| there.contains(point));
    }
    outlet.joints.iter_mut().for_each(|joints| joints.retain(|joint| joint.points.len() > 1));
    outlet.joints = outlet.joints.take().filter(|joints| !joints.is_empty());
    outlet.doubled.iter_mut().for_each(|doubled| doubled.retain(|screw| screws.contains(screw)));
    outlet.doubled = outlet.doubled.take().filter(|doubled| !doubled.is_empty());
}

/// A device by its usual name, with what is known of it.
fn device(known: &[JobDevice], before: &[JobDevice], kind: DeviceKind, unmarked: bool) -> JobDevice {
    let sort = |kind: DeviceKind| match kind {
        kind if kind.is_switch() => "switch",
        kind if kind.is_light() => "light",
        _ => "receptacle",
    };
    let alike = before.iter().filter(|other| sort(other.kind) == sort(kind)).count();
    let same = known.iter().filter(|device| sort(device.kind) == sort(kind)).nth(alike);
    let name = match alike {
        0 => sort(kind).to_owned(),
        n => format!("{}{}", sort(kind), n + 1),
    };
    JobDevice {
        name: same.map_or(name, |device| device.name.clone()),
        kind,
        screws: unmarked.then_some(Screws::Unmarked),
        lamp: same.and_then(|device| device.lamp),
        watts: same.and_then(|device| device.watts),
        sure: None,
    }
}

fn screw(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let (at, screws) = (stand.place.index(), all_screws(&outlet));
    let Some((screw, _)) = screws.get(at) else { return after_screws(stand, outlet) };
    let text = text.to_lowercase();
    let text = text.as_str();
    if text == "x" && at == 0 {
        (outlet.apart, outlet.joints) = (Some(JobApart::All(true)), None);
        return go(stand, outlet, Stage::Confirm, 0);
    }
    outlet.apart = None;
    let (text, tail) = match text.strip_suffix('t') {
        Some(rest) if rest.ends_with(' ') => (rest, true),
        _ => (text, false),
    };
    let next = |outlet| {
        if at + 1 < screws.len() {
            go(stand, outlet, Stage::Screw, at + 1)
        } else {
            after_screws(stand, outlet)
        }
    };
    if text.is_empty() {
        return next(outlet);
    }
    let Some(mut points) = (if text == "0" { Some(Vec::new()) } else { picked(&outlet, text) }) else {
        return Reply::say("Wires by their numbers, as in: 1, or 1 2 for two under one screw.");
    };
    let taken = |point: &&String| wires(&outlet).contains(point) && !free(&outlet).contains(point);
    if let Some(point) = points.iter().find(taken).filter(|_| !is_again(&outlet, at)) {
        return Reply::say(format!("{point}: {} already; undo goes back there.", goes(&outlet, point)));
    }
    part(&mut outlet, screw);
    points.iter().for_each(|point| part(&mut outlet, point));
    outlet.doubled.iter_mut().for_each(|doubled| doubled.retain(|one| one != screw));
    if points.len() > 1 && !tail {
        outlet.doubled.get_or_insert_default().push(screw.clone());
    }
    outlet.doubled = outlet.doubled.filter(|doubled| !doubled.is_empty());
    if !points.is_empty() {
        points.push(screw.clone());
        join(&mut outlet, points);
    }
    next(outlet)
}

/// Takes a point out of its joint; what is left of two is no joint any more.
fn part(outlet: &mut JobBox, point: &String) {
    for joint in outlet.joints.iter_mut().flatten() {
        joint.points.retain(|one| one != point);
    }
    outlet.joints.iter_mut().for_each(|joints| joints.retain(|joint| joint.points.len() > 1));
}

/// Wires by their numbers in the box; wires, screws and the metal of the box by name.
fn picked(outlet: &JobBox, text: &str) -> Option<Vec<String>> {
    let numbered = wires(outlet);
    let screws = all_screws(outlet).into_iter().map(|(screw, _)| screw);
    let all: Vec<String> = numbered.iter().cloned().chain(screws).chain(["metal".to_owned()]).collect();
    let one = |word: &str| match word.parse::<usize>() {
        Ok(number) => numbered.get(number.checked_sub(1)?).cloned(),
        Err(_) => all.iter().find(|wire| wire.to_lowercase() == word).cloned(),
    };
    let mut points =
        text.split([' ', ',']).filter(|word| !word.is_empty()).map(one).collect::<Option<Vec<_>>>()?;
    let before = points.len();
    points.sort();
    points.dedup();
    (before == points.len() && !points.is_empty()).then_some(points)
}

/// Adds a joint; what is in one already brings all of it along.
fn join(outlet: &mut JobBox, mut points: Vec<String>) {
    let joints = outlet.joints.get_or_insert_default();
    let mut rest = Vec::new();
    for joint in joints.drain(..) {
        if joint.points.iter().any(|point| points.contains(point)) {
            points.extend(joint.points);
        } else {
            rest.push(joint);
        }
    }
    let mut seen = Vec::new();
    points.retain(|point| {
        !seen.contains(point) && {
            seen.push(point.clone());
            true
        }
    });
    rest.push(JobJoint { points, sure: None });
    *joints = rest;
}

fn after_screws(stand: &Stand, outlet: JobBox) -> Reply {
    let free = free(&outlet);
    // A grounding conductor may be on the metal of the box, alone as it is.
    let stage = if free.len() > 1 || free.iter().any(|wire| is_ground(wire)) {
        Stage::Splice
    } else {
        Stage::Confirm
    };
    go(stand, outlet, stage, 0)
}

fn splice(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let text = text.to_lowercase();
    let text = text.as_str();
    if text.is_empty() || text == "?" {
        outlet.complete = Some(text.is_empty());
        return go(stand, outlet, Stage::Confirm, 0);
    }
    if text == "x" {
        let empty = all_screws(&outlet).into_iter().map(|(screw, _)| screw);
        let empty = empty.filter(|screw| on_screw(&outlet, screw).is_empty());
        outlet.apart = Some(JobApart::Points(free(&outlet).into_iter().chain(empty).collect()));
        return go(stand, outlet, Stage::Confirm, 0);
    }
    match picked(&outlet, text) {
        Some(points) if points.len() > 1 => join(&mut outlet, points),
        _ => return Reply::say("A splice joins two wires at least: their numbers, as in: 1 2."),
    }
    after_screws(stand, outlet)
}

fn seen(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let words = text.split(',').map(str::trim).filter(|word| !word.is_empty());
    outlet.seen.get_or_insert_default().extend(words.map(str::to_owned));
    outlet.seen = outlet.seen.filter(|seen| !seen.is_empty());
    go(stand, outlet, Stage::Confirm, 0)
}

fn confirm(stand: &Stand, text: &str) -> Reply {
    let mut outlet = draft(stand);
    let shown = confirm_screen(&outlet);
    let key = shown.chosen(if text.is_empty() { "y" } else { text });
    match key {
        Some("y") => {
            outlet.opened = Some(true);
            outlet.complete.get_or_insert(true);
            outlet.joints.get_or_insert_default();
            let wires: usize = items(&outlet.cables).iter().map(|cable| cable.wires.len()).sum();
            let cables = crate::show::text::count(items(&outlet.cables).len(), "cable", "cables");
            let wires = crate::show::text::count(wires, "wire", "wires");
            Reply::edit(Edit::outlet(stand.job, &outlet), stand.place.back())
                .saying(format!("{}: {cables}, {wires}.", outlet.name))
        }
        Some("c") => go(stand, outlet, Stage::Cables, 0),
        Some("d") => go(stand, outlet, Stage::Devices, 0),
        Some("s") => {
            outlet.apart = None;
            let on_screw =
                |joint: &JobJoint| all_screws(&outlet).iter().any(|(screw, _)| joint.points.contains(screw));
            let kept: Vec<JobJoint> =
                items(&outlet.joints).iter().filter(|joint| on_screw(joint)).cloned().collect();
            outlet.joints = Some(kept);
            go(stand, outlet, Stage::Splice, 0)
        }
        Some(_) => go(stand, outlet, Stage::Seen, 0),
        None => stand.again(),
    }
}
