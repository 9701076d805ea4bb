//! Answers to drills: entries of their own about one who learns, in no list of exams or people and in no export.

use std::collections::HashMap;
use std::path::Path;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::engine::{EntryRow, NewEntry};
use super::error::LogbookError;
use super::exams::new_id;
use super::names::SittingId;
use super::row::{self, Stored};
use super::store::Logbook;
use crate::practice::drills::progress::Sitting;
use crate::practice::drills::{Answered, Progress};
use crate::sharing::EntryKind;

/// What one entry says of a sitting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DrillEntry {
    /// An item was answered.
    Answered(Answered),
}

/// What the logbook has of drills.
#[derive(Debug, Default)]
pub struct Drilled {
    /// The sittings, in the order in which they began.
    pub sittings: Vec<Sitting>,
    /// What the logbook says to entries that cannot be read; the sittings stand without them.
    pub unread: Vec<LogbookError>,
}

impl Drilled {
    /// What is known of each skill by now.
    pub fn progress(&self) -> Progress {
        Progress::of(&self.sittings)
    }
}

const WHAT: &str = "this answer to a drill";

impl Logbook {
    /// The identity of a sitting that begins; nothing is kept before its first answer.
    pub fn begin_sitting(at: Timestamp) -> SittingId {
        SittingId::new(new_id(at).uuid())
    }

    /// Keeps an answer of a sitting.
    ///
    /// # Errors
    /// When it cannot be written; nothing is kept then.
    pub fn note_answer(
        &mut self,
        sitting: SittingId,
        answered: &Answered,
        by: Option<&str>,
        at: Timestamp,
    ) -> Result<(), LogbookError> {
        let stored = Stored::encode(&DrillEntry::Answered(answered.clone()), WHAT)?;
        self.engine.add_drill_entry(NewEntry::of(EntryKind::Drill, sitting.uuid().as_bytes(), &stored, by, at, WHAT)?)
    }

    /// Everything that was drilled.
    ///
    /// # Errors
    /// When the file cannot be read. A single entry that cannot is passed over and named.
    pub fn drilled(&self) -> Result<Drilled, LogbookError> {
        let mut drilled = Drilled::default();
        let mut places: HashMap<Vec<u8>, usize> = HashMap::new();
        for row in self.engine.drill_entries()? {
            match row.and_then(|row| read(self.path(), &row)) {
                Ok((about, at, DrillEntry::Answered(answered))) => {
                    if let Some(&place) = places.get(&about) {
                        drilled.sittings[place].add(&answered, at);
                    } else {
                        places.insert(about, drilled.sittings.len());
                        drilled.sittings.push(Sitting::begin(&answered, at));
                    }
                }
                Err(why) => drilled.unread.push(why),
            }
        }
        Ok(drilled)
    }
}

/// An entry: about which sitting, when, and what it says.
fn read(path: &Path, row: &EntryRow) -> Result<(Vec<u8>, Timestamp, DrillEntry), LogbookError> {
    let what = format!("entry {} about a drill", row.sealed.number);
    let at = row::time(path, &what, &row.sealed.entry.at)?;
    let body = row.stored(path, &what)?.decode(path, &what)?;
    Ok((row.sealed.entry.about.clone(), at, body))
}
