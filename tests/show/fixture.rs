//! Calls and verdicts written by hand. The wiring of `far_line` is the arrangement with the feed at the light and
//! both switches on one side, line to the far switch (common practice, no source); its two rows of roles follow
//! from tracing that wiring on paper.

use lath::call::{Ask, Call, Conditions, Instrument, InstrumentKind, LampState, Reading, Seen, Source};
use lath::house::{
    Apart, BoxId, BoxKind, Cable, Device, DeviceId, DeviceKind, EndId, Feed, FeedKind, Goal, Grounds, House,
    Joint, LampKind, LocalPoint, Metal, OutletBox, Point, Reach, Sheath, Terminal, WireId,
};
use lath::show::note::{Header, Proof};
use lath::verdict::{
    Arrangement, BoxRoles, CableFound, Candidates, DefectFound, DeviceFound, Disbelieved, FeedFound, Landing,
    NeutralFound, Role, State, Verdict, WireFound,
};
use std::collections::BTreeMap;

/// Builds a house by names.
#[derive(Default)]
pub struct Builder {
    pub house: House,
}

impl Builder {
    pub fn new() -> Self {
        let feed = Feed { name: "7".into(), kind: FeedKind::Breaker, amps: Some(15.0), leg: None };
        let house = House {
            feeds: vec![feed],
            supply: 120.0,
            region: "us".into(),
            built: Some(1948),
            grounds: Grounds::None,
            ..House::default()
        };
        Builder { house }
    }

    pub fn outlet(&mut self, name: &str, kind: BoxKind, opened: bool, reach: Reach) -> BoxId {
        self.house.boxes.push(OutletBox {
            name: name.into(),
            kind,
            opened,
            floor: 1,
            reach,
            volume: None,
            ends: vec![],
            devices: vec![],
            joints: vec![],
            complete: true,
            apart: Apart::No,
            was: vec![],
            doubled: vec![],
            seen: vec![],
        });
        BoxId(self.house.boxes.len() as u8 - 1)
    }

    pub fn cable(&mut self, at: BoxId, tag: &str, wires: &[&str]) {
        let id = EndId(self.house.ends.len() as u8);
        self.house.ends.push(Cable {
            tag: tag.into(),
            at,
            sheath: Some(Sheath::ClothNm),
            wires: wires.iter().map(|w| (*w).to_string()).collect(),
            gauge: Some(14),
            metal: Metal::Copper,
            sure: true,
        });
        self.house.boxes[usize::from(at.0)].ends.push(id);
    }

    pub fn device(&mut self, at: BoxId, name: &str, kind: DeviceKind, marked: bool) {
        let id = DeviceId(self.house.devices.len() as u8);
        self.house.devices.push(Device {
            name: name.into(),
            at,
            kind,
            marked,
            lamp: if kind.is_light() { LampKind::Incandescent } else { LampKind::Unknown },
            watts: kind.is_light().then_some(60.0),
            sure: true,
        });
        self.house.boxes[usize::from(at.0)].devices.push(id);
    }

    pub fn joint(&mut self, at: BoxId, names: &[&str]) {
        let points = names.iter().map(|n| self.local(at, n)).collect();
        self.house.boxes[usize::from(at.0)].joints.push(Joint { points, sure: true });
    }

    pub fn local(&self, at: BoxId, name: &str) -> LocalPoint {
        local(&self.house, at, name)
    }
}

/// A point of a box by its name.
pub fn local(house: &House, at: BoxId, name: &str) -> LocalPoint {
    let wire = house.wires().map(LocalPoint::Wire);
    let screws = house.device_ids().flat_map(|d| {
        let terminals: Vec<Terminal> = house.device(d).terminals();
        terminals.into_iter().map(move |t| LocalPoint::Terminal(d, t))
    });
    let mut all = wire.chain(screws).filter(|&p| house.box_of(p) == at);
    all.find(|&p| house.local_name(p) == name).unwrap_or_else(|| panic!("no point {name}"))
}

