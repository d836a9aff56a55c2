//! Every rule of the job file, broken once: the example with one passage changed.

use crate::bench::{changed, refused};

/// `name: old passage => new passage, marker of the line, offending text, part of the remedy;`
macro_rules! malformed {
    ($($name:ident: $old:literal => $new:literal, at $marker:literal, found $found:literal, write $instead:literal;)+) => {
        $(
            #[test]
            fn $name() {
                refused(&changed($old, $new), $marker, $found, $instead);
            }
        )+
    };
}

// Shape: fields, keys, words, numbers.
malformed! {
    no_version: "lath: 1\n" => "", at "call:", found "", write "lath: 1 as the first line";
    newer_version: "lath: 1\n" => "lath: 2\n", at "lath: 2", found "2", write "use the newer program";
    version_in_words: "lath: 1\n" => "lath: one\n", at "lath: one", found "one", write "lath: 1";
    unknown_field_in_the_call: "worked_before: true" => "worked_befor: true",
        at "worked_befor:", found "worked_befor", write "worked_before";
    unknown_field_at_the_top: "safety: {" => "saftey: {", at "saftey", found "saftey", write "safety";
    unknown_field_in_flow_style: "reads: lit, by: customer" => "reads: lit, from: customer",
        at "from: customer", found "from", write "one of do, at, between";
    same_key_twice: "  site: 9 Quarry Row\n" => "  site: 9 Quarry Row\n  site: 11 Quarry Row\n",
        at "site: 11", found "site", write "each key once";
    same_switch_twice: "switches: {hall: up, upper landing: up}, reads: lit" =>
        "switches: {hall: up,\n      hall: down}, reads: lit", at "      hall: down", found "hall", write "each key once";
    field_missing: "    kind: switch\n    opened: true\n" => "    opened: true\n",
        at "- name: hall", found "name, opened, floor, reach, volume, cables, devices, joints…", write "kind:";
    no_such_kind_of_box: "    kind: switch\n" => "    kind: swich\n", at "swich", found "swich", write "switch";
    no_such_sheath: "{tag: b, sheath: cloth-nm" => "{tag: b, sheath: romanesque",
        at "romanesque", found "romanesque", write "cloth-nm, nm, armored";
    no_such_question: "{do: amps" => "{do: amp", at "{do: amp,", found "amp", write "amps";
    no_such_screws: "{name: switch, kind: three-way}]\n    joints" =>
        "{name: switch, kind: three-way, screws: rusty}]\n    joints", at "rusty", found "rusty", write "marked or unmarked";
    number_with_a_unit: "volume: 12.5" => "volume: 12.5 in3", at "12.5 in3", found "12.5 in3", write "a plain number";
    number_with_a_comma: "volume: 12.5" => "volume: 12,5", at "12,5", found "12,5", write "12.5";
    part_of_a_floor: "floor: 1\n    reach" => "floor: 1.5\n    reach",
        at "floor: 1.5", found "1.5", write "a plain whole number";
    no_list: "seen: [brittle-insulation]" => "seen: brittle-insulation",
        at "seen: brittle", found "brittle-insulation", write "[brittle-insulation]";
    no_map: "safety: {accepted: 2026-05-14}" => "safety: accepted", at "safety:", found "accepted", write "a map with accepted";
    three_points_between: "between: [a.black, earth], with" => "between: [a.black, a.white, earth], with",
        at "a.white, earth]", found "[a.black, a.white, earth]", write "exactly two";
    name_is_a_list: "tag: b," => "tag: [b],", at "tag: [b]", found "[b]", write "one name";
    breaker_half_on: "breaker: off, out" => "breaker: half, out", at "breaker: half", found "half", write "on or off";
    lamp_gone: "lamp: out, out" => "lamp: gone, out", at "lamp: gone", found "gone", write "in, out or test";
    apart_in_words: "apart: []" => "apart: most", at "apart: most", found "most", write "true for the whole box";
    worked_perhaps: "worked_before: true" => "worked_before: perhaps",
        at "perhaps", found "perhaps", write "true or false";
}

