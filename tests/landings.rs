//! Landings, right and wrong: what the light does in every position, from prediction alone.
//!
//! Expected patterns are counted by hand as closed paths from line to neutral (trade connectivity tables; the healthy
//! stair circuit and its crossed travelers are those of Hawkins Electrical Guide vol. 4, 1917). Which position of a handle
//! is which is nobody's to know, so patterns are compared up to exchanging the positions of each switch.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests may fail as a test does")]

use lath::call::LampState;
use lath::files;
use lath::house::{DeviceId, DeviceKind};
use lath::predict::{Scene, Setup, watch};
use lath::wiring::{DarkDevice, Facts, Walls};

/// A switch box: cables as lists of wires, the device, the joints.
struct SwitchBox<'a> {
    cables: &'a [&'a str],
    kind: &'a str,
    joints: Vec<String>,
}

fn job(boxes: &[SwitchBox]) -> String {
    let mut text = "lath: 1\nhouse: {region: us, supply: 120, feeds: [{name: \"1\"}]}\nboxes:\n".to_owned();
    for (at, outlet) in boxes.iter().enumerate() {
        text += &format!("  - name: s{at}\n    kind: switch\n    opened: true\n    cables:\n");
        for (tag, wires) in ["a", "b"].iter().zip(outlet.cables) {
            text += &format!("      - {{tag: {tag}, wires: [{wires}]}}\n");
        }
        text += &format!("    devices: [{{name: switch, kind: {}}}]\n    joints:\n", outlet.kind);
        outlet.joints.iter().for_each(|joint| text += &format!("      - [{joint}]\n"));
    }
    text + "  - {name: l, kind: light, opened: false, devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]}\n"
}

/// What the light does for each way the switches are thrown: `1` lit, `0` not, `t` trips.
fn pattern(boxes: &[SwitchBox], wires: &[u8], poles: [u8; 2], light: [u8; 2]) -> String {
    pattern_with(LampState::In, boxes, wires, poles, light)
}

fn pattern_with(
    lamp: LampState,
    boxes: &[SwitchBox],
    wires: &[u8],
    poles: [u8; 2],
    light: [u8; 2],
) -> String {
    let house = files::parse_str("landing", &job(boxes)).unwrap().call.house;
    let groups = wires.iter().chain(&poles).chain(&light).max().map_or(0, |most| most + 1);
    let dark =
        DarkDevice { device: DeviceId(boxes.len() as u8), kind: DeviceKind::Light, groups: light.to_vec() };
    let walls = Walls {
        wires: wires.to_vec(),
        line: poles[0],
        neutral: poles[1],
        devices: vec![dark],
        groups,
        ..Walls::default()
    };
    let facts = Facts::new(&house);
    let scene = Scene::new(&house, &facts);
    let opened = scene.opened(&Setup { power: lath::predict::ALL_ON, lamps: vec![lamp], ..Setup::default() });
    let lit = |thrown| {
        let bins = watch(&scene, &walls, &opened, thrown)[0];
        if bins[4] > 0.5 {
            't'
        } else if bins[0] > 0.5 {
            '1'
        } else {
            '0'
        }
    };
    // The table's order: the first switch changes last.
    let switches = boxes.len() as u32;
    (0..1u32 << switches).map(|at| lit(at.reverse_bits() >> (32 - switches))).collect()
}

/// The least of a pattern's forms under exchanging positions.
fn canonical(pattern: &str) -> String {
    let marks: Vec<char> = pattern.chars().collect();
    let turned = |by: usize| (0..marks.len()).map(|at| marks[at ^ by]).collect::<String>();
    (0..marks.len()).map(turned).min().unwrap_or_default()
}

fn same(found: &str, expected: &str, what: &str) {
    assert_eq!(canonical(found), canonical(expected), "{what}: {found}");
}

