//! Exams, their steps, and what boxes were when they began.

use std::collections::HashMap;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _, Row, Transaction};
use uuid::Uuid;

use super::error::sqlite;
use super::{boxes, entries, erased, writers};
use crate::logbook::engine::{BoxState, ExamRows, IndexRow, NewExam, NewStep, StepRow, SummaryOf, SummaryRow, Which};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::names::{BoxKey, ExamId, ExamNumber, NamedBox};
use crate::logbook::row::Stored;
use crate::sharing::body::{ExamRow, deflate, exam_body};
use crate::sharing::{Entry, EntryKind, Erasure, Hash};

/// The form of the body of an exam's entry.
pub const BODY_FORMAT: i64 = 1;

/// Begins an exam.
pub fn add(transaction: &Transaction<'_>, path: &Path, exam: &NewExam<'_>) -> Result<ExamNumber, LogbookError> {
    let failed = |error| sqlite(path, error);
    let in_box = boxes::note(transaction, path, exam.in_box, None)?;
    keep_box_state(transaction, path, exam.box_state)?;
    let sql = "INSERT INTO exam (id, box, opened, \"by\") VALUES (?1, ?2, ?3, ?4)";
    transaction.execute(sql, (exam.id.uuid(), in_box, &exam.opened, exam.by)).map_err(failed)?;
    let number = transaction.last_insert_rowid();
    let sql = "INSERT INTO opening (exam, format, opening) VALUES (?1, ?2, ?3)";
    transaction.execute(sql, (number, exam.opening.format, &exam.opening.text)).map_err(failed)?;
    Ok(ExamNumber(number))
}

fn keep_box_state(transaction: &Transaction<'_>, path: &Path, state: &BoxState) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let hash = state.hash.as_bytes().as_slice();
    let mut known = transaction.prepare_cached("SELECT 1 FROM box_state WHERE hash = ?1").map_err(failed)?;
    if known.exists([hash]).map_err(failed)? {
        return Ok(());
    }
    let deflated = deflate(&state.content).map_err(|error| LogbookError::NotStorable {
        what: "the beginning of the exam".to_owned(),
        reason: error.to_string(),
    })?;
    let sql = "INSERT INTO box_state (hash, content) VALUES (?1, ?2)";
    transaction.execute(sql, (hash, deflated)).map(|_| ()).map_err(failed)
}

/// The content of a state of a box, deflated.
pub fn box_state(connection: &Connection, path: &Path, hash: Hash) -> Result<Option<Vec<u8>>, LogbookError> {
    let sql = "SELECT content FROM box_state WHERE hash = ?1";
    let found = connection.query_row(sql, [hash.as_bytes().as_slice()], |row| row.get(0)).optional();
    found.map_err(|error| sqlite(path, error))
}

/// Adds a step, and the entry of the exam when the step closes it.
pub fn add_step(
    transaction: &Transaction<'_>,
    path: &Path,
    exam: ExamNumber,
    step: &NewStep<'_>,
) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    if steps_kept(transaction, exam).map_err(failed)? != step.number - 1 {
        return Err(LogbookError::ContinuedElsewhere { exam });
    }
    transaction
        .prepare_cached("INSERT INTO step (exam, number, at, format, events) VALUES (?1, ?2, ?3, ?4, ?5)")
        .and_then(|mut insert| insert.execute((exam.0, step.number, &step.at, step.events.format, &step.events.text)))
        .map_err(failed)?;
    // What the list of exams shows, so that it need not replay them all.
    transaction
        .prepare_cached("UPDATE exam SET label = ?2, found = ?3 WHERE number = ?1")
        .and_then(|mut update| update.execute((exam.0, step.label, step.found)))
        .map_err(failed)?;
    // Whatever is continued is not put aside. Apart, so that a key does not write the index of open exams again.
    transaction
        .prepare_cached("UPDATE exam SET put_aside = NULL WHERE number = ?1 AND put_aside IS NOT NULL")
        .and_then(|mut update| update.execute([exam.0]))
        .map_err(failed)?;
    if step.closes {
        let sql = "UPDATE exam SET finished = ?2 WHERE number = ?1 AND finished IS NULL";
        transaction.execute(sql, (exam.0, &step.at)).map_err(failed)?;
        let entry = entry_of(transaction, path, exam)?;
        entries::add_as(transaction, path, writers::me(transaction, path)?, entry, None)?;
    }
    Ok(())
}

