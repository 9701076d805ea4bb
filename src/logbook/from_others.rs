//! What was read from other seats about one's own boxes: a box of theirs is one's own where both files have the same `id`.

use std::collections::{HashMap, HashSet};

use super::error::LogbookError;
use super::happened::{EntriesRead, StoredBoxEntry};
use super::names::BoxKey;
use super::parcels::others::others_of;
use super::store::Logbook;
use crate::sharing::{SeatName, WriterId};

/// An entry of another seat about a box.
#[derive(Debug, Clone, PartialEq)]
pub struct FromSeat {
    /// The seat.
    pub seat: SeatName,
    /// The entry; it has no place among those of this logbook.
    pub stored: StoredBoxEntry,
}

/// What other seats say of a box.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FromOthers {
    /// What this seat is called, if it has a name.
    pub own_seat: Option<SeatName>,
    /// Their entries, by seat, each in the order of its numbers.
    pub entries: Vec<FromSeat>,
    /// What of them cannot be read: made by a newer program, or altered.
    pub unread: Vec<String>,
}

impl Logbook {
    /// What was read from other seats about a box that is known by these keys. What cannot be read keeps nobody from the box.
    pub(super) fn what_others_noted(&self, keys: &HashSet<BoxKey>, box_name: &str) -> Result<FromOthers, LogbookError> {
        let own_seat = self.engine.me()?.and_then(|me| SeatName::new(&me.seat).ok());
        let nothing = |unread: Vec<String>| FromOthers { own_seat: own_seat.clone(), unread, ..FromOthers::default() };
        let mut ids: Vec<&BoxKey> = keys.iter().filter(|key| key.is_id()).collect();
        ids.sort();
        let path = others_of(self.path());
        if ids.is_empty() || path == self.path() {
            return Ok(nothing(Vec::new()));
        }
        let others = match Self::open_read_only(&path) {
            Ok(others) => others,
            Err(error) if error.is_not_begun() => return Ok(nothing(Vec::new())),
            Err(error) => return Ok(nothing(vec![error.to_string()])),
        };
        match others.told_about(&ids, box_name) {
            Ok((entries, unread)) => Ok(FromOthers { own_seat, entries, unread }),
            Err(error) => Ok(nothing(vec![error.to_string()])),
        }
    }

    /// Of a logbook of what others wrote, what is about a box with one of these keys.
    fn told_about(&self, ids: &[&BoxKey], box_name: &str) -> Result<(Vec<FromSeat>, Vec<String>), LogbookError> {
        let seats: HashMap<WriterId, SeatName> = self
            .engine
            .writers()?
            .into_iter()
            .filter_map(|writer| Some((writer.id, SeatName::new(&writer.seat).ok()?)))
            .collect();
        let (mut entries, mut unread) = (Vec::new(), Vec::new());
        for id in ids {
            let keys = HashSet::from([(*id).clone()]);
            let read = EntriesRead::of(self.path(), box_name, keys, self.engine.entries_about(id)?);
            unread.extend(read.unread.iter().map(ToString::to_string));
            entries.extend(read.entries.all.into_iter().filter_map(|stored| {
                let seat = seats.get(&stored.entry.writer)?.clone();
                Some(FromSeat { seat, stored: StoredBoxEntry { place: 0, ..stored } })
            }));
        }
        entries.sort_by(|one, other| (&one.seat, one.stored.entry).cmp(&(&other.seat, other.stored.entry)));
        Ok((entries, unread))
    }
}
