//! Verdicts as text: what must be in it, and what must hold of every page whatever is on it.

#![expect(clippy::expect_used, clippy::panic, reason = "a test's helpers fail the test")]

#[path = "show/fixture.rs"]
mod fixture;

use fixture::HOSTILE;
use lath::call::Call;
use lath::files::yaml;
use lath::knowledge::{Caution, Cautions};
use lath::show::note::{self, Block, Document, Header, Note, Reader, markdown, terminal};
use lath::show::text::{percent, sanitize};
use lath::show::{Palette, Style, draw, readings, tags, verdict};
use lath::verdict::Verdict;
use proptest::prelude::*;
use pulldown_cmark::{Event, Options, Parser, Tag};
use unicode_width::UnicodeWidthStr;

fn cautions() -> Cautions {
    yaml::pack(Cautions::NAME, Cautions::TEXT).expect("the pack reads")
}

fn cases() -> Vec<(&'static str, Call, Verdict, Header)> {
    let of = |name, (call, verdict)| (name, call, verdict, fixture::header());
    let (call, verdict, header) = fixture::hostile();
    vec![
        of("settled", fixture::settled()),
        of("unsettled", fixture::unsettled()),
        of("refused", fixture::refused()),
        of("contradiction", fixture::contradiction()),
        ("hostile", call, verdict, header),
    ]
}

/// The note as a document.
fn note_of(header: &Header, call: &Call, verdict: &Verdict, reader: Reader, style: &Style) -> Document {
    let pack = lath::files::conditions::embedded().expect("the packs read");
    let cautions = cautions();
    note::document(&Note { header, call, verdict, cautions: &cautions, pack: &pack, reader }, style)
}

/// Every page made of a case.
fn pages(call: &Call, v: &Verdict, header: &Header, style: &Style) -> Vec<(&'static str, String)> {
    let cautions = cautions();
    let of = |reader| terminal::text(&note_of(header, call, v, reader, style), style);
    vec![
        ("verdict", verdict::text(call, v, &cautions, style)),
        ("tags", tags::text(&call.house, v, &cautions, style)),
        ("draw", draw::text(&call.house, v, style)),
        ("note", of(Reader::Customer)),
        ("note for a technician", of(Reader::Technician)),
    ]
}

fn style(width: usize, plain: bool) -> Style {
    Style { width, plain, palette: Palette::PLAIN }
}

/// A page on which every paragraph is one line.
fn wide() -> Style {
    style(4000, false)
}

fn verdict_page(case: &(Call, Verdict), style: &Style) -> String {
    verdict::text(&case.0, &case.1, &cautions(), style)
}

fn note_page(case: &(Call, Verdict)) -> String {
    terminal::text(&note_of(&fixture::header(), &case.0, &case.1, Reader::Customer, &wide()), &wide())
}

/// Takes out terminal colours, and says which were there.
fn strip(text: &str) -> (String, Vec<String>) {
    let mut parts = text.split("\u{1b}[");
    let mut out = parts.next().unwrap_or_default().to_owned();
    let mut codes = Vec::new();
    for part in parts {
        let (code, rest) = part.split_once('m').expect("a colour code ends in m");
        codes.push(code.to_owned());
        out.push_str(rest);
    }
    (out, codes)
}

#[test]
fn no_line_is_wider_than_the_page() {
    for (name, call, v, header) in cases() {
        for (width, plain) in [(80, false), (80, true), (50, false), (50, true), (24, false), (24, true)] {
            for (page, text) in pages(&call, &v, &header, &style(width, plain)) {
                for line in text.lines() {
                    assert!(line.width() <= width, "{name} {page} at {width}: {line:?}");
                }
            }
        }
    }
}

#[test]
fn without_colour_there_is_no_escape_code_and_with_it_the_same_words() {
    for (name, call, v, header) in cases() {
        for plain in [false, true] {
            let bare = style(80, plain);
            let painted = Style { palette: Palette::COLOUR, ..bare };
            let pairs = pages(&call, &v, &header, &bare).into_iter().zip(pages(&call, &v, &header, &painted));
            for ((page, without), (_, with)) in pairs {
                let control = |c: char| c.is_control() && c != '\n';
                assert!(!without.contains(control), "{name} {page}");
                let (stripped, codes) = strip(&with);
                assert_eq!(without, stripped, "{name} {page}");
                assert!(!codes.is_empty(), "{name} {page} is painted");
                // ECMA-48: 30 and 37 are black and white; 90 and 97 are their bright forms in common use.
                for code in codes.iter().flat_map(|c| c.split(';')) {
                    assert!(!["30", "37", "90", "97", "38", "48"].contains(&code), "{name} {page}: {code}");
                }
            }
        }
    }
}

