//! `dioptray parcel`: what a logbook wrote, carried to other seats in a file.

use std::io::{self, IsTerminal as _, Read as _, Write};
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
use crate::logbook::parcels::key::{key_file, key_of};
use crate::logbook::parcels::others::is_of_others;
use crate::logbook::parcels::read::{PIPE, Parcel};
use crate::logbook::parcels::signers::{Signer, Standing, Trust};
use crate::logbook::parcels::taking::{Reading, Taken, take_in};
use crate::logbook::parcels::write::SignsBy;
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
  dioptray parcel write monday.parcel --seat lane3 --site hillside
  dioptray parcel write tuesday.parcel --since monday.parcel
  dioptray parcel write - | age -r KEY > monday.parcel.age

The name of the seat is what others call this logbook: exam 14 is lane3-14 there. It is given once and kept; no two logbooks that \
exchange parcels may have one name. Not in a parcel: exams that are open or put aside, practice exams, answers to drills, days, \
what was read of others. A parcel has labels and findings in it, and is not encrypted.

It is signed by the key of the seat, which stands beside the logbook (logbook.db.key) and not in it: a copy of the logbook cannot sign. \
Whoever reads it for the first time asks you for the fingerprint that is said here. Where the key is lost a new one is made; others \
are refused once then, and read with --trust.";

const READ: &str = "Examples:
  dioptray parcel read monday.parcel tuesday.parcel
  dioptray parcel read teamB.parcel --dry-run
  dioptray parcel read teamC.parcel --trust
  age -d -i KEY monday.parcel.age | dioptray parcel read -

The signature is checked first. A key that was never seen is asked about once, with its fingerprint; where there is no terminal to \
ask on, it is refused unless you say --trust. So is a seat whose key has changed, and what is not signed of a seat that signs. A whole \
logbook, and parcels of a Dioptray that did not sign yet, are read and said to be not signed. \
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
    /// The place that this seat belongs to, for others to list by. It is kept.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    site: Option<String>,
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
    /// Take keys that were never seen or have changed, and what is not signed, for what they say.
    #[arg(long)]
    trust: bool,
}

#[derive(Serialize)]
struct WrittenJson {
    entries: usize,
    new: usize,
    known: usize,
    writers: usize,
    /// The fingerprint of the key that it is signed by.
    signed_by: String,
}

#[derive(Serialize)]
struct ReadJson {
    entries: usize,
    new: usize,
    known: usize,
    writers: usize,
    /// Who signed what is new.
    signers: Vec<SignerJson>,
    /// The files with something new in them that nobody signed.
    not_signed: Vec<PathBuf>,
}

#[derive(Serialize)]
struct SignerJson {
    seat: String,
    fingerprint: String,
    /// Of the key: `known`, `new` or `changed`.
    standing: &'static str,
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
        let mut logbook = self.named(path)?;
        let seat = logbook.sends_as()?;
        let key = key_of(path)?;
        let (fingerprint, key_file) = (key.public().fingerprint(), key_file(path));
        let signs_by = logbook.signs_by(&key)?;
        if signs_by != SignsBy::TheSame {
            logbook = Logbook::open(path)?;
            logbook.sign_by(&key)?;
        }
        match signs_by {
            SignsBy::TheSame => {}
            SignsBy::TheFirst => note(format_args!(
                "{seat} signs by the key in {} from now on, fingerprint {fingerprint}: keep a copy of it apart from copies of the logbook",
                key_file.display()
            )),
            SignsBy::Another => note(format_args!(
                "{seat} signs by another key than before, fingerprint {fingerprint}, since that one is not in {} any more: tell those who read \
                 your parcels. They are refused the next one until they read it with --trust",
                key_file.display()
            )),
        }
        let parcel = logbook.parcel(since.as_ref(), &key)?;
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
            write_line(out, &WrittenJson { entries, new: entries, known, writers, signed_by: fingerprint })?;
        } else {
            let entries = counted(entries, "entry", "entries");
            writeln!(out, "{}: {entries} of {}, signed {fingerprint}", file.display(), parcel.seat)?;
        }
        Ok(Outcome::Done)
    }

    /// The logbook, with the names that it is given; one that is not there is not made.
    fn named(&self, path: &Path) -> anyhow::Result<Logbook> {
        let logbook = Logbook::open_read_only(path)?;
        let before = logbook.seat()?;
        if self.seat.is_none() && self.site.is_none() {
            return Ok(logbook);
        }
        drop(logbook);
        let mut logbook = Logbook::open(path)?;
        if let Some(seat) = &self.seat {
            logbook.name_seat(seat)?;
            if let Some(before) = before.filter(|before| before.as_str() != seat) {
                note(format_args!(
                    "this seat was called {before}: others call it {seat} once they read a further entry of it"
                ));
            }
        }
        if let Some(site) = &self.site {
            logbook.name_site(site)?;
        }
        Ok(logbook)
    }
}

