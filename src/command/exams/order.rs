//! `dioptray exam order`: what a workshop needs to make the glasses of an exam.

use std::io::Write;

use clap::Args;

use super::name::{ExamName, exam_name};
use super::records;
use crate::command::table_out::TableOut;
use crate::command::{CAUTION, Context, Outcome};
use crate::export::glasses::OrderRecord;
use crate::export::words;
use crate::session::glasses::order_of;
use crate::sheets::glasses::{OrderRow, glasses};

/// The arguments of `dioptray exam order`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct OrderGlasses {
    /// The number of the exam, or seat and number of one of another seat; `dioptray exam list` lists them.
    #[arg(value_name = "N", value_parser = exam_name)]
    exam: ExamName,
    /// Write cylinders as plus cylinders.
    #[arg(long)]
    plus: bool,
    #[command(flatten)]
    to: TableOut,
}

const EXAMPLES: &str = "Examples:
  dioptray exam order 14
  dioptray exam order 14 --as pdf --out order-14.pdf
  dioptray --json exam order 14

Powers at the vertex distance of the glasses, centres for far and near of each eye and by how much they may be off, and the \
powers of reading glasses. What nobody entered is named. `dioptray day orders` has everybody of a day.";

impl OrderGlasses {
    /// Writes the order.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        self.to.refuse_early(context)?;
        let stored = records::named(context, &self.exam)?;
        let order = order_of(&stored)?;
        let record = records::writing(self.plus)?.record(&stored);
        let name = format!("exam {}", record.exam_name());
        let closed = record.closed.as_ref().map(|closed| format!("closed {}", closed.strftime("%Y-%m-%d")));
        let by = record.examiner.as_ref().map(|by| format!("by {}", words::isolated(by)));
        let outcome = record.outcome_in_words.as_ref().map(|outcome| format!("outcome: {}", words::isolated(outcome)));
        let about: Vec<String> = [Some(name.clone()), closed, by, outcome].into_iter().flatten().collect();
        let row = OrderRow { name, order: OrderRecord::of(&order, record.form) };
        self.to.write(context, "order", None, &glasses(vec![about.join(", ")], &[row], &[]), out)?;
        Ok(Outcome::Done)
    }
}
