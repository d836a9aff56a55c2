//! The head of a call: who, what, with what, where.

use super::place::{Place, Stage};
use super::screen::Screen;
use super::step::{Reply, Stand, field};
use super::{customer, survey};
use crate::call::check::SUPPLY;
use crate::call::edit::Edit;
use crate::call::job::{
    Do, JobAnswer, JobBox, JobCall, JobDevice, JobFeed, JobHouse, JobInstrument, JobReference, JobSafety,
    Prose, items,
};
use crate::call::{InstrumentKind, typed};
use crate::house::{BoxKind, DeviceKind, FeedKind, LampKind, Reach};
use crate::show::palette::Tone;

/// Testers, in the order in which they are offered.
const TESTERS: [(&str, InstrumentKind, &str); 9] = [
    ("1", InstrumentKind::HighImpedance, "multimeter (volts and ohms)"),
    ("2", InstrumentKind::LowImpedance, "meter with a low-impedance range"),
    ("3", InstrumentKind::TwoPole, "two-pole contact tester"),
    ("4", InstrumentKind::TestLamp, "test lamp"),
    ("5", InstrumentKind::Continuity, "continuity beeper"),
    ("6", InstrumentKind::Clamp, "clamp meter"),
    ("7", InstrumentKind::NonContact, "non-contact tester"),
    ("8", InstrumentKind::Solenoid, "solenoid tester"),
    ("9", InstrumentKind::Neon, "neon tester"),
];

/// Switches, in such an order that 3 and 4 are what they say.
const KINDS: [(&str, DeviceKind, &str); 6] = [
    ("s", DeviceKind::SinglePole, "single-pole (on and off are marked)"),
    ("d", DeviceKind::Dimmer, "dimmer"),
    ("t", DeviceKind::ThreeWay, "three-way"),
    ("f", DeviceKind::FourWay, "four-way"),
    ("e", DeviceKind::Electronic, "electronic control"),
    ("u", DeviceKind::Switch, "cannot be told from outside"),
];

/// More positions than these are not asked of a customer.
const MOST_SWITCHES: usize = 3;

const TERMS: [&str; 4] = [
    "For a qualified person, working under the local code and licence; these come before anything said here.",
    "The tester is rated for the circuit.",
    "Every wire is live until it is proven dead, with a tester proved on a known source before and after.",
    "More than one circuit may be in a box.",
];

fn yes_no() -> [(&'static str, &'static str); 3] {
    [("y", "yes"), ("n", "no"), ("u", "not known")]
}

/// What can be answered once more, by its word; of switches, one more.
const AGAIN: [(&str, Stage); 11] = [
    ("title", Stage::Title),
    ("site", Stage::Site),
    ("who", Stage::Who),
    ("complaint", Stage::Complaint),
    ("changed", Stage::Changed),
    ("year", Stage::Built),
    ("instruments", Stage::Instruments),
    ("breaker", Stage::Circuit),
    ("earth", Stage::Reference),
    ("switch", Stage::Switch),
    ("goal", Stage::Goal),
];

/// The question of a word.
pub fn question_of(word: &str) -> Option<Stage> {
    AGAIN.iter().find(|(known, _)| known.eq_ignore_ascii_case(word)).map(|(_, stage)| *stage)
}

/// All these words.
pub fn questions() -> String {
    let words = AGAIN.map(|(word, _)| word);
    let (last, rest) = words.split_last().unwrap_or((&"", &[]));
    format!("{} or {last}", rest.join(", "))
}

/// Whether a question of the head is answered once more, and not one that follows from it.
fn is_again(stand: &Stand) -> bool {
    stand.place.back.is_some() && AGAIN.iter().any(|(_, stage)| *stage == stand.place.stage)
}

/// What is asked.
pub fn screen(stand: &Stand) -> Screen {
    let screen = first_time(stand);
    if is_again(stand) { screen.empty("as it is") } else { screen }
}

