//! `lath schema`: prints the JSON Schema of a document.

use super::Screen;
use super::exit::{Exit, Trouble};
use crate::call::job::Job;
use crate::plan::Next;
use crate::verdict::Verdict;
use schemars::{Schema, schema_for};

/// Arguments of `lath schema`.
#[derive(clap::Args, Debug)]
pub struct Arguments {
    /// Which document: job, verdict or next.
    #[arg(value_enum, default_value_t = Document::Job, hide_possible_values = true)]
    document: Document,
}

/// The documents that have a schema.
#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum Document {
    /// The job file.
    Job,
    /// What `lath verdict --json` prints.
    Verdict,
    /// What `lath next --json` prints.
    Next,
}

impl Document {
    fn schema(self) -> Schema {
        match self {
            Document::Job => schema_for!(Job),
            Document::Verdict => schema_for!(Verdict),
            Document::Next => schema_for!(Next),
        }
    }
}

/// Runs it.
pub fn run(arguments: &Arguments, screen: &mut Screen) -> Result<Exit, Trouble> {
    let text = serde_json::to_string_pretty(&arguments.document.schema())
        .map_err(|error| Trouble::Internal(error.to_string()))?;
    writeln!(screen.out, "{text}")?;
    Ok(Exit::Done)
}
