//! `dioptray day add`: who will come.

use std::io::Write;
use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use jiff::Timestamp;
use serde::Serialize;

use super::which::open_day;
use crate::command::boxes::{Columns, Sheet, SheetFaults};
use crate::command::exams::records::examiner;
use crate::command::json::write_line;
use crate::command::{CAUTION, Context, Outcome, values};
use crate::day::{DayEvent, NewPerson};
use crate::kit::document::fault::counted;
use crate::optics::bounds;
use crate::optics::notation::parse_figure;

/// The most characters of a label or a note.
const LONGEST: usize = 80;

/// The arguments of `dioptray day add`.
#[derive(Debug, Args)]
#[command(after_help = format!("{EXAMPLES}\n\n{CAUTION}"))]
pub struct AddPeople {
    /// A label, which may be nothing but a number.
    #[arg(value_name = "LABEL", conflicts_with = "from", required_unless_present = "from", value_parser = values::text())]
    label: Option<String>,
    /// Age in whole years.
    #[arg(long, value_name = "YEARS", conflicts_with = "from", value_parser = values::figure)]
    age: Option<String>,
    /// What is to be remembered.
    #[arg(long, value_name = "TEXT", conflicts_with = "from", value_parser = values::text())]
    note: Option<String>,
    /// Everybody of a CSV file with the head `label,age,note`.
    #[arg(long, value_name = "FILE", value_parser = values::path())]
    from: Option<PathBuf>,
    /// Who notes it; if not given, `examiner` in the settings.
    #[arg(long, value_name = "NAME", value_parser = values::text())]
    by: Option<String>,
}

const EXAMPLES: &str = "Examples:
  dioptray day add 5B-12 --age 11
  dioptray day add --from class-5b.csv

A label needs to name nobody: a number does. Names stay on the paper list of the school.";

#[derive(Serialize)]
struct AddedJson {
    added: Vec<u32>,
}

impl AddPeople {
    /// Adds them.
    pub fn run(self, context: &Context, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let new = match &self.from {
            Some(file) => people_of(file)?,
            None => vec![NewPerson {
                number: None,
                label: self.label.as_deref().map(|label| short("label", label)).transpose()?,
                age_years: self.age.as_deref().map(years).transpose()?,
                complaint: None,
                note: self.note.as_deref().map(|note| short("--note", note)).transpose()?,
            }],
        };
        let by = examiner(self.by)?;
        let (mut logbook, day) = open_day(context)?;
        let known: Vec<u32> = day.day.people.iter().map(|person| person.number).collect();
        let events: Vec<DayEvent> = new.into_iter().map(DayEvent::Waits).collect();
        let after = logbook.note_in_day(day.id, &events, by.as_deref(), Timestamp::now())?;
        let added = after.day.people.iter().map(|person| person.number).filter(|number| !known.contains(number));
        let added: Vec<u32> = added.collect();
        if context.json {
            write_line(out, &AddedJson { added })?;
        } else {
            let first = added.first().copied().unwrap_or(0);
            let people = counted(added.len(), "person", "people");
            writeln!(out, "{people} on the list, from number {first} on")?;
        }
        Ok(Outcome::Done)
    }
}

fn people_of(file: &Path) -> anyhow::Result<Vec<NewPerson>> {
    let columns = Columns { needed: &["label"], optional: &["age", "note"] };
    let sheet = Sheet::read(file, &columns)?;
    let mut faults = SheetFaults::of_sheet(sheet.name());
    let mut people = Vec::new();
    for row in &sheet.rows {
        let mut text = |column: &str| match sheet.cell(row, column).map(|cell| short(column, cell)).transpose() {
            Ok(text) => text,
            Err(fault) => {
                faults.add(row.line, fault);
                None
            }
        };
        let (label, note) = (text("label"), text("note"));
        match sheet.cell(row, "age").map(years).transpose() {
            Ok(age_years) => people.push(NewPerson { number: None, label, age_years, note, complaint: None }),
            Err(fault) => faults.add(row.line, fault),
        }
    }
    faults.found()?;
    if people.is_empty() {
        bail!("{}: nobody stands in this file below its head", file.display());
    }
    Ok(people)
}

fn years(typed: &str) -> anyhow::Result<u8> {
    Ok(parse_figure(typed, &bounds::AGE_YEARS)? as u8)
}

fn short(what: &str, text: &str) -> anyhow::Result<String> {
    if text.chars().count() > LONGEST || text.chars().any(char::is_control) {
        bail!("{what}: write at most {LONGEST} characters in one line");
    }
    Ok(text.to_owned())
}
