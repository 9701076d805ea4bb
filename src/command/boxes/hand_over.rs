//! `dioptray box hand-over`: a box goes out to another seat.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::chosen::{BoxToNote, open_logbook};
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};

/// The arguments of `dioptray box hand-over`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct HandOver {
    #[command(flatten)]
    which: BoxToNote,
    /// The seat that has it from now on: that alone changes it until it is handed back.
    #[arg(long, value_name = "SEAT", required_unless_present = "back", value_parser = values::text())]
    to: Option<String>,
    /// It is handed back: every seat may change it again.
    #[arg(long, conflicts_with = "to")]
    back: bool,
    /// Who notes it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box hand-over --box box.yaml --to teamB
  dioptray box hand-over --box box.yaml --back

Write a parcel afterwards (`dioptray parcel write`), so that the other seats hear of it. What another seat notes of the box before it hears of it is kept, counts for nothing, and is listed (`dioptray box settle`) while the box is handed over.";

#[derive(Serialize)]
struct HandedJson<'a> {
    r#box: &'a str,
    /// The seat; null where it was handed back.
    handed_over_to: Option<&'a str>,
}

impl HandOver {
    /// Notes it.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Self { which, to, back: _, by } = self;
        let chosen = which.read(context)?;
        let (now, by) = (Timestamp::now(), examiner(by)?);
        let mut logbook = open_logbook(&chosen, context, now)?;
        let to = to.as_deref().map(str::trim);
        let done = logbook.hand_over_box(&chosen.named, &chosen.declared, to, by.as_deref(), now)?;
        let box_name = done.stock.box_name.as_str();
        let what = to.map_or_else(|| "handed back".to_owned(), |to| format!("handed over to {to}"));
        let said = if context.json {
            write_line(out, &HandedJson { r#box: box_name, handed_over_to: to })
        } else {
            writeln!(out, "{box_name}: {what}")
        };
        match said.and_then(|()| out.flush()) {
            Ok(()) => Ok(Outcome::Done),
            Err(error) => {
                note(format_args!(
                    "this was done, and only its answer could not be written ({error}): {box_name}: {what}"
                ));
                Ok(Outcome::DoneUnsaid)
            }
        }
    }
}
