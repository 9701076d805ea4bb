//! Days of many people: entries about a day, in the order in which they came here.

use std::path::Path;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::engine::{EntryOf, EntryRow, NewEntry, Which};
use super::error::{FileError, LogbookError};
use super::exams::{BeganWith, OpenExam, new_id};
use super::happened::EntryRef;
use super::names::{DayId, ExamId};
use super::row::{self, Stored};
use super::store::Logbook;
use super::summary::ExamSummary;
use crate::day::{CalledIn, Caller, Day, DayEvent, DaySettings};
use crate::exam::{CheckedStep, Exam, OffTheShelf, Opening, Outcome};
use crate::sharing::EntryKind;

/// What one entry says of a day: all of it happened, or it is not there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DayEntry {
    /// Something happened.
    Happened {
        /// What, in this order.
        events: Vec<DayEvent>,
    },
    /// An earlier entry was a slip.
    Undone {
        /// The entry.
        entry: EntryRef,
    },
}

impl DayEntry {
    /// What happened; nothing where it takes back another.
    pub fn events(&self) -> &[DayEvent] {
        match self {
            Self::Happened { events } => events,
            Self::Undone { .. } => &[],
        }
    }

    /// The entry that it takes back.
    pub fn takes_back(&self) -> Option<EntryRef> {
        match self {
            Self::Undone { entry } => Some(*entry),
            Self::Happened { .. } => None,
        }
    }
}

/// An entry about a day as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredDayEntry {
    /// Who wrote it, and its number there.
    pub entry: EntryRef,
    /// When. Nothing is ordered by it.
    pub at: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// What it says.
    pub body: DayEntry,
}

/// An exam of somebody of a day.
#[derive(Debug)]
pub struct ExamInDay {
    /// What to add further steps with.
    pub open: OpenExam,
    /// The exam with its first step: the room of the day, and what was entered of the person.
    pub exam: Exam,
    /// The running number of the person.
    pub number: u32,
}

/// A day as the logbook has it.
#[derive(Debug)]
pub struct DayOnRecord {
    /// Its identity.
    pub id: DayId,
    /// The day as it stands.
    pub day: Day,
    /// Who began it, if that was said.
    pub by: Option<String>,
    /// Every entry that can be read, slips among them.
    pub entries: Vec<StoredDayEntry>,
    /// What the logbook says to those that cannot be read; the day stands without them.
    pub unread: Vec<LogbookError>,
}

const WHAT: &str = "this of the day";

impl Logbook {
    /// Begins a day.
    ///
    /// # Errors
    /// When another day has not ended, or it cannot be written.
    pub fn begin_day(&mut self, settings: DaySettings, by: Option<&str>, at: Timestamp) -> Result<DayId, LogbookError> {
        if let Some(open) = self.open_day()? {
            return Err(LogbookError::DayOpen { began: open.day.began, place: open.day.settings.place });
        }
        let id = DayId::new(new_id(at).uuid());
        let entry = entry(id, &DayEntry::Happened { events: vec![DayEvent::Began(settings)] }, by, at)?;
        self.engine.add_day_entry(id, &mut |_| Ok(entry.clone()))?;
        Ok(id)
    }

