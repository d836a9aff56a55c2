//! Names into ids: boxes, cables, devices, wires, screws.

use crate::call::job::{any_of, likely};
use crate::house::{BoxId, DeviceId, EndId, House, LocalPoint, Point, Terminal, WireId};
use std::collections::BTreeMap;

/// A name that leads nowhere: what is wrong, and what to write.
#[derive(Debug)]
pub struct Miss {
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: String,
}

impl Miss {
    /// A miss in these words.
    pub fn new(what: impl Into<String>, instead: impl Into<String>) -> Miss {
        Miss { what: what.into(), instead: instead.into() }
    }
}

/// What a name in a box stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Local {
    /// A cable end.
    End(EndId),
    /// A device.
    Device(DeviceId),
}

/// What the clamp is round.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Around {
    /// A whole cable.
    Cable(EndId),
    /// One wire.
    Wire(WireId),
}

/// The names of a house.
pub struct Names<'h> {
    /// The house they are of.
    pub house: &'h House,
    boxes: BTreeMap<&'h str, BoxId>,
    locals: BTreeMap<(BoxId, &'h str), Local>,
}

impl<'h> Names<'h> {
    /// Collects the names; where one stands twice (which is reported elsewhere) the first counts.
    pub fn of(house: &'h House) -> Names<'h> {
        let mut boxes = BTreeMap::new();
        for id in house.box_ids() {
            boxes.entry(house.outlet(id).name.as_str()).or_insert(id);
        }
        let mut locals = BTreeMap::new();
        for id in house.end_ids() {
            let cable = house.end(id);
            locals.entry((cable.at, cable.tag.as_str())).or_insert(Local::End(id));
        }
        for id in house.device_ids() {
            let device = house.device(id);
            locals.entry((device.at, device.name.as_str())).or_insert(Local::Device(id));
        }
        Names { house, boxes, locals }
    }

    /// A box by name.
    pub fn outlet(&self, name: &str) -> Result<BoxId, Miss> {
        self.boxes.get(name).copied().ok_or_else(|| {
            let what = format!("there is no box called \"{name}\"");
            Miss::new(what, pick(name, self.boxes.keys().copied()))
        })
    }

    /// Splits `BOX/rest`; a bare rest is at `home`.
    fn split<'t>(&self, text: &'t str, home: Option<BoxId>) -> Result<(BoxId, &'t str), Miss> {
        match (text.split_once('/'), home) {
            (Some((name, rest)), _) => Ok((self.outlet(name)?, rest)),
            (None, Some(home)) => Ok((home, text)),
            (None, None) => {
                let what = "it is not said in which box that is";
                Err(Miss::new(what, format!("at: and the box, or BOX/{text}")))
            }
        }
    }

    /// A cable or device by its name in a box.
    fn local(&self, at: BoxId, name: &str) -> Result<Local, Miss> {
        self.locals.get(&(at, name)).copied().ok_or_else(|| {
            let known = self.locals.keys().filter(|(place, _)| *place == at).map(|(_, name)| *name);
            let outlet = &self.house.outlet(at).name;
            Miss::new(format!("box \"{outlet}\" has no cable or device called \"{name}\""), pick(name, known))
        })
    }

    /// A point of an opened box, or `earth`.
    pub fn point(&self, text: &str, home: Option<BoxId>) -> Result<Point, Miss> {
        if text == "earth" {
            return Ok(Point::Earth);
        }
        let (at, rest) = self.split(text, home)?;
        self.opened(at)?;
        self.local_point(at, rest).map(Point::At)
    }

    /// Fails for a box that was not opened.
    pub fn opened(&self, at: BoxId) -> Result<(), Miss> {
        let outlet = self.house.outlet(at);
        if outlet.opened {
            return Ok(());
        }
        let what = format!("box \"{}\" is not opened: nothing in it can be touched", outlet.name);
        Err(Miss::new(what, "a point in an opened box, or opened: true and what was seen there in its box"))
    }

    /// A point by its name in a box.
    pub fn local_point(&self, at: BoxId, text: &str) -> Result<LocalPoint, Miss> {
        if text == "metal" {
            return Ok(LocalPoint::Metal(at));
        }
        let (name, part) = text.split_once('.').unwrap_or((text, ""));
        match self.local(at, name)? {
            Local::End(end) => self.wire(end, part).map(LocalPoint::Wire),
            Local::Device(device) => {
                self.terminal(device, part).map(|terminal| LocalPoint::Terminal(device, terminal))
            }
        }
    }

    fn wire(&self, end: EndId, word: &str) -> Result<WireId, Miss> {
        let cable = self.house.end(end);
        if let Some(wire) = cable.wires.iter().position(|known| known == word) {
            return Ok(WireId { end, wire: wire as u8 });
        }
        let full: Vec<String> = cable.wires.iter().map(|wire| format!("{}.{wire}", cable.tag)).collect();
        let what = match word {
            "" => format!("cable \"{}\" is no point, a wire of it is", cable.tag),
            word => format!("cable \"{}\" has no wire \"{word}\"", cable.tag),
        };
        Err(Miss::new(what, pick(&format!("{}.{word}", cable.tag), full.iter().map(String::as_str))))
    }