fn first_time(stand: &Stand) -> Screen {
    let new = |ask: &str| Screen::new("The call", ask);
    match stand.place.stage {
        Stage::Safety => {
            let terms = TERMS
                .iter()
                .fold(Screen::new("Before anything", "Is that so?"), |screen, term| screen.say(*term));
            terms.choose(&[("y", "yes, go on"), ("n", "no, stop here")])
        }
        Stage::Title => new("What is the call? One line, for the note."),
        Stage::Site => new("Where, and for whom? As in: 9 Quarry Row, R. Adeyemi.").empty("not written down"),
        Stage::Who => {
            new("Who works, for which firm? As in: M. Tarrow, Tarrow Electric.").empty("not written down")
        }
        Stage::Complaint => new("What does the customer report, in their words?").empty("nothing is wrong"),
        Stage::Changed => new("What was changed last, as far as anybody knows?").empty("nothing known"),
        Stage::Worked => new("Did it work before that?").choose(&yes_no()),
        Stage::Built => new("Which year was the house built, about?").empty("not known"),
        Stage::Instruments => {
            let choices = TESTERS.map(|(key, _, label)| (key, label));
            new("What is at hand? All their numbers, as in: 1 2 3.").choose(&choices).typed().empty("1 2 3")
        }
        Stage::LowOhms => {
            new("Input resistance of the low-impedance range? Ohms, from its label: 3000, 300k.")
                .empty("3000")
        }
        Stage::Circuit => {
            new("Which breaker or fuse? Its number or name, as in: 7, fuse 4.").empty("not known yet")
        }
        Stage::Reference => new("What is earth here, for readings to earth? As in: kitchen water pipe.")
            .empty("nothing is at hand"),
        Stage::Proven => new("How many volts from a known live wire to it?")
            .line(Tone::Caution, "CAUTION:", "Live. Hands on the probes' handles only.")
            .empty("not proven"),
        Stage::Light => Screen::new(
            "The boxes",
            "Where is the light? A name for its box, as in: stair ceiling. With its floor where that is not 1: stair ceiling, 2.",
        ),
        Stage::Lamp => Screen::new("The boxes", "Which lamp is in it?").choose(&[
            ("i", "incandescent"),
            ("l", "LED"),
            ("c", "CFL"),
            ("u", "not known"),
        ]),
        Stage::Reach => Screen::new("The boxes", "How is it reached?").choose(&[
            ("s", "standing"),
            ("t", "steps"),
            ("l", "ladder"),
            ("b", "not at all"),
        ]),
        Stage::Switch => switch_screen(stand),
        Stage::Kind => {
            let name = stand.boxes().last().map_or("", |outlet| outlet.name.as_str());
            Screen::new("The boxes", format!("Which switch is at {name}, as far as one sees from outside?"))
                .choose(&KINDS.map(|(key, _, label)| (key, label)))
        }
        Stage::Goal => goal_screen(stand),
        _ => customer::screen(stand),
    }
}

/// What is wanted: every wire, the light put right, or a neutral in one of the boxes.
fn goal_screen(stand: &Stand) -> Screen {
    let screen = Screen::new("The boxes", "What is wanted?")
        .choose(&[("i", "what every wire is for"), ("r", "the light put right")]);
    let each = stand.boxes().iter().enumerate();
    let neutral = |at: usize| (at + 1).to_string();
    let screen = each.fold(screen, |screen, (at, outlet)| {
        screen.choose(&[(&neutral(at), &format!("is there a neutral in {}?", outlet.name))])
    });
    screen.empty("what every wire is for")
}

fn switch_screen(stand: &Stand) -> Screen {
    let any = stand.boxes().iter().any(|outlet| outlet.kind == BoxKind::Switch);
    let ask = if any { "Where is the next switch?" } else { "Where is a switch for it? A name for its box." };
    let screen = Screen::new("The boxes", ask);
    let screen = screen.say("Other boxes: junction NAME, receptacle NAME.");
    if any { screen.empty("there are no more") } else { screen }
}

