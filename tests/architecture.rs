//! The rules of the house that a compiler does not know: who may import whom, what stays pure, what is named where.
//!
//! Sources are read as tokens, so that a path is found however it is written: in a group (`crate::{show, files}`), from
//! within (`super::super::show`), over several lines. What stands in comments, strings and test modules is not code here.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The rooms, each of which may import those before it only, except `circuit`, which imports none.
const ROOMS: [&str; 15] = [
    "house",
    "call",
    "knowledge",
    "wiring",
    "circuit",
    "predict",
    "practice",
    "weigh",
    "verdict",
    "plan",
    "conditions",
    "show",
    "walk",
    "files",
    "cli",
];

/// Rooms that may see the world; all others are pure.
const WORLDLY: [&str; 2] = ["files", "cli"];

/// What no pure room names.
const WORLD: [&str; 20] = [
    "anstyle_query",
    "clap_complete",
    "clap_mangen",
    "std::fs",
    "std::io",
    "std::env",
    "std::net",
    "std::process",
    "std::time",
    "std::thread",
    "clap",
    "ctrlc",
    "dialoguer",
    "jiff",
    "owo_colors",
    "rand",
    "rustix",
    "serde_yaml",
    "tempfile",
    "terminal_size",
];

/// Crates that can be exchanged in one place, because they are named there only.
const FENCED: [(&str, &str); 15] = [
    ("anstyle_query", "src/cli/mod.rs"),
    ("clap_complete", "src/cli/completions.rs"),
    ("clap_mangen", "src/cli/man.rs"),
    ("ctrlc", "src/cli/walk/terminal.rs"),
    ("dialoguer", "src/cli/walk/asker.rs"),
    ("jiff", "src/cli/walk.rs"),
    ("krilla", "src/show/note/pdf/paint.rs"),
    ("rustix", "src/cli/walk/terminal.rs"),
    ("same_file", "src/files/lock.rs"),
    ("serde_yaml", "src/files/yaml.rs"),
    ("skrifa", "src/show/note/pdf/face.rs"),
    ("owo_colors", "src/show/palette.rs"),
    ("tempfile", "src/files/save.rs"),
    ("terminal_size", "src/cli/mod.rs"),
    ("unicode_bidi", "src/show/note/pdf/face.rs"),
];

fn may_import(room: &str, other: &str) -> bool {
    let place = |name: &str| ROOMS.iter().position(|room| *room == name).unwrap();
    room == other || (room != "circuit" && place(other) < place(room))
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below a folder of the project, by its path from there, in order.
fn files(folder: &str) -> Vec<(String, String)> {
    fn walk(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, into);
            } else {
                into.push(path);
            }
        }
    }
    let mut paths = Vec::new();
    walk(&root().join(folder), &mut paths);
    // Fonts are no text.
    paths.retain(|path| path.extension().is_none_or(|kind| kind != "ttf"));
    paths.sort();
    let name = |path: &Path| {
        path.strip_prefix(root()).unwrap().to_string_lossy().replace(std::path::MAIN_SEPARATOR, "/")
    };
    let files: Vec<(String, String)> =
        paths.iter().map(|path| (name(path), std::fs::read_to_string(path).unwrap())).collect();
    assert!(!files.is_empty(), "nothing below {folder}");
    files
}

/// The room of a source file; none for those directly below `src/`.
fn room_of(name: &str) -> Option<&str> {
    name.strip_prefix("src/")?.split_once('/').map(|(room, _)| room)
}

/// The text without comments, and with every string and character emptied.
fn bare(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let (kept, taken) = if rest.starts_with("//") {
            ("", rest.find('\n').unwrap_or(rest.len()))
        } else if rest.starts_with("/*") {
            (" ", rest.find("*/").map_or(rest.len(), |end| end + 2))
        } else if let Some(length) = string(rest) {
            ("\"\"", length)
        } else if let Some(length) = character(rest) {
            ("''", length)
        } else {
            (&rest[..first.len_utf8()], first.len_utf8())
        };
        out.push_str(kept);
        rest = &rest[taken..];
    }
    out
}