#[test]
fn for_a_screen_reader_there_is_no_drawing() {
    for (name, call, v, header) in cases().into_iter().filter(|(name, ..)| *name != "hostile") {
        for (page, text) in pages(&call, &v, &header, &style(80, true)) {
            let odd = |c: &char| !(c.is_alphanumeric() || " \n.,:;()/'%-&".contains(*c));
            let found: Vec<char> = text.chars().filter(odd).collect();
            assert!(found.is_empty(), "{name} {page}: {found:?}");
        }
        // The same content all the same: every wire and box is there.
        let drawn = draw::text(&call.house, &v, &style(80, true));
        for outlet in &call.house.boxes {
            assert!(drawn.contains(&outlet.name), "{name}: {}", outlet.name);
        }
    }
}

/// Sentences that name a wire by `tag.colour` or `BOX/tag.colour`, or in a table row.
fn sentences(text: &str) -> impl Iterator<Item = &str> {
    text.lines().flat_map(|line| line.split(". "))
}

#[test]
fn an_unproven_neutral_is_never_more_than_should_be() {
    let (call, mut v) = fixture::unsettled();
    let wires = ["a.white", "b.white", "c.white", "the white wire", "white  ", "white:"];
    let check = |v: &Verdict| {
        let mut said = 0;
        for (page, text) in pages(&call, v, &fixture::header(), &wide()) {
            for sentence in sentences(&text) {
                let lower = sentence.to_lowercase();
                // What a white is *not* may be said of it.
                let about = lower.replace("not a neutral", "").replace("splice of neutrals", "");
                if about.contains("neutral") && wires.iter().any(|w| lower.contains(w)) {
                    assert!(lower.contains("should be"), "{page}: {sentence}");
                    said += 1;
                }
            }
        }
        said
    };
    // Five wires, in each of verdict, tags, diagram and record.
    assert!(check(&v) >= 20);
    // Being sure is not being proven.
    v.wires.iter_mut().for_each(|w| w.p = 0.9999);
    assert!(check(&v) >= 20);
}

#[test]
fn a_proven_neutral_is_called_so_and_only_that_one() {
    let (call, mut v) = fixture::unsettled();
    v.wires.iter_mut().for_each(|w| w.p = 0.9999);
    let hall = v.boxes[0].neutral.as_mut().expect("a neutral");
    hall.proven = true;
    hall.wires = fixture::names(&["a.white"]);
    let tagged = tags::text(&call.house, &v, &cautions(), &wide());
    let line_of = |from: &str, name: &str| -> String {
        let at = tagged.find(from).expect("the box");
        tagged[at..].lines().find(|l| l.contains(name)).expect("the wire").to_owned()
    };
    assert!(line_of("hall (", "a.white").contains("NEUTRAL, proven (circuit 7)"));
    for (at, wire) in [("hall (", "b.white"), ("upper landing (", "a.white"), ("upper landing (", "c.white")]
    {
        assert!(line_of(at, wire).contains("should be NEUTRAL, not proven"), "{at} {wire}");
    }
}

#[test]
fn a_ground_is_never_more_than_should_be_and_nothing_is_called_dead() {
    let (call, mut v) = fixture::settled();
    v.wires[0].role = lath::verdict::Role::Ground;
    v.boxes[0].ground = Some(fixture::names(&["b.black"]));
    let mut said = 0;
    for (page, text) in pages(&call, &v, &fixture::header(), &wide()) {
        for sentence in
            sentences(&text).filter(|s| s.contains("b.black") && s.to_lowercase().contains("ground"))
        {
            assert!(sentence.to_lowercase().contains("should be"), "{page}: {sentence}");
            said += 1;
        }
    }
    assert!(said >= 4);
    for case in [fixture::settled(), fixture::unsettled(), fixture::refused()] {
        let page = verdict_page(&case, &wide());
        let findings = page.split("CAUTIONS").next().expect("what comes before the cautions");
        assert!(!findings.to_lowercase().contains("dead"), "{findings}");
    }
}

