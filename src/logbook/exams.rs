//! Exams and their steps.

use jiff::Timestamp;
use uuid::{NoContext, Uuid};

use super::beginning::{self, Beginning};
use super::engine::{EntryOf, FirstStep, LookAtDay, NewEntry, NewExam, NewStep, StepRow};
use super::error::LogbookError;
use super::names::{DayId, ExamId, ExamNumber, NamedBox};
use super::once::Written;
use super::row::{self, Stored};
use super::store::Logbook;
use super::summary::Found;
use crate::exam::{CheckedStep, Event, Exam, ExamError, Opening};
use crate::sharing::{EntryKind, Heads, SeatName};

/// What is noted beside the opening when an exam begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeganWith {
    /// The box, by what the logbook knows it.
    pub in_box: NamedBox,
    /// The last changes of the box that are in the opening: [`StockOnRecord::applied`](super::StockOnRecord::applied).
    pub applied: Heads,
    /// Who examines, if that is known.
    pub by: Option<String>,
    /// The version of the guide's procedures.
    pub procedures_version: u32,
}

/// An exam that steps are added to: what the logbook has to know for that, without the exam itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenExam {
    number: ExamNumber,
    id: ExamId,
    next_step: i64,
    /// What its steps have written, which further ones name by its number.
    written: Written,
}

impl OpenExam {
    /// Its number, as people say it.
    pub fn number(&self) -> ExamNumber {
        self.number
    }

    /// Its identity.
    pub fn id(&self) -> ExamId {
        self.id
    }
}

/// One step as it was kept: what one confirmed key did.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredStep {
    /// When.
    pub at: Timestamp,
    /// What happened; undo and redo are steps too.
    pub events: Vec<Event>,
}

/// An exam as it was read from the logbook.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredExam {
    /// What to add further steps with.
    pub open: OpenExam,
    /// The seat that it was made at and has its number of, where that is another one than this: it is only read then.
    pub seat: Option<SeatName>,
    /// When it began.
    pub opened: Timestamp,
    /// Who examined, if that was noted.
    pub by: Option<String>,
    /// What was noted beside its opening.
    pub beginning: Beginning,
    /// The exam as it stands.
    pub exam: Exam,
    /// Every step in the order of the keys, those taken back and the taking back itself included, then what was added once
    /// it was closed.
    pub steps: Vec<StoredStep>,
    /// Why some of what was added once it was closed cannot be read: it is passed over, and the exam is without it.
    pub unread: Vec<String>,
}

/// Makes the entry of a day by which an exam of it begins, and the first step of the exam, from what is there of the day.
pub(super) type MakeOfDay<'a> = &'a mut dyn FnMut(ExamId, Vec<EntryOf>) -> Result<(NewEntry, Vec<Event>), LogbookError>;

/// Nobody thinks longer over one look, in minutes: the rest was a pause.
pub const LONGEST_PAUSE_MINUTES: f64 = 5.0;

/// The minutes between these times in their order, pauses cut to [`LONGEST_PAUSE_MINUTES`]; a clock that was set back counts as
/// none.
pub fn minutes_of(times: &[Timestamp]) -> f64 {
    let between = |pair: &[Timestamp]| (pair[1].as_second() - pair[0].as_second()) as f64 / 60.0;
    times.windows(2).map(|pair| between(pair).clamp(0.0, LONGEST_PAUSE_MINUTES)).sum()
}

impl StoredExam {
    /// How long it was worked at, in minutes; a longer pause counts as [`LONGEST_PAUSE_MINUTES`] of them.
    pub fn minutes(&self) -> f64 {
        let times = [self.opened].into_iter().chain(self.steps.iter().map(|step| step.at));
        minutes_of(&times.collect::<Vec<_>>())
    }

    /// The exam's number in the logbook it is open in.
    pub fn number(&self) -> ExamNumber {
        self.open.number
    }

    /// The same as one of another seat, by the number that it has there.
    pub(super) fn spoken_of_as(mut self, seat: SeatName, number: ExamNumber) -> Self {
        self.open.number = number;
        self.seat = Some(seat);
        self
    }

    /// Its identity.
    pub fn id(&self) -> ExamId {
        self.open.id
    }

    /// When it was closed, if it was.
    pub fn closed(&self) -> Option<Timestamp> {
        self.steps.iter().rfind(|step| step.events.contains(&Event::Finished)).map(|step| step.at)
    }
}