/// Two three-ways, feed at a light that was not opened.
pub fn far_line_house() -> House {
    let mut b = Builder::new();
    let hall = b.outlet("hall", BoxKind::Switch, true, Reach::Stand);
    let upper = b.outlet("upper landing", BoxKind::Switch, true, Reach::Stand);
    let light = b.outlet("stair ceiling", BoxKind::Light, false, Reach::Ladder);
    b.cable(hall, "b", &["black", "red", "white"]);
    b.cable(hall, "a", &["black", "white"]);
    b.device(hall, "switch", DeviceKind::ThreeWay, true);
    b.cable(upper, "a", &["black", "red", "white"]);
    b.device(upper, "switch", DeviceKind::ThreeWay, true);
    b.device(light, "light", DeviceKind::Light, true);
    b.joint(hall, &["a.black", "switch.common"]);
    b.joint(hall, &["b.black", "switch.t1"]);
    b.joint(hall, &["b.red", "switch.t2"]);
    b.joint(hall, &["a.white", "b.white"]);
    b.joint(upper, &["a.white", "switch.common"]);
    b.joint(upper, &["a.black", "switch.t1"]);
    b.joint(upper, &["a.red", "switch.t2"]);
    b.house.boxes[0].seen = vec!["brittle-insulation".into()];
    b.house
}

/// A wire found, sure unless it is said otherwise.
pub fn found(wire: &str, role: Role, p: f64) -> WireFound {
    let circuit = matches!(role, Role::Line | Role::Neutral).then(|| "7".to_string());
    WireFound { wire: wire.into(), role, circuit, p, others: BTreeMap::new(), because: vec![1] }
}

pub fn cable(one: &str, two: &str, p: f64) -> CableFound {
    CableFound { ends: [one.into(), two.into()], p }
}

pub fn names(list: &[&str]) -> Vec<String> {
    list.iter().map(|n| (*n).to_string()).collect()
}

pub fn roles(at: &str, line: &[&str], neutral: Option<NeutralFound>) -> BoxRoles {
    BoxRoles { at: at.into(), line: names(line), neutral, ground: None }
}

pub fn blank_verdict(state: State) -> Verdict {
    Verdict {
        lath: 1,
        state,
        candidates: Candidates { classes: 1, wirings: 4, bits: 0.0, uncovered: 0.002 },
        arrangement: None,
        cables: vec![],
        wires: vec![],
        boxes: vec![],
        landing: vec![],
        defects: vec![],
        devices: vec![],
        choices: vec![],
        disbelieved: vec![],
        contradiction: None,
    }
}

/// The settled verdict on [`far_line_house`].
pub fn far_line_verdict() -> Verdict {
    let mut v = blank_verdict(State::Settled);
    v.arrangement = Some(Arrangement {
        text:
            "The feed is at the stair ceiling; line goes through the hall to the upper landing, and the hall \
               switch sends it back up."
                .into(),
        scheme: "conventional".into(),
        scheme_p: 0.998,
        feed: FeedFound { at: "stair ceiling".into(), p: 0.995 },
    });
    v.cables = vec![
        cable("hall/a", "stair ceiling", 0.995),
        cable("hall/b", "upper landing/a", 0.9999),
        cable("stair ceiling", "panel", 0.97),
    ];
    v.wires = vec![
        found("hall/b.black", Role::Traveler, 0.996),
        found("hall/b.red", Role::Traveler, 0.996),
        found("hall/b.white", Role::Line, 0.998),
        found("hall/a.black", Role::Load, 0.995),
        found("hall/a.white", Role::Line, 0.998),
        found("upper landing/a.black", Role::Traveler, 0.996),
        found("upper landing/a.red", Role::Traveler, 0.996),
        found("upper landing/a.white", Role::Line, 0.998),
    ];
    v.boxes = vec![roles("hall", &["a.white", "b.white"], None), roles("upper landing", &["a.white"], None)];
    v
}

