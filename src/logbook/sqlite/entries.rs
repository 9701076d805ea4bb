//! Entries: adding one to its writer's chain, and reading them.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _, Params, Row};
use uuid::Uuid;

use super::error::sqlite;
use super::{schema, writers};
use crate::logbook::engine::{BareExamRow, EntryAgain, EntryOf, EntryRow, EntrySpan, NewEntry};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::names::{BoxKey, DayId, ExamId};
use crate::sharing::{Entry, EntryKind, Hash, Heads, Sealed, WriterId};

/// Adds an entry of this logbook.
pub fn add(connection: &Connection, path: &Path, new: NewEntry) -> Result<(), LogbookError> {
    add_as(connection, path, writers::me(connection, path)?, new.entry, Some(&new.body))
}

/// Notes that the entry that was added last is about a further box.
pub fn note_further(connection: &Connection, path: &Path, in_box: i64) -> Result<(), LogbookError> {
    let sql = "INSERT INTO entry_box (entry, box) SELECT max(row), ?1 FROM entry";
    connection.execute(sql, [in_box]).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Writes entries again that another writer wrote after the number where it parted from a copy; they stand no more as what that one
/// wrote.
pub fn write_again(
    connection: &Connection,
    path: &Path,
    parted: (WriterId, i64),
    again: &[EntryAgain],
) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let (writer, after) = parted;
    connection.execute("INSERT INTO parted (writer, after) VALUES (?1, ?2)", (writer.uuid(), after)).map_err(failed)?;
    let me = writers::me(connection, path)?;
    for EntryAgain { number, entry, body } in again {
        add_as(connection, path, me, entry.clone(), body.as_deref())?;
        let sql = "INSERT INTO entry_box (entry, box) SELECT (SELECT max(row) FROM entry), entry_box.box FROM entry_box
                   JOIN entry ON entry.row = entry_box.entry WHERE entry.writer = ?1 AND entry.number = ?2";
        connection.execute(sql, (writer.uuid(), number)).map_err(failed)?;
    }
    Ok(())
}

/// Adds an entry with the next number of its writer; without a body where that stands elsewhere in the file.
pub fn add_as(
    connection: &Connection,
    path: &Path,
    writer: WriterId,
    entry: Entry,
    body: Option<&[u8]>,
) -> Result<(), LogbookError> {
    let (last, last_hash) = writers::last_of(connection, path, writer)?;
    put(connection, path, &entry.seal(writer, last, last_hash), body)
}

/// Puts an entry in as it is, with the number that its writer gave it.
pub fn put(connection: &Connection, path: &Path, sealed: &Sealed, body: Option<&[u8]>) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let Sealed { writer, number, entry, hash } = sealed;
    let sql = "INSERT INTO entry (writer, number, kind, about, \"by\", at, after, format, body_hash, hash, body)
               VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)";
    let mut insert = connection.prepare_cached(sql).map_err(failed)?;
    let done = insert.execute((
        writer.uuid(),
        number,
        entry.kind.name(),
        &entry.about,
        &entry.by,
        &entry.at,
        &entry.after,
        entry.format,
        entry.body_hash.as_bytes().as_slice(),
        hash.as_bytes().as_slice(),
        body,
    ));
    done.map(|_| ()).map_err(failed)
}

/// Which entries stand: all but those of a writer that another copy of the logbook went on as too, from where the two parted. Those
/// were written again.
fn standing(connection: &Connection, path: &Path) -> Result<&'static str, LogbookError> {
    // a logbook that an earlier program made and that is only read has no such table, and no such entry
    let may_have_parted = schema::has_table(connection, "parted").map_err(|error| sqlite(path, error))?;
    Ok(if may_have_parted {
        "NOT EXISTS (SELECT 1 FROM parted WHERE parted.writer = entry.writer AND entry.number > parted.after)"
    } else {
        "TRUE"
    })
}

/// What was added to a closed exam other than by a step of it: writer by writer as they came here, each in the order of the
/// numbers, since what was missing in a parcel may come later.
pub fn amendments(connection: &Connection, path: &Path, exam: ExamId) -> Result<Vec<EntryOf>, LogbookError> {
    let standing = standing(connection, path)?;
    let of_exam = format!(
        "WHERE about = ?1 AND kind = ?2 AND body IS NOT NULL AND {standing}
         ORDER BY (SELECT first.row FROM entry AS first WHERE first.writer = entry.writer
                   ORDER BY first.number LIMIT 1), number"
    );
    rows(connection, path, &of_exam, (exam.uuid().as_bytes().as_slice(), EntryKind::Amendment.name()))
}

