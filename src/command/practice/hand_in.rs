//! `dioptray practice hand-in`: what a student did at the stations of a code, as one sealed file.

use std::io::Write;
use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use serde::Serialize;

use crate::command::exams::records::examiner;
use crate::command::files::logbook_path;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::saving::{Existing, refuse_unsavable, save};
use crate::kit::document::fault::list;
use crate::logbook::{Logbook, StoredExam};
use crate::practice::class::hand_in::{KeptExam, KeptStep};
use crate::practice::class::{ClassCode, HandIn};
use crate::session::practising::practice_logbook;

/// The arguments of `dioptray practice hand-in`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct HandInArgs {
    /// The teacher's code.
    #[arg(long, value_name = "CODE", value_parser = values::text())]
    code: String,
    /// The file to write.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: PathBuf,
    /// Whose it is; if not given, `examiner` in the settings, else the name of the file.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
    /// Replace the file if there is one already.
    #[arg(long)]
    force: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray practice hand-in --code 4422-22HU-N22F-J754-8EK4 --by \"Ana P.\" --out ana.json

It holds every step of every station that was ended, with its time; of several exams of one station the last one that was ended \
counts, and how many there were is said. A seal over the whole file finds any change by an editor. It does not hold against \
somebody who rebuilds the program.";

#[derive(Serialize)]
struct WrittenJson {
    file: PathBuf,
    by: String,
    stations: Vec<u16>,
    missing: Vec<u16>,
}

impl HandInArgs {
    /// Collects and writes.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let code = ClassCode::read(&self.code)?;
        // the file is called after whoever hands it in
        let of_file = || self.out.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let by = examiner(self.by)?.filter(|by| !by.trim().is_empty()).unwrap_or_else(of_file);
        let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
        refuse_unsavable(&self.out, existing)?;
        let hand_in = HandIn::collect(env!("CARGO_PKG_VERSION"), code, &by, kept_exams(context)?);
        if hand_in.stations.is_empty() {
            bail!("no station of this code was ended here: `dioptray practice --code {code}` begins with the first");
        }
        let file = save(&self.out, hand_in.write()?.as_bytes(), existing)?;
        let missing = hand_in.missing();
        if !missing.is_empty() {
            let stations = if missing.len() == 1 { "station" } else { "stations" };
            let numbers = list(&missing.iter().map(ToString::to_string).collect::<Vec<_>>());
            note(format!("not ended yet, and so not in the file: {stations} {numbers} of {}", code.of));
        }
        let stations: Vec<u16> = hand_in.stations.iter().map(|station| station.number).collect();
        if context.json {
            write_line(out, &WrittenJson { file, by, stations, missing })?;
        } else {
            writeln!(out, "{} of {} stations of {by}: {}", stations.len(), code.of, file.display())?;
        }
        Ok(Outcome::Done)
    }
}

/// Every exam of the practice logbook, the earliest first. One that cannot be read is said, and passed over.
fn kept_exams(context: &Context) -> anyhow::Result<Vec<KeptExam>> {
    let path = practice_logbook(&logbook_path(context)?);
    let logbook = match Logbook::open_read_only(&path) {
        Ok(logbook) => logbook,
        Err(error) if error.is_missing() => return Ok(Vec::new()),
        Err(error) => return Err(error.into()),
    };
    let mut kept = Vec::new();
    let listed = logbook.exams()?;
    listed.passed_over.iter().for_each(|passed_over| note(&passed_over.why));
    for summary in listed.exams.iter().rev() {
        match logbook.read_exam(summary.number) {
            Ok(stored) => kept.push(as_kept(stored)),
            Err(why) => note(why),
        }
    }
    Ok(kept)
}

fn as_kept(stored: StoredExam) -> KeptExam {
    let steps = stored.steps.into_iter().map(|step| KeptStep { at: step.at, events: step.events });
    KeptExam { began: stored.opened, opening: stored.exam.opening().clone(), steps: steps.collect() }
}
