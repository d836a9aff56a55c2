//! The program itself, ended after every answer in one of the ways there are, and started again.

use super::desk::Desk;
use super::hand::{Hand, now, proving};
use super::{MOST, opening};
use lath::call::job::items;
use lath::files::{self, packs};
use lath::practice::{Features, Scheme, Slips, Teller, draw};
use lath::verdict::SETTLED;
use lath::walk::{Engine, Stage, Walk};
use lath::wiring::Options;
use std::process::Command;

/// How the program ends.
#[derive(Clone, Copy, Debug)]
pub enum End {
    /// As nothing can be caught.
    Killed,
    /// Ctrl-C.
    Interrupted,
    /// The window is closed.
    HungUp,
    /// With the word for it.
    Stopped,
}

pub const ENDS: [End; 4] = [End::Killed, End::Interrupted, End::HungUp, End::Stopped];

/// Ends it, and holds that the terminal is as it was.
pub fn end(desk: &mut Desk, how: End) {
    match how {
        End::Killed => desk.kill(),
        End::Interrupted => desk.type_raw(b"\x03"),
        End::HungUp => {
            let id = desk.child.process_id().unwrap().to_string();
            assert!(Command::new("kill").args(["-HUP", &id]).status().unwrap().success());
        }
        End::Stopped => desk.type_line("stop"),
    }
    if !matches!(how, End::Killed) {
        desk.wait("Stopped.");
        assert_eq!(desk.status(), 130, "{how:?}");
    }
    assert!(desk.is_sane(), "{how:?}");
}

/// Another word at the same question, or the answer taken back: nothing of it is left.
fn aside(desk: &mut Desk, walk: &mut Walk<Engine>, answer: &str, count: usize) {
    let words: &[&str] = match count % 6 {
        0 => &["why"],
        1 => &["state"],
        2 => &["help"],
        3 => &["own", ""],
        4 => &["change", ""],
        _ => &[answer, "undo"],
    };
    for word in words {
        desk.type_line(word);
        desk.next_question();
        walk.answer(word, &now());
    }
}

/// A whole call in a drawn house, at a pseudo-terminal, ended after every answer but those that prove a box dead: a proof
/// lapses with the walk. What to type is worked out from the file alone, as it was left; half the time something else is said
/// first.
#[test]
fn a_call_that_ends_after_every_answer_is_the_call_that_did_not() {
    let knowledge = packs::embedded().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("call.yaml");
    let mut building = draw(1, &Features::bare(Scheme::Conventional));
    building.outlets.iter_mut().for_each(|outlet| outlet.opened = true);
    let truth = building.survey();
    let mut teller = Teller::new(&building, Slips::none());
    let mut hand = Hand::new(&truth, move |question| teller.ask(question).unwrap());
    let mut begin = opening(&truth).into_iter();
    let engine = || Engine::new(&knowledge, Options::default());
    let read = || Walk::resume(files::load(&path).unwrap().job, engine()).unwrap();

    let (mut kills, mut answers) = (0, 0);
    let mut desk = Desk::at(&path, &[]);
    desk.wait("Answer:");
    let mut walk = read();
    while walk.place().stage != Stage::Done {
        answers += 1;
        assert!(answers < MOST);
        let answer = begin.next().unwrap_or_else(|| hand.answer(&walk));
        let proves = proving(&walk.screen());
        // A proof that is taken back is none, and before there is a box there is nothing to read at.
        if answers % 2 == 0 && !proves && !items(&walk.job().boxes).is_empty() {
            aside(&mut desk, &mut walk, &answer, answers / 2);
        }
        let turn = walk.answer(&answer, &now());
        assert!(turn.changed, "{answer:?} at {:?}: {:?}", walk.screen(), turn.says);
        desk.type_line(&answer);
        desk.next_question();
        let left = files::load(&path).unwrap().job;
        assert_eq!(
            (&left.boxes, &left.readings),
            (&walk.job().boxes, &walk.job().readings),
            "after {answer:?}"
        );
        if !proves && walk.place().stage != Stage::Done {
            end(&mut desk, ENDS[kills % ENDS.len()]);
            desk = Desk::at(&path, &[]);
            desk.wait("Going on with");
            desk.wait("Answer:");
            walk = read();
            kills += 1;
        }
    }
    println!("ended {kills} times in {answers} answers");
    assert!(kills > 30);
    let wires = &walk.advice().unwrap().verdict.wires;
    assert!(
        wires.iter().all(|wire| wire.p < SETTLED || building.truth().wires[&wire.wire].role == wire.role)
    );
    assert!(items(&walk.job().done).iter().any(|said| said.contains("line to neutral")));
    desk.type_line("");
    assert_eq!(desk.status(), 0);
}
