//! The rules of the house that a compiler does not know: who may import whom, what stays pure, what is named where.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use std::path::{Path, PathBuf};

/// Each room with the rooms it may import.
const ROOMS: [(&str, &[&str]); 11] = [
    ("house", &[]),
    ("call", &["house"]),
    ("knowledge", &["house", "call"]),
    ("wiring", &["house", "call", "knowledge"]),
    ("circuit", &[]),
    ("predict", &["house", "call", "knowledge", "wiring", "circuit"]),
    ("weigh", &["house", "call", "knowledge", "wiring", "circuit", "predict"]),
    ("verdict", &["house", "call", "knowledge", "wiring", "circuit", "predict", "weigh"]),
    ("show", &["house", "call", "knowledge", "wiring", "circuit", "predict", "weigh", "verdict"]),
    ("files", &["house", "call", "knowledge", "wiring", "circuit", "predict", "weigh", "verdict", "show"]),
    (
        "cli",
        &["house", "call", "knowledge", "wiring", "circuit", "predict", "weigh", "verdict", "show", "files"],
    ),
];

fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, into: &mut Vec<PathBuf>) {
        let mut entries: Vec<PathBuf> =
            std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                walk(&path, into);
            } else {
                into.push(path);
            }
        }
    }
    let mut paths = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut paths);
    paths.into_iter().map(|path| (path.clone(), std::fs::read_to_string(path).unwrap())).collect()
}

/// Lines of code: no comments, and nothing from the file's tests on.
fn code(text: &str) -> impl Iterator<Item = &str> {
    let lines = text.lines().take_while(|line| !line.contains("#[cfg(test)]"));
    lines.map(|line| line.split("//").next().unwrap_or_default())
}

#[test]
fn rooms_import_one_way() {
    let mut wrong = Vec::new();
    for (room, may) in ROOMS {
        for (path, text) in sources(&format!("src/{room}")) {
            for line in code(&text) {
                for (other, _) in ROOMS.iter().filter(|(other, _)| *other != room && !may.contains(other)) {
                    let named = [format!("crate::{other}::"), format!("crate::{other};")];
                    if named.iter().any(|name| line.contains(name.as_str())) {
                        wrong.push(format!("{}: {line}", path.display()));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn pure_rooms_touch_nothing_outside() {
    let barred =
        ["std::fs", "std::io", "std::env", "std::net", "std::process", "std::time", "println!", "eprintln!"];
    let mut wrong = Vec::new();
    for (room, _) in ROOMS.iter().filter(|(room, _)| !["files", "cli"].contains(room)) {
        for (path, text) in sources(&format!("src/{room}")) {
            let hits = code(&text).filter(|line| barred.iter().any(|barred| line.contains(barred)));
            wrong.extend(hits.map(|line| format!("{}: {line}", path.display())));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn fenced_crates_are_named_in_one_place() {
    for (name, place) in [
        ("serde_yaml", "src/files/yaml.rs"),
        ("owo_colors", "src/show/palette.rs"),
        ("tempfile", "src/files/save.rs"),
    ] {
        let all = sources("src");
        let naming = all.iter().filter(|(_, text)| code(text).any(|line| line.contains(name)));
        let paths: Vec<&PathBuf> = naming.map(|(path, _)| path).collect();
        assert!(matches!(&paths[..], [path] if path.ends_with(place)), "{name}: {paths:?}");
    }
}

#[test]
fn main_only_dispatches_and_nothing_is_left_half_done() {
    let (_, main) = sources("src").into_iter().find(|(path, _)| path.ends_with("main.rs")).unwrap();
    assert!(main.lines().count() <= 40);
    let words = ["todo!(", "unimplemented!(", "dbg!(", "FIXME", ".unwrap()", ".expect(", "HashMap::new"];
    for (path, text) in sources("src") {
        for line in code(&text) {
            let found = words.iter().find(|word| line.contains(**word));
            assert!(found.is_none(), "{}: {line}", path.display());
        }
    }
}

/// Every pack under knowledge/ is compiled in.
#[test]
fn no_pack_is_forgotten() {
    let texts: String = sources("src").into_iter().map(|(_, text)| text).collect();
    for (path, _) in sources("knowledge") {
        let name = path.strip_prefix(env!("CARGO_MANIFEST_DIR")).unwrap().to_string_lossy().into_owned();
        assert!(texts.contains(&format!("{name}\")")), "{name} is not compiled in");
    }
}