#[test]
fn the_verdict_says_where_the_question_stands() {
    let settled = verdict_page(&fixture::settled(), &wide());
    assert!(settled.contains("Settled: what every wire is for is answered."));
    assert!(settled.contains("Of 8 wires: 8 settled, 0 likely, 0 open."));
    assert!(settled.contains("4 wirings still fit"));
    let open = verdict_page(&fixture::unsettled(), &wide());
    assert!(open.contains("Not settled yet"));
    assert!(open.contains("38 wirings still fit, in 5 groups"));
    assert!(open.contains("Of 10 wires: 1 settled, 7 likely, 2 open."));
    assert!(open.contains("Reading 2: watch stair ceiling") && open.contains("likely wrong (93%)"));
    assert!(open.contains("Not looked at: wirings that hold up to 0.4% of the weight."));
    let none = verdict_page(&fixture::contradiction(), &wide());
    assert!(none.contains("Contradiction:"));
    assert!(none.contains("CONTRADICTION: Reading 1 and reading 2 cannot both be right"));
    assert!(none.contains("No wiring that was considered fits."));
    // Without roles every wire of the opened boxes is still listed, as not told.
    assert_eq!(none.matches("not told").count(), 8 + 1, "eight wires and the cables");
}

#[test]
fn a_row_has_the_wire_its_role_and_how_firm_it_is() {
    let page = verdict_page(&fixture::unsettled(), &wide());
    let row = |start: &str| -> Vec<String> {
        let line = page.lines().find(|l| l.trim_start().starts_with(start)).expect("a row");
        line.split("  ").map(str::trim).filter(|c| !c.is_empty()).map(str::to_owned).collect()
    };
    assert_eq!(row("a.black"), ["a.black", "line, circuit 7", "likely 93%", "from reading 1"]);
    assert_eq!(
        row("a.red"),
        ["a.red", "perhaps traveler", "open 62%", "else load 30%, else should be neutral 5%; from reading 1"]
    );
    // What is only likely is not told as a fact.
    assert!(page.contains("Likely, and not settled: The feed is at the hall"));
    assert!(page.contains("DEFECT: Likely, two wires are on each other's screws at hall/switch"));
}

#[test]
fn the_landing_plan_is_told_in_steps() {
    let page = verdict_page(&fixture::unsettled(), &wide());
    let steps: Vec<&str> = page
        .split("PUTTING IT BACK")
        .nth(1)
        .expect("the plan")
        .lines()
        .map(str::trim)
        .filter(|l| l.starts_with(|c: char| c.is_ascii_digit()))
        .collect();
    assert_eq!(
        steps,
        [
            "1. Land c.black (likely load) on the screw x1 (likely common) of switch.",
            "2. Land a.black (perhaps traveler) on the screw x2 of switch.",
            "3. Splice a.white and c.white together (likely should be neutral).",
            // A wire that the plan does not name is capped (the documented meaning of a landing).
            "4. Cap a.red by itself: what it is for is not settled, and what it feeds stays off until it is.",
        ]
    );
    assert!(page.contains("Free choice: upper landing/a.black and upper landing/a.red may trade places"));
}

#[test]
fn two_wires_for_one_screw_get_a_tail() {
    let (call, mut v) = fixture::unsettled();
    v.landing = vec![lath::verdict::Landing::Joints {
        at: "hall".into(),
        joints: vec![
            fixture::names(&["a.black", "b.black", "switch.common"]),
            fixture::names(&["a.white", "b.white"]),
        ],
    }];
    let page = verdict_page(&(call, v), &wide());
    assert!(
        page.contains("Splice a.black and b.black and a tail; the tail goes on the common screw of switch.")
    );
    assert!(page.contains("Splice a.white and b.white together (likely should be neutral), as found."));
    assert!(page.contains("Cap b.red by itself: what it is for is not settled"));
}

