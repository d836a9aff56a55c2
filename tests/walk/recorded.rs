//! The walk in the README: a call in a drawn house, as the program shows it.

use super::hand::{Hand, now};
use super::{MOST, opening};
use lath::call::job::Job;
use lath::files::packs;
use lath::practice::{Features, Scheme, Slips, Teller, draw};
use lath::walk::{Engine, Stage, Walk};
use lath::wiring::Options;
use std::path::Path;
use std::process::Command;

/// The house that is recorded.
const SEED: u64 = 2;

/// Stands in the README where something is left out.
const LEFT_OUT: &str = "[...]\n";

/// How the block in the README begins.
const BEGINS: &str = "```console\n$ lath walk stair.yaml\n";

/// What somebody types who knows the house, from the first question to the last.
fn answers() -> Vec<String> {
    let knowledge = packs::embedded().unwrap();
    let mut building = draw(SEED, &Features::bare(Scheme::Conventional));
    building.outlets.iter_mut().for_each(|outlet| outlet.opened = true);
    let truth = building.survey();
    let mut teller = Teller::new(&building, Slips::none());
    let mut hand = Hand::new(&truth, move |question| teller.ask(question).unwrap());
    let mut walk = Walk::resume(Job::default(), Engine::new(&knowledge, Options::default())).unwrap();
    let mut typed = Vec::new();
    let mut begin = opening(&truth).into_iter();
    while walk.place().stage != Stage::Done {
        let answer = begin.next().unwrap_or_else(|| hand.answer(&walk));
        let turn = walk.answer(&answer, &now());
        assert!(turn.changed && typed.len() < MOST, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
        typed.push(answer);
    }
    typed.push(String::new());
    typed
}

/// What the program shows for these answers.
fn shown(answers: &[String]) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("answers.txt"), answers.join("\n") + "\n").unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_lath"))
        .args(["walk", "stair.yaml", "--answers", "answers.txt"])
        .current_dir(folder.path())
        .env_clear()
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The parts worth reading: the beginning, the first box with the readings after it, the end of the question, the first of
/// the checks after it.
fn excerpt(screen: &str) -> String {
    let at = |text: &str, from: usize| from + screen[from..].find(text).unwrap();
    let line_after = |at: usize| at + screen[at..].find('\n').unwrap() + 1;
    let begun = at("\n\nWhere, and for whom?", 0) + 1;
    let box_from = at("OPEN ", begun);
    let box_to = at("\n\n", at("\nReading ", box_from)) + 1;
    let end_from = at("SETTLED\n", box_to);
    let end_to = line_after(at("Answer:", end_from));
    let back_from = at("RETURN TO SERVICE\n", end_to);
    let back_to = line_after(at("Answer:", back_from));
    let parts = [0..begun, box_from..box_to, end_from..end_to, back_from..back_to];
    parts.map(|part| screen[part].to_owned()).join(LEFT_OUT) + LEFT_OUT
}

#[test]
fn the_walk_in_the_readme_is_what_the_program_shows() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let shown = excerpt(&shown(&answers()));
    let (before, rest) = readme.split_once(BEGINS).unwrap();
    let (block, after) = rest.split_once("```\n").unwrap();
    if std::env::var_os("LATH_WRITE_REFERENCE").is_some() {
        std::fs::write(&path, format!("{before}{BEGINS}{shown}```\n{after}")).unwrap();
    } else {
        assert_eq!(block, shown, "LATH_WRITE_REFERENCE=1 cargo test --test walk recorded writes it anew");
    }
}
