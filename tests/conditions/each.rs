//! Each condition: a job that has it, and one that just does not.
//!
//! What a condition is comes from the trade (the sources stand in the packs); each `just not` differs from the job that
//! has it in the one thing that the condition turns on.

use crate::world::{World, pack};
use lath::verdict::{Role, State};

type Change = fn(&mut World);

/// Changes that make a world have a condition, and changes that just do not.
const CASES: &[(&str, Change, Change)] = &[
    ("live-metal", |w| w.seen("live-metal"), |w| w.seen("metal-box")),
    ("live-metal", |w| w.defect("live-metal", "hall", 0.2), |w| w.defect("live-metal", "hall", 0.05)),
    // A tester that loads the metal (3 kohm), against one that a ghost moves (10 Mohm).
    ("live-metal", |w| metal(w, "low-impedance", 117), |w| metal(w, "high-impedance", 117)),
    ("live-metal", |w| metal(w, "low-impedance", 60), |w| metal(w, "low-impedance", 40)),
    ("joint-of-high-resistance", |w| w.seen("warm-joint"), |w| w.seen("crowded")),
    (
        "joint-of-high-resistance",
        |w| w.defect("bad-joint", "hall", 0.5),
        |w| w.defect("open-splice", "hall", 0.5),
    ),
    ("short-circuit", |w| watch(w, "trips"), |w| watch(w, "dark")),
    ("short-circuit", |w| w.defect("short", "hall/b", 0.2), |w| w.defect("open-wire", "hall/b", 0.9)),
    ("scorched-parts", |w| w.seen("scorched"), |w| w.seen("heat-baked")),
    ("water-in-the-wiring", |w| w.seen("water"), |w| w.seen("watery plaster nearby")),
    // Copper of 14 gauge: 15 A (NEC 240.4(D)).
    ("fuse-too-large", |w| w.put("amps: 15", "amps: 20"), |w| w.put("amps: 15", "amps: 15")),
    (
        "fuse-too-large",
        |w| (w.put("amps: 15", "amps: 30"), w.all("gauge: 14", "gauge: 12")).0,
        |w| (w.put("amps: 15", "amps: 20"), w.all("gauge: 14", "gauge: 12")).0,
    ),
    ("asbestos-suspected", |w| w.seen("asbestos-suspected"), |w| w.seen("white dust of plaster")),
    (
        "knob-and-tube-under-insulation",
        |w| w.seen("insulation-over-knob-and-tube"),
        |w| w.seen("attic insulation, clear of the wires"),
    ),
    ("open-box", |w| w.seen("cover-missing"), |w| w.seen("cover cracked")),
    (
        "lamp-between-commons",
        |w| scheme(w, "lamp-between-commons", 0.6),
        |w| scheme(w, "lamp-between-commons", 0.4),
    ),
    (
        "reversed-polarity",
        |w| w.defect("reversed-feed", "hall", 0.6),
        |w| w.defect("reversed-feed", "hall", 0.4),
    ),
    (
        "switched-neutral",
        |w| w.role("hall/a.black", Role::Neutral, 0.6),
        |w| w.role("hall/a.black", Role::Neutral, 0.4),
    ),
    (
        "switched-neutral",
        |w| w.role("hall/a.black", Role::Neutral, 1.0),
        |w| (w.role("hall/a.black", Role::Neutral, 1.0), scheme(w, "lamp-between-commons", 1.0)).0,
    ),
    ("live-shell", |w| w.seen("live-shell"), |w| w.seen("shell bent")),
    (
        "live-shell",
        |w| {
            (
                w.put("a.black, light.center", "a.black, light.shell"),
                w.put("a.white, light.shell", "a.white, light.center"),
            )
                .0
        },
        |w| (w.role("ceiling/a.white", Role::Load, 0.4), w.role("ceiling/a.black", Role::Load, 0.6)).0,
    ),
    ("two-circuits", |w| circuit(w, "hall/a.white", "9"), |w| circuit(w, "hall/a.white", "7")),
    (
        "two-circuits",
        |w| w.role("landing/b.white", Role::Other, 0.6),
        |w| w.role("landing/b.white", Role::Spare, 0.6),
    ),
    ("shared-neutral", |w| clamp(w, 0.4), |w| clamp(w, 0.05)),
    (
        "shared-neutral",
        |w| w.defect("joined-neutrals", "hall", 0.6),
        |w| w.defect("joined-neutrals", "hall", 0.4),
    ),
    ("shared-neutral", |w| w.seen("shared-neutral"), |w| w.seen("neutral of this circuit only")),
    ("neutral-ring", |w| ring(w, true), |w| ring(w, false)),
    ("lost-neutral", |w| w.defect("lost-neutral", "hall", 0.2), |w| w.defect("lost-neutral", "hall", 0.05)),
    ("no-neutral-at-switch", |w| no_neutral(w, 0.4), |w| no_neutral(w, 0.6)),
    ("no-ground", |w| w.put("grounds: all", "grounds: none"), |w| w.put("grounds: all", "grounds: some")),
    (
        "no-ground",
        |w| (w.put("grounds: all", "grounds: some"), bare_ceiling(w)).0,
        |w| w.put("grounds: all", "grounds: some"),
    ),
    ("metal-box-not-bonded", |w| w.seen("box-not-bonded"), |w| w.seen("metal-box")),
    (
        "metal-box-not-bonded",
        |w| w.put("[a.bare, b.bare, metal]", "[a.bare, b.bare]"),
        |w| (w.put("[a.bare, b.bare, metal]", "[a.bare, b.bare]"), w.put("seen: [metal-box]", "seen: []")).0,
    ),
    (
        "armour-as-ground",
        |w| (w.put("sheath: nm", "sheath: armored"), w.put("built: 2015", "built: 1958")).0,
        |w| (w.put("sheath: nm", "sheath: armored"), w.put("built: 2015", "built: 1959")).0,
    ),
    (
        "armour-as-ground",
        |w| (w.put("sheath: nm", "sheath: armored"), w.put("built: 2015", "built: 1940")).0,
        |w| {
            w.put("sheath: nm", "sheath: armored");
            w.put("built: 2015", "built: 1940");
            w.put("seen: [metal-box]", "seen: [metal-box, bonding-strip]");
        },
    ),
    ("armour-as-ground", |w| w.seen("no-bonding-strip"), |w| w.seen("bonding-strip")),
    (
        "ground-as-neutral",
        |w| w.role("hall/b.bare", Role::Neutral, 0.6),
        |w| w.role("hall/b.bare", Role::Spare, 0.6),
    ),
    (
        "ground-as-neutral",
        |w| w.defect("ground-as-neutral", "hall", 0.6),
        |w| w.defect("ground-as-neutral", "hall", 0.4),
    ),
    // A splice of whites that carries line; with a black in it nobody takes it for returns.
    (
        "live-white-splice",
        |w| whites(w, Role::Line),
        |w| {
            whites(w, Role::Line);
            w.put("- [a.black, switch.common]", "- [b.black, a.white, b.white]");
            w.put("- [b.black, switch.t1]", "- [a.black, switch.common]");
            w.put("      - [a.white, b.white]\n", "");
        },
    ),
    ("live-white-splice", |w| whites(w, Role::Load), |w| whites(w, Role::Spare)),
    (
        "white-as-line",
        |w| w.role("hall/a.white", Role::Line, 0.6),
        |w| (w.role("hall/a.white", Role::Line, 0.6), w.put("seen: [metal-box]", "seen: [remarked-white]")).0,
    ),
    (
        "white-as-line",
        |w| w.role("hall/a.white", Role::Line, 0.6),
        |w| w.role("hall/a.white", Role::Line, 0.4),
    ),
    (
        "white-as-traveler",
        |w| w.role("hall/b.white", Role::Traveler, 1.0),
        |w| {
            (
                w.role("hall/b.white", Role::Traveler, 1.0),
                w.put("seen: [metal-box]", "seen: [remarked-white]"),
            )
                .0
        },
    ),
    (
        "white-as-return",
        |w| w.role("landing/b.white", Role::Load, 1.0),
        |w| w.role("landing/b.white", Role::Spare, 1.0),
    ),
    // Both wires at one screw; without the word for it they are on a tail.
    (
        "doubled-screws",
        |w| (two_on_a_screw(w), w.put("doubled: []", "doubled: [switch.t1]")).0,
        two_on_a_screw,
    ),
    ("splice-outside-box", |w| w.seen("splice-outside-box"), |w| w.seen("fixture-stud")),
    // The hall: 5 wires, grounds 1, switch 2 are 8 allowances of 2.00 cubic inches; with clamps, of which nobody spoke, 9.
    ("box-over-filled", |w| w.put("volume: 30.3", "volume: 17.9"), |w| w.put("volume: 30.3", "volume: 18")),
    (
        "box-over-filled",
        |w| w.put("volume: 30.3", "volume: 15.9"),
        |w| {
            w.put("volume: 30.3", "volume: 16");
            w.put("seen: [metal-box]", "seen: [metal-box, no-internal-clamps]");
        },
    ),
    ("buried-box", |w| far(w, "landing/b", "buried-1", 0.6), |w| far(w, "landing/b", "buried-1", 0.4)),
    (
        "crowded-box",
        |w| w.put("seen: [metal-box]", "seen: [metal-box, crowded]"),
        |w| {
            w.put("seen: [metal-box]", "seen: [metal-box, crowded]");
            w.put("volume: 30.3", "volume: 12.5");
        },
    ),
    (
        "aluminium",
        |w| w.put("gauge: 14}", "gauge: 10, metal: aluminum}"),
        |w| w.put("gauge: 14}", "gauge: 10, metal: copper}"),
    ),
    ("aluminium", |w| w.seen("aluminum-to-copper"), |w| w.seen("tinned copper")),
    (
        "knob-and-tube",
        |w| w.put("sheath: nm", "sheath: knob-and-tube"),
        |w| w.put("sheath: nm", "sheath: conduit"),
    ),
    ("brittle-insulation", |w| w.seen("brittle-insulation"), |w| w.seen("supple rubber")),
    ("heat-baked-wires", |w| w.seen("heat-baked"), |w| w.seen("supple rubber")),
    (
        "lead-sheathed-cable",
        |w| w.put("sheath: nm", "sheath: lead"),
        |w| w.put("sheath: nm", "sheath: cloth-nm"),
    ),
    (
        "landed-on-wrong-screws",
        |w| w.defect("swapped-landing", "hall/switch", 0.6),
        |w| w.defect("swapped-landing", "hall/switch", 0.4),
    ),
    (
        "landed-on-wrong-screws",
        |w| w.defect("wrong-screw", "hall/switch", 0.6),
        |w| w.defect("wrong-screw", "hall/switch", 0.4),
    ),
    ("spliced-wrongly", |w| w.defect("wrong-splice", "hall", 0.6), |w| w.defect("wrong-splice", "hall", 0.4)),
    ("left-out", |w| w.defect("left-out", "hall", 0.6), |w| w.defect("left-out", "hall", 0.4)),
    (
        "pairs-crossed",
        |w| w.defect("pairs-crossed", "hall/switch", 0.6),
        |w| w.defect("pairs-crossed", "hall/switch", 0.4),
    ),
    ("broken-wire", |w| w.defect("open-wire", "hall/b", 0.6), |w| w.defect("open-wire", "hall/b", 0.4)),
    ("open-joint", |w| w.defect("open-splice", "hall", 0.6), |w| w.defect("open-splice", "hall", 0.4)),
    (
        "worn-switch",
        |w| w.defect("dead-throw", "hall/switch", 0.6),
        |w| w.defect("dead-throw", "hall/switch", 0.4),
    ),
    ("worn-switch", |w| w.defect("stuck", "hall/switch", 0.6), |w| w.defect("stuck", "hall/switch", 0.4)),
    (
        "wrong-kind-of-switch",
        |w| w.defect("wrong-device", "hall/switch", 0.6),
        |w| w.defect("wrong-device", "hall/switch", 0.4),
    ),
    (
        "lamp-out",
        |w| w.defect("lamp-out", "ceiling/light", 0.6),
        |w| w.defect("lamp-out", "ceiling/light", 0.4),
    ),
    (
        "breaker-mislabelled",
        |w| w.defect("wrong-breaker", "hall", 0.6),
        |w| w.defect("wrong-breaker", "hall", 0.4),
    ),
    ("breaker-mislabelled", |w| w.seen("breaker-mislabelled"), |w| w.seen("label faded, and right")),
    ("receptacle-tab", |w| w.defect("tab", "hall", 0.6), |w| w.defect("tab", "hall", 0.4)),
    // An LED glows by coupling; a filament never does (0.1 mA through 16 ohms is 1.6 mV).
    (
        "glow-by-coupling",
        |w| watch(w, "glow"),
        |w| (watch(w, "glow"), w.put("lamp: led", "lamp: incandescent")).0,
    ),
];

