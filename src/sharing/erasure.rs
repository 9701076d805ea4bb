//! An exam that was erased: what is left to be said of it, at every seat.

use std::fmt;

use uuid::Uuid;

/// An exam whose content two people of a room had erased for good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erasure {
    /// The identity of the exam.
    pub exam: Uuid,
    /// The seat that it was made at.
    pub seat: String,
    /// By which number it is spoken of there.
    pub number: i64,
    /// Its place among all that were erased in the room, from 1.
    pub place: i64,
    /// When the exam was closed, RFC 3339.
    pub closed: String,
    /// Why it was erased, as it was said.
    pub why: String,
    /// The login that asked for it.
    pub asked_by: String,
    /// The login that agreed.
    pub agreed_by: String,
    /// When it agreed, RFC 3339, by the clock of the room.
    pub agreed: String,
}

impl Erasure {
    /// The day on which it was agreed to, `2026-11-27`.
    pub fn day(&self) -> &str {
        self.agreed.split('T').next().unwrap_or_default()
    }
}

/// In words: `complaint of the person (asked for by office, agreed to by lane3, 2026-11-27)`.
impl fmt::Display for Erasure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { why, asked_by, agreed_by, .. } = self;
        write!(f, "{why} (asked for by {asked_by}, agreed to by {agreed_by}, {})", self.day())
    }
}

/// How far a logbook knows what was erased in a room: how many, and the last of them. A room that was put back from a backup shows
/// by it too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ErasuresKnown {
    /// How many.
    pub count: i64,
    /// The last one, by the place that the room gave it.
    pub last: Option<Uuid>,
}

impl ErasuresKnown {
    /// Of those that are known.
    pub fn of(all: &[Erasure]) -> Self {
        let last = all.iter().max_by_key(|erasure| erasure.place).map(|erasure| erasure.exam);
        Self { count: i64::try_from(all.len()).unwrap_or(i64::MAX), last }
    }
}
