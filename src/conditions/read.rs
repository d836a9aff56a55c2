//! The packs of conditions, from data into types, with whatever is wrong with them.
//!
//! A pack file may hold a scale, codes, observations, rules of box fill, and conditions. Words are looked up in all
//! files together: a condition may use an observation that another file names.

use super::facts::{self, FIELDS, FieldKind, FieldSpec, Scope};
use super::fill::{FillRule, GroundRule};
use super::pack::{Checked, Code, Condition, Level, Observation, Pack, Provision, Trigger};
use super::rule::{Rule, Test};
use crate::call::job::field::Fields;
use crate::call::job::{Field, Node, Path, Problem, any_of, likely, read_node};
use crate::knowledge::{Caution, DefectName};
use std::collections::BTreeMap;

/// Something wrong with a pack file.
#[derive(Clone, PartialEq, Debug)]
pub struct Misread {
    /// Which file, by its place in the list.
    pub file: usize,
    /// What is wrong with it, and where.
    pub problem: Problem,
}

/// The top-level keys of a pack of conditions.
const KEYS: [&str; 5] = ["scale", "codes", "observations", "fill", "conditions"];

/// Reads pack files together; rules may name some schemes.
///
/// # Errors
/// Everything that is wrong with any of them.
pub fn read(files: &[Node], schemes: Vec<String>) -> Result<Pack, Vec<Misread>> {
    let mut wrong = Vec::new();
    let mut pack = Pack { schemes, ..Pack::default() };
    let each = |wrong: &mut Vec<Misread>, read: &mut dyn FnMut(&Node, &mut Vec<Problem>)| {
        for (file, node) in files.iter().enumerate() {
            let mut out = Vec::new();
            read(node, &mut out);
            wrong.extend(out.into_iter().map(|problem| Misread { file, problem }));
        }
    };
    each(&mut wrong, &mut |node, out| {
        // Keys that stand twice are found by the reader of any data.
        out.extend(read_node::<Node>(node).err().unwrap_or_default());
        words(node, &mut pack, out);
    });
    let known = std::mem::take(&mut pack);
    let mut conditions: Vec<Condition> = Vec::new();
    each(&mut wrong, &mut |node, out| {
        let list = items(node, "conditions", out);
        for (at, node) in list {
            if let Some(condition) = condition(node, &at, &known, out) {
                if conditions.iter().any(|other| other.name == condition.name) {
                    let what = "two conditions have the same name";
                    let path = at.key("name");
                    out.push(Problem::new(path, what, condition.name.as_str(), "a name of its own"));
                }
                conditions.push(condition);
            }
        }
    });
    if wrong.is_empty() { Ok(Pack { conditions, ..known }) } else { Err(wrong) }
}

/// All but the conditions: what these look their words up in.
fn words(node: &Node, pack: &mut Pack, out: &mut Vec<Problem>) {
    if Fields::open(node, &Path::top(), &KEYS, out).is_none() {
        return;
    }
    for (at, node) in items(node, "scale", out) {
        pack.scale.extend(level(node, &at, out));
    }
    for (at, node) in items(node, "codes", out) {
        pack.codes.extend(code(node, &at, out));
    }
    if let Some(list) = node.get("observations") {
        let at = Path::top().key("observations");
        let words = BTreeMap::<String, String>::read(list, &at, out).unwrap_or_default();
        pack.observations.extend(words.into_iter().map(|(name, words)| Observation { name, words }));
    }
    for (at, node) in items(node, "fill", out) {
        pack.fill.extend(fill(node, &at, out));
    }
}

/// The items of a top-level list, each with its place.
fn items<'a>(node: &'a Node, key: &str, out: &mut Vec<Problem>) -> Vec<(Path, &'a Node)> {
    let at = Path::top().key(key);
    match node.get(key) {
        None | Some(Node::Null) => Vec::new(),
        Some(Node::List(items)) => items.iter().enumerate().map(|(i, item)| (at.index(i), item)).collect(),
        Some(other) => {
            out.push(Problem::new(
                at,
                "a list belongs here",
                other.excerpt(),
                "one item after the other, each behind a -",
            ));
            Vec::new()
        }
    }
}