fn metal(w: &mut World, with: &str, volts: u32) {
    w.reading(&format!(
        "{{do: volts, at: hall, between: [metal, earth], with: {with}, breaker: on, switches: {{hall: up, landing: up}}, \
         lamp: in, reads: {volts}}}"
    ));
}

fn watch(w: &mut World, reads: &str) {
    w.reading(&format!(
        "{{do: watch, light: ceiling, breaker: on, switches: {{hall: down, landing: up}}, lamp: in, reads: {reads}}}"
    ));
}

fn clamp(w: &mut World, amps: f64) {
    w.reading(&format!(
        "{{do: amps, at: hall, around: a, with: clamp, breaker: on, switches: {{hall: up, landing: up}}, lamp: in, \
         reads: {amps}}}"
    ));
}

fn scheme(w: &mut World, name: &str, p: f64) {
    let found = w.verdict.arrangement.as_mut().expect("an arrangement");
    (found.scheme, found.scheme_p) = (name.into(), p);
}

fn circuit(w: &mut World, wire: &str, name: &str) {
    let found = w.verdict.wires.iter_mut().find(|found| found.wire == wire).expect("a wire");
    found.circuit = Some(name.into());
}

/// The neutral of the hall is one with this probability only.
fn no_neutral(w: &mut World, p: f64) {
    for wire in ["hall/a.white", "hall/b.white"] {
        w.role(wire, Role::Spare, 1.0 - p);
    }
}

