//! `lath record`, from outside: what is written, what is refused, and that nothing is ever lost.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::call::job::{Do, Job, items};
use lath::files::load;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// A folder with one job in it.
struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    /// With an example, but for its readings: the hall is opened, so is the landing, the ceiling is not.
    fn new() -> Desk {
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/feed-at-light-two-legs.yaml");
        let text = std::fs::read_to_string(example).unwrap();
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        std::fs::write(desk.path(), format!("# kept at the front desk\n{text}")).unwrap();
        desk
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("job.yaml")
    }

    fn bytes(&self) -> Vec<u8> {
        std::fs::read(self.path()).unwrap()
    }

    fn job(&self) -> Job {
        load(&self.path()).unwrap().job
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lath"));
        command.args(["record", "job.yaml"]).args(arguments).current_dir(self.folder.path()).env_clear();
        command.stdin(Stdio::null());
        command
    }

    fn record(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    /// Records, and expects that to be done.
    fn done(&self, arguments: &[&str]) -> String {
        let ended = self.record(arguments);
        assert_eq!(ended.status.code(), Some(0), "{arguments:?}: {}", String::from_utf8_lossy(&ended.stderr));
        String::from_utf8(ended.stdout).unwrap()
    }

    /// Expects a refusal that says `why`, and the folder as it was.
    fn refused(&self, arguments: &[&str], why: &str) {
        let before = self.bytes();
        let ended = self.record(arguments);
        let said = String::from_utf8(ended.stderr).unwrap();
        assert_eq!(ended.status.code(), Some(3), "{arguments:?}: {said}");
        assert!(said.contains(why), "{arguments:?}: {said}");
        assert!(ended.stdout.is_empty());
        assert!(self.bytes() == before, "{arguments:?} touched the file");
        assert_eq!(self.files(), ["job.yaml"], "{arguments:?} left something");
    }

    fn files(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }
}

/// What somebody reads off a suggestion with a jumper goes into the file as it was suggested, by JSON and by options, and is what
/// the next suggestion goes on from.
#[test]
fn a_suggestion_with_a_jumper_is_recorded_as_it_stands() {
    let desk = Desk::new();
    std::fs::write(desk.path(), include_str!("plan/loft.yaml")).unwrap();
    let next = || -> serde_json::Value {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lath"));
        command
            .args(["next", "job.yaml", "--json", "--dead-only", "--top", "12"])
            .current_dir(desk.folder.path())
            .env_clear();
        serde_json::from_slice(&command.output().unwrap().stdout).unwrap()
    };
    let suggested = next()["suggestions"].as_array().unwrap().clone();
    let mut first = suggested.into_iter().find(|one| one["jumpers"][0].is_array()).unwrap();
    let jumper = first["jumpers"][0].clone();
    assert_eq!(jumper, serde_json::json!(["pantry/a.black", "pantry/a.white"]));
    let points = first["points"].as_array().map_or(1, Vec::len);
    first["reads"] = serde_json::json!(vec!["open"; points]);
    if first["points"].is_null() {
        first["reads"] = serde_json::json!("open");
    }
    let said = desk.done(&["--reading", &first.to_string()]);
    assert!(said.contains("bridged to"), "{said}");
    let after = next();
    assert_eq!(after["still_on"], serde_json::json!([jumper]));
    let off = |step: &serde_json::Value| {
        step.as_str().is_some_and(|step| step.starts_with("Take the jumper off pantry/a.black"))
    };
    let suggestion = &after["suggestions"][0];
    let stays = suggestion["jumpers"] == serde_json::json!([jumper]);
    assert!(stays || suggestion["first"].as_array().unwrap().iter().any(off), "{suggestion:#}");
    let ohms = ["--ohms", "OL", "--at", "loft", "--between", "a.black", "a.white", "--breaker", "off"];
    desk.done(&[&ohms[..], &["--jumper", "pantry/a.black", "pantry/a.white"]].concat());
    let job = desk.job();
    let [.., one, other] = items(&job.readings) else { panic!("two readings") };
    assert_eq!(items(&one.jumpers), items(&other.jumpers));
}

const VOLTS: &str = r#"{"do":"volts","at":"front hall","between":["front hall/a.black","earth"],"with":"low-impedance",
    "breaker":"on","switches":{"front hall":"up","bedroom passage":"down"},"lamp":"in","out":[],"lifted":[],"jumpers":[]"#;

