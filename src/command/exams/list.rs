//! `dioptray exam list`: every exam, one a line.

use std::io::Write;

use clap::Args;
use serde::Serialize;

use super::records;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note};
use crate::export::listing::{ExamLine, list_with_others};
use crate::export::record::rfc_3339;
use crate::logbook::{ExamSummary, Indexed, PassedOver};
use crate::session::records::{Words, line};
use crate::session::writing::number;

/// The arguments of `dioptray exam list`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLE}\n\n{CAUTION}"))]
pub struct List {
    /// Write prescriptions with plus cylinders.
    #[arg(long)]
    plus: bool,
    /// Only those with these words in label, number, date or outcome: `refer`, `2026-03 glasses`
    #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
    find: String,
}

const EXAMPLE: &str = "Example:
  dioptray exam list
  dioptray exam list --find \"refer 2026-03\"

Exams that were read from parcels of other seats follow, by seat and number; in JSON they have a \"seat\". \
Times are in the time zone of this computer. In JSON, \"closed\" is null for an exam that is still open.";

#[derive(Serialize)]
struct ExamsJson {
    exams: Vec<ExamJson>,
}

#[derive(Serialize)]
struct ExamJson {
    /// Of another seat, whose number it is then.
    #[serde(skip_serializing_if = "Option::is_none")]
    seat: Option<String>,
    number: u64,
    opened: String,
    closed: Option<String>,
    label: Option<String>,
    r#box: String,
    outcome: Option<String>,
}

impl List {
    /// Lists the exams.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let writing = records::writing(self.plus)?;
        let mut others = records::lines_elsewhere(context)?;
        let logbook = match records::logbook(context) {
            // who only reads parcels of others has none
            Err(error) if error.is_missing() && !others.is_empty() => None,
            logbook => logbook?,
        };
        let summaries = logbook.as_ref().map(crate::logbook::Logbook::exams).transpose()?.unwrap_or_default();
        for PassedOver { number, why } in &summaries.passed_over {
            note(format_args!("exam {number} is left out: {why}"));
        }
        let words = Words::of(&self.find);
        let mut summaries = summaries.exams;
        summaries.retain(|summary| words.find(&Indexed::of(summary), &writing));
        others.retain(|(_, summary)| words.find(&Indexed::of(summary), &writing));
        if context.json {
            let own = summaries.into_iter().map(|summary| (None, summary));
            let others = others.into_iter().map(|(name, summary)| (Some(name.seat.to_string()), summary));
            let exams = own.chain(others).map(|(seat, summary)| ExamJson {
                seat,
                number: number(summary.number),
                opened: rfc_3339(&writing.local(summary.opened)),
                closed: summary.finished.map(|at| rfc_3339(&writing.local(at))),
                label: summary.label,
                r#box: summary.in_box.name,
                outcome: summary.found.and_then(|found| found.outcome).map(|outcome| outcome.to_string()),
            });
            write_line(out, &ExamsJson { exams: exams.collect() })?;
            return Ok(Outcome::Done);
        }
        let (lines, unread): (Vec<&ExamSummary>, _) = summaries.iter().partition(|summary| summary.found.is_some());
        for (summary, logbook) in unread.into_iter().zip(logbook.iter().cycle()) {
            // the others are to be seen all the same
            if let Err(error) = logbook.read_exam(summary.number) {
                note(format_args!("exam {} is left out: {error}", summary.number));
            }
        }
        let others: Vec<(String, ExamLine)> =
            others.iter().map(|(name, summary)| (name.to_string(), line(summary, &writing))).collect();
        if lines.is_empty() && others.is_empty() {
            writeln!(out, "{}", if self.find.is_empty() { "no exams yet" } else { "no exam has these words" })?;
        } else {
            let lines: Vec<ExamLine> = lines.into_iter().map(|summary| line(summary, &writing)).collect();
            out.write_all(list_with_others(&lines, &others).as_bytes())?;
        }
        Ok(Outcome::Done)
    }
}
