//! Where a condition was found, as one says it to a customer, or to somebody of the trade.

use super::build::Reader;
use crate::conditions::{Found, Place};
use crate::house::{BoxId, House, LocalPoint, WireId};
use crate::show::text::list;
use crate::show::words::Confidence;

/// All places of a finding, the firmest first, each no firmer than it is.
pub(super) fn all(house: &House, places: &[Found], reader: Reader) -> String {
    let mut said = Vec::new();
    for firm in [Confidence::Settled, Confidence::Likely, Confidence::Open] {
        let of_it: Vec<&Found> = places.iter().filter(|found| Confidence::of(found.p) == firm).collect();
        if of_it.is_empty() {
            continue;
        }
        let hedge = match firm {
            Confidence::Settled => "",
            Confidence::Likely => "likely: ",
            Confidence::Open => "not settled, perhaps: ",
        };
        said.push(format!("{hedge}{}", grouped(house, &of_it, reader)));
    }
    said.join("; ")
}

/// Wires of one box are told together for a customer.
fn grouped(house: &House, places: &[&Found], reader: Reader) -> String {
    let mut said: Vec<String> = Vec::new();
    let mut wires: Vec<(BoxId, Vec<WireId>)> = Vec::new();
    for found in places {
        match &found.place {
            Place::Wire(wire) if reader == Reader::Customer => {
                let at = house.end(wire.end).at;
                match wires.last_mut() {
                    Some((last, group)) if *last == at => group.push(*wire),
                    _ => wires.push((at, vec![*wire])),
                }
            }
            place => {
                let remark = found.remark.as_ref().map_or(String::new(), |remark| format!(" ({remark})"));
                said.push(format!("{}{remark}", one(house, place, reader)));
            }
        }
    }
    said.extend(wires.iter().map(|(at, group)| {
        let each: Vec<String> = group.iter().map(|&wire| spoken(house, wire)).collect();
        format!("{}: {}", house.outlet(*at).name, list(&each, "and"))
    }));
    said.join("; ")
}

fn one(house: &House, place: &Place, reader: Reader) -> String {
    let customer = reader == Reader::Customer;
    match place {
        Place::House => "the circuit as a whole".to_owned(),
        Place::Box(at) => house.outlet(*at).name.clone(),
        Place::Cable(end) if customer => {
            let cable = house.end(*end);
            format!("{}: cable {}", house.outlet(cable.at).name, cable.tag)
        }
        Place::Cable(end) => house.end_name(*end),
        Place::Wire(wire) if customer => spoken(house, *wire),
        Place::Wire(wire) => house.wire_name(*wire),
        Place::Joint(at, n) => {
            let points = house.outlet(*at).joints.get(*n).map_or(&[][..], |joint| &joint.points);
            let names: Vec<String> = points.iter().map(|&point| of_joint(house, point, customer)).collect();
            format!("{}: {}", house.outlet(*at).name, names.join(" with "))
        }
        Place::Device(device) if customer => {
            let seen = house.device(*device);
            format!("{}: {}", house.outlet(seen.at).name, seen.name)
        }
        Place::Device(device) => house.device_name(*device),
        Place::Defect { at, detail } => {
            let at = if customer { at.replacen('/', ": ", 1) } else { at.clone() };
            if detail.is_empty() || customer { at } else { format!("{at} ({})", detail.join(", ")) }
        }
    }
}

fn of_joint(house: &House, point: LocalPoint, customer: bool) -> String {
    match point {
        LocalPoint::Wire(wire) if customer => spoken(house, wire),
        other => house.local_name(other),
    }
}

/// `white of cable a`.
fn spoken(house: &House, wire: WireId) -> String {
    format!("{} of cable {}", house.wire_word(wire), house.end(wire.end).tag)
}
