//! What happened to the pieces of a box.

use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::applied::applied_in;
use super::engine::{EntryOf, NewEntry};
use super::error::LogbookError;
use super::files::text_of;
use super::names::{BoxKey, NamedBox};
use super::row::{self, Stored};
use super::store::Logbook;
use crate::kit::{BoxChange, DeclaredBox, Stock, StockError};
use crate::sharing::body::deflate;
use crate::sharing::{Entry, EntryKind, Hash, Heads, WriterId};

/// A change of a box as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredBoxChange {
    /// Its place among the changes of this box in this logbook, from 1.
    pub place: i64,
    /// Who wrote it.
    pub writer: WriterId,
    /// Its number among the entries of that writer.
    pub number: i64,
    /// When. Nothing is ordered by it.
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
    /// Why changes cannot be read: made by a newer program, or altered. The others were applied.
    pub unread: Vec<String>,
    /// The last changes that were looked at, those refused among them.
    pub applied: Heads,
}

impl StockOnRecord {
    fn of(declared: &DeclaredBox, changes: ChangesRead) -> Self {
        let (refused, unread) = (Vec::new(), changes.unread.iter().map(ToString::to_string).collect());
        let mut on_record = Self { stock: Stock::of(declared), refused, unread, applied: Heads::default() };
        for stored in changes.read {
            on_record.applied.learn(stored.writer, stored.number);
            if let Err(why) = on_record.stock.change(&stored.change) {
                on_record.refused.push(RefusedChange { stored, why });
            }
        }
        on_record
    }
}

/// What happened to a box since an exam began.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangesSince {
    /// The changes, in the order in which they came here.
    pub later: Vec<StoredBoxChange>,
    /// The last changes of all, with which the next exam begins.
    pub all: Heads,
}

/// Another file with the `id` of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SameId {
    /// The `id`.
    pub key: BoxKey,
    /// The file that had it last, which is still there.
    pub file: PathBuf,
    /// What the box was called there.
    pub name: String,
}

impl Logbook {
    /// The box as declared, with what happened to it since. A change that does not fit the declared box, or cannot be
    /// read, keeps nobody from the box: it is reported in [`StockOnRecord::refused`] or [`StockOnRecord::unread`].
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn stock_of(&self, key: &BoxKey, declared: &DeclaredBox) -> Result<StockOnRecord, LogbookError> {
        Ok(StockOnRecord::of(declared, self.changes_read(key)?))
    }

    fn changes_read(&self, key: &BoxKey) -> Result<ChangesRead, LogbookError> {
        Ok(read_changes(self.path(), &self.box_name(key)?, self.engine.box_changes(key)?))
    }

    /// Adds one change, checked against the box as it stands in this moment, and returns the box after it.
    ///
    /// # Errors
    /// When the box refuses the change, or it cannot be written; nothing is added then.
    pub fn change_box(
        &mut self,
        in_box: &NamedBox,
        declared: &DeclaredBox,
        change: &BoxChange,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<StockOnRecord, LogbookError> {
        let what = "this change of the box";
        let Stored { format, text } = Stored::encode(change, what)?;
        let not_storable = |reason: String| LogbookError::NotStorable { what: what.to_owned(), reason };
        let body = deflate(text.as_bytes()).map_err(|error| not_storable(error.to_string()))?;
        let path = self.path().to_owned();
        let mut on_record = None;
        self.engine.add_box_change(in_box, &mut |before| {
            let changes = read_changes(&path, &in_box.name, before);
            let after = known_of_piece(&changes.read, change);
            let after = after.map(|heads| serde_json::to_string(&heads)).transpose();
            let mut now = StockOnRecord::of(declared, changes);
            now.stock.change(change)?;
            on_record = Some(now);
            let entry = Entry {
                kind: EntryKind::BoxChange,
                about: in_box.key.as_str().as_bytes().to_vec(),
                by: by.map(str::to_owned),
                at: at.to_string(),
                after: after.map_err(|error| not_storable(error.to_string()))?,
                format,
                body_hash: Hash::of(text.as_bytes()),
            };
            Ok(NewEntry { entry, body: body.clone() })
        })?;
        on_record.ok_or_else(|| not_storable("it was not looked at".to_owned()))
    }

    /// Everything that happened to a box, in the order in which it came here.
    ///
    /// # Errors
    /// When a change cannot be read.
    pub fn box_changes(&self, key: &BoxKey) -> Result<Vec<StoredBoxChange>, LogbookError> {
        let mut changes = self.changes_read(key)?;
        if changes.unread.is_empty() { Ok(changes.read) } else { Err(changes.unread.remove(0)) }
    }

    /// What happened to a box beyond the changes that an exam began with, by their numbers, whatever any clock says.
    ///
    /// Where it was not noted with which, it is found from the box as it was: a piece is as the last change of it left it.
    ///
    /// A change that cannot be read is passed over.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn changes_since(
        &self,
        key: &BoxKey,
        applied: Option<&Heads>,
        stock: &Stock,
    ) -> Result<ChangesSince, LogbookError> {
        let changes = self.changes_read(key)?.read;
        let mut all = Heads::default();
        for change in &changes {
            all.learn(change.writer, change.number);
        }
        let later = if let Some(known) = applied {
            changes.into_iter().filter(|change| !known.know(change.writer, change.number)).collect()
        } else {
            let there = applied_in(stock, changes.iter().map(|change| &change.change));
            changes.into_iter().skip(there).collect()
        };
        Ok(ChangesSince { later, all })
    }

