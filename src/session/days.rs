//! A day with what its exams came to, as it stands at a moment.

use std::collections::HashMap;

use jiff::Timestamp;
use uuid::Uuid;

use super::writing::number;
use crate::day::list::lines;
use crate::day::{Day, DayFigures, DayLine, ExamOfPerson};
use crate::logbook::{DayId, DayOnRecord, ExamSummary, Logbook, LogbookError};

/// A day with what its exams came to.
#[derive(Debug, Clone, PartialEq)]
pub struct DayNow {
    /// Its identity.
    pub id: DayId,
    /// The day.
    pub day: Day,
    /// Who began it, if that was said.
    pub by: Option<String>,
    /// A line for everybody, in the order of their numbers.
    pub lines: Vec<DayLine>,
    /// The running figures.
    pub figures: DayFigures,
    /// What the logbook says to entries that cannot be read.
    pub unread: Vec<String>,
}

impl DayNow {
    /// A day as a logbook has it, at a moment.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn of(logbook: &Logbook, on_record: DayOnRecord, now: Timestamp) -> Result<Self, LogbookError> {
        let DayOnRecord { id, day, by, unread, .. } = on_record;
        let exams: HashMap<Uuid, ExamOfPerson> =
            logbook.exams_of_day(&day)?.into_iter().map(|exam| (exam.id.uuid(), of_person(exam))).collect();
        let unread = unread.iter().map(ToString::to_string).collect();
        Ok(Self::made(id, day, by, unread, |exam| exams.get(&exam).cloned(), now))
    }

    /// A day with what each of its exams came to.
    pub(super) fn made(
        id: DayId,
        day: Day,
        by: Option<String>,
        unread: Vec<String>,
        of_exam: impl Fn(Uuid) -> Option<ExamOfPerson>,
        now: Timestamp,
    ) -> Self {
        let lines = lines(&day, |person| of_exam(person.last_exam()?), now);
        let figures = DayFigures::of(&lines);
        Self { id, day, by, lines, figures, unread }
    }
}

fn of_person(exam: ExamSummary) -> ExamOfPerson {
    let found = exam.found.unwrap_or_default();
    ExamOfPerson {
        exam: number(exam.number),
        label: exam.label,
        closed: exam.finished,
        outcome: found.outcome,
        drops_ready: found.drops_ready,
    }
}
