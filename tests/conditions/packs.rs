//! The packs as data: a new condition is an edit of a pack, and what is wrong with one is said with its place.

use crate::world::{World, pack};
use lath::files::conditions::read;
use lath::files::packs::{Kind, all, check};
use std::process::Command;

/// The shipped packs with one more file.
fn with(text: &str) -> Result<lath::conditions::Pack, String> {
    let mut files: Vec<(&str, &str)> = all()
        .into_iter()
        .filter(|(_, kind, _)| *kind == Kind::Conditions)
        .map(|(name, _, text)| (name, text))
        .collect();
    files.push(("new.yaml", text));
    read(&files).map_err(|wrong| wrong.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}

const NEW: &str = "
conditions:
  - name: long-run-of-white
    title: A white wire that goes on
    serious: good-to-know
    found:
      - about: cable
        when: {goes-to: onward, wires: {to: 3}, any: [{sheath: nm}, {gauge: {from: 12, to: 14}}], not: {seen: crowded}}
      - {about: defect, when: {defect: open-wire, box-kind: switch}}
    says: It goes on.
    usually: Nothing.
";

#[test]
fn a_new_condition_is_an_edit_of_a_pack() {
    let pack = with(NEW).unwrap_or_else(|wrong| panic!("{wrong}"));
    let mut world = World::new();
    assert_eq!(world.names(&pack), Vec::<String>::new());
    world.verdict.cables[0].ends[1] = "onward".into();
    assert_eq!(world.names(&pack), ["long-run-of-white"]);
    world.put("seen: [metal-box]", "seen: [metal-box, crowded]");
    assert!(!world.names(&pack).contains(&"long-run-of-white".to_owned()));
    world.defect("open-wire", "hall/b", 0.9);
    assert!(world.names(&pack).contains(&"long-run-of-white".to_owned()));
}

/// Each slip in a pack with the line it stands in and what to write instead.
#[test]
fn what_is_wrong_with_a_pack_is_said_with_its_place() {
    for (from, to, line, what) in [
        ("about: cable", "about: cabel", 7, "write cable (one of house, box, cable"),
        ("serious: good-to-know", "serious: good-to-now", 5, "write good-to-know (one of at-once"),
        ("goes-to: onward", "goes-to: upward", 8, "what goes-to can hold belongs here"),
        (
            "goes-to: onward",
            "joint-role: line",
            8,
            "joint-role is a field of a joint, and this is about a cable",
        ),
        ("goes-to: onward", "goes-too: onward", 8, "write goes-to, or another field of a cable"),
        ("wires: {to: 3}", "wires: {upto: 3}", 8, "there is no such field"),
        ("wires: {to: 3}", "wires: many", 8, "a number belongs here"),
        ("from: 12, to: 14", "from: 14, to: 12", 8, "nothing lies in this range"),
        ("{seen: crowded}", "{seen: crowdy}", 8, "the name of an observation belongs here"),
        ("{seen: crowded}", "{scheme: conventionel}", 8, "write conventional (one of"),
        ("{seen: crowded}", "{}", 8, "this rule asks for nothing"),
        ("defect: open-wire", "defect: opened", 9, "what defect can hold belongs here"),
        ("    says: It goes on.\n", "", 3, "the field says is missing"),
        ("    usually: Nothing.", "    usually: ''", 11, "there is no text here"),
        ("    says: It", "    sayz: It", 10, "write says, or take it out"),
        ("name: long-run-of-white", "name: no-ground", 3, "two conditions have the same name"),
        ("    usually: Nothing.", "    usually: Nothing.\n    cautions: [lader]", 12, "write ladder (one of"),
        (
            "    usually: Nothing.",
            "    usually: Nothing.\n    provisions: [{code: NEC, section: x, says: y, checked: text}]",
            12,
            "nobody says where",
        ),
        (
            "    usually: Nothing.",
            "    usually: Nothing.\n    provisions: [{code: NECK, section: x, says: y, checked: memory}]",
            12,
            "a code that the packs name belongs here",
        ),
        (
            "    usually: Nothing.",
            "    usually: Nothing.\n    usually: More.",
            12,
            "the same key stands twice",
        ),
    ] {
        assert!(NEW.contains(from), "{from}");
        let wrong = with(&NEW.replacen(from, to, 1)).expect_err(to);
        let lines: Vec<&str> = wrong.lines().collect();
        assert!(
            lines.iter().any(|one| one.starts_with(&format!("new.yaml:{line}:")) && one.contains(what)),
            "{to}: {wrong}"
        );
    }
}

#[test]
fn every_pack_that_is_compiled_in_passes_its_check() {
    for (name, kind, text) in all() {
        assert_eq!(check(name, text).ok().map(|checked| checked.kind), Some(kind), "{name}");
    }
    for (text, told) in [
        ("title: x\n", "this is no pack; write one of scheme"),
        ("# nothing\n", "the file is empty; write one of scheme"),
        ("lath: 1\ninstruments: [neon]\n", "this is a job file and no pack; write `lath check`"),
    ] {
        let wrong = check("mine.yaml", text).expect_err("no pack");
        assert!(wrong[0].to_string().contains(told), "{}", wrong[0]);
    }
    let wrong = check("mine.yaml", "scheme: x\ntitle: y\n").expect_err("half a scheme");
    assert!(wrong[0].to_string().starts_with("mine.yaml:"), "{}", wrong[0]);
}

/// Each slip in a pack of figures with what it stands at and what to write instead.
#[test]
fn what_is_wrong_with_a_figure_is_said_with_its_line() {
    for (pack, from, to, told) in [
        (
            "effort.yaml",
            "  ladder: 5 ",
            "  ladder: -5 ",
            "travel.ladder: this is no price; found \"-5\"; write minutes, 0 or",
        ),
        (
            "effort.yaml",
            "  probe: 0.3",
            "  probe: 0",
            "work.probe: this is no price; found \"0\"; write minutes above 0",
        ),
        (
            "effort.yaml",
            "  live: 1.5",
            "  live: 0.5",
            "factor.live: this is no price; found \"0.5\"; write a factor of 1",
        ),
        (
            "effort.yaml",
            "  ladder: 5 ",
            "  ladder: 5 min ",
            "travel.ladder: a number belongs here; found \"5 min\"",
        ),
        (
            "effort.yaml",
            "  ladder: 5 ",
            "  lader: 5 ",
            "travel: there is no such field; found \"lader\"; write ladder",
        ),
        (
            "habits.yaml",
            "  red:",
            "  wihte:",
            "colours.wihte: no colour is called so; found \"wihte\"; write white",
        ),
        ("habits.yaml", "  red:", "  white:", "colours.white: the same key stands twice"),
        ("habits.yaml", "  ring: 0.3", "  ring: 0,3", "run.ring: a number belongs here; found \"0,3\""),
    ] {
        let text = all().into_iter().find(|(name, ..)| *name == pack).expect("the pack").2;
        let at = 1 + text.lines().position(|line| line.starts_with(from)).expect(from);
        let wrong = check(pack, &text.replacen(from, to, 1)).expect_err(to);
        let line = format!("{pack}:{at}: {told}");
        assert!(wrong.iter().any(|one| one.to_string().starts_with(&line)), "{line}: {wrong:?}");
    }
    let purple = "  purple: {with-neutral: {other: 1.0}, without-neutral: {other: 1.0}}\n";
    let text = all().into_iter().find(|(name, ..)| *name == "habits.yaml").expect("the pack").2;
    assert!(check("habits.yaml", &format!("{text}{purple}")).is_ok(), "a colour may be any word");
}

fn lath(words: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_lath")).args(words).env_clear().output().expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn the_command_lists_shows_and_checks() {
    let (status, out, _) = lath(&["knowledge", "list"]);
    assert_eq!(status, Some(0));
    assert!(out.contains("conditions/danger.yaml") && out.contains("schemes/conventional.yaml"));
    let (status, out, _) = lath(&["knowledge", "show", "live-metal"]);
    assert_eq!(status, Some(0));
    assert!(out.contains("At once") && out.contains("From memory, not looked up"), "{out}");
    let (_, out, _) = lath(&["knowledge", "show", "habits.yaml"]);
    assert!(out.contains("colours:"));
    let (_, out, _) = lath(&["knowledge", "show", "fields"]);
    assert!(out.contains("goes-to:") && out.contains("brittle-insulation:"));
    let (_, out, _) = lath(&["knowledge", "show", "provisions"]);
    for provision in pack().conditions.iter().flat_map(|condition| &condition.provisions) {
        let section = &provision.section;
        assert!(out.split_whitespace().collect::<Vec<_>>().join(" ").contains(section.as_str()), "{section}");
    }
    let (status, out, err) = lath(&["knowledge", "show", "live-mettal"]);
    assert_eq!((status, out.as_str()), (Some(2), ""));
    assert!(err.contains("live-metal?"), "{err}");
    let (status, out, err) = lath(&["knowledge", "check"]);
    assert_eq!((status, err.as_str()), (Some(0), ""), "every defect has a condition");
    assert_eq!(out.lines().count(), all().len());
}

#[test]
fn a_pack_file_is_checked_beside_those_compiled_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path.display().to_string()
    };
    let good = write("new.yaml", NEW);
    let (status, out, _) = lath(&["knowledge", "check", &good]);
    assert_eq!(status, Some(0));
    assert!(out.contains("ok: conditions"));
    let wrong = write("wrong.yaml", &NEW.replace("about: cable", "about: cabel"));
    let (status, _, err) = lath(&["knowledge", "check", &wrong]);
    assert_eq!(status, Some(3));
    assert!(err.contains("wrong.yaml:7:") && err.contains("write cable"), "{err}");
    // A copy of a shipped file, edited, stands in its place.
    let danger = all().into_iter().find(|(name, ..)| *name == "conditions/danger.yaml").expect("the pack").2;
    let copy = write("danger.yaml", danger);
    assert_eq!(lath(&["knowledge", "check", &copy]).0, Some(0));
    assert_eq!(lath(&["knowledge", "check", &write("other.yaml", danger)]).0, Some(3), "every name twice");
    assert_eq!(lath(&["knowledge", "check", "nowhere.yaml"]).0, Some(3));
}

