//! `dioptray box loans`: which lenses somebody has, who, and until when.

use std::io::Write;

use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Serialize;

use super::asked::day;
use crate::command::json::write_line;
use crate::command::which_box::WhichBox;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::kit::document::fault::counted;
use crate::kit::{Lens, Piece};
use crate::logbook::Loan;
use crate::session::writing::zone_here;

/// The arguments of `dioptray box loans`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct Loans {
    #[command(flatten)]
    which: WhichBox,
    /// Only what is overdue.
    #[arg(long)]
    overdue: bool,
    /// Only what this borrower has.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    to: Option<String>,
    /// The day by which it is judged what is overdue, where that is not today.
    #[arg(long, value_name = "DAY", value_parser = day)]
    on: Option<Date>,
}

const EXAMPLES: &str = "Examples:
  dioptray box loans --box box.yaml
  dioptray box loans --overdue --to \"Clinic 3\"";

#[derive(Serialize)]
struct LoansJson {
    r#box: String,
    loans: Vec<LoanJson>,
}

#[derive(Serialize)]
struct LoanJson {
    lens: Lens,
    piece: Piece,
    to: Option<String>,
    until: Option<Date>,
    since: Date,
    overdue: bool,
}

impl Loans {
    /// Lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let chosen = self.which.read(context)?;
        let zone = zone_here().unwrap_or(TimeZone::UTC);
        let day_of = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
        let today = self.on.unwrap_or_else(|| day_of(Timestamp::now()));
        let mut loans = chosen.record.loans(today);
        loans.retain(|loan| (!self.overdue || loan.overdue) && (self.to.is_none() || loan.to == self.to));
        let since = |loan: &Loan| day_of(loan.since);
        let box_name = chosen.record.stock.box_name.clone();
        if context.json {
            let loans = loans.into_iter().map(|loan| LoanJson {
                since: since(&loan),
                lens: loan.piece.lens.clone(),
                piece: loan.piece,
                to: loan.to,
                until: loan.until,
                overdue: loan.overdue,
            });
            write_line(out, &LoansJson { r#box: box_name, loans: loans.collect() })?;
            return Ok(Outcome::Done);
        }
        if loans.is_empty() {
            let what = if self.overdue { "overdue" } else { "lent" };
            let to = self.to.as_ref().map(|to| format!(" to {to}")).unwrap_or_default();
            writeln!(out, "{box_name}: nothing is {what}{to}")?;
        }
        for of_one in loans.chunk_by(|one, next| one.to == next.to) {
            let late = of_one.iter().filter(|loan| loan.overdue).count();
            let late = if late == 0 { String::new() } else { format!(", {late} overdue") };
            let whom = of_one[0].to.as_deref().unwrap_or("nobody that was named");
            writeln!(out, "{whom}: {}{late}", counted(of_one.len(), "lens", "lenses"))?;
            for loan in of_one {
                let until = match (loan.until, loan.overdue) {
                    (Some(until), true) => format!("overdue since {until}"),
                    (Some(until), false) => format!("until {until}"),
                    (None, _) => "no day agreed".to_owned(),
                };
                writeln!(out, "  {}  {until}, lent {}", loan.piece, since(loan))?;
            }
        }
        Ok(Outcome::Done)
    }
}