impl Logbook {
    /// Begins an exam and gives it the next number.
    ///
    /// # Errors
    /// When it cannot be written; no exam has begun then.
    pub fn begin_exam(&mut self, opening: &Opening, with: &BeganWith, at: Timestamp) -> Result<OpenExam, LogbookError> {
        Ok(self.begin_exam_with(opening, with, at, None)?.0)
    }

    /// The same, noted in a day and with a first step in the same transaction; gives the exam after it.
    pub(super) fn begin_exam_with(
        &mut self,
        opening: &Opening,
        with: &BeganWith,
        at: Timestamp,
        in_day: Option<(DayId, MakeOfDay<'_>)>,
    ) -> Result<(OpenExam, Exam), LogbookError> {
        let beginning = Beginning {
            box_key: Some(with.in_box.key.clone()),
            procedures_version: with.procedures_version,
            applied: Some(with.applied.clone()),
        };
        let (stored, box_state) = beginning::encode(opening, &beginning)?;
        let id = new_id(at);
        let new = NewExam {
            id,
            in_box: &with.in_box,
            opened: at.to_string(),
            by: with.by.as_deref(),
            opening: &stored,
            box_state: &box_state,
        };
        let (mut exam, mut written, mut next_step) = (Exam::open(opening.clone()), Written::default(), 1);
        let number = match in_day {
            Some((day, make)) => {
                let mut make = |rows| {
                    let (entry, events) = make(id, rows)?;
                    if events.is_empty() {
                        return Ok((entry, None));
                    }
                    let refused = |refusal: ExamError| LogbookError::NotStorable {
                        what: "the beginning of this exam".to_owned(),
                        reason: refusal.to_string(),
                    };
                    let step = exam.check(events).map_err(refused)?;
                    let first = FirstStep {
                        events: written.encode(step.events())?,
                        label: step.after().person.label.clone(),
                        found: Found::of(step.after()).encode()?,
                    };
                    exam.accept(step);
                    next_step = 2;
                    Ok((entry, Some(first)))
                };
                self.engine.add_exam(&new, Some((day, &mut make)))?
            }
            None => self.engine.add_exam(&new, None)?,
        };
        Ok((OpenExam { number, id, next_step, written }, exam))
    }

    /// Adds a step that the exam has checked; accept it only once this is done. An empty step leaves everything as it is. One
    /// that closes the exam becomes an entry too; one that adds something to a closed exam is an entry by whoever is named,
    /// see [`Logbook::amend`].
    ///
    /// # Errors
    /// When another program has continued the exam meanwhile, or it cannot be written; nothing is added then.
    pub fn append(
        &mut self,
        exam: &mut OpenExam,
        step: &CheckedStep,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<(), LogbookError> {
        self.append_with(exam, step, by, at, None)
    }

    /// The same, noted in a day in the same transaction.
    pub(super) fn append_with(
        &mut self,
        exam: &mut OpenExam,
        step: &CheckedStep,
        by: Option<&str>,
        at: Timestamp,
        in_day: Option<(DayId, LookAtDay<'_>)>,
    ) -> Result<(), LogbookError> {
        let events = step.events();
        if events.is_empty() {
            return Ok(());
        }
        if events.iter().any(Event::is_amendment) {
            return self.amend(exam, events, by, at);
        }
        let after = step.after();
        let found = Found::of(after).encode()?;
        let before = exam.written.mark();
        let stored = exam.written.encode(events)?;
        let new = NewStep {
            number: exam.next_step,
            at: at.to_string(),
            events: &stored,
            label: after.person.label.as_deref(),
            found: &found,
            closes: events.contains(&Event::Finished),
        };
        let added = self.engine.add_step(exam.number, &new, in_day);
        match added {
            Ok(()) => exam.next_step += 1,
            Err(_) => exam.written.back_to(before),
        }
        added
    }

    /// Adds something to a closed exam, as an entry of its own: what two programs add at once both stands.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn amend(
        &mut self,
        exam: &OpenExam,
        events: &[Event],
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<(), LogbookError> {
        let what = "this amendment";
        let stored = Stored::encode(&events.to_vec(), what)?;
        let about = exam.id.uuid();
        self.engine.add_amendment(NewEntry::of(EntryKind::Amendment, about.as_bytes(), &stored, by, at, what)?)
    }

    /// Reads an exam, undo history and all.
    ///
    /// # Errors
    /// When there is no such exam, or a row of it cannot be read. What was added once it was closed and cannot be read is
    /// passed over, and named in the answer.
    pub fn read_exam(&self, number: ExamNumber) -> Result<StoredExam, LogbookError> {
        let rows = self.engine.exam(number)?;
        let what = format!("the beginning of exam {number}");
        let opened = row::time(self.path(), &what, &rows.opened)?;
        let (opening, beginning) = beginning::decode(self.engine.as_ref(), &rows.opening, self.path(), &what)?;
        let mut steps = Vec::with_capacity(rows.steps.len());
        let mut written = Written::default();
        // what was added once it was closed, by further steps as in form 1, or by entries
        let (mut closed, mut added) = (false, Vec::new());
        for (expected, step) in (1..).zip(&rows.steps) {
            let what = format!("step {} of exam {number}", step.number);
            match self.step(step, expected, &mut written, &what) {
                read if closed => added.push((what, read)),
                Ok(step) => {
                    closed = step.events.contains(&Event::Finished);
                    steps.push(step);
                }
                Err(why) => return Err(why),
            }
        }
        let next_step = i64::try_from(rows.steps.len()).map_or(i64::MAX, |steps| steps + 1);
        for (nth, amendment) in (1..).zip(rows.amendments) {
            let what = format!("amendment {nth} of exam {number}");
            let read = self.amendment(amendment, &what);
            added.push((what, read));
        }
        let history = steps.iter().map(|step| step.events.clone());
        let mut exam = Exam::replay(opening, history).map_err(|(place, refusal)| {
            let what = format!("step {} of exam {number}", place + 1);
            let reason = format!("it cannot follow the steps before it: {refusal}");
            LogbookError::unreadable(self.path(), &what, reason)
        })?;
        let mut unread = Vec::new();
        for (what, read) in added {
            let taken = read.and_then(|step| match exam.apply(&step.events) {
                Ok(()) => Ok(step),
                Err(refusal) => {
                    let reason = format!("it is nothing to add to this exam: {refusal}");
                    Err(LogbookError::unreadable(self.path(), &what, reason))
                }
            });
            match taken {
                Ok(step) => steps.push(step),
                // what was closed stands whatever was added to it
                Err(why) => unread.push(why.to_string()),
            }
        }
        Ok(StoredExam {
            open: OpenExam { number, id: rows.id, next_step, written },
            seat: None,
            opened,
            by: rows.by,
            beginning,
            exam,
            steps,
            unread,
        })
    }

    fn step(
        &self,
        row: &StepRow,
        expected: i64,
        written: &mut Written,
        what: &str,
    ) -> Result<StoredStep, LogbookError> {
        if row.number != expected {
            let reason = format!("step {expected} before it is not there");
            return Err(LogbookError::unreadable(self.path(), what, reason));
        }
        let at = row::time(self.path(), what, &row.at)?;
        Ok(StoredStep { at, events: written.decode(&row.events, self.path(), what)? })
    }

    fn amendment(&self, row: EntryOf, what: &str) -> Result<StoredStep, LogbookError> {
        let row = row?;
        let at = row::time(self.path(), what, &row.sealed.entry.at)?;
        Ok(StoredStep { at, events: row.stored(self.path(), what)?.decode(self.path(), what)? })
    }

    /// Puts an unfinished exam aside, so that it is not offered again at every start. It stays as it is, and is open again
    /// when a step is added.
    ///
    /// # Errors
    /// When there is no such exam, or the file cannot be written.
    pub fn put_aside(&mut self, exam: ExamNumber, at: Timestamp) -> Result<(), LogbookError> {
        self.engine.put_aside(exam, &at.to_string())
    }
}

/// A new identity: the time in it makes it sort well, chance makes it one of its own.
pub(super) fn new_id(at: Timestamp) -> ExamId {
    let seconds = u64::try_from(at.as_second()).unwrap_or(0);
    let nanoseconds = u32::try_from(at.subsec_nanosecond()).unwrap_or(0);
    ExamId::new(Uuid::new_v7(uuid::Timestamp::from_unix(NoContext, seconds, nanoseconds)))
}
