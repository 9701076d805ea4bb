//! What happened to the pieces of a box.

use std::path::Path;

use jiff::Timestamp;
use rusqlite::Connection;

use super::error::LogbookError;
use super::row::{self, FORMAT, Stored, encode};
use super::store::Logbook;
use crate::kit::{BoxChange, DeclaredBox, Stock, StockError};

/// A change of a box as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredBoxChange {
    /// Its number among the changes of this box, from 1.
    pub number: i64,
    /// When.
    pub at: Timestamp,
    /// What happened.
    pub change: BoxChange,
}

/// A change that the box as its file declares it now does not allow.
#[derive(Debug, Clone, PartialEq)]
pub struct RefusedChange {
    /// The change; it stays in the logbook.
    pub stored: StoredBoxChange,
    /// Why it cannot be.
    pub why: StockError,
}

/// A box with everything the logbook knows of it.
#[derive(Debug, Clone, PartialEq)]
pub struct StockOnRecord {
    /// The declared box with the changes applied.
    pub stock: Stock,
    /// Changes that no longer fit, because the file of the box was edited since; the others were applied.
    pub refused: Vec<RefusedChange>,
}

impl StockOnRecord {
    fn of(declared: &DeclaredBox, changes: Vec<StoredBoxChange>) -> Self {
        let mut stock = Stock::of(declared);
        let mut refused = Vec::new();
        for stored in changes {
            if let Err(why) = stock.change(&stored.change) {
                refused.push(RefusedChange { stored, why });
            }
        }
        Self { stock, refused }
    }
}

impl Logbook {
    /// The box as declared, with what happened to it since.
    ///
    /// # Errors
    /// When a change cannot be read: better no box than one with lenses that are not there. A change that does not fit
    /// the declared box is no error, it is told in [`StockOnRecord::refused`].
    pub fn stock_of(&self, declared: &DeclaredBox) -> Result<StockOnRecord, LogbookError> {
        Ok(StockOnRecord::of(declared, self.box_changes(&declared.name)?))
    }

    /// Adds one change, checked against the box as it stands in this moment, and returns the box after it.
    ///
    /// # Errors
    /// When the box refuses the change, or it cannot be written; nothing is added then.
    pub fn change_box(
        &mut self,
        declared: &DeclaredBox,
        change: &BoxChange,
        at: Timestamp,
    ) -> Result<StockOnRecord, LogbookError> {
        let text = encode(change, "this change of the box")?;
        self.write(|transaction, path| {
            let mut on_record = StockOnRecord::of(declared, read_changes(transaction, path, &declared.name)?);
            on_record.stock.change(change)?;
            let in_box = box_id(transaction, path, &declared.name)?;
            let sql = "INSERT INTO box_change (box, number, at, format, change)
                       SELECT ?1, coalesce(max(number), 0) + 1, ?2, ?3, ?4 FROM box_change WHERE box = ?1";
            let done = transaction.execute(sql, (in_box, at.to_string(), FORMAT, text));
            done.map_err(|error| LogbookError::sqlite(path, error))?;
            Ok(on_record)
        })
    }

    /// Everything that happened to a box, oldest first.
    ///
    /// # Errors
    /// When a change cannot be read.
    pub fn box_changes(&self, box_name: &str) -> Result<Vec<StoredBoxChange>, LogbookError> {
        read_changes(&self.connection, self.path(), box_name)
    }
}

fn read_changes(connection: &Connection, path: &Path, box_name: &str) -> Result<Vec<StoredBoxChange>, LogbookError> {
    let failed = |error| LogbookError::sqlite(path, error);
    let sql = "SELECT number, at, format, change FROM box_change JOIN box ON box.id = box
               WHERE box.name = ?1 ORDER BY number";
    let mut rows = connection.prepare_cached(sql).map_err(failed)?;
    let rows = rows.query_map([box_name], |row| {
        let stored = Stored::from_row(row, "format", "change")?;
        Ok((row.get::<_, i64>("number")?, row.get::<_, String>("at")?, stored))
    });
    let mut changes = Vec::new();
    for row in rows.map_err(failed)? {
        let (number, at, stored) = row.map_err(failed)?;
        let what = format!("change {number} of the box {box_name}");
        let at = row::time(path, &what, &at)?;
        changes.push(StoredBoxChange { number, at, change: stored.decode(path, &what)? });
    }
    Ok(changes)
}

/// The row of a box, made when the logbook does not know the box yet.
pub(super) fn box_id(connection: &Connection, path: &Path, box_name: &str) -> Result<i64, LogbookError> {
    let known = "INSERT INTO box (name) VALUES (?1) ON CONFLICT (name) DO NOTHING";
    let id = connection
        .execute(known, [box_name])
        .and_then(|_| connection.query_row("SELECT id FROM box WHERE name = ?1", [box_name], |row| row.get(0)));
    id.map_err(|error| LogbookError::sqlite(path, error))
}
