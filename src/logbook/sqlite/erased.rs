//! What was erased: what is left to be said of it.

use std::path::Path;

use rusqlite::{Connection, Params, Row};
use uuid::Uuid;

use super::error::sqlite;
use super::schema;
use crate::logbook::error::LogbookError;
use crate::logbook::names::ExamId;
use crate::sharing::{EntryKind, Erasure};

/// What is kept of each.
pub const COLUMNS: &str = "exam, seat, number, place, closed, why, asked_by, agreed_by, agreed";

/// Everything that was erased, as far as this file knows.
pub fn all(connection: &Connection, path: &Path) -> Result<Vec<Erasure>, LogbookError> {
    some(connection, path, "ORDER BY place", [])
}

/// What is left of an exam that was erased; none of one that was not.
pub fn of(connection: &Connection, path: &Path, exam: ExamId) -> Result<Option<Erasure>, LogbookError> {
    Ok(some(connection, path, "WHERE exam = ?1", [exam.uuid()])?.pop())
}

/// The same of the exam that an entry is about.
pub fn of_entry(
    connection: &Connection,
    path: &Path,
    kind: &EntryKind,
    about: &[u8],
) -> Result<Option<Erasure>, LogbookError> {
    match kind {
        EntryKind::Exam | EntryKind::Amendment => match Uuid::from_slice(about) {
            Ok(exam) => of(connection, path, ExamId::new(exam)),
            Err(_) => Ok(None),
        },
        EntryKind::BoxChange | EntryKind::Day | EntryKind::Drill | EntryKind::Newer(_) => Ok(None),
    }
}

fn some(connection: &Connection, path: &Path, which: &str, values: impl Params) -> Result<Vec<Erasure>, LogbookError> {
    let failed = |error| sqlite(path, error);
    if !schema::has_table(connection, "erased").map_err(failed)? {
        return Ok(Vec::new());
    }
    let mut select = connection.prepare(&format!("SELECT {COLUMNS} FROM erased {which}")).map_err(failed)?;
    let rows = select.query_map(values, erasure);
    rows.and_then(Iterator::collect).map_err(failed)
}

fn erasure(row: &Row<'_>) -> rusqlite::Result<Erasure> {
    Ok(Erasure {
        exam: row.get(0)?,
        seat: row.get(1)?,
        number: row.get(2)?,
        place: row.get(3)?,
        closed: row.get(4)?,
        why: row.get(5)?,
        asked_by: row.get(6)?,
        agreed_by: row.get(7)?,
        agreed: row.get(8)?,
    })
}
