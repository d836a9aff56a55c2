//! A reading given by options.

use crate::call::InstrumentKind;
use crate::call::job::{
    AllOrEach, Do, Field, JobAnswer, JobInstrument, JobReading, JobReads, Node, Pair, Path, Problem,
};
use crate::call::typed;
use std::collections::BTreeMap;

/// Options that say one reading.
#[derive(clap::Args, Debug)]
#[command(next_help_heading = "A reading by options")]
pub struct Flags {
    /// The light was looked at: lit, dim, glow, dark, trips; LIGHT=lit where there are several.
    #[arg(long, value_name = "READS")]
    watch: Vec<String>,
    /// Volts: a number, or one for each point (0,119,0), or none, ghost, part, line, trips, alarm, silent.
    #[arg(long, value_name = "READS")]
    volts: Vec<String>,
    /// Ohms, dead: a number, or one for each point, or closed, filament, load, open, OL, beep, silent.
    #[arg(long, value_name = "READS")]
    ohms: Vec<String>,
    /// Amperes in a clamp: a number, or none, some.
    #[arg(long, value_name = "READS")]
    amps: Option<String>,
    /// A test lamp: bright, dim, none, trips, for each point.
    #[arg(long, value_name = "READS")]
    load: Vec<String>,
    /// The box where it was read.
    #[arg(long, value_name = "BOX")]
    at: Option<String>,
    /// The two points.
    #[arg(long, num_args = 2, value_names = ["POINT", "POINT"])]
    between: Vec<String>,
    /// Several points, each read to --to: a.black,a.white.
    #[arg(long, value_name = "POINT", value_delimiter = ',', requires = "to")]
    points: Vec<String>,
    /// What --points are read to.
    #[arg(long, value_name = "POINT")]
    to: Option<String>,
    /// The cable or the wire in the clamp.
    #[arg(long, value_name = "CABLE")]
    around: Option<String>,
    /// The light that was looked at.
    #[arg(long, value_name = "LIGHT")]
    light: Option<String>,
    /// The instrument, by its word in the job file.
    #[arg(long, value_name = "INSTRUMENT")]
    with: Option<String>,
    /// on or off, or NAME=on for each.
    #[arg(long, value_name = "POWER")]
    breaker: Vec<String>,
    /// The position of a switch: BOX=up, or BOX/device=up; again for each.
    #[arg(long, value_name = "BOX=POSITION")]
    switch: Vec<String>,
    /// in, out or test, or LIGHT=in for each.
    #[arg(long, value_name = "LAMP")]
    lamp: Vec<String>,
    /// A device that was taken off; again for each.
    #[arg(long, value_name = "DEVICE")]
    out: Vec<String>,
    /// A wire away from its joint; again for each.
    #[arg(long, value_name = "WIRE")]
    lifted: Vec<String>,
    /// Two points that were bridged, power off; again for each.
    #[arg(long, num_args = 2, value_names = ["POINT", "POINT"])]
    jumper: Vec<String>,
    /// Who says so: technician or customer.
    #[arg(long, value_name = "WHO")]
    by: Option<String>,
}

type Wrong = Vec<Problem>;

