//! `dioptray parcel`: what a logbook wrote, carried to other seats in a file.

use std::io::{self, Read as _, Write};
use std::path::{Path, PathBuf};

use clap::error::ErrorKind;
use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::WrongUsage;
use super::files::logbook_path;
use super::json::write_line;
use super::{CAUTION, Context, Outcome, note, values};
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::kit::document::fault::counted;
use crate::logbook::Logbook;
use crate::logbook::parcels::error::ParcelError;
use crate::logbook::parcels::others::is_of_others;
use crate::logbook::parcels::read::{PIPE, Parcel};
use crate::logbook::parcels::taking::take_in;
use crate::session::practising::is_practice_logbook;

/// The arguments of `dioptray parcel`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Parcels {
    #[command(subcommand)]
    command: ParcelCommand,
}

#[derive(Debug, Subcommand)]
enum ParcelCommand {
    /// Write closed exams, what was added to them and changes of boxes into a file to be carried.
    #[command(after_help = format!("{WRITE}\n\n{CAUTION}"))]
    Write(WriteParcel),
    /// Read parcels of other seats, or whole logbooks, in any order and as often as you like.
    #[command(after_help = format!("{READ}\n\n{CAUTION}"))]
    Read(ReadParcels),
}

const WRITE: &str = "Examples:
  dioptray parcel write monday.parcel --seat lane3
  dioptray parcel write tuesday.parcel --since monday.parcel
  dioptray parcel write - | age -r KEY > monday.parcel.age

The name of the seat is what others call this logbook: exam 14 is lane3-14 there. It is given once and kept; no two logbooks that \
exchange parcels may have one name. Not in a parcel: exams that are open or put aside, practice exams, answers to drills, days, \
what was read of others. A parcel has labels and findings in it, and is neither encrypted nor signed.";

const READ: &str = "Examples:
  dioptray parcel read monday.parcel tuesday.parcel
  dioptray parcel read teamB.parcel --dry-run
  age -d -i KEY monday.parcel.age | dioptray parcel read -

Every entry is checked against the one before it; where one is at fault, or a parcel before is missing, nothing is read. What is \
read can be looked at with `dioptray exam list` and `dioptray exam show lane3-14`, and nothing can be added to it here. Changes of \
boxes are kept, but do not change what a box here has.";

/// The arguments of `dioptray parcel write`.
#[derive(Debug, Args)]
struct WriteParcel {
    /// The file to write; - for a pipe.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
    /// Leave out what is in this earlier parcel of this logbook.
    #[arg(long, value_name = "PARCEL", value_parser = values::path())]
    since: Option<PathBuf>,
    /// What others call this logbook: a letter, then letters or digits, at most 12. It is kept.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    seat: Option<String>,
    /// Replace the file if there is one already.
    #[arg(long)]
    force: bool,
}

/// The arguments of `dioptray parcel read`.
#[derive(Debug, Args)]
struct ReadParcels {
    /// Parcels, or logbooks of others; - for a parcel from a pipe.
    #[arg(value_name = "FILE", required = true, value_parser = values::path())]
    files: Vec<PathBuf>,
    /// Only say what is new.
    #[arg(long)]
    dry_run: bool,
    /// Do without parcels that came before these and are missing.
    #[arg(long)]
    with_gap: bool,
}

#[derive(Serialize)]
struct ParcelJson {
    entries: usize,
    new: usize,
    known: usize,
    writers: usize,
}

impl Parcels {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let path = logbook_path(context)?;
        if is_practice_logbook(&path) || is_of_others(&path) {
            return Err(ParcelError::NotOnesOwn { path }.into());
        }
        match self.command {
            ParcelCommand::Write(write) => write.run(&path, context, out),
            ParcelCommand::Read(read) => read.run(&path, context, out),
        }
    }
}

impl WriteParcel {
    fn run(self, path: &Path, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let is_piped = self.file.as_os_str() == PIPE;
        if is_piped && context.json {
            let message = "a parcel that goes into a pipe leaves no place for JSON: name a file".to_owned();
            return Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message }.into());
        }
        let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
        if !is_piped {
            refuse_unsavable(&self.file, existing)?;
        }
        let since = self.since.as_deref().map(Parcel::read).transpose()?;
        // a logbook that is not there is not made
        let mut logbook = Logbook::open_read_only(path)?;
        if let Some(seat) = &self.seat {
            let before = logbook.seat()?;
            logbook = Logbook::open(path)?;
            logbook.name_seat(seat)?;
            if let Some(before) = before.filter(|before| before.as_str() != seat) {
                note(format_args!(
                    "this seat was called {before}: others call it {seat} once they read a further entry of it"
                ));
            }
        }
        let parcel = logbook.parcel(since.as_ref())?;
        for exam in &parcel.too_large {
            note(format_args!(
                "exam {exam} is larger than anything that is read of others: only that it was closed is in the parcel"
            ));
        }
        if is_piped {
            out.write_all(&parcel.bytes)?;
            return Ok(Outcome::Done);
        }
        let file = save(&self.file, &parcel.bytes, existing)?;
        let (entries, known, writers) = (parcel.entries, parcel.known, parcel.writers);
        if context.json {
            write_line(out, &ParcelJson { entries, new: entries, known, writers })?;
        } else {
            writeln!(out, "{}: {} of {}", file.display(), counted(entries, "entry", "entries"), parcel.seat)?;
        }
        Ok(Outcome::Done)
    }
}

impl ReadParcels {
    fn run(self, path: &Path, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut parcels = Vec::new();
        for file in &self.files {
            parcels.push(if file.as_os_str() == PIPE {
                let mut bytes = Vec::new();
                io::stdin().read_to_end(&mut bytes)?;
                Parcel::of_pipe(&bytes)?
            } else {
                Parcel::read(file)?
            });
        }
        let taken = take_in(path, &parcels, self.with_gap, self.dry_run)?;
        if taken.not_listed > 0 {
            let exams = counted(taken.not_listed, "closed exam", "closed exams");
            note(format_args!(
                "{exams} cannot be listed: made by a newer Dioptray, too large, or closed at another seat too; what came is kept"
            ));
        }
        if context.json {
            let (entries, new, known, writers) = (taken.entries, taken.new, taken.known, taken.writers);
            write_line(out, &ParcelJson { entries, new, known, writers })?;
        } else {
            let would = if self.dry_run { " (nothing was written)" } else { "" };
            let entries = counted(taken.entries, "entry", "entries");
            let writers = counted(taken.writers, "writer", "writers");
            writeln!(out, "{entries} of {writers}: {} new, {} known{would}", taken.new, taken.known)?;
        }
        Ok(Outcome::Done)
    }
}
