//! Readings in words: `volts a.black to earth, breaker on, hall up, upper landing down, lamp in: 119 V`.

use super::text::{list, number};
use super::words;
use crate::call::job::{Do, JobReading, Pair, items};
use crate::call::{Ask, Conditions, Instrument, InstrumentKind, LampState, Reading, Seen, Source};
use crate::house::{BoxId, DeviceId, House, Point};

/// A whole reading: where, what, under what, what it showed, on what, and who says so.
pub fn reading(house: &House, reading: &Reading) -> String {
    let home = home(house, &reading.ask);
    let at = home.map_or(String::new(), |b| format!("at {}, ", house.outlet(b).name));
    let with = reading.with.map_or(String::new(), |i| format!(" on a {}", instrument(i)));
    let by = match reading.by {
        Source::Technician => "",
        Source::Customer => ", as the customer says",
    };
    format!(
        "{at}{}{}: {}{with}{by}",
        question(house, &reading.ask, home),
        conditions(house, &reading.conditions),
        answers(house, reading)
    )
}

/// A question that nobody has answered, in short: `volts a.black to earth at hall`.
pub fn asked(said: &JobReading) -> String {
    let points = match (&said.between, &said.points, &said.to) {
        (Some(Pair(from, to)), ..) => format!(" {from} to {to}"),
        (None, Some(points), Some(to)) => format!(" {} to {to}", points.join(", ")),
        (None, Some(points), None) => format!(" {}", points.join(", ")),
        _ => String::new(),
    };
    let around = said.around.as_ref().map_or_else(String::new, |around| format!(" round {around}"));
    let lights: Vec<String> = said.light.iter().chain(items(&said.lights)).cloned().collect();
    let lights = if lights.is_empty() { String::new() } else { format!(" {}", list(&lights, "and")) };
    let at = match (&said.at, said.ask) {
        (Some(at), Do::Open) => format!(" {at}"),
        (Some(at), _) => format!(" at {at}"),
        (None, _) => String::new(),
    };
    let ask = if said.ask == Do::Load { "test lamp" } else { said.ask.word() };
    format!("{ask}{points}{around}{lights}{at}")
}

/// An instrument.
pub fn instrument(instrument: Instrument) -> String {
    let name = match instrument.kind {
        InstrumentKind::HighImpedance => "multimeter, high impedance",
        InstrumentKind::LowImpedance => "low-impedance meter",
        InstrumentKind::TwoPole => "two-pole tester",
        InstrumentKind::Solenoid => "solenoid tester",
        InstrumentKind::Neon => "neon tester",
        InstrumentKind::TestLamp => "test lamp",
        InstrumentKind::Continuity => "continuity beeper",
        InstrumentKind::NonContact => "non-contact tester",
        InstrumentKind::Clamp => "clamp meter",
    };
    let mut facts = Vec::new();
    facts.extend(instrument.ohms.map(|v| format!("{} ohms", number(v))));
    facts.extend(instrument.watts.map(|v| format!("{} W", number(v))));
    facts.extend(instrument.resolves.map(|v| format!("shows {} A", number(v))));
    if facts.is_empty() { name.to_owned() } else { format!("{name} ({})", facts.join(", ")) }
}

/// The box where one stands for a question: that of its first point.
fn home(house: &House, ask: &Ask) -> Option<BoxId> {
    match ask {
        Ask::Volts(pairs) | Ask::Ohms(pairs) | Ask::Load(pairs) => {
            pairs.iter().flat_map(|(p, q)| [p, q]).find_map(|p| match p {
                Point::At(local) => Some(house.box_of(*local)),
                Point::Earth => None,
            })
        }
        Ask::AmpsCable(end) => Some(house.end(*end).at),
        Ask::AmpsWire(wire) => Some(house.end(wire.end).at),
        Ask::Watch(_) => None,
    }
}

/// A point as it is called at `home`: with its box only where it is in another.
fn point(house: &House, at: Point, home: Option<BoxId>) -> String {
    match at {
        Point::At(local) if Some(house.box_of(local)) == home => house.local_name(local),
        other => house.point_name(other),
    }
}

fn question(house: &House, ask: &Ask, home: Option<BoxId>) -> String {
    match ask {
        Ask::Volts(pairs) => format!("volts {}", between(house, pairs, home)),
        Ask::Ohms(pairs) => format!("ohms {}", between(house, pairs, home)),
        Ask::Load(pairs) => format!("test lamp {}", between(house, pairs, home)),
        Ask::AmpsCable(end) => format!("amps round the whole cable {}", house.end(*end).tag),
        Ask::AmpsWire(wire) => {
            format!("amps round {}.{}", house.end(wire.end).tag, house.wire_word(*wire))
        }
        Ask::Watch(lights) => {
            let names: Vec<String> = lights.iter().map(|&d| device(house, d)).collect();
            format!("watch {}", list(&names, "and"))
        }
    }
}

fn between(house: &House, pairs: &[(Point, Point)], home: Option<BoxId>) -> String {
    let name = |p: Point| point(house, p, home);
    match pairs {
        [(_, one), ..] if pairs.iter().all(|(_, to)| to == one) => {
            let from: Vec<String> = pairs.iter().map(|(p, _)| name(*p)).collect();
            format!("{} to {}", from.join(", "), name(*one))
        }
        _ => {
            let each: Vec<String> =
                pairs.iter().map(|(p, q)| format!("{} to {}", name(*p), name(*q))).collect();
            each.join(", ")
        }
    }
}

