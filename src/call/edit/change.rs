//! One change of a job's document, and the change that takes it back.

use crate::call::job::{Node, field::record};

record! {
    /// A change to one field of the document: a value in the place of the whole field or, where `at` is given, items in the
    /// place of `take` items of its list.
    pub struct Change {
        /// The field.
        "in" field: String,
        /// Where in its list, from 0.
        "at" at: Option<i64>,
        /// How many items go.
        "take" take: Option<i64>,
        /// The value that comes, or the list of items; nothing where only something goes.
        "put" put: Option<Node>,
        /// The mark of what goes, so that nothing else is taken away; not looked at where it is not given.
        "was" was: Option<String>,
    }
}

impl Change {
    /// Another value of a field; none takes it out.
    pub fn field(field: &str, value: Option<Node>) -> Change {
        Change { field: field.to_owned(), at: None, take: None, put: value, was: None }
    }

    /// Items in the place of `take` items of a list, from `at`.
    pub fn items(field: &str, at: usize, take: usize, put: Vec<Node>) -> Change {
        let put = (!put.is_empty()).then_some(Node::List(put));
        let (at, take) = (Some(at as i64), (take > 0).then_some(take as i64));
        Change { field: field.to_owned(), at, take, put, was: None }
    }

    /// Makes the change in a document and gives the one that takes it back; nothing, and nothing is changed, where it does
    /// not fit.
    pub fn make(&self, document: &mut Node) -> Option<Change> {
        let Node::Map(fields) = document else { return None };
        let place = fields.iter().position(|(key, _)| *key == self.field);
        let before = place.map(|place| fields[place].1.clone());
        let (after, inverse) = match self.at {
            None => self.whole(before),
            Some(at) => self.within(before, usize::try_from(at).ok()?),
        }?;
        match (place, after) {
            (Some(place), Some(value)) => fields[place].1 = value,
            (Some(place), None) => drop(fields.remove(place)),
            (None, Some(value)) => fields.push((self.field.clone(), value)),
            (None, None) => {}
        }
        Some(inverse)
    }

    /// The whole field: what it becomes, and the change back.
    fn whole(&self, before: Option<Node>) -> Option<(Option<Node>, Change)> {
        let after = self.put.clone();
        self.fits(before.as_ref())?;
        let back =
            Change { was: Some(mark(after.as_ref())), ..Change::field(&self.field, before.map(plain)) };
        Some((after, back))
    }

    /// Items of its list. A list that is not there yet comes with its first item and goes with it.
    fn within(&self, before: Option<Node>, at: usize) -> Option<(Option<Node>, Change)> {
        let take = usize::try_from(self.take.unwrap_or(0)).ok()?;
        let put = match &self.put {
            None => Vec::new(),
            Some(Node::List(items)) => items.clone(),
            Some(_) => return None,
        };
        let Some(before) = before else {
            let whole = Change { put: Some(Node::List(put)), at: None, ..self.clone() };
            return (at == 0 && take == 0).then(|| whole.whole(None)).flatten();
        };
        let Node::List(mut items) = before else { return None };
        let end = at.checked_add(take).filter(|&end| end <= items.len())?;
        let count = put.len();
        let coming = Node::List(put.clone());
        self.fits(Some(&Node::List(items[at..end].to_vec())))?;
        let gone: Vec<Node> = items.splice(at..end, put).map(plain).collect();
        let back = Change { was: Some(mark(Some(&coming))), ..Change::items(&self.field, at, count, gone) };
        Some((Some(Node::List(items)), back))
    }

    fn fits(&self, going: Option<&Node>) -> Option<()> {
        self.was.as_ref().is_none_or(|was| *was == mark(going)).then_some(())
    }
}

/// Somebody's words as plain text: in the history nothing tells the two apart when it is read again.
fn plain(node: Node) -> Node {
    match node {
        Node::Prose(text) => Node::Text(text),
        Node::List(items) => Node::List(items.into_iter().map(plain).collect()),
        Node::Map(fields) => Node::Map(fields.into_iter().map(|(key, node)| (key, plain(node))).collect()),
        scalar => scalar,
    }
}

/// A mark that tells one value from another: 64-bit FNV-1a of how it would be written. It guards against a file that was
/// edited by hand in the meantime, not against malice.
fn mark(node: Option<&Node>) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    let mut eat = |text: &str| {
        // A byte that no text holds ends each piece.
        for byte in text.bytes().chain([0xff]) {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    };
    pieces(node.unwrap_or(&Node::Null), &mut eat);
    format!("x{hash:016x}")
}

fn pieces(node: &Node, eat: &mut impl FnMut(&str)) {
    match node {
        Node::List(items) => {
            eat("[");
            items.iter().for_each(|item| pieces(item, eat));
            eat("]");
        }
        Node::Map(fields) => {
            eat("{");
            for (key, value) in fields {
                eat(key);
                pieces(value, eat);
            }
            eat("}");
        }
        Node::Null => eat("null"),
        scalar => eat(&scalar.word().unwrap_or_default()),
    }
}
