//! The note as a PDF, read by poppler: `pdftotext`, `pdffonts` and `pdfinfo` say what another program finds in the file.

use crate::fixture::{self, HOSTILE};
use crate::html::{document, documents};
use lath::house::{BoxKind, DeviceKind, House, Reach, WireId};
use lath::show::note::pdf::{Paper, file};
use lath::show::note::{Block, Document, Reader};
use lath::show::picture::{self, Shape};
use lath::show::tags;
use lath::verdict::State;
use portable_pty::{CommandBuilder, NativePtySystem, PtySize, PtySystem};
use std::io::Read;
use std::process::Command;

/// Whether poppler is there. In CI it must be.
#[expect(clippy::print_stderr, reason = "says what was not checked")]
fn poppler() -> bool {
    if Command::new("pdftotext").arg("-v").output().is_ok() {
        return true;
    }
    assert!(std::env::var_os("CI").is_none(), "in CI poppler must be there");
    eprintln!("no poppler: what the PDF says was not read by another program");
    false
}

fn bytes(document: &Document, paper: Paper) -> Vec<u8> {
    file(document, paper).unwrap_or_else(|error| panic!("{error}"))
}

/// Everything that goes on paper: notes, and sheets of tags.
fn papers() -> Vec<(String, Document)> {
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let (call, verdict, _) = fixture::hostile();
    let jobs =
        [("hostile", (call, verdict)), ("settled", fixture::settled()), ("unsettled", fixture::unsettled())];
    let mut papers = documents();
    papers.extend(jobs.map(|(name, (call, verdict))| {
        let sheet = tags::sheet(Some(HOSTILE), &call.house, &verdict, &knowledge.cautions);
        (format!("tags, {name}"), sheet)
    }));
    papers
}