/// Anything may stand under `seen`; what is misspelt there would silently be no finding.
#[test]
fn a_word_that_nearly_is_an_observation_is_pointed_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("job.yaml");
    for (seen, told) in [
        (
            "scorchd",
            "job.yaml:4: note: boxes[0].seen[1]: no condition asks for \"scorchd\"; they ask for scorched",
        ),
        ("scorched", ""),
        ("a nest of mice", ""),
    ] {
        let job = format!(
            "lath: 1\nboxes:\n  - {{name: hall, kind: switch, opened: true, cables: [],\n     seen: [metal-box, {seen}]}}\n"
        );
        std::fs::write(&path, job).expect("written");
        let (status, _, err) = lath(&["check", &path.display().to_string()]);
        assert_eq!(status, Some(0), "{err}");
        assert_eq!(err.contains("no condition asks for"), !told.is_empty(), "{err}");
        assert!(err.contains(told), "{err}");
    }
}

/// A new scheme, and a condition that tells of it: neither is compiled in yet.
#[test]
fn files_that_are_given_together_are_checked_together() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path.display().to_string()
    };
    let shipped =
        all().into_iter().find(|(name, ..)| *name == "schemes/single-pole.yaml").expect("the pack").2;
    let scheme = write("mine.yaml", &shipped.replace("scheme: single-pole", "scheme: mine"));
    let seen = write("seen.yaml", "observations: {cord: cord in a wall}\n");
    let told = NEW.replace("not: {seen: crowded}", "seen: cord, scheme: mine");
    let condition = write("new.yaml", &told);
    let (status, _, err) = lath(&["knowledge", "check", &condition]);
    assert_eq!(status, Some(3));
    assert!(err.contains("the name of a scheme") && err.contains("the name of an observation"), "{err}");
    let (status, out, err) = lath(&["knowledge", "check", &condition, &scheme, &seen]);
    assert_eq!((status, out.lines().count()), (Some(0), 3), "{err}");
    // What is wrong with one of them is said once, and of that one.
    let wrong = write(
        "wrong.yaml",
        &told.replace("long-run-of-white", "other").replace("about: cable", "about: cabel"),
    );
    let (_, out, err) = lath(&["knowledge", "check", &condition, &wrong, &scheme, &seen]);
    assert!(err.lines().count() == 1 && err.contains("wrong.yaml:7:"), "{err}");
    assert_eq!(out.lines().count(), 3, "{out}");
}