/// The length of the string that stands here, raw or not.
fn string(rest: &str) -> Option<usize> {
    let after = rest.strip_prefix('r').unwrap_or(rest);
    let hashes = after.len() - after.trim_start_matches('#').len();
    if !after[hashes..].starts_with('"') || (hashes > 0 && after.len() == rest.len()) {
        return None;
    }
    let body = rest.len() - after.len() + hashes + 1;
    if after.len() < rest.len() {
        let close = format!("\"{}", "#".repeat(hashes));
        return Some(rest[body..].find(&close).map_or(rest.len(), |end| body + end + close.len()));
    }
    let mut escaped = false;
    for (at, letter) in rest[body..].char_indices() {
        if letter == '"' && !escaped {
            return Some(body + at + 1);
        }
        escaped = letter == '\\' && !escaped;
    }
    Some(rest.len())
}

/// The length of the character that stands here; a lifetime is none.
fn character(rest: &str) -> Option<usize> {
    let body = rest.strip_prefix('\'')?;
    if body.starts_with('\\') {
        return body[2..].find('\'').map(|end| end + 4);
    }
    let first = body.chars().next()?;
    body[first.len_utf8()..].starts_with('\'').then(|| first.len_utf8() + 2)
}

/// Words, `::`, and every other sign by itself.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut joined = false;
    for letter in bare(text).chars() {
        let word = letter.is_alphanumeric() || letter == '_';
        match tokens.last_mut() {
            Some(last) if joined && word && last.chars().all(|l| l.is_alphanumeric() || l == '_') => {
                last.push(letter);
            }
            Some(last) if joined && letter == ':' && last == ":" => last.push(letter),
            _ if letter.is_whitespace() => {}
            _ => tokens.push(letter.to_string()),
        }
        joined = !letter.is_whitespace();
    }
    without_tests(tokens)
}

/// Leaves out what `#[cfg(test)]` stands before, up to its closing brace or its semicolon.
fn without_tests(tokens: Vec<String>) -> Vec<String> {
    const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        if !tokens[at..].iter().map(String::as_str).take(MARK.len()).eq(MARK) {
            kept.push(tokens[at].clone());
            at += 1;
            continue;
        }
        let mut depth = 0;
        while at < tokens.len() {
            depth += i32::from(tokens[at] == "{") - i32::from(tokens[at] == "}");
            at += 1;
            if depth == 0 && ["}", ";"].contains(&tokens[at - 1].as_str()) {
                break;
            }
        }
    }
    kept
}

/// Every path in a file, with groups multiplied out; `self` and `super` are resolved from the file's place.
fn paths(name: &str, text: &str) -> BTreeSet<String> {
    let tokens = tokens(text);
    let mut found = BTreeSet::new();
    let mut at = 0;
    while at < tokens.len() {
        let starts = is_word(&tokens[at]) && (at == 0 || tokens[at - 1] != "::");
        at = if starts { path(&tokens, at, "", &mut found) } else { at + 1 };
    }
    let module = module(name);
    found.into_iter().map(|path| resolve(&path, &module)).collect()
}

fn is_word(token: &str) -> bool {
    token.starts_with(|letter: char| letter.is_alphabetic() || letter == '_')
}

/// Reads one path from `at`, behind a prefix; gives where it ends.
fn path(tokens: &[String], mut at: usize, prefix: &str, found: &mut BTreeSet<String>) -> usize {
    let mut sofar = prefix.to_owned();
    loop {
        match tokens.get(at).map(String::as_str) {
            Some(word) if is_word(word) => {
                sofar = if sofar.is_empty() { word.to_owned() } else { format!("{sofar}::{word}") };
                at += 1;
            }
            Some("{") if !sofar.is_empty() => {
                at += 1;
                while tokens.get(at).is_some_and(|token| token != "}") {
                    at = if is_word(&tokens[at]) { path(tokens, at, &sofar, found) } else { at + 1 };
                }
                return at + 1;
            }
            // `path::<T>` and `path::*` end here as paths; what is inside the brackets is read as its own.
            _ => break,
        }
        if tokens.get(at).is_some_and(|token| token == "::") {
            at += 1;
        } else {
            break;
        }
    }
    found.insert(sofar);
    at
}

/// The module that a file is.
fn module(name: &str) -> Vec<&str> {
    let inner = name.trim_start_matches("src/").trim_end_matches(".rs");
    let mut parts: Vec<&str> = inner.split('/').collect();
    if matches!(parts.last(), Some(&("mod" | "lib" | "main"))) {
        parts.pop();
    }
    parts
}

fn resolve(path: &str, module: &[&str]) -> String {
    let mut above = module.to_vec();
    let mut parts = path.split("::").peekable();
    if !matches!(parts.peek(), Some(&("self" | "super"))) {
        return path.to_owned();
    }
    while let Some(step) = parts.next_if(|part| ["self", "super"].contains(part)) {
        if step == "super" {
            above.pop();
        }
    }
    std::iter::once("crate").chain(above).chain(parts).collect::<Vec<_>>().join("::")
}

