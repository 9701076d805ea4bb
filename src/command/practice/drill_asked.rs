//! Items asked one after the other, in plain lines.

use std::io::{self, BufRead, Write};

use jiff::Timestamp;

use super::progress::{date, here};
use crate::export::wrapping::wrapped_to_columns;
use crate::logbook::Logbook;
use crate::practice::drills::{Answered, Item, Mark, Skill, Slip, mark};

/// An answer longer than this is none.
const LONGEST_BYTES: u64 = 200;

/// No line of text is wider.
const COLUMNS: usize = 76;

/// What is asked, of whom.
pub(super) struct Asking {
    pub(super) skill: Skill,
    pub(super) seed: u64,
    pub(super) items: Vec<Item>,
    pub(super) by: Option<String>,
}

/// Asks each item until it has an answer, marks that at once and keeps it; ends early where the lines end.
pub(super) fn ask(
    asking: &Asking,
    logbook: &mut Logbook,
    lines: &mut dyn BufRead,
    out: &mut dyn Write,
) -> anyhow::Result<()> {
    let Asking { skill, seed, items, by } = asking;
    let (of, name) = (items.len(), skill.drill.name());
    writeln!(out, "{name}, level {}: {}.", skill.level.number(), skill.drill.about())?;
    writeln!(out, "{of} items, seed {seed}. Ctrl-d ends early; what was answered is kept.")?;
    let sitting = Logbook::begin_sitting(Timestamp::now());
    let mut marks = Vec::new();
    for (number, item) in (1_u32..).zip(items) {
        writeln!(out)?;
        write_wrapped(out, &format!("{number} of {of}. {}", item.ask), "")?;
        let Some((typed, marked)) = answer(item, lines, out)? else { break };
        let answered = Answered::new(*skill, *seed, number, &typed, marked);
        logbook.note_answer(sitting, &answered, by.as_deref(), Timestamp::now())?;
        match marked {
            Mark::Right => write_wrapped(out, &format!("Right: {}.", item.answer.told()), "")?,
            Mark::Wrong(slip) => {
                write_wrapped(out, &format!("Wrong: {}. It is {}.", slip.said(), item.answer.told()), "")?;
            }
        }
        for step in &item.working {
            write_wrapped(out, step, "  ")?;
        }
        marks.push(marked);
    }
    write_summary(out, &marks)?;
    if let Some(known) = logbook.drilled()?.progress().skill(*skill).filter(|_| !marks.is_empty()) {
        writeln!(out, "Due again on {}.", date(known.due, &here()?))?;
    }
    Ok(())
}

/// What was typed, once it can be marked; `None` where the lines end.
fn answer(item: &Item, lines: &mut dyn BufRead, out: &mut dyn Write) -> anyhow::Result<Option<(String, Mark)>> {
    loop {
        write!(out, "> ")?;
        out.flush()?;
        let Some(typed) = line(lines)? else {
            writeln!(out)?;
            return Ok(None);
        };
        if typed.is_empty() {
            writeln!(out, "Type an answer, or Ctrl-d to end.")?;
            continue;
        }
        match mark(item, &typed) {
            Ok(marked) => return Ok(Some((typed, marked))),
            Err(unreadable) => writeln!(out, "{unreadable}")?,
        }
    }
}

/// The next line without its end; `None` when there is none. Of a longer one only so much is read as no answer has.
fn line(lines: &mut dyn BufRead) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    let read = io::Read::take(&mut *lines, LONGEST_BYTES).read_until(b'\n', &mut bytes)?;
    if read == 0 {
        return Ok(None);
    }
    if read as u64 == LONGEST_BYTES && !bytes.ends_with(b"\n") {
        lines.skip_until(b'\n')?;
    }
    Ok(Some(String::from_utf8_lossy(&bytes).trim().to_owned()))
}

/// A sentence in lines that every terminal has room for.
fn write_wrapped(out: &mut dyn Write, text: &str, indent: &str) -> io::Result<()> {
    wrapped_to_columns(text, COLUMNS).iter().try_for_each(|line| writeln!(out, "{indent}{line}"))
}

fn write_summary(out: &mut dyn Write, marks: &[Mark]) -> io::Result<()> {
    let right = marks.iter().filter(|mark| **mark == Mark::Right).count();
    if marks.is_empty() {
        return writeln!(out, "\nNothing was answered, and nothing is kept.");
    }
    writeln!(out, "\n{right} of {} right.", marks.len())?;
    let mut said: Vec<Slip> = Vec::new();
    for slip in marks.iter().filter_map(|mark| mark.slip()) {
        if !said.contains(&slip) {
            said.push(slip);
            let times = marks.iter().filter(|mark| mark.slip() == Some(slip)).count();
            writeln!(out, "  {times} x {}", slip.said())?;
        }
    }
    Ok(())
}
