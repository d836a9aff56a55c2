//! The HTML note, read by a parser of the HTML standard (html5ever, in `scraper`): it says what was said and does nothing.

use crate::fixture::{self, HOSTILE, HOSTILE_NAME};
use lath::call::Call;
use lath::show::note::{self, Block, Document, Header, Note, Reader, html};
use lath::show::picture::Shape;
use lath::show::{Palette, Style};
use lath::verdict::Verdict;
use scraper::{ElementRef, Html, Selector};

pub fn document(header: &Header, call: &Call, verdict: &Verdict, reader: Reader) -> Document {
    let pack = lath::files::conditions::embedded().unwrap_or_else(|error| panic!("{error}"));
    let knowledge = lath::files::packs::embedded().unwrap_or_else(|error| panic!("{error}"));
    let note = Note { header, call, verdict, cautions: &knowledge.cautions, pack: &pack, reader };
    note::document(&note, &Style { width: 80, plain: false, palette: Palette::PLAIN })
}

pub fn documents() -> Vec<(String, Document)> {
    let (call, verdict, header) = fixture::hostile();
    let mut cases: Vec<(&str, Call, Verdict, Header)> = vec![("hostile", call, verdict, header)];
    let (call, verdict, header) = fixture::hostile_job(HOSTILE, HOSTILE_NAME);
    cases.push(("hostile job", call, verdict, header));
    for (name, (call, verdict)) in [
        ("settled", fixture::settled()),
        ("unsettled", fixture::unsettled()),
        ("refused", fixture::refused()),
        ("contradiction", fixture::contradiction()),
    ] {
        cases.push((name, call, verdict, fixture::header()));
    }
    let each = cases.iter().flat_map(|(name, call, verdict, header)| {
        [Reader::Customer, Reader::Technician]
            .map(|reader| (format!("{name} for {reader:?}"), document(header, call, verdict, reader)))
    });
    each.collect()
}

fn parsed(text: &str) -> Html {
    let page = Html::parse_document(text);
    assert_eq!(page.errors, Vec::<std::borrow::Cow<str>>::new());
    page
}

fn all<'a>(page: &'a Html, what: &str) -> Vec<ElementRef<'a>> {
    page.select(&Selector::parse(what).expect("a selector")).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect()
}

/// What a document says, a string for every element that holds text, in reading order.
fn said(document: &Document) -> Vec<String> {
    let mut all = Vec::new();
    let fields = |all: &mut Vec<String>, fields: &[(String, String)]| {
        fields.iter().for_each(|(label, text)| all.extend([label.clone(), text.clone()]));
    };
    for block in document.blocks() {
        match block {
            Block::Heading { text, .. } | Block::Paragraph(text) => all.push(text.clone()),
            Block::List { items, .. } => all.extend(items.iter().cloned()),
            Block::Fields(list) => fields(&mut all, list),
            Block::Finding(found) => {
                all.push(found.title.clone());
                fields(&mut all, &found.says);
            }
            Block::Table { title, head, rows } => {
                all.push(title.clone());
                all.extend(head.iter().chain(rows.iter().flatten()).cloned());
            }
            // The picture's own words: name, description, and every line of text in it.
            Block::Picture { picture, .. } => {
                all.extend([picture.title.clone(), picture.description.clone()]);
                all.extend(picture.shapes.iter().filter_map(|shape| match shape {
                    Shape::Text { text, .. } => Some(text.clone()),
                    _ => None,
                }));
            }
            Block::NewPage => {}
        }
    }
    all
}

#[test]
fn a_browser_reads_exactly_what_was_said() {
    for (name, document) in documents() {
        let page = parsed(&html::text(&document));
        let read: Vec<String> =
            all(&page, "h1, h2, h3, h4, p, li, dt, dd, caption, th, td, svg > title, svg > desc, svg > text")
                .into_iter()
                .map(text)
                .collect();
        assert_eq!(read, said(&document), "{name}");
        assert_eq!(all(&page, "head title").len(), 1);
        let inside: usize = read.iter().map(|text| text.split_whitespace().count()).sum();
        let main: String = text(all(&page, "main")[0]);
        assert_eq!(main.split_whitespace().count(), inside, "{name}: no words outside");
    }
}