/// What an answer leads to: the next question, or back to where an earlier one was answered once more.
pub fn answer(stand: &Stand, text: &str) -> Reply {
    if is_again(stand) && text.is_empty() {
        return Reply::to(stand.place.back());
    }
    let (Some(back), Reply::Go(mut step)) = (&stand.place.back, next(stand, text)) else {
        return next(stand, text);
    };
    use Stage::{Kind, LowOhms, Proven, Switch, Worked};
    let follows = matches!(step.place.stage, LowOhms | Worked | Proven | Kind | Switch);
    let next = Place { back: Some(back.clone()), ..stand.place.to(step.place.stage) };
    step.place = if follows { next } else { stand.place.back() };
    Reply::Go(step)
}

fn next(stand: &Stand, text: &str) -> Reply {
    match stand.place.stage {
        Stage::Safety => safety(stand, text),
        Stage::Title | Stage::Site | Stage::Who | Stage::Complaint | Stage::Changed | Stage::Worked => {
            head(stand, text)
        }
        Stage::Goal => goal(stand, text),
        Stage::Instruments | Stage::LowOhms => instruments(stand, text),
        Stage::Built | Stage::Circuit | Stage::Reference | Stage::Proven => house(stand, text),
        Stage::Light | Stage::Lamp | Stage::Reach => light(stand, text),
        Stage::Switch | Stage::Kind => switch(stand, text),
        _ => customer::answer(stand, text),
    }
}

fn to(stage: Stage) -> Place {
    Place::at(stage)
}

fn safety(stand: &Stand, text: &str) -> Reply {
    match screen(stand).chosen(text) {
        Some("y") => {
            let accepted = JobSafety { accepted: Some(stand.now.day.clone()) };
            let known = Edit::default();
            let next = if stand.boxes().is_empty() { Stage::Title } else { Stage::Work };
            Reply::edit(Edit::together([known, field("safety", &accepted)]), to(next))
        }
        Some("n") => Reply::Stop,
        _ => stand.again(),
    }
}

fn head(stand: &Stand, text: &str) -> Reply {
    let mut head: JobCall = stand.job.call.clone().unwrap_or_default();
    let said = prose(text);
    let next = match stand.place.stage {
        Stage::Title if said.is_none() => {
            return Reply::say("A few words, so that the file can be told apart.");
        }
        Stage::Title => {
            head.title = said;
            head.date = Some(stand.now.day.clone());
            Stage::Site
        }
        Stage::Site => {
            let (site, customer) = text.rsplit_once(',').unwrap_or((text, ""));
            (head.site, head.customer) = (prose(site), prose(customer));
            Stage::Who
        }
        Stage::Who => {
            let (technician, firm) = text.split_once(',').unwrap_or((text, ""));
            (head.technician, head.firm) = (prose(technician), prose(firm));
            Stage::Complaint
        }
        Stage::Complaint => {
            head.complaint = said;
            Stage::Changed
        }
        Stage::Changed => {
            let next = if said.is_some() { Stage::Worked } else { Stage::Built };
            head.changed = said;
            next
        }
        _ => {
            head.worked_before = match screen(stand).chosen(text) {
                Some("y") => Some(true),
                Some("n") => Some(false),
                Some(_) => None,
                None => return stand.again(),
            };
            Stage::Built
        }
    };
    Reply::edit(field("call", &head), to(next))
}

fn prose(text: &str) -> Option<Prose> {
    let text = text.trim();
    (!text.is_empty()).then(|| Prose::from(text))
}

fn goal(stand: &Stand, text: &str) -> Reply {
    let shown = goal_screen(stand);
    let Some(key) = shown.chosen(if text.is_empty() { "i" } else { text }) else { return stand.again() };
    let at = key.parse::<usize>().ok().and_then(|number| stand.boxes().get(number.checked_sub(1)?));
    let goal = match (key, at) {
        (_, Some(outlet)) => format!("neutral-at {}", outlet.name),
        ("r", _) => "repair".to_owned(),
        _ => "identify".to_owned(),
    };
    let head = JobCall { goal: Some(goal), ..stand.job.call.clone().unwrap_or_default() };
    let asks = stand.call.house.switches().count() <= MOST_SWITCHES && stand.call.readings.is_empty();
    Reply::edit(field("call", &head), to(if asks { Stage::Customer } else { Stage::Work }))
}