    /// The days that ever began, the latest last.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn days(&self) -> Result<Vec<DayId>, LogbookError> {
        self.engine.days()
    }

    /// The day that began last and has not ended.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn open_day(&self) -> Result<Option<DayOnRecord>, LogbookError> {
        let Some(last) = self.days()?.pop() else { return Ok(None) };
        Ok(Some(self.day(last)?).filter(|on_record| on_record.day.ended.is_none()))
    }

    /// A day as it stands.
    ///
    /// # Errors
    /// When there is no such day, or the file cannot be read. A single entry that cannot is passed over and named.
    pub fn day(&self, id: DayId) -> Result<DayOnRecord, LogbookError> {
        self.day_of(id, self.engine.day_entries(id)?)
    }

    fn day_of(&self, id: DayId, rows: Vec<EntryOf>) -> Result<DayOnRecord, LogbookError> {
        on_record(self.path(), id, rows)
    }

    /// Notes what happened in a day in one entry, checked against the day as it stands in this moment: all or none. Who comes
    /// without a number gets the next.
    ///
    /// # Errors
    /// When the day refuses it, or it cannot be written; nothing is noted then.
    pub fn note_in_day(
        &mut self,
        id: DayId,
        events: &[DayEvent],
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<DayOnRecord, LogbookError> {
        let path = self.path().to_owned();
        self.engine.add_day_entry(id, &mut |rows| {
            let noted = on_record(&path, id, rows)?.day.checked(events, at)?;
            entry(id, &DayEntry::Happened { events: noted }, by, at)
        })?;
        self.day(id)
    }

    /// Takes back the last entry of a day that stands: it was a slip, and stays in the file as one. How the day began is not
    /// taken back, and neither is that an exam began: that has a life of its own.
    ///
    /// # Errors
    /// When there is nothing to take back, or it cannot be written.
    pub fn undo_in_day(
        &mut self,
        id: DayId,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<(DayOnRecord, StoredDayEntry), LogbookError> {
        let path = self.path().to_owned();
        let mut slip = None;
        self.engine.add_day_entry(id, &mut |rows| {
            let now = on_record(&path, id, rows)?;
            let last = now.standing().last().filter(|stored| stored.body.events().iter().all(DayEvent::can_be_undone));
            let last = last.cloned().ok_or(LogbookError::NothingToTakeBackOfDay)?;
            let body = DayEntry::Undone { entry: last.entry };
            slip = Some(last);
            entry(id, &body, by, at)
        })?;
        let slip = slip.ok_or(LogbookError::NothingToTakeBackOfDay)?;
        Ok((self.day(id)?, slip))
    }

    /// Begins an exam of somebody of a day: both are noted, or neither. Returns the exam, and the number of the person.
    ///
    /// # Errors
    /// When the day refuses it, or it cannot be written.
    pub fn begin_exam_in_day(
        &mut self,
        opening: &Opening,
        with: &BeganWith,
        day: DayId,
        caller: &Caller,
        at: Timestamp,
    ) -> Result<ExamInDay, LogbookError> {
        let path = self.path().to_owned();
        let by = with.by.clone();
        let mut called = None;
        let (open, exam) = self.begin_exam_with(
            opening,
            with,
            at,
            Some((day, &mut |exam: ExamId, rows| {
                let CalledIn { number, events, beginning } =
                    on_record(&path, day, rows)?.day.call(caller, exam.uuid(), at)?;
                called = Some(number);
                Ok((entry(day, &DayEntry::Happened { events }, by.as_deref(), at)?, beginning))
            })),
        )?;
        Ok(ExamInDay { open, exam, number: called.unwrap_or_default() })
    }

    /// Adds a step by which an exam of a day gets a ready-made pair, or gives one back: step and pair are kept, or neither. What
    /// is left is looked at in the same transaction, so that the last pair is given once.
    ///
    /// # Errors
    /// When none is left, another program has continued the exam meanwhile, or it cannot be written; nothing is added then.
    pub fn append_with_pair(
        &mut self,
        exam: &mut OpenExam,
        step: &CheckedStep,
        day: DayId,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<(), LogbookError> {
        let path = self.path().to_owned();
        let (id, off) = (exam.id().uuid(), step.after().outcome.as_ref().and_then(Outcome::off_the_shelf));
        self.append_with(
            exam,
            step,
            by,
            at,
            Some((day, &mut |rows| {
                let now = on_record(&path, day, rows)?.day;
                let number = now.person_of(id).map_or(0, |person| person.number);
                let events = now.pairs_to_note(number, id, off.as_ref());
                let noted = now.checked(&events, at)?;
                entry(day, &DayEntry::Happened { events: noted }, by, at)
            })),
        )
    }

    /// The pairs that were given off a shelf of this name and are not back, in every day but one.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn pairs_given(&self, shelf: &str, but: Option<DayId>) -> Result<Vec<OffTheShelf>, LogbookError> {
        let mut given = Vec::new();
        for id in self.days()?.into_iter().filter(|id| Some(*id) != but) {
            let day = self.day(id)?.day;
            given.extend(day.given.into_iter().map(|given| given.off).filter(|off| off.shelf == shelf));
        }
        Ok(given)
    }

    /// The lines of the exams of a day, in the order of the list of exams.
    ///
    /// # Errors
    /// When the file cannot be read. An exam whose line cannot be read is left out.
    pub fn exams_of_day(&self, day: &Day) -> Result<Vec<ExamSummary>, LogbookError> {
        let ids: Vec<Uuid> = day.people.iter().flat_map(|person| &person.visits).map(|visit| visit.exam).collect();
        let mut first = None;
        for id in &ids {
            let number = self.engine.number_of(ExamId::new(*id))?;
            first = first.into_iter().chain(number).min();
        }
        let Some(first) = first else { return Ok(Vec::new()) };
        let mut lines = Vec::new();
        for (_, row) in self.engine.summaries(Which::From(first))? {
            let Ok(row) = row else { continue };
            if ids.contains(&row.id.uuid())
                && let Ok(line) = self.line(row)
            {
                lines.push(line);
            }
        }
        Ok(lines)
    }
}

impl DayOnRecord {
    /// The entries that stand.
    pub fn standing(&self) -> impl DoubleEndedIterator<Item = &StoredDayEntry> {
        let slips: Vec<EntryRef> = self.entries.iter().filter_map(|stored| stored.body.takes_back()).collect();
        self.entries.iter().filter(move |stored| stored.body.takes_back().is_none() && !slips.contains(&stored.entry))
    }
}

fn on_record(path: &Path, id: DayId, rows: Vec<EntryOf>) -> Result<DayOnRecord, LogbookError> {
    let (mut entries, mut unread) = (Vec::new(), Vec::new());
    for row in rows {
        match row.and_then(|row| read_entry(path, &row)) {
            Ok(stored) => entries.push(stored),
            Err(why) => unread.push(why),
        }
    }
    let Some(first) = entries.first() else { return Err(FileError::NoSuchDay.at(path)) };
    let by = first.by.clone();
    let mut record = DayOnRecord { id, day: Day::new(DaySettings::default(), first.at), by, entries, unread };
    let standing: Vec<StoredDayEntry> = record.standing().cloned().collect();
    for StoredDayEntry { at, body, .. } in standing {
        body.events().iter().for_each(|event| record.day.apply(event, at));
    }
    Ok(record)
}

/// An entry of a day.
pub(super) fn read_entry(path: &Path, row: &EntryRow) -> Result<StoredDayEntry, LogbookError> {
    let number = row.sealed.number;
    let what = format!("entry {number} about a day");
    let at = row::time(path, &what, &row.sealed.entry.at)?;
    let body = row.stored(path, &what)?.decode(path, &what)?;
    let entry = EntryRef { writer: row.sealed.writer, number };
    Ok(StoredDayEntry { entry, at, by: row.sealed.entry.by.clone(), body })
}

fn entry(id: DayId, body: &DayEntry, by: Option<&str>, at: Timestamp) -> Result<NewEntry, LogbookError> {
    NewEntry::of(EntryKind::Day, id.uuid().as_bytes(), &Stored::encode(body, WHAT)?, by, at, WHAT)
}
