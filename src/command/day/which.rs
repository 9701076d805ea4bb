//! Which day a command is about.

use anyhow::{anyhow, bail};

use crate::command::exams::records::logbook;
use crate::command::files::logbook_path;
use crate::command::{Context, note};
use crate::logbook::{DayId, DayOnRecord, Logbook};

const NO_DAY: &str = "no day is open: begin one with `dioptray day start`";

/// The logbook for writing, with the day that has not ended.
pub(super) fn open_day(context: &Context) -> anyhow::Result<(Logbook, DayOnRecord)> {
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
pub(super) fn any_day(context: &Context, number: Option<usize>) -> anyhow::Result<(Logbook, usize, DayOnRecord)> {
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
