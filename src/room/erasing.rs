//! Erasing an exam for good, which takes two people of a room: what is asked for, and what every seat is told.

use std::path::Path;

use tokio_postgres::Row;
use uuid::Uuid;

use super::calls::knock;
use super::error::RoomError;
use super::hint::Hint;
use super::link::Link;
use super::times::rfc_3339;
use crate::logbook::erasing::{note_beside, noted_beside};
use crate::sharing::{Erasure, WriterId};

/// An exam of which somebody asked that it be erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AskedFor {
    /// The identity of the exam.
    pub exam: Uuid,
    /// The seat that it was made at.
    pub seat: String,
    /// By which number it is spoken of there.
    pub number: i64,
    /// Who examined, if that was said.
    pub by: Option<String>,
    /// When it was closed, RFC 3339.
    pub closed: String,
    /// Why it is to be erased.
    pub why: String,
    /// The login that asked.
    pub asked_by: String,
    /// When, RFC 3339, by the clock of the room.
    pub asked: String,
    /// Who agreed; none while nobody did.
    pub agreed: Option<Agreed>,
}

/// That somebody agreed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Agreed {
    /// The login.
    pub by: String,
    /// When, RFC 3339, by the clock of the room.
    pub at: String,
    /// The place of the exam among all that were erased in the room, from 1.
    pub place: i64,
}

/// The columns of an erasure in the room.
const COLUMNS: &str = "exam, seat, number, \"by\", closed, why, asked_by, asked, agreed_by, agreed, place";

impl AskedFor {
    fn of(row: &Row) -> Self {
        let time = |at_s| rfc_3339(at_s).unwrap_or_default();
        let agreed = row.get::<_, Option<String>>(8).zip(row.get(9)).zip(row.get(10));
        Self {
            exam: row.get(0),
            seat: row.get(1),
            number: row.get(2),
            by: row.get(3),
            closed: row.get(4),
            why: row.get(5),
            asked_by: row.get(6),
            asked: time(row.get(7)),
            agreed: agreed.map(|((by, at_s), place)| Agreed { by, at: time(at_s), place }),
        }
    }

    /// What is left of the exam, once somebody agreed.
    fn erasure(self) -> Option<Erasure> {
        let Self { exam, seat, number, closed, why, asked_by, agreed, .. } = self;
        let Agreed { by, at, place } = agreed?;
        Some(Erasure { exam, seat, number, place, closed, why, asked_by, agreed_by: by, agreed: at })
    }
}

/// Asks that an exam be erased; nothing is, before another login agrees.
///
/// # Errors
/// When the login is no keeper's, there is no such exam or no reason, or somebody asked before.
pub fn ask(link: &Link, home: WriterId, seat: &str, number: i64, why: &str) -> Result<(), RoomError> {
    link.call("SELECT room.erase_ask($1, $2, $3, $4)", &[&home.uuid(), &seat, &number, &why])?;
    knock(link, Hint::Entries)
}

/// Agrees that an exam be erased, and has it erased in the room.
///
/// # Errors
/// When nobody asked, or this login did, or it may not.
pub fn agree(link: &Link, home: WriterId, exam: Uuid) -> Result<(), RoomError> {
    link.call("SELECT room.erase_agree($1, $2)", &[&home.uuid(), &exam])?;
    knock(link, Hint::Entries)
}

/// Takes back what this login asked for, while nobody agreed.
///
/// # Errors
/// When nobody asked, or another login did.
pub fn take_back(link: &Link, home: WriterId, exam: Uuid) -> Result<(), RoomError> {
    link.call("SELECT room.erase_take_back($1, $2)", &[&home.uuid(), &exam])?;
    knock(link, Hint::Entries)
}

/// What was asked for, and of that what was erased.
///
/// # Errors
/// As [`Link::call`].
pub fn erasures(link: &Link) -> Result<Vec<AskedFor>, RoomError> {
    let rows = link.call(&format!("SELECT {COLUMNS} FROM room.erasures()"), &[])?;
    Ok(rows.iter().map(AskedFor::of).collect())
}

/// Notes beside a logbook what was erased in the room since it was noted last, and takes it away there. The logbook itself is left to
/// the program that has it.
///
/// # Errors
/// When the room is away or refuses, or it cannot be noted.
pub fn note_what_was_erased(logbook: &Path, link: &Link) -> Result<(), RoomError> {
    let known = noted_beside(logbook)?;
    let sql = format!("SELECT {COLUMNS} FROM room.erased($1, $2)");
    let rows = link.call(&sql, &[&known.count, &known.last])?;
    let erasures: Vec<Erasure> = rows.iter().map(AskedFor::of).filter_map(AskedFor::erasure).collect();
    if erasures.is_empty() {
        return Ok(());
    }
    if let Some(why) = note_beside(logbook, &erasures)? {
        tracing::debug!(why, "bytes of what was erased may be left beside the logbook: the next start tries again");
    }
    Ok(())
}
