//! `dioptray room erase`: an exam is erased for good, by two people.

use std::io::{self, IsTerminal as _, Write};

use anyhow::bail;
use clap::Args;
use serde::Serialize;

use crate::command::exams::name::{ExamName, exam_name};
use crate::command::files::{logbook_path, settings_folder as folder};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::logbook::Logbook;
use crate::room::erasing::{AskedFor, agree, ask, erasures, take_back};
use crate::room::error::RoomError;
use crate::room::joining::Caller;
use crate::room::link::Link;
use crate::session::erasing::erase_what_was_agreed;

/// The arguments of `dioptray room erase`.
#[derive(Debug, Args)]
#[command(after_help = format!("{ERASE}\n\n{CAUTION}"))]
pub struct Erase {
    /// The closed exam, by seat and number; by its number alone where it is one of this seat.
    #[arg(value_name = "EXAM", value_parser = exam_name)]
    exam: ExamName,
    /// Ask for it, with the reason, which stays: no name of a person belongs into it
    #[arg(long, value_name = "TEXT", value_parser = values::text(), conflicts_with_all = ["agree", "take_back"],
        required_unless_present_any = ["agree", "take_back"])]
    why: Option<String>,
    /// Agree to what another login asked for: the exam is erased
    #[arg(long, conflicts_with = "take_back")]
    agree: bool,
    /// Agree without being asked once more
    #[arg(long, requires = "agree")]
    yes: bool,
    /// Take back what this login asked for, while nobody agreed
    #[arg(long)]
    take_back: bool,
}

const ERASE: &str = "Examples:
  dioptray room erase lane3-14 --why \"entered for the wrong person\"
  dioptray room erase lane3-14 --agree
  dioptray room erase lane3-14 --take-back

It takes two: a keeper of the room asks, and another login, of an examiner, a keeper or a teacher who sees that seat, agrees. `dioptray \
room` lists what is asked. What was found, the label, every step and everything that was added to the exam are then gone from the \
room, from each seat at its next round with it, and from the seat that made it when Dioptray starts there next. What stays: seat and \
number, when it began and was closed, the examiner, the box, why it was erased and by which two logins, and the hash of what it held, so that every other \
entry can still be checked. It cannot be undone.

What left Dioptray before is not reached: parcels, copies of a logbook, backups of the room's server and its log, records as PDF, FHIR or DICOM, \
prints, and an exam with which another seat went on (it is one of its own). See to these yourself, by the rules that hold where you work.";

/// What is asked for, or was erased, as JSON has it.
#[derive(Serialize)]
pub struct ErasureJson {
    exam: String,
    closed: String,
    by: Option<String>,
    why: String,
    asked_by: String,
    asked: String,
    agreed_by: Option<String>,
    agreed: Option<String>,
}

impl ErasureJson {
    pub fn of(asked: &AskedFor) -> Self {
        let (agreed_by, agreed) = asked.agreed.clone().map(|agreed| (agreed.by, agreed.at)).unzip();
        Self {
            exam: named(asked),
            closed: asked.closed.clone(),
            by: asked.by.clone(),
            why: asked.why.clone(),
            asked_by: asked.asked_by.clone(),
            asked: asked.asked.clone(),
            agreed_by,
            agreed,
        }
    }
}

#[derive(Serialize)]
struct TakenBackJson {
    exam: String,
    taken_back: bool,
}

/// By what the exam is spoken of: `lane3-14`.
fn named(asked: &AskedFor) -> String {
    format!("{}-{}", asked.seat, asked.number)
}

/// Which exam is meant, in words: `lane3-14, closed 2026-11-27 08:10 UTC by A. Osei`.
fn in_words(asked: &AskedFor) -> String {
    let by = asked.by.as_deref().map(|by| format!(" by {by}")).unwrap_or_default();
    let closed = asked.closed.get(..16).unwrap_or(&asked.closed).replace('T', " ");
    format!("{}, closed {closed} UTC{by}", named(asked))
}