#[test]
fn a_refused_landing_says_why_and_how_to_leave_it() {
    for (page, text) in {
        let (call, v) = fixture::refused();
        pages(&call, &v, &fixture::header(), &wide())
    } {
        if page == "tags" {
            continue;
        }
        let lower = text.to_lowercase();
        assert!(lower.contains("put back as it was") || lower.contains("put it back as it was"), "{page}");
        assert!(text.contains("The lamp sits between the commons"), "{page}");
    }
    let (call, v) = fixture::refused();
    let page = verdict_page(&(call, v), &wide());
    assert!(page.contains("LEAVE IT SO: Every wire capped by itself, breaker 7 off and tagged."));
    assert!(page.contains(cautions().sentence(Caution::LampBetweenCommons)));
    let settled = verdict_page(&fixture::settled(), &wide());
    assert!(!settled.contains(cautions().sentence(Caution::LampBetweenCommons)));
}

#[test]
fn tags_say_what_to_write_in_the_order_of_the_cables() {
    let (call, v) = fixture::settled();
    let page = tags::text(&call.house, &v, &cautions(), &wide());
    let hall = page.split("hall (switch box)").nth(1).expect("the hall");
    let hall = hall.split("upper landing (").next().expect("the hall alone");
    // The job file has b before a; in the box they hang as a, b.
    assert!(hall.find("cable a:") < hall.find("cable b:"));
    let line = |name: &str| hall.lines().find(|l| l.trim_start().starts_with(name)).expect("a tag").trim();
    assert!(line("a.black").ends_with("LOAD"));
    assert!(line("a.white").ends_with("LINE (circuit 7)"));
    assert!(line("b.red").ends_with("TRAVELER"));
    assert!(line("cable a").ends_with("to stair ceiling"));
    // The white that is line must not be taken for a neutral.
    assert!(hall.contains("CAUTION: b.white, a.white: White here is line"));
    assert!(!page.contains("CHECK"));

    let (call, v) = fixture::unsettled();
    let page = tags::text(&call.house, &v, &cautions(), &wide());
    assert!(page.contains("c.black  CHECK: likely load, 91%"));
    assert!(page.contains("a.black  CHECK: open, perhaps traveler 62%"));
    assert!(page.contains("CHECK: likely to the panel"));
    assert!(page.contains("No tags for boxes that were not opened: stair ceiling."));
    // No tag of something less than settled goes without the word.
    for wire in v.wires.iter().filter(|w| w.p < 0.99) {
        let id = fixture::wire(&call.house, &wire.wire);
        assert!(tags::wire_tag(&call.house, &v, id).starts_with("CHECK"), "{}", wire.wire);
    }
}

#[test]
fn a_reading_is_told_as_one_says_it() {
    let (call, _) = fixture::settled();
    let said = readings::reading(&call.house, &call.readings[0]);
    assert!(
        said.contains("volts a.black to earth, breaker on, hall up, upper landing down, lamp in: 119"),
        "{said}"
    );
    assert!(
        said.starts_with("at hall, ") && said.ends_with("on a low-impedance meter (3000 ohms)"),
        "{said}"
    );
    let said = readings::reading(&call.house, &call.readings[1]);
    assert!(said.contains("not written down: upper landing"), "{said}");
    assert!(said.ends_with(": lit, as the customer says"), "{said}");
}

#[test]
fn the_diagram_goes_from_the_feed_and_shows_every_wire_and_screw() {
    let (call, v) = fixture::settled();
    let page = draw::text(&call.house, &v, &style(80, false));
    let frames: Vec<&str> = page.lines().filter(|l| l.starts_with("┌─")).collect();
    // From the panel: the light, the hall, the upper landing (traced on paper in the fixture).
    assert_eq!(
        frames,
        ["┌─ stair ceiling ─ light box, not opened", "┌─ hall ─ switch box", "┌─ upper landing ─ switch box"]
    );
    let hall = page.split("┌─ hall").nth(1).and_then(|p| p.split("└─").next()).expect("the hall");
    for part in [
        "cable a to stair ceiling (settled",
        "cable b to upper landing, its end a (settled",
        "a.black  load (settled)",
        "on switch.common",
        "with b.white",
        "common  a.black",
        "t1      b.black",
        "splice: a.white and b.white",
    ] {
        assert!(hall.contains(part), "{part}\n{hall}");
    }
    let (call, v) = fixture::unsettled();
    let page = draw::text(&call.house, &v, &style(80, false));
    assert!(page.contains("┌─ buried-1 ─ a box nobody has seen; inferred"));
    // Likely and settled differ in stroke and word.
    assert!(page.contains("── cable a to the panel (likely, 93%)") && !page.contains("══ cable"));
}

