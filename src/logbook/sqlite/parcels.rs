//! The rows of parcels: out of a logbook, into the bytes of a parcel and back.
//!
//! A parcel is an SQLite file with the tables of a logbook, of which it fills those of entries, and a seal behind it.

use std::path::Path;

use rusqlite::Connection;
use uuid::Uuid;

use super::error::sqlite;
use super::{entries, erased, exams, schema, writers};
use crate::logbook::beginning::box_state_of;
use crate::logbook::engine::{EntryRow, ParcelRows, SpokenRow, WriterRow};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::names::ExamId;
use crate::sharing::body::deflate;
use crate::sharing::sealing::{self, Seal};
use crate::sharing::{EntryKind, Hash, Heads, SeatKey, WriterId};

/// The most bytes of a body that is sent.
const MOST_BYTES: usize = 1 << 20;

/// Marks an SQLite file as a parcel (SQLite's `application_id`): the letters `DptP`. So none is opened as a logbook.
const APPLICATION_ID: i32 = 0x4470_7450;

/// Where an SQLite file holds its `application_id`.
const APPLICATION_ID_AT: std::ops::Range<usize> = 68..72;

/// By which number each exam is spoken of at its own seat; only parcels and what was read from them have it.
pub const SPOKEN: &str = "
CREATE TABLE IF NOT EXISTS spoken (
    exam BLOB PRIMARY KEY,
    writer BLOB NOT NULL REFERENCES writer,
    number INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
";

/// Of which writers the first entry in a parcel only says what the next one follows.
const FOLLOWED: &str = "CREATE TABLE followed (writer BLOB PRIMARY KEY REFERENCES writer) STRICT, WITHOUT ROWID;";

/// What this logbook wrote beyond what is known elsewhere. The last entry that is known comes along without its body, for the
/// next one to follow; days and drills are sent without theirs.
pub fn of_logbook(connection: &Connection, path: &Path, since: &Heads) -> Result<ParcelRows, LogbookError> {
    let view = connection.unchecked_transaction().map_err(|error| sqlite(path, error))?;
    let mut rows = ParcelRows { writers: writers::all(&view, path)?, ..ParcelRows::default() };
    for mut row in entries::from_known(&view, path, since)? {
        let (writer, number) = (row.sealed.writer, row.sealed.number);
        if since.know(writer, number) {
            row.body = None;
            rows.followed.push(writer);
        } else {
            row.body = sent_body(&view, path, &row, &mut rows)?;
        }
        rows.entries.push(row);
    }
    rows.writers.retain(|writer| rows.entries.iter().any(|row| row.sealed.writer == writer.id));
    Ok(rows)
}

fn sent_body(
    connection: &Connection,
    path: &Path,
    row: &EntryRow,
    rows: &mut ParcelRows,
) -> Result<Option<Vec<u8>>, LogbookError> {
    match row.sealed.entry.kind {
        EntryKind::Exam => exam_body(connection, path, row, rows),
        EntryKind::Amendment | EntryKind::BoxChange | EntryKind::Newer(_) => Ok(row.body.clone()),
        EntryKind::Day | EntryKind::Drill => Ok(None),
    }
}

fn exam_body(
    connection: &Connection,
    path: &Path,
    row: &EntryRow,
    rows: &mut ParcelRows,
) -> Result<Option<Vec<u8>>, LogbookError> {
    let number = row.sealed.number;
    let damaged = |what: &str| FileError::Damaged { detail: format!("entry {number}: {what}") }.at(path);
    let id = Uuid::from_slice(&row.sealed.entry.about).map_err(|_| damaged("its exam has no identity"))?;
    let exam = exams::number_of(connection, path, ExamId::new(id))?.ok_or_else(|| damaged("its exam is not there"))?;
    if erased::of(connection, path, ExamId::new(id))?.is_some() {
        rows.spoken.push(SpokenRow { exam: ExamId::new(id), writer: row.sealed.writer, number: exam.0 });
        return Ok(None);
    }
    let kept = exams::rows(connection, path, exam)?;
    let body = exams::body_of(&kept);
    if Hash::of(&body) != row.sealed.entry.body_hash {
        return Err(damaged(&format!("exam {exam} is not as it was closed")));
    }
    rows.spoken.push(SpokenRow { exam: kept.id, writer: row.sealed.writer, number: exam.0 });
    if let Some(hash) = box_state_of(&kept.opening)
        && rows.box_states.iter().all(|(known, _)| *known != hash)
        && let Some(content) = exams::box_state(connection, path, hash)?
    {
        rows.box_states.push((hash, content));
    }
    if body.len() > MOST_BYTES {
        return Ok(None);
    }
    deflate(&body).map(Some).map_err(|error| damaged(&error.to_string()))
}

/// The bytes of a parcel, signed.
pub fn to_bytes(rows: &ParcelRows, path: &Path, key: &SeatKey) -> Result<Vec<u8>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut memory = Connection::open_in_memory().map_err(failed)?;
    let transaction = memory.transaction().map_err(failed)?;
    schema::make(&transaction, |connection| connection.execute_batch(SPOKEN)).map_err(failed)?;
    transaction.execute_batch(FOLLOWED).map_err(failed)?;
    put(&transaction, path, rows)?;
    transaction.pragma_update(None, "application_id", APPLICATION_ID).map_err(failed)?;
    transaction.commit().map_err(failed)?;
    let content = memory.serialize("main").map_err(failed)?.to_vec();
    Ok(sealing::seal(content, key))
}