impl Flags {
    /// A flag that says a condition, if one was given.
    pub fn given(&self) -> Option<&'static str> {
        [
            ("--at", self.at.is_some()),
            ("--between", !self.between.is_empty()),
            ("--points", !self.points.is_empty()),
            ("--to", self.to.is_some()),
            ("--around", self.around.is_some()),
            ("--light", self.light.is_some()),
            ("--with", self.with.is_some()),
            ("--breaker", !self.breaker.is_empty()),
            ("--switch", !self.switch.is_empty()),
            ("--lamp", !self.lamp.is_empty()),
            ("--out", !self.out.is_empty()),
            ("--lifted", !self.lifted.is_empty()),
            ("--jumper", !self.jumper.is_empty()),
            ("--by", self.by.is_some()),
        ]
        .into_iter()
        .find_map(|(flag, given)| given.then_some(flag))
    }

    /// The reading.
    pub fn reading(&self) -> Result<JobReading, Wrong> {
        let (ask, answers) = self.asked();
        let with: Option<JobInstrument> = self.with.as_deref().map(|word| read("with", word)).transpose()?;
        let kind = with.map(|with| with.kind);
        Ok(JobReading {
            at: self.at.clone(),
            between: pairs(&self.between).next(),
            points: some(&self.points),
            to: self.to.clone(),
            around: self.around.clone(),
            light: self.light.clone(),
            with,
            breaker: all_or_each("breaker", &self.breaker)?,
            switches: positions(&self.switch)?,
            lamp: all_or_each("lamp", &self.lamp)?,
            out: some(&self.out),
            lifted: some(&self.lifted),
            jumpers: some(&pairs(&self.jumper).collect::<Vec<_>>()),
            reads: Some(reads(ask, kind, &answers, self.points.len())),
            by: self.by.as_deref().map(|word| read("by", word)).transpose()?,
            ..JobReading::new(ask)
        })
    }

    /// The question, and what was answered.
    fn asked(&self) -> (Do, Vec<String>) {
        let amps: Vec<String> = self.amps.iter().cloned().collect();
        let all = [
            (Do::Watch, &self.watch),
            (Do::Volts, &self.volts),
            (Do::Ohms, &self.ohms),
            (Do::Amps, &amps),
            (Do::Load, &self.load),
        ];
        let given = all.into_iter().find(|(_, answers)| !answers.is_empty());
        given.map_or((Do::Watch, Vec::new()), |(ask, answers)| (ask, answers.clone()))
    }
}

/// The answers in the form of the job file. `0,0.1,0` is one for each of three points.
fn reads(ask: Do, with: Option<InstrumentKind>, answers: &[String], points: usize) -> JobReads {
    let one = |text: &str| typed::answer(ask, with, text);
    let named =
        |text: &String| text.split_once('=').map(|(light, seen)| (light.trim().to_owned(), one(seen)));
    if ask == Do::Watch
        && let Some(each) = answers.iter().map(named).collect::<Option<BTreeMap<String, JobAnswer>>>()
        && !each.is_empty()
    {
        return JobReads::Map(each);
    }
    let cut: Vec<&str> = answers.iter().flat_map(|text| text.split(',')).collect();
    match answers {
        _ if points > 0 && cut.len() == points => JobReads::List(cut.into_iter().map(one).collect()),
        [only] if points == 0 => JobReads::One(one(only)),
        several => JobReads::List(several.iter().map(|text| one(text)).collect()),
    }
}

fn some<T: Clone>(list: &[T]) -> Option<Vec<T>> {
    (!list.is_empty()).then(|| list.to_vec())
}

fn pairs(points: &[String]) -> impl Iterator<Item = Pair> + '_ {
    points.chunks_exact(2).map(|two| Pair(two[0].clone(), two[1].clone()))
}

/// A word of the job file.
fn read<T: Field>(key: &str, word: &str) -> Result<T, Wrong> {
    let mut wrong = Vec::new();
    T::read(&Node::text(word), &Path::top().key(key), &mut wrong).ok_or(wrong)
}

/// One word for all, or one for each name.
fn all_or_each<T: Field>(key: &str, given: &[String]) -> Result<Option<AllOrEach<T>>, Wrong> {
    match given {
        [] => Ok(None),
        [word] if !word.contains('=') => read(key, word).map(AllOrEach::All).map(Some),
        several => {
            let each = several
                .iter()
                .map(|text| named(key, text).and_then(|(name, word)| Ok((name, read(key, &word)?))));
            each.collect::<Result<_, Wrong>>().map(AllOrEach::Each).map(Some)
        }
    }
}

fn positions(given: &[String]) -> Result<Option<BTreeMap<String, String>>, Wrong> {
    let each = given.iter().map(|text| named("switch", text)).collect::<Result<BTreeMap<_, _>, Wrong>>()?;
    if each.len() < given.len() {
        let found = given.join(" ");
        let path = Path::top().key("switch");
        return Err(vec![Problem::new(path, "a switch is given twice", found, "each switch once")]);
    }
    Ok((!each.is_empty()).then_some(each))
}

fn named(key: &str, text: &str) -> Result<(String, String), Wrong> {
    match text.split_once('=') {
        Some((name, word)) if !name.trim().is_empty() => Ok((name.trim().to_owned(), word.trim().to_owned())),
        _ => {
            let path = Path::top().key(key);
            Err(vec![Problem::new(path, "a name and a value belong here", text, "NAME=VALUE")])
        }
    }
}
