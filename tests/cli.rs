//! The command line from outside: the real binary, its exit statuses, its streams, its pages.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of tests may fail as a test does")]

#[path = "cli/schema.rs"]
mod schema;
#[path = "cli/shipped.rs"]
mod shipped;

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use unicode_width::UnicodeWidthStr;

/// How a run ended.
struct Ended {
    status: Option<i32>,
    out: String,
    err: String,
}

/// `lath` in an empty environment, but for what is given.
fn lath_in(variables: &[(&str, &str)], arguments: &[&str]) -> Ended {
    let output = Command::new(env!("CARGO_BIN_EXE_lath"))
        .args(arguments)
        .env_clear()
        .envs(variables.iter().copied())
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Ended {
        status: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn lath(arguments: &[&str]) -> Ended {
    lath_in(&[], arguments)
}

fn example(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name).to_str().unwrap().to_owned()
}

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "yaml"));
    paths.sort();
    assert!(paths.len() >= 8);
    paths
}

/// Command lines that show a page of a job. What a page looks like does not depend on how far the search goes: it goes as
/// far as the known boxes, which is quick.
fn job_pages(job: &str) -> Vec<Vec<&str>> {
    let mut pages = ["verdict", "next", "tags", "draw", "note"]
        .map(|command| vec![command, job, "--buried", "0"])
        .to_vec();
    pages.push(vec!["check", job]);
    pages
}

/// Those, and the demo.
fn pages(job: &str) -> Vec<Vec<&str>> {
    [job_pages(job), vec![vec!["demo"]]].concat()
}

