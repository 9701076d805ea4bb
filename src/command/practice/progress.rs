//! `dioptray practice progress`: how each skill went, and what is due.

use std::io::Write;

use jiff::{Timestamp, ZonedDateTime};
use serde::Serialize;

use crate::command::exams::records::writing;
use crate::command::files::logbook_to_read;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, note};
use crate::logbook::Drilled;
use crate::practice::drills::{Drill, Level, Progress, Skill};

/// How long a bar is: the last sitting, as a share of it.
const BAR: u32 = 10;
/// So many of what is due are named.
const NAMED: usize = 5;

const EXAMPLES: &str = "Examples:
  dioptray practice progress
  dioptray --json practice progress

A bar is the last sitting of a level: # for the part that was right, . for the rest; nothing where it was never drilled.";

/// What the help ends with.
pub(super) fn after_help() -> String {
    format!("{EXAMPLES}\n\n{CAUTION}")
}

#[derive(Serialize)]
struct ProgressJson {
    skills: Vec<SkillJson>,
    due: Vec<DueJson>,
}

#[derive(Serialize)]
struct SkillJson {
    drill: &'static str,
    level: u8,
    sittings: u32,
    answered: u32,
    right: u32,
    last_right: u32,
    last_answered: u32,
    last_harmful_slips: u32,
    due: String,
}

#[derive(Serialize)]
struct DueJson {
    drill: &'static str,
    level: u8,
}

/// This moment as people here count days.
pub(super) fn here() -> anyhow::Result<ZonedDateTime> {
    Ok(writing(false)?.local(Timestamp::now()))
}

/// The day of a moment as people here count it.
pub(super) fn date(at: Timestamp, now: &ZonedDateTime) -> String {
    at.to_zoned_datetime(now.time_zone().clone()).date().to_string()
}

/// Shows what is known.
pub(super) fn show(context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
    let drilled = logbook_to_read(context)?.map_or_else(|| Ok(Drilled::default()), |logbook| logbook.drilled())?;
    drilled.unread.iter().for_each(note);
    let (progress, now) = (drilled.progress(), here()?);
    if context.json {
        write_line(out, &json(&progress, &now))?;
    } else {
        write_bars(out, &progress, &now)?;
    }
    Ok(Outcome::Done)
}

fn json(progress: &Progress, now: &ZonedDateTime) -> ProgressJson {
    let skills = progress.skills().map(|known| SkillJson {
        drill: known.skill.drill.name(),
        level: known.skill.level.number(),
        sittings: known.sittings,
        answered: known.answered,
        right: known.right,
        last_right: known.last.0,
        last_answered: known.last.1,
        last_harmful_slips: known.harms,
        due: known.due.to_string(),
    });
    let due = progress.due(now).into_iter();
    let due = due.map(|skill| DueJson { drill: skill.drill.name(), level: skill.level.number() }).collect();
    ProgressJson { skills: skills.collect(), due }
}

fn write_bars(out: &mut dyn Write, progress: &Progress, now: &ZonedDateTime) -> anyhow::Result<()> {
    let due = progress.due(now);
    writeln!(out, "{:<16}{:<12}{:<12}{:<12}due", "", "level 1", "level 2", "level 3")?;
    for &drill in Drill::ALL {
        let skills = Level::ALL.iter().map(|&level| Skill { drill, level });
        let bars: Vec<String> = skills.clone().map(|skill| format!("{:<12}", bar(progress, skill))).collect();
        let next = skills.filter_map(|skill| progress.skill(skill)).map(|known| known.due).min();
        let when = match next {
            None => "new".to_owned(),
            Some(_) if due.iter().any(|skill| skill.drill == drill && progress.skill(*skill).is_some()) => {
                "now".to_owned()
            }
            Some(next) => date(next, now),
        };
        writeln!(out, "{:<16}{}{when}", drill.name(), bars.concat())?;
    }
    let named: Vec<String> =
        due.iter().take(NAMED).map(|skill| format!("{} {}", skill.drill.name(), skill.level.number())).collect();
    let more = due.len().saturating_sub(NAMED);
    match (named.is_empty(), progress.next_due()) {
        (true, Some(next)) => writeln!(out, "\nNothing is due before {}.", date(next, now))?,
        (true, None) => {}
        (false, _) => {
            let more = if more > 0 { format!(", and {more} more") } else { String::new() };
            writeln!(out, "\nDue, what hurts most first: {}{more}.", named.join(", "))?;
        }
    }
    Ok(())
}

/// The last sitting of a skill: its right part.
fn bar(progress: &Progress, skill: Skill) -> String {
    let Some(filled) = progress.right_cells(skill, BAR) else { return String::new() };
    format!("{}{}", "#".repeat(filled as usize), ".".repeat((BAR - filled) as usize))
}
