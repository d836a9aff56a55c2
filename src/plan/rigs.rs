//! Ways to set things up for readings: power, lamps, devices off, wires lifted. Only those that may be; jumpers are
//! [`super::bridges`].

use super::rig::{Present, Rig};
use super::site::Site;
use crate::call::LampState;
use crate::house::{DeviceId, LocalPoint, WireId};
use crate::wiring::looks_like_ground;
use std::collections::BTreeSet;

/// Every rig that is worth a thought, each once; `dead_only` leaves out those with the power on.
pub fn all(site: &Site, present: &Present, dead_only: bool) -> Vec<Rig> {
    let mut rigs = BTreeSet::new();
    let feeds = site.house().feeds.len();
    // With several feeds, one of them off tells whose a wire is.
    let one_off = (0..feeds).filter(|_| feeds > 1).map(|feed| (true, Some(feed)));
    let live = [(true, None)].into_iter().chain(one_off).filter(|_| !dead_only);
    for (on, off) in live.chain([(false, None)]) {
        for lamps in site.lamp_states(&present.rig.lamps) {
            for out in outs(site, present) {
                let plain =
                    Rig { on, off, lamps: lamps.clone(), out, lifted: Vec::new(), jumpers: Vec::new() };
                if off.is_some() {
                    rigs.insert(plain);
                    continue;
                }
                for lifted in lifts(site, present, &plain) {
                    rigs.insert(Rig { lifted, ..plain.clone() });
                }
            }
        }
    }
    rigs.into_iter().filter(|rig| allowed(site, present, rig)).collect()
}

/// Whether a rig may be made and left so.
pub fn allowed(site: &Site, present: &Present, rig: &Rig) -> bool {
    let moved = rig.out != present.rig.out || rig.lifted != present.rig.lifted;
    // A neutral that is open is live through whatever hangs on it; behind a ground that is open, metal may be live.
    let must_hold =
        |wire: &WireId| site.maybe_neutral.contains(wire) || looks_like_ground(site.house().wire_word(*wire));
    let open = rig.on && rig.lifted.iter().any(must_hold);
    !open && (site.works_dead() || (rig.on && !moved))
}

/// Devices off: as now, none, all that can be, each of them.
fn outs(site: &Site, present: &Present) -> BTreeSet<Vec<DeviceId>> {
    let removable = site.removable();
    let mut outs: BTreeSet<Vec<DeviceId>> = [present.rig.out.clone(), Vec::new(), removable.clone()].into();
    outs.extend(removable.iter().map(|&device| vec![device]));
    outs.extend(removable.iter().map(|&device| {
        let mut more = present.rig.out.clone();
        more.push(device);
        more.sort_unstable();
        more.dedup();
        more
    }));
    outs
}

/// Wires lifted: none, as now; and in readings where lamps do not stand in the way, each wire of a splice and whole
/// boxes.
fn lifts(site: &Site, present: &Present, plain: &Rig) -> BTreeSet<Vec<WireId>> {
    let mut lifts: BTreeSet<Vec<WireId>> = [Vec::new(), present.rig.lifted.clone()].into();
    let all_out = site.removable().iter().all(|device| plain.out.contains(device));
    let out_or_same =
        plain.lamps == present.rig.lamps || plain.lamps.iter().all(|lamp| *lamp == LampState::Out);
    if !out_or_same || !(all_out || plain.out == present.rig.out) {
        return lifts;
    }
    let mut everything = Vec::new();
    for at in site.boxes() {
        let mut whole = Vec::new();
        for cluster in plain.clusters(site.house(), at).iter().filter(|cluster| cluster.len() > 1) {
            let on_screw = site.house().outlet(at).joints.iter().any(|joint| {
                joint.points.contains(&LocalPoint::Wire(cluster[0]))
                    && joint.points.iter().any(|p| match p {
                        LocalPoint::Terminal(device, _) => !plain.out.contains(device),
                        _ => false,
                    })
            });
            // Of two wires on nothing else it is one which of them is lifted.
            let singles = if cluster.len() == 2 && !on_screw { &cluster[1..] } else { &cluster[..] };
            lifts.extend(singles.iter().map(|&wire| vec![wire]));
            whole.extend(if on_screw { &cluster[..] } else { &cluster[1..] });
        }
        whole.sort_unstable();
        everything.extend(whole.iter().copied());
        lifts.insert(whole);
    }
    everything.sort_unstable();
    lifts.insert(everything);
    lifts
}