#[test]
fn nothing_in_the_file_acts_or_asks_for_anything() {
    let known = [
        "html", "head", "meta", "title", "style", "body", "main", "div", "section", "h1", "h2", "h3", "h4",
        "p", "ul", "ol", "li", "dl", "dt", "dd", "table", "caption", "thead", "tbody", "tr", "th", "td",
        "svg", "desc", "text", "rect", "circle", "polyline",
    ];
    let attributes = [
        "lang",
        "charset",
        "http-equiv",
        "content",
        "name",
        "class",
        "scope",
        "id",
        "role",
        "aria-labelledby",
        "aria-describedby",
        "xmlns",
        "viewBox",
        "width",
        "height",
        "x",
        "y",
        "cx",
        "cy",
        "r",
        "points",
        "fill",
        "stroke",
        "stroke-width",
        "stroke-dasharray",
        "font-family",
        "font-size",
        "font-weight",
    ];
    for (name, document) in documents() {
        let page = parsed(&html::text(&document));
        for element in all(&page, "*") {
            let value = element.value();
            assert!(known.contains(&value.name()), "{name}: <{}>", value.name());
            for (attribute, _) in value.attrs() {
                assert!(attributes.contains(&attribute), "{name}: {attribute} on <{}>", value.name());
            }
        }
        let style = text(all(&page, "style")[0]);
        assert!(!style.contains("url(") && !style.contains("@import"), "{name}");
        let policy = all(&page, "meta[http-equiv='Content-Security-Policy']")[0];
        assert!(policy.attr("content").is_some_and(|content| content.starts_with("default-src 'none'")));
        let main = text(all(&page, "main")[0]);
        assert!(!main.contains(|c: char| c.is_control() && c != '\n'), "{name}");
        // UAX #9: the explicit formatting characters.
        assert!(
            !main.contains([
                '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}', '\u{2066}', '\u{2069}'
            ])
        );
    }
}

/// Headings go down one step at a time, lists hold items, and every table has a name and heads (HTML standard; WCAG 2.2,
/// 1.3.1).
#[test]
fn the_structure_is_one_that_a_screen_reader_can_follow() {
    for (name, document) in documents() {
        let page = parsed(&html::text(&document));
        let levels: Vec<u32> = all(&page, "h1, h2, h3, h4")
            .iter()
            .map(|heading| heading.value().name()[1..].parse().expect("a level"))
            .collect();
        assert_eq!(levels[0], 1, "{name}");
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1, "{name}");
        assert!(levels.windows(2).all(|two| two[1] <= two[0] + 1), "{name}: {levels:?}");
        for table in all(&page, "table") {
            let of = |what: &str| table.select(&Selector::parse(what).expect("a selector")).count();
            assert_eq!((of("caption"), of("thead tr")), (1, 1), "{name}");
            assert_eq!(of("tbody tr"), of("tbody th[scope=row]"), "{name}: every row has a head");
            assert_eq!(of("thead th"), of("thead th[scope=col]"), "{name}");
        }
        // A picture has a name and a description (SVG 2, 5.8; WCAG 2.2, 1.1.1).
        let picture = all(&page, "svg[role=img]")[0];
        for (attribute, element) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
            let id = picture.attr(attribute).expect("an id");
            assert!(!text(all(&page, &format!("svg > {element}#{id}"))[0]).is_empty(), "{name}");
        }
        assert_eq!(all(&page, "html[lang=en]").len(), 1);
        assert_eq!(all(&page, "main").len(), 1);
    }
}

#[test]
fn ten_thousand_characters_and_other_scripts_stay_text() {
    let (call, verdict, mut header) = fixture::hostile();
    let long = HOSTILE.repeat(10_000 / HOSTILE.len() + 1);
    header.complaint = Some(long);
    header.customer = Some("مرحبا بالعالم שלום".into());
    header.done = vec!["x".repeat(10_000), "日本語".repeat(3_400)];
    let document = document(&header, &call, &verdict, Reader::Customer);
    let page = parsed(&html::text(&document));
    let read: Vec<String> = all(&page, "dd, li").into_iter().map(text).collect();
    assert!(read.contains(&"مرحبا بالعالم שלום".to_owned()));
    assert!(read.iter().any(|text| *text == "x".repeat(10_000)));
    assert!(read.iter().any(|text| text.matches("desrever").count() > 10));
}

#[test]
fn what_is_not_settled_is_said_first_and_in_every_finding() {
    let (call, verdict) = fixture::unsettled();
    let page = parsed(&html::text(&document(&fixture::header(), &call, &verdict, Reader::Customer)));
    let first = all(&page, "main > p")[0];
    assert!(text(first).starts_with("NOT SETTLED") && first.attr("class") == Some("unsettled"));
    // In this verdict the defect is likely (0.94), and no role of a white in the landing but one is settled.
    let titles: Vec<String> = all(&page, ".finding h4").into_iter().map(text).collect();
    assert!(
        titles.contains(&"Likely, not settled: Wires on the wrong screws of a switch".to_owned()),
        "{titles:?}"
    );
    // 0.91 for the box nobody has seen.
    assert!(titles.contains(&"Likely, not settled: A box that nobody has found".to_owned()), "{titles:?}");
    let (call, verdict) = fixture::settled();
    let page = parsed(&html::text(&document(&fixture::header(), &call, &verdict, Reader::Customer)));
    assert_eq!(all(&page, ".unsettled").len(), 0);
}
