//! Whether the log beside a file is the file's own.
//!
//! SQLite takes whatever log lies beside a file, also one of another logbook, or one from before a backup was copied over it.
//! Since what is kept is only ever added, all that the file has by itself is there with its own log too; but for exams that are
//! erased or kept no longer, of which the log says so.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, params_from_iter};

use super::log::Log;
use super::schema::{self, Identity};
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::beside;

/// The last of each kind that was added to a file, and how it is found where there is more: `?1` on as it was found. What a
/// file of an older form has no table for is not looked at.
const LAST_ADDED: [(&str, &str); 5] = [
    ("SELECT id FROM writer", "SELECT 1 FROM writer WHERE id = ?1"),
    (LAST_EXAM, "SELECT 1 FROM exam WHERE number = ?1 AND opened = ?2"),
    ("SELECT number, id FROM exam ORDER BY number DESC LIMIT 1", "SELECT 1 FROM exam WHERE number = ?1 AND id = ?2"),
    (LAST_STEP, "SELECT 1 FROM step WHERE exam = ?1 AND number = ?2 AND events = ?3"),
    ("SELECT row, hash FROM entry ORDER BY row DESC LIMIT 1", "SELECT 1 FROM entry WHERE row = ?1 AND hash = ?2"),
];

const LAST_EXAM: &str = "SELECT number, opened FROM exam ORDER BY number DESC LIMIT 1";
const LAST_STEP: &str = "SELECT exam, number, events FROM step ORDER BY exam DESC, number DESC LIMIT 1";

/// The identity of the exam of a number in the file by itself, and where a log says that nothing is left of an exam, or of others
/// that no row is.
const ID: &str = "SELECT id FROM exam WHERE number = ?1";
const GONE: [&str; 2] = [
    "SELECT 1 FROM erased WHERE exam = ?1",
    "SELECT 1 FROM spoken JOIN let_go ON let_go.writer = spoken.writer WHERE exam = ?1",
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
    let refused = || Err(FileError::StrangeLog { log: beside(path, "-wal") }.at(path));
    let Some((size, page_size)) = size_of(path) else { return Ok(()) };
    // a file that cannot be read by itself, as in the middle of being written, says nothing of its log
    let Ok(alone) = without_log(path) else { return Ok(()) };
    // nor does one that is no logbook, or not yet one
    if !schema::identify(&alone).is_ok_and(Identity::is_a_logbook) {
        return Ok(());
    }
    // one that was killed while the log was written into the file left it with pages of two times, which only the log makes whole
    let is_sound = |file: &Connection| {
        file.query_row("PRAGMA quick_check(1)", [], |row| row.get::<_, String>(0)).is_ok_and(|it| it == "ok")
    };
    let strange = || if is_sound(&alone) { refused() } else { Ok(()) };
    if !sound {
        return strange();
    }
    for (last, find) in LAST_ADDED {
        for row in rows(&alone, last).unwrap_or_default() {
            let number = row.first().cloned();
            let is_found = with_log.query_row(find, params_from_iter(row), |_| Ok(())).is_ok();
            let is_of_an_exam = last != LAST_ADDED[0].0 && last != LAST_ADDED[4].0;
            if !(is_found || is_of_an_exam && is_gone(&alone, with_log, number)) {
                return strange();
            }
        }
    }
    if !log.completes(size, page_size) {
        return refused();
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

/// Whether an exam that the file has by itself is one of which nothing is left by what the log says: it was erased, or let go of.
fn is_gone(alone: &Connection, with_log: &Connection, number: Option<Value>) -> bool {
    let id = alone.query_row(ID, [number], |row| row.get::<_, Value>(0));
    let is_there = |id: &Value, sql: &str| with_log.query_row(sql, [id], |_| Ok(())).is_ok();
    id.is_ok_and(|id| GONE.iter().any(|sql| is_there(&id, sql)))
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
