//! Who wrote an entry, and how far one writer's entries are known.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// The identity under which a logbook numbers what it writes; a copy of the file goes on under one of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct WriterId(Uuid);

impl WriterId {
    /// The writer with this identity.
    pub fn new(id: Uuid) -> Self {
        Self(id)
    }

    /// Its identity.
    pub fn uuid(self) -> Uuid {
        self.0
    }
}

impl fmt::Display for WriterId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// One entry by who wrote it and its number there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct EntryRef {
    /// Who wrote it.
    pub writer: WriterId,
    /// Its number among the entries of that writer.
    pub number: i64,
}

/// For each writer the number of its last entry that is known: what comes after it is new, whatever any clock says.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Heads(BTreeMap<WriterId, i64>);

impl Heads {
    /// Notes that an entry is known.
    pub fn learn(&mut self, writer: WriterId, number: i64) {
        let last = self.0.entry(writer).or_insert(number);
        *last = number.max(*last);
    }

    /// Whether an entry is known.
    pub fn know(&self, writer: WriterId, number: i64) -> bool {
        self.0.get(&writer).is_some_and(|last| number <= *last)
    }

    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Each writer with the number of its last known entry.
    pub fn iter(&self) -> impl Iterator<Item = (WriterId, i64)> {
        self.0.iter().map(|(writer, number)| (*writer, *number))
    }
}