#[test]
fn rings_and_cables_that_are_not_told_are_drawn() {
    let (call, mut v) = fixture::settled();
    v.cables.push(fixture::cable("upper landing", "stair ceiling", 0.95));
    let page = draw::text(&call.house, &v, &wide());
    assert!(page.contains("drawn already: a ring, or a second cable"));
    v.cables.clear();
    let page = draw::text(&call.house, &v, &style(80, false));
    assert_eq!(page.matches("not told yet where it goes").count(), 3, "three ends were seen");
    assert!(page.contains("its way to the feed is not told yet"));
    let dot = draw::dot(&call.house, &v);
    assert_eq!(dot.matches(" -- ").count(), 3, "{dot}");
}

#[test]
fn the_dot_graph_has_a_node_a_place_and_an_edge_a_cable() {
    for (name, call, v, _) in cases().into_iter().filter(|(name, ..)| *name != "contradiction") {
        let dot = draw::dot(&call.house, &v);
        assert!(dot.starts_with("graph {"), "{name}");
        assert_eq!(dot.lines().filter(|l| l.contains(" -- ")).count(), v.cables.len(), "{name}\n{dot}");
        for line in dot.lines().filter(|l| l.contains("label")) {
            // DOT language: a quoted string ends at the first quote that no backslash stands before.
            let (_, rest) = line.split_once("label = \"").expect("a label");
            let mut escaped = false;
            let end = rest.chars().position(|c| {
                let ends = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                ends
            });
            let tail: String = rest.chars().skip(end.expect("the label ends") + 1).collect();
            assert!(tail.ends_with(']') && !tail.contains('"'), "{name}: {line}");
        }
    }
    let (call, v) = fixture::settled();
    let dot = draw::dot(&call.house, &v);
    assert!(dot.contains("white: line, circuit 7") && dot.contains("style = dashed"));
}

#[test]
fn the_note_has_what_a_note_must_have() {
    let page = note_page(&fixture::settled());
    for part in [
        "9 Quarry Row",
        "R. Adeyemi",
        "M. Tarrow",
        "Tarrow & Daughter Electric",
        "E-1044",
        "2026-05-14",
        "NEC 2020",
        "The upstairs switch only works when the downstairs one is up.",
        "Both switches replaced last week.",
        "Protected by: Circuit 7, 15 A breaker",
        "Cables as surveyed: Cloth-covered cable, 14 AWG, copper",
        "Travelers swapped back at the upper landing.",
        "at hall, volts b.red to earth: cannot",
        "stair ceiling was not opened",
        "hall at 14:20: tested dead with a two-pole tester, which was tried on: kitchen receptacle",
        "It is no inspection and no certificate.",
        "Local codes and licensed practice come first",
        "seen: insulation that cracks or crumbles",
        "┌─ hall ─ switch box",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("NOT SETTLED"));
    for reading in fixture::settled().0.readings {
        let said = readings::reading(&fixture::settled().0.house, &reading);
        assert!(page.to_lowercase().contains(&said.to_lowercase()), "{said}");
    }
}

/// Edition, section, and how far the text was checked; where that was is for whoever keeps the packs.
#[test]
fn the_note_says_how_provisions_were_checked_and_names_no_source() {
    let pack = lath::files::conditions::embedded().expect("the packs read");
    let provisions = || pack.conditions.iter().flat_map(|condition| &condition.provisions);
    let (call, verdict) = fixture::unsettled();
    for reader in [Reader::Customer, Reader::Technician] {
        let document = note_of(&fixture::header(), &call, &verdict, reader, &style(78, false));
        let rows: Vec<&Vec<String>> = document
            .blocks()
            .iter()
            .flat_map(|block| match block {
                Block::Table { title, rows, .. } if title == "The code then and today" => {
                    rows.iter().collect()
                }
                _ => Vec::new(),
            })
            .collect();
        // The fixture's house is judged by NEC 2020 and has no grounding conductors: 404.9(B) and 410.44.
        for section in ["404.9(B)", "410.44"] {
            let row = rows.iter().find(|row| row[2].contains(section)).expect(section);
            assert!(row[2].starts_with("NEC 2020, "), "{row:?}");
            assert_eq!(row[3], "As others report it, not verified");
        }
        let all = texts(&document).join("\n");
        for provision in provisions().filter(|provision| !provision.source.is_empty()) {
            assert!(!all.contains(&provision.source), "{}", provision.source);
        }
    }
}

