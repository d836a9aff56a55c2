//! Reading and writing lose nothing, whatever the job; no text is a panic.

use crate::bench::STAIR;
use lath::call::job::{
    AllOrEach, Do, Field, Found, Job, JobAnswer, JobApart, JobBox, JobCable, JobCall, JobDevice, JobFeed,
    JobHouse, JobInstrument, JobJoint, JobProof, JobReading, JobReads, JobReference, JobSafety, Node, Pair,
    Power, Prose, Screws, Why, read_job, read_node,
};
use lath::call::{InstrumentKind, LampState, Source};
use lath::files::{parse_bytes, parse_str, to_yaml, yaml};
use lath::house::{BoxKind, DeviceKind, FeedKind, Grounds, LampKind, Metal, Reach, Sheath};
use proptest::collection::{btree_map, vec};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

/// Any text at all, and the texts that YAML readers are known to take for something else.
pub fn text() -> impl Strategy<Value = String> {
    let traps = [
        "on",
        "off",
        "yes",
        "No",
        "y",
        "N",
        "true",
        "FALSE",
        "null",
        "~",
        "",
        " ",
        "12:30",
        "14:20:59",
        "2026-05-14",
        "1e3",
        "0x1F",
        "0o17",
        "017",
        "1_000",
        ".5",
        ".inf",
        ".nan",
        "-",
        "--- a",
        "- a",
        "? a",
        "a: b",
        "a #b",
        "#a",
        "*a",
        "&a",
        "!a",
        "%a",
        "@a",
        "`a",
        "[a",
        "{a",
        "a]",
        "a, b",
        "'a'",
        "\"a\"",
        "\\n",
        "a\nb",
        "a\n\n  b",
        "\ta",
        "a\r",
        "\u{85}",
        "\u{2028}",
        "\u{feff}a",
        "\u{0}",
        "\u{7f}",
        "<<",
        "=",
        "é Ω",
        "😀",
        "a: ",
        "+1",
        "1.10",
        "about 60",
        "110-120",
        "|",
        ">",
        ">-",
        "a\\",
    ];
    prop_oneof![
        4 => "[a-z][a-z0-9 -]{0,8}[a-z0-9]",
        2 => select(traps.to_vec()).prop_map(str::to_owned),
        1 => any::<String>(),
    ]
}

pub fn prose() -> impl Strategy<Value = Prose> {
    text().prop_map(Prose)
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        (-1000i32..1000).prop_map(f64::from),
        (-100_000i32..100_000).prop_map(|n| f64::from(n) / 1000.0),
    ]
}

fn answer() -> impl Strategy<Value = JobAnswer> {
    prop_oneof![number().prop_map(JobAnswer::Number), text().prop_map(JobAnswer::Word)]
}

fn reads() -> impl Strategy<Value = JobReads> {
    prop_oneof![
        answer().prop_map(JobReads::One),
        vec(answer(), 0..3).prop_map(JobReads::List),
        btree_map(key(), answer(), 0..3).prop_map(JobReads::Map),
    ]
}

/// `true` and `false` as keys are read as `on` and `off`; nothing but another program writes them.
fn key() -> impl Strategy<Value = String> {
    text().prop_filter("read as on and off", |text| {
        !matches!(text.as_str(), "true" | "True" | "TRUE" | "false" | "False" | "FALSE")
    })
}

fn each<T: Strategy + Clone>(value: T) -> impl Strategy<Value = AllOrEach<T::Value>>
where
    T::Value: Clone,
{
    prop_oneof![
        value.clone().prop_map(AllOrEach::All),
        btree_map(key(), value, 0..3).prop_map(AllOrEach::Each)
    ]
}

const INSTRUMENTS: [InstrumentKind; 9] = [
    InstrumentKind::HighImpedance,
    InstrumentKind::LowImpedance,
    InstrumentKind::TwoPole,
    InstrumentKind::Solenoid,
    InstrumentKind::Neon,
    InstrumentKind::TestLamp,
    InstrumentKind::Continuity,
    InstrumentKind::NonContact,
    InstrumentKind::Clamp,
];

fn instrument() -> impl Strategy<Value = JobInstrument> {
    (select(&INSTRUMENTS[..]), of(number()), of(number()), of(number()))
        .prop_map(|(kind, ohms, watts, resolves)| JobInstrument { kind, ohms, watts, resolves })
}