#[test]
fn a_suggestion_with_its_answer_is_a_reading_whatever_else_it_says() {
    let desk = Desk::new();
    let count = items(&desk.job().readings).len();
    let plain = format!("{VOLTS},\"reads\":119}}");
    let suggested = format!(
        "{VOLTS},\"first\":[\"breaker on\"],\"bits\":0.97,\"minutes\":1.5,\"live\":true,\"because\":\"b\",\"cautions\":[\"c\"],\
         \"outcomes\":[{{\"reads\":\"line\",\"p\":0.55,\"leaves\":8}}],\"reads\":119}}"
    );
    let said = desk.done(&["--reading", &plain]);
    assert!(
        said.starts_with(&format!("Reading {}: at front hall, volts a.black to earth", count + 1)),
        "{said}"
    );
    desk.done(&["--reading", &suggested]);
    let job = desk.job();
    let [.., one, other] = items(&job.readings) else { panic!("two readings") };
    assert_eq!(one, other);
    assert!(std::fs::read_to_string(desk.path()).unwrap().starts_with("# kept at the front desk\n"));
    // Several points, each with its answer.
    let points = r#"{"do":"volts","at":"front hall","points":["a.black","a.red"],"to":"earth","with":"low-impedance","breaker":"on","reads":[0,"about 60"]}"#;
    let said = desk.done(&["--reading", points]);
    assert!(said.contains("a.black, a.red to earth"), "{said}");
}

#[test]
fn options_say_the_same_reading() {
    let desk = Desk::new();
    desk.done(&["--reading", &format!("{VOLTS},\"reads\":119}}")]);
    let switches = ["--switch", "front hall=up", "--switch", "bedroom passage=down"];
    let rest = ["--at", "front hall", "--between", "front hall/a.black", "earth", "--with", "low-impedance"];
    let power = ["--volts", "119 V", "--breaker", "on", "--lamp", "in"];
    desk.done(&[&power[..], &switches, &rest].concat());
    let job = desk.job();
    let [.., one, other] = items(&job.readings) else { panic!("two readings") };
    assert_eq!(one, other);
    // One of each kind.
    let dead = ["--at", "front hall", "--breaker", "off", "--out", "switch", "--lifted", "a.red"];
    for (arguments, ask) in [
        (vec!["--watch", "lit", "--light", "stairwell light", "--by", "customer"], Do::Watch),
        (vec!["--amps", "0.5 A", "--at", "front hall", "--around", "a", "--breaker", "on"], Do::Amps),
        (vec!["--load", "bright", "--at", "front hall", "--between", "a.black", "a.white"], Do::Load),
        (
            [&["--ohms", "0.4", "--between", "a.black", "a.white", "--jumper", "a.red", "earth"], &dead[..]]
                .concat(),
            Do::Ohms,
        ),
        (
            [
                &[
                    "--ohms",
                    "OL,beep",
                    "--points",
                    "a.black,a.white",
                    "--to",
                    "earth",
                    "--with",
                    "continuity",
                ],
                &dead[..],
            ]
            .concat(),
            Do::Open,
        ),
        (
            vec!["--volts", "0,~60", "--at", "front hall", "--points", "a.black,a.white", "--to", "earth"],
            Do::Volts,
        ),
    ] {
        if ask == Do::Open {
            // A beeper shows no OL: what an option says is checked like everything else.
            desk.refused(&arguments, "that is no answer to this question");
        } else {
            desk.done(&arguments);
            assert_eq!(items(&desk.job().readings).last().unwrap().ask, ask);
        }
    }
}