/// An example with every reading taken out: nothing can be settled of it.
fn without_readings(folder: &Path) -> String {
    let text = std::fs::read_to_string(example("feed-at-light-two-legs.yaml")).unwrap();
    let (survey, _) = text.split_once("\nreadings:").unwrap();
    let path = folder.join("no-readings.yaml");
    std::fs::write(&path, format!("{survey}\n")).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A loop whose light, if all that was written down were so, is lit with its breaker off.
fn contradictory(folder: &Path) -> String {
    let text = std::fs::read_to_string(example("single-pole-loop.yaml")).unwrap();
    let (survey, _) = text.split_once("\nreadings:").unwrap();
    let mut job = format!("{survey}\nreadings:\n");
    for position in ["up", "down"] {
        for at in ["pantry door", "pantry light"] {
            for wire in ["a.black", "a.white"] {
                job.push_str(&format!(
                    "  - {{do: volts, at: {at}, between: [{wire}, earth], with: low-impedance, breaker: \"off\",\n     \
                     switches: {{pantry door: {position}}}, lamp: in, reads: 120}}\n"
                ));
            }
        }
        // A lamp with the supply on both of its wires cannot burn.
        job.push_str(&format!(
            "  - {{do: watch, light: pantry light, breaker: \"off\", switches: {{pantry door: {position}}}, lamp: in, reads: lit}}\n"
        ));
    }
    let path = folder.join("contradictory.yaml");
    std::fs::write(&path, job).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn the_exit_status_says_how_it_ended() {
    let folder = tempfile::tempdir().unwrap();
    let (open, settled) = (without_readings(folder.path()), example("feed-at-switch.yaml"));
    let wrong = contradictory(folder.path());
    let broken = folder.path().join("broken.yaml");
    std::fs::write(&broken, "lath: 1\nboxes: [").unwrap();
    let broken = broken.to_str().unwrap();
    let missing = folder.path().join("missing.yaml");
    let missing = missing.to_str().unwrap();
    let cases: Vec<(i32, Vec<&str>)> = vec![
        (0, vec!["verdict", &settled]),
        (0, vec!["verdict", &settled, "--require-settled"]),
        (0, vec!["verdict", &open]),
        (0, vec!["verdict", &wrong]),
        (0, vec!["--version"]),
        (0, vec!["help", "verdict"]),
        (2, vec![]),
        (2, vec!["verdict"]),
        (0, vec!["next", &settled]),
        (0, vec!["next", &open, "--top", "3", "--dead-only", "--at", "front hall"]),
        (0, vec!["next", &wrong]),
        (2, vec!["next", &open, "--at", "nowhere"]),
        (2, vec!["next", &open, "--top", "0"]),
        (3, vec!["next", missing]),
        (2, vec!["verdict", &settled, "--buried", "3"]),
        (2, vec!["verdict", &settled, "--buried", "-1"]),
        (2, vec!["verdict", &settled, "--jsn"]),
        (2, vec!["draw", &settled, "--format", "bmp"]),
        (2, vec!["schema", "walls"]),
        (2, vec!["demo", "more"]),
        (3, vec!["verdict", missing]),
        (3, vec!["verdict", missing, "--require-settled"]),
        (3, vec!["tags", broken]),
        (3, vec!["draw", broken]),
        (3, vec!["note", broken, "--format", "md"]),
        (3, vec!["check", folder.path().to_str().unwrap()]),
        (5, vec!["verdict", &open, "--require-settled"]),
        (5, vec!["verdict", &open, "--require-settled", "--json"]),
        (5, vec!["verdict", &wrong, "--require-settled"]),
    ];
    for (status, arguments) in cases {
        let ended = lath(&arguments);
        assert_eq!(ended.status, Some(status), "{arguments:?}: {}", ended.err);
        // A verdict that is not settled is a result all the same.
        let (shown, silent) =
            if [0, 5].contains(&status) { (&ended.out, &ended.err) } else { (&ended.err, &ended.out) };
        assert!(!shown.is_empty() && silent.is_empty(), "{arguments:?}: {} {}", ended.out, ended.err);
    }
}

#[test]
fn a_contradiction_is_said_so() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = contradictory(folder.path());
    let verdict: Value = serde_json::from_str(&lath(&["verdict", &wrong, "--json"]).out).unwrap();
    assert_eq!(verdict["state"], "contradiction");
    assert!(verdict["contradiction"].is_string());
    let open: Value =
        serde_json::from_str(&lath(&["verdict", &without_readings(folder.path()), "--json"]).out).unwrap();
    assert_eq!((&open["state"], &open["contradiction"]), (&Value::from("open"), &Value::Null));
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let ended = lath(&["verdict", "nowhere/call.yaml"]);
    assert!(ended.err.contains("nowhere/call.yaml"), "{}", ended.err);
}

#[test]
fn help_can_be_read_in_eighty_columns() {
    let commands = [
        "walk",
        "verdict",
        "next",
        "tags",
        "draw",
        "note",
        "record",
        "check",
        "demo",
        "practice",
        "knowledge",
        "schema",
        "completions",
        "man",
    ];
    let top = lath(&["--help"]);
    for command in commands {
        assert!(top.out.lines().any(|line| line.trim_start().starts_with(command)), "{command}");
    }
    let mut helps = vec![vec!["--help"], vec!["-h"], vec![]];
    helps.extend(commands.iter().flat_map(|command| [vec![*command, "--help"], vec!["help", *command]]));
    for arguments in helps {
        let ended = lath(&arguments);
        for line in ended.out.lines().chain(ended.err.lines()) {
            assert!(line.width() <= 80, "{arguments:?}: {line}");
        }
    }
    // Every way it can end is in the help: the statuses are part of the interface.
    let (_, statuses) = top.out.split_once("Exit status:").unwrap();
    let statuses: Vec<&str> =
        statuses.split(|letter: char| !letter.is_ascii_digit()).filter(|number| !number.is_empty()).collect();
    assert_eq!(statuses, ["0", "1", "2", "3", "4", "5", "130"]);
}

/// Every page of every example, and the demo: none wider than 80 columns, which is what a pipe gets; and none that is asked
/// for plain with anything drawn in it. Box drawing and blocks are U+2500 to U+259F in the Unicode code charts.
#[test]
fn pages_fit_eighty_columns_and_plain_ones_have_nothing_drawn() {
    let mut drawings = 0;
    for path in examples() {
        let every = if path.ends_with("taken-apart.yaml") { pages } else { job_pages };
        // What `check` says starts with the file's own name, which is as long as it is.
        for page in every(path.to_str().unwrap()).into_iter().filter(|page| page[0] != "check") {
            let odd = |letter: &char| {
                ('\u{2500}'..='\u{259f}').contains(letter) || (letter.is_control() && *letter != '\n')
            };
            let drawn = lath(&page);
            let plain = lath_in(&[("CLICOLOR_FORCE", "1")], &[&page[..], &["--plain"]].concat());
            assert_eq!(plain.out.chars().find(odd), None, "{page:?}");
            drawings += usize::from(drawn.out.chars().any(|letter| odd(&letter)));
            for ended in [drawn, plain] {
                assert_eq!((ended.status, ended.err.as_str()), (Some(0), ""), "{page:?}");
                let widest = ended.out.lines().max_by_key(|line| line.width()).unwrap();
                assert!(widest.width() <= 80, "{page:?}: {widest}");
            }
        }
    }
    assert!(drawings >= examples().len(), "each diagram is drawn where nobody asks for plain");
}

/// The text without colour codes (ECMA-48, SGR: `ESC [ … m`); any other escape stays, and is counted as it stands.
fn uncoloured(text: &str) -> String {
    let mut parts = text.split("\u{1b}[");
    let mut out = parts.next().unwrap().to_owned();
    for part in parts {
        let end = part.find(|letter: char| !(letter.is_ascii_digit() || letter == ';')).unwrap();
        assert_eq!(&part[end..=end], "m", "only colours are asked of a terminal");
        out.push_str(&part[end + 1..]);
    }
    out
}

#[test]
fn the_demo_is_a_whole_call() {
    let ended = lath(&["demo"]);
    assert_eq!((ended.status, ended.err.as_str()), (Some(0), ""));
    let places: Vec<Option<usize>> = ["\nTHE ARRANGEMENT\n", "\nTAGS\n", "\nFOUND CONDITIONS"]
        .iter()
        .map(|heading| ended.out.find(heading))
        .collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "verdict, tags, note: {places:?}");
    // As many steps as its job has readings.
    let job = std::fs::read_to_string(example("taken-apart.yaml")).unwrap();
    let (_, readings) = job.split_once("\nreadings:\n").unwrap();
    let readings = readings.lines().filter(|line| line.trim_start().starts_with("- {do:")).count();
    assert!(readings >= 10);
    for number in 1..=readings {
        let step = ended.out.lines().any(|line| line.trim_start().starts_with(&format!("{number}. ")));
        assert!(step, "reading {number} is not replayed");
    }
    assert_eq!(lath(&["demo"]).out, ended.out, "the same every time");
}