fn joint() -> impl Strategy<Value = JobJoint> {
    (vec(text(), 0..4), of(any::<bool>())).prop_map(|(points, sure)| JobJoint { points, sure })
}

fn pair() -> impl Strategy<Value = Pair> {
    (text(), text()).prop_map(|(from, to)| Pair(from, to))
}

fn cable() -> impl Strategy<Value = JobCable> {
    let sheaths =
        [Sheath::ClothNm, Sheath::Nm, Sheath::Armored, Sheath::KnobAndTube, Sheath::Conduit, Sheath::Lead];
    let metals = [Metal::Copper, Metal::Aluminum];
    let (sheath, metal) = (of(select(sheaths.to_vec())), of(select(metals.to_vec())));
    (text(), sheath, vec(text(), 0..4), of(-100i64..100), metal, of(any::<bool>())).prop_map(
        |(tag, sheath, wires, gauge, metal, sure)| JobCable { tag, sheath, wires, gauge, metal, sure },
    )
}

fn device() -> impl Strategy<Value = JobDevice> {
    let lamps = [LampKind::Incandescent, LampKind::Led, LampKind::Cfl, LampKind::Unknown];
    let screws = of(select(vec![Screws::Marked, Screws::Unmarked]));
    (
        text(),
        select(DeviceKind::ALL.to_vec()),
        screws,
        of(select(lamps.to_vec())),
        of(number()),
        of(any::<bool>()),
    )
        .prop_map(|(name, kind, screws, lamp, watts, sure)| JobDevice {
            name,
            kind,
            screws,
            lamp,
            watts,
            sure,
        })
}

pub fn outlet() -> impl Strategy<Value = JobBox> {
    let kinds = [BoxKind::Switch, BoxKind::Light, BoxKind::Junction, BoxKind::Receptacle];
    let reaches = [Reach::Stand, Reach::Steps, Reach::Ladder, Reach::Blocked];
    let apart =
        prop_oneof![any::<bool>().prop_map(JobApart::All), vec(text(), 0..3).prop_map(JobApart::Points)];
    let head = (
        text(),
        select(kinds.to_vec()),
        of(any::<bool>()),
        of(any::<i32>()),
        of(select(reaches.to_vec())),
        of(number()),
    );
    let lists =
        (of(vec(cable(), 0..3)), of(vec(device(), 0..3)), of(vec(joint(), 0..3)), of(vec(joint(), 0..3)));
    let rest = (of(any::<bool>()), of(apart), of(vec(text(), 0..3)), of(vec(text(), 0..3)));
    (head, lists, rest).prop_map(|(head, lists, rest)| {
        let (name, kind, opened, floor, reach, volume) = head;
        let (cables, devices, joints, was) = lists;
        let (complete, apart, doubled, seen) = rest;
        let floor = floor.map(i64::from);
        JobBox {
            name,
            kind,
            opened,
            floor,
            reach,
            volume,
            cables,
            devices,
            joints,
            complete,
            apart,
            was,
            doubled,
            seen,
        }
    })
}

pub fn reading() -> impl Strategy<Value = JobReading> {
    let asks = [Do::Volts, Do::Ohms, Do::Amps, Do::Load, Do::Watch, Do::Open];
    let question = (
        of(text()),
        of(pair()),
        of(vec(text(), 0..3)),
        of(text()),
        of(text()),
        of(text()),
        of(vec(text(), 0..3)),
    );
    let power = each(select(vec![Power::On, Power::Off]));
    let lamp = each(select(vec![LampState::In, LampState::Out, LampState::Test]));
    let conditions = (
        of(instrument()),
        of(power),
        of(btree_map(key(), text(), 0..3)),
        of(lamp),
        of(vec(text(), 0..3)),
        of(vec(text(), 0..3)),
        of(vec(pair(), 0..3)),
    );
    let by = of(select(vec![Source::Technician, Source::Customer]));
    let why = of(select(vec![Why::Later, Why::Cannot]));
    (select(asks.to_vec()), question, conditions, of(reads()), by, why).prop_map(
        |(ask, question, conditions, reads, by, why)| {
            let (at, between, points, to, around, light, lights) = question;
            let (with, breaker, switches, lamp, out, lifted, jumpers) = conditions;
            JobReading {
                ask,
                at,
                between,
                points,
                to,
                around,
                light,
                lights,
                with,
                breaker,
                switches,
                lamp,
                out,
                lifted,
                jumpers,
                reads,
                by,
                why,
            }
        },
    )
}