/// What is joined in the hall's splice of whites, all of it.
fn whites(w: &mut World, role: Role) {
    for wire in ["hall/a.white", "hall/b.white"] {
        w.role(wire, role, 1.0);
    }
}

/// The ceiling's cable has no ground.
fn bare_ceiling(w: &mut World) {
    w.put(
        "      - {tag: a, sheath: nm, wires: [black, white, bare], gauge: 14}\n    devices: [{name: light",
        "      - {tag: a, sheath: nm, wires: [black, white], gauge: 14}\n    devices: [{name: light",
    );
    w.put("      - [a.bare, metal]\n", "");
    w.verdict.wires.retain(|wire| wire.wire != "ceiling/a.bare");
}

fn two_on_a_screw(w: &mut World) {
    w.put("[b.black, switch.t1]", "[b.black, b.red, switch.t1]");
    w.put("      - [b.red, switch.t2]\n", "");
}

fn far(w: &mut World, end: &str, to: &str, p: f64) {
    let cable = w.verdict.cables.iter_mut().find(|cable| cable.ends[0] == end).expect("a cable");
    (cable.ends[1], cable.p) = (to.into(), p);
}

/// The feed's cable comes from the ceiling instead, where its white is joined with the other white, or kept apart.
fn ring(w: &mut World, joined: bool) {
    w.put("      - {tag: a, sheath: nm, wires: [black, white, bare], gauge: 14}\n    devices: [{name: light",
          "      - {tag: a, sheath: nm, wires: [black, white, bare], gauge: 14}\n      - {tag: b, sheath: nm, wires: \
           [black, white, bare], gauge: 14}\n    devices: [{name: light");
    if joined {
        w.put("[a.white, light.shell]", "[a.white, b.white, light.shell]");
    }
    far(w, "hall/a", "ceiling/b", 1.0);
    for (wire, role) in [
        ("ceiling/b.black", Role::Line),
        ("ceiling/b.white", Role::Neutral),
        ("ceiling/b.bare", Role::Ground),
    ] {
        let mut found = w.verdict.wires[0].clone();
        (found.wire, found.role) = (wire.into(), role);
        w.verdict.wires.push(found);
    }
}