fn steps_kept(transaction: &Transaction<'_>, exam: ExamNumber) -> rusqlite::Result<i64> {
    transaction
        .prepare_cached("SELECT coalesce(max(number), 0) FROM step WHERE exam = ?1")?
        .query_row([exam.0], |row| row.get(0))
}

/// The entry of a closed exam; its body stands in its steps and is not kept twice.
pub fn entry_of(connection: &Connection, path: &Path, exam: ExamNumber) -> Result<Entry, LogbookError> {
    let failed = |error| sqlite(path, error);
    let kept = rows(connection, path, exam)?;
    let sql = "SELECT finished FROM exam WHERE number = ?1";
    let finished: Option<String> = connection.query_row(sql, [exam.0], |row| row.get(0)).map_err(failed)?;
    Ok(Entry {
        kind: EntryKind::Exam,
        about: kept.id.uuid().as_bytes().to_vec(),
        by: kept.by.clone(),
        at: finished.unwrap_or_default(),
        after: None,
        format: BODY_FORMAT,
        body_hash: Hash::of(&body_of(&kept)),
    })
}

/// The body of an exam: its beginning and its steps to the one that closed it. What was added after that in older forms
/// stands in steps too, but is not part of it.
pub fn body_of(kept: &ExamRows) -> Vec<u8> {
    let closing = kept.steps.iter().position(|step| closes(&step.events.text));
    let steps = closing.map_or(kept.steps.as_slice(), |closing| &kept.steps[..=closing]);
    let opening = ExamRow { number: 0, at: &kept.opened, format: kept.opening.format, text: &kept.opening.text };
    let steps = steps.iter().map(|step| ExamRow {
        number: step.number,
        at: &step.at,
        format: step.events.format,
        text: &step.events.text,
    });
    exam_body(std::iter::once(opening).chain(steps))
}

/// Whether a step as it is kept closes the exam, whatever else a newer program has put into it.
fn closes(events: &str) -> bool {
    events.contains("\"finished\"")
        && serde_json::from_str::<Vec<serde_json::Value>>(events)
            .is_ok_and(|events| events.iter().any(|event| event == "finished"))
}

/// What is kept of an exam.
pub fn rows(connection: &Connection, path: &Path, number: ExamNumber) -> Result<ExamRows, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT id, opened, \"by\", format, opening FROM exam JOIN opening ON exam = number WHERE number = ?1";
    let found = connection.query_row(sql, [number.0], |row| {
        let opening = Stored { format: row.get(3)?, text: row.get(4)? };
        Ok((ExamId::new(row.get(0)?), row.get(1)?, row.get(2)?, opening))
    });
    let Some((id, opened, by, opening)) = found.optional().map_err(failed)? else {
        return Err(not_there(connection, path, number)?.at(path));
    };
    let sql = "SELECT number, at, format, events FROM step WHERE exam = ?1 ORDER BY number";
    let mut select = connection.prepare_cached(sql).map_err(failed)?;
    let steps = select.query_map([number.0], |row| {
        Ok(StepRow { number: row.get(0)?, at: row.get(1)?, events: Stored { format: row.get(2)?, text: row.get(3)? } })
    });
    let steps = steps.and_then(Iterator::collect).map_err(failed)?;
    Ok(ExamRows { id, opened, by, opening, steps, amendments: entries::amendments(connection, path, id)? })
}

/// Why there is nothing of an exam: it never was, or was erased.
fn not_there(connection: &Connection, path: &Path, number: ExamNumber) -> Result<FileError, LogbookError> {
    let sql = "SELECT id FROM exam WHERE number = ?1";
    let id = connection.query_row(sql, [number.0], |row| row.get(0).map(ExamId::new)).optional();
    let erased = id.map_err(|error| sqlite(path, error))?.map(|id| erased::of(connection, path, id)).transpose()?;
    Ok(erased.flatten().map_or(FileError::NoSuchExam { exam: number }, FileError::erased))
}