/// A practice house, its questions from a file.
fn practised(questions: &str, options: &[&str]) -> Ended {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("questions.txt");
    std::fs::write(&file, questions).unwrap();
    lath(&[&["practice", "--answers", file.to_str().unwrap()], options].concat())
}

/// The power is off, so the meter shows nothing, whatever the house; what cannot be asked is said and does no harm.
#[test]
fn a_practice_house_answers() {
    let folder = tempfile::tempdir().unwrap();
    let saved = folder.path().join("practice.yaml");
    let questions = "# remarks are none\nvolts a.black to earth at hall; off\nvolts, please\nvolts a.black to earth at roof\n\
        ohms a.black to earth at hall; on\n{\"do\":\"volts\",\"at\":\"hall\"\n\
        {\"do\":\"volts\",\"at\":\"hall\",\"between\":[\"a.black\",\"earth\"],\"with\":\"high-impedance\",\"breaker\":\"off\",\"switches\":{\"hall\":\"up\",\"upper landing\":\"up\"},\"lamp\":\"in\"}\n\
        open hall\ndone\nopen nothing more\n";
    let ended = practised(questions, &["--save", saved.to_str().unwrap()]);
    assert_eq!(ended.status, Some(0), "{}", ended.err);
    assert_eq!(ended.out.lines().filter(|line| line.starts_with("Not done: ")).count(), 5, "{}", ended.out);
    assert!(ended.out.contains("0 V"), "{}", ended.out);
    assert!(ended.out.contains("\nIn the walls: "), "{}", ended.out);
    let job = std::fs::read_to_string(&saved).unwrap();
    assert_eq!(job.matches("do: volts").count(), 2, "{job}");
    assert!(!job.contains("reads: 1"), "a dead circuit shows no volts: {job}");
    assert_eq!(lath(&["check", saved.to_str().unwrap()]).status, Some(0));
    let again = practised("done\n", &["--save", saved.to_str().unwrap()]);
    assert_eq!((again.status, again.out.as_str()), (Some(3), ""), "before anything is asked: {}", again.err);
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&saved).unwrap(), job);
}

