//! What a failure behind the plates changes, for the contracted nets and the whole network alike.

use super::scene::{LampIn, Opened, Spot};
use crate::house::{BoxId, DeviceId, DeviceKind, Terminal};
use crate::wiring::facts::WireIndex;
use crate::wiring::{Fault, Walls};

/// Walls with the switches thrown in some way.
pub(super) struct Failed<'a> {
    walls: &'a Walls,
    /// How the switches stand inside; one that is stuck stands as it is stuck.
    thrown: u32,
    /// One bit for each switch that makes no contact as it stands.
    dead: u32,
}

impl<'a> Failed<'a> {
    pub(super) fn new(walls: &'a Walls, thrown: u32, switches: &[DeviceId]) -> Failed<'a> {
        let place = |device| switches.iter().position(|switch| *switch == device);
        let mut failed = Failed { walls, thrown, dead: 0 };
        for fault in &walls.faults {
            match *fault {
                Fault::Stuck(device, stands) => {
                    if let Some(at) = place(device) {
                        failed.thrown = failed.thrown & !(1 << at) | u32::from(stands) << at;
                    }
                }
                Fault::DeadThrow(device, dead) => {
                    let at = place(device).filter(|at| (thrown >> at & 1 == 1) == dead);
                    failed.dead |= at.map_or(0, |at| 1 << at);
                }
                _ => {}
            }
        }
        failed
    }

    /// The contacts that a switch closes as it stands.
    pub(super) fn closed(&self, kind: DeviceKind, at: usize) -> &'static [(Terminal, Terminal)] {
        if self.is_dead(at) { &[] } else { kind.contacts(self.stands(at)) }
    }

    fn is_dead(&self, at: usize) -> bool {
        self.dead >> at & 1 == 1
    }

    fn stands(&self, at: usize) -> bool {
        self.thrown >> at & 1 == 1
    }

    /// How many failures there are.
    pub(super) fn count(&self) -> usize {
        self.walls.faults.len()
    }

    /// The failure that keeps a point away from the joint it lies in.
    pub(super) fn away(&self, spot: Spot) -> Option<usize> {
        let parts = |fault: &Fault| {
            matches!((fault, spot),
                (Fault::OpenSplice(away) | Fault::BadJoint(away, _), Spot::Wire(wire)) if wire == *away)
        };
        self.walls.faults.iter().position(parts)
    }

    fn has(&self, fault: Fault) -> bool {
        self.walls.faults.contains(&fault)
    }

    /// Whether the line is on, and another circuit's.
    pub(super) fn on(&self, opened: &Opened) -> [bool; 2] {
        let on = |feed: u8| opened.power.checked_shr(u32::from(feed)).is_some_and(|bits| bits & 1 == 1);
        let [own, other] = self.walls.breakers;
        let stays = self.has(Fault::WrongBreaker);
        [stays || on(own), self.walls.other.is_some() && on(other)]
    }

    /// Points that touch in opened boxes: in joints as found, and in those that only the walls know of.
    pub(super) fn joined(&self, opened: &'a Opened) -> impl Iterator<Item = (Spot, Spot)> {
        let hidden = self.walls.hidden.iter().flat_map(move |joint| {
            let first = opened.touching(joint).next();
            opened.touching(joint).skip(1).filter_map(move |other| first.map(|first| (first, other)))
        });
        opened.joined.iter().copied().chain(hidden)
    }

    /// Terminals in opened boxes that switches join.
    pub(super) fn contacts(&self, opened: &'a Opened) -> impl Iterator<Item = (usize, usize)> {
        let marked = opened
            .contacts
            .iter()
            .filter(|(switch, when, ..)| !self.is_dead(*switch) && self.stands(*switch) == *when);
        marked.map(|&(.., one, other)| (one, other)).chain(self.unmarked(opened))
    }

    /// Contacts of switches whose screws only the walls tell apart.
    fn unmarked(&self, opened: &'a Opened) -> impl Iterator<Item = (usize, usize)> {
        opened.unmarked.iter().flat_map(move |&(device, switch, first)| {
            let screws = self.walls.screws.iter().find(|screws| screws.device == device);
            let contacts = screws.map_or(&[][..], |screws| self.closed(screws.kind, switch));
            let place = move |terminal| match screws.and_then(|screws| screws.screw(terminal)) {
                Some(Terminal::X(n)) => Some(first + usize::from(n) - 1),
                _ => None,
            };
            contacts.iter().filter_map(move |&(one, other)| place(one).zip(place(other)))
        })
    }

    /// Terminals that the tabs of receptacles join.
    pub(super) fn tabs(&self, opened: &'a Opened) -> impl Iterator<Item = (usize, usize)> {
        let joined = |device: &DeviceId| self.walls.broken.contains(device) == self.has(Fault::Tab(*device));
        let whole = opened.tabs.iter().filter(move |(device, hot, ..)| !hot || joined(device));
        whole.map(|&(_, _, one, other)| (one, other))
    }

    /// The metal, by terminal number, of boxes that armour or pipe joins to earth.
    pub(super) fn bonded(&self, opened: &'a Opened) -> impl Iterator<Item = usize> {
        let bonded = |of: BoxId| self.has(Fault::Bonded(of));
        opened.metals.iter().filter(move |(of, _)| bonded(*of)).map(|(_, metal)| *metal)
    }

    /// The metal of a box, by terminal number, and the wire that touches it.
    pub(super) fn live_metal(&self, opened: &Opened) -> Option<(usize, WireIndex)> {
        let touched = |fault: &Fault| match *fault {
            Fault::LiveMetal(at, wire) => Some((at, wire)),
            _ => None,
        };
        let (at, wire) = self.walls.faults.iter().find_map(touched)?;
        opened.metals.iter().find(|(of, _)| *of == at).map(|(_, metal)| (*metal, wire))
    }
}

/// Whether a lamp burns where it has a circuit.
pub(super) fn burns(walls: &Walls, lamp: &LampIn) -> bool {
    let has = |fault| walls.faults.contains(&fault);
    !has(Fault::LightOff(lamp.device)) && (lamp.is_test || !has(Fault::LampOut(lamp.device)))
}