fn names(path: &str, what: &str) -> bool {
    path == what || path.strip_prefix(what).is_some_and(|rest| rest.starts_with("::"))
}

/// Imports of a room that it may not have.
fn upward(name: &str, text: &str) -> Vec<String> {
    let Some(room) = room_of(name) else { return Vec::new() };
    let barred = ROOMS.iter().filter(|other| !may_import(room, other));
    let barred: Vec<String> =
        barred.flat_map(|other| [format!("crate::{other}"), format!("lath::{other}")]).collect();
    let wrong = paths(name, text).into_iter().filter(|path| barred.iter().any(|other| names(path, other)));
    wrong.map(|path| format!("{name}: {path}")).collect()
}

/// What a pure room names of the world; the palette's own crate apart, which paints and does not print.
fn impure(name: &str, text: &str) -> Vec<String> {
    let allowed = |what: &str| FENCED.contains(&(what, name));
    let found = paths(name, text);
    let words = tokens(text);
    let printing = ["print", "println", "eprint", "eprintln"];
    let prints = words.windows(2).filter(|two| two[1] == "!" && printing.contains(&two[0].as_str()));
    let prints = prints.map(|two| format!("{name}: {}!", two[0]));
    let world = |path: &String| WORLD.iter().any(|what| names(path, what) && !allowed(what));
    let wrong = found.into_iter().filter(world).map(|path| format!("{name}: {path}"));
    wrong.chain(prints).collect()
}

/// Words that say that something is not done, or that would end the program.
fn unfinished(name: &str, text: &str) -> Vec<String> {
    let words = tokens(text);
    let macros = ["todo", "unimplemented", "dbg", "panic"];
    let calls = ["unwrap", "expect"];
    let mut wrong = Vec::new();
    for three in words.windows(3) {
        let [one, two, three] = [0, 1, 2].map(|at| three[at].as_str());
        if (two == "!" && macros.contains(&one)) || (one == "." && calls.contains(&two) && three == "(") {
            wrong.push(format!("{name}: {one}{two}"));
        }
    }
    for marker in ["TODO", "FIXME", "XXX", "HACK"] {
        let marked = text.split(|letter: char| !letter.is_alphanumeric()).any(|word| word == marker);
        wrong.extend(marked.then(|| format!("{name}: {marker}")));
    }
    wrong
}

