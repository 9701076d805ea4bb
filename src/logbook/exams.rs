//! Exams and their steps.

use std::fmt;

use jiff::Timestamp;
use rusqlite::{OptionalExtension as _, Row, Transaction};

use super::boxes::box_id;
use super::error::LogbookError;
use super::row::{self, FORMAT, Stored, encode, unreadable};
use super::store::Logbook;
use crate::exam::{Event, Exam, Opening};
use crate::optics::{Dioptres, Power};

/// The number of an exam in its logbook, from 1; never given twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ExamId(pub i64);

impl fmt::Display for ExamId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
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

/// An exam that is in the logbook. It changes through [`Logbook::append`] only, so it is always what the logbook holds.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredExam {
    id: ExamId,
    opened: Timestamp,
    exam: Exam,
    steps: Vec<StoredStep>,
}

impl StoredExam {
    /// Its number.
    pub fn id(&self) -> ExamId {
        self.id
    }

    /// When it began.
    pub fn opened(&self) -> Timestamp {
        self.opened
    }

    /// The exam as it stands.
    pub fn exam(&self) -> &Exam {
        &self.exam
    }

    /// Every step in the order of the keys, those taken back and the taking back itself included.
    pub fn steps(&self) -> &[StoredStep] {
        &self.steps
    }

    fn next_number(&self) -> i64 {
        i64::try_from(self.steps.len()).map_or(i64::MAX, |steps| steps + 1)
    }

    /// The exam alone, to go on without the logbook.
    pub fn into_exam(self) -> Exam {
        self.exam
    }
}

/// A line of the list of exams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExamSummary {
    /// Its number.
    pub id: ExamId,
    /// When it began.
    pub opened: Timestamp,
    /// The label or initials, if any were entered.
    pub label: Option<String>,
    /// The name of the box.
    pub box_name: String,
    /// When it was finished, if it was.
    pub finished: Option<Timestamp>,
    /// When it was put aside unfinished, if it was.
    pub put_aside: Option<Timestamp>,
}

const SUMMARIES: &str =
    "SELECT number, opened, label, box.name, finished, put_aside FROM exam JOIN box ON box.id = box";

impl Logbook {
    /// Begins an exam and gives it the next number.
    ///
    /// # Errors
    /// When it cannot be written; no exam has begun then.
    pub fn begin_exam(&mut self, opening: Opening, at: Timestamp) -> Result<StoredExam, LogbookError> {
        let text = encode(&opening, "the beginning of the exam")?;
        let number = self.write(|transaction, path| {
            let in_box = box_id(transaction, path, &opening.fitted.stock.box_name)?;
            let done = transaction
                .execute("INSERT INTO exam (box, opened) VALUES (?1, ?2)", (in_box, at.to_string()))
                .map(|_| transaction.last_insert_rowid())
                .and_then(|number| {
                    let sql = "INSERT INTO opening (exam, format, opening) VALUES (?1, ?2, ?3)";
                    transaction.execute(sql, (number, FORMAT, text)).map(|_| number)
                });
            done.map_err(|error| LogbookError::sqlite(path, error))
        })?;
        Ok(StoredExam { id: ExamId(number), opened: at, exam: Exam::open(opening), steps: Vec::new() })
    }

    /// Adds one step: checks it against the exam, commits it, and only then applies it. An empty step is none.
    ///
    /// # Errors
    /// When the exam refuses the step, another program has continued the exam meanwhile, or it cannot be written. The
    /// exam, in memory and in the file, is as before then.
    pub fn append(&mut self, exam: &mut StoredExam, step: &[Event], at: Timestamp) -> Result<(), LogbookError> {
        if step.is_empty() {
            return Ok(());
        }
        let events = step.to_vec();
        let checked = exam.exam.check(step.to_vec())?;
        let after = checked.after();
        let number = exam.next_number();
        let text = encode(&events, "this step")?;
        let id = exam.id;
        self.write(|transaction, path| {
            let failed = |error| LogbookError::sqlite(path, error);
            if steps_kept(transaction, id).map_err(failed)? != number - 1 {
                return Err(LogbookError::ContinuedElsewhere { exam: id });
            }
            transaction
                .prepare_cached("INSERT INTO step (exam, number, at, format, events) VALUES (?1, ?2, ?3, ?4, ?5)")
                .and_then(|mut insert| insert.execute((id.0, number, at.to_string(), FORMAT, text)))
                .map_err(failed)?;
            // What the list of exams shows, so that it need not replay them all. Whatever is continued is not put aside.
            let finished = after.finished.then(|| at.to_string());
            transaction
                .prepare_cached(
                    "UPDATE exam SET label = ?2, finished = coalesce(finished, ?3), put_aside = NULL WHERE number = ?1",
                )
                .and_then(|mut update| update.execute((id.0, &after.person.label, finished)))
                .map_err(failed)?;
            Ok(())
        })?;
        exam.exam.accept(checked);
        exam.steps.push(StoredStep { at, events });
        Ok(())
    }