/// Minutes by hand from `knowledge/effort.yaml`: another box 0.5, a look at the light with one flip 0.1; boxes are open, so the power
/// is off at first, and a trip to the panel is 3.
#[test]
fn a_practice_house_counts_the_minutes() {
    let ended = practised("watch; hall down\n", &[]);
    let line =
        ended.out.lines().find(|line| line.starts_with("You: ")).unwrap_or_else(|| panic!("{}", ended.out));
    assert!(line.starts_with("You: 1 reading, 0 boxes opened, 3.6 minutes of work; "), "{line}");
    assert!(ended.out.lines().any(|line| line.starts_with("Lath: ")), "{}", ended.out);
}

#[test]
fn a_practice_house_needs_somebody_to_ask() {
    let ended = lath(&["practice"]);
    assert_eq!((ended.status, ended.out.as_str()), (Some(4), ""));
    assert!(ended.err.contains("--answers FILE"), "{}", ended.err);
}

/// Houses of several levels in which suggestions come to an end, and the same number is the same house.
#[test]
fn suggestions_lead_through_practice_houses() {
    for level in ["1", "2", "4"] {
        let arguments = ["practice", "--auto", "--seed", "2", "--level", level];
        let ended = lath(&arguments);
        assert_eq!(ended.status, Some(0), "{}", ended.err);
        assert!(ended.out.contains("Lath: "), "{}", ended.out);
        assert!(!ended.out.contains("WRONGLY"), "{}", ended.out);
        assert!(ended.out.lines().all(|line| line.chars().count() <= 80), "{}", ended.out);
        assert_eq!(lath(&arguments).out, ended.out);
    }
    let others = practised("done\n", &["--seed", "5"]).out;
    assert_ne!(practised("done\n", &["--seed", "4"]).out, others);
}

/// no-color.org: NO_COLOR, when not empty, takes colour away; what the person asks for on the command line comes first.
#[test]
fn no_color_takes_colour_away() {
    let job = example("single-pole-loop.yaml");
    for page in job_pages(&job) {
        let coloured = |variables: &[(&str, &str)], options: &[&str]| {
            lath_in(variables, &[&page[..], options].concat()).out.contains('\u{1b}')
        };
        assert!(!coloured(&[], &[]), "{page:?}: a pipe is no terminal");
        assert!(coloured(&[("CLICOLOR_FORCE", "1")], &[]), "{page:?}");
        assert!(!coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")], &[]), "{page:?}");
        assert!(coloured(&[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "")], &[]), "{page:?}");
        assert!(coloured(&[("NO_COLOR", "1")], &["--color", "always"]), "{page:?}");
        assert!(!coloured(&[("CLICOLOR_FORCE", "1")], &["--color", "never"]), "{page:?}");
    }
}

#[test]
fn colour_changes_no_word() {
    let job = example("taken-apart.yaml");
    for page in pages(&job) {
        let painted = lath(&[&page[..], &["--color", "always"]].concat());
        assert_eq!(uncoloured(&painted.out), lath(&page).out, "{page:?}");
    }
}

/// `lath demo | head -1`: whoever reads less than everything is not bothered with it, and it is no failure.
#[cfg(unix)]
#[test]
fn a_reader_may_stop_after_the_first_line() {
    use std::io::{BufRead, BufReader};
    let job = example("open-ring.yaml");
    for page in pages(&job) {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lath"))
            .args(&page)
            .env_clear()
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut first = String::new();
        BufReader::with_capacity(64, child.stdout.take().unwrap()).read_line(&mut first).unwrap();
        assert!(!first.trim().is_empty(), "{page:?}");
        let ended = child.wait_with_output().unwrap();
        assert_eq!((ended.status.code(), ended.stderr.len()), (Some(0), 0), "{page:?}");
        // Nobody is there from the start: the first write already fails.
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let ended = Command::new(env!("CARGO_BIN_EXE_lath"))
            .args(&page)
            .stdout(Stdio::from(writer))
            .output()
            .unwrap();
        assert_eq!((ended.status.code(), ended.stderr.len()), (Some(0), 0), "{page:?}");
    }
}