/// A call with one volt reading of the kind in the design's example and one by the customer.
pub fn call(house: House) -> Call {
    let at = BoxId(0);
    let conditions = Conditions {
        breakers: vec![Some(true)],
        positions: vec![Some(false), Some(true)],
        lamps: vec![Some(LampState::In)],
        ..Conditions::default()
    };
    let low =
        Instrument { kind: InstrumentKind::LowImpedance, ohms: Some(3000.0), watts: None, resolves: None };
    let point = Point::At(local(&house, at, "a.black"));
    let volts = Reading {
        ask: Ask::Volts(vec![(point, Point::Earth)]),
        with: Some(low),
        conditions: conditions.clone(),
        seen: vec![Seen::Number { value: 119.0, spread: 0.0 }],
        by: Source::Technician,
    };
    let light = house.lights().next().expect("a light");
    let watch = Reading {
        ask: Ask::Watch(vec![light]),
        with: None,
        conditions: Conditions { positions: vec![Some(false), None], ..conditions },
        seen: vec![Seen::Bin(0)],
        by: Source::Customer,
    };
    Call { house, goal: Goal::Identify, complaint: true, readings: vec![volts, watch], ..Call::default() }
}

pub fn header() -> Header {
    let some = |s: &str| Some(s.to_string());
    Header {
        title: some("Stair light, two switches"),
        site: some("9 Quarry Row"),
        customer: some("R. Adeyemi"),
        technician: some("M. Tarrow"),
        firm: some("Tarrow & Daughter Electric"),
        licence: some("E-1044"),
        code: some("NEC 2020"),
        date: some("2026-05-14"),
        complaint: some("The upstairs switch only works when the downstairs one is up."),
        changed: some("Both switches replaced last week."),
        reference: some("receptacle ground by the door, proven at 120 V"),
        proofs: vec![Proof {
            at: "hall".into(),
            time: some("14:20"),
            with: "two-pole tester".into(),
            on: some("kitchen receptacle"),
            found: "dead".into(),
        }],
        skipped: names(&["at hall, volts b.red to earth: cannot"]),
        done: names(&["Travelers swapped back at the upper landing.", "Ceiling box left shut."]),
    }
}

pub fn settled() -> (Call, Verdict) {
    (call(far_line_house()), far_line_verdict())
}

/// In line, feed at the hall, the upper landing taken apart and unmarked: much of it only likely or open.
pub fn unsettled() -> (Call, Verdict) {
    let mut b = Builder::new();
    let hall = b.outlet("hall", BoxKind::Switch, true, Reach::Stand);
    let upper = b.outlet("upper landing", BoxKind::Switch, true, Reach::Stand);
    let light = b.outlet("stair ceiling", BoxKind::Light, false, Reach::Blocked);
    b.cable(hall, "a", &["black", "white"]);
    b.cable(hall, "b", &["black", "red", "white"]);
    b.device(hall, "switch", DeviceKind::ThreeWay, true);
    b.cable(upper, "a", &["black", "red", "white"]);
    b.cable(upper, "c", &["black", "white"]);
    b.device(upper, "switch", DeviceKind::ThreeWay, false);
    b.device(light, "light", DeviceKind::Light, true);
    b.joint(hall, &["a.black", "switch.common"]);
    b.joint(hall, &["b.black", "switch.t1"]);
    b.joint(hall, &["b.red", "switch.t2"]);
    b.joint(hall, &["a.white", "b.white"]);
    b.house.boxes[1].apart = Apart::All;
    let mut v = blank_verdict(State::Open);
    v.candidates = Candidates { classes: 5, wirings: 38, bits: 1.6, uncovered: 0.004 };
    v.arrangement = Some(Arrangement {
        text: "The feed is at the hall, and the travelers go on to the upper landing.".into(),
        scheme: "conventional".into(),
        scheme_p: 0.95,
        feed: FeedFound { at: "hall".into(), p: 0.93 },
    });
    v.cables = vec![
        cable("hall/a", "panel", 0.93),
        cable("hall/b", "upper landing/a", 0.95),
        cable("upper landing/c", "buried-1", 0.91),
        cable("buried-1", "stair ceiling", 0.91),
    ];
    let mut red = found("upper landing/a.red", Role::Traveler, 0.62);
    red.others = BTreeMap::from([(Role::Load, 0.3), (Role::Neutral, 0.05)]);
    v.wires = vec![
        found("hall/a.black", Role::Line, 0.93),
        found("hall/a.white", Role::Neutral, 0.93),
        found("hall/b.black", Role::Traveler, 0.93),
        found("hall/b.red", Role::Traveler, 0.93),
        found("hall/b.white", Role::Neutral, 0.93),
        found("upper landing/a.black", Role::Traveler, 0.62),
        red,
        found("upper landing/a.white", Role::Neutral, 0.995),
        found("upper landing/c.black", Role::Load, 0.91),
        found("upper landing/c.white", Role::Neutral, 0.91),
    ];
    let not_proven = |w: &[&str]| Some(NeutralFound { wires: names(w), p: 0.93, proven: false });
    v.boxes = vec![
        roles("hall", &["a.black"], not_proven(&["a.white", "b.white"])),
        roles("upper landing", &[], not_proven(&["a.white", "c.white"])),
    ];
    v.landing = vec![Landing::Joints {
        at: "upper landing".into(),
        joints: vec![
            names(&["c.black", "switch.x1"]),
            names(&["a.black", "switch.x2"]),
            names(&["a.white", "c.white"]),
        ],
    }];
    v.defects = vec![DefectFound {
        what: "swapped-landing".into(),
        at: "hall/switch".into(),
        detail: names(&["switch.common", "switch.t1"]),
        p: 0.94,
    }];
    v.devices = vec![DeviceFound {
        device: "upper landing/switch".into(),
        screws: BTreeMap::from([("x1".into(), "common".into())]),
        p: 0.96,
    }];
    v.choices = vec![names(&["upper landing/a.black", "upper landing/a.red"])];
    v.disbelieved = vec![Disbelieved { reading: 2, p_wrong: 0.93 }];
    (call(b.house), v)
}

