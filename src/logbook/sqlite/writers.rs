//! The writers whose entries are in the file, and which of them this logbook is now.

use std::fs;
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _};
use uuid::Uuid;

use super::error::sqlite;
use crate::logbook::engine::WriterRow;
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::host_name;
use crate::sharing::{Hash, PublicKey, WriterId};

/// Who this logbook is now.
pub fn me(connection: &Connection, path: &Path) -> Result<WriterId, LogbookError> {
    let found = connection.query_row("SELECT writer FROM me", [], |row| row.get(0)).map(WriterId::new);
    found.map_err(|error| sqlite(path, error))
}

/// Who this logbook is now, and on which computer it was when it became that.
pub fn home(connection: &Connection, path: &Path) -> Result<(WriterId, String), LogbookError> {
    let sql = "SELECT writer.id, machine FROM writer JOIN me ON me.writer = writer.id";
    let found = connection.query_row(sql, [], |row| Ok((WriterId::new(row.get(0)?), row.get(1)?)));
    found.map_err(|error| sqlite(path, error))
}

/// Adds a writer; one that is there already stays as it is.
pub fn add(connection: &Connection, path: &Path, writer: WriterId, machine: &str) -> Result<(), LogbookError> {
    let sql = "INSERT INTO writer (id, seat, machine) VALUES (?1, '', ?2) ON CONFLICT DO NOTHING";
    let done = connection.execute(sql, (writer.uuid(), machine));
    done.map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Takes a new writer when this logbook is none yet, or was copied here from another computer: two copies must not give the
/// same number to different entries.
pub fn be_one(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let machine = machine();
    let sql = "SELECT machine FROM writer JOIN me ON me.writer = writer.id";
    let known: Option<String> = connection.query_row(sql, [], |row| row.get(0)).optional().map_err(failed)?;
    if known.is_some_and(|known| known == machine) {
        return Ok(());
    }
    be(connection, path, WriterId::new(Uuid::new_v4()))
}

/// Is this writer from now on.
pub fn be(connection: &Connection, path: &Path, writer: WriterId) -> Result<(), LogbookError> {
    add(connection, path, writer, &machine())?;
    let sql = "INSERT INTO me (one, writer) VALUES (1, ?1) ON CONFLICT (one) DO UPDATE SET writer = excluded.writer";
    connection.execute(sql, [writer.uuid()]).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// The last entry of a writer: its number and hash, or what stands before the first.
pub fn last_of(connection: &Connection, path: &Path, writer: WriterId) -> Result<(i64, Hash), LogbookError> {
    let sql = "SELECT number, hash FROM entry WHERE writer = ?1 ORDER BY number DESC LIMIT 1";
    let last = connection.query_row(sql, [writer.uuid()], |row| Ok((row.get(0)?, row.get::<_, Vec<u8>>(1)?)));
    match last.optional().map_err(|error| sqlite(path, error))? {
        None => Ok((0, Hash::NONE)),
        Some((number, hash)) => match Hash::from_bytes(&hash) {
            Some(hash) => Ok((number, hash)),
            None => Err(FileError::Damaged { detail: format!("entry {number} has an invalid hash") }.at(path)),
        },
    }
}

/// Every writer, in the order in which they came.
pub fn all(connection: &Connection, path: &Path) -> Result<Vec<WriterRow>, LogbookError> {
    select(connection, path, "ORDER BY writer.rowid")
}

/// Who this logbook is now, as it is known; none where nobody has written in it.
pub fn known_as(connection: &Connection, path: &Path) -> Result<Option<WriterRow>, LogbookError> {
    Ok(select(connection, path, "JOIN me ON me.writer = writer.id")?.pop())
}

fn select(connection: &Connection, path: &Path, which: &str) -> Result<Vec<WriterRow>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql = format!("SELECT id, seat, site, public_key FROM writer {which}");
    let mut select = connection.prepare(&sql).map_err(failed)?;
    let rows = select.query_map([], |row| {
        let key: Option<Vec<u8>> = row.get(3)?;
        let key = key.and_then(|key| PublicKey::from_bytes(&key));
        Ok(WriterRow { id: WriterId::new(row.get(0)?), seat: row.get(1)?, site: row.get(2)?, key })
    });
    rows.and_then(Iterator::collect).map_err(failed)
}

/// Names the seat that this logbook is; what it wrote under an earlier identity without a name, too.
pub fn name_seat(connection: &Connection, path: &Path, seat: &str) -> Result<(), LogbookError> {
    let sql = "UPDATE writer SET seat = ?1 WHERE seat = '' OR id = (SELECT writer FROM me)";
    connection.execute(sql, [seat]).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Names the place that this seat belongs to; what it wrote under an earlier identity without one, too.
pub fn name_site(connection: &Connection, path: &Path, site: &str) -> Result<(), LogbookError> {
    let sql = "UPDATE writer SET site = ?1 WHERE site IS NULL OR id = (SELECT writer FROM me)";
    connection.execute(sql, [site]).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Notes by what this logbook signs from now on.
pub fn note_key(connection: &Connection, path: &Path, key: &PublicKey) -> Result<(), LogbookError> {
    let sql = "UPDATE writer SET public_key = ?1 WHERE id = (SELECT writer FROM me)";
    connection.execute(sql, [key.as_bytes().as_slice()]).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// By what this computer is known from another. Not the system's own number itself, which is not to be passed on.
fn machine() -> String {
    let number = fs::read_to_string("/etc/machine-id").ok().map(|id| id.trim().to_owned()).filter(|id| !id.is_empty());
    match number {
        Some(number) => Hash::of(format!("dioptray logbook on {number}").as_bytes()).to_string(),
        None => host_name().unwrap_or_default(),
    }
}
