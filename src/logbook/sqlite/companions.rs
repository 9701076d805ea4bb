//! Whether the log beside a file is the file's own.
//!
//! SQLite takes whatever log lies beside a file, also one of another logbook, or one from before a backup was copied over it.
//! Since what is kept is only ever added, all that the file has by itself is there with its own log too.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, OptionalExtension as _, params_from_iter};

use super::log::Log;
use super::schema::{self, Identity};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::beside;

/// The last of each kind that was added to a file, and how it is found where there is more: `?1` on as it was found. What a
/// file of an older form has no table for is not looked at.
const LAST_ADDED: [(&str, &str); 5] = [
    ("SELECT id FROM writer", "SELECT 1 FROM writer WHERE id = ?1"),
    (
        "SELECT number, opened FROM exam ORDER BY number DESC LIMIT 1",
        "SELECT 1 FROM exam WHERE number = ?1 AND opened = ?2",
    ),
    ("SELECT number, id FROM exam ORDER BY number DESC LIMIT 1", "SELECT 1 FROM exam WHERE number = ?1 AND id = ?2"),
    (
        "SELECT exam, number, events FROM step ORDER BY exam DESC, number DESC LIMIT 1",
        "SELECT 1 FROM step WHERE exam = ?1 AND number = ?2 AND events = ?3",
    ),
    ("SELECT row, hash FROM entry ORDER BY row DESC LIMIT 1", "SELECT 1 FROM entry WHERE row = ?1 AND hash = ?2"),
];

/// How much is missing in the middle, above the last exam of the file alone (`?1`): an exam, how one began, a step, an entry.
/// A log of a later time brings the last of them without those between.
const MISSING: [&str; 4] = [
    "SELECT coalesce(max(number), ?1) - ?1 - count(*) FROM exam WHERE number > ?1",
    "SELECT count(*) FROM exam WHERE number > ?1 AND number NOT IN (SELECT exam FROM opening WHERE exam > ?1)",
    "SELECT count(*) FROM (SELECT 1 FROM step WHERE exam >= ?1 GROUP BY exam HAVING count(*) <> max(number))",
    "SELECT count(*) FROM (SELECT 1 FROM entry WHERE ?1 >= 0 GROUP BY writer HAVING count(*) <> max(number))",
];

/// Refuses a log that was not written for this file. `sound` says whether file and log together were found so.
///
/// # Errors
/// [`FileError::StrangeLog`]; nothing is changed.
pub fn refuse_strange_log(with_log: &Connection, path: &Path, log: &Log, sound: bool) -> Result<(), LogbookError> {
    let strange = || Err(FileError::StrangeLog { log: beside(path, "-wal") }.at(path));
    let Some((size, page_size)) = size_of(path) else { return Ok(()) };
    // a file that cannot be read by itself, as in the middle of being written, says nothing of its log
    let Ok(alone) = without_log(path) else { return Ok(()) };
    // nor does one that is no logbook, or not yet one
    if !schema::identify(&alone).is_ok_and(Identity::is_a_logbook) {
        return Ok(());
    }
    if !sound {
        let is_sound =
            |check: &str| alone.query_row(check, [], |row| row.get::<_, String>(0)).is_ok_and(|it| it == "ok");
        return if is_sound("PRAGMA quick_check(1)") { strange() } else { Ok(()) };
    }
    for (last, find) in LAST_ADDED {
        for row in rows(&alone, last).unwrap_or_default() {
            let found = with_log.query_row(find, params_from_iter(row), |_| Ok(())).optional();
            if !matches!(found, Ok(Some(()))) {
                return strange();
            }
        }
    }
    if !log.completes(size, page_size) {
        return strange();
    }
    let last_exam = "SELECT coalesce(max(number), 0) FROM exam";
    let last_exam: i64 = alone.query_row(last_exam, [], |row| row.get(0)).unwrap_or_default();
    for missing in MISSING {
        let count =
            |of: &Connection| of.query_row(missing, [last_exam], |row| row.get::<_, i64>(0)).unwrap_or_default();
        if count(with_log) > count(&alone) {
            return strange();
        }
    }
    Ok(())
}

/// The size of a file in bytes, and of its pages; `None` while it is empty.
fn size_of(path: &Path) -> Option<(u64, usize)> {
    let page_size: i64 = without_log(path).ok()?.query_row("PRAGMA page_size", [], |row| row.get(0)).ok()?;
    let size = fs::metadata(path).ok()?.len();
    (size > 0).then_some((size, usize::try_from(page_size).ok()?))
}

fn rows(connection: &Connection, sql: &str) -> rusqlite::Result<Vec<Vec<Value>>> {
    let mut select = connection.prepare(sql)?;
    let columns = select.column_count();
    let rows = select.query_map([], |row| (0..columns).map(|column| row.get(column)).collect())?;
    rows.collect()
}

/// Opens the file by itself, whatever lies beside it; makes nothing and locks nothing.
pub fn without_log(path: &Path) -> rusqlite::Result<Connection> {
    let immutable = PathBuf::from(format!("file:{}?immutable=1", percent_encoded(path)));
    Connection::open_with_flags(
        immutable,
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )
}

/// A path as the URI forms of SQLite want it.
fn percent_encoded(path: &Path) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.".contains(&byte);
    let bytes = path.as_os_str().as_encoded_bytes().iter();
    bytes.map(|&b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
