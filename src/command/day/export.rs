//! `dioptray day export`: a day on one page or as a table.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;

use super::which::any_day;
use crate::command::exams::records::writing;
use crate::command::table_out::TableOut;
use crate::command::{CAUTION, Context, Outcome, note};
use crate::export::Record;
use crate::logbook::Logbook;
use crate::session::writing::exam_number;
use crate::session::{DayNow, Writing};
use crate::sheets::day::{DayHead, DayRow, day};

/// The arguments of `dioptray day export`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct ExportDay {
    /// Which day, from 1; without it the last one.
    #[arg(long, value_name = "N")]
    day: Option<usize>,
    /// Write cylinders as plus cylinders, whatever the boxes have.
    #[arg(long)]
    plus: bool,
    #[command(flatten)]
    to: TableOut,
}

const EXAMPLES: &str = "Examples:
  dioptray day export --out day.pdf
  dioptray day export --day 3 --as csv --out day.csv

Numbers by outcome, the glasses to order with powers and centres, and who is sent on, by running number: labels stay in the \
list.";

impl ExportDay {
    /// Writes the day.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.to.refuse_early(context)?;
        let (logbook, _, on_record) = any_day(context, self.day)?;
        let now = DayNow::of(&logbook, on_record, Timestamp::now())?;
        let writing = writing(self.plus)?;
        let rows = now.lines.iter().zip(&now.day.people).map(|(line, person)| {
            let record = line.exam.and_then(|exam| record(&logbook, exam, &writing));
            DayRow { line, person, record }
        });
        let rows: Vec<DayRow<'_>> = rows.collect();
        let (began, ended) = (writing.local(now.day.began), now.day.ended.map(|ended| writing.local(ended)));
        let head = DayHead {
            settings: &now.day.settings,
            began: &began,
            ended: ended.as_ref(),
            by: now.by.as_deref(),
            figures: &now.figures,
        };
        self.to.write(context, "day", None, &day(&head, &rows), out)?;
        Ok(Outcome::Done)
    }
}

/// The record of an exam; one that cannot be read is said, and keeps nobody from the others.
fn record(logbook: &Logbook, exam: u64, writing: &Writing) -> Option<Record> {
    match logbook.read_exam(exam_number(exam)) {
        Ok(stored) => Some(writing.record(&stored)),
        Err(why) => {
            note(format_args!("exam {exam}: {why}"));
            None
        }
    }
}
