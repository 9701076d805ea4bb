//! `dioptray practice drill`: items of a drill, asked one after the other, as a sheet, or for a program.

use std::io::{self, IsTerminal as _, Write};
use std::path::PathBuf;

use anyhow::bail;
use clap::error::ErrorKind;
use clap::{Args, ValueEnum};
use serde::Serialize;

use super::drill_asked::{Asking, ask};
use super::drill_sheet::{ItemJson, Sheet, pages, write_answers, write_questions};
use super::names::{self, Drills};
use super::progress::here;
use crate::command::context::WrongUsage;
use crate::command::exams::records::writing;
use crate::command::files::{logbook_path, logbook_to_read};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note, values};
use crate::export::pdf::pdf_of_questions;
use crate::export::saving::{Existing, save};
use crate::logbook::{Drilled, Logbook};
use crate::practice::drills::{Drill, Level, Skill, items};

/// What of a sheet is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SheetForm {
    /// The questions alone, as text.
    Questions,
    /// The answers alone with their working, as text.
    Answers,
    /// Both as A4 pages, the answers on pages of their own.
    Pdf,
}

/// The arguments of `dioptray practice drill`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct DrillArgs {
    /// Which drill, or all; without it the one that is due, of the skills that were drilled and those that are still new.
    #[arg(value_name = "NAME", value_parser = names::drills())]
    name: Option<Drills>,
    /// How many items.
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    items: u32,
    /// The seed: the same one gives the same items on any machine. Without it 1, and new ones each time where they are asked.
    #[arg(long, value_name = "S")]
    seed: Option<u64>,
    /// How hard, 1 to 3.
    #[arg(long, value_name = "L", value_parser = clap::value_parser!(u8).range(1..=3), requires = "name")]
    level: Option<u8>,
    /// Ask them line by line on standard input, although that is not a terminal.
    #[arg(long, conflicts_with_all = ["form", "out"])]
    ask: bool,
    /// What is written on paper; questions and answers one after the other when nothing is said.
    #[arg(long = "as", value_name = "FORM", value_enum)]
    form: Option<SheetForm>,
    /// The file to write, whole or not at all; without it, standard output.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    out: Option<PathBuf>,
    /// Replace the file if there is one already.
    #[arg(long, requires = "out")]
    force: bool,
    /// The names of the drills.
    #[arg(long, conflicts_with_all = ["name", "items", "seed", "level", "ask", "form", "out"])]
    list: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray practice drill
  dioptray practice drill transposition --level 2
  dioptray practice drill net --items 20 --seed 7 --level 3 > sheet.txt
  dioptray practice drill all --items 3 --level 2 --as pdf --out questions.pdf
  dioptray --json practice drill prentice --items 5 --seed 7 --level 2

On a terminal the items are asked one after the other, each answer is marked at once, and what was answered is kept in the \
logbook: it says what is due next (`dioptray practice progress`). It stands in no list of exams and in no export. Anywhere else a \
sheet is written, its answers apart at the end; nothing is kept then. The same seed gives the same items, so that questions and \
answers can be written one after the other (--as questions, --as answers); as PDF the answers have pages of their own.";

#[derive(Serialize)]
struct ItemsJson {
    items: Vec<ItemJson>,
}

#[derive(Serialize)]
struct DrillsJson {
    drills: Vec<&'static str>,
}