#[test]
fn a_box_is_opened_and_keeps_what_was_known_of_it() {
    let desk = Desk::new();
    let open = r#"{"do":"open","at":"stairwell light","box":{"cables":[{"tag":"a","wires":["black","white"]}],
        "joints":[["a.black","light.center"],["a.white","light.shell"]]}}"#;
    let said = desk.done(&["--reading", open]);
    assert_eq!(said, "Opened stairwell light: 1 cable, 2 wires.\n");
    let loaded = load(&desk.path()).unwrap();
    let outlet = items(&loaded.job.boxes).iter().find(|outlet| outlet.name == "stairwell light").unwrap();
    assert_eq!(outlet.opened, Some(true));
    assert_eq!(items(&outlet.devices)[0].watts, Some(60.0), "the lamp that was known");
    // A box nobody had written down.
    desk.done(&["--reading", r#"{"do":"open","at":"pantry","box":{"kind":"junction","cables":[]}}"#]);
    assert_eq!(items(&desk.job().boxes).len(), 4);
    desk.refused(&["--reading", open], "this box is opened already");
}

#[test]
fn steps_are_taken_back_one_by_one_to_the_very_bytes() {
    let desk = Desk::new();
    // With a history that is no empty list in brackets, bytes come back as they were.
    let text =
        String::from_utf8(desk.bytes()).unwrap().replace("history: []\n", "").replace("skipped: []\n", "");
    std::fs::write(desk.path(), text).unwrap();
    let steps: [&[&str]; 5] = [
        &["--watch", "lit", "--breaker", "on"],
        &["--skip", r#"{"do":"open","at":"stairwell light"}"#, "--why", "cannot"],
        &["--skip", &format!("{VOLTS}}}"), "--why", "later"],
        &["--reading", &format!("{VOLTS},\"reads\":119}}")],
        &["--reading", r#"{"do":"open","at":"stairwell light","box":{"cables":[]}}"#],
    ];
    let mut before = vec![desk.bytes()];
    for step in steps {
        desk.done(step);
        before.push(desk.bytes());
    }
    assert_eq!(items(&desk.job().skipped).len(), 0, "what was answered or opened is skipped no longer");
    before.pop();
    while let Some(earlier) = before.pop() {
        let said = desk.done(&["--undo"]);
        assert!(said.starts_with("Taken back: "), "{said}");
        assert_eq!(String::from_utf8(desk.bytes()).unwrap(), String::from_utf8(earlier).unwrap());
    }
    let ended = desk.record(&["--undo"]);
    assert_eq!(ended.status.code(), Some(2), "nothing is left");
    assert_eq!(desk.files(), ["job.yaml"]);
}

#[test]
fn a_history_that_no_longer_fits_is_cleared_and_that_is_said() {
    let desk = Desk::new();
    desk.done(&["--watch", "lit", "--breaker", "on"]);
    let text = String::from_utf8(desk.bytes()).unwrap();
    let corrected =
        text.replace("{do: watch, breaker: \"on\", reads: lit}", "{do: watch, breaker: \"on\", reads: dark}");
    assert_ne!(text, corrected);
    std::fs::write(desk.path(), &corrected).unwrap();
    let ended = desk.record(&["--undo"]);
    assert_eq!(ended.status.code(), Some(3));
    assert!(String::from_utf8(ended.stderr).unwrap().contains("the history is cleared"));
    let job = desk.job();
    assert!(job.history.is_none());
    assert_eq!(items(&job.readings).last().unwrap().reads, Some(read_word("dark")), "and nothing else");
}

fn read_word(word: &str) -> lath::call::job::JobReads {
    lath::call::job::JobReads::One(lath::call::job::JobAnswer::Word(word.to_owned()))
}

#[test]
fn what_makes_no_sense_is_refused_and_nothing_is_touched() {
    let desk = Desk::new();
    let reading = |rest: &str| format!("{VOLTS},{rest}}}");
    for (json, why) in [
        ("{\"do\":".to_owned(), "this is not JSON"),
        ("[1]".to_owned(), "a map of fields belongs here"),
        (format!("{VOLTS}}}"), "does not say what was read"),
        (reading("\"reads\":\"blue\""), "that is no answer to this question"),
        (reading("\"reads\":-5"), "volts are counted from 0 up"),
        (reading("\"reads\":[1,2]"), "1 is asked for and 2 answered"),
        (reading("\"reads\":119,\"readings\":1"), "there is no such field"),
        (reading("\"reads\":119,\"reads\":118"), "the same key stands twice"),
        (reading("\"reads\":119,\"why\":\"later\""), "why says that something was skipped"),
        (reading("\"reads\":119").replace("front hall/a.black", "front hall/a.blue"), "has no wire \"blue\""),
        (reading("\"reads\":119").replace("\"at\":\"front hall\"", "\"at\":\"attic\""), "there is no box called"),
        (reading("\"reads\":119").replace("\"at\":\"front hall\"", "\"at\":\"stairwell light\""), "is not opened"),
        (reading("\"reads\":119").replace("\"up\"", "\"left\""), "were called up and down before"),
        (reading("\"reads\":3").replace("volts", "ohms").replace("low-", "high-"), "ohms are measured dead"),
        (r#"{"do":"open","at":"stairwell light"}"#.to_owned(), "it is not said what was seen in the box"),
        (r#"{"do":"open","at":"loft","box":{"cables":[]}}"#.to_owned(), "the field kind is missing"),
        (r#"{"do":"open","at":"loft","box":{"name":"attic","kind":"light"}}"#.to_owned(), "are not the same"),
        (r#"{"do":"open","at":"loft","box":{"kind":"light","opened":false}}"#.to_owned(), "said not to be opened"),
        (r#"{"do":"open","at":"loft","breaker":"off","box":{"kind":"light"}}"#.to_owned(), "has no conditions"),
        (
            r#"{"do":"open","at":"loft","box":{"kind":"light","cables":[{"tag":"a","wires":["black","white"]}],"joints":[["a.blak","light.center"]]}}"#
                .to_owned(),
            "write a.black",
        ),
    ] {
        desk.refused(&["--reading", &json], why);
    }
    desk.refused(
        &["--skip", &reading("\"reads\":119"), "--why", "later"],
        "a skipped suggestion has no answer",
    );
    desk.refused(&["--watch", "sparkling"], "that is no answer to this question");
    desk.refused(
        &["--volts", "119", "--at", "front hall", "--between", "a.black", "earth", "--with", "spoon"],
        "write",
    );
}

#[test]
fn arguments_that_do_not_go_together_are_wrong_usage() {
    let desk = Desk::new();
    let before = desk.bytes();
    for arguments in [
        &[][..],
        &["--undo", "--watch", "lit"],
        &["--undo", "--at", "front hall"],
        &["--reading", "{}", "--lamp", "in"],
        &["--skip", "{}"],
        &["--watch", "lit", "--why", "later"],
        &["--volts", "1", "--points", "a.black"],
    ] {
        let ended = desk.record(arguments);
        assert_eq!(ended.status.code(), Some(2), "{arguments:?}: {}", String::from_utf8_lossy(&ended.stderr));
        assert!(desk.bytes() == before);
    }
}

/// Every writer's reading is there, however many write at once.
#[test]
fn writers_at_the_same_time_lose_nothing() {
    let desk = Desk::new();
    let count = items(&desk.job().readings).len();
    let volts: Vec<String> = (0..24).map(|n| format!("{VOLTS},\"reads\":{}}}", 100 + n)).collect();
    let writers: Vec<Child> = volts
        .iter()
        .map(|json| desk.command(&["--reading", json]).stdout(Stdio::null()).spawn().unwrap())
        .collect();
    for mut writer in writers {
        assert!(writer.wait().unwrap().success());
    }
    let job = desk.job();
    let mut read: Vec<String> = items(&job.readings)[count..]
        .iter()
        .map(|reading| match &reading.reads {
            Some(lath::call::job::JobReads::One(answer)) => answer.to_string(),
            other => panic!("{other:?}"),
        })
        .collect();
    read.sort();
    assert_eq!(read, (100..124).map(|volts| volts.to_string()).collect::<Vec<_>>());
    assert_eq!(items(&job.history).len(), 24);
    assert_eq!(desk.files(), ["job.yaml"]);
    for _ in 0..24 {
        desk.done(&["--undo"]);
    }
    assert_eq!(items(&desk.job().readings).len(), count);
}

/// The disk is full: a limit on the size of files stands for it.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_file_as_it_was() {
    let desk = Desk::new();
    let before = desk.bytes();
    assert!(before.len() > 1024);
    let script = format!(
        "trap '' XFSZ; ulimit -f 1; exec '{}' record job.yaml --watch lit",
        env!("CARGO_BIN_EXE_lath")
    );
    let ended = Command::new("bash").args(["-c", &script]).current_dir(desk.folder.path()).output().unwrap();
    let said = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(3), "{said}");
    assert!(
        said.contains("cannot be saved (writing the new file)") && said.contains("the file is as it was"),
        "{said}"
    );
    assert!(desk.bytes() == before);
    assert_eq!(desk.files(), ["job.yaml"]);
}