    /// What a box was last called, or its key when it is not known.
    fn box_name(&self, key: &BoxKey) -> Result<String, LogbookError> {
        Ok(self.engine.known_box(key)?.map_or_else(|| key.to_string(), |known| known.name))
    }

    /// Whether the logbook knows a box by this key.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn knows_box(&self, key: &BoxKey) -> Result<bool, LogbookError> {
        Ok(self.engine.known_box(key)?.is_some())
    }

    /// Whether two keys stand for one box.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_same_box(&self, one: &BoxKey, other: &BoxKey) -> Result<bool, LogbookError> {
        let number = |key| Ok::<_, LogbookError>(self.engine.known_box(key)?.map(|known| known.number));
        Ok(one == other || number(one)?.is_some() && number(one)? == number(other)?)
    }

    /// The file that a box was last read from.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn box_file(&self, key: &BoxKey) -> Result<Option<PathBuf>, LogbookError> {
        Ok(self.engine.known_box(key)?.and_then(|known| known.file))
    }

    /// Notes the file, by its absolute path, that a box is read from. When the box has an `id` and another file that is
    /// still there had it last, that is reported: the two are one box to the logbook.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn note_box_file(&mut self, in_box: &NamedBox, file: &Path) -> Result<Option<SameId>, LogbookError> {
        let before = self.engine.known_box(&in_box.key)?;
        self.engine.note_box(in_box, Some(text_of(file)?))?;
        let other = before.filter(|_| in_box.key.is_id()).and_then(|before| {
            let other = before.file.filter(|other| other != file && other.exists())?;
            Some(SameId { key: in_box.key.clone(), file: other, name: before.name })
        });
        Ok(other)
    }

    /// Carries what is known under a box's name over to the `id` that its file now has; ask first. Nothing is done when
    /// nothing is known under the name.
    ///
    /// # Errors
    /// [`LogbookError::BothBoxesKnown`] when the `id` already stands for another box: they are never made one.
    pub fn adopt_box(&mut self, name: &BoxKey, id: &BoxKey) -> Result<(), LogbookError> {
        let known = (self.engine.known_box(name)?, self.engine.known_box(id)?);
        match known {
            (None, _) => Ok(()),
            (Some(known), None) => self.engine.add_key(known.number, id),
            (Some(by_name), Some(by_id)) if by_name.number == by_id.number => Ok(()),
            (Some(_), Some(_)) => Err(LogbookError::BothBoxesKnown { id: id.clone(), name: name.clone() }),
        }
    }
}

/// The changes of a box that can be read, and what the logbook says to the others.
struct ChangesRead {
    read: Vec<StoredBoxChange>,
    unread: Vec<LogbookError>,
}

fn read_changes(path: &Path, box_name: &str, rows: Vec<EntryOf>) -> ChangesRead {
    let read = |(place, row): (i64, EntryOf)| {
        let (what, row) = (format!("change {place} of the box {box_name}"), row?);
        let at = row::time(path, &what, &row.sealed.entry.at)?;
        let change = row.stored(path, &what)?.decode(path, &what)?;
        Ok(StoredBoxChange { place, writer: row.sealed.writer, number: row.sealed.number, at, change })
    };
    let mut changes = ChangesRead { read: Vec::new(), unread: Vec::new() };
    for change in (1..).zip(rows).map(read) {
        match change {
            Ok(change) => changes.read.push(change),
            Err(why) => changes.unread.push(why),
        }
    }
    changes
}

/// The last change of the same piece that is known here; `None` where there is none, and for a piece that is new.
fn known_of_piece(changes: &[StoredBoxChange], change: &BoxChange) -> Option<Heads> {
    let piece = change.piece()?;
    let last = changes.iter().rfind(|earlier| earlier.change.piece() == Some(piece))?;
    let mut heads = Heads::default();
    heads.learn(last.writer, last.number);
    Some(heads)
}