#[test]
fn with_nothing_wrong_nothing_is_found() {
    let pack = pack();
    assert_eq!(World::new().names(&pack), Vec::<String>::new());
}

#[test]
fn each_condition_is_found_where_it_is_and_not_where_it_just_is_not() {
    let pack = pack();
    for (n, (name, has, just_not)) in CASES.iter().enumerate() {
        assert!(pack.condition(name).is_some(), "case {n}: there is no condition {name}");
        let (mut with, mut without) = (World::new(), World::new());
        has(&mut with);
        just_not(&mut without);
        let (with, without) = (with.names(&pack), without.names(&pack));
        assert!(with.iter().any(|found| found == name), "case {n}: {name} is missing among {with:?}");
        assert!(!without.iter().any(|found| found == name), "case {n}: {name} is wrongly found");
    }
}

#[test]
fn no_condition_is_without_a_case() {
    let untried: Vec<String> = pack()
        .conditions
        .into_iter()
        .map(|condition| condition.name)
        .filter(|name| !CASES.iter().any(|(tried, ..)| tried == name))
        .collect();
    assert!(
        untried.is_empty(),
        "CASES, at the top of this file, has no line (name, a world that has it, one that just does not) for {untried:?}"
    );
}

/// What triggers a condition is in one of its cases each, alone.
#[test]
fn no_trigger_is_without_a_case() {
    let whole = pack();
    for (at, condition) in whole.conditions.iter().enumerate() {
        for (n, trigger) in condition.found.iter().enumerate() {
            let mut alone = whole.clone();
            alone.conditions[at].found = vec![trigger.clone()];
            let mut of_it = CASES.iter().filter(|(name, ..)| *name == condition.name);
            let found = |change: &Change| {
                let mut world = World::new();
                change(&mut world);
                world.names(&alone).contains(&condition.name)
            };
            assert!(
                of_it.any(|(_, has, just_not)| found(has) && !found(just_not)),
                "CASES, at the top of this file, has no line for what {} is found by, number {n} from 0",
                condition.name
            );
        }
    }
}