// Names.
malformed! {
    same_box_name: "readings:\n" => "  - {name: hall, kind: junction}\nreadings:\n",
        at "kind: junction", found "hall", write "no other box has";
    same_tag: "{tag: b, sheath: cloth-nm, wires: [black, red, white]}\n    devices" =>
        "{tag: b, wires: [black, red, white]}\n      - {tag: b, gauge: 12, wires: [blue]}\n    devices",
        at "gauge: 12", found "b", write "the next free letter";
    tag_of_a_device: "devices: [{name: switch, kind: three-way}]\n    joints" =>
        "devices: [{name: switch, kind: three-way}, {name: b, kind: receptacle}]\n    joints",
        at "kind: receptacle", found "b", write "another one";
    slash_in_a_name: "readings:\n" => "  - {name: cellar/stair, kind: junction}\nreadings:\n",
        at "cellar", found "cellar/stair", write "cellar-stair";
    dot_in_a_name: "readings:\n" => "  - {name: No. 3, kind: junction}\nreadings:\n",
        at "No. 3", found "No. 3", write "No- 3";
    empty_name: "readings:\n" => "  - {name: \"\", kind: junction}\nreadings:\n",
        at "kind: junction", found "", write "a name without blanks";
    reserved_box_name: "readings:\n" => "  - {name: panel, kind: junction}\nreadings:\n",
        at "name: panel", found "panel", write "another name: not panel, onward, earth";
    reserved_buried_name: "readings:\n" => "  - {name: buried-2, kind: junction}\nreadings:\n",
        at "name: buried-2", found "buried-2", write "another name";
    reserved_tag: "    devices: [{name: switch, kind: three-way}]\n    joints" =>
        "      - {tag: metal, wires: [blue]}\n    devices: [{name: switch, kind: three-way}]\n    joints",
        at "tag: metal", found "metal", write "another name";
    same_circuit_twice: "{name: \"7\", kind: breaker, amps: 15}]" => "{name: \"7\", amps: 15},\n    {name: 7, kind: fuse}]",
        at "kind: fuse", found "7", write "the name on the panel";
}

// Boxes, cables, devices.
malformed! {
    cables_unopened: "opened: false, reach: ladder," => "opened: false, reach: ladder, cables: [{tag: a, wires: [black]}],",
        at "reach: ladder,", found "stair ceiling", write "opened: true in this box";
    empty_cable: "readings:\n" => "  - {name: attic, kind: junction, opened: true, cables: [{tag: a, wires: []}]}\nreadings:\n",
        at "name: attic", found "a", write "[w1, w2]";
    same_colour_twice: "readings:\n" =>
        "  - {name: attic, kind: junction, opened: true, cables: [{tag: a, wires: [black, black]}]}\nreadings:\n",
        at "name: attic", found "black", write "black1, black2";
    colour_in_capitals: "readings:\n" =>
        "  - {name: attic, kind: junction, opened: true, cables: [{tag: a, wires: [Black]}]}\nreadings:\n",
        at "name: attic", found "Black", write "black";
    two_colours_in_one: "readings:\n" =>
        "  - {name: attic, kind: junction, opened: true, cables: [{tag: a, wires: [green/yellow]}]}\nreadings:\n",
        at "name: attic", found "green/yellow", write "green-yellow";
    gauge_of_a_hawser: "gauge: 14" => "gauge: 140", at "gauge: 140", found "140", write "14 or 12";
    no_volume: "volume: 12.5" => "volume: 0", at "volume: 0", found "0", write "above 0";
    no_watts: "watts: 60" => "watts: -60", at "watts: -60", found "-60", write "above 0";
    no_amps: "amps: 15" => "amps: 0", at "amps: 0", found "0", write "above 0";
    no_input_resistance: "ohms: 3000" => "ohms: 0", at "ohms: 0", found "0", write "above 0";
    to_besides_between: "between: [a.black, earth], with" => "between: [a.black, earth], to: earth, with",
        at "to: earth, with: low-impedance, breaker: on,\n     switches: {hall: up, upper landing: down}, lamp: in", found "to", write "alone";
    no_supply: "supply: 120" => "supply: 0", at "supply: 0", found "0", write "above 0";
    supply_of_a_factory: "supply: 120" => "supply: 480", at "supply: 480", found "480", write "line to neutral";
    year_in_two_figures: "built: 1948" => "built: 48", at "built: 48", found "48", write "the year in four figures";
    floor_in_the_sky: "floor: 1\n    reach" => "floor: 1000\n    reach", at "floor: 1000", found "1000", write "the storey";
    lamp_in_a_switch: "devices: [{name: switch, kind: three-way}]\n    joints" =>
        "devices: [{name: switch, kind: three-way, lamp: led}]\n    joints", at "lamp: led", found "switch", write "kind: light";
    number_in_quotes: "volume: 12.5" => "volume: \"12.5\"", at "volume:", found "12.5", write "12.5 without quotation marks";
    figure_of_another_instrument: "{kind: clamp, resolves: 0.1}" => "{kind: clamp, ohms: 10}",
        at "kind: clamp", found "ohms: 10", write "resolves for a clamp";
}