impl DrillArgs {
    /// Asks, writes a sheet, or lists.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        if self.list {
            return list(context, out);
        }
        let is_written = self.form.is_some() || self.out.is_some() || self.name == Some(Drills::All);
        let is_here = io::stdin().is_terminal() && io::stdout().is_terminal();
        if self.ask && self.name == Some(Drills::All) {
            return wrong("--ask asks one drill: name it");
        }
        if !context.json && !is_written && (self.ask || is_here) {
            return self.ask(context, out);
        }
        if context.json && (self.ask || self.form.is_some() || self.out.is_some()) {
            return wrong("--ask, --as and --out are for people: leave --json out");
        }
        let seed = self.seed.unwrap_or(1);
        let skills = self.skills(context)?;
        if skills.is_empty() {
            return nothing_due(out);
        }
        let drawn = |skill| Sheet { skill, seed, items: items(skill, seed, self.items as usize) };
        let sheets: Vec<Sheet> = skills.into_iter().map(drawn).collect();
        if context.json {
            let items = sheets.iter().flat_map(|sheet| &sheet.items).map(ItemJson::of);
            write_line(out, &ItemsJson { items: items.collect() })?;
        } else {
            self.write(&sheets, out)?;
        }
        Ok(Outcome::Done)
    }

    /// Writes sheets in the form that was asked for, where it was asked for.
    fn write(&self, sheets: &[Sheet], out: &mut dyn Write) -> anyhow::Result<()> {
        let existing = if self.force { Existing::IsReplaced } else { Existing::Stays };
        let mut bytes = Vec::new();
        match self.form {
            None => {
                write_questions(&mut bytes, sheets)?;
                bytes.extend(b"\n\n");
                write_answers(&mut bytes, sheets)?;
            }
            Some(SheetForm::Questions) => write_questions(&mut bytes, sheets)?,
            Some(SheetForm::Answers) => write_answers(&mut bytes, sheets)?,
            Some(SheetForm::Pdf) => {
                if self.out.is_none() && io::stdout().is_terminal() {
                    bail!("pdf is not for a terminal: name a file with --out FILE");
                }
                bytes = pdf_of_questions(&pages(sheets))?;
            }
        }
        match &self.out {
            Some(file) => writeln!(out, "{}", save(file, &bytes, existing)?.display())?,
            None => out.write_all(&bytes)?,
        }
        Ok(())
    }

    /// What is written on paper: what was named, or what is due; none when nothing is.
    fn skills(&self, context: &Context) -> anyhow::Result<Vec<Skill>> {
        let level = self.level.and_then(Level::numbered).unwrap_or(Level::One);
        Ok(match self.name {
            Some(Drills::All) => Drill::ALL.iter().map(|&drill| Skill { drill, level }).collect(),
            Some(Drills::One(_)) | None => self.skill(context)?.into_iter().collect(),
        })
    }

    /// What was named, or what is due by the logbook; `None` when nothing is.
    fn skill(&self, context: &Context) -> anyhow::Result<Option<Skill>> {
        if let Some(skill) = self.named() {
            return Ok(Some(skill));
        }
        let drilled = logbook_to_read(context)?.map_or_else(|| Ok(Drilled::default()), |logbook| logbook.drilled())?;
        Ok(drilled.progress().due(&here()?).first().copied())
    }

    fn named(&self) -> Option<Skill> {
        let level = self.level.and_then(Level::numbered).unwrap_or(Level::One);
        match self.name? {
            Drills::One(drill) => Some(Skill { drill, level }),
            Drills::All => None,
        }
    }

    fn ask(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let mut logbook = Logbook::open(&logbook_path(context)?)?;
        let drilled = logbook.drilled()?;
        drilled.unread.iter().for_each(note);
        let now = here()?;
        let due = || drilled.progress().due(&now).first().copied();
        let Some(skill) = self.named().or_else(due) else { return nothing_due(out) };
        // another one each time, the same for a logbook as it stands
        let seed = self.seed.unwrap_or(drilled.sittings.len() as u64 + 1);
        let asking = Asking {
            skill,
            seed,
            items: items(skill, seed, self.items as usize),
            by: writing(false)?.examiner().map(str::to_owned),
        };
        ask(&asking, &mut logbook, &mut io::stdin().lock(), out)?;
        Ok(Outcome::Done)
    }
}

fn wrong(message: &str) -> anyhow::Result<Outcome> {
    Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message: message.to_owned() }.into())
}

fn nothing_due(out: &mut dyn Write) -> anyhow::Result<Outcome> {
    writeln!(out, "Nothing is due today. Name a drill to do one all the same: `dioptray practice drill --list`.")?;
    Ok(Outcome::Done)
}

fn list(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    if context.json {
        write_line(out, &DrillsJson { drills: Drill::ALL.iter().map(|drill| drill.name()).collect() })?;
    } else {
        for drill in Drill::ALL {
            writeln!(out, "{:<16}{}", drill.name(), drill.about())?;
        }
    }
    Ok(Outcome::Done)
}
