//! Which edition of which code applies, and how a condition was judged when installed and is judged today.

use super::pack::{Condition, Pack, Provision};
use crate::house::House;

/// An edition of a code.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Edition {
    /// The code, by its name in the packs.
    pub code: String,
    /// The year.
    pub year: i64,
    /// Whether the job says so; otherwise it is the newest one known for the region.
    pub adopted: bool,
}

impl Edition {
    /// From what the job says of the code adopted, and the region. `None` where the packs know no code for it.
    pub fn of(said: Option<&str>, region: &str, pack: &Pack) -> Option<Edition> {
        let said = said.unwrap_or_default().to_lowercase();
        let named =
            pack.codes.iter().find(|code| code.names.iter().any(|name| said.contains(&name.to_lowercase())));
        let local = pack.codes.iter().find(|code| code.regions.iter().any(|one| one == region));
        let code = named.or(local)?;
        let year = year(&said).filter(|_| named.is_some());
        let adopted = year.is_some();
        Some(Edition { code: code.code.clone(), year: year.unwrap_or(code.newest), adopted })
    }

    /// `NEC 2020`, or what it was taken to be.
    pub fn words(&self) -> String {
        if self.adopted {
            format!("{} {}", self.code, self.year)
        } else {
            format!("{} {}, the newest known here; no edition was written down", self.code, self.year)
        }
    }
}

/// The last number of four figures in a text, as in `NEC 2020` or `CSA C22.1:2021`.
fn year(text: &str) -> Option<i64> {
    let runs = text.split(|letter: char| !letter.is_ascii_digit());
    runs.filter(|run| run.len() == 4)
        .filter_map(|run| run.parse().ok())
        .rfind(|year| (1890..=2200).contains(year))
}

/// How a condition is judged.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Judged<'a> {
    /// What can be said of the time it was installed.
    pub installed: Option<String>,
    /// What the code asks today.
    pub today: Vec<String>,
    /// The provisions that say so.
    pub cited: Vec<&'a Provision>,
}

/// Judges a condition in a house, by an edition.
pub fn judge<'a>(condition: &'a Condition, house: &House, edition: Option<&Edition>) -> Judged<'a> {
    let Some(edition) = edition else {
        return Judged { installed: condition.installed.clone(), ..Judged::default() };
    };
    let of_code = condition.provisions.iter().filter(|provision| provision.code == edition.code);
    let cited: Vec<&Provision> =
        of_code.filter(|provision| provision.until.is_none_or(|until| edition.year <= until)).collect();
    let today = cited.iter().map(|provision| today(provision, edition)).collect();
    let entered = cited.iter().filter_map(|provision| provision.since).max();
    let installed = condition.installed.clone().or_else(|| entered.map(|since| then(since, house, edition)));
    Judged { installed, today, cited }
}

fn today(provision: &Provision, edition: &Edition) -> String {
    let Provision { code, section, says, .. } = provision;
    match provision.since {
        Some(since) if since > edition.year => format!(
            "{code} {}, adopted here, does not ask for this; {code} {since} and later do, in {section}: {says}",
            edition.year
        ),
        _ => format!("{code} {}, {section}: {says}", edition.year),
    }
}

/// What can be said of wiring whose age is the house's, at best.
fn then(since: i64, house: &House, edition: &Edition) -> String {
    let code = &edition.code;
    match house.built {
        Some(built) if i64::from(built) < since => format!(
            "the rule came with {code} {since}; wiring as old as the house ({built}) is older, and may well have met \
             the rules of its day"
        ),
        Some(built) => {
            format!("the rule was in {code} from {since} on, so in a house of {built} it held already")
        }
        None => format!("depends on its age, which was not written down; the rule came with {code} {since}"),
    }
}