/// The documented closed list of defects: each is told by some condition, where it is.
#[test]
fn each_defect_of_the_closed_list_is_told() {
    let pack = pack();
    for defect in lath::knowledge::DefectName::ALL.map(|name| name.word()) {
        let mut world = World::new();
        world.defect(defect, "hall/switch", 0.97);
        let found = world.find(&pack);
        assert_eq!(found.len(), 1, "{defect}");
        assert_eq!(
            found[0].places[0].place,
            lath::conditions::Place::Defect { at: "hall/switch".into(), detail: vec![] }
        );
        assert!((found[0].p() - 0.97).abs() < 1e-12);
    }
}

#[test]
fn a_finding_is_as_firm_as_the_least_firm_thing_it_rests_on() {
    let pack = pack();
    let mut world = World::new();
    world.role("hall/a.white", Role::Line, 0.999);
    world.role("hall/b.white", Role::Line, 0.93);
    let found = world.find(&pack);
    let splice =
        found.iter().find(|finding| finding.condition.name == "live-white-splice").expect("the splice");
    assert!((splice.p() - 0.93).abs() < 1e-12);
    let lines = found.iter().find(|finding| finding.condition.name == "white-as-line").expect("the wires");
    let each: Vec<f64> = lines.places.iter().map(|place| place.p).collect();
    assert_eq!(each, [0.999, 0.93]);
}

#[test]
fn in_a_contradiction_nothing_inferred_is_likely() {
    let pack = pack();
    let mut world = World::new();
    world.role("hall/a.white", Role::Line, 1.0);
    world.role("hall/b.white", Role::Line, 1.0);
    world.defect("live-metal", "hall", 0.999);
    world.seen("scorched");
    assert!(world.find(&pack).iter().all(|finding| finding.p() > 0.99));
    world.verdict.state = State::Contradiction;
    for finding in world.find(&pack) {
        let seen = finding.condition.name == "scorched-parts";
        assert_eq!(finding.p() >= 0.9, seen, "{}", finding.condition.name);
    }
}

#[test]
fn what_somebody_was_not_sure_of_is_less_than_likely() {
    let pack = pack();
    let mut world = World::new();
    world.put("sheath: nm", "sheath: knob-and-tube");
    world.put("gauge: 14}", "gauge: 14, sure: false}");
    let found = world.find(&pack);
    let p = found.iter().find(|finding| finding.condition.name == "knob-and-tube").expect("it is told").p();
    assert!(p < 0.9, "{p}");
}

#[test]
fn the_gravest_come_first_then_the_firmest() {
    let pack = pack();
    let mut world = World::new();
    world.seen("crowded, brittle-insulation, scorched");
    world.defect("left-out", "hall", 0.95);
    world.defect("live-metal", "hall", 0.3);
    world.defect("reversed-feed", "hall", 0.7);
    let names = world.names(&pack);
    assert_eq!(
        names,
        [
            "scorched-parts",
            "live-metal",
            "brittle-insulation",
            "reversed-polarity",
            "left-out",
            "crowded-box"
        ]
    );
}