#[test]
fn the_head_of_the_note_comes_from_the_job_file() {
    // The job file of the design document, as it stands there.
    let text = include_str!("jobfile/stair.yaml");
    let loaded = lath::files::parse_str("stair.yaml", text).unwrap_or_else(|e| panic!("{e}"));
    let header = Header::of(&loaded.job);
    let expected = Header {
        title: Some("Stair light, upstairs and downstairs switches".into()),
        reference: Some("receptacle ground by the door, proven at 120 V".into()),
        skipped: fixture::names(&["at hall, volts b.red to earth: could not be done"]),
        done: vec![],
        ..fixture::header()
    };
    assert_eq!(header, expected);
    // Its readings, word for word but for the box in front of a point.
    let said: Vec<String> =
        loaded.call.readings.iter().map(|r| readings::reading(&loaded.call.house, r)).collect();
    let all = said.join("\n");
    for part in [
        "watch stair ceiling, breaker on, hall up, upper landing up",
        ": lit, as the customer says",
        "at hall, volts a.black to earth, breaker on, hall up, upper landing down, lamp in: 119 V",
        "at hall, volts a.white, b.red, b.white to earth, breaker on, hall up, upper landing down, lamp out, \
         hall/switch out: 0 V, 0.1 V, 0 V",
        "at upper landing, ohms a.red to hall/b.red, breaker off",
        ": 0.4 ohms",
        "at hall, amps round the whole cable a, breaker on, hall up, upper landing up",
        ": 0 A",
    ] {
        assert!(all.contains(part), "{part}\n{all}");
    }
}

#[test]
fn the_note_says_at_the_top_that_it_is_not_settled() {
    for (case, open) in
        [(fixture::unsettled(), true), (fixture::contradiction(), true), (fixture::settled(), false)]
    {
        let page = note_page(&case);
        let said = page.find("NOT SETTLED");
        assert_eq!(said.is_some(), open);
        if open {
            assert!(said < page.find("WHAT WE WERE ASKED"));
        }
    }
    let page = note_page(&fixture::unsettled());
    assert!(page.contains("Power for this circuit likely comes in at hall."));
    assert!(
        page.contains("Of 10 wire ends in the opened boxes, 1 is settled; what the others are for is not.")
    );
    assert!(page.contains("Likely, and not settled: The feed is at the hall"));
    assert!(!page.contains("circuit comes in at hall"));
    let (call, mut v) = fixture::settled();
    v.state = lath::verdict::State::Exhausted;
    let page = note_page(&(call, v));
    assert!(
        page.contains("NOT SETTLED") && page.contains("Open stair ceiling: that is what could tell more.")
    );
}

#[test]
fn trade_words_are_defined_once_where_the_note_says_that_they_are() {
    let page = note_page(&fixture::settled());
    let found = &page[page.find("WHAT WAS FOUND").expect("the findings")..];
    let (before, after) = found.split_once("THE RECORD").expect("the record");
    assert!(before.contains("are explained where the record begins"));
    for (word, meaning) in [
        ("Travelers:", "the two wires from switch to switch"),
        ("Line:", "the wire that carries power in; it is live whatever the switches do"),
        ("Neutral:", "the wire by which the current goes back to the panel"),
    ] {
        assert_eq!(after.matches(meaning).count(), 1, "{word}");
        assert!(!before.contains(meaning), "{word}");
        let stands = after.find(word).expect("the word");
        assert!(stands < after.find("For whoever works here next").expect("the rest"), "{word} comes first");
    }
}

