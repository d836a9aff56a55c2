//! The program itself, killed after every answer and started again.

use super::desk::Desk;
use super::hand::{Hand, now, proving};
use super::{MOST, opening};
use lath::call::job::items;
use lath::files::{self, packs};
use lath::practice::{Features, Scheme, Slips, Teller, draw};
use lath::verdict::SETTLED;
use lath::walk::{Engine, Stage, Walk};
use lath::wiring::Options;

/// A whole call in a drawn house, at a pseudo-terminal, with `kill -9` after every answer but those that prove a box dead: a
/// proof lapses with the walk. What to type is worked out from the file alone, as it was left.
#[test]
fn a_call_that_is_killed_after_every_answer_is_the_call_that_was_not() {
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
        if !proves {
            desk.kill();
            assert!(desk.is_sane(), "after {answer:?}");
            desk = Desk::at(&path, &[]);
            desk.wait("Going on with");
            desk.wait("Answer:");
            walk = read();
            kills += 1;
        }
    }
    println!("killed {kills} times in {answers} answers");
    assert!(kills > 30);
    let wires = &walk.advice().unwrap().verdict.wires;
    assert!(
        wires.iter().all(|wire| wire.p < SETTLED || building.truth().wires[&wire.wire].role == wire.role)
    );
    assert!(items(&walk.job().done).iter().any(|said| said.contains("line to neutral")));
    desk.type_line("");
    assert_eq!(desk.status(), 0);
}