/// The year in an answer.
fn year(text: &str) -> Option<i64> {
    let word = text.split(|c: char| !c.is_ascii_digit()).find(|word| word.len() == 4)?;
    word.parse().ok().filter(|year| (1700..=2200).contains(year))
}

fn instruments(stand: &Stand, text: &str) -> Reply {
    if stand.place.stage == Stage::LowOhms {
        let text = if text.is_empty() { "3000" } else { text };
        let JobAnswer::Number(ohms) = typed::answer(Do::Ohms, None, text) else { return stand.again() };
        let with = |owned: &JobInstrument| JobInstrument {
            ohms: (owned.kind == InstrumentKind::LowImpedance).then_some(ohms).or(owned.ohms),
            ..*owned
        };
        let owned: Vec<JobInstrument> = items(&stand.job.instruments).iter().map(with).collect();
        return Reply::edit(field("instruments", &owned), to(Stage::Circuit));
    }
    let text = if text.is_empty() { "1 2 3" } else { text };
    // Each is a figure, with or without something between.
    let words = text.chars().filter(|c| !matches!(c, ' ' | ',' | '+'));
    let tester =
        |word: char| TESTERS.iter().find(|(key, ..)| key.starts_with(word)).map(|(_, kind, _)| *kind);
    let Some(mut kinds) = words.map(tester).collect::<Option<Vec<_>>>() else { return stand.again() };
    kinds.sort();
    kinds.dedup();
    let low = kinds.contains(&InstrumentKind::LowImpedance);
    let owned: Vec<JobInstrument> = kinds.into_iter().map(JobInstrument::from).collect();
    Reply::edit(field("instruments", &owned), to(if low { Stage::LowOhms } else { Stage::Circuit }))
}

fn house(stand: &Stand, text: &str) -> Reply {
    let mut house: JobHouse = stand.job.house.clone().unwrap_or_default();
    let next = match stand.place.stage {
        Stage::Built => {
            house.built = year(text);
            if house.built.is_none() && !text.is_empty() {
                return Reply::say("A year, as in: 1948. Roughly is enough.");
            }
            Stage::Instruments
        }
        Stage::Circuit => {
            house.feeds = (!text.is_empty()).then(|| vec![feed(text)]);
            Stage::Reference
        }
        Stage::Reference => {
            let what = (!text.is_empty()).then(|| Prose::from(text));
            house.reference = what.map(|what| JobReference { what, proven: None });
            if house.reference.is_some() { Stage::Proven } else { Stage::Light }
        }
        _ => {
            let proven = match typed::answer(Do::Volts, None, text) {
                JobAnswer::Number(volts) if volts > 0.0 => Some(volts),
                _ if text.is_empty() => None,
                _ => return stand.again(),
            };
            house.supply = house.supply.or_else(|| proven.and_then(other_supply));
            house.reference = house.reference.map(|reference| JobReference { proven, ..reference });
            Stage::Light
        }
    };
    // A house of which nothing is known needs no line in the file.
    let edit = if house == JobHouse::default() && stand.job.house.is_none() {
        Edit::default()
    } else {
        field("house", &house)
    };
    Reply::edit(edit, to(next))
}

/// The supply where what proved the reference is far from what is taken for it unless somebody says otherwise.
fn other_supply(volts: f64) -> Option<f64> {
    ((volts - SUPPLY).abs() > SUPPLY / 5.0).then(|| (volts / 10.0).round() * 10.0)
}

/// A breaker by its number or name; a fuse where that is said.
fn feed(text: &str) -> JobFeed {
    let (word, rest) = text.split_once(' ').unwrap_or((text, ""));
    let (kind, name) = match word.to_lowercase().as_str() {
        "fuse" if !rest.is_empty() => (Some(FeedKind::Fuse), rest.trim()),
        "breaker" if !rest.is_empty() => (Some(FeedKind::Breaker), rest.trim()),
        _ => (None, text),
    };
    JobFeed { name: name.to_owned(), kind, ..JobFeed::default() }
}

