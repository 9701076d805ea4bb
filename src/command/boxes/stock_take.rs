//! `dioptray box stock-take`: what a stock-take on paper found, noted in one entry.

use std::io::Write;
use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::asked::{LONGEST_NOTE, in_one_line};
use super::chosen::{BoxToNote, open_logbook};
use super::lenses::{Meant, further_lens, read};
use super::sheet::{Columns, Sheet, SheetFaults};
use crate::command::exams::records::examiner;
use crate::command::files::{BoxAsItIs, logbook_to_read};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::table::csv::{NOTES, NOTICE};
use crate::kit::stock_take::{Difference, Ending, LensCounted, differences};
use crate::kit::{BoxChange, Stock, StockTake, Tray};
use crate::sheets::{KNOWN, ROW};

/// The arguments of `dioptray box stock-take`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct TakeStock {
    #[command(flatten)]
    which: BoxToNote,
    /// The sheet: CSV with the head `lens,here,damaged,more`: how many whole pieces lie there, how many damaged ones, and how
    /// many more than the box should have.
    ///
    /// What it does not name is not counted, and stays as it is known. What should be there and is not is lost.
    #[arg(long = "rows", value_name = "SHEET", value_parser = values::path())]
    sheet: PathBuf,
    /// Say what it comes to, and note nothing.
    #[arg(long)]
    dry_run: bool,
    /// What is to be remembered of it.
    #[arg(long, value_name = "TEXT", value_parser = values::text())]
    note: Option<String>,
    /// Who took stock; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray box stock-take --box box.yaml --rows counted.csv --dry-run
  dioptray box stock-take --box box.yaml --rows counted.csv --by K.M.

The sheet:
  lens,here,damaged,more
  -1.50 sphere,1,1,0

`dioptray box sheet stock-take` writes one to be filled in.";

/// The columns of a sheet of counts; what `box sheet stock-take` writes beside them is passed over.
const COLUMNS: Columns<'static> =
    Columns { needed: &["lens", "here"], optional: &["damaged", "more", ROW, KNOWN, NOTES, NOTICE] };

#[derive(Serialize)]
struct TakenJson<'a> {
    r#box: &'a str,
    noted: bool,
    changes: Vec<OneJson>,
    /// What was known otherwise; null where no stock-take was noted before.
    differences: Vec<DifferenceJson<'a>>,
}

#[derive(Serialize)]
struct OneJson {
    change: &'static str,
    piece: String,
}

#[derive(Serialize)]
struct DifferenceJson<'a> {
    before: Option<&'a LensCounted>,
    now: &'a LensCounted,
}

impl TakeStock {
    /// Takes stock.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let Self { which, sheet, dry_run, note: text, by } = self;
        let text = text.as_deref().map(|text| in_one_line("--note", text, LONGEST_NOTE)).transpose()?;
        let chosen = which.read(context)?;
        let now = with_frames(context, &chosen)?;
        let ending = Ending { note: text, ..counted(&sheet, &chosen, &now)? };
        let before = chosen.record.last_stock_take().map(|(_, count)| count.to_vec());
        let found = differences(before.as_deref().unwrap_or_default(), &ending.count);
        let since_last = if before.is_some() { found } else { Vec::new() };
        if dry_run {
            say(context, &chosen, &ending.changes, &since_last, false, out)?;
            return Ok(Outcome::Done);
        }
        let at = Timestamp::now();
        let mut logbook = open_logbook(&chosen, context, at)?;
        if logbook.stock_take(&chosen.named.key)?.is_some() {
            bail!("a stock-take of this box is in progress on the screen: end it or give it up there first");
        }
        let by = examiner(by)?;
        let noted = logbook.end_stock_take(&chosen.named, &chosen.declared, &ending, by.as_deref(), at)?;
        match say(context, &chosen, &noted.changes, &since_last, true, out).and_then(|()| Ok(out.flush()?)) {
            Ok(()) => Ok(Outcome::Done),
            Err(error) => {
                note(format_args!("this was done, and only its answer could not be written ({error})"));
                Ok(Outcome::DoneUnsaid)
            }
        }
    }
}