fn orders<const N: usize>(items: [&'static str; N]) -> Vec<Vec<&'static str>> {
    lath::wiring::netlist::permutations(&items)
}

fn on(wires: &[&str], screws: &[&str]) -> Vec<String> {
    wires.iter().zip(screws).map(|(wire, screw)| format!("{wire}, switch.{screw}")).collect()
}

// Line 0, travelers 1 and 2, load 3, neutral 4. Wires: s0 a.w1 line, b.black and b.red travelers; s1 likewise, b.w1 load.
const SOUND: [u8; 6] = [0, 1, 2, 1, 2, 3];
const FEED: [u8; 2] = [0, 4];
const LAMP: [u8; 2] = [3, 4];

fn first(screws: &[&str]) -> SwitchBox<'static> {
    SwitchBox {
        cables: &["w1", "black, red"],
        kind: "three-way",
        joints: on(&["a.w1", "b.black", "b.red"], screws),
    }
}

fn last(screws: &[&str]) -> SwitchBox<'static> {
    SwitchBox {
        cables: &["black, red", "w1"],
        kind: "three-way",
        joints: on(&["b.w1", "a.black", "a.red"], screws),
    }
}

const RIGHT: [&str; 3] = ["common", "t1", "t2"];

#[test]
fn of_36_landings_of_two_three_ways_4_work_24_light_once_and_8_never() {
    let (mut work, mut once, mut never) = (0, 0, 0);
    for one in orders(RIGHT) {
        for other in orders(RIGHT) {
            let found = pattern(&[first(&one), last(&other)], &SOUND, FEED, LAMP);
            match canonical(&found).as_str() {
                "0110" => work += 1,
                "0001" => once += 1,
                "0000" => never += 1,
                _ => panic!("{one:?} {other:?}: {found}"),
            }
        }
    }
    assert_eq!((work, once, never), (4, 24, 8));
}

#[test]
fn of_24_landings_of_a_four_way_8_work_and_16_are_dead_in_one_of_its_positions() {
    // Travelers 1 and 2 to the four-way, 3 and 4 on from it, load 5, neutral 6. The four-way is the middle bit.
    let walls = [0, 1, 2, 1, 2, 3, 4, 3, 4, 5];
    let (mut work, mut half) = (0, 0);
    for screws in orders(["a1", "a2", "b1", "b2"]) {
        let middle = SwitchBox {
            cables: &["black, red", "black, red"],
            kind: "four-way",
            joints: on(&["a.black", "a.red", "b.black", "b.red"], &screws),
        };
        let found = pattern(&[first(&RIGHT), middle, last(&RIGHT)], &walls, [0, 6], [5, 6]);
        let of_position = |thrown: usize| -> String {
            let here = |at: &usize| at >> 1 & 1 == thrown;
            (0..8).filter(here).map(|at| found.as_bytes()[at] as char).collect()
        };
        let dead = [0, 1].map(|thrown| of_position(thrown) == "0000");
        let toggles = [0, 1].map(|thrown| canonical(&of_position(thrown)) == "0110");
        match (dead, toggles) {
            (_, [true, true]) => work += 1,
            ([true, false], [false, true]) | ([false, true], [true, false]) => half += 1,
            _ => panic!("{screws:?}: {found}"),
        }
    }
    assert_eq!((work, half), (8, 16));
}

#[test]
fn broken_and_touching_wires() {
    let landed = || [first(&RIGHT), last(&RIGHT)];
    let with = |wires: [u8; 6], feed: [u8; 2], lamp: [u8; 2]| pattern(&landed(), &wires, feed, lamp);
    same(&with(SOUND, FEED, LAMP), "1001", "healthy");
    same(&with([0, 1, 2, 2, 1, 3], FEED, LAMP), "0110", "travelers crossed is no fault");
    same(&with([0, 1, 2, 5, 2, 3], FEED, LAMP), "0001", "a traveler open");
    same(&with([0, 1, 1, 1, 1, 3], FEED, LAMP), "1111", "the travelers touch");
    same(&with([0, 0, 2, 0, 2, 3], FEED, LAMP), "1011", "a traveler touches line");
    same(&with([0, 1, 2, 1, 2, 1], FEED, [1, 4]), "1101", "a traveler touches the load");
    same(&with([0, 4, 2, 4, 2, 3], FEED, LAMP), "tt01", "a traveler touches neutral");
    same(&with([0, 1, 2, 1, 2, 0], FEED, [0, 4]), "1111", "line touches the load");
    same(&with(SOUND, FEED, [3, 5]), "0000", "the neutral open at the lamp");
    same(&with(SOUND, [5, 4], LAMP), "0000", "line open");
    same(&with(SOUND, [4, 0], LAMP), "1001", "line and neutral reversed at the feed");
}

