//! `dioptray exam list`: every exam, one a line.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome};
use crate::export::listing::list;
use crate::export::record::rfc_3339;
use crate::logbook::PassedOver;
use crate::session::writing::number;

/// The arguments of `dioptray exam list`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLE}\n\n{CAUTION}"))]
pub struct List {
    /// Write prescriptions with plus cylinders.
    #[arg(long)]
    plus: bool,
}

const EXAMPLE: &str = "Example:
  dioptray exam list

Times are in the time zone of this computer. In JSON, \"closed\" is null for an exam that is still open.";

#[derive(Serialize)]
struct Answer {
    exams: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    number: u64,
    opened: String,
    closed: Option<String>,
    label: Option<String>,
    r#box: String,
}

impl List {
    /// Lists the exams.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let logbook = records::logbook(context)?;
        let summaries = logbook.as_ref().map(crate::logbook::Logbook::exams).transpose()?.unwrap_or_default();
        for PassedOver { number, why } in &summaries.passed_over {
            eprintln!("note: exam {number} is left out: {why}");
        }
        let summaries = summaries.exams;
        if context.json {
            let exams = summaries.into_iter().map(|summary| Line {
                number: number(summary.number),
                opened: rfc_3339(&writing.local(summary.opened)),
                closed: summary.finished.map(|at| rfc_3339(&writing.local(at))),
                label: summary.label,
                r#box: summary.in_box.name,
            });
            write_line(out, &Answer { exams: exams.collect() })?;
            return Ok(Outcome::Done);
        }
        let mut written = Vec::new();
        for (summary, logbook) in summaries.iter().zip(std::iter::repeat(&logbook)) {
            let Some(logbook) = logbook else { break };
            match logbook.read_exam(summary.number) {
                Ok(stored) => written.push(writing.record(&stored)),
                // the others are to be seen all the same
                Err(error) => eprintln!("note: exam {} is left out: {error}", summary.number),
            }
        }
        if written.is_empty() {
            writeln!(out, "no exams yet")?;
        } else {
            out.write_all(list(&written).as_bytes())?;
        }
        Ok(Outcome::Done)
    }
}
