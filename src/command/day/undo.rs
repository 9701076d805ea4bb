//! `dioptray day undo`: what was noted last of a day was a slip.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::which::any_day;
use crate::command::exams::records::examiner;
use crate::command::files::logbook_path;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::day::DayEvent;
use crate::kit::document::fault::counted;
use crate::logbook::Logbook;

/// More than these are counted.
const MOST_NAMED: usize = 3;

/// The arguments of `dioptray day undo`.
#[derive(Debug, Args)]
#[command(after_help = format!("Example:\n  dioptray day undo\n\nHow a day began and that an exam began stay; the end of a day can be taken back.\n\n{CAUTION}"))]
pub struct UndoDay {
    /// Who takes it back; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

#[derive(Serialize)]
struct UndoneJson<'a> {
    taken_back: &'a [DayEvent],
}

impl UndoDay {
    /// Takes it back.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let by = examiner(self.by)?;
        let (_, _, day) = any_day(context, None)?;
        let mut logbook = Logbook::open(&logbook_path(context)?)?;
        let (_, slip) = logbook.undo_in_day(day.id, by.as_deref(), Timestamp::now())?;
        let events = slip.body.events();
        if context.json {
            write_line(out, &UndoneJson { taken_back: events })?;
        } else {
            writeln!(out, "taken back: {}", said(events))?;
        }
        Ok(Outcome::Done)
    }
}

fn said(events: &[DayEvent]) -> String {
    if events.len() > MOST_NAMED {
        return counted(events.len(), "entry", "entries");
    }
    events.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