#[test]
fn the_lamp_out() {
    let out =
        |wires: [u8; 6]| pattern_with(LampState::Out, &[first(&RIGHT), last(&RIGHT)], &wires, FEED, LAMP);
    same(&out(SOUND), "0000", "healthy but for the lamp");
    // Line meets neutral through the switch: a lamp is no part of that.
    same(&out([0, 4, 2, 4, 2, 3]), "tt00", "a traveler touches neutral");
}

#[test]
fn a_single_pole_where_a_three_way_belongs() {
    let single = |joints: &[&str]| SwitchBox {
        cables: &["w1", "black, red"],
        kind: "single-pole",
        joints: joints.iter().map(|joint| (*joint).to_owned()).collect(),
    };
    let found = |joints: &[&str]| pattern(&[single(joints), last(&RIGHT)], &SOUND, FEED, LAMP);
    same(&found(&["a.w1, switch.s1", "b.black, switch.s2"]), "1000", "line and one traveler");
    same(&found(&["a.w1, switch.s1", "b.black, b.red, switch.s2"]), "1100", "both travelers on one screw");
    same(
        &found(&["a.w1, b.black, switch.s1", "b.red, switch.s2"]),
        "1110",
        "line and a traveler on one screw",
    );
    same(&found(&["b.black, switch.s1", "b.red, switch.s2"]), "0000", "line capped");
}

#[test]
fn a_single_pole_where_the_load_side_three_way_belongs() {
    let single = SwitchBox {
        cables: &["black, red", "w1"],
        kind: "single-pole",
        joints: ["a.black, switch.s1", "b.w1, switch.s2"].map(str::to_owned).to_vec(),
    };
    same(&pattern(&[first(&RIGHT), single], &SOUND, FEED, LAMP), "1000", "one traveler and the load");
}

/// What has failed inside a switch is the same switch with a wire left out, or bridged outside it.
#[test]
fn a_contact_that_fails() {
    let found = |joints: &[&str]| {
        let joints = joints.iter().map(|joint| (*joint).to_owned()).collect();
        let failed = SwitchBox { cables: &["w1", "black, red"], kind: "three-way", joints };
        pattern(&[failed, last(&RIGHT)], &SOUND, FEED, LAMP)
    };
    same(&found(&["a.w1, switch.common", "b.black, switch.t1"]), "1000", "one contact dead");
    same(&found(&["a.w1, b.black, switch.common"]), "1010", "stuck: its handle does nothing");
    let welded = ["a.w1, b.black, switch.common, switch.t1", "b.red, switch.t2"];
    same(&found(&welded), "1011", "one contact welded");
    // Both sets of screws right, and the lamp's two wires exchanged.
    let turned = pattern(&[first(&RIGHT), last(&RIGHT)], &SOUND, FEED, [4, 3]);
    same(&turned, "1001", "the lampholder reversed");
}

/// A four-way's walls: line 0, travelers 1 and 2 to the four-way, 3 and 4 on from it, load 5, neutral 6.
const FOUR_WAY: [u8; 10] = [0, 1, 2, 1, 2, 3, 4, 3, 4, 5];