/// The lamp between the commons: not to be put back.
pub fn refused() -> (Call, Verdict) {
    let (call, mut v) = settled();
    let arrangement = v.arrangement.as_mut().expect("an arrangement");
    arrangement.scheme = "lamp-between-commons".into();
    v.landing = vec![Landing::Refused {
        at: "hall".into(),
        refuse: "The lamp sits between the commons, and its shell is live with the light off.".into(),
        leave: "Every wire capped by itself, breaker 7 off and tagged.".into(),
    }];
    (call, v)
}

/// Nothing fits.
pub fn contradiction() -> (Call, Verdict) {
    let (call, _) = settled();
    let mut v = blank_verdict(State::Contradiction);
    v.candidates = Candidates { classes: 0, wirings: 0, bits: 0.0, uncovered: 0.2 };
    v.contradiction =
        Some("Reading 1 and reading 2 cannot both be right while the hall is as surveyed.".into());
    (call, v)
}

/// Text that would do something if it were let.
pub const HOSTILE: &str = "\u{1b}[31mred\u{1b}[0m \u{202e}desrever\u{2066} <script>alert(1)</script> **bold** _em_ \
     `code` [link](http://example.invalid) ![pic](x.png) http://example.invalid www.example.invalid <b>&amp; | cell \
     ~~gone~~ $x^2$\r\n\n# heading\n- item\n1. one\n> quote\n\u{7}\u{9b}2J\u{0}";