/// The box with what stands before an eye in open exams where it is.
pub(super) fn with_frames(context: &Context, chosen: &BoxAsItIs) -> anyhow::Result<Stock> {
    let mut stock = chosen.record.stock.clone();
    if let Some(logbook) = logbook_to_read(context)? {
        for there in logbook.before_eyes(&chosen.named.key)? {
            // of two open exams with something in one cell, one is there
            let _ = stock.place(&there.piece, there.place);
        }
    }
    Ok(stock)
}

/// What the sheet comes to; every fault of it is reported.
fn counted(path: &std::path::Path, chosen: &BoxAsItIs, now: &Stock) -> anyhow::Result<Ending> {
    let tray = Tray::of(&chosen.declared.tray, now);
    let mut take = StockTake::begin(&tray, now);
    let sheet = Sheet::read(path, &COLUMNS)?;
    let mut faults = SheetFaults::of_sheet(sheet.name());
    let mut seen: Vec<(crate::kit::Lens, u64)> = Vec::new();
    for row in &sheet.rows {
        let counts = (|| {
            let lens = match read(sheet.cell(row, "lens").unwrap_or_default(), now, &tray)? {
                Meant::Alike { lens, pieces: 1 } => lens,
                Meant::Piece(_) | Meant::Alike { .. } | Meant::Each(_) | Meant::Row { .. } => {
                    bail!("write the lens alone, like \"-1.50 sphere\", and how many in the other columns")
                }
            };
            let Some(here) = sheet.count(row, "here")? else {
                bail!("`here` is empty: write how many lie there, 0 if none")
            };
            let damaged = sheet.count(row, "damaged")?.unwrap_or(0);
            Ok((lens, here, damaged, sheet.count(row, "more")?.unwrap_or(0)))
        })();
        let (lens, here, damaged, more) = match counts {
            Ok(counts) => counts,
            Err(why) => {
                faults.add(row.line, format_args!("{why:#}"));
                continue;
            }
        };
        if let Some((_, first)) = seen.iter().find(|(seen, _)| *seen == lens) {
            faults.add(row.line, format_args!("{lens} is counted a second time: the first is on line {first}"));
            continue;
        }
        seen.push((lens.clone(), row.line));
        if let Err(why) = further_lens(&lens, now) {
            faults.add(row.line, why);
            continue;
        }
        if let Err(should) = take.count_lens(&lens, here, damaged, more) {
            faults.add(
                row.line,
                format_args!(
                    "{here} whole and {damaged} damaged of {lens} are more than the {should} of the box: `here` counts whole ones alone, \
                     and what is beyond the box goes under `more`"
                ),
            );
        }
    }
    faults.found()?;
    if seen.is_empty() {
        bail!("{}: no lens is counted in this sheet: nothing was noted", path.display());
    }
    Ok(take.ending(now))
}

fn say(
    context: &Context,
    chosen: &BoxAsItIs,
    changes: &[BoxChange],
    since_last: &[Difference],
    noted: bool,
    out: &mut dyn Write,
) -> anyhow::Result<()> {
    let box_name = chosen.named.name.as_str();
    if context.json {
        let changes = changes.iter().map(|one| OneJson { change: one.word(), piece: one.subject() }).collect();
        let differences =
            since_last.iter().map(|one| DifferenceJson { before: one.before.as_ref(), now: &one.now }).collect();
        write_line(out, &TakenJson { r#box: box_name, noted, changes, differences })?;
        return Ok(());
    }
    if changes.is_empty() {
        writeln!(out, "{box_name}: everything that was counted is as it was known")?;
    }
    for change in changes {
        writeln!(out, "{box_name}: {}: {}", change.word(), change.subject())?;
    }
    if !noted {
        writeln!(out, "nothing was noted")?;
    }
    for difference in since_last {
        writeln!(out, "since the last stock-take: {difference}")?;
    }
    Ok(())
}
