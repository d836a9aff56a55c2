//! The examples, from the survey to what the note says was found. What each has follows from its survey and from the
//! wiring that its first lines say is behind it.

use crate::world::pack;
use lath::conditions::{Edition, find};
use lath::files;

fn found(name: &str) -> Vec<String> {
    let text = std::fs::read_to_string(format!("{}/examples/{name}", env!("CARGO_MANIFEST_DIR")))
        .expect("an example");
    let loaded = files::parse_str(name, &text).unwrap_or_else(|error| panic!("{error}"));
    let knowledge = files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let verdict = lath::verdict::reach(&loaded.call, &knowledge, Default::default());
    let code = loaded.job.call.and_then(|call| call.code);
    let pack = pack();
    let edition = Edition::of(code.as_deref(), &loaded.call.house.region, &pack);
    let findings = find(&pack, &loaded.call, &verdict, edition.as_ref());
    let mut names: Vec<String> = findings.iter().map(|finding| finding.condition.name.clone()).collect();
    names.sort();
    names
}

/// Line goes down white to the near switch box, through a splice of whites, and on to the far switch; neither switch box
/// has a neutral. The near box: 5 wires and a switch are 14 cubic inches without clamps, and it has 12.5.
#[test]
fn line_to_the_far_switch_in_white() {
    assert_eq!(
        found("feed-at-light-line-to-far.yaml"),
        [
            "box-over-filled",
            "brittle-insulation",
            "live-white-splice",
            "no-ground",
            "no-neutral-at-switch",
            "white-as-line"
        ]
    );
}

/// Armour of 1938 and no ground; each leg has a line or load and two travelers, one of the whites being line, the other a
/// traveler.
#[test]
fn legs_in_armour() {
    assert_eq!(
        found("feed-at-light-two-legs.yaml"),
        ["armour-as-ground", "no-ground", "no-neutral-at-switch", "white-as-line", "white-as-traveler"]
    );
}

#[test]
fn singles_without_a_neutral_at_the_switches() {
    assert_eq!(
        found("knob-and-tube.yaml"),
        ["brittle-insulation", "knob-and-tube", "no-ground", "no-neutral-at-switch"]
    );
}

/// The whites are neutrals in both switch boxes. 5 wires and a switch of 12 AWG are 15.75 cubic inches, the boxes have 14 and 13.
#[test]
fn in_line_with_the_neutral_everywhere() {
    assert_eq!(found("feed-at-upper-switch.yaml"), ["box-over-filled", "no-ground"]);
}