fn labelled(fields: &[(String, String)]) -> impl Iterator<Item = String> {
    fields.iter().map(|(label, text)| format!("{label}: {text}"))
}

/// All text of a document in reading order, a string for every paragraph, item and cell.
fn texts(document: &Document) -> Vec<String> {
    let mut all = Vec::new();
    for block in document.blocks() {
        match block {
            Block::Heading { text, .. } | Block::Paragraph(text) => all.push(text.clone()),
            Block::List { items, .. } => all.extend(items.iter().cloned()),
            Block::Fields(fields) => all.extend(labelled(fields)),
            Block::Finding(found) => {
                all.push(found.title.clone());
                all.extend(labelled(&found.says));
            }
            Block::NewPage => {}
            Block::Table { title, head, rows } => {
                all.push(title.clone());
                all.extend(head.iter().cloned());
                all.extend(rows.iter().flatten().cloned());
            }
            Block::Picture { lines, .. } => all.push(lines.join("\n")),
        }
    }
    all.into_iter().filter(|t| !t.is_empty()).collect()
}

/// The same as a CommonMark parser understands the Markdown, with every extension on but the one that only makes
/// quotes and dashes prettier.
fn parsed(markdown: &str) -> Vec<String> {
    let mut all = Vec::new();
    let mut open = String::new();
    for event in Parser::new_ext(markdown, Options::all() - Options::ENABLE_SMART_PUNCTUATION) {
        match event {
            Event::Text(text) => open.push_str(&text),
            Event::Start(
                tag @ (Tag::Link { .. }
                | Tag::Image { .. }
                | Tag::Emphasis
                | Tag::Strong
                | Tag::Strikethrough
                | Tag::HtmlBlock
                | Tag::BlockQuote(_)
                | Tag::FootnoteDefinition(_)
                | Tag::DefinitionList
                | Tag::MetadataBlock(_)
                | Tag::Superscript
                | Tag::Subscript),
            ) => panic!("{tag:?} came out of text"),
            Event::Start(_) | Event::Rule => {}
            Event::End(_) => {
                let text = std::mem::take(&mut open);
                all.extend((!text.trim().is_empty()).then(|| text.trim_end().to_owned()));
            }
            other => panic!("{other:?} came out of text"),
        }
    }
    all
}

#[test]
fn markdown_gives_back_exactly_what_was_said() {
    for (name, call, v, header) in cases() {
        let document = note_of(&header, &call, &v, Reader::Customer, &style(78, false));
        let text = markdown::text(&document);
        let (read, said) = (parsed(&text), texts(&document));
        for (read, said) in read.iter().zip(&said) {
            assert_eq!(read, said, "{name}");
        }
        assert_eq!(read.len(), said.len(), "{name}");
        // Bare web addresses become links in some readers even without any mark; not inside a fence.
        let outside: String = text.split("\n```").step_by(2).collect();
        assert!(!outside.contains("http://") && !outside.contains("www."), "{name}");
    }
}

#[test]
fn hostile_text_is_inert_on_a_terminal() {
    let job = fixture::hostile_job(HOSTILE, fixture::HOSTILE_NAME);
    for ((call, v, header), typed) in [(fixture::hostile(), "desrever"), (job, "img src=x")] {
        let mut all = pages(&call, &v, &header, &style(80, false));
        all.push(("dot", draw::dot(&call.house, &v)));
        let document = note_of(&header, &call, &v, Reader::Customer, &style(80, false));
        all.push(("markdown", markdown::text(&document)));
        for (page, text) in all {
            // UAX #9: the explicit formatting characters.
            let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            assert!(!text.contains(turns), "{page}");
            assert!(!text.contains(|c: char| c.is_control() && c != '\n'), "{page}");
            assert!(text.contains(typed), "{page} still says what was typed");
        }
    }
}

#[test]
fn ten_thousand_characters_in_every_field_are_only_long() {
    let (call, v, mut header) = fixture::hostile();
    header.title = Some(HOSTILE.repeat(10_000 / HOSTILE.len() + 1));
    header.complaint = Some("x".repeat(10_000));
    header.done = vec!["日本語".repeat(3_400)];
    for (page, text) in pages(&call, &v, &header, &style(50, false)) {
        assert!(text.lines().all(|l| l.width() <= 50), "{page}");
    }
}

