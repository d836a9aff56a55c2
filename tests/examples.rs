//! Every recorded call against the verdict derived for it by hand (tests/expected, tests/handbooks); the basis of each
//! is named in its file.

#![allow(clippy::unwrap_used, reason = "a helper of tests may fail as a test does")]

use lath::call::Call;
use lath::files::{self, packs, yaml};
use lath::verdict::{self, LIKELY, Landing, Role, SETTLED, State, Verdict};
use lath::wiring::Options;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// What a file of expectations says; the fields are described in tests/expected/feed-at-switch.yaml.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    scheme: String,
    feed: Option<String>,
    roles: BTreeMap<String, Role>,
    cables: Vec<[String; 2]>,
    neutral: BTreeMap<String, Option<Vec<String>>>,
    landing: Vec<BoxLanding>,
    #[serde(default)]
    free: Vec<[String; 2]>,
    #[serde(default)]
    open_ok: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BoxLanding {
    #[serde(rename = "box")]
    at: String,
    joints: Vec<BTreeSet<String>>,
}

/// Boxes, each with the sets of points that must be joined.
type Landings = BTreeMap<String, Vec<BTreeSet<String>>>;

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn jobs(name: &str) -> Vec<PathBuf> {
    let mut jobs: Vec<PathBuf> =
        std::fs::read_dir(folder(name)).unwrap().map(|entry| entry.unwrap().path()).collect();
    jobs.retain(|path| path.extension().is_some_and(|end| end == "yaml"));
    jobs.retain(|path| !path.to_string_lossy().ends_with(".expected.yaml"));
    jobs.sort();
    jobs
}

fn reached(job: &Path) -> (Call, Verdict) {
    let call = files::load(job).unwrap().call;
    let verdict = verdict::reach(&call, &packs::embedded().unwrap(), Options::default());
    (call, verdict)
}

fn expected(path: &Path) -> Expected {
    let text = std::fs::read_to_string(path).unwrap();
    yaml::pack(&path.display().to_string(), &text).unwrap()
}

/// Everything the verdict must say, or what it says instead.
fn disagreements(verdict: &Verdict, expected: &Expected) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut check = |right: bool, what: String| {
        if !right {
            wrong.push(what);
        }
    };
    check(verdict.state == State::Settled, format!("state {:?}", verdict.state));
    check(verdict.contradiction.is_none(), format!("contradiction {:?}", verdict.contradiction));
    check(verdict.disbelieved.is_empty(), format!("disbelieved {:?}", verdict.disbelieved));
    let open = |what: &str| expected.open_ok.iter().any(|open| open == what);
    let named: BTreeSet<&String> = verdict.wires.iter().map(|wire| &wire.wire).collect();
    check(named == expected.roles.keys().collect(), format!("wires {named:?}"));
    for wire in &verdict.wires {
        let right = expected.roles.get(&wire.wire) == Some(&wire.role) && wire.p >= SETTLED;
        check(right || open(&wire.wire), format!("{} {:?} {}", wire.wire, wire.role, wire.p));
    }
    if let Some(found) = &verdict.arrangement {
        check(found.scheme == expected.scheme && found.scheme_p >= SETTLED, format!("scheme {found:?}"));
        if let Some(feed) = &expected.feed {
            let sure = found.feed.p >= LIKELY || open("feed");
            check(found.feed.at == *feed && sure, format!("feed {:?}", found.feed));
        }
    } else {
        check(false, "no arrangement".to_owned());
    }
    for [one, other] in &expected.cables {
        let same = |ends: &[String; 2]| {
            *ends == [one.clone(), other.clone()] || *ends == [other.clone(), one.clone()]
        };
        let found = verdict.cables.iter().find(|cable| same(&cable.ends));
        let sure = found.is_some_and(|cable| cable.p >= LIKELY || open(&format!("{one} -- {other}")));
        check(sure, format!("cable {one} -- {other}: {found:?} among {:?}", verdict.cables));
    }
    for (at, neutral) in &expected.neutral {
        let found =
            verdict.boxes.iter().find(|roles| roles.at == *at).and_then(|roles| roles.neutral.as_ref());
        let found: Option<BTreeSet<&String>> = found.map(|neutral| neutral.wires.iter().collect());
        check(
            found == neutral.as_ref().map(|wires| wires.iter().collect()),
            format!("neutral at {at}: {found:?}"),
        );
    }
    if let Some(way) = disagreeing_landing(verdict, expected) {
        check(false, way);
    }
    wrong
}