/// What a program of poppler says of a file, nothing of it an error.
fn asked(program: &str, options: &[&str], pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("note.pdf");
    std::fs::write(&path, pdf).expect("a file");
    let to_stdout: &[&str] = if program == "pdftotext" { &["-"] } else { &[] };
    let output =
        Command::new(program).args(options).arg(&path).args(to_stdout).output().expect("poppler runs");
    let complaints = String::from_utf8_lossy(&output.stderr);
    // Older poppler reads the `Suspects` of ISO 32000-1, 14.7.1, which is a boolean, for something else.
    let wrong: Vec<&str> = complaints.lines().filter(|line| !line.contains("Suspects")).collect();
    assert!(output.status.success() && wrong.is_empty(), "{program}: {wrong:?}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// The letters of a text: where lines and words end is the form's.
fn letters(text: &str) -> String {
    // Poppler sets the direction of each word of a script written leftward with marks of its own (UAX #9).
    let direction = ['\u{200e}', '\u{200f}', '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}'];
    text.chars().filter(|letter| !letter.is_whitespace() && !direction.contains(letter)).collect()
}

/// Everything that a document says, in reading order, and whether it is in the diagram.
fn said(document: &Document) -> Vec<(bool, String)> {
    let mut all: Vec<(bool, String)> = Vec::new();
    let mut say = |text: &str| all.push((false, letters(text)));
    let mut drawn: Vec<(bool, String)> = Vec::new();
    for block in document.blocks() {
        match block {
            Block::Heading { text, .. } | Block::Paragraph(text) => say(text),
            Block::List { items, .. } => items.iter().for_each(|item| say(item)),
            Block::Fields(fields) => fields.iter().for_each(|(label, text)| {
                say(label);
                say(text);
            }),
            Block::Finding(found) => {
                say(&found.title);
                for (label, text) in &found.says {
                    say(label);
                    say(text);
                }
            }
            Block::Table { title, head, rows } => {
                say(title);
                head.iter().chain(rows.iter().flatten()).for_each(|cell| say(cell));
            }
            Block::Picture { picture, .. } => {
                drawn.extend(picture.shapes.iter().filter_map(|shape| match shape {
                    Shape::Text { text, .. } => Some((true, letters(text))),
                    _ => None,
                }));
            }
            Block::NewPage => {}
        }
    }
    all.extend(drawn);
    all
}

/// The pages' text in the order of the file, without the foot of each; the foot is as it should be.
fn read(pdf: &[u8], name: &str) -> Vec<String> {
    let text = asked("pdftotext", &["-raw"], pdf);
    let pages: Vec<&str> = text.trim_end_matches('\u{c}').split('\u{c}').collect();
    let many = pages.len();
    pages
        .into_iter()
        .enumerate()
        .map(|(n, page)| {
            let foot = format!("Page {} of {many}", n + 1);
            let cut =
                page.trim_end().strip_suffix(&foot).unwrap_or_else(|| panic!("{name}: page {n}: {page}"));
            cut.trim_end().rsplit_once('\n').map_or("", |(page, _)| page).to_owned()
        })
        .collect()
}

#[test]
fn another_program_reads_all_that_was_said_in_reading_order() {
    if !poppler() {
        return;
    }
    for (name, document) in papers() {
        let pages = read(&bytes(&document, Paper::Letter), &name);
        let text = letters(&pages.concat());
        let mut at = 0;
        for (_, sentence) in said(&document).iter().filter(|(drawn, _)| !drawn) {
            let found = text[at..].find(sentence.as_str());
            at += found.unwrap_or_else(|| panic!("{name}: not after {at}: {sentence}\n{text}"))
                + sentence.len();
        }
        for (_, label) in said(&document).iter().filter(|(drawn, _)| *drawn) {
            assert!(text.contains(label.as_str()), "{name}: not in the diagram: {label}");
        }
    }
}

#[test]
fn fonts_are_in_the_file_and_the_paper_is_the_one_asked_for() {
    if !poppler() {
        return;
    }
    for (name, document) in papers() {
        for (paper, size) in [(Paper::Letter, "612 x 792 pts (letter)"), (Paper::A4, "(A4)")] {
            let pdf = bytes(&document, paper);
            let fonts = asked("pdffonts", &[], &pdf);
            // Columns from the right: object and its generation, unicode, subset, embedded.
            let rows: Vec<Vec<&str>> =
                fonts.lines().skip(2).map(|line| line.split_whitespace().rev().collect()).collect();
            assert_eq!(rows.len(), 2, "{name}: {fonts}");
            assert!(rows.iter().all(|row| row[2..5] == ["yes", "yes", "yes"]), "{name}: {fonts}");
            let info = asked("pdfinfo", &[], &pdf);
            let line = |what: &str| {
                info.lines()
                    .find_map(|line| line.strip_prefix(what))
                    .unwrap_or_else(|| panic!("{info}"))
                    .trim()
            };
            assert!(line("Page size:").contains(size), "{name}: {info}");
            assert_eq!(line("Tagged:"), "yes");
            assert_eq!(line("JavaScript:"), "no");
            assert_eq!(line("Encrypted:"), "no");
            assert!(
                ["Found conditions", "Tags"].iter().any(|title| line("Title:").starts_with(title)),
                "{info}"
            );
            assert!(!info.contains("CreationDate") && !info.contains("ModDate"), "{info}");
        }
    }
}

/// A file without what is in its streams, which are compressed and hold any bytes.
fn objects(pdf: &[u8]) -> String {
    let text = String::from_utf8_lossy(pdf);
    let parts =
        text.split("endstream").map(|part| part.split_once("stream").map_or(part, |(objects, _)| objects));
    parts.collect()
}

/// Names of what acts, opens or fetches (ISO 32000-1, 12.6).
#[test]
fn nothing_in_the_file_acts_and_it_is_the_same_twice() {
    for (name, document) in papers() {
        let pdf = bytes(&document, Paper::Letter);
        assert!(pdf.starts_with(b"%PDF-"));
        for word in
            ["/JavaScript", "/JS", "/URI", "/Launch", "/AA", "/OpenAction", "/SubmitForm", "/EmbeddedFile"]
        {
            // A whole name: the one of a font may begin in any way.
            let there =
                objects(&pdf).split(word).skip(1).any(|rest| !rest.starts_with(char::is_alphanumeric));
            assert!(!there, "{name}: {word}");
        }
        assert_eq!(pdf, bytes(&document, Paper::Letter), "{name}");
    }
}

#[test]
fn long_words_and_other_scripts_stay_text() {
    let (call, verdict, mut header) = fixture::hostile();
    let hebrew = "שלום עולם";
    header.complaint = Some(HOSTILE.repeat(10_000 / HOSTILE.len() + 1));
    header.customer = Some(hebrew.into());
    header.site = Some("مرحبا".into());
    header.done = vec!["x".repeat(10_000), "日本語".repeat(3_400)];
    let document = document(&header, &call, &verdict, Reader::Customer);
    let pdf = bytes(&document, Paper::A4);
    if !poppler() {
        return;
    }
    let text = letters(&read(&pdf, "long").concat());
    assert!(text.contains(&"x".repeat(10_000)));
    // Drawn from left to right its letters are in reverse; whoever reads the page gets them as they were written.
    let as_read = letters(&asked("pdftotext", &["-l", "1"], &pdf));
    assert!(as_read.contains(&letters(hebrew)), "{as_read}");
    assert!(text.matches("desrever").count() > 10);
    // No font here has these letters: a box is seen for each, and whoever copies it gets the letter.
    assert_eq!(text.matches('語').count(), 3_400);
    assert!(text.contains("مرحبا"), "{text}");
}

/// A row of a table, a heading and what it is over are on one page; the record begins one.
#[test]
fn pages_break_where_they_may() {
    if !poppler() {
        return;
    }
    for (name, document) in documents() {
        let pages = read(&bytes(&document, Paper::Letter), &name);
        let pages: Vec<String> = pages.iter().map(|page| letters(page)).collect();
        assert_eq!(pages.iter().filter(|page| page.starts_with("Therecord")).count(), 1, "{name}");
        for block in document.blocks() {
            match block {
                Block::Table { head, rows, .. } => {
                    let head = letters(&head.concat());
                    for row in rows {
                        let row = letters(&row.concat());
                        assert!(pages.iter().any(|page| page.contains(&row)), "{name}: cut: {row}");
                        let with = pages.iter().filter(|page| page.contains(&row));
                        assert!(with.clone().any(|page| page.contains(&head)), "{name}: no head: {row}");
                    }
                }
                Block::Heading { text, .. } => {
                    let heading = letters(text);
                    assert!(
                        !pages.iter().any(|page| page.ends_with(&heading)),
                        "{name}: at the foot: {text}"
                    );
                }
                _ => {}
            }
        }
    }
}

#[test]
fn a_file_goes_down_a_pipe_and_never_to_a_terminal() {
    let job = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/open-ring.yaml");
    let arguments = ["note", job, "--format", "pdf", "--paper", "a4"];
    let output = Command::new(env!("CARGO_BIN_EXE_lath")).args(arguments).output().expect("lath runs");
    assert!(output.status.success() && output.stderr.is_empty());
    assert!(output.stdout.starts_with(b"%PDF-") && output.stdout.trim_ascii_end().ends_with(b"%%EOF"));

    let pty = NativePtySystem::default().openpty(PtySize::default()).expect("a terminal");
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_lath"));
    command.args(arguments);
    let mut reader = pty.master.try_clone_reader().expect("what it shows");
    let mut child = pty.slave.spawn_command(command).expect("lath runs");
    drop(pty.slave);
    let mut shown = Vec::new();
    // A terminal that nobody holds any more ends in an error on some systems.
    let _ = reader.read_to_end(&mut shown);
    assert_eq!(child.wait().expect("it ends").exit_code(), 2);
    let shown = String::from_utf8_lossy(&shown);
    assert!(shown.contains("> note.pdf") && !shown.contains("%PDF"), "{shown}");
}

#[test]
fn the_sheet_of_tags_has_every_wire_and_is_no_firmer_than_the_verdict() {
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    for (call, verdict) in [fixture::settled(), fixture::unsettled()] {
        let house = &call.house;
        let sheet = tags::sheet(None, house, &verdict, &knowledge.cautions);
        let rows: Vec<&Vec<String>> = sheet
            .blocks()
            .iter()
            .flat_map(|block| match block {
                Block::Table { rows, .. } => rows.iter().collect(),
                _ => Vec::new(),
            })
            .collect();
        let opened = |wire: &WireId| house.outlet(house.end(wire.end).at).opened;
        let opened: Vec<WireId> = house.wires().filter(opened).collect();
        assert_eq!(rows.len(), opened.len());
        for wire in opened {
            let found = verdict.wires.iter().find(|found| fixture::wire(house, &found.wire) == wire);
            let tag = tags::wire_tag(house, &verdict, wire);
            assert!(rows.iter().any(|row| row[1] == tag), "{tag}");
            // Settled is 99 % or more: what the README says.
            assert_eq!(tag.starts_with("CHECK"), found.is_none_or(|found| found.p < 0.99), "{tag}");
        }
        let warned = sheet
            .blocks()
            .iter()
            .any(|block| matches!(block, Block::Paragraph(text) if text.contains("not to be relied on")));
        assert_eq!(warned, verdict.state != lath::verdict::State::Settled);
    }
}

/// Boxes in a row, each with tags and wires of its own name, and many of them.
fn long_row(many: usize) -> House {
    let mut builder = fixture::Builder::new();
    for n in 0..many {
        let at = builder.outlet(&format!("place{n}"), BoxKind::Switch, true, Reach::Stand);
        for side in ["in", "out"] {
            builder.cable(at, &format!("{side}{n}"), &["black", "red", "white"]);
        }
        builder.device(at, "switch", DeviceKind::ThreeWay, true);
    }
    builder.house
}

#[test]
fn what_no_page_holds_is_cut_between_boxes_and_between_lines_and_nothing_is_lost() {
    let many = 16;
    let house = long_row(many);
    let picture = picture::picture(&house, &fixture::blank_verdict(State::Open));
    let words: Vec<String> = (0..2_000).map(|n| format!("word{n}")).collect();
    let mut document = Document::default();
    document.heading(1, "Found conditions: more than a page");
    document.picture(picture.clone(), "");
    document.table("Long", &["Name", "Words"], &[vec!["row".into(), words.join(" ")]]);
    for paper in [Paper::Letter, Paper::A4] {
        let pdf = bytes(&document, paper);
        if !poppler() {
            return;
        }
        let pages = read(&pdf, "long");
        let text = letters(&pages.concat());
        let all = pages.join("\n");
        let written: Vec<&str> = all.split_whitespace().filter(|word| word.starts_with("word")).collect();
        assert_eq!(written, words, "a row higher than a page goes on");
        let labels = picture.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { text, .. } => Some(letters(text)),
            _ => None,
        });
        labels.for_each(|label| assert!(text.contains(&label), "{label}"));
        // A box is on one page with all that is in it.
        for n in 0..many {
            let on =
                pages.iter().find(|page| page.split_whitespace().any(|word| word == format!("Place{n}")));
            let on = on.unwrap_or_else(|| panic!("place {n}: {pages:?}"));
            for wire in ["in", "out"].map(|side| format!("{side}{n}.white")) {
                assert!(on.split_whitespace().any(|word| word == wire), "{wire}: {on}");
            }
        }
        let (width, height) = paper.size();
        for word in asked("pdftotext", &["-bbox"], &pdf).lines().filter(|line| line.contains("<word ")) {
            let edge = |name: &str| -> f64 {
                let (_, rest) = word.split_once(&format!("{name}=\"")).expect("an edge");
                rest.split('"').next().and_then(|number| number.parse().ok()).expect("a number")
            };
            assert!(edge("xMin") > 20.0 && edge("xMax") < width - 20.0, "{word}");
            assert!(edge("yMin") > 20.0 && edge("yMax") < height - 10.0, "{word}");
        }
    }
}

/// Nobody climbs the stairs twice: floor by floor, as they were come to.
#[test]
fn tags_are_in_the_order_in_which_one_walks() {
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let mut house = long_row(4);
    for (outlet, floor) in house.boxes.iter_mut().zip([2, 1, 2, 1]) {
        outlet.floor = floor;
    }
    let verdict = fixture::blank_verdict(State::Open);
    let sheet = tags::sheet(None, &house, &verdict, &knowledge.cautions);
    let names: Vec<&str> = sheet
        .blocks()
        .iter()
        .filter_map(|block| match block {
            Block::Heading { level: 2, text } => text.split_whitespace().next(),
            _ => None,
        })
        .collect();
    assert_eq!(names, ["place0", "place2", "place1", "place3"]);
    let text = tags::text(&house, &verdict, &knowledge.cautions, &lath::show::Style::of_width(80));
    let at: Vec<usize> = names.iter().map(|name| text.find(name).expect("a box")).collect();
    assert!(at.is_sorted(), "{text}");
}