// Joints.
malformed! {
    wire_in_two_joints: "- [a.white, b.white]\n" => "- [a.white, b.white, b.red]\n",
        at "b.white, b.red", found "b.red", write "each point in one joint only";
    screw_in_two_joints: "- [a.white, b.white]\n" => "- [a.white, b.white, switch.t1]\n",
        at "b.white, switch.t1", found "switch.t1", write "each point in one joint only";
    point_twice_in_a_joint: "- [a.white, b.white]\n" => "- [a.white, b.white, a.white]\n",
        at "b.white, a.white", found "a.white", write "it once";
    joint_of_one: "- [a.white, b.white]\n" => "- [a.white]\n", at "- [a.white]", found "a.white", write "nothing for a wire that is capped";
    terminal_the_device_has_not: "- [b.red, switch.t2]" => "- [b.red, switch.t3]",
        at "switch.t3", found "switch.t3", write "switch.t1";
    terminal_of_an_unmarked_device: "devices: [{name: switch, kind: three-way}],\n     joints: [[a.black, switch.t1], [a.red, switch.common], [a.white, switch.t2]]" =>
        "devices: [{name: switch, kind: three-way, screws: unmarked}],\n     joints: [[a.black, switch.x1], [a.red, switch.common], [a.white, switch.x3]]",
        at "switch.x1", found "switch.common", write "switch.x1, switch.x2 or switch.x3";
    wire_the_cable_has_not: "- [b.red, switch.t2]" => "- [b.blue, switch.t2]",
        at "b.blue", found "b.blue", write "b.black, b.red or b.white";
    name_the_box_has_not: "- [b.red, switch.t2]" => "- [c.red, switch.t2]", at "c.red", found "c.red", write "a, b or switch";
    cable_for_a_wire: "- [b.red, switch.t2]" => "- [b, switch.t2]", at "- [b, ", found "b", write "b.black, b.red or b.white";
    joint_between_boxes: "- [b.red, switch.t2]" => "- [b.red, switch.t2, upper landing/a.red]",
        at "upper landing/a.red]", found "upper landing/a.red", write "only points of this box";
    earth_in_a_joint: "- [b.red, switch.t2]" => "- [b.red, switch.t2, earth]", at "earth]\n      - [a.white", found "earth", write "metal for the box itself";
    joints_unopened: "opened: false, reach: ladder," => "opened: false, reach: ladder, joints: [[light.center, light.shell]],",
        at "reach: ladder,", found "stair ceiling", write "opened: true in this box";
    remarked_joint_misspelt: "- [b.red, switch.t2]" => "- {points: [b.red, switch.t2], shure: false}",
        at "shure", found "shure", write "sure";
    remarked_joint_with_a_wrong_point: "- [b.red, switch.t2]" => "- {points: [b.red,\n          switch.t9], sure: false}",
        at "switch.t9", found "switch.t9", write "switch.t1";
    doubled_without_two_wires: "    apart: []" => "    doubled: [switch.t2]\n    apart: []",
        at "doubled:", found "switch.t2", write "both wires in the joint";
    doubled_wire: "    apart: []" => "    doubled: [b.red]\n    apart: []",
        at "doubled:", found "b.red", write "device.terminal";
    apart_and_joined: "apart: []" => "apart: [a.white]", at "apart: [", found "a.white", write "not both";
    apart_and_unknown: "apart: []" => "apart: [a.purple]", at "apart: [", found "a.purple", write "a.black or a.white";
    was_unknown: "was: []" => "was: [[a.black, switch.t4]]", at "was: [", found "switch.t4", write "switch.t1";
    was_at_an_unopened_box: "opened: false, reach: ladder," =>
        "opened: false, reach: ladder, was: [[light.center, light.shell]],", at "reach: ladder,", found "stair ceiling", write "or no was";
}