impl ReadParcels {
    fn run(self, path: &Path, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut parcels = Vec::new();
        let mut is_piped = false;
        for file in &self.files {
            parcels.push(if file.as_os_str() == PIPE {
                is_piped = true;
                let mut bytes = Vec::new();
                io::stdin().read_to_end(&mut bytes)?;
                Parcel::of_pipe(&bytes)?
            } else {
                Parcel::read(file)?
            });
        }
        let mut ask = |signer: &Signer| is_trusted(signer).unwrap_or(false);
        let can_ask = !is_piped && io::stdin().is_terminal() && io::stderr().is_terminal();
        let trust = match (self.trust, can_ask) {
            (true, _) => Trust::All,
            (false, true) => Trust::Asking(&mut ask),
            (false, false) => Trust::Known,
        };
        let taken = take_in(path, &parcels, Reading { with_gap: self.with_gap, only_say: self.dry_run, trust })?;
        self.say(&taken);
        if context.json {
            write_line(out, &read_json(taken))?;
        } else {
            let would = if self.dry_run { " (nothing was written)" } else { "" };
            let entries = counted(taken.entries, "entry", "entries");
            let writers = counted(taken.writers, "writer", "writers");
            writeln!(out, "{entries} of {writers}: {} new, {} known{would}", taken.new, taken.known)?;
        }
        Ok(Outcome::Done)
    }

    /// Says beside the figures what they do not.
    fn say(&self, taken: &Taken) {
        for Signer { seat, key, standing } in &taken.signers {
            let now = key.fingerprint();
            match standing {
                Standing::Known => {}
                Standing::New if self.dry_run && !self.trust => {
                    note(format_args!("{seat} signs by a key that was never seen here, {now}: it will be asked about"));
                }
                Standing::New => note(format_args!("{seat} signs by the key {now}, which is trusted from now on")),
                Standing::Changed { before } => {
                    let before = before.fingerprint();
                    note(format_args!("{seat} signs by the key {now} now, and not by {before} any more"));
                }
            }
        }
        for file in &taken.not_signed {
            note(format_args!("{}: this is not signed, so nothing shows who wrote it", file.display()));
        }
        if taken.not_listed > 0 {
            let exams = counted(taken.not_listed, "closed exam", "closed exams");
            note(format_args!(
                "{exams} cannot be listed: made by a newer Dioptray, too large, or closed at another seat too; what came is kept"
            ));
        }
    }
}

fn read_json(taken: Taken) -> ReadJson {
    let signers = taken.signers.iter().map(|signer| SignerJson {
        seat: signer.seat.to_string(),
        fingerprint: signer.key.fingerprint(),
        standing: match signer.standing {
            Standing::Known => "known",
            Standing::New => "new",
            Standing::Changed { .. } => "changed",
        },
    });
    ReadJson {
        signers: signers.collect(),
        entries: taken.entries,
        new: taken.new,
        known: taken.known,
        writers: taken.writers,
        not_signed: taken.not_signed,
    }
}

/// Asks whether the key of a seat is trusted.
fn is_trusted(signer: &Signer) -> io::Result<bool> {
    let Signer { seat, key, .. } = signer;
    let mut asked = io::stderr();
    writeln!(asked, "{seat} signs by a key that was never seen here. Its fingerprint: {}", key.fingerprint())?;
    write!(asked, "Does `dioptray parcel write` say the same at {seat}? [y/n] ")?;
    asked.flush()?;
    let mut answer = String::new();
    io::stdin().read_line(&mut answer)?;
    Ok(matches!(answer.trim(), "y" | "Y" | "yes"))
}
