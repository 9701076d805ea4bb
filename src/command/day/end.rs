//! `dioptray day end`: the end of the day.

use std::io::Write;

use anyhow::bail;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::which::open_day;
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::day::DayEvent;
use crate::kit::document::fault::list;
use crate::session::DayNow;

/// The arguments of `dioptray day end`.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:\n  dioptray day end\n  dioptray day end --sure\n\n{CAUTION}"))]
pub struct EndDay {
    /// End it although somebody still waits or is in an exam.
    #[arg(long)]
    sure: bool,
    /// Who ends it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

#[derive(Serialize)]
struct EndedJson {
    ended: bool,
    seen: usize,
    not_seen: Vec<u32>,
}

impl EndDay {
    /// Ends the day.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let by = examiner(self.by)?;
        let (mut logbook, day) = open_day(context)?;
        let id = day.id;
        let at = Timestamp::now();
        let now = DayNow::of(&logbook, day, at)?;
        let not_seen = now.lines.iter().filter(|line| !line.state.was_seen() && !line.state.has_left());
        let not_seen: Vec<u32> = not_seen.map(|line| line.number).collect();
        if !not_seen.is_empty() && !self.sure {
            let numbers: Vec<String> = not_seen.iter().map(ToString::to_string).collect();
            bail!("not seen yet: {}; end the day all the same with --sure", list(&numbers));
        }
        logbook.note_in_day(id, &[DayEvent::Ended], by.as_deref(), at)?;
        if context.json {
            write_line(out, &EndedJson { ended: true, seen: now.figures.seen, not_seen })?;
        } else {
            writeln!(out, "the day has ended: {} seen, {} not seen", now.figures.seen, not_seen.len())?;
        }
        Ok(Outcome::Done)
    }
}
