//! `dioptray exam show`: the record of one exam.

use std::io::Write;

use clap::Args;

use super::name::{ExamName, exam_name};
use super::records;
use crate::command::{CAUTION, Context, Outcome};
use crate::export::{json, listing};

/// The arguments of `dioptray exam show`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Show {
    /// The number of the exam, or seat and number of one of another seat; `dioptray exam list` lists them.
    #[arg(value_name = "N", value_parser = exam_name)]
    exam: ExamName,
    /// Write the prescription with plus cylinders.
    #[arg(long)]
    plus: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray exam show 14
  dioptray exam show 14 --plus --json
  dioptray exam show lane3-14

JSON is the record as `dioptray exam export 14 --as json` writes it.";

impl Show {
    /// Shows the exam.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let stored = records::named(context, &self.exam)?;
        let record = writing.record(&stored);
        let shown = || listing::show(&record, &stored.exam.state().trail);
        let text = match (context.json, self.exam) {
            (true, _) => json::json(&record)?,
            (false, ExamName::Own(_)) => shown(),
            (false, ExamName::Elsewhere(name)) => {
                let read_only = format!("Exam {name}: exam {} of the seat {}, to be read only", name.number, name.seat);
                format!("{read_only}\n\n{}", shown())
            }
        };
        out.write_all(text.as_bytes())?;
        Ok(Outcome::Done)
    }
}
