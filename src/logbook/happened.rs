//! What is noted of a box in one go, as it is kept and as it is read back.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::engine::{EntryOf, EntryRow};
use super::error::LogbookError;
use super::names::BoxKey;
use super::row::{self, Stored};
use crate::kit::stock_take::LensCounted;
use crate::kit::{BoxChange, Further, Piece, Place, StockedPiece};
use crate::sharing::{Heads, SeatName, WriterId};

pub use crate::sharing::EntryRef;

/// The form of a body that is one change alone.
const ONE_CHANGE: i64 = 1;
/// The form of a body that is a [`BoxEntry`], which is written now.
const WHOLE_ENTRY: i64 = 2;

/// What one entry says of a box: all of it happened, or it is not there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BoxEntry {
    /// Changes of pieces.
    Happened {
        /// What happened, in this order.
        changes: Vec<BoxChange>,
        /// What is to be remembered of it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// The end of a stock-take.
    Counted {
        /// What was found to have happened.
        changes: Vec<BoxChange>,
        /// What was there of each lens.
        count: Vec<LensCounted>,
        /// What is to be remembered of it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// An earlier entry was a slip.
    Undone {
        /// The entry.
        entry: EntryRef,
        /// The pieces that it was about, as they are without it.
        back: Vec<StockedPiece>,
        /// What is to be remembered of it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// The box goes out to a seat, which alone changes it until it is handed back.
    HandedOver {
        /// The seat; none where it is handed back.
        to: Option<SeatName>,
        /// What is to be remembered of it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
}

impl BoxEntry {
    /// Its changes; none where it takes back another.
    pub fn changes(&self) -> &[BoxChange] {
        match self {
            Self::Happened { changes, .. } | Self::Counted { changes, .. } => changes,
            Self::Undone { .. } | Self::HandedOver { .. } => &[],
        }
    }

    /// What is to be remembered of it.
    pub fn note(&self) -> Option<&str> {
        match self {
            Self::Happened { note, .. }
            | Self::Counted { note, .. }
            | Self::Undone { note, .. }
            | Self::HandedOver { note, .. } => note.as_deref(),
        }
    }

    /// The entry that it takes back.
    pub fn takes_back(&self) -> Option<EntryRef> {
        match self {
            Self::Undone { entry, .. } => Some(*entry),
            Self::Happened { .. } | Self::Counted { .. } | Self::HandedOver { .. } => None,
        }
    }

    /// To whom it hands the box over, if it does; to nobody where it hands it back.
    pub fn hands_over(&self) -> Option<Option<&SeatName>> {
        match self {
            Self::HandedOver { to, .. } => Some(to.as_ref()),
            Self::Happened { .. } | Self::Counted { .. } | Self::Undone { .. } => None,
        }
    }

    /// What a stock-take found of each lens.
    pub fn count(&self) -> Option<&[LensCounted]> {
        match self {
            Self::Counted { count, .. } => Some(count),
            Self::Happened { .. } | Self::Undone { .. } | Self::HandedOver { .. } => None,
        }
    }

    /// As a row holds it.
    pub(super) fn encode(&self, what: &str) -> Result<Stored, LogbookError> {
        let Stored { text, .. } = Stored::encode(self, what)?;
        Ok(Stored { format: WHOLE_ENTRY, text })
    }

    fn decode(stored: &Stored, path: &Path, what: &str) -> Result<Self, LogbookError> {
        match stored.format {
            ONE_CHANGE => Ok(Self::Happened { changes: vec![stored.decode(path, what)?], note: None }),
            WHOLE_ENTRY => Stored { format: row::FORMAT, text: stored.text.clone() }.decode(path, what),
            other => {
                let reason = format!("it has row form {other}, and this program knows forms up to {WHOLE_ENTRY}");
                Err(LogbookError::unreadable(path, what, reason))
            }
        }
    }
}

/// An entry about a box as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredBoxEntry {
    /// Its place among the entries about this box in this logbook, from 1.
    pub place: i64,
    /// Who wrote it, and its number there.
    pub entry: EntryRef,
    /// When. Nothing is ordered by it.
    pub at: Timestamp,
    /// Who noted it, if that was said.
    pub by: Option<String>,
    /// The box in which it was noted: another one where a piece came from there.
    pub about: BoxKey,
    /// What its writer knew of the same pieces, beside all that the writer wrote before.
    pub after: Heads,
    /// What it says.
    pub body: BoxEntry,
}

/// One change of a box as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredBoxChange {
    /// The place of its entry among those about this box in this logbook, from 1.
    pub place: i64,
    /// Who wrote it.
    pub writer: WriterId,
    /// The number of its entry among those of that writer.
    pub number: i64,
    /// When. Nothing is ordered by it.
    pub at: Timestamp,
    /// What happened to this box.
    pub change: BoxChange,
}

/// All entries about one box, in the order in which they came here, and the keys by which it is known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BoxEntries {
    pub(super) keys: HashSet<BoxKey>,
    /// Those that can be read.
    pub all: Vec<StoredBoxEntry>,
    slips: HashMap<EntryRef, usize>,
}

impl BoxEntries {
    pub(super) fn of(keys: HashSet<BoxKey>, all: Vec<StoredBoxEntry>) -> Self {
        let slips = all.iter().enumerate().filter_map(|(at, stored)| Some((stored.body.takes_back()?, at))).collect();
        Self { keys, all, slips }
    }

    /// The entry that took this one back.
    pub fn taken_back_by(&self, entry: EntryRef) -> Option<&StoredBoxEntry> {
        self.slips.get(&entry).map(|at| &self.all[*at])
    }