    /// Reads an exam, undo history and all.
    ///
    /// # Errors
    /// When there is no such exam, or a row of it cannot be read.
    pub fn read_exam(&self, id: ExamId) -> Result<StoredExam, LogbookError> {
        let failed = |error| self.failed(error);
        // One view of the file for both queries, whatever another program adds meanwhile.
        let view = self.connection.unchecked_transaction().map_err(failed)?;
        let (opened, opening) = view
            .query_row(
                "SELECT opened, format, opening FROM exam JOIN opening ON exam = number WHERE number = ?1",
                [id.0],
                |row| Ok((row.get::<_, String>("opened")?, Stored::from_row(row, "format", "opening")?)),
            )
            .optional()
            .map_err(failed)?
            .ok_or_else(|| LogbookError::NoSuchExam { path: self.path().to_owned(), exam: id })?;
        let what = format!("the beginning of exam {id}");
        let opened = row::time(self.path(), &what, &opened)?;
        let opening: Opening = opening.decode(self.path(), &what)?;
        if !opening.fitted.frame.is_within_limits() {
            return Err(unreadable(self.path(), &what, "its frame has no cell, or more than can be".to_owned()));
        }
        let mut read = StoredExam { id, opened, exam: Exam::open(opening), steps: Vec::new() };
        let mut rows = view
            .prepare_cached("SELECT number, at, format, events FROM step WHERE exam = ?1 ORDER BY number")
            .map_err(failed)?;
        let rows = rows.query_map([id.0], |row| {
            let stored = Stored::from_row(row, "format", "events")?;
            Ok((row.get::<_, i64>("number")?, row.get::<_, String>("at")?, stored))
        });
        for step in rows.map_err(failed)? {
            let (number, at, stored) = step.map_err(failed)?;
            self.step_read(&mut read, number, &at, &stored)?;
        }
        let history = read.steps.iter().map(|step| step.events.clone());
        read.exam = Exam::replay(read.exam.opening().clone(), history).map_err(|(place, refusal)| {
            let what = format!("step {} of exam {id}", place + 1);
            unreadable(self.path(), &what, format!("it cannot follow the steps before it: {refusal}"))
        })?;
        Ok(read)
    }

    fn step_read(&self, read: &mut StoredExam, number: i64, at: &str, stored: &Stored) -> Result<(), LogbookError> {
        let what = format!("step {number} of exam {}", read.id);
        let refused = |reason| unreadable(self.path(), &what, reason);
        let expected = read.next_number();
        if number != expected {
            return Err(refused(format!("step {expected} before it is not there")));
        }
        let at = row::time(self.path(), &what, at)?;
        let events: Vec<Event> = stored.decode(self.path(), &what)?;
        read.steps.push(StoredStep { at, events });
        Ok(())
    }

    /// Every exam, the latest first.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn exams(&self) -> Result<Vec<ExamSummary>, LogbookError> {
        self.summaries("ORDER BY number DESC")
    }

    /// The exams that were neither finished nor put aside, the latest first: those to offer at the next start. One of them
    /// may be in use in another program: claim its box first.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn open_exams(&self) -> Result<Vec<ExamSummary>, LogbookError> {
        self.summaries("WHERE finished IS NULL AND put_aside IS NULL ORDER BY number DESC")
    }

    fn summaries(&self, which: &str) -> Result<Vec<ExamSummary>, LogbookError> {
        let failed = |error| self.failed(error);
        let mut rows = self.connection.prepare_cached(&format!("{SUMMARIES} {which}")).map_err(failed)?;
        let rows = rows.query_map([], |row| Ok(self.summary(row))).map_err(failed)?;
        rows.map(|row| row.map_err(failed)?).collect()
    }

    fn summary(&self, row: &Row<'_>) -> Result<ExamSummary, LogbookError> {
        let failed = |error| self.failed(error);
        let id = ExamId(row.get(0).map_err(failed)?);
        let what = format!("exam {id}");
        let time = |text: String| row::time(self.path(), &what, &text);
        let some_time = |column| row.get::<_, Option<String>>(column).map_err(failed)?.map(time).transpose();
        Ok(ExamSummary {
            id,
            opened: time(row.get(1).map_err(failed)?)?,
            label: row.get(2).map_err(failed)?,
            box_name: row.get(3).map_err(failed)?,
            finished: some_time(4)?,
            put_aside: some_time(5)?,
        })
    }

    /// What retinoscopy gave and what was then found for far away, one pair for each eye of the latest finished exams that
    /// has both. Reads at most `most` exams, each from its beginning.
    ///
    /// # Errors
    /// When the file, or one of these exams, cannot be read.
    pub fn retinoscopy_pairs(&self, most: usize) -> Result<Vec<(Power, Power)>, LogbookError> {
        let mut pairs = Vec::new();
        for summary in self.exams()?.into_iter().filter(|summary| summary.finished.is_some()).take(most) {
            let exam = self.read_exam(summary.id)?.into_exam();
            let results = exam.state().results;
            let near_chart = Power::sphere(Dioptres(results.chart_allowance.unwrap_or(0.0)));
            let found = results.retinoscopy.into_iter().zip(results.refraction);
            pairs.extend(found.filter_map(|(seen, found)| Some((seen?, found? - near_chart))));
        }
        Ok(pairs)
    }

    /// Puts an unfinished exam aside, so that it is not offered again at every start. It stays as it is, and is open again
    /// when a step is added.
    ///
    /// # Errors
    /// When there is no such exam, or the file cannot be written.
    pub fn put_aside(&mut self, id: ExamId, at: Timestamp) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            let sql = "UPDATE exam SET put_aside = coalesce(put_aside, ?2) WHERE number = ?1";
            match transaction.execute(sql, (id.0, at.to_string())) {
                Ok(0) => Err(LogbookError::NoSuchExam { path: path.to_owned(), exam: id }),
                Ok(_) => Ok(()),
                Err(error) => Err(LogbookError::sqlite(path, error)),
            }
        })
    }
}

fn steps_kept(transaction: &Transaction<'_>, id: ExamId) -> rusqlite::Result<i64> {
    transaction
        .prepare_cached("SELECT coalesce(max(number), 0) FROM step WHERE exam = ?1")?
        .query_row([id.0], |row| row.get(0))
}