// Readings: the question.
malformed! {
    no_such_place: "{do: amps, at: hall" => "{do: amps, at: hell", at "at: hell", found "hell", write "hall";
    reading_at_an_unopened_box: "{do: amps, at: hall" => "{do: amps, at: stair ceiling",
        at "at: stair ceiling", found "stair ceiling", write "opened: true";
    point_in_an_unopened_box: "between: [a.red, hall/b.red]" => "between: [a.red, stair ceiling/light.shell]",
        at "light.shell", found "stair ceiling/light.shell", write "opened: true and what was seen there";
    point_in_no_box: "between: [a.red, hall/b.red]" => "between: [a.red, hull/b.red]", at "hull", found "hull/b.red", write "hall";
    point_without_a_box: "{do: ohms, at: upper landing, between: [a.red," => "{do: ohms, between: [a.red,",
        at "between: [a.red,", found "a.red", write "BOX/a.red";
    live_between_boxes: "points: [a.white, b.red, b.white], to: earth" => "points: [a.white, b.red, b.white], to: upper landing/a.red",
        at "to: upper landing/a.red", found "a.white, upper landing/a.red", write "earth for one of them";
    live_between_two_points_of_two_boxes: "between: [a.black, earth], with" => "between: [a.black, upper landing/a.black], with",
        at "upper landing/a.black", found "a.black, upper landing/a.black", write "do: ohms with breaker: off";
    both_leads_on_one_point: "between: [a.black, earth], with" => "between: [a.black, hall/a.black], with",
        at "hall/a.black", found "hall/a.black", write "two different points";
    no_points: "between: [a.red, hall/b.red], " => "", at "{do: ohms", found "ohms", write "between: [POINT, POINT]";
    points_to_nothing: "to: earth, with" => "with", at "points: [a.white, b.red", found "points", write "to: earth";
    between_and_points: "between: [a.black, earth], with" => "between: [a.black, earth], points: [a.white], with",
        at "points: [a.white], with", found "between, points", write "with to: POINT";
    field_of_another_question: "around: a," => "around: a, light: stair ceiling,",
        at "around: a, light", found "light", write "around instead";
    clamp_round_nothing: "around: a, " => "", at "{do: amps", found "amps", write "a cable's tag or a wire";
    clamp_round_a_switch: "around: a," => "around: switch,", at "around: switch", found "switch", write "a cable's tag";
    clamp_round_no_wire: "around: a," => "around: a.red,", at "around: a.red", found "a.red", write "a.black or a.white";
    wrong_instrument_for_volts: "to: earth, with: low-impedance" => "to: earth, with: clamp",
        at "with: clamp", found "clamp", write "high-impedance, low-impedance, two-pole";
    instrument_to_look_with: "{do: watch, light: stair ceiling," => "{do: watch, light: stair ceiling, with: neon,",
        at "with: neon", found "neon", write "one only looks";
    light_in_no_box: "{do: watch, light: stair ceiling," => "{do: watch, light: attic,", at "light: attic", found "attic", write "hall, stair ceiling or upper landing";
    box_without_a_light: "{do: watch, light: stair ceiling," => "{do: watch, light: hall,",
        at "light: hall", found "hall", write "stair ceiling/light";
    light_and_lights: "{do: watch, light: stair ceiling," => "{do: watch, light: stair ceiling, lights: [stair ceiling],",
        at "lights:", found "light, lights", write "one of them";
    same_point_asked_twice: "points: [a.white, b.red, b.white]" => "points: [a.white, b.red, hall/b.red]",
        at "hall/b.red], to", found "hall/b.red", write "it once";
    opening_as_a_reading: "{do: amps, at: hall, around: a, breaker: on, switches: {hall: up, upper landing: up}, reads: 0}" =>
        "{do: open, at: hall}", at "do: open", found "open", write "opened: true and what was seen";
    skipped_among_readings: "reads: lit, by: customer" => "reads: lit, why: later", at "why: later", found "why", write "it under skipped";
}