    fn terminal(&self, device: DeviceId, word: &str) -> Result<Terminal, Miss> {
        let seen = self.house.device(device);
        let terminals = seen.terminals();
        if let Some(terminal) = terminals.iter().find(|terminal| terminal.word() == word) {
            return Ok(*terminal);
        }
        let full: Vec<String> =
            terminals.iter().map(|terminal| format!("{}.{}", seen.name, terminal.word())).collect();
        let what = match word {
            "" => format!("device \"{}\" is no point, a terminal of it is", seen.name),
            word => format!("device \"{}\" has no terminal \"{word}\"", seen.name),
        };
        Err(Miss::new(what, pick(&format!("{}.{word}", seen.name), full.iter().map(String::as_str))))
    }

    /// A wire of an opened box.
    pub fn wire_point(&self, text: &str, home: Option<BoxId>) -> Result<WireId, Miss> {
        match self.point(text, home)? {
            Point::At(LocalPoint::Wire(wire)) => Ok(wire),
            _ => Err(Miss::new("only a wire can be lifted", "a wire: tag.wire or BOX/tag.wire")),
        }
    }

    /// What a clamp is round.
    pub fn around(&self, text: &str, home: Option<BoxId>) -> Result<Around, Miss> {
        let (at, rest) = self.split(text, home)?;
        self.opened(at)?;
        let clamped = "a clamp goes round a cable or a wire";
        let instead = "a cable's tag, or tag.wire";
        match rest.split_once('.') {
            _ if rest == "metal" => Err(Miss::new(clamped, instead)),
            None => match self.local(at, rest)? {
                Local::End(end) => Ok(Around::Cable(end)),
                Local::Device(_) => Err(Miss::new(clamped, instead)),
            },
            Some(_) => match self.local_point(at, rest)? {
                LocalPoint::Wire(wire) => Ok(Around::Wire(wire)),
                _ => Err(Miss::new(clamped, instead)),
            },
        }
    }

    /// A device that can be taken off: in an opened box.
    pub fn out(&self, text: &str, home: Option<BoxId>) -> Result<DeviceId, Miss> {
        if !text.contains('/')
            && let Ok(at) = self.outlet(text)
            && home.is_none_or(|home| self.local(home, text).is_err())
        {
            let devices = self.devices_in(at, |_| true);
            let what = format!("\"{text}\" is a box, not a device");
            return Err(Miss::new(what, pick(text, devices.iter().map(String::as_str))));
        }
        let (at, rest) = self.split(text, home)?;
        self.opened(at)?;
        match self.local(at, rest)? {
            Local::Device(device) => Ok(device),
            Local::End(_) => {
                let what = format!("\"{rest}\" is a cable; only a device can be out");
                Err(Miss::new(what, "BOX/device here, or the wire under lifted"))
            }
        }
    }

    /// A switch, by BOX where that holds one, or BOX/device.
    pub fn switch(&self, text: &str) -> Result<DeviceId, Miss> {
        self.only(text, "switch", |device| self.house.device(device).kind.is_switch())
    }

    /// A light, by BOX where that holds one, or BOX/device.
    pub fn light(&self, text: &str) -> Result<DeviceId, Miss> {
        self.only(text, "light", |device| self.house.device(device).kind.is_light())
    }

    fn only(&self, text: &str, what: &str, fits: impl Fn(DeviceId) -> bool) -> Result<DeviceId, Miss> {
        if let Some((name, rest)) = text.split_once('/') {
            let at = self.outlet(name)?;
            return match self.local(at, rest)? {
                Local::Device(device) if fits(device) => Ok(device),
                _ => {
                    let known = self.devices_in(at, &fits);
                    Err(Miss::new(
                        format!("\"{text}\" is no {what}"),
                        pick(text, known.iter().map(String::as_str)),
                    ))
                }
            };
        }
        let at = self.outlet(text)?;
        let known: Vec<DeviceId> =
            self.house.outlet(at).devices.iter().copied().filter(|&device| fits(device)).collect();
        match known.as_slice() {
            [only] => Ok(*only),
            [] => {
                let instead = self.all_with(what, &fits);
                Err(Miss::new(format!("box \"{text}\" has no {what}"), instead))
            }
            _ => {
                let known = self.devices_in(at, &fits);
                let what = format!("box \"{text}\" has more than one {what}");
                Err(Miss::new(what, pick(text, known.iter().map(String::as_str))))
            }
        }
    }

    fn all_with(&self, what: &str, fits: impl Fn(DeviceId) -> bool) -> String {
        let known: Vec<String> = self
            .house
            .device_ids()
            .filter(|&device| fits(device))
            .map(|id| self.house.device_name(id))
            .collect();
        match known.as_slice() {
            [] => format!("the {what} under devices: of its box first"),
            known => any_of(known),
        }
    }

    fn devices_in(&self, at: BoxId, fits: impl Fn(DeviceId) -> bool) -> Vec<String> {
        let devices = self.house.outlet(at).devices.iter();
        devices.filter(|&&device| fits(device)).map(|&device| self.house.device_name(device)).collect()
    }
}

/// Words for what to write: the likely one, or all that there are.
pub fn pick<'a>(text: &str, known: impl Iterator<Item = &'a str>) -> String {
    const MOST: usize = 12;
    let known: Vec<&str> = known.collect();
    match likely(text, known.iter().copied()) {
        Some(name) => name.to_owned(),
        None if known.is_empty() => "it among the boxes first".to_owned(),
        None if known.len() > MOST => {
            format!("{} or another of the {}", known[..MOST].join(", "), known.len())
        }
        None => any_of(known),
    }
}