/// Everything that happened to a box, under each key it ever had, in the order in which it came here.
pub fn box_changes(connection: &Connection, path: &Path, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError> {
    const NOTED_THERE: &str = "about IN (SELECT CAST(alias.key AS BLOB) FROM box_key AS alias
                               JOIN box_key AS named ON named.box = alias.box WHERE named.key = ?1)";
    const NOTED_ELSEWHERE: &str = "row IN (SELECT entry FROM entry_box
                                   JOIN box_key AS named ON named.box = entry_box.box WHERE named.key = ?1)";
    // a logbook that an earlier program made and that is only read has no such table, and no such entry
    let standing = standing(connection, path)?;
    let of_box = if schema::has_table(connection, "entry_box").map_err(|error| sqlite(path, error))? {
        format!("WHERE kind = ?2 AND ({NOTED_THERE} OR {NOTED_ELSEWHERE}) AND {standing} ORDER BY row")
    } else {
        format!("WHERE kind = ?2 AND {NOTED_THERE} ORDER BY row")
    };
    rows(connection, path, &of_box, (key.as_str(), EntryKind::BoxChange.name()))
}

/// Everything that was noted of a box under this one key, in the order in which it came here.
pub fn about_box(connection: &Connection, path: &Path, key: &BoxKey) -> Result<Vec<EntryOf>, LogbookError> {
    let of_key = format!("WHERE about = ?1 AND kind = ?2 AND {} ORDER BY row", standing(connection, path)?);
    rows(connection, path, &of_key, (key.as_str().as_bytes(), EntryKind::BoxChange.name()))
}

/// Everything that happened in a day, in the order in which it came here; where something of a person was erased, what is left of
/// that entry in its place.
pub fn of_day(connection: &Connection, path: &Path, day: DayId) -> Result<Vec<EntryOf>, LogbookError> {
    let day = day.uuid();
    let values = (day.as_bytes().as_slice(), EntryKind::Day.name());
    if !schema::has_table(connection, "entry_without").map_err(|error| sqlite(path, error))? {
        return rows(connection, path, "WHERE about = ?1 AND kind = ?2 ORDER BY row", values);
    }
    let of_day = "LEFT JOIN entry_without AS without ON without.entry = entry.row
                  WHERE about = ?1 AND kind = ?2 ORDER BY row";
    let columns =
        "writer, number, kind, about, \"by\", at, after, format, coalesce(without.body_hash, entry.body_hash),
                   hash, coalesce(without.body, entry.body)";
    selected(connection, path, columns, of_day, values)
}

/// Every day, the latest last.
pub fn days(connection: &Connection, path: &Path) -> Result<Vec<DayId>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT about FROM entry WHERE kind = 'day' GROUP BY about ORDER BY min(row)";
    let mut select = connection.prepare_cached(sql).map_err(failed)?;
    let rows = select.query_map([], |row| row.get(0).map(DayId::new));
    rows.and_then(Iterator::collect).map_err(failed)
}

/// Every answer to a drill, in the order in which it came here.
pub fn of_drills(connection: &Connection, path: &Path) -> Result<Vec<EntryOf>, LogbookError> {
    rows(connection, path, "WHERE kind = ?1 ORDER BY row", [EntryKind::Drill.name()])
}

/// Every entry, writer by writer, in the order of their numbers.
pub fn all(connection: &Connection, path: &Path) -> Result<Vec<EntryRow>, LogbookError> {
    rows(connection, path, "ORDER BY writer, number", [])?.into_iter().collect()
}

/// The entries that stand, writer by writer, in the order of their numbers.
pub fn all_standing(connection: &Connection, path: &Path) -> Result<Vec<EntryRow>, LogbookError> {
    let standing = format!("WHERE {} ORDER BY writer, number", standing(connection, path)?);
    rows(connection, path, &standing, [])?.into_iter().collect()
}

/// The entries that stand, from the last one on that is known elsewhere, writer by writer, in the order of their numbers.
pub fn from_known(connection: &Connection, path: &Path, known: &Heads) -> Result<Vec<EntryRow>, LogbookError> {
    let mut writers: Vec<WriterId> = writers::all(connection, path)?.into_iter().map(|writer| writer.id).collect();
    writers.sort();
    let of_writer = format!("WHERE writer = ?1 AND number >= ?2 AND {} ORDER BY number", standing(connection, path)?);
    let mut all = Vec::new();
    for writer in writers {
        let from = known.iter().find(|(known, _)| *known == writer).map_or(0, |(_, last)| last);
        all.extend(rows(connection, path, &of_writer, (writer.uuid(), from))?);
    }
    all.into_iter().collect()
}

/// Entries; one that cannot be read keeps nobody from the others.
fn rows(connection: &Connection, path: &Path, which: &str, values: impl Params) -> Result<Vec<EntryOf>, LogbookError> {
    const COLUMNS: &str = "writer, number, kind, about, \"by\", at, after, format, body_hash, hash, body";
    selected(connection, path, COLUMNS, which, values)
}

fn selected(
    connection: &Connection,
    path: &Path,
    columns: &str,
    which: &str,
    values: impl Params,
) -> Result<Vec<EntryOf>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = format!("SELECT {columns} FROM entry {which}");
    let mut select = connection.prepare_cached(&sql).map_err(failed)?;
    let rows = select.query_map(values, |row| Ok(entry(row, path)));
    rows.and_then(Iterator::collect).map_err(failed)
}

