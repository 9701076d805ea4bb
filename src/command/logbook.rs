//! `dioptray logbook`: the logbook as a whole.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};
use serde::Serialize;

use super::files::logbook_path;
use super::json::write_line;
use super::{CAUTION, Context, Outcome, values};
use crate::logbook::Logbook;

/// The arguments of `dioptray logbook`.
#[derive(Debug, Args)]
#[command(after_help = CAUTION)]
pub struct Logbooks {
    #[command(subcommand)]
    command: LogbookCommand,
}

#[derive(Debug, Subcommand)]
enum LogbookCommand {
    /// Copy the whole logbook to a file on a disk of this computer.
    #[command(after_help = format!("{EXAMPLE}\n\n{CAUTION}"))]
    Move(Move),
}

const EXAMPLE: &str = "Example:
  dioptray --logbook /mnt/clinic/logbook.db logbook move ~/logbook.db

A logbook in a folder on another computer can only be read. Copy it to this computer, and go on with the copy: name it with \
--logbook or DIOPTRAY_LOGBOOK. The logbook that was copied stays where it is, unchanged.";

/// The arguments of `dioptray logbook move`.
#[derive(Debug, Args)]
struct Move {
    /// The file to make; nothing may be there yet.
    #[arg(value_name = "FILE", value_parser = values::path())]
    file: PathBuf,
}

#[derive(Serialize)]
struct MovedJson<'a> {
    from: &'a std::path::Path,
    to: &'a std::path::Path,
}

impl Logbooks {
    /// Runs the subcommand.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        match self.command {
            LogbookCommand::Move(to) => to.run(context, out),
        }
    }
}

impl Move {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let logbook = Logbook::open_read_only(&logbook_path(context)?)?;
        logbook.copy_to(&self.file)?;
        let to = std::path::absolute(&self.file)?;
        if context.json {
            write_line(out, &MovedJson { from: logbook.path(), to: &to })?;
        } else {
            writeln!(
                out,
                "copied to {}: to go on with the copy, name it with --logbook or DIOPTRAY_LOGBOOK",
                to.display()
            )?;
        }
        Ok(Outcome::Done)
    }
}