fn assert_none(wrong: &[String]) {
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_room_is_known() {
    let rooms: BTreeSet<String> =
        files("src").iter().filter_map(|(name, _)| room_of(name).map(str::to_owned)).collect();
    assert_eq!(rooms, ROOMS.map(str::to_owned).into());
}

#[test]
fn rooms_import_one_way() {
    let wrong: Vec<String> = files("src").iter().flat_map(|(name, text)| upward(name, text)).collect();
    assert_none(&wrong);
}

#[test]
fn pure_rooms_touch_nothing_outside() {
    let pure = files("src");
    let pure = pure.iter().filter(|(name, _)| room_of(name).is_some_and(|room| !WORLDLY.contains(&room)));
    assert_none(&pure.flat_map(|(name, text)| impure(name, text)).collect::<Vec<_>>());
}

#[test]
fn fenced_crates_are_named_in_one_place() {
    for (what, place) in FENCED {
        let all = files("src");
        let naming = all.iter().filter(|(name, text)| paths(name, text).iter().any(|path| names(path, what)));
        let naming: Vec<&str> = naming.map(|(name, _)| name.as_str()).collect();
        assert_eq!(naming, [place], "{what}");
    }
}

#[test]
fn main_only_dispatches() {
    let all = files("src");
    let (_, main) = all.iter().find(|(name, _)| name == "src/main.rs").unwrap();
    assert!(main.lines().count() < 40);
}

#[test]
fn nothing_is_left_half_done() {
    assert_none(&files("src").iter().flat_map(|(name, text)| unfinished(name, text)).collect::<Vec<_>>());
}

/// Maps whose order is their hasher's may be looked up and never walked: `clippy::iter_over_hash_type` sees loops, and
/// this sees that none is part of what a room shows to others, where a walk would follow.
#[test]
fn no_room_hands_out_an_unordered_map() {
    let manifest = std::fs::read_to_string(root().join("Cargo.toml")).unwrap();
    assert!(manifest.contains("iter_over_hash_type = \"warn\""));
    let unordered = ["HashMap", "HashSet", "FxHashMap", "FxHashSet"];
    let mut wrong = Vec::new();
    for (name, text) in files("src") {
        let words = tokens(&text);
        let std = paths(&name, &text).into_iter().filter(|path| path.starts_with("std::collections::Hash"));
        wrong.extend(std.map(|path| format!("{name}: {path}")));
        for (at, word) in words.iter().enumerate().filter(|(_, word)| unordered.contains(&word.as_str())) {
            let start = words[..at].iter().rposition(|word| [";", "{", "}", ","].contains(&word.as_str()));
            let shown =
                words[start.map_or(0, |start| start + 1)..at].first().is_some_and(|first| first == "pub");
            wrong.extend(shown.then(|| format!("{name}: a public {word}")));
        }
    }
    assert_none(&wrong);
}

/// Every file under knowledge/ is a pack that is compiled in, once, as it stands; it is recognised, and sound.
#[test]
fn no_pack_is_forgotten() {
    use lath::files::packs;
    let there: Vec<(String, String)> = files("knowledge");
    let mut compiled: Vec<(String, String)> = packs::all()
        .into_iter()
        .map(|(name, _, text)| (format!("knowledge/{name}"), text.to_owned()))
        .collect();
    compiled.sort();
    assert_eq!(compiled, there);
    for (name, kind, text) in packs::all() {
        let checked = packs::check(name, text).unwrap_or_else(|wrong| panic!("{name}: {wrong:?}"));
        assert_eq!(checked.kind, kind, "{name}");
    }
}

/// The packs as compiled in have the names of the files: none is left out on the way from text to knowledge.
#[test]
fn every_scheme_file_is_a_scheme() {
    let knowledge = lath::files::packs::embedded().unwrap();
    let schemes: BTreeSet<String> =
        knowledge.schemes.iter().map(|scheme| format!("knowledge/schemes/{}.yaml", scheme.scheme)).collect();
    let names: BTreeSet<String> = files("knowledge/schemes").into_iter().map(|(name, _)| name).collect();
    assert_eq!(schemes, names);
}

/// What stands between backticks in DEVELOPERS.md, and what its table of the house says.
#[test]
fn the_map_names_what_is_there() {
    let map = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    // Diagrams are between fences, and draw rather than name.
    let prose: String = map.split("```").step_by(2).collect();
    let quoted: Vec<&str> = prose.split('`').skip(1).step_by(2).collect();
    let tops = ["src/", "tests/", "knowledge/", "examples/", ".ci/"];
    let named: Vec<&str> = quoted
        .iter()
        .flat_map(|text| text.split_whitespace())
        .filter(|word| tops.iter().any(|top| word.starts_with(top)))
        .collect();
    assert!(named.len() >= 40, "{named:?}");
    for path in &named {
        assert!(root().join(path).exists(), "{path} is in the map and not in the house");
    }
    for room in ROOMS {
        assert!(map.contains(&format!("\n| `src/{room}/` | ")), "{room} has no row");
    }
    let tests = files("tests").into_iter().map(|(name, _)| name);
    for test in tests.filter(|name| {
        name.ends_with(".rs") && (name.matches('/').count() == 1 || name.ends_with("/main.rs"))
    }) {
        assert!(named.contains(&test.as_str()), "{test} holds nothing that the map says");
    }
}

/// Every crate has its reason in DEVELOPERS.md, and every reason is for a crate that is there.
#[test]
fn every_dependency_has_a_reason() {
    let map = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let reasons = map.split_once("## Dependencies").unwrap().1.split_once("\n## ").unwrap().0;
    let rows = reasons.lines().filter_map(|line| line.strip_prefix("| ")?.split_once(" |"));
    let shipped: BTreeSet<&str> = rows
        .map(|(names, _)| names)
        .filter(|names| !["crate", "---"].contains(names))
        .flat_map(|names| names.split(", "))
        .collect();
    assert_eq!(
        shipped,
        named_in_manifest(|section| section.ends_with("dependencies]") && !section.contains("dev-"))
    );
    let for_tests = reasons.split_once("\nFor tests: ").unwrap().1.split_once(".\n").unwrap().0;
    let for_tests: BTreeSet<&str> = for_tests.split([',', ';', '(']).map(str::trim).collect();
    let tests = named_in_manifest(|section| section == "[dev-dependencies]");
    assert!(tests.is_subset(&for_tests), "{tests:?} and {for_tests:?}");
}

/// The crates of some sections of the manifest.
fn named_in_manifest(section: impl Fn(&str) -> bool) -> BTreeSet<&'static str> {
    let (mut inside, mut names) = (false, BTreeSet::new());
    for line in include_str!("../Cargo.toml").lines() {
        if line.starts_with('[') {
            inside = section(line);
        } else if inside && let Some((name, _)) = line.split_once(" = ") {
            names.insert(name.trim_start_matches("# "));
        }
    }
    assert!(!names.is_empty());
    names
}