// Readings: the conditions.
malformed! {
    ohms_with_the_breaker_on: "breaker: off, out: [hall/switch]" => "breaker: on, out: [hall/switch]",
        at "{do: ohms", found "on", write "breaker: off";
    ohms_with_one_breaker_on: "breaker: off, out: [hall/switch]" => "breaker: {7: true}, out: [hall/switch]",
        at "{do: ohms", found "on", write "breaker: off";
    jumper_under_volts: "lamp: in, out: [], lifted: [], reads: 119" => "lamp: in, jumpers: [[a.white, earth]], reads: 119",
        at "jumpers:", found "[a.white, earth]", write "do: ohms with breaker: off";
    jumper_to_itself: "breaker: off, out: [hall/switch]" => "jumpers: [[a.red, upper landing/a.red]], out: [hall/switch]",
        at "jumpers:", found "a.red", write "two different points";
    jumper_to_no_wire: "breaker: off, out: [hall/switch]" => "jumpers: [[a.red, a.pink]], out: [hall/switch]",
        at "jumpers:", found "a.pink", write "a.black, a.red or a.white";
    no_such_breaker: "breaker: off, out: [hall/switch]" => "breaker: {\"9\": off}, out: [hall/switch]",
        at "{do: ohms", found "9", write "7";
    no_such_position: "switches: {hall: up, upper landing: up}, reads: lit" => "switches: {hall: on, upper landing: up}, reads: lit",
        at "hall: on", found "on", write "up or down, left or right, 1 or 2";
    other_labels_than_before: "switches: {hall: up, upper landing: up}, reads: 0" =>
        "switches: {hall: left, upper landing: up}, reads: 0", at "hall: left", found "left", write "up or down, as before";
    position_of_a_box_without_a_switch: "switches: {hall: up, upper landing: up}, reads: 0" =>
        "switches: {hall: up, stair ceiling: up}, reads: 0", at "stair ceiling: up}", found "stair ceiling", write "hall/switch or upper landing/switch";
    position_in_no_box: "switches: {hall: up, upper landing: up}, reads: 0" => "switches: {hall: up, lower landing: up}, reads: 0",
        at "lower landing", found "lower landing", write "upper landing";
    switch_under_two_names: "switches: {hall: up, upper landing: up}, reads: 0" => "switches: {hall: up, hall/switch: up}, reads: 0",
        at "hall/switch: up", found "hall/switch", write "hall/switch once";
    lamp_in_no_light: "lamp: out, out: [hall/switch]" => "lamp: {hall: out}, out: [hall/switch]",
        at "lamp: {hall", found "hall", write "stair ceiling/light";
    no_such_device_out: "breaker: off, out: [hall/switch]" => "breaker: off, out: [hall/dimmer]",
        at "hall/dimmer", found "hall/dimmer", write "a, b or switch";
    box_out: "breaker: off, out: [hall/switch]" => "breaker: off, out: [hall]", at "out: [hall]", found "hall", write "hall/switch";
    cable_out: "breaker: off, out: [hall/switch]" => "breaker: off, out: [hall/a]", at "hall/a]", found "hall/a", write "under lifted";
    device_out_of_an_unopened_box: "breaker: off, out: [hall/switch]" => "breaker: off, out: [stair ceiling/light]",
        at "stair ceiling/light", found "stair ceiling/light", write "opened: true";
    no_such_wire_lifted: "out: [], lifted: [], reads: 119" => "out: [], lifted: [b.green], reads: 119",
        at "b.green", found "b.green", write "b.black, b.red or b.white";
    screw_lifted: "out: [], lifted: [], reads: 119" => "out: [], lifted: [switch.t1], reads: 119",
        at "lifted: [switch", found "switch.t1", write "tag.wire";
}