/// A line for each exam, the latest first; one that cannot be read keeps nobody from the others.
pub fn summaries(connection: &Connection, path: &Path, which: Which) -> Result<Vec<SummaryOf>, LogbookError> {
    let failed = |error| sqlite(path, error);
    // to SQLite a limit below zero is none
    let at_most = |most: usize| i64::try_from(most).unwrap_or(i64::MAX);
    let (which, most) = match which {
        Which::All => (String::new(), -1),
        Which::One(number) => (format!("WHERE number = {number}"), 1),
        Which::Latest(most) => (String::new(), at_most(most)),
        Which::Open => ("WHERE finished IS NULL AND put_aside IS NULL".to_owned(), -1),
        Which::From(number) => (format!("WHERE number >= {number}"), -1),
        Which::LatestClosed(most) => ("WHERE finished IS NOT NULL".to_owned(), at_most(most)),
        Which::NotNoted => ("WHERE found IS NULL".to_owned(), -1),
    };
    // of the keys of a box the one by id, if there is one
    let sql = format!(
        "SELECT number, exam.id, opened, \"by\", label, box.name,
             (SELECT key FROM box_key WHERE box_key.box = box.id ORDER BY key LIMIT 1),
             finished, put_aside, found, (SELECT coalesce(max(step.number), 0) FROM step WHERE exam = exam.number)
         FROM exam LEFT JOIN box ON box.id = box {which} ORDER BY number DESC LIMIT ?1"
    );
    let mut erased: HashMap<Uuid, Erasure> =
        erased::all(connection, path)?.into_iter().map(|erasure| (erasure.exam, erasure)).collect();
    let mut select = connection.prepare(&sql).map_err(failed)?;
    let rows = select.query_map([most], |row| {
        let number = ExamNumber(row.get(0)?);
        let read = summary(row, number).map(|line| SummaryRow { erased: erased.remove(&line.id.uuid()), ..line });
        Ok((number, read.map_err(|error| LogbookError::unreadable(path, &format!("exam {number}"), error.to_string()))))
    });
    rows.and_then(Iterator::collect).map_err(failed)
}

/// By what each exam is looked for, the latest first; what cannot be read of it finds nothing.
pub fn index(connection: &Connection, path: &Path) -> Result<Vec<IndexRow>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut select =
        connection.prepare("SELECT number, opened, label, found, id FROM exam ORDER BY number DESC").map_err(failed)?;
    let rows = select.query_map([], |row| {
        let label = row.get(2).unwrap_or_default();
        let found = row.get(3).unwrap_or_default();
        let id = row.get(4).ok().map(ExamId::new);
        Ok(IndexRow { number: ExamNumber(row.get(0)?), id, opened: row.get(1).unwrap_or_default(), label, found })
    });
    rows.and_then(Iterator::collect).map_err(failed)
}

fn summary(row: &Row<'_>, number: ExamNumber) -> rusqlite::Result<SummaryRow> {
    Ok(SummaryRow {
        number,
        id: ExamId::new(row.get(1)?),
        opened: row.get(2)?,
        by: row.get(3)?,
        label: row.get(4)?,
        in_box: NamedBox { name: row.get(5)?, key: BoxKey::kept(row.get(6)?) },
        finished: row.get(7)?,
        put_aside: row.get(8)?,
        found: row.get(9)?,
        steps: row.get(10)?,
        erased: None,
    })
}

/// The number of an exam in this file.
pub fn number_of(connection: &Connection, path: &Path, id: ExamId) -> Result<Option<ExamNumber>, LogbookError> {
    let sql = "SELECT number FROM exam WHERE id = ?1";
    let found = connection
        .prepare_cached(sql)
        .and_then(|mut select| select.query_row([id.uuid()], |row| row.get(0).map(ExamNumber)).optional());
    found.map_err(|error| sqlite(path, error))
}

/// Puts an exam aside.
pub fn put_aside(transaction: &Transaction<'_>, path: &Path, number: ExamNumber, at: &str) -> Result<(), LogbookError> {
    let sql = "UPDATE exam SET put_aside = coalesce(put_aside, ?2) WHERE number = ?1";
    match transaction.execute(sql, (number.0, at)) {
        Ok(0) => Err(FileError::NoSuchExam { exam: number }.at(path)),
        Ok(_) => Ok(()),
        Err(error) => Err(sqlite(path, error)),
    }
}

/// Notes what the list of exams shows of the results of these.
pub fn note_found(
    transaction: &Transaction<'_>,
    path: &Path,
    found: &[(ExamNumber, String)],
) -> Result<(), LogbookError> {
    let sql = "UPDATE exam SET found = ?2 WHERE number = ?1 AND found IS NULL";
    let mut update = transaction.prepare_cached(sql).map_err(|error| sqlite(path, error))?;
    for (number, found) in found {
        update.execute((number.0, found)).map_err(|error| sqlite(path, error))?;
    }
    Ok(())
}
