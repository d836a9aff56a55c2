//! A job and a verdict written by hand, with which nothing is wrong, to be changed by each test.
//!
//! Two three-ways in line: the feed comes to the hall, travelers go to the landing, and load and neutral from there to
//! the ceiling; the neutral goes through both switch boxes (common practice, no source).

use lath::call::Call;
use lath::conditions::{Edition, Finding, Pack, find};
use lath::verdict::{DefectFound, Role, Verdict};

/// The job: cables with grounds, metal boxes that are bonded and roomy, a house of 2015.
const JOB: &str = r#"
lath: 1
call: {title: Stair light, date: 2026-05-14, code: NEC 2020}
house:
  region: us
  built: 2015
  supply: 120
  grounds: all
  feeds: [{name: "7", kind: breaker, amps: 15}]
boxes:
  - name: hall
    kind: switch
    opened: true
    volume: 30.3
    cables:
      - {tag: a, sheath: nm, wires: [black, white, bare], gauge: 14}
      - {tag: b, sheath: nm, wires: [black, red, white, bare], gauge: 14}
    devices: [{name: switch, kind: three-way}]
    joints:
      - [a.black, switch.common]
      - [b.black, switch.t1]
      - [b.red, switch.t2]
      - [a.white, b.white]
      - [a.bare, b.bare, metal]
    doubled: []
    seen: [metal-box]
  - name: landing
    kind: switch
    opened: true
    volume: 30.3
    cables:
      - {tag: a, sheath: nm, wires: [black, red, white, bare], gauge: 14}
      - {tag: b, sheath: nm, wires: [black, white, bare], gauge: 14}
    devices: [{name: switch, kind: three-way}]
    joints:
      - [a.black, switch.t1]
      - [a.red, switch.t2]
      - [b.black, switch.common]
      - [a.white, b.white]
      - [a.bare, b.bare, metal]
    seen: []
  - name: ceiling
    kind: light
    opened: true
    volume: 21.5
    cables:
      - {tag: a, sheath: nm, wires: [black, white, bare], gauge: 14}
    devices: [{name: light, kind: light, lamp: led}]
    joints:
      - [a.black, light.center]
      - [a.white, light.shell]
      - [a.bare, metal]
    seen: []
readings:
  - {do: watch, light: ceiling, breaker: on, switches: {hall: up, landing: up}, lamp: in, reads: lit}
"#;

const VERDICT: &str = r#"{
 "lath":1,"state":"settled","candidates":{"classes":1,"wirings":2,"bits":0.0,"uncovered":0.0},
 "arrangement":{"text":"The feed comes in at the hall.","scheme":"conventional","scheme_p":1.0,
   "feed":{"box":"hall","p":1.0}},
 "cables":[{"ends":["hall/a","panel"],"p":1.0},{"ends":["hall/b","landing/a"],"p":1.0},
   {"ends":["landing/b","ceiling/a"],"p":1.0}],
 "wires":[
   {"wire":"hall/a.black","role":"line","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"hall/a.white","role":"neutral","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"hall/a.bare","role":"ground","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"hall/b.black","role":"traveler","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"hall/b.red","role":"traveler","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"hall/b.white","role":"neutral","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"hall/b.bare","role":"ground","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"landing/a.black","role":"traveler","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"landing/a.red","role":"traveler","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"landing/a.white","role":"neutral","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"landing/a.bare","role":"ground","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"landing/b.black","role":"load","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"landing/b.white","role":"neutral","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"landing/b.bare","role":"ground","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"ceiling/a.black","role":"load","circuit":null,"p":1.0,"others":{},"because":[]},
   {"wire":"ceiling/a.white","role":"neutral","circuit":"7","p":1.0,"others":{},"because":[]},
   {"wire":"ceiling/a.bare","role":"ground","circuit":null,"p":1.0,"others":{},"because":[]}],
 "boxes":[],"landing":[],"defects":[],"devices":[],"choices":[],"disbelieved":[],"contradiction":null}"#;

/// The packs as shipped.
pub fn pack() -> Pack {
    lath::files::conditions::embedded().unwrap_or_else(|error| panic!("{error}"))
}

/// A job and a verdict on it.
pub struct World {
    pub job: String,
    pub verdict: Verdict,
}

impl World {
    /// The one with which nothing is wrong.
    pub fn new() -> World {
        World {
            job: JOB.to_owned(),
            verdict: serde_json::from_str(VERDICT).expect("a verdict as documented"),
        }
    }

    /// Changes the job's text, the first time it stands there.
    pub fn put(&mut self, from: &str, to: &str) {
        assert!(self.job.contains(from), "{from} is not in the job");
        self.job = self.job.replacen(from, to, 1);
    }

    /// Changes the job's text wherever it stands there.
    pub fn all(&mut self, from: &str, to: &str) {
        assert!(self.job.contains(from), "{from} is not in the job");
        self.job = self.job.replace(from, to);
    }

    /// Something seen at the ceiling.
    pub fn seen(&mut self, what: &str) {
        let at = self.job.rfind("seen: []").expect("the ceiling");
        self.job.replace_range(at..at + "seen: []".len(), &format!("seen: [{what}]"));
    }

    /// A reading behind those there are.
    pub fn reading(&mut self, line: &str) {
        self.job.push_str(&format!("  - {line}\n"));
    }

    /// What a wire is for.
    pub fn role(&mut self, wire: &str, role: Role, p: f64) {
        let found = self.verdict.wires.iter_mut().find(|found| found.wire == wire).expect("a wire");
        if p < 1.0 {
            found.others.insert(found.role, 1.0 - p);
        }
        (found.role, found.p) = (role, p);
    }

    /// A defect.
    pub fn defect(&mut self, what: &str, at: &str, p: f64) {
        self.verdict.defects.push(DefectFound { what: what.into(), at: at.into(), detail: vec![], p });
    }

    /// The call.
    pub fn call(&self) -> Call {
        lath::files::parse_str("job.yaml", &self.job).unwrap_or_else(|error| panic!("{error}")).call
    }

    /// The edition it is judged by.
    pub fn edition(&self, pack: &Pack) -> Option<Edition> {
        let loaded = lath::files::parse_str("job.yaml", &self.job).unwrap_or_else(|error| panic!("{error}"));
        let code = loaded.job.call.and_then(|call| call.code);
        Edition::of(code.as_deref(), &loaded.call.house.region, pack)
    }

    /// What is found.
    pub fn find<'a>(&self, pack: &'a Pack) -> Vec<Finding<'a>> {
        find(pack, &self.call(), &self.verdict, self.edition(pack).as_ref())
    }

    /// The names of what is found.
    pub fn names(&self, pack: &Pack) -> Vec<String> {
        self.find(pack).iter().map(|finding| finding.condition.name.clone()).collect()
    }
}
