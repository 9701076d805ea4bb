//! `dioptray box undo`: takes back what was noted, which stays in the history as a slip.

use std::io::Write;

use anyhow::anyhow;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::chosen::{BoxToNote, open_logbook};
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::kit::BoxChange;

/// The arguments of `dioptray box undo`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Undo {
    #[command(flatten)]
    which: BoxToNote,
    /// The entry to take back, by its place in `box history`; without it, the last one that stands.
    #[arg(long, value_name = "PLACE")]
    entry: Option<i64>,
    /// Who takes it back; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box undo --box box.yaml
  dioptray box undo --box box.yaml --entry 12

What was taken back stays in the history as a slip.";

#[derive(Serialize)]
struct UndoneJson<'a> {
    r#box: &'a str,
    entry: i64,
    undone: Vec<OneJson>,
}

#[derive(Serialize)]
struct OneJson {
    change: &'static str,
    piece: String,
}

impl Undo {
    /// Takes it back.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let chosen = self.which.read(context)?;
        let entry = self.entry.map(|place| {
            let found = chosen.record.entries.all.iter().find(|stored| stored.place == place);
            found.map(|stored| stored.entry).ok_or_else(|| {
                anyhow!("the box {} has no entry {place}: `box history` numbers them", chosen.named.name)
            })
        });
        let entry = entry.transpose()?;
        let now = Timestamp::now();
        let mut logbook = open_logbook(&chosen, context, now)?;
        let by = examiner(self.by)?;
        let done = logbook.undo_in_box(&chosen.named, &chosen.declared, entry, by.as_deref(), now)?;
        let changes = done.slip.body.changes();
        let box_name = done.on_record.stock.box_name.as_str();
        let said = if context.json {
            let undone = changes.iter().map(|one| OneJson { change: one.word(), piece: one.subject() }).collect();
            write_line(out, &UndoneJson { r#box: box_name, entry: done.slip.place, undone })
        } else {
            let handed = done
                .slip
                .body
                .hands_over()
                .map(|to| to.map_or_else(|| "handed back".to_owned(), |to| format!("handed over to {to}")));
            let handed = handed.iter().try_for_each(|what| writeln!(out, "{box_name}: a slip: {what}"));
            let each = |one: &BoxChange| writeln!(out, "{box_name}: a slip: {}: {}", one.word(), one.subject());
            handed.and_then(|()| changes.iter().try_for_each(each))
        };
        match said.and_then(|()| out.flush()) {
            Ok(()) => Ok(Outcome::Done),
            Err(error) => {
                note(format_args!(
                    "this was done, and only its answer could not be written ({error}): {box_name}: entry {} was taken back",
                    done.slip.place
                ));
                Ok(Outcome::DoneUnsaid)
            }
        }
    }
}
