//! The boxes that the logbook knows, and who has them open.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension as _};

use super::error::sqlite;
use super::schema;
use crate::logbook::engine::{BoxRow, ClaimRow};
use crate::logbook::error::LogbookError;
use crate::logbook::names::{BoxKey, ExamNumber, NamedBox};

/// A box that is known.
pub fn known(connection: &Connection, path: &Path, key: &BoxKey) -> Result<Option<BoxRow>, LogbookError> {
    let sql = "SELECT id, name, file FROM box JOIN box_key ON box.id = box_key.box WHERE key = ?1";
    let found = connection.query_row(sql, [key.as_str()], |row| {
        let file = row.get::<_, Option<String>>(2)?.map(PathBuf::from);
        Ok(BoxRow { number: row.get(0)?, name: row.get(1)?, file })
    });
    found.optional().map_err(|error| sqlite(path, error))
}

/// Notes a box, and the file it is read from if one is named; gives its number.
pub fn note(connection: &Connection, path: &Path, in_box: &NamedBox, file: Option<&str>) -> Result<i64, LogbookError> {
    let failed = |error| sqlite(path, error);
    let number = if let Some(known) = known(connection, path, &in_box.key)? {
        known.number
    } else {
        connection.execute("INSERT INTO box (name) VALUES (?1)", [&in_box.name]).map_err(failed)?;
        let number = connection.last_insert_rowid();
        add_key(connection, path, number, &in_box.key)?;
        number
    };
    let sql = "UPDATE box SET name = ?2, file = coalesce(?3, file)
               WHERE id = ?1 AND (name, file) IS NOT (?2, coalesce(?3, file))";
    connection.execute(sql, (number, &in_box.name, file)).map_err(failed)?;
    Ok(number)
}

/// Has a box known by one more key.
pub fn add_key(connection: &Connection, path: &Path, number: i64, key: &BoxKey) -> Result<(), LogbookError> {
    let sql = "INSERT INTO box_key (key, box) VALUES (?1, ?2)";
    connection.execute(sql, (key.as_str(), number)).map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Notes who has a box open.
pub fn note_claim(
    connection: &Connection,
    path: &Path,
    in_box: i64,
    claim: Option<&ClaimRow>,
) -> Result<(), LogbookError> {
    let done = match claim {
        None => connection.execute("DELETE FROM claim WHERE box = ?1", [in_box]),
        Some(ClaimRow { process, host, since, exam }) => {
            let sql = "INSERT INTO claim (box, process, host, since, exam) VALUES (?1, ?2, ?3, ?4, ?5)
                       ON CONFLICT (box) DO UPDATE SET
                       process = excluded.process, host = excluded.host, since = excluded.since, exam = excluded.exam";
            connection.execute(sql, (in_box, process, host, since, exam.map(|exam| exam.0)))
        }
    };
    done.map(|_| ()).map_err(|error| sqlite(path, error))
}

/// Who noted that a box is open.
pub fn claim(connection: &Connection, path: &Path, in_box: i64) -> Result<Option<ClaimRow>, LogbookError> {
    let sql = "SELECT process, host, since, exam FROM claim WHERE box = ?1";
    let noted = connection.query_row(sql, [in_box], |row| {
        let exam: Option<i64> = row.get(3)?;
        Ok(ClaimRow { process: row.get(0)?, host: row.get(1)?, since: row.get(2)?, exam: exam.map(ExamNumber) })
    });
    noted.optional().map_err(|error| sqlite(path, error))
}

/// Every key that a box ever had.
pub fn keys(connection: &Connection, path: &Path, key: &BoxKey) -> Result<Vec<BoxKey>, LogbookError> {
    let failed = |error| sqlite(path, error);
    let sql =
        "SELECT alias.key FROM box_key AS alias JOIN box_key AS named ON named.box = alias.box WHERE named.key = ?1";
    let mut select = connection.prepare_cached(sql).map_err(failed)?;
    let rows = select.query_map([key.as_str()], |row| row.get(0).map(BoxKey::kept));
    rows.and_then(Iterator::collect).map_err(failed)
}

/// Every box that is known, with the key that it was given last.
pub fn all(connection: &Connection, path: &Path) -> Result<Vec<(BoxKey, BoxRow)>, LogbookError> {
    let failed = |error| sqlite(path, error);
    // `id:` stands before `name:` in their order
    let sql = "SELECT id, name, file, min(key) FROM box JOIN box_key ON box.id = box_key.box GROUP BY id ORDER BY id";
    let mut select = connection.prepare_cached(sql).map_err(failed)?;
    let rows = select.query_map([], |row| {
        let file = row.get::<_, Option<String>>(2)?.map(PathBuf::from);
        Ok((BoxKey::kept(row.get(3)?), BoxRow { number: row.get(0)?, name: row.get(1)?, file }))
    });
    rows.and_then(Iterator::collect).map_err(failed)
}

/// The stock-take of a box that is in progress: its state, and when that was kept.
pub fn stock_take(
    connection: &Connection,
    path: &Path,
    key: &BoxKey,
) -> Result<Option<(String, String)>, LogbookError> {
    let failed = |error| sqlite(path, error);
    if !schema::has_table(connection, "stock_take").map_err(failed)? {
        return Ok(None);
    }
    let sql = "SELECT state, at FROM stock_take JOIN box_key ON box_key.box = stock_take.box WHERE key = ?1";
    let found = connection.query_row(sql, [key.as_str()], |row| Ok((row.get(0)?, row.get(1)?)));
    found.optional().map_err(failed)
}

/// Keeps the stock-take of a box in place of what was kept of it before, or removes it.
pub fn keep_stock_take(
    connection: &Connection,
    path: &Path,
    in_box: i64,
    state: Option<&str>,
    at: &str,
) -> Result<(), LogbookError> {
    let done = match state {
        None => connection.execute("DELETE FROM stock_take WHERE box = ?1", [in_box]),
        Some(state) => {
            let sql = "INSERT INTO stock_take (box, at, state) VALUES (?1, ?2, ?3)
                       ON CONFLICT (box) DO UPDATE SET at = excluded.at, state = excluded.state";
            connection.execute(sql, (in_box, at, state))
        }
    };
    done.map(|_| ()).map_err(|error| sqlite(path, error))
}