/// A device by the shortest name that is not another's: its box alone where no other of its sort is there.
pub fn device(house: &House, id: DeviceId) -> String {
    let this = house.device(id);
    let alike = |kind: crate::house::DeviceKind| {
        kind.is_switch() == this.kind.is_switch() && kind.is_light() == this.kind.is_light()
    };
    let many =
        house.device_ids().map(|d| house.device(d)).filter(|d| d.at == this.at && alike(d.kind)).count();
    if many > 1 { house.device_name(id) } else { house.outlet(this.at).name.clone() }
}

/// Conditions as a list that begins with a comma, so that it can follow a question.
fn conditions(house: &House, conditions: &Conditions) -> String {
    let mut said = Vec::new();
    let mut unsaid = Vec::new();
    breakers(house, conditions, &mut said, &mut unsaid);
    for (id, position) in house.switches().zip(&conditions.positions) {
        let name = device(house, id);
        match position {
            Some(second) => said.push(format!("{name} {}", house.position_word(id, *second))),
            None => unsaid.push(name),
        }
    }
    lamps(house, conditions, &mut said, &mut unsaid);
    for &id in &conditions.out {
        said.push(format!("{} out", house.device_name(id)));
    }
    for &wire in &conditions.lifted {
        said.push(format!("{} lifted", house.wire_name(wire)));
    }
    for &(p, q) in &conditions.jumpers {
        said.push(format!("{} bridged to {}", house.point_name(p), house.point_name(q)));
    }
    if !unsaid.is_empty() {
        said.push(format!("not written down: {}", list(&unsaid, "and")));
    }
    said.iter().map(|s| format!(", {s}")).collect()
}

fn breakers(house: &House, conditions: &Conditions, said: &mut Vec<String>, unsaid: &mut Vec<String>) {
    for (feed, on) in house.feeds.iter().zip(&conditions.breakers) {
        let word = words::feed_word(feed);
        let name = if house.feeds.len() > 1 { format!("{word} {}", feed.name) } else { word.to_owned() };
        match on {
            Some(on) => said.push(format!("{name} {}", if *on { "on" } else { "off" })),
            None => unsaid.push(name),
        }
    }
}

fn lamps(house: &House, conditions: &Conditions, said: &mut Vec<String>, unsaid: &mut Vec<String>) {
    let many = house.lights().count() > 1;
    for (id, lamp) in house.lights().zip(&conditions.lamps) {
        let name = if many { format!("lamp at {}", device(house, id)) } else { "lamp".to_owned() };
        match lamp {
            Some(LampState::In) => said.push(format!("{name} in")),
            Some(LampState::Out) => said.push(format!("{name} out")),
            Some(LampState::Test) => said.push(format!("{name} replaced by a known good one")),
            None => unsaid.push(name),
        }
    }
}

fn answers(house: &House, reading: &Reading) -> String {
    let named: Option<&[DeviceId]> = match &reading.ask {
        Ask::Watch(lights) if lights.len() > 1 => Some(lights),
        _ => None,
    };
    let each: Vec<String> = reading
        .seen
        .iter()
        .enumerate()
        .map(|(n, &seen)| {
            let said = answer(&reading.ask, seen);
            match named.and_then(|lights| lights.get(n)) {
                Some(&light) => format!("{} {said}", device(house, light)),
                None => said,
            }
        })
        .collect();
    each.join(", ")
}

fn answer(ask: &Ask, seen: Seen) -> String {
    match seen {
        Seen::Number { value, spread } if spread > 0.0 => {
            format!("{} to {}{}", number((value - spread).max(0.0)), number(value + spread), unit(ask))
        }
        Seen::Number { value, .. } => format!("{}{}", number(value), unit(ask)),
        Seen::Overload => "off the scale".to_owned(),
        Seen::Bin(bin) => bin_word(ask, bin).to_owned(),
        Seen::Beep(true) => "beeps".to_owned(),
        Seen::Beep(false) => "silent".to_owned(),
        Seen::Alarm(true) => "alarms".to_owned(),
        Seen::Alarm(false) => "no alarm".to_owned(),
        Seen::Trips => "the breaker trips".to_owned(),
    }
}

fn unit(ask: &Ask) -> &'static str {
    match ask {
        Ask::Volts(_) => " V",
        Ask::Ohms(_) => " ohms",
        Ask::AmpsCable(_) | Ask::AmpsWire(_) => " A",
        Ask::Load(_) | Ask::Watch(_) => "",
    }
}

/// A bin by name, in the order of the types in `call`.
fn bin_word(ask: &Ask, bin: u8) -> &'static str {
    let words: &[&str] = match ask {
        Ask::Volts(_) => &["none", "ghost", "part of the supply", "full supply"],
        Ask::Ohms(_) => &["closed", "a lamp filament", "some load", "open"],
        Ask::AmpsCable(_) | Ask::AmpsWire(_) => &["none", "some"],
        Ask::Load(_) => &["dark", "dim", "bright"],
        Ask::Watch(_) => &["lit", "dim", "faint glow", "dark"],
    };
    words.get(usize::from(bin)).copied().unwrap_or("not understood")
}