pub fn head() -> impl Strategy<Value = JobCall> {
    let texts = (
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
        of(prose()),
    );
    (texts, of(text()), of(text()), of(any::<bool>()), of(any::<bool>())).prop_map(
        |(texts, date, goal, worked_before, helper)| {
            let (title, site, customer, technician, firm, licence, code, complaint, changed) = texts;
            JobCall {
                title,
                date,
                site,
                customer,
                technician,
                firm,
                licence,
                code,
                goal,
                complaint,
                changed,
                worked_before,
                helper,
            }
        },
    )
}

fn house() -> impl Strategy<Value = JobHouse> {
    let kinds = [FeedKind::Breaker, FeedKind::Fuse, FeedKind::Gfci, FeedKind::Afci];
    let feed = (text(), of(select(kinds.to_vec())), of(number()), of(text()))
        .prop_map(|(name, kind, amps, leg)| JobFeed { name, kind, amps, leg });
    let reference = (prose(), of(number())).prop_map(|(what, proven)| JobReference { what, proven });
    let grounds = select(vec![Grounds::None, Grounds::Some, Grounds::All]);
    (of(text()), of(any::<i16>()), of(number()), of(grounds), of(vec(feed, 0..3)), of(reference)).prop_map(
        |(region, built, supply, grounds, feeds, reference)| JobHouse {
            region,
            built: built.map(i64::from),
            supply,
            grounds,
            feeds,
            reference,
        },
    )
}

/// Data of any shape, for the history.
fn data() -> impl Strategy<Value = Node> {
    let leaf = prop_oneof![
        Just(Node::Null),
        any::<bool>().prop_map(Node::Bool),
        number().prop_map(Node::number),
        text().prop_map(Node::text),
    ];
    leaf.prop_recursive(4, 24, 4, |inner| {
        prop_oneof![
            vec(inner.clone(), 0..4).prop_map(Node::List),
            btree_map(key(), inner, 0..4).prop_map(|map| Node::Map(map.into_iter().collect())),
        ]
    })
}

pub fn job() -> impl Strategy<Value = Job> {
    let proof = (text(), of(text()), instrument(), of(prose()), select(vec![Found::Dead, Found::Live]))
        .prop_map(|(at, time, with, on, found)| JobProof { at, time, with, on, found });
    let safety = of(text()).prop_map(|accepted| JobSafety { accepted });
    let first = (
        of(head()),
        of(house()),
        of(vec(instrument(), 0..3)),
        of(vec(outlet(), 0..3)),
        of(vec(reading(), 0..4)),
    );
    let second = (
        of(vec(proof, 0..2)),
        of(vec(reading(), 0..2)),
        of(safety),
        of(vec(prose(), 0..3)),
        of(vec(data(), 0..3)),
    );
    (first, second).prop_map(|(first, second)| {
        let (call, house, instruments, boxes, readings) = first;
        let (proofs, skipped, safety, done, history) = second;
        Job { lath: 1, call, house, instruments, boxes, readings, proofs, skipped, safety, done, history }
    })
}

