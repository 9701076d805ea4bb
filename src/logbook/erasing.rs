//! Exams that two people of a room had erased. What was agreed to is noted beside the logbook, in the file of what came of others, and
//! taken away there; the logbook itself takes away its own exams when a program opens it that may write.

use std::collections::HashSet;
use std::path::Path;

use uuid::Uuid;

use super::days::{DayEntry, read_entry};
use super::engine::DayWithout;
use super::error::{FileError, LogbookError};
use super::names::{ExamId, ExamNumber};
use super::parcels::others::others_of;
use super::row::Stored;
use super::store::Logbook;
use super::summary::ExamSummary;
use crate::day::DayEvent;
use crate::sharing::{Erasure, ErasuresKnown};

/// What a logbook erased of its own.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ErasedHere {
    /// The exams that are erased now, by their numbers here.
    pub erased: Vec<(ExamNumber, Erasure)>,
    /// Those that another program has on its screen: they are erased at the next start.
    pub on_a_screen: Vec<ExamNumber>,
    /// Why bytes of them may still be in a free part of the file, where they may: it is tried again at the next start.
    pub left_behind: Option<String>,
}

const WHAT: &str = "what is left of a day";

/// What the file of what came of others knows of erased exams.
#[derive(Debug, Default)]
struct Beside {
    noted: Vec<Erasure>,
    leaves_bytes: bool,
}

fn beside(logbook: &Path) -> Result<Beside, LogbookError> {
    match Logbook::open_read_only(&others_of(logbook)) {
        // killed before anything stood in it, or not made yet
        Err(error) if error.is_not_begun() => Ok(Beside::default()),
        others => {
            let engine = others?.engine;
            Ok(Beside { noted: engine.erased()?, leaves_bytes: engine.leaves_bytes()? })
        }
    }
}

/// How far it is noted beside a logbook what was erased.
///
/// # Errors
/// When the file of what came of others cannot be read.
pub fn noted_beside(logbook: &Path) -> Result<ErasuresKnown, LogbookError> {
    Ok(ErasuresKnown::of(&beside(logbook)?.noted))
}

/// Notes beside a logbook what was erased, and takes away there what came of these exams; then writes that file again, so that none
/// of it is in a free part. Why bytes of it may still be there, where they may: [`Logbook::erase_what_was_agreed`] tries again.
///
/// # Errors
/// When it cannot be noted: nothing is taken away then.
pub fn note_beside(logbook: &Path, erasures: &[Erasure]) -> Result<Option<String>, LogbookError> {
    let mut others = Logbook::open(&others_of(logbook))?;
    others.engine.erase(erasures, &[])?;
    Ok(others.written_over())
}

impl Logbook {
    /// The exams of this logbook that were erased.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn erased(&self) -> Result<Vec<Erasure>, LogbookError> {
        self.engine.erased()
    }

    /// Whether bytes of what was erased may still be in a free part of the file: the next start writes it again.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn leaves_bytes(&self) -> Result<bool, LogbookError> {
        self.engine.leaves_bytes()
    }

    /// Refuses an exam that was erased, without reading it.
    ///
    /// # Errors
    /// With why it was, or when the file cannot be read.
    pub fn refuse_if_erased(&self, exam: ExamNumber) -> Result<(), LogbookError> {
        match self.exam_line(exam)?.erased {
            Some(erasure) => Err(FileError::erased(erasure).at(self.path())),
            None => Ok(()),
        }
    }

    /// Erases the closed exams of this logbook of which that is noted beside it: how they began, their steps, labels and results, what
    /// was added to them, and what the list of a day said of the person. Numbers, times and hashes stay, and why.
    ///
    /// # Errors
    /// When what is noted cannot be read, or it cannot be written: nothing is erased then.
    pub fn erase_what_was_agreed(&mut self) -> Result<ErasedHere, LogbookError> {
        let mut here = ErasedHere::default();
        if self.is_read_only() {
            return Ok(here);
        }
        let Beside { noted, leaves_bytes } = beside(self.path())?;
        if noted.is_empty() && !self.engine.leaves_bytes()? {
            return Ok(here);
        }
        let done: HashSet<Uuid> = self.engine.erased()?.into_iter().map(|erasure| erasure.exam).collect();
        for erasure in noted.into_iter().filter(|erasure| !done.contains(&erasure.exam)) {
            let Some(number) = self.engine.number_of(ExamId::new(erasure.exam))? else { continue };
            let line = self.exam_line(number)?;
            // what is still open at this seat is a copy that goes on: it is erased once it is closed
            if line.finished.is_none() {
                continue;
            }
            if self.is_on_a_screen(&line)? {
                here.on_a_screen.push(number);
            } else {
                here.erased.push((number, erasure));
            }
        }
        if !here.erased.is_empty() {
            let erasures: Vec<Erasure> = here.erased.iter().map(|(_, erasure)| erasure.clone()).collect();
            let of_days = self.days_without(&erasures)?;
            self.engine.erase(&erasures, &of_days)?;
        }
        here.left_behind = self.written_over();
        if leaves_bytes {
            let others = Self::open(&others_of(self.path()))?.written_over();
            here.left_behind = here.left_behind.or(others);
        }
        Ok(here)
    }

    /// Writes the file again where bytes of what was erased may be left in it; why they still may be, where they may.
    fn written_over(&mut self) -> Option<String> {
        match self.engine.write_over() {
            Ok(true) => None,
            Ok(false) => Some(format!("another program reads in {}", self.path().display())),
            Err(why) => Some(why.to_string()),
        }
    }

    /// Whether another program has it on its screen.
    fn is_on_a_screen(&self, line: &ExamSummary) -> Result<bool, LogbookError> {
        let holder = self.holder_of(&line.in_box.key)?;
        Ok(holder.is_some_and(|holder| holder.exam == Some(line.number) && holder.process != Some(std::process::id())))
    }

    /// The entries of days that say something of the people of these exams, with their numbers alone.
    fn days_without(&self, erasures: &[Erasure]) -> Result<Vec<DayWithout>, LogbookError> {
        let erased: HashSet<Uuid> = erasures.iter().map(|erasure| erasure.exam).collect();
        let mut all = Vec::new();
        for day in self.days()? {
            let rows = self.engine.day_entries(day)?;
            let entries: Vec<_> = rows.into_iter().filter_map(|row| read_entry(self.path(), &row.ok()?).ok()).collect();
            let events = entries.iter().flat_map(|stored| stored.body.events());
            let people: HashSet<u32> = events.filter_map(|event| event.called_to(&erased)).collect();
            for stored in entries {
                let Some(left) = without(&stored.body, &people) else { continue };
                all.push(DayWithout { entry: stored.entry, left: Stored::encode(&left, WHAT)? });
            }
        }
        Ok(all)
    }
}

/// What is left of an entry when nothing is to be said of these people; none where it says nothing of them.
fn without(entry: &DayEntry, people: &HashSet<u32>) -> Option<DayEntry> {
    let left: Vec<DayEvent> = entry.events().iter().map(|event| event.without(people)).collect();
    (left != entry.events()).then_some(DayEntry::Happened { events: left })
}