#[test]
fn no_command_touches_the_job() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("call.yaml");
    let before = std::fs::read(example("knob-and-tube.yaml")).unwrap();
    std::fs::write(&path, &before).unwrap();
    for page in job_pages(path.to_str().unwrap()) {
        assert_eq!(lath(&page).status, Some(0));
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
}

fn schema_of(document: &str) -> Value {
    serde_json::from_str(&lath(&["schema", document]).out).unwrap()
}

fn verdict_of(job: &str) -> Value {
    serde_json::from_str(&lath(&["verdict", job, "--json"]).out).unwrap()
}

/// The keys of an object, in order.
fn keys(object: &Value) -> Vec<&str> {
    object.as_object().unwrap().keys().map(String::as_str).collect()
}

/// A document for programs is the same whatever is asked of the page.
#[test]
fn a_document_has_no_colour() {
    let job = example("single-pole-loop.yaml");
    for command in [
        vec!["verdict", &job, "--json"],
        vec!["note", &job, "--format", "md"],
        vec!["draw", &job, "--format", "dot"],
    ] {
        let document = lath(&command);
        assert_eq!(document.status, Some(0), "{command:?}");
        for options in [&["--color", "always"][..], &["--plain"]] {
            assert_eq!(lath(&[&command[..], options].concat()).out, document.out, "{command:?} {options:?}");
        }
    }
}

#[test]
fn a_verdict_is_what_its_schema_says() {
    let folder = tempfile::tempdir().unwrap();
    let schema = schema_of("verdict");
    let mut jobs: Vec<String> = examples().iter().map(|path| path.to_str().unwrap().to_owned()).collect();
    jobs.extend([without_readings(folder.path()), contradictory(folder.path())]);
    for job in jobs {
        let verdict = verdict_of(&job);
        assert_eq!(schema::faults(&schema, &verdict), Vec::<String>::new(), "{job}");
        assert_eq!(schema::unnamed(&schema, &verdict), Vec::<String>::new(), "{job}");
    }
}

/// The keys that programs read it by.
#[test]
fn a_verdict_has_the_keys_it_is_known_by() {
    let verdict = verdict_of(&example("taken-apart.yaml"));
    let mut top = keys(&verdict);
    top.sort_unstable();
    assert_eq!(
        top,
        [
            "arrangement",
            "boxes",
            "cables",
            "candidates",
            "choices",
            "contradiction",
            "defects",
            "devices",
            "disbelieved",
            "landing",
            "lath",
            "state",
            "wires"
        ]
    );
    assert_eq!(verdict["lath"], 1);
    let some = |list: &str, wanted: &[&str]| {
        let first = &verdict[list][0];
        assert!(wanted.iter().all(|key| first.get(key).is_some()), "{list}: {first}");
    };
    some("cables", &["ends", "p"]);
    some("wires", &["wire", "role", "p", "others", "because"]);
    some("boxes", &["box", "line", "neutral", "ground"]);
    some("landing", &["box", "joints"]);
    let mut candidates = keys(&verdict["candidates"]);
    candidates.sort_unstable();
    assert_eq!(candidates, ["bits", "classes", "uncovered", "wirings"]);
    assert!(["text", "scheme", "scheme_p"].iter().all(|key| verdict["arrangement"].get(key).is_some()));
    let feed = &verdict["arrangement"]["feed"];
    assert!(feed["box"].is_string() && feed["p"].is_number());
}

