//! `dioptray room keep`: how long a room keeps what was found of people.

use std::io::{self, IsTerminal as _, Write};

use anyhow::bail;
use clap::error::ErrorKind;
use clap::{Args, value_parser};
use serde::Serialize;

use super::AtAddress;
use crate::command::context::WrongUsage;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome};
use crate::kit::document::fault::counted;
use crate::room::prepare::{OldMonth, let_go, months_older_than};

/// The arguments of `dioptray room keep`.
#[derive(Debug, Args)]
#[command(after_help = format!("{KEEP}\n\n{CAUTION}"))]
pub struct Keep {
    /// How many years an exam is kept, counted from when it came to the room.
    #[arg(value_name = "YEARS", value_parser = value_parser!(i32).range(1..=200))]
    years: i32,
    #[command(flatten)]
    room: AtAddress,
    /// Only say which months and how many exams it would be.
    #[arg(long)]
    dry_run: bool,
    /// Do it without asking.
    #[arg(long, conflicts_with = "dry_run")]
    yes: bool,
}

const KEEP: &str = "Examples:
  dioptray room keep 5 postgresql://roomkeeper@localhost/room --dry-run
  dioptray room keep 5 postgresql://roomkeeper@localhost/room --yes

The room lets go of whole months: of every exam that came to it in one, what was found and its label, and what was added to exams in \
it. It cannot be taken back. That there was an exam stays, with its seat, number, examiner and when it was closed, and so do boxes and \
what happened to them, so that all that follows still holds. Seats let go of what they fetched at their next call; what a seat \
examined itself stays in its own logbook. Copies made before are not reached: backups of the database, parcels, exported files. How \
long records have to be kept is said by the rules that hold where you work.";

#[derive(Serialize)]
struct KeepJson {
    /// Whether it was done.
    let_go: bool,
    months: Vec<MonthJson>,
}

#[derive(Serialize)]
struct MonthJson {
    month: String,
    exams: i64,
}

impl Keep {
    /// Says what is older, asks, and lets go of it month by month.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let (address, link) = self.room.link()?;
        let months = months_older_than(&link, self.years)?;
        let is_done = !self.dry_run && !months.is_empty();
        let older = format!("older than {}", counted(self.years as usize, "year", "years"));
        if !context.json {
            for month in &months {
                writeln!(out, "{}: {}", name(month), counted(month.exams as usize, "exam", "exams"))?;
            }
            if months.is_empty() {
                writeln!(out, "the room {} keeps no whole month of exams {older}", address.database)?;
            }
        }
        if is_done && !self.yes {
            out.flush()?;
            ask(&months, &address.database)?;
        }
        for month in months.iter().filter(|_| is_done) {
            let_go(&link, month, self.years)?;
            if !context.json {
                writeln!(out, "{} let go of", name(month))?;
            }
        }
        if context.json {
            let months = months.iter().map(|month| MonthJson { month: name(month).to_owned(), exams: month.exams });
            write_line(out, &KeepJson { let_go: is_done, months: months.collect() })?;
        }
        Ok(Outcome::Done)
    }
}

/// `2021-03`.
fn name(month: &OldMonth) -> &str {
    month.first_day.get(..7).unwrap_or(&month.first_day)
}

/// Asks whether it is meant.
fn ask(months: &[OldMonth], database: &str) -> anyhow::Result<()> {
    let exams: i64 = months.iter().map(|month| month.exams).sum();
    let exams = counted(exams as usize, "exam", "exams");
    if !io::stdin().is_terminal() {
        let message =
            format!("this lets go of {exams} in the room {database} for good: say --yes, or --dry-run to see only");
        return Err(WrongUsage { kind: ErrorKind::MissingRequiredArgument, message }.into());
    }
    let mut asked = io::stderr();
    write!(asked, "Let go of {exams} in the room {database} for good? [y/n] ")?;
    asked.flush()?;
    let mut answer = String::new();
    io::stdin().read_line(&mut answer)?;
    if matches!(answer.trim(), "y" | "Y" | "yes") { Ok(()) } else { bail!("nothing was let go of") }
}
