//! The same entries that a parcel carries, handed over piece by piece: what a room is sent, and what came from one.

use std::collections::BTreeMap;
use std::path::Path;

use uuid::Uuid;

use super::again::written_again;
use super::error::ParcelError;
use super::others::others_of;
use super::read::{Parcel, body};
use super::signers::Trust;
use super::taking::{Reading, Taken, take_in};
use crate::logbook::beginning::box_state_of;
use crate::logbook::engine::{EntryRow, EntrySpan, ParcelRows};
use crate::logbook::row::Stored;
use crate::logbook::store::Logbook;
use crate::sharing::body::exam_rows;
use crate::sharing::{EntryKind, Hash, Heads, WriterId};

/// The last entry of a writer that is known: its number and hash.
pub type LastKnown = (WriterId, i64, Hash);

impl Logbook {
    /// The writer that this logbook is now, and by what its computer is known from another; not the system's own number.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn home(&self) -> Result<(WriterId, String), ParcelError> {
        Ok(self.engine.home()?)
    }

    /// Goes on under a writer of its own, as after a copy to another computer. What was written here after the number where this copy
    /// and another one parted is written again as that writer's; gives how many entries.
    ///
    /// # Errors
    /// When it cannot be read or written.
    pub fn go_on_as_another(&mut self, parted_after: Option<i64>) -> Result<usize, ParcelError> {
        let writer = WriterId::new(Uuid::new_v4());
        let parted = match parted_after {
            Some(after) => Some((self.engine.home()?.0, after)),
            None => None,
        };
        let again = match parted {
            Some(parted) => written_again(&self.engine.entries()?, self.engine.path(), parted, writer)?,
            None => Vec::new(),
        };
        self.engine.go_on_as(writer, parted, &again)?;
        Ok(again.len())
    }

    /// The last entry of each writer in this file that stands: what was written again under another one does not.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn last_entries(&self) -> Result<Vec<LastKnown>, ParcelError> {
        Ok(self.engine.last_entries()?)
    }

    /// The hash of an entry, if there is one of that number.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn hash_of(&self, writer: WriterId, number: i64) -> Result<Option<Hash>, ParcelError> {
        Ok(self.engine.hash_of(writer, number)?)
    }

    /// What this logbook wrote beyond what is known elsewhere, as parcels have it.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn rows_after(&self, known: &Heads) -> Result<ParcelRows, ParcelError> {
        Ok(self.engine.parcel_rows(known)?)
    }
}

/// The last entry of each other writer up to which all are known beside a logbook, which has these of its own.
///
/// # Errors
/// When the file of what was read cannot be read.
pub fn known_of_others(logbook: &Path, own: &BTreeMap<WriterId, i64>) -> Result<BTreeMap<WriterId, i64>, ParcelError> {
    let others = match Logbook::open_read_only(&others_of(logbook)) {
        Err(error) if error.is_missing() => return Ok(own.clone()),
        // filled now, so that nobody waits for it again
        Err(error) if error.is_not_begun() => Logbook::open(&others_of(logbook))?,
        opened => opened?,
    };
    let mut known = own.clone();
    for EntrySpan { writer, first, last: end, count } in others.engine.entry_spans()? {
        let last = known.entry(writer).or_default();
        if first <= *last + 1 && count == end - first + 1 {
            *last = end.max(*last);
            continue;
        }
        for number in others.engine.entry_numbers(writer)? {
            // behind a gap nothing counts: what is missing may have come to the room
            if number == *last + 1 {
                *last = number;
            }
        }
    }
    Ok(known)
}

/// The state of a box without which the exam of an entry cannot be read.
pub fn box_state_wanted(row: &EntryRow) -> Option<Hash> {
    if row.sealed.entry.kind != EntryKind::Exam {
        return None;
    }
    let text = String::from_utf8(body(row).ok()??).ok()?;
    let first = *exam_rows(&text)?.first().filter(|first| first.number == 0)?;
    state_wanted(&Stored { format: first.format, text: first.text.to_owned() })
}

/// The state of a box without which an exam that began so cannot be read.
pub fn state_wanted(opening: &Stored) -> Option<Hash> {
    box_state_of(opening)
}

/// Takes in what came from a room, where it is not known beside a logbook, as a parcel is. It is not signed: the room lets nobody in
/// who is not known to it, and takes from each only what follows that one's own entries.
///
/// # Errors
/// As [`take_in`].
pub fn take_in_rows(logbook: &Path, from: &Path, rows: ParcelRows) -> Result<Taken, ParcelError> {
    let parcel = Parcel::of_rows(from, rows)?;
    take_in(logbook, &[parcel], Reading { with_gap: false, only_say: false, trust: Trust::All })
}