// Readings: the answers.
malformed! {
    too_few_answers: "reads: [0, 0.1, 0]" => "reads: [0, 0.1]", at "reads: [0, 0.1]", found "[0, 0.1]", write "3 answers";
    one_answer_for_three: "reads: [0, 0.1, 0]" => "reads: 0.1", at "reads: 0.1", found "0.1", write "3 answers";
    answers_by_name_for_volts: "reads: 119" => "reads: {hall: 119}", at "{hall: 119}", found "{hall: 119}", write "one answer";
    bin_of_another_question: "reads: lit, by: customer" => "reads: line, by: customer",
        at "reads: line", found "line", write "lit, dim, glow, dark or trips";
    bin_misspelt: "reads: 119" => "reads: ghots", at "ghots", found "ghots", write "ghost";
    number_for_a_light: "reads: lit, by: customer" => "reads: 119, by: customer",
        at "reads: 119, by", found "119", write "lit, dim, glow, dark or trips";
    ohms_that_are_no_number: "reads: 0.4" => "reads: .nan", at ".nan", found ".nan", write "open";
    ohms_without_end: "reads: 0.4" => "reads: .inf", at ".inf", found ".inf", write "open";
    ohms_below_zero: "reads: 0.4" => "reads: -0.4", at "-0.4", found "-0.4", write "the ohms without a sign";
    ohms_of_a_beeper: "out: [hall/switch], reads: 0.4" => "out: [hall/switch], with: continuity, reads: 0.4",
        at "with: continuity", found "0.4", write "beep or silent";
    ohms_in_low_impedance: "out: [hall/switch], reads: 0.4" => "out: [hall/switch], with: low-impedance, reads: 0.4",
        at "reads: 0.4", found "low-impedance", write "high-impedance or continuity";
    volts_with_a_comma: "reads: 119" => "reads: 118,4 V", at "118,4", found "4 V", write "a point: 118.4";
    volts_with_a_unit: "reads: 119" => "reads: 118.4 V", at "118.4 V", found "118.4 V", write "118.4";
    range_backwards: "reads: 119" => "reads: 120-110", at "120-110", found "120-110", write "110-120";
    volts_below_zero: "reads: [0, 0.1, 0]" => "reads: [0, -0.1, 0]", at "-0.1", found "-0.1", write "without a sign";
    nothing_read: "breaker: on, switches: {hall: up, upper landing: up}, reads: 0}" => "breaker: on, switches: {hall: up, upper landing: up}}",
        at "{do: amps", found "amps", write "reads: and the answer";
    light_answered_that_was_not_watched: "reads: lit, by: customer" => "reads: {hall: lit}, by: customer",
        at "{hall: lit}", found "hall", write "stair ceiling/light";
}

// The head of the call and its records.
malformed! {
    neutral_in_no_box: "goal: identify " => "goal: neutral-at cellar ", at "goal:", found "neutral-at cellar", write "hall, stair ceiling or upper landing";
    neutral_nowhere: "goal: identify " => "goal: neutral-at ", at "goal:", found "neutral-at", write "neutral-at and the name of a box";
    no_such_goal: "goal: identify " => "goal: guess ", at "goal:", found "guess", write "identify, repair";
    day_the_other_way_round: "date: 2026-05-14" => "date: 14.05.2026", at "14.05.2026", found "14.05.2026", write "YYYY-MM-DD";
    thirtieth_of_february: "date: 2026-05-14" => "date: 2026-02-30", at "2026-02-30", found "2026-02-30", write "YYYY-MM-DD";
    day_of_acceptance: "accepted: 2026-05-14" => "accepted: yesterday", at "yesterday", found "yesterday", write "YYYY-MM-DD";
    proof_at_no_box: "{at: hall, time" => "{at: hull, time", at "at: hull", found "hull", write "hall";
    proof_at_no_hour: "\"14:20\"" => "\"25:20\"", at "25:20", found "25:20", write "HH:MM";
    proof_without_contact: "with: two-pole, on" => "with: non-contact, on", at "with: non-contact", found "non-contact", write "two-lead contact tester";
    skipped_at_no_box: "skipped: [{do: volts, at: hall" => "skipped: [{do: volts, at: hull", at "hull", found "hull", write "hall";
    skipped_for_no_reason: ", why: cannot}" => "}", at "skipped:", found "volts", write "why: later";
    skipped_with_an_answer: ", why: cannot}" => ", why: cannot, reads: 0}", at "skipped:", found "reads", write "it under readings";
    reference_at_nothing: "proven: 120" => "proven: 0", at "proven: 0", found "0", write "above 0";
}
