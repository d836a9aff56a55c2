//! The space of wirings, held against an independent answer-set encoding (tests/oracle/wirings).
//!
//! Live with clingo where python3 can import it, and always against the committed counts and digests, which that
//! program wrote. In CI its absence is a failure.

#![allow(clippy::expect_used, reason = "a helper of tests may fail as a test does")]

use lath::files::packs;
use lath::house::{House, Place};
use lath::wiring::{Dest, Label, Options, Space};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/wirings")
}

fn place(house: &House, place: Place) -> String {
    match place {
        Place::Box(at) => house.outlet(at).name.clone(),
        Place::Buried(_) => "buried".to_owned(),
        Place::Panel => "panel".to_owned(),
        Place::Onward => "onward".to_owned(),
    }
}

/// The canonical line of every wiring, sorted: the form that the answer-set program prints.
fn lines(house: &House, space: &Space) -> Vec<String> {
    let mut lines = BTreeSet::new();
    for wiring in space.rows.iter().flat_map(|row| &row.wirings) {
        let netlist = &space.netlists[wiring.netlist];
        let order: Vec<&str> =
            netlist.order.iter().map(|&d| house.outlet(house.device(d).at).name.as_str()).collect();
        let dests = house.end_ids().zip(&wiring.dests).map(|(end, dest)| {
            let far = match *dest {
                Dest::End(far) => house.end_name(far),
                Dest::Box(at) => place(house, Place::Box(at)),
                Dest::Buried(n) => place(house, Place::Buried(n)),
                Dest::Panel => "panel".to_owned(),
                Dest::Onward => "onward".to_owned(),
            };
            format!("{}={far}", house.end_name(end))
        });
        let mut hops = netlist.nets.iter().enumerate().filter(|(_, net)| net.hop.is_some()).map(|(at, _)| at);
        let travelers = [hops.next(), hops.next()];
        let label = |label: Label| match label {
            Label::SPARE => "spare",
            Label::GROUND => "ground",
            Label(net) if Some(usize::from(net)) == travelers[0] => "t1",
            Label(net) if Some(usize::from(net)) == travelers[1] => "t2",
            Label(net) => netlist.nets[usize::from(net)].role().word(),
        };
        let labels = house
            .wires()
            .zip(&wiring.labels)
            .map(|(wire, l)| format!("{}={}", house.wire_name(wire), label(*l)));
        lines.insert(format!(
            "{} {}|feed={}|{}|{}",
            netlist.scheme,
            order.join(">"),
            place(house, wiring.feed),
            dests.collect::<Vec<_>>().join(","),
            labels.collect::<Vec<_>>().join(",")
        ));
    }
    lines.into_iter().collect()
}

/// The packs with the schemes that the answer-set program knows.
fn knowledge() -> lath::knowledge::Knowledge {
    let mut knowledge = packs::embedded().expect("packs that parse");
    knowledge.schemes.retain(|scheme| ["single-pole", "conventional"].contains(&scheme.scheme.as_str()));
    // The answer-set program knows of one circuit.
    knowledge.habits.prior.unnamed_circuit = 0.0;
    knowledge
}

fn house(survey: &str) -> House {
    let path = folder().join("surveys").join(format!("{survey}.yaml"));
    lath::files::load(&path).expect("a survey that loads").call.house
}

#[derive(serde::Deserialize)]
struct Case {
    survey: String,
    buried: u8,
    count: usize,
    sha256: String,
}

#[test]
fn the_same_wirings_as_the_answer_set_program() {
    let counts = std::fs::read_to_string(folder().join("counts.json")).unwrap();
    let cases: BTreeMap<String, Case> = serde_json::from_str(&counts).unwrap();
    assert!(cases.len() >= 24);
    let knowledge = knowledge();
    let mut wrong = Vec::new();
    for (name, case) in &cases {
        let house = house(&case.survey);
        let space = Space::new(&house, &knowledge, Options { buried: case.buried });
        let lines = lines(&house, &space);
        assert_eq!(lines.len(), space.projected(), "{name}");
        if lines.len() != case.count || sha256(lines.join("\n").as_bytes()) != case.sha256 {
            wrong.push(format!("{name}: {} here, {} there", lines.len(), case.count));
        }
    }
    assert!(wrong.is_empty(), "{} of {} differ:\n{}", wrong.len(), cases.len(), wrong.join("\n"));
}

/// The committed counts are what the answer-set program says today, for all but the largest cases.
#[test]
fn the_committed_counts_are_those_of_the_program() {
    let has_clingo = Command::new("python3").args(["-c", "import clingo, yaml"]).output();
    if !has_clingo.is_ok_and(|output| output.status.success()) {
        assert!(std::env::var_os("CI").is_none(), "in CI python3 needs clingo and PyYAML");
        eprintln!("python3 has no clingo or no PyYAML: only the committed counts were compared");
        return;
    }
    let program = folder().join("count.py");
    let output = Command::new("python3").arg(program).args(["--check", "--most", "2000"]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
}

fn sha256(bytes: &[u8]) -> String {
    use sha2::Digest;
    sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[derive(serde::Deserialize)]
struct ByHand {
    survey: String,
    buried: u8,
    wirings: Vec<String>,
}

/// Small spaces worked out on paper, with the reasoning beside each in the file.
#[test]
fn the_same_wirings_as_by_hand() {
    let text = std::fs::read_to_string(folder().join("hand.json")).unwrap();
    let cases: BTreeMap<String, ByHand> = serde_json::from_str(&text).unwrap();
    assert!(cases.len() >= 4);
    for (name, case) in cases {
        let house = house(&case.survey);
        let space = Space::new(&house, &knowledge(), Options { buried: case.buried });
        let mut by_hand = case.wirings;
        by_hand.sort();
        assert_eq!(lines(&house, &space), by_hand, "{name}");
    }
}

/// Weights are a distribution, whatever the survey.
#[test]
fn prior_weights_add_up_to_one() {
    let knowledge = knowledge();
    for survey in ["two-legs", "open-ring-light-unopened", "loop-apart", "knob-and-tube"] {
        let space = Space::new(&house(survey), &knowledge, Options::default());
        let whole: f64 = space.rows.iter().map(lath::wiring::WallsRow::weight).sum();
        assert!((whole - 1.0).abs() < 1e-9, "{survey}: {whole}");
    }
}