/// The landing plan, free pairs in either order.
fn disagreeing_landing(verdict: &Verdict, expected: &Expected) -> Option<String> {
    let plan: Option<Landings> = verdict
        .landing
        .iter()
        .map(|entry| match entry {
            Landing::Joints { at, joints } => {
                Some((at.clone(), joints.iter().map(|joint| joint.iter().cloned().collect()).collect()))
            }
            Landing::Refused { .. } => None,
        })
        .collect();
    let sets = |plan: &Landings, swap: &[&[String; 2]]| -> BTreeMap<String, BTreeSet<BTreeSet<String>>> {
        let local = |at: &str, point: &String| {
            let full = format!("{at}/{point}");
            let swapped = swap.iter().find_map(|[a, b]| match () {
                () if full == *a || *point == *a => Some(b),
                () if full == *b || *point == *b => Some(a),
                () => None,
            });
            let name = swapped.unwrap_or(point);
            name.strip_prefix(&format!("{at}/")).unwrap_or(name).to_owned()
        };
        let joints = |at: &String, joints: &Vec<BTreeSet<String>>| {
            joints.iter().map(|joint| joint.iter().map(|point| local(at, point)).collect()).collect()
        };
        plan.iter().map(|(at, of_box)| (at.clone(), joints(at, of_box))).collect()
    };
    let wanted: Landings =
        expected.landing.iter().map(|entry| (entry.at.clone(), entry.joints.clone())).collect();
    let Some(plan) = plan else { return Some(format!("landing refused: {:?}", verdict.landing)) };
    let ways = 1usize << expected.free.len();
    let fits = (0..ways).any(|way| {
        let swap: Vec<&[String; 2]> = expected
            .free
            .iter()
            .enumerate()
            .filter(|(at, _)| way >> at & 1 == 1)
            .map(|(_, pair)| pair)
            .collect();
        sets(&plan, &[]) == sets(&wanted, &swap)
    });
    (!fits).then(|| format!("landing {plan:?}, expected {wanted:?}"))
}

fn all_agree(pairs: impl Iterator<Item = (PathBuf, PathBuf)>) {
    let mut wrong = Vec::new();
    for (job, with) in pairs {
        let (_, verdict) = reached(&job);
        let of_job = disagreements(&verdict, &expected(&with));
        wrong.extend(of_job.into_iter().map(|what| format!("{}: {what}", job.display())));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn examples_come_out_as_derived_by_hand() {
    let jobs = jobs("examples");
    assert!(jobs.len() >= 8);
    all_agree(jobs.into_iter().map(|job| {
        let with = folder("tests/expected").join(job.file_name().unwrap());
        (job, with)
    }));
}

#[test]
fn handbook_diagrams_come_out_as_their_text_says() {
    let jobs = jobs("tests/handbooks");
    assert!(jobs.len() >= 5);
    all_agree(jobs.into_iter().map(|job| {
        let with = job.with_extension("expected.yaml");
        (job, with)
    }));
}

/// The survey alone may say what a wire is for; then no reading does.
#[test]
fn nothing_rests_on_a_reading_that_nobody_took() {
    let knowledge = packs::embedded().unwrap();
    for job in jobs("examples") {
        let mut call = files::load(&job).unwrap().call;
        call.readings.clear();
        let verdict = verdict::reach(&call, &knowledge, Options::default());
        let named: Vec<&String> =
            verdict.wires.iter().filter(|wire| !wire.because.is_empty()).map(|wire| &wire.wire).collect();
        assert!(named.is_empty(), "{}: {named:?}", job.display());
    }
}
