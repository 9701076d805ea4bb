//! `dioptray exam show`: the record of one exam.

use std::io::Write;

use clap::Args;

use super::records;
use crate::command::{CAUTION, Context, Outcome};
use crate::export::{json, listing};

/// The arguments of `dioptray exam show`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Show {
    /// The number of the exam; `dioptray exam list` lists them.
    #[arg(value_name = "N")]
    number: u64,
    /// Write the prescription with plus cylinders.
    #[arg(long)]
    plus: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray exam show 14
  dioptray exam show 14 --plus --json

JSON is the record as `dioptray exam export 14 --as json` writes it.";

impl Show {
    /// Shows the exam.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let stored = records::exam(context, self.number)?;
        let record = writing.record(&stored);
        let text = if context.json { json::json(&record)? } else { listing::show(&record, &stored.exam.state().trail) };
        out.write_all(text.as_bytes())?;
        Ok(Outcome::Done)
    }
}
