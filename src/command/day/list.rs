//! `dioptray day list`: everybody of a day.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use serde::Serialize;
use unicode_width::UnicodeWidthStr as _;

use super::which::any_day;
use crate::command::exams::records::writing;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome};
use crate::day::figures::minutes_and_seconds;
use crate::day::list::LineRecord;
use crate::day::{DayLine, PersonState};
use crate::export::words;
use crate::session::{DayNow, Writing};

/// The arguments of `dioptray day list`.
#[derive(Debug, Args)]
#[command(after_help = format!("Examples:\n  dioptray day list\n  dioptray --json day list --day 3\n\n{CAUTION}"))]
pub struct ListDay {
    /// Which day, from 1; without it the last one.
    #[arg(long, value_name = "N")]
    day: Option<usize>,
}

#[derive(Serialize)]
struct ListJson<'a> {
    day: String,
    place: Option<&'a str>,
    ended: bool,
    people: Vec<LineRecord<'a>>,
    seen: usize,
}

impl ListDay {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let (logbook, number, on_record) = any_day(context, self.day)?;
        let now = DayNow::of(&logbook, on_record, Timestamp::now())?;
        let writing = writing(false)?;
        let settings = &now.day.settings;
        if context.json {
            let people = now.lines.iter().map(LineRecord::from).collect();
            let date = writing.local(now.day.began).date().to_string();
            let (place, ended) = (settings.place.as_deref(), now.day.ended.is_some());
            write_line(out, &ListJson { day: date, place, ended, people, seen: now.figures.seen })?;
            return Ok(Outcome::Done);
        }
        let place = settings.place.as_deref().map(|place| format!(", {}", words::printable(place)));
        let began = writing.local(now.day.began).strftime("%Y-%m-%d from %H:%M").to_string();
        let ended = now.day.ended.map(|ended| format!(" until {}", writing.local(ended).strftime("%H:%M")));
        writeln!(out, "day {number}{}, {began}{}", place.unwrap_or_default(), ended.unwrap_or_default())?;
        for line in &now.lines {
            let label = line.label.as_deref().map(words::printable).unwrap_or_default();
            let minutes = line.exam.map(|_| minutes_and_seconds(line.took)).unwrap_or_default();
            let exam = line.exam.map(|exam| format!("exam {exam}")).unwrap_or_default();
            let outcome = line.outcome.as_ref().map(|outcome| words::printable(&outcome.to_string()));
            let cells = [(label, 16), (state(line, &writing), 18), (minutes, 6), (exam, 10)];
            let cells: String = cells.into_iter().map(|(cell, width)| padded(&cell, width)).collect();
            writeln!(out, "{}", format!("{:>4}  {cells}{}", line.number, outcome.unwrap_or_default()).trim_end())?;
        }
        let each = now.figures.each.map(|each| format!(", {} each", minutes_and_seconds(each))).unwrap_or_default();
        let came = now.figures.came();
        writeln!(out, "{} seen{each}{came}; {} to come", now.figures.seen, now.figures.to_come)?;
        Ok(Outcome::Done)
    }
}

fn state(line: &DayLine, writing: &Writing) -> String {
    match line.state {
        PersonState::DropsUntil(ready) => format!("drops until {}", writing.local(ready).strftime("%H:%M")),
        PersonState::DropsReady => "drops ready".to_owned(),
        PersonState::InExam => "in exam".to_owned(),
        PersonState::Aside => "exam open, waits".to_owned(),
        PersonState::Waits | PersonState::Refer | PersonState::Done | PersonState::Left => line.state.name().to_owned(),
    }
}

/// A cell with spaces after it to its width, at least two of them.
fn padded(cell: &str, width: usize) -> String {
    let spaces = width.saturating_sub(cell.width()).max(2);
    format!("{cell}{}", " ".repeat(spaces))
}