    /// Whether an entry was noted in this box, and not in one from which a piece came.
    pub fn is_noted_here(&self, stored: &StoredBoxEntry) -> bool {
        self.keys.contains(&stored.about)
    }

    /// What an entry did to this box, whether or not it was taken back: a piece that came over from another box is a further
    /// piece here.
    pub fn changes_of(&self, stored: &StoredBoxEntry) -> Vec<BoxChange> {
        if self.is_noted_here(stored) {
            return stored.body.changes().to_vec();
        }
        let here = |to: &str| self.keys.iter().any(|key| key.as_str() == to);
        let comes_here = |change: &&BoxChange| change.moves_to().is_some_and(|(to, _)| here(to));
        stored.body.changes().iter().filter(comes_here).flat_map(BoxChange::arrives_as).collect()
    }

    /// What an entry did to this box, of whichever seat it is.
    pub(super) fn changes_in(&self, stored: &StoredBoxEntry) -> Vec<BoxChange> {
        let is_own = self.all.iter().any(|own| own.entry == stored.entry);
        if is_own { self.changes_of(stored) } else { stored.body.changes().to_vec() }
    }

    /// What was done to this box and not taken back, in the order in which it came here.
    pub fn standing_changes(&self) -> impl Iterator<Item = BoxChange> + '_ {
        let standing = self.all.iter().filter(|stored| self.taken_back_by(stored.entry).is_none());
        standing.flat_map(|stored| self.changes_of(stored))
    }

    /// The changes of an entry one by one.
    pub(super) fn flat<'a>(&'a self, stored: &'a StoredBoxEntry) -> impl Iterator<Item = StoredBoxChange> + 'a {
        let StoredBoxEntry { place, entry: EntryRef { writer, number }, at, .. } = stored;
        let one = |change| StoredBoxChange { place: *place, writer: *writer, number: *number, at: *at, change };
        self.changes_of(stored).into_iter().map(one)
    }

    /// The pieces of this box as they are without an entry that was taken back.
    pub(super) fn back(&self, undoing: &StoredBoxEntry) -> Vec<StockedPiece> {
        let BoxEntry::Undone { entry, back, .. } = &undoing.body else { return Vec::new() };
        if self.is_noted_here(undoing) {
            return back.clone();
        }
        let slip = self.all.iter().find(|stored| stored.entry == *entry);
        let came = slip.map(|stored| self.changes_of(stored)).unwrap_or_default();
        came.iter().filter_map(BoxChange::added).filter_map(Further::piece).map(never_came).collect()
    }

    /// The highest number that any entry ever named among the pieces of a lens.
    pub(super) fn highest_number(&self, lens: &crate::kit::Lens) -> u8 {
        let changes = self.all.iter().flat_map(|stored| self.changes_of(stored));
        let of_lens = changes.flat_map(|change| change.pieces()).filter(|piece| piece.lens == *lens);
        of_lens.map(|piece| piece.number).max().unwrap_or(0)
    }
}

/// What an entry about a box says where the entries that it may take back have other numbers; none where it takes none back.
pub(super) fn with_other_numbers(
    row: &EntryRow,
    path: &Path,
    what: &str,
    number: impl Fn(EntryRef) -> EntryRef,
) -> Result<Option<Stored>, LogbookError> {
    match BoxEntry::decode(&row.stored(path, what)?, path, what)? {
        BoxEntry::Undone { entry, back, note } => {
            BoxEntry::Undone { entry: number(entry), back, note }.encode(what).map(Some)
        }
        BoxEntry::Happened { .. } | BoxEntry::Counted { .. } | BoxEntry::HandedOver { .. } => Ok(None),
    }
}

/// A piece whose coming was a slip.
pub(super) fn never_came(piece: Piece) -> StockedPiece {
    StockedPiece { piece, place: Place::Retired, damaged: false, measured: None }
}

/// What can be read of the rows about a box, and what the logbook says to the others.
pub(super) struct EntriesRead {
    pub(super) entries: BoxEntries,
    pub(super) unread: Vec<LogbookError>,
}

impl EntriesRead {
    pub(super) fn of(path: &Path, box_name: &str, keys: HashSet<BoxKey>, rows: Vec<EntryOf>) -> Self {
        let (mut all, mut unread) = (Vec::new(), Vec::new());
        for (place, row) in (1..).zip(rows) {
            match row.and_then(|row| read(path, box_name, place, &row)) {
                Ok(stored) => all.push(stored),
                Err(why) => unread.push(why),
            }
        }
        Self { entries: BoxEntries::of(keys, all), unread }
    }
}

fn read(path: &Path, box_name: &str, place: i64, row: &EntryRow) -> Result<StoredBoxEntry, LogbookError> {
    let what = format!("change {place} of the box {box_name}");
    let at = row::time(path, &what, &row.sealed.entry.at)?;
    let body = BoxEntry::decode(&row.stored(path, &what)?, path, &what)?;
    let about = String::from_utf8(row.sealed.entry.about.clone())
        .map_err(|error| LogbookError::unreadable(path, &what, error.to_string()))?;
    let entry = EntryRef { writer: row.sealed.writer, number: row.sealed.number };
    let by = row.sealed.entry.by.clone();
    // what cannot be read there names nothing
    let after = row.sealed.entry.after.as_deref().and_then(|after| serde_json::from_str(after).ok());
    let after = after.unwrap_or_default();
    Ok(StoredBoxEntry { place, entry, at, by, about: BoxKey::kept(about), after, body })
}
