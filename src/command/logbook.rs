//! `dioptray logbook`: the logbook as a whole.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};
use serde::Serialize;

use super::files::logbook_path;
use super::json::write_line;
use super::{CAUTION, Context, Outcome, note, values};
use crate::kit::document::fault::counted;
use crate::logbook::parcels::key::key_file;
use crate::logbook::{Indexed, Logbook};
use crate::session::Note;
use crate::session::writing::number;

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
    /// Look through the whole logbook: whether it is sound, and every closed exam and every change as it was kept.
    #[command(after_help = format!("{CHECK_EXAMPLE}\n\n{CAUTION}"))]
    Check,
}

const EXAMPLE: &str = "Example:
  dioptray --logbook /mnt/clinic/logbook.db logbook move ~/logbook.db

A logbook in a folder on another computer can only be read. Copy it to this computer, and go on with the copy: name it with \
--logbook or DIOPTRAY_LOGBOOK. The logbook that was copied stays where it is, unchanged.";

const CHECK_EXAMPLE: &str = "Example:
  dioptray logbook check
  dioptray --logbook copy.db logbook check

Nothing is written. Exams that cannot be read are named one by one, and the others are not held up by them.";

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
            LogbookCommand::Check => check(context, out),
        }
    }
}

#[derive(Serialize)]
struct CheckedJson<'a> {
    logbook: &'a std::path::Path,
    exams: usize,
    /// Those of these that were erased: that nothing of them is left was looked at too.
    erased: usize,
    /// Whether bytes of these may still be in a free part of the file.
    leaves_bytes: bool,
    unreadable: Vec<UnreadableJson>,
}

#[derive(Serialize)]
struct UnreadableJson {
    exam: u64,
    why: String,
}

fn check(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let logbook = Logbook::open_read_only(&logbook_path(context)?)?;
    if logbook.lacks_its_log() {
        note(Note::LogMissing { logbook: logbook.path().to_owned(), log: logbook.log_path() });
    }
    logbook.check()?;
    let index = logbook.index()?;
    let erased = logbook.erased()?;
    let leaves_bytes = logbook.leaves_bytes()?;
    let is_erased = |exam: &Indexed| exam.id.is_some_and(|id| erased.iter().any(|erasure| erasure.exam == id.uuid()));
    let (erased, index): (Vec<Indexed>, Vec<Indexed>) = index.into_iter().partition(is_erased);
    let read = |exam: &Indexed| logbook.exam_line(exam.number).and_then(|_| logbook.read_exam(exam.number));
    let why = |exam: &Indexed| read(exam).map_or_else(|why| vec![why.to_string()], |stored| stored.unread);
    let unreadable = index.iter().flat_map(|exam| {
        let exam_number = number(exam.number);
        why(exam).into_iter().map(move |why| UnreadableJson { exam: exam_number, why })
    });
    let unreadable: Vec<UnreadableJson> = unreadable.collect();
    let outcome = if unreadable.is_empty() { Outcome::Done } else { Outcome::PartlyAtFault };
    if context.json {
        write_line(
            out,
            &CheckedJson {
                logbook: logbook.path(),
                exams: index.len() + erased.len(),
                erased: erased.len(),
                leaves_bytes,
                unreadable,
            },
        )?;
        return Ok(outcome);
    }
    if leaves_bytes {
        note(
            "bytes of what was erased may still be in a free part of the file: the next start of Dioptray writes it again without them",
        );
    }
    for UnreadableJson { exam, why } in &unreadable {
        note(format_args!("exam {exam}: {why}"));
    }
    let at_fault = unreadable.chunk_by(|one, next| one.exam == next.exam).count();
    let read = counted(index.len() - at_fault, "exam", "exams");
    let erased = match erased.len() {
        0 => String::new(),
        erased => format!("; {} erased", counted(erased, "exam", "exams")),
    };
    writeln!(out, "{}: sound; {read} as it was kept{erased}", logbook.path().display())?;
    Ok(outcome)
}

impl Move {
    fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let logbook = Logbook::open_read_only(&logbook_path(context)?)?;
        logbook.copy_to(&self.file)?;
        let to = std::path::absolute(&self.file)?;
        let key = key_file(logbook.path());
        if key.exists() {
            note(format_args!(
                "the key by which this seat signs its parcels stays in {}: move it to {} to sign by it there",
                key.display(),
                key_file(&to).display()
            ));
        }
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
