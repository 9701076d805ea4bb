//! The day of an exam in a logbook.

use jiff::Timestamp;

use super::days::DayNow;
use super::error::RecordError;
use crate::day::{DayEvent, DaySettings, DayShelf};
use crate::exam::{CheckedStep, Event, Exam, Outcome, ReadyMadeLimits};
use crate::kit::shelf::DeclaredShelf;
use crate::logbook::{DayId, DayOnRecord, Logbook, LogbookError, OpenExam};

/// The open day, or the one that ended last, as it stands now.
pub(super) fn now(logbook: &Logbook, at: Timestamp) -> Result<Option<DayNow>, RecordError> {
    let Some(last) = logbook.days()?.pop() else { return Ok(None) };
    Ok(Some(DayNow::of(logbook, logbook.day(last)?, at)?))
}

/// The day that has not ended.
pub(super) fn open(logbook: &Logbook) -> Result<DayOnRecord, RecordError> {
    logbook.open_day()?.ok_or(RecordError::NoDay)
}

/// The open day that an exam is of, and the running number of its person there.
pub(super) fn of_exam(logbook: &Logbook, exam: &OpenExam) -> Option<(DayId, u32)> {
    // a day that cannot be read has nobody in it here, and says so where it is listed
    let on_record = logbook.open_day().ok()??;
    let number = on_record.day.person_of(exam.id().uuid())?.number;
    Some((on_record.id, number))
}

/// The day in which an exam is to have another pair than it has there by now, once a step is taken.
pub(super) fn of_pair(logbook: &Logbook, exam: &OpenExam, step: &CheckedStep) -> Result<Option<DayId>, LogbookError> {
    if !step.events().iter().any(Event::may_change_outcome) {
        return Ok(None);
    }
    let Some(last) = logbook.days()?.pop() else { return Ok(None) };
    let DayOnRecord { id, day, .. } = logbook.day(last)?;
    let exam = exam.id().uuid();
    let Some(person) = day.person_of(exam) else { return Ok(None) };
    let off = step.after().outcome.as_ref().and_then(Outcome::off_the_shelf);
    let notes = !day.pairs_to_note(person.number, exam, off.as_ref()).is_empty();
    Ok(notes.then_some(id))
}

/// Has pairs be given from a shelf in the open day.
pub(super) fn use_shelf(
    logbook: &mut Logbook,
    shelf: &DeclaredShelf,
    limits: ReadyMadeLimits,
    by: Option<&str>,
    at: Timestamp,
) -> Result<(), RecordError> {
    let id = open(logbook)?.id;
    let earlier = logbook.pairs_given(&shelf.name, Some(id))?;
    logbook.note_in_day(id, &[DayEvent::Shelf(DayShelf::of(shelf, limits, &earlier))], by, at)?;
    Ok(())
}

/// Begins a day with what the exam has.
pub(super) fn begin(
    logbook: &mut Logbook,
    exam: &Exam,
    place: Option<String>,
    by: Option<&str>,
    at: Timestamp,
) -> Result<(), RecordError> {
    logbook.begin_day(DaySettings::of(exam.state(), place), by, at)?;
    Ok(())
}

/// Notes what happened in the open day.
pub(super) fn note(
    logbook: &mut Logbook,
    events: &[DayEvent],
    by: Option<&str>,
    at: Timestamp,
) -> Result<(), RecordError> {
    let id = open(logbook)?.id;
    logbook.note_in_day(id, events, by, at)?;
    Ok(())
}

/// Takes back what was noted last of the open day.
pub(super) fn undo(logbook: &mut Logbook, by: Option<&str>, at: Timestamp) -> Result<String, RecordError> {
    let last = logbook.days()?.pop().ok_or(RecordError::NoDay)?;
    let (_, slip) = logbook.undo_in_day(last, by, at)?;
    let said: Vec<String> = slip.body.events().iter().map(ToString::to_string).collect();
    Ok(said.join("; "))
}
