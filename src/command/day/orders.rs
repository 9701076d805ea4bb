//! `dioptray day orders`: the glasses of everybody of a day to whom glasses are given, as one list.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;

use super::which::any_day;
use crate::command::exams::records::writing;
use crate::command::table_out::TableOut;
use crate::command::{CAUTION, Context, Outcome};
use crate::exam::Outcome as ExamOutcome;
use crate::export::glasses::OrderRecord;
use crate::export::words;
use crate::logbook::Logbook;
use crate::session::glasses::order_of;
use crate::session::writing::exam_number;
use crate::session::{DayNow, Writing};
use crate::sheets::glasses::{OrderRow, glasses};

/// The arguments of `dioptray day orders`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct DayOrders {
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
  dioptray day orders
  dioptray day orders --day 3 --as csv --out orders.csv

Everybody with the outcome `glasses`, by running number: labels stay in the list.";

impl DayOrders {
    /// Writes the orders.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.to.refuse_early(context)?;
        let (logbook, number, on_record) = any_day(context, self.day)?;
        let now = DayNow::of(&logbook, on_record, Timestamp::now())?;
        let writing = writing(self.plus)?;
        let (mut orders, mut without) = (Vec::new(), Vec::new());
        for line in now.lines.iter().filter(|line| line.outcome.as_ref().is_some_and(ExamOutcome::makes_glasses)) {
            let Some(exam) = line.exam else { continue };
            let name = format!("number {}, exam {exam}", line.number);
            match read(&logbook, exam, &writing) {
                Ok(order) => orders.push(OrderRow { name, order }),
                // one that cannot be ordered is said on the list itself, and keeps nobody from the others
                Err(why) => without.push(format!("Number {} is to be given glasses, but {why}.", line.number)),
            }
        }
        let place = now.day.settings.place.as_deref().map(|place| format!(", {}", words::isolated(place)));
        let began = writing.local(now.day.began).strftime("%Y-%m-%d").to_string();
        let about = format!("day {number}{}, {began}", place.unwrap_or_default());
        self.to.write(context, "orders", None, &glasses(vec![about], &orders, &without), out)?;
        Ok(Outcome::Done)
    }
}

fn read(logbook: &Logbook, exam: u64, writing: &Writing) -> anyhow::Result<OrderRecord> {
    let stored = logbook.read_exam(exam_number(exam))?;
    Ok(OrderRecord::of(&order_of(&stored)?, writing.record(&stored).form))
}