/// The light with a switch between two three-ways: four marks with it thrown one way, then four the other.
fn with_middle(one: &[&str], kind: &str, joints: &[&str], walls: &[u8]) -> String {
    let middle = SwitchBox {
        cables: &["black, red", "black, red"],
        kind,
        joints: joints.iter().map(|joint| (*joint).to_owned()).collect(),
    };
    let found = pattern(&[first(one), middle, last(&RIGHT)], walls, [0, 6], [5, 6]);
    // The middle switch is the middle bit: bring it to the front.
    let places = [0, 1, 4, 5, 2, 3, 6, 7];
    places.iter().map(|&at| found.as_bytes()[at] as char).collect()
}

#[test]
fn what_goes_wrong_about_a_four_way() {
    const LANDED: [&str; 4] =
        ["a.black, switch.a1", "a.red, switch.a2", "b.black, switch.b1", "b.red, switch.b2"];
    let landed = |one: &[&str], walls: [u8; 10]| with_middle(one, "four-way", &LANDED, &walls);
    let fitted = |kind: &str, joints: &[&str]| with_middle(&RIGHT, kind, joints, &FOUR_WAY);
    same(&landed(&RIGHT, FOUR_WAY), "10010110", "healthy");
    same(&landed(&["t1", "common", "t2"], FOUR_WAY), "10000100", "line on a traveler screw of the first");
    same(&landed(&RIGHT, [0, 1, 2, 7, 2, 3, 4, 3, 4, 5]), "00010010", "a traveler to it open");
    // Beyond the four-way the pair is as the far switch sees it: straight, only the second traveler is left and both must
    // be on it; crossed, the first switch reaches it on its first screw. It is the far handle that stays where it is.
    same(&landed(&RIGHT, [0, 1, 2, 1, 2, 3, 4, 7, 4, 5]), "00010100", "a traveler from it open");
    same(&fitted("four-way", &LANDED[1..]), "00010010", "one of its poles dead");
    let bypassed = ["a.black, b.black, switch.a1", "a.red, b.red, switch.a2"];
    same(&fitted("four-way", &bypassed), "10011001", "stuck: its handle does nothing");
    // The two travelers meet through one contact, in one position only.
    let bridging = ["a.black, b.black, switch.a1", "a.red, b.red, switch.b2"];
    same(&fitted("four-way", &bridging), "10011111", "it bridges the travelers in one position");
    let three_way = ["a.black, switch.common", "b.black, switch.t1", "b.red, switch.t2"];
    same(&fitted("three-way", &three_way), "10000100", "a three-way in its place");
}

// Line 0, neutral 1 (or load), and a wire to the lamp (or the tie): 2 from s0, 3 from s1.
fn three(screws: &[&str]) -> SwitchBox<'static> {
    SwitchBox {
        cables: &["black, white", "w1"],
        kind: "three-way",
        joints: on(&["b.w1", "a.black", "a.white"], screws),
    }
}

#[test]
fn the_lamp_between_the_commons() {
    let found = |one: &[&str]| pattern(&[three(one), three(&RIGHT)], &[0, 1, 2, 0, 1, 3], [0, 1], [2, 3]);
    same(&found(&RIGHT), "0110", "healthy");
    same(&found(&["t1", "common", "t2"]), "tt01", "line on the common of one");
    same(&found(&["t2", "t1", "common"]), "tt10", "neutral on the common of one");
}

#[test]
fn the_commons_joined() {
    // Line 0, load 1, tie 2, neutral 3.
    let with = |one: &[&str], wires: [u8; 6]| pattern(&[three(one), three(&RIGHT)], &wires, [0, 3], [1, 3]);
    let sound = [0, 1, 2, 0, 1, 2];
    same(&with(&RIGHT, sound), "0110", "healthy");
    same(&with(&["t1", "common", "t2"], sound), "0111", "line on the common of one");
    same(&with(&["t2", "t1", "common"], sound), "1011", "load on the common of one");
    same(&with(&RIGHT, [0, 1, 2, 0, 1, 4]), "0000", "the tie open");
    same(&with(&RIGHT, [0, 1, 2, 4, 1, 2]), "0100", "line to one switch open");
    same(&with(&RIGHT, [0, 1, 2, 0, 4, 2]), "0010", "load to one switch open");
}