/// What is asked for, and how much was erased, in lines.
pub fn write_list(out: &mut dyn Write, all: &[AskedFor]) -> io::Result<()> {
    for asked in all.iter().filter(|asked| asked.agreed.is_none()) {
        let (words, name) = (in_words(asked), named(asked));
        let AskedFor { why, asked_by, .. } = asked;
        writeln!(out, "to be erased: {words}: {why}")?;
        writeln!(out, "  {asked_by} asks for it; somebody else agrees with `dioptray room erase {name} --agree`")?;
    }
    match all.iter().filter(|asked| asked.agreed.is_some()).count() {
        0 => Ok(()),
        1 => writeln!(out, "1 exam was erased in this room"),
        many => writeln!(out, "{many} exams were erased in this room"),
    }
}

impl Erase {
    /// Asks for it, agrees, or takes it back.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let caller = Caller::of(&logbook_path(context)?, folder())?;
        let (link, _) = caller.connect()?;
        // an exam that was closed a moment ago is in the room then
        caller.exchange(&link)?;
        let (seat, number) = match &self.exam {
            ExamName::Own(number) => (caller.joined.seat.to_string(), i64::try_from(*number).unwrap_or(i64::MAX)),
            ExamName::Elsewhere(name) => (name.seat.to_string(), name.number.0),
        };
        if let Some(why) = &self.why {
            ask(&link, caller.writer, &seat, number, why)?;
            let asked = found(&link, &seat, number)?;
            if context.json {
                write_line(out, &ErasureJson::of(&asked))?;
            } else {
                writeln!(out, "asked for: {}: {}. Nothing is erased yet", in_words(&asked), asked.why)?;
                writeln!(out, "Somebody else agrees with `dioptray room erase {} --agree`", named(&asked))?;
            }
            return Ok(Outcome::Done);
        }
        let asked = found(&link, &seat, number)?;
        if self.take_back {
            take_back(&link, caller.writer, asked.exam)?;
            if context.json {
                write_line(out, &TakenBackJson { exam: named(&asked), taken_back: true })?;
            } else {
                writeln!(out, "taken back: {} stays", named(&asked))?;
            }
            return Ok(Outcome::Done);
        }
        if !self.yes && !is_meant(&asked)? {
            writeln!(out, "nothing was erased")?;
            return Ok(Outcome::Done);
        }
        agree(&link, caller.writer, asked.exam)?;
        // here at once; at the other seats with their next round
        caller.exchange(&link)?;
        let own = erase_what_was_agreed(&mut Logbook::open(&caller.path)?);
        own.iter().for_each(note);
        let asked = found(&link, &seat, number)?;
        if context.json {
            write_line(out, &ErasureJson::of(&asked))?;
        } else {
            writeln!(out, "erased: {}: {}", in_words(&asked), asked.why)?;
            writeln!(
                out,
                "Other seats follow with their next round. Parcels, copies, backups and exported records are not reached"
            )?;
        }
        Ok(Outcome::Done)
    }
}

/// What is asked of an exam.
fn found(link: &Link, seat: &str, number: i64) -> Result<AskedFor, RoomError> {
    let is_it = |asked: &AskedFor| asked.seat == seat && asked.number == number;
    erasures(link)?.into_iter().find(is_it).ok_or(RoomError::NotAskedFor)
}

/// Asks once more, in the terminal.
fn is_meant(asked: &AskedFor) -> anyhow::Result<bool> {
    let mut shown = io::stderr();
    writeln!(shown, "This will be gone for good, here and at every seat: exam {}", in_words(asked))?;
    writeln!(shown, "{} asks for it: {}", asked.asked_by, asked.why)?;
    if !io::stdin().is_terminal() {
        bail!("nothing was erased: say --yes too, where nobody can be asked");
    }
    write!(shown, "Is it to be erased? [y/n] ")?;
    shown.flush()?;
    let mut answer = String::new();
    io::stdin().read_line(&mut answer)?;
    Ok(matches!(answer.trim(), "y" | "Y" | "yes"))
}
