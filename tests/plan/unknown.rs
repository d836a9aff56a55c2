//! What nobody knows of a house is one thing in every reading of it.

use lath::files::{packs, parse_str};
use lath::house::Role;
use lath::verdict;
use lath::wiring::{Options, Space};

/// A pair of three-ways: the feed comes in on the hall's cable c, the light is on its cable a. Something else hangs on the
/// circuit, of 37 ohms; the light alone has 18, both together 12.
const HOUSE: &str = "\
lath: 1
call: {goal: identify}
house:
  {region: us, built: 1931, supply: 120, grounds: none, feeds: [{name: '12'}],
   reference: {what: a rod driven by the cellar door, proven: 117}}
instruments: [high-impedance, low-impedance, continuity, test-lamp, clamp]
boxes:
  - name: hall
    kind: switch
    opened: true
    floor: 1
    reach: stand
    cables:
      - {tag: a, sheath: cloth-nm, wires: [black, white]}
      - {tag: b, wires: [black, red, white]}
      - {tag: c, sheath: cloth-nm, wires: [black, white]}
    devices: [{name: switch, kind: three-way}]
    joints:
      - [c.black, switch.common]
      - [a.white, c.white]
      - [b.white, a.black]
      - [b.red, switch.t1]
      - [b.black, switch.t2]
  - name: upper landing
    kind: switch
    opened: true
    floor: 2
    reach: stand
    cables: [{tag: a, wires: [black, red, white]}]
    devices: [{name: switch, kind: three-way}]
    joints:
      - [a.white, switch.common]
      - [a.red, switch.t2]
      - [a.black, switch.t1]
  - name: stair ceiling
    kind: light
    opened: true
    floor: 1
    reach: ladder
    cables: [{tag: a, sheath: cloth-nm, wires: [black, white]}]
    devices: [{name: light, kind: light, lamp: incandescent, watts: 60}]
    joints:
      - [a.white, light.shell]
      - [a.black, light.center]
readings:
";

/// Dead ohms from c.black, with the hall's switch so and these wires lifted.
fn ohms(to: &str, hall: &str, lifted: &str, reads: f64) -> String {
    format!(
        "  - {{do: ohms, at: hall, between: [hall/c.black, {to}], with: high-impedance, breaker: 'off', switches: {{hall: \
         {hall}, upper landing: up}}, lamp: in, out: [], lifted: [{lifted}], jumpers: [], reads: {reads}}}\n"
    )
}

/// How likely c.black is the line and the load; and what is settled wrong.
fn weighed(readings: &[String]) -> ([f64; 2], Vec<String>) {
    let call = parse_str("drawn.yaml", &(HOUSE.to_owned() + &readings.concat())).unwrap().call;
    let knowledge = packs::embedded().unwrap();
    let space = Space::of_call(&call, &knowledge, Options::default());
    let wires = verdict::within(&call, &knowledge, &space).wires;
    let found = wires.iter().find(|found| found.wire == "hall/c.black").unwrap();
    let p = |role| if found.role == role { found.p } else { found.others.get(&role).copied().unwrap_or(0.0) };
    let drawn = |wire: &str| match wire {
        "hall/c.black" => Role::Line,
        "hall/a.black" | "hall/b.white" | "upper landing/a.white" | "stair ceiling/a.black" => Role::Load,
        "hall/a.white" | "hall/c.white" | "stair ceiling/a.white" => Role::Neutral,
        _ => Role::Traveler,
    };
    let wrong = wires.iter().filter(|found| found.p >= verdict::SETTLED && found.role != drawn(&found.wire));
    ([p(Role::Line), p(Role::Load)], wrong.map(|found| found.wire.clone()).collect())
}

/// By Bayes' rule what a reading shows counts only as far as it was not to be foreseen. Whatever hangs on the circuit, or is
/// in the light, hangs there in the next reading too: the same resistance, met again by another way, does not make it any
/// likelier that it is the lamp. What is left is how well 37 ohms go with a filament rather than another load, a third at most.
#[test]
fn a_resistance_met_again_tells_nothing_new() {
    let met = [ohms("earth", "up", "", 36.6), ohms("earth", "down", "", 12.0)];
    let again = [
        ohms("hall/a.white", "down", "", 11.9),
        ohms("hall/a.white", "up", "", 36.8),
        ohms("earth", "up", "hall/b.white", 36.6),
        ohms("hall/a.white", "up", "hall/b.white", 36.8),
    ];
    let ([line, load], wrong) = weighed(&met);
    assert!(wrong.is_empty(), "{wrong:?}");
    assert!(load > 0.5, "{line} line, {load} load: nothing would be met again");
    let mut readings = met.to_vec();
    for one in again {
        readings.push(one);
        let ([line_again, load_again], wrong) = weighed(&readings);
        let shift = (load_again / line_again) / (load / line);
        assert!((0.75..1.35).contains(&shift), "after {} readings {shift} times as likely", readings.len());
        assert!(wrong.is_empty(), "{wrong:?}");
    }
}