fn level(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Level> {
    let fields = Fields::open(node, at, &["name", "words", "means", "from"], out)?;
    let name = fields.take("name", out);
    let words = text(&fields, "words", at, out);
    let means = text(&fields, "means", at, out);
    let from: Option<f64> = fields.take("from", out);
    if let Some(from) = from.filter(|from| !(0.0..=1.0).contains(from)) {
        out.push(Problem::new(
            at.key("from"),
            "a probability belongs here",
            from.to_string(),
            "a number from 0 to 1",
        ));
    }
    Some(Level { name: name?, words: words?, means: means?, from: from? })
}

fn code(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Code> {
    let fields = Fields::open(node, at, &["code", "regions", "names", "newest"], out)?;
    let code = fields.take("code", out);
    let regions = fields.take("regions", out);
    let names = fields.take("names", out);
    let newest = fields.take("newest", out);
    Some(Code { code: code?, regions: regions?, names: names?, newest: newest? })
}

fn fill(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<FillRule> {
    let keys = [
        "code",
        "from",
        "section",
        "allowances",
        "strap",
        "clamps",
        "fitting",
        "connectors",
        "grounds",
        "source",
    ];
    let fields = Fields::open(node, at, &keys, out)?;
    let code = fields.take("code", out);
    let from = fields.take("from", out);
    let section = fields.take("section", out);
    let allowances: Option<BTreeMap<String, f64>> = fields.take("allowances", out);
    let allowances = allowances.and_then(|all| by_gauge(all, &at.key("allowances"), out));
    let strap = fields.take("strap", out);
    let clamps = fields.take("clamps", out);
    let fitting = fields.take("fitting", out);
    let connectors = fields.take("connectors", out);
    let source = text(&fields, "source", at, out);
    let grounds: Option<Node> = fields.take("grounds", out);
    let grounds = grounds.and_then(|grounds| ground_rule(&grounds, &at.key("grounds"), out));
    Some(FillRule {
        code: code?,
        from: from?,
        section: section?,
        allowances: allowances?,
        strap: strap?,
        clamps: clamps?,
        fitting: fitting?,
        connectors: connectors?,
        grounds: grounds?,
        source: source?,
    })
}

fn by_gauge(all: BTreeMap<String, f64>, at: &Path, out: &mut Vec<Problem>) -> Option<BTreeMap<u8, f64>> {
    let each = all.into_iter().map(|(gauge, inches)| match gauge.parse() {
        Ok(number) => Some((number, inches)),
        Err(_) => {
            let what = "a wire size in American wire gauge belongs here";
            out.push(Problem::new(at.key(&gauge), what, gauge.as_str(), "a number such as 14").at_key(0));
            None
        }
    });
    each.collect()
}

fn ground_rule(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<GroundRule> {
    let fields = Fields::open(node, at, &["first", "together", "further"], out)?;
    let first = fields.take("first", out);
    let together: Option<Option<i64>> = fields.take("together", out);
    let further: Option<Option<f64>> = fields.take("further", out);
    let together = together?.and_then(|many| usize::try_from(many).ok());
    Some(GroundRule { first: first?, together, further: further?.unwrap_or(0.0) })
}

/// A text that says something.
fn text(fields: &Fields<'_>, key: &str, at: &Path, out: &mut Vec<Problem>) -> Option<String> {
    let text: String = fields.take(key, out)?;
    let short = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if short.is_empty() {
        out.push(Problem::new(at.key(key), "there is no text here", text, "what it is to say"));
        return None;
    }
    Some(short)
}

const CONDITION: [&str; 10] = [
    "name",
    "title",
    "serious",
    "regions",
    "found",
    "says",
    "usually",
    "installed",
    "cautions",
    "provisions",
];

fn condition(node: &Node, at: &Path, known: &Pack, out: &mut Vec<Problem>) -> Option<Condition> {
    let fields = Fields::open(node, at, &CONDITION, out)?;
    let name = fields.take("name", out);
    let title = text(&fields, "title", at, out);
    let serious: Option<String> = fields.take("serious", out);
    let level = serious.and_then(|word| {
        let names = known.scale.iter().map(|level| level.name.as_str());
        place(&word, names, &at.key("serious"), "a step of the scale", out)
    });
    let regions: Option<Option<Vec<String>>> = fields.take("regions", out);
    let found = triggers(&fields, at, known, out);
    let says = text(&fields, "says", at, out);
    let usually = text(&fields, "usually", at, out);
    let installed = node.get("installed").and_then(|_| text(&fields, "installed", at, out));
    let cautions = cautions(&fields, at, out);
    let provisions = provisions(node, at, known, out);
    Some(Condition {
        name: name?,
        title: title?,
        level: level?,
        regions: regions?.unwrap_or_default(),
        found: found?,
        says: says?,
        usually: usually?,
        installed,
        cautions: cautions?,
        provisions,
    })
}

/// The place of a word in a list of known ones; anything else is reported.
fn place<'a>(
    word: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    at: &Path,
    what: &str,
    out: &mut Vec<Problem>,
) -> Option<usize> {
    let found = known.clone().position(|one| one == word);
    if found.is_none() {
        let instead = match likely(word, known.clone()) {
            Some(near) => format!("{near} (one of {})", any_of(known)),
            None => format!("one of {}", any_of(known)),
        };
        out.push(Problem::new(at.clone(), format!("{what} belongs here"), word, instead));
    }
    found
}

fn cautions(fields: &Fields<'_>, at: &Path, out: &mut Vec<Problem>) -> Option<Vec<Caution>> {
    let words: Option<Vec<String>> = fields.take("cautions", out)?;
    let at = at.key("cautions");
    let each = words.unwrap_or_default().into_iter().enumerate().map(|(i, word)| {
        let names = Caution::ALL.iter().map(|caution| caution.word());
        place(&word, names, &at.index(i), "the name of a caution", out).map(|n| Caution::ALL[n])
    });
    each.collect()
}

fn triggers(fields: &Fields<'_>, at: &Path, known: &Pack, out: &mut Vec<Problem>) -> Option<Vec<Trigger>> {
    let list: Vec<Node> = fields.take("found", out)?;
    let at = at.key("found");
    if list.is_empty() {
        out.push(Problem::new(at, "nothing triggers this", "[]", "at least one {about: …, when: …}"));
        return None;
    }
    let each: Vec<Option<Trigger>> =
        list.iter().enumerate().map(|(i, node)| trigger(node, &at.index(i), known, out)).collect();
    each.into_iter().collect()
}

fn trigger(node: &Node, at: &Path, known: &Pack, out: &mut Vec<Problem>) -> Option<Trigger> {
    let fields = Fields::open(node, at, &["about", "when"], out)?;
    let about: String = fields.take("about", out)?;
    let scopes = Scope::ALL.iter().map(|scope| scope.word());
    let about = Scope::ALL[place(&about, scopes, &at.key("about"), "what it is found at", out)?];
    let when: Node = fields.take("when", out)?;
    let when = Rules { about, known }.rule(&when, &at.key("when"), out)?;
    Some(Trigger { about, when })
}

/// Reads rules about one kind of thing.
struct Rules<'a> {
    about: Scope,
    known: &'a Pack,
}

impl Rules<'_> {
    fn rule(&self, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Rule> {
        let Node::Map(entries) = node else {
            let instead = "a map of fields and what they have to hold, as in {role: line}";
            out.push(Problem::new(at.clone(), "a rule belongs here", node.excerpt(), instead));
            return None;
        };
        if entries.is_empty() {
            out.push(Problem::new(at.clone(), "this rule asks for nothing", "{}", "at least one field"));
            return None;
        }
        let parts: Vec<Option<Rule>> =
            entries.iter().map(|(key, node)| self.entry(key, node, &at.key(key), out)).collect();
        let mut parts = parts.into_iter().collect::<Option<Vec<Rule>>>()?;
        if parts.len() == 1 { parts.pop() } else { Some(Rule::All(parts)) }
    }

    fn entry(&self, key: &str, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Rule> {
        match key {
            "any" => self.list(node, at, out).map(Rule::Any),
            "all" => self.list(node, at, out).map(Rule::All),
            "not" => self.rule(node, at, out).map(|rule| Rule::Not(Box::new(rule))),
            name => {
                let spec = self.spec(name, at, out)?;
                self.test(spec, node, at, out).map(|test| Rule::Field(name.to_owned(), test))
            }
        }
    }

    fn list(&self, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Vec<Rule>> {
        let list = Vec::<Node>::read(node, at, out)?;
        let each: Vec<Option<Rule>> =
            list.iter().enumerate().map(|(i, node)| self.rule(node, &at.index(i), out)).collect();
        each.into_iter().collect()
    }

    /// A field that a rule about this may ask for.
    fn spec(&self, name: &str, at: &Path, out: &mut Vec<Problem>) -> Option<&'static FieldSpec> {
        let seen = FIELDS.iter().filter(|field| self.about.sees(field.scope)).map(|field| field.name);
        let found = facts::spec(name).filter(|field| self.about.sees(field.scope));
        if found.is_none() {
            let what = match facts::spec(name) {
                Some(other) => format!(
                    "{name} is a field of a {}, and this is about a {}",
                    other.scope.word(),
                    self.about.word()
                ),
                None => "there is no such field".to_owned(),
            };
            let instead = match likely(name, seen.clone()) {
                Some(near) => format!("{near}, or another field of a {}", self.about.word()),
                None => format!("any, all, not, {}", any_of(seen)),
            };
            out.push(Problem::new(at.clone(), what, name, instead).at_key(0));
        }
        found
    }

    fn test(&self, spec: &FieldSpec, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Test> {
        if spec.kind == FieldKind::Number {
            return number_test(node, at, out);
        }
        if let Node::Map(_) = node {
            let fields = Fields::open(node, at, &["only", "none"], out)?;
            let only: Option<Node> = fields.take("only", out)?;
            let none: Option<Node> = fields.take("none", out)?;
            return match (only, none) {
                (Some(only), None) => self.words(spec, &only, &at.key("only"), out).map(Test::Only),
                (None, Some(none)) => self.words(spec, &none, &at.key("none"), out).map(Test::None),
                _ => {
                    let instead = "either {only: [...]} or {none: [...]}";
                    out.push(Problem::new(
                        at.clone(),
                        "one of the two belongs here",
                        node.excerpt(),
                        instead,
                    ));
                    None
                }
            };
        }
        self.words(spec, node, at, out).map(Test::Any)
    }

    /// One word or a list of words that the field may hold.
    fn words(&self, spec: &FieldSpec, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Vec<String>> {
        if !matches!(node, Node::List(_)) {
            return self.word(spec, node, at, out).map(|word| vec![word]);
        }
        let list = Vec::<Node>::read(node, at, out)?;
        let each: Vec<Option<String>> =
            list.iter().enumerate().map(|(i, node)| self.word(spec, node, &at.index(i), out)).collect();
        each.into_iter().collect()
    }

    fn word(&self, spec: &FieldSpec, node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<String> {
        let yes_no = spec.kind == FieldKind::Words(&["yes", "no"]);
        let word = match node {
            Node::Bool(on) if yes_no => Some(if *on { "yes" } else { "no" }.to_owned()),
            node => String::read(node, at, out),
        }?;
        let what = format!("what {} can hold", spec.name);
        match spec.kind {
            FieldKind::Words(words) => {
                place(&word, words.iter().copied(), at, &what, out)?;
            }
            FieldKind::Defect => {
                let names = DefectName::ALL.iter().map(|name| name.word());
                place(&word, names, at, &what, out)?;
            }
            FieldKind::Observation => {
                let names = self.known.observations.iter().map(|one| one.name.as_str());
                place(&word, names, at, "the name of an observation", out)?;
            }
            FieldKind::Scheme => {
                let names = self.known.schemes.iter().map(String::as_str);
                place(&word, names, at, "the name of a scheme", out)?;
            }
            FieldKind::Name | FieldKind::Number => {}
        }
        Some(word)
    }
}

/// A number, or a range `{from: …, to: …}`.
fn number_test(node: &Node, at: &Path, out: &mut Vec<Problem>) -> Option<Test> {
    if let Node::Map(_) = node {
        let fields = Fields::open(node, at, &["from", "to"], out)?;
        let from: Option<f64> = fields.take("from", out)?;
        let to: Option<f64> = fields.take("to", out)?;
        if let (Some(least), Some(most)) = (from, to)
            && least > most
        {
            let what = "nothing lies in this range";
            out.push(Problem::new(at.clone(), what, node.excerpt(), "the smaller figure under from"));
        }
        return Some(Test::Range { from, to });
    }
    let value = f64::read(node, at, out)?;
    Some(Test::Range { from: Some(value), to: Some(value) })
}

fn provisions(node: &Node, at: &Path, known: &Pack, out: &mut Vec<Problem>) -> Vec<Provision> {
    let at = at.key("provisions");
    let list = node.get("provisions").map(|list| Vec::<Node>::read(list, &at, out).unwrap_or_default());
    let list = list.unwrap_or_default();
    let mut read = Vec::new();
    for (i, node) in list.iter().enumerate() {
        read.extend(provision(node, &at.index(i), known, out));
    }
    read
}

fn provision(node: &Node, at: &Path, known: &Pack, out: &mut Vec<Problem>) -> Option<Provision> {
    let keys = ["code", "section", "since", "until", "says", "checked", "source"];
    let fields = Fields::open(node, at, &keys, out)?;
    let code: Option<String> = fields.take("code", out);
    if let Some(code) = &code {
        let codes = known.codes.iter().map(|one| one.code.as_str());
        place(code, codes, &at.key("code"), "a code that the packs name", out)?;
    }
    let section = fields.take("section", out);
    let since: Option<Option<i64>> = fields.take("since", out);
    let until: Option<Option<i64>> = fields.take("until", out);
    let says = text(&fields, "says", at, out);
    let checked: Option<String> = fields.take("checked", out);
    let ways = [
        ("text", Checked::Text),
        ("quoted", Checked::Quoted),
        ("reported", Checked::Reported),
        ("memory", Checked::Memory),
    ];
    let names = ways.iter().map(|(word, _)| *word);
    let checked = checked.and_then(|word| place(&word, names, &at.key("checked"), "how it was checked", out));
    let checked = checked.map(|n| ways[n].1);
    let source: Option<Option<String>> = fields.take("source", out);
    let source = source?.unwrap_or_default();
    if source.is_empty() && checked.is_some_and(|checked| checked != Checked::Memory) {
        let instead = "source: and where it was read, or checked: memory";
        out.push(Problem::new(at.clone(), "it was read, and nobody says where", node.excerpt(), instead));
    }
    Some(Provision {
        code: code?,
        section: section?,
        since: since?,
        until: until?,
        says: says?,
        checked: checked?,
        source,
    })
}

/// Defects that no condition of a pack is about.
pub fn defects_untold(pack: &Pack) -> Vec<&'static str> {
    let triggers = || pack.conditions.iter().flat_map(|condition| &condition.found);
    let told = |name: &str| {
        let mut tests = triggers().flat_map(|trigger| trigger.when.tests());
        tests.any(|(field, test)| match test {
            Test::Any(words) => field == "defect" && words.iter().any(|word| word == name),
            _ => false,
        })
    };
    DefectName::ALL.iter().map(|name| name.word()).filter(|name| !told(name)).collect()
}