/// Reads a text without checking whether it makes sense.
pub fn reread(text: &str) -> Job {
    let node = yaml::parse(text).unwrap_or_else(|error| panic!("{error:?} in\n{text}"));
    read_job(&node).unwrap_or_else(|problems| panic!("{problems:?} in\n{text}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_job_is_read_as_it_was_written(job in job()) {
        let text = to_yaml(&job);
        let again = reread(&text);
        prop_assert_eq!(&again, &job, "\n{}", &text);
        prop_assert_eq!(to_yaml(&again), text, "what is saved twice is the same bytes");
    }

    #[test]
    fn any_number_is_read_as_it_was_written(
        number in any::<f64>().prop_filter("a reading is finite", |number| number.is_finite()),
    ) {
        let mut reading = JobReading::new(Do::Volts);
        reading.reads = Some(JobReads::One(JobAnswer::Number(number)));
        let job = Job { readings: Some(vec![reading]), ..Job::default() };
        let text = to_yaml(&job);
        prop_assert_eq!(&reread(&text), &job, "\n{}", &text);
        prop_assert_eq!(to_yaml(&reread(&text)), text);
    }

    #[test]
    fn any_job_is_the_same_in_json(job in job()) {
        let text = serde_json::to_string(&job).unwrap();
        let again: Job = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(again, job, "\n{}", text);
    }

    #[test]
    fn any_bytes_give_a_job_or_a_complaint_with_a_line(bytes in vec(any::<u8>(), 0..200)) {
        complains_or_loads(&bytes)?;
    }

    #[test]
    fn any_text_gives_a_job_or_a_complaint_with_a_line(text in "lath: 1\n[\\[\\]{}:,\\-?&*!|>'\"%@` a-z0-9\n#]{0,80}") {
        complains_or_loads(text.as_bytes())?;
    }

    #[test]
    fn a_damaged_example_gives_a_job_or_a_complaint_with_a_line(
        at in 0..STAIR.len(), length in 0usize..40, put in "[\\[\\]{}:,\\- a-z0-9.\n\t\"]{0,6}",
    ) {
        let mut bytes = STAIR.as_bytes().to_vec();
        let end = (at + length).min(bytes.len());
        bytes.splice(at..end, put.bytes());
        complains_or_loads(&bytes)?;
    }
}

fn complains_or_loads(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Err(failure) = parse_bytes("job.yaml", bytes) {
        let lines = bytes.iter().filter(|&&byte| byte == b'\n').count() + 2;
        for complaint in failure.to_string().lines() {
            let line = complaint.strip_prefix("job.yaml:").and_then(|rest| rest.split_once(": "));
            let line = line.and_then(|(line, _)| line.parse::<usize>().ok());
            prop_assert!(line.is_some_and(|line| (1..=lines).contains(&line)), "{}", complaint);
        }
    }
    Ok(())
}

/// Our own words of the file are those of the published schema and of the JSON documents.
#[test]
fn words_are_the_same_everywhere() {
    fn same<T: Field + serde::Serialize + schemars::JsonSchema>(all: &[T]) {
        let ours: Vec<String> = all.iter().map(|one| one.write().word().unwrap().into_owned()).collect();
        let json: Vec<String> =
            all.iter().map(|one| serde_json::to_value(one).unwrap().as_str().unwrap().to_owned()).collect();
        assert_eq!(ours, json);
        let schema = serde_json::to_string(&schemars::schema_for!(T)).unwrap();
        for word in ours {
            assert!(schema.contains(&format!("\"{word}\"")), "{word} in {schema}");
        }
    }
    same(&[BoxKind::Switch, BoxKind::Light, BoxKind::Junction, BoxKind::Receptacle]);
    same(&[Reach::Stand, Reach::Steps, Reach::Ladder, Reach::Blocked]);
    same(&[Sheath::ClothNm, Sheath::Nm, Sheath::Armored, Sheath::KnobAndTube, Sheath::Conduit, Sheath::Lead]);
    same(&[Metal::Copper, Metal::Aluminum]);
    same(&DeviceKind::ALL);
    same(&[LampKind::Incandescent, LampKind::Led, LampKind::Cfl, LampKind::Unknown]);
    same(&[FeedKind::Breaker, FeedKind::Fuse, FeedKind::Gfci, FeedKind::Afci]);
    same(&[Grounds::None, Grounds::Some, Grounds::All]);
    same(&INSTRUMENTS);
}

#[test]
fn a_reading_in_json_tells_what_is_wrong_with_it() {
    let reading: JobReading = serde_json::from_str(
        r#"{"do":"volts","at":"hall","between":["a.black","earth"],"breaker":"on","reads":119}"#,
    )
    .unwrap();
    assert_eq!(reading.breaker, Some(AllOrEach::All(Power::On)));
    let error = serde_json::from_str::<JobReading>(r#"{"do":"volt","switchs":{}}"#).unwrap_err().to_string();
    assert!(
        error.contains("found \"volt\"; write volts") && error.contains("found \"switchs\"; write switches"),
        "{error}"
    );
}

#[test]
fn the_example_is_written_as_it_was_read() {
    let job = parse_str("stair", STAIR).unwrap().job;
    assert_eq!(reread(&to_yaml(&job)), job);
    let data: Node = yaml::parse(STAIR).unwrap();
    assert_eq!(read_node::<Job>(&job.write()).unwrap(), job);
    // Field by field, nothing of the document is missing from what is written.
    assert_eq!(serde_json::to_value(&job).unwrap(), serde_json::to_value(&data).unwrap());
}
