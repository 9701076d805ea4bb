//! Erasing: the rows that go, and the bytes of them.

use std::path::Path;
use std::time::{Duration, Instant};

use rusqlite::{Connection, Transaction};

use super::erased::COLUMNS;
use super::error::{BUSY_TIMEOUT, sqlite};
use super::{exams, schema};
use crate::logbook::engine::DayWithout;
use crate::logbook::error::LogbookError;
use crate::logbook::names::{ExamId, ExamNumber};
use crate::sharing::body::deflate;
use crate::sharing::{EntryKind, Erasure, Hash};

/// Made when the first exam is erased: a file in which nothing was erased is as it always was. In place of an entry of a day that
/// said something of the person stands the same entry without it. What is *gone* is in no free part of the file either.
const TABLES: &str = "
CREATE TABLE IF NOT EXISTS erased (
    exam BLOB PRIMARY KEY,
    seat TEXT NOT NULL,
    number INTEGER NOT NULL,
    place INTEGER NOT NULL,
    closed TEXT NOT NULL,
    why TEXT NOT NULL,
    asked_by TEXT NOT NULL,
    agreed_by TEXT NOT NULL,
    agreed TEXT NOT NULL,
    is_gone INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE IF NOT EXISTS entry_without (
    entry INTEGER PRIMARY KEY REFERENCES entry,
    body_hash BLOB NOT NULL,
    body BLOB NOT NULL
) STRICT;
";

/// Steps and openings stay, but for those of an exam that is erased.
const UNLESS_ERASED: &str = "
DROP TRIGGER IF EXISTS step_stays;
CREATE TRIGGER step_stays BEFORE DELETE ON step
WHEN NOT EXISTS (SELECT 1 FROM exam AS e JOIN erased AS x ON x.exam = e.id WHERE e.number = OLD.exam)
BEGIN SELECT RAISE(ABORT, 'steps are only ever added'); END;
DROP TRIGGER IF EXISTS opening_stays;
CREATE TRIGGER opening_stays BEFORE DELETE ON opening
WHEN NOT EXISTS (SELECT 1 FROM exam AS e JOIN erased AS x ON x.exam = e.id WHERE e.number = OLD.exam)
BEGIN SELECT RAISE(ABORT, 'how an exam began is never changed'); END;
";

/// Has everything that is deleted from now on written over.
pub fn write_over(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    // the pragma answers with what it is now
    let set = connection.query_row("PRAGMA secure_delete = ON", [], |_| Ok(()));
    set.map_err(|error| sqlite(path, error))
}

/// Notes what was erased, and takes away what is kept of these exams: how they began, their steps, label and results, the bodies of
/// their entries and of what was added to them, and what a day said of the person. Numbers, times and hashes stay.
pub fn erase(
    transaction: &Transaction<'_>,
    path: &Path,
    erasures: &[Erasure],
    of_days: &[DayWithout],
) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    transaction.execute_batch(TABLES).map_err(failed)?;
    transaction.execute_batch(UNLESS_ERASED).map_err(failed)?;
    for erasure in erasures {
        note(transaction, erasure).map_err(failed)?;
        let sql = "UPDATE entry SET body = NULL WHERE about = ?1 AND kind IN (?2, ?3) AND body IS NOT NULL";
        let kinds = (EntryKind::Exam, EntryKind::Amendment);
        let about = erasure.exam.as_bytes().as_slice();
        let mut rows = transaction.execute(sql, (about, kinds.0.name(), kinds.1.name())).map_err(failed)?;
        if let Some(number) = exams::number_of(transaction, path, ExamId::new(erasure.exam))? {
            rows += take_away(transaction, number).map_err(failed)?;
        }
        if rows > 0 {
            transaction.execute("UPDATE erased SET is_gone = 0 WHERE exam = ?1", [erasure.exam]).map_err(failed)?;
        }
    }
    of_days.iter().try_for_each(|day| without(transaction, path, day))
}

fn note(transaction: &Transaction<'_>, erasure: &Erasure) -> rusqlite::Result<()> {
    let sql = format!(
        "INSERT INTO erased ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)
         ON CONFLICT (exam) DO UPDATE SET place = excluded.place"
    );
    let Erasure { exam, seat, number, place, closed, why, asked_by, agreed_by, agreed } = erasure;
    transaction.execute(&sql, (exam, seat, number, place, closed, why, asked_by, agreed_by, agreed)).map(|_| ())
}

/// How many rows were taken away or changed.
fn take_away(transaction: &Transaction<'_>, number: ExamNumber) -> rusqlite::Result<usize> {
    let rows = transaction.execute("DELETE FROM step WHERE exam = ?1", [number.0])?
        + transaction.execute("DELETE FROM opening WHERE exam = ?1", [number.0])?;
    let sql = "UPDATE exam SET label = NULL, found = NULL WHERE number = ?1 AND (label, found) IS NOT (NULL, NULL)";
    Ok(rows + transaction.execute(sql, [number.0])?)
}

/// Puts what is left of an entry of a day in its place.
fn without(transaction: &Transaction<'_>, path: &Path, day: &DayWithout) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let body = deflate(day.left.text.as_bytes())
        .map_err(|error| LogbookError::unreadable(path, "what is left of a day", error.to_string()))?;
    let hash = Hash::of(day.left.text.as_bytes());
    let key = (day.entry.writer.uuid(), day.entry.number);
    let sql = "INSERT INTO entry_without (entry, body_hash, body)
               SELECT row, ?3, ?4 FROM entry WHERE writer = ?1 AND number = ?2
               ON CONFLICT (entry) DO UPDATE SET body_hash = excluded.body_hash, body = excluded.body";
    transaction.execute(sql, (key.0, key.1, hash.as_bytes().as_slice(), body)).map_err(failed)?;
    let sql = "UPDATE entry SET body = NULL WHERE writer = ?1 AND number = ?2";
    transaction.execute(sql, key).map(|_| ()).map_err(failed)
}

/// Whether something was taken away whose bytes may still be in a free part of the file, or in its log.
pub fn is_left_behind(connection: &Connection, path: &Path) -> Result<bool, LogbookError> {
    let failed = |error| sqlite(path, error);
    if !schema::has_table(connection, "erased").map_err(failed)? {
        return Ok(false);
    }
    let sql = "SELECT EXISTS (SELECT 1 FROM erased WHERE is_gone = 0)";
    connection.query_row(sql, [], |row| row.get(0)).map_err(failed)
}

/// Writes the whole file again without its free parts, and empties the log: rows that were written again in the course of an exam
/// left copies in both. Whether that was done: it is not while another program reads.
pub fn write_again(connection: &Connection, path: &Path) -> Result<bool, LogbookError> {
    let failed = |error| sqlite(path, error);
    connection.execute_batch("VACUUM").map_err(failed)?;
    let since = Instant::now();
    while !empty_log(connection).map_err(failed)? {
        if since.elapsed() >= BUSY_TIMEOUT {
            return Ok(false);
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    connection.execute("UPDATE erased SET is_gone = 1", []).map_err(failed)?;
    Ok(true)
}

/// Folds the whole log into the file and cuts it off; not while somebody reads, or folds it at this moment.
fn empty_log(connection: &Connection) -> rusqlite::Result<bool> {
    connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0)).map(|busy| busy == 0)
}
