//! `dioptray day`: a day of many people.

mod add;
mod end;
mod export;
mod list;
mod start;
mod undo;

use std::io::Write;

use anyhow::{anyhow, bail};
use clap::{Args, Subcommand};

use super::exams::records::logbook;
use super::files::logbook_path;
use super::{CAUTION, Context, Outcome, note};
use crate::logbook::{DayId, DayOnRecord, Logbook};

/// The arguments of `dioptray day`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Days {
    #[command(subcommand)]
    command: DayCommand,
}

#[derive(Debug, Subcommand)]
enum DayCommand {
    /// Begin a day: what holds for everybody is said once.
    Start(start::StartDay),
    /// Put people on the list who will come: one, or all of a file.
    Add(add::AddPeople),
    /// Everybody of a day with state, minutes and outcome, and the running figures.
    List(list::ListDay),
    /// Take back what was noted last of the day.
    Undo(undo::UndoDay),
    /// End the day.
    End(end::EndDay),
    /// The day on one page or as a table, by running number.
    Export(export::ExportDay),
}

impl Days {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            DayCommand::Start(start) => start.run(context, out),
            DayCommand::Add(add) => add.run(context, out),
            DayCommand::List(list) => list.run(context, out),
            DayCommand::Undo(undo) => undo.run(context, out),
            DayCommand::End(end) => end.run(context, out),
            DayCommand::Export(export) => export.run(context, out),
        }
    }
}

const NO_DAY: &str = "no day is open: begin one with `dioptray day start`";

/// The logbook for writing, with the day that has not ended.
fn open_day(context: &Context) -> anyhow::Result<(Logbook, DayOnRecord)> {
    let path = logbook_path(context)?;
    if !path.exists() {
        bail!("{NO_DAY}");
    }
    let logbook = Logbook::open(&path)?;
    let day = logbook.open_day()?.ok_or_else(|| anyhow!("{NO_DAY}"))?;
    day.unread.iter().for_each(note);
    Ok((logbook, day))
}

/// The logbook for reading, with the day that was named by its place among all days from 1, or the last one.
fn any_day(context: &Context, number: Option<usize>) -> anyhow::Result<(Logbook, usize, DayOnRecord)> {
    let Some(logbook) = logbook(context)? else { bail!("{NO_DAY}") };
    let days: Vec<DayId> = logbook.days()?;
    let number = number.unwrap_or(days.len());
    let id = number.checked_sub(1).and_then(|at| days.get(at)).copied();
    let id = id.ok_or_else(|| match days.len() {
        0 => anyhow!("{NO_DAY}"),
        1 => anyhow!("there is no day {number}: this logbook has day 1 alone"),
        many => anyhow!("there is no day {number}: this logbook has days 1 to {many}"),
    })?;
    let day = logbook.day(id)?;
    day.unread.iter().for_each(note);
    Ok((logbook, number, day))
}
