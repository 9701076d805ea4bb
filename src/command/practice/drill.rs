//! `dioptray practice drill`: items of a drill, asked one after the other, as a sheet, or for a program.

use std::io::{self, IsTerminal as _, Write};

use clap::Args;
use clap::error::ErrorKind;
use serde::Serialize;

use super::drill_asked::{Asking, ask};
use super::drill_sheet::{ItemJson, write_sheet};
use super::names;
use super::progress::here;
use crate::command::context::WrongUsage;
use crate::command::exams::records::writing;
use crate::command::files::{logbook_path, logbook_to_read};
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note};
use crate::logbook::{Drilled, Logbook};
use crate::practice::drills::{Drill, Level, Skill, items};

/// The arguments of `dioptray practice drill`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct DrillArgs {
    /// Which drill; without it the one that is due, of the skills that were drilled and those that are still new.
    #[arg(value_name = "NAME", value_parser = names::drill())]
    name: Option<Drill>,
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
    #[arg(long)]
    ask: bool,
    /// The names of the drills.
    #[arg(long, conflicts_with_all = ["name", "items", "seed", "level", "ask"])]
    list: bool,
}

const EXAMPLES: &str = "Examples:
  dioptray practice drill
  dioptray practice drill transposition --level 2
  dioptray practice drill net --items 20 --seed 7 --level 3 > sheet.txt
  dioptray --json practice drill prentice --items 5 --seed 7 --level 2

On a terminal the items are asked one after the other, each answer is marked at once, and what was answered is kept in the \
logbook: it says what is due next (`dioptray practice progress`). It stands in no list of exams and in no export. Anywhere else a \
sheet is written, its answers apart at the end; nothing is kept then.";

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
        let asked = !context.json && (self.ask || (io::stdin().is_terminal() && io::stdout().is_terminal()));
        if asked {
            return self.ask(context, out);
        }
        if context.json && self.ask {
            let message = "--ask is for people: leave --json out".to_owned();
            return Err(WrongUsage { kind: ErrorKind::ArgumentConflict, message }.into());
        }
        let (skill, seed) = (self.skill(context)?, self.seed.unwrap_or(1));
        let Some(skill) = skill else { return nothing_due(out) };
        let items = items(skill, seed, self.items as usize);
        if context.json {
            write_line(out, &ItemsJson { items: items.iter().map(ItemJson::of).collect() })?;
        } else {
            write_sheet(out, skill, seed, &items)?;
        }
        Ok(Outcome::Done)
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
        self.name.map(|drill| Skill { drill, level })
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