fn entry(row: &Row<'_>, path: &Path) -> Result<EntryRow, LogbookError> {
    let failed = |error| sqlite(path, error);
    let number: i64 = row.get(1).map_err(failed)?;
    let hash = |column| {
        let bytes: Vec<u8> = row.get(column).map_err(failed)?;
        let invalid = || FileError::Damaged { detail: format!("entry {number} has an invalid hash") }.at(path);
        Hash::from_bytes(&bytes).ok_or_else(invalid)
    };
    let entry = Entry {
        kind: EntryKind::from_name(&row.get::<_, String>(2).map_err(failed)?),
        about: row.get(3).map_err(failed)?,
        by: row.get(4).map_err(failed)?,
        at: row.get(5).map_err(failed)?,
        after: row.get(6).map_err(failed)?,
        format: row.get(7).map_err(failed)?,
        body_hash: hash(8)?,
    };
    let writer = WriterId::new(row.get::<_, Uuid>(0).map_err(failed)?);
    Ok(EntryRow { sealed: Sealed { writer, number, entry, hash: hash(9)? }, body: row.get(10).map_err(failed)? })
}

fn hash_from(bytes: &[u8], number: i64, path: &Path) -> Result<Hash, LogbookError> {
    let damaged = || FileError::Damaged { detail: format!("entry {number} has an invalid hash") }.at(path);
    Hash::from_bytes(bytes).ok_or_else(damaged)
}

/// The last entry of each writer that stands.
pub fn last_of_each(connection: &Connection, path: &Path) -> Result<Vec<(WriterId, i64, Hash)>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let parted = schema::has_table(connection, "parted").map_err(failed)?;
    let after = if parted { "(SELECT after FROM parted WHERE parted.writer = writer.id)" } else { "NULL" };
    let sql = format!(
        "SELECT writer, number, hash FROM writer JOIN entry ON entry.writer = writer.id
         AND number = coalesce({after}, (SELECT max(last.number) FROM entry AS last WHERE last.writer = writer.id))
         ORDER BY writer.rowid"
    );
    let mut select = connection.prepare(&sql).map_err(failed)?;
    let rows = select.query_map([], |row| Ok((WriterId::new(row.get(0)?), row.get(1)?, row.get::<_, Vec<u8>>(2)?)));
    let rows: Vec<(WriterId, i64, Vec<u8>)> = rows.and_then(Iterator::collect).map_err(failed)?;
    rows.iter().map(|(writer, number, hash)| Ok((*writer, *number, hash_from(hash, *number, path)?))).collect()
}

/// The hash of an entry, if there is one of that number.
pub fn hash_of(
    connection: &Connection,
    path: &Path,
    writer: WriterId,
    number: i64,
) -> Result<Option<Hash>, LogbookError> {
    let sql = "SELECT hash FROM entry WHERE writer = ?1 AND number = ?2";
    let found = connection.query_row(sql, (writer.uuid(), number), |row| row.get::<_, Vec<u8>>(0)).optional();
    found.map_err(|error| sqlite(path, error))?.map(|hash| hash_from(&hash, number, path)).transpose()
}

/// From which number to which each writer's entries are here, and how many they are.
pub fn spans(connection: &Connection, path: &Path) -> Result<Vec<EntrySpan>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT writer, min(number), max(number), count(*) FROM entry GROUP BY writer";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let span = |row: &Row<'_>| {
        let writer = WriterId::new(row.get(0)?);
        Ok(EntrySpan { writer, first: row.get(1)?, last: row.get(2)?, count: row.get(3)? })
    };
    let rows = select.query_map([], span);
    rows.and_then(Iterator::collect).map_err(failed)
}

/// The exams of which nothing is here but the entry that closed them.
pub fn bare_exams(connection: &Connection, path: &Path) -> Result<Vec<BareExamRow>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT about, writer, \"by\", at FROM entry
               WHERE kind = ?1 AND body IS NULL AND length(about) = 16
               AND NOT EXISTS (SELECT 1 FROM exam WHERE exam.id = entry.about)";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let rows = select.query_map([EntryKind::Exam.name()], |row| {
        let (exam, writer) = (ExamId::new(row.get(0)?), WriterId::new(row.get(1)?));
        Ok(BareExamRow { exam, writer, by: row.get(2)?, closed: row.get(3)? })
    });
    rows.and_then(Iterator::collect).map_err(failed)
}

/// The numbers of a writer's entries, in their order.
pub fn numbers(connection: &Connection, path: &Path, writer: WriterId) -> Result<Vec<i64>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = "SELECT number FROM entry WHERE writer = ?1 ORDER BY number";
    let mut select = connection.prepare(sql).map_err(failed)?;
    let rows = select.query_map([writer.uuid()], |row| row.get(0));
    rows.and_then(Iterator::collect).map_err(failed)
}
