//! Verdicts as text.

#[path = "show/fixture.rs"]
mod fixture;

use lath::files::yaml;
use lath::knowledge::Cautions;
use lath::show::note::{self, markdown, terminal};
use lath::show::{Palette, Style, draw, tags, verdict};

fn cautions() -> Cautions {
    yaml::parse(Cautions::NAME, Cautions::TEXT).expect("the pack reads")
}

#[test]
fn dump() {
    let width: usize = std::env::var("W").ok().and_then(|w| w.parse().ok()).unwrap_or(80);
    let style = Style { width, plain: std::env::var("PLAIN").is_ok(), palette: if std::env::var("COLOUR").is_ok() { Palette::colour() } else { Palette::plain() } };
    let (call, v) = match std::env::var("FIX").as_deref() { Ok("u") => fixture::unsettled(), Ok("r") => fixture::refused(), Ok("c") => fixture::contradiction(), _ => fixture::settled() };
    let c = cautions();
    match std::env::var("WHAT").as_deref() {
        Ok("tags") => println!("{}", tags::text(&call.house, &v, &c, &style)),
        Ok("draw") => println!("{}", draw::text(&call.house, &v, &style)),
        Ok("dot") => println!("{}", draw::dot(&call.house, &v)),
        Ok("md") => println!("{}", markdown::text(&note::document(&fixture::header(), &call, &v, &c, &style))),
        Ok("note") => println!("{}", terminal::text(&note::document(&fixture::header(), &call, &v, &c, &style), &style)),
        _ => println!("{}", verdict::text(&call, &v, &c, &style)),
    }
}