/// The settled call with hostile text in every free field, and in every name that is shown.
pub fn hostile() -> (Call, Verdict, Header) {
    let (mut call, mut v) = settled();
    let evil = HOSTILE.replace(['/', '.'], " ");
    for (n, outlet) in call.house.boxes.iter_mut().enumerate() {
        let old = outlet.name.clone();
        outlet.name = format!("{evil} {n}");
        outlet.seen = vec![HOSTILE.into()];
        let new = outlet.name.clone();
        let rename = |text: &mut String| {
            if *text == old || text.starts_with(&format!("{old}/")) {
                *text = text.replacen(&old, &new, 1);
            }
        };
        v.wires.iter_mut().for_each(|w| rename(&mut w.wire));
        v.cables.iter_mut().flat_map(|c| &mut c.ends).for_each(rename);
        v.boxes.iter_mut().for_each(|b| rename(&mut b.at));
    }
    call.house.feeds[0].name = HOSTILE.into();
    v.wires.iter_mut().filter(|w| w.circuit.is_some()).for_each(|w| w.circuit = Some(HOSTILE.into()));
    let arrangement = v.arrangement.as_mut().expect("an arrangement");
    arrangement.text = HOSTILE.into();
    arrangement.scheme = HOSTILE.into();
    arrangement.feed.at = call.house.boxes[2].name.clone();
    v.contradiction = Some(HOSTILE.into());
    v.defects =
        vec![DefectFound { what: HOSTILE.into(), at: HOSTILE.into(), detail: names(&[HOSTILE]), p: 0.95 }];
    v.landing = vec![Landing::Refused {
        at: call.house.boxes[0].name.clone(),
        refuse: HOSTILE.into(),
        leave: HOSTILE.into(),
    }];
    v.choices = vec![names(&[HOSTILE, HOSTILE])];
    let some = || Some(HOSTILE.to_string());
    let proof =
        Proof { at: HOSTILE.into(), time: some(), with: HOSTILE.into(), on: some(), found: HOSTILE.into() };
    let header = Header {
        title: some(),
        site: some(),
        customer: some(),
        technician: some(),
        firm: some(),
        licence: some(),
        code: some(),
        date: some(),
        complaint: some(),
        changed: some(),
        reference: some(),
        proofs: vec![proof],
        skipped: names(&[HOSTILE]),
        done: names(&[HOSTILE, "- x", "1. y", "# z", "===", "---", "    indented", "+ plus", "2) two"]),
    };
    (call, v, header)
}

/// The wire of that name.
pub fn wire(house: &House, name: &str) -> WireId {
    house.wires().find(|&w| house.wire_name(w) == name).unwrap_or_else(|| panic!("no wire {name}"))
}

/// What a name may hold of it: one line, no control characters, no marks that separate names, small.
pub const HOSTILE_NAME: &str = "\u{202e}<img src=x onerror=alert(1)> |`*x*` &amp; [l](b)";

/// A job file with `text` wherever a person may write what they like, and `name` in every name.
pub fn hostile_file(text: &str, name: &str) -> String {
    let filled = |word: &str| word.replace("TEXT", text).replace("NAME", name).replace("name-", name);
    let mut job: serde_yaml::Value =
        serde_yaml::from_str(include_str!("hostile.yaml")).unwrap_or_else(|error| panic!("{error}"));
    fill(&mut job, &filled);
    let json = serde_json::to_string(&job).unwrap_or_else(|error| panic!("{error}"));
    // JSON may hold as they are what YAML wants escaped: it is both then.
    let escaped = |c: char| {
        let plain = !c.is_control() && !('\u{2000}'..='\u{206f}').contains(&c);
        if plain { c.to_string() } else { format!("\\u{:04x}", u32::from(c)) }
    };
    json.chars().map(escaped).collect()
}

fn fill(value: &mut serde_yaml::Value, filled: &dyn Fn(&str) -> String) {
    use serde_yaml::Value;
    match value {
        Value::String(text) => *text = filled(text),
        Value::Sequence(items) => items.iter_mut().for_each(|item| fill(item, filled)),
        Value::Mapping(fields) => {
            let old = std::mem::take(fields);
            for (mut key, mut value) in old {
                fill(&mut key, filled);
                fill(&mut value, filled);
                fields.insert(key, value);
            }
        }
        _ => {}
    }
}

/// That job, read, with the verdict on it.
pub fn hostile_job(text: &str, name: &str) -> (Call, Verdict, Header) {
    let loaded = lath::files::parse_str("hostile.yaml", &hostile_file(text, name))
        .unwrap_or_else(|error| panic!("{error}"));
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let verdict = lath::verdict::reach(&loaded.call, &knowledge, Default::default());
    (loaded.call, verdict, Header::of(&loaded.job))
}