/// A box's name with its floor, where that is said.
fn place_said(text: &str) -> (&str, Option<i64>) {
    let floor = text.rsplit_once(',').and_then(|(name, floor)| Some((name, floor.trim().parse().ok()?)));
    floor.map_or((text.trim(), None), |(name, floor)| (name.trim(), Some(floor)))
}

fn device(name: &str, kind: DeviceKind) -> JobDevice {
    JobDevice { name: name.to_owned(), kind, screws: None, lamp: None, watts: None, sure: None }
}

fn light(stand: &Stand, text: &str) -> Reply {
    if stand.place.stage == Stage::Light {
        if text.is_empty() {
            return Reply::say("A name, as it shall stand in the file and in the note.");
        }
        let (name, floor) = place_said(text);
        let mut outlet = JobBox::new(name, BoxKind::Light);
        (outlet.opened, outlet.floor) = (Some(false), floor);
        outlet.devices = Some(vec![device("light", DeviceKind::Light)]);
        return Reply::edit(Edit::outlet(stand.job, &outlet), to(Stage::Lamp));
    }
    let (Some(outlet), Some(key)) = (stand.boxes().last(), screen(stand).chosen(text).map(str::to_owned))
    else {
        return stand.again();
    };
    let mut outlet = outlet.clone();
    if stand.place.stage == Stage::Reach {
        outlet.reach = Some(match key.as_str() {
            "s" => Reach::Stand,
            "t" => Reach::Steps,
            "l" => Reach::Ladder,
            _ => Reach::Blocked,
        });
        return Reply::edit(Edit::outlet(stand.job, &outlet), to(Stage::Switch));
    }
    let lamp = match key.as_str() {
        "i" => LampKind::Incandescent,
        "l" => LampKind::Led,
        "c" => LampKind::Cfl,
        _ => LampKind::Unknown,
    };
    for device in outlet.devices.iter_mut().flatten() {
        device.lamp = Some(lamp);
    }
    Reply::edit(Edit::outlet(stand.job, &outlet), to(Stage::Reach))
}

fn switch(stand: &Stand, text: &str) -> Reply {
    if stand.place.stage == Stage::Kind {
        let word = survey::ways(text).unwrap_or(text);
        let (Some(outlet), Some(key)) = (stand.boxes().last(), screen(stand).chosen(word).map(str::to_owned))
        else {
            return stand.again();
        };
        let kind =
            KINDS.iter().find(|(known, ..)| *known == key).map_or(DeviceKind::Switch, |(_, kind, _)| *kind);
        let outlet = JobBox { devices: Some(vec![device("switch", kind)]), ..outlet.clone() };
        return Reply::edit(Edit::outlet(stand.job, &outlet), to(Stage::Switch));
    }
    if text.is_empty() {
        let switches = stand.call.house.switches().count();
        return match switches {
            0 => Reply::say(
                "A light without a switch is no question for this walk: name the box of its switch.",
            ),
            _ => Reply::to(to(Stage::Goal)),
        };
    }
    let (kind, name) = match text.split_once(' ') {
        Some(("junction", name)) => (BoxKind::Junction, name),
        Some(("receptacle", name)) => (BoxKind::Receptacle, name),
        _ => (BoxKind::Switch, text),
    };
    let (name, floor) = place_said(name);
    if stand.outlet(name).is_some() {
        return Reply::say("There is a box of that name already.");
    }
    let mut outlet = JobBox::new(name, kind);
    (outlet.opened, outlet.floor) = (Some(false), floor);
    if kind == BoxKind::Receptacle {
        outlet.devices = Some(vec![device("receptacle", DeviceKind::Receptacle)]);
    }
    let next = if kind == BoxKind::Switch { Stage::Kind } else { Stage::Switch };
    Reply::edit(Edit::outlet(stand.job, &outlet), to(next))
}