/// What the compiler holds for every part of the project: no part says otherwise, and no lint is let go without a reason.
#[test]
fn nothing_is_unsafe() {
    let manifest = include_str!("../Cargo.toml");
    assert!(manifest.contains("\n[lints.rust]\nunsafe_code = \"forbid\"\n"));
    for top in ["src/lib.rs", "src/main.rs"] {
        let text = std::fs::read_to_string(root().join(top)).unwrap();
        assert!(text.contains("\n#![forbid(unsafe_code)]\n"), "{top}");
    }
}

/// The release of the compiler that is asked for is the same wherever it is said, and no crate that lath is built with asks for
/// a newer one.
#[test]
fn the_oldest_compiler_is_old_enough() {
    let manifest = include_str!("../Cargo.toml");
    let oldest = manifest.split_once("\nrust-version = \"").unwrap().1.split_once('"').unwrap().0;
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    assert!(readme.contains(&format!("Rust toolchain ({oldest} or later)")));
    let output = std::process::Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", HOST])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let release = |text: &str| text.split('.').map(|part| part.parse().unwrap()).collect::<Vec<u32>>();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 100);
    for package in packages {
        let Some(asked) = package["rust_version"].as_str() else { continue };
        assert!(release(asked)[..2] <= release(oldest)[..2], "{} asks for {asked}", package["name"]);
    }
}

/// The system this runs on, of those that people are told of; what is built for another need not be here.
const HOST: &str = match (cfg!(target_os = "linux"), cfg!(target_os = "macos"), cfg!(target_arch = "aarch64"))
{
    (true, _, false) => "x86_64-unknown-linux-gnu",
    (true, _, true) => "aarch64-unknown-linux-gnu",
    (_, true, false) => "x86_64-apple-darwin",
    (_, true, true) => "aarch64-apple-darwin",
    _ => "x86_64-pc-windows-msvc",
};

/// The rules above see what they are for, however it is written; a rule that sees nothing holds nothing.
#[test]
fn the_rules_see_what_they_forbid() {
    for wrong in [
        "use crate::show::text;",
        "use crate::{house::House, show};",
        "use crate::{\n    house,\n    verdict::{self, Verdict},\n};",
        "fn f() -> crate::files::Loaded {}",
        "use super::super::cli;",
        "type A = Vec<lath::weigh::Posterior>;",
        "fn f() { let a = '\"'; } use crate::show; // \"",
    ] {
        assert!(!upward("src/house/survey.rs", wrong).is_empty(), "{wrong}");
    }
    assert_eq!(upward("src/circuit/mod.rs", "use crate::house::House;").len(), 1);
    for right in [
        "use crate::house::House; use super::place; use self::inner::A;",
        "// use crate::show;\n/* crate::show */ const A: &str = \"crate::show\"; const B: &str = r#\"crate::show\"#;",
        "#[cfg(test)]\nmod tests { use crate::show; fn f() { {} } }",
        "use crate::house; #[cfg(test)] use crate::show;",
    ] {
        assert_eq!(upward("src/house/survey.rs", right), Vec::<String>::new());
    }
    for wrong in [
        "use std::fs;",
        "use std::{fmt, io};",
        "fn f() { std::env::var(\"A\"); }",
        "use clap::Parser;",
        "fn f() { println!(\"\"); }",
        "use std::{collections::BTreeMap, time::Instant};",
    ] {
        assert!(!impure("src/weigh/mod.rs", wrong).is_empty(), "{wrong}");
    }
    assert_none(&impure("src/weigh/mod.rs", "use std::fmt; fn f() { reprintln(); } // std::fs"));
    for wrong in
        ["fn f() { todo!() }", "fn f() { a.unwrap(); }", "fn f() {\n a\n .expect(\"\"); }", "// FIXME"]
    {
        assert_eq!(unfinished("src/weigh/mod.rs", wrong).len(), 1, "{wrong}");
    }
    assert_none(&unfinished("src/weigh/mod.rs", "fn f() { a.unwrap_or(1); expect(2); }"));
}