/// What is next in some calls: with nothing read yet, a box to open, one settled, one that contradicts itself.
fn nexts(folder: &Path) -> Vec<Value> {
    let unread = |name: &str| {
        let text = std::fs::read_to_string(example(name)).unwrap();
        let (survey, _) = text.split_once("\nreadings:").unwrap();
        let path = folder.join(name);
        std::fs::write(&path, format!("{survey}\n")).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let mut jobs: Vec<String> =
        ["feed-at-switch.yaml", "knob-and-tube.yaml", "feed-at-light-line-to-near.yaml"].map(unread).into();
    jobs.extend([example("feed-at-switch.yaml"), contradictory(folder)]);
    let of = |job: &String| {
        let ended = lath(&["next", job, "--json", "--top", "50"]);
        assert_eq!((ended.status, ended.err.as_str()), (Some(0), ""), "{job}");
        serde_json::from_str(&ended.out).unwrap()
    };
    jobs.iter().map(of).collect()
}

#[test]
fn what_is_next_is_what_its_schema_says() {
    let folder = tempfile::tempdir().unwrap();
    let schema = schema_of("next");
    let nexts = nexts(folder.path());
    let states: Vec<&str> = nexts.iter().map(|next| next["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["open", "open", "open", "settled", "contradiction"]);
    for next in nexts {
        assert_eq!(schema::faults(&schema, &next), Vec::<String>::new(), "{next}");
        assert_eq!(schema::unnamed(&schema, &next), Vec::<String>::new(), "{next}");
        let open = next["state"] == "open";
        assert_eq!(next["suggestions"].as_array().unwrap().is_empty(), !open, "{next}");
    }
}

/// The keys that programs read it by, as agreed: every condition is spelled out.
#[test]
fn what_is_next_has_the_keys_it_is_known_by() {
    let folder = tempfile::tempdir().unwrap();
    let nexts = nexts(folder.path());
    assert_eq!(keys(&nexts[0]), ["candidates", "lath", "state", "suggestions"]);
    let why = ["bits", "because", "cautions", "do", "first", "live", "minutes", "outcomes"];
    let conditions = ["breaker", "jumpers", "lamp", "lifted", "out", "switches"];
    let mut asked = BTreeSet::new();
    for suggestion in nexts.iter().flat_map(|next| next["suggestions"].as_array().unwrap()) {
        let has = |names: &[&str]| names.iter().all(|name| suggestion.get(name).is_some());
        assert!(has(&why), "{suggestion}");
        let ask = suggestion["do"].as_str().unwrap();
        asked.insert(ask.to_owned());
        if ask == "open" {
            assert!(has(&["at"]) && !conditions.iter().any(|name| has(&[name])), "{suggestion}");
            continue;
        }
        assert!(has(&conditions), "{suggestion}");
        let question = match ask {
            "watch" => has(&["light"]) && !has(&["with"]),
            "amps" => has(&["at", "around", "with"]),
            _ => has(&["at", "with"]) && (has(&["between"]) || has(&["points", "to"])),
        };
        assert!(question, "{suggestion}");
        let p: f64 =
            suggestion["outcomes"].as_array().unwrap().iter().map(|o| o["p"].as_f64().unwrap()).sum();
        // Only the likeliest outcomes are listed.
        assert!((0.5..=1.001).contains(&p), "{p}: {suggestion}");
        let outcome = &suggestion["outcomes"][0];
        assert_eq!(keys(outcome), ["leaves", "p", "reads"]);
    }
    // A look at the light tells nothing where all that fits is sound: it may be missing here.
    assert!(["ohms", "open", "volts"].iter().all(|ask| asked.contains(*ask)), "{asked:?}");
}

/// The checker finds what is wrong: each key that must be there taken out, each value made another kind of thing.
#[test]
fn a_damaged_verdict_is_not_what_its_schema_says() {
    let schema = schema_of("verdict");
    let verdict = verdict_of(&example("taken-apart.yaml"));
    let required: Vec<&str> =
        schema["required"].as_array().unwrap().iter().map(|key| key.as_str().unwrap()).collect();
    assert!(required.len() >= 8, "{required:?}");
    for key in required {
        let mut damaged = verdict.clone();
        damaged.as_object_mut().unwrap().remove(key);
        assert_eq!(schema::faults(&schema, &damaged).len(), 1, "without {key}");
    }
    for place in
        ["/state", "/wires/0/role", "/wires/0/p", "/cables/0/ends", "/landing/0/box", "/candidates/wirings"]
    {
        let mut damaged = verdict.clone();
        *damaged.pointer_mut(place).unwrap() = serde_json::json!({"no": "such"});
        assert!(!schema::faults(&schema, &damaged).is_empty(), "{place}");
    }
    let mut damaged = verdict.clone();
    damaged["cables"][0]["ends"].as_array_mut().unwrap().push("a third".into());
    assert!(!schema::faults(&schema, &damaged).is_empty());
    let mut damaged = verdict;
    damaged["wires"][0]["hue"] = "mauve".into();
    assert!(!schema::unnamed(&schema, &damaged).is_empty());
}

/// The examples are job files by the schema as well as by the checks.
#[test]
fn an_example_is_what_the_job_schema_says() {
    let schema = schema_of("job");
    for path in examples() {
        let text = std::fs::read_to_string(&path).unwrap();
        let mut job: Value = serde_yaml::from_str(&text).unwrap();
        assert_eq!(schema::faults(&schema, &job), Vec::<String>::new(), "{}", path.display());
        job["boxes"][0]["hue"] = "mauve".into();
        assert!(!schema::faults(&schema, &job).is_empty(), "{}", path.display());
    }
}

/// A loop whose switch lies on its side, on a circuit nobody has named.
const SIDEWAYS: &str = "lath: 1
house: {supply: 120}
instruments: [low-impedance]
boxes:
  - {name: landing, kind: switch, opened: true, cables: [{tag: a, wires: [black, white]}],
     devices: [{name: switch, kind: single-pole}], joints: [[a.black, switch.s1], [a.white, switch.s2]]}
  - {name: pantry, kind: light}
readings:
  - {do: watch, light: pantry, breaker: on, switches: {landing: left}, lamp: in, reads: lit}
  - {do: watch, light: pantry, breaker: on, switches: {landing: right}, lamp: in, reads: dark}
  - {do: volts, at: landing, between: [a.white, earth], with: low-impedance, breaker: on,
     switches: {landing: right}, lamp: out, reads: 119}
";

#[test]
fn positions_are_called_what_the_job_calls_them() {
    let folder = tempfile::tempdir().unwrap();
    for (words, text) in [
        (["left", "right"], SIDEWAYS.to_owned()),
        (["1", "2"], SIDEWAYS.replace(": left", ": 1").replace(": right", ": 2")),
        (["up", "down"], SIDEWAYS.replace(": left", ": up").replace(": right", ": down")),
    ] {
        let path = folder.path().join("job.yaml");
        std::fs::write(&path, text).unwrap();
        let note = lath(&["note", path.to_str().unwrap()]);
        assert_eq!(note.status, Some(0), "{}", note.err);
        let flat = note.out.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in words {
            assert!(flat.contains(&format!("landing {word}")), "{word}: {flat}");
        }
        for other in ["up", "down", "left", "right"].iter().filter(|other| !words.contains(other)) {
            assert!(!flat.contains(&format!("landing {other}")), "{other}: {flat}");
        }
    }
}

#[test]
fn a_circuit_that_nobody_named_has_no_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.yaml");
    std::fs::write(&path, SIDEWAYS).unwrap();
    for page in job_pages(path.to_str().unwrap()) {
        let shown = lath(&page);
        assert_eq!(shown.status, Some(0), "{}", shown.err);
        assert!(!shown.out.contains("circuit circuit"), "{page:?}: {}", shown.out);
    }
}

#[test]
fn messages_about_hostile_names_are_inert() {
    let folder = tempfile::tempdir().unwrap();
    // A name of a file, and one in it, that would colour the terminal and turn the line round.
    let path = folder.path().join("a\u{1b}[31m\u{202e}b.yaml");
    let name = "x \\u202e y \\e[31m";
    std::fs::write(&path, format!("lath: 1\nboxes: [{{name: \"{name}\", kind: \"{name}\"}}]\n")).unwrap();
    for path in [path.clone(), path.with_extension("gone")] {
        let checked = lath(&["check", path.to_str().unwrap()]);
        assert_eq!(checked.status, Some(3));
        let acts = |c: char| c != '\n' && (c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c));
        assert!(!checked.err.is_empty() && !checked.err.contains(acts), "{:?}", checked.err);
    }
}