fn put(connection: &Connection, path: &Path, rows: &ParcelRows) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    for WriterRow { id, seat, site, key } in &rows.writers {
        let sql = "INSERT INTO writer (id, seat, site, machine, public_key) VALUES (?1, ?2, ?3, '', ?4)";
        let key = key.as_ref().map(|key| key.as_bytes().as_slice());
        connection.execute(sql, (id.uuid(), seat, site, key)).map_err(failed)?;
    }
    for (hash, content) in &rows.box_states {
        let sql = "INSERT INTO box_state (hash, content) VALUES (?1, ?2)";
        connection.execute(sql, (hash.as_bytes().as_slice(), content)).map_err(failed)?;
    }
    for SpokenRow { exam, writer, number } in &rows.spoken {
        let sql = "INSERT INTO spoken (exam, writer, number) VALUES (?1, ?2, ?3)";
        connection.execute(sql, (exam.uuid(), writer.uuid(), number)).map_err(failed)?;
    }
    for writer in &rows.followed {
        connection.execute("INSERT INTO followed (writer) VALUES (?1)", [writer.uuid()]).map_err(failed)?;
    }
    rows.entries.iter().try_for_each(|row| entries::put(connection, path, &row.sealed, row.body.as_deref()))
}

/// What the bytes of a file turn out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind<'a> {
    /// A parcel.
    Parcel {
        /// What stands before its seal.
        content: &'a [u8],
        /// What the seal says.
        seal: Seal,
    },
    /// Perhaps a logbook.
    Sqlite,
    /// Something else.
    Other,
}

/// What the bytes of a file are, by their beginning and end.
pub fn kind_of(bytes: &[u8]) -> Kind<'_> {
    if !bytes.starts_with(b"SQLite format 3\0") {
        return Kind::Other;
    }
    let is_marked = bytes.get(APPLICATION_ID_AT) == Some(APPLICATION_ID.to_be_bytes().as_slice());
    let (content, seal) = sealing::open(bytes);
    if is_marked || seal.is_there() { Kind::Parcel { content, seal } } else { Kind::Sqlite }
}

/// What stands in the content of a parcel, whether or not its seal holds.
pub fn from_content(content: &[u8], path: &Path) -> Result<ParcelRows, LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut memory = Connection::open_in_memory().map_err(failed)?;
    memory.deserialize_read_exact("main", content, content.len(), true).map_err(failed)?;
    let mut select = memory.prepare("SELECT hash, content FROM box_state ORDER BY row").map_err(failed)?;
    let states = select.query_map([], |row| Ok((row.get::<_, Vec<u8>>(0)?, row.get(1)?)));
    let states: Vec<(Vec<u8>, Vec<u8>)> = states.and_then(Iterator::collect).map_err(failed)?;
    let state = |(hash, content): (Vec<u8>, _)| Hash::from_bytes(&hash).map(|hash| (hash, content));
    let mut select = memory.prepare("SELECT writer FROM followed").map_err(failed)?;
    let followed = select.query_map([], |row| row.get(0).map(WriterId::new));
    Ok(ParcelRows {
        followed: followed.and_then(Iterator::collect).map_err(failed)?,
        writers: writers::all(&memory, path)?,
        entries: entries::all(&memory, path)?,
        box_states: states.into_iter().filter_map(state).collect(),
        spoken: spoken(&memory, path)?,
    })
}

/// By which number each exam is spoken of; none in a logbook, which has only exams of its own.
pub fn spoken(connection: &Connection, path: &Path) -> Result<Vec<SpokenRow>, LogbookError> {
    let failed = |error| sqlite(path, error);
    if !schema::has_table(connection, "spoken").map_err(failed)? {
        return Ok(Vec::new());
    }
    let mut select = connection.prepare("SELECT exam, writer, number FROM spoken").map_err(failed)?;
    let rows = select.query_map([], |row| {
        Ok(SpokenRow { exam: ExamId::new(row.get(0)?), writer: WriterId::new(row.get(1)?), number: row.get(2)? })
    });
    rows.and_then(Iterator::collect).map_err(failed)
}