#[test]
fn the_cautions_pack_is_whole_or_refused() {
    let pack = cautions();
    for caution in Caution::ALL {
        assert!(pack.sentence(caution).ends_with('.'), "{caution:?}");
    }
    let missing = yaml::pack::<Cautions>("some.yaml", "ladder: Mind the ladder.").expect_err("not whole");
    assert!(missing.contains("some.yaml") && missing.contains("live-until-proven"), "{missing}");
    let unknown = format!("{}\nno-such-caution: x\n", Cautions::TEXT);
    assert!(yaml::pack::<Cautions>("some.yaml", &unknown).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_percentage_is_never_firmer_than_it_is(p in prop_oneof![0.0f64..=1.0, 0.0f64..0.02, 0.98f64..=1.0]) {
        let said = percent(p);
        // Neither certain nor impossible.
        prop_assert!(said != "100%" && said != "0%");
        match said.strip_prefix("under ").or(said.strip_prefix("over ")) {
            Some(limit) => prop_assert!(limit == "1%" && p < 0.011 || limit == "99.9%" && p > 0.999),
            None => {
                let number: f64 = said.trim_end_matches('%').parse().expect("a number");
                prop_assert!(number <= p * 100.0 + 1e-6 && number > p * 100.0 - 1.001);
                // The words change at 0.99 and 0.9; the numbers must not say otherwise.
                prop_assert_eq!(number >= 99.0, p >= 0.99 - 1e-9);
            }
        }
    }

    #[test]
    fn sanitized_text_is_one_inert_line(text in any::<String>()) {
        let clean = sanitize(&text);
        prop_assert!(!clean.contains(|c: char| c.is_control()));
        prop_assert_eq!(sanitize(&clean), clean.clone());
        prop_assert_eq!(clean.trim(), clean.as_str());
    }

    #[test]
    fn any_text_stays_in_its_width_and_in_its_words(text in any::<String>(), width in 24usize..120) {
        let (call, mut v) = fixture::settled();
        v.arrangement.as_mut().expect("an arrangement").text = text.clone();
        v.contradiction = Some(text.clone());
        let page = verdict::text(&call, &v, &cautions(), &style(width, false));
        prop_assert!(page.lines().all(|l| l.width() <= width));
        let mut document = Document::default();
        document.paragraph(&text);
        document.list(&[&text, &text]);
        document.table("T", &["A", "B"], &[vec![text.clone(), text.clone()]]);
        document.picture(lath::show::picture::picture(&call.house, &v), &text);
        document.heading(2, &text);
        let expected = texts(&document);
        let expected: Vec<String> = expected.into_iter().filter(|t| !t.trim().is_empty()).collect();
        prop_assert_eq!(parsed(&markdown::text(&document)), expected);
    }
}

#[test]
fn cautions_are_told_group_by_group_and_each_names_its_places() {
    let case = fixture::settled();
    let page = verdict_page(&case, &wide());
    let (_, told) = page.split_once("CAUTIONS\n").expect("cautions");
    let titles: Vec<&str> = told.lines().filter(|line| !line.starts_with(' ')).collect();
    assert!(titles.starts_with(&["Always:"]) && titles.len() >= 3, "{titles:?}");
    let mut sorted = titles.clone();
    sorted.dedup();
    assert_eq!(sorted, titles, "each group once");
    // A sentence of every caution that applies is there: those of the pack, unchanged.
    let cautions = cautions();
    for caution in [Caution::QualifiedPerson, Caution::LiveUntilProven, Caution::MoreCircuits] {
        assert!(told.contains(cautions.sentence(caution)));
    }
    // Two wires of one box are named behind their box, once.
    let white = told.lines().find(|line| line.contains("White here is line")).expect("the white line");
    assert!(white.ends_with("Here: hall: b.white, a.white.") || white.contains("Here: hall: "), "{white}");
    // A screen reader hears the word with each of them.
    let plain = verdict_page(&case, &style(4000, true));
    let (_, told) = plain.split_once("CAUTIONS\n").expect("cautions");
    assert!(told.lines().all(|line| line.starts_with("CAUTION: ") || line.ends_with(':')), "{told}");
}
