//! What the owner of the database does once: making the room, and allowing logins.

use super::error::RoomError;
use super::link::Link;

/// The tables and functions, those of lists and of erasing, and who may call what.
const SCHEMA: &str = include_str!("schema.sql");
const LISTING: &str = include_str!("listing.sql");
const ERASING: &str = include_str!("erasing.sql");
const ALLOWING: &str = include_str!("allowing.sql");

/// The form that this program makes and knows.
pub const FORM: i32 = 1;

/// What a login may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Sends what the own logbook has, takes and gives pieces, reads records of the own site.
    Examiner,
    /// Stock, changes of boxes, settling; no body of an exam.
    Keeper,
    /// Looks on at exams that are open; changes nothing of a student's.
    Teacher,
    /// Reads records.
    Reader,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 4] = [Self::Examiner, Self::Keeper, Self::Teacher, Self::Reader];

    /// The role that is kept so in the room.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.name() == name)
    }

    /// Whether the steps of its open exams are sent.
    pub fn examines(self) -> bool {
        match self {
            Self::Examiner | Self::Teacher => true,
            Self::Keeper | Self::Reader => false,
        }
    }

    /// Whether the lenses before its eyes are counted as held.
    pub fn holds(self) -> bool {
        match self {
            Self::Examiner | Self::Teacher | Self::Keeper => true,
            Self::Reader => false,
        }
    }

    /// As it is kept in the room.
    pub fn name(self) -> &'static str {
        match self {
            Self::Examiner => "examiner",
            Self::Keeper => "keeper",
            Self::Teacher => "teacher",
            Self::Reader => "reader",
        }
    }
}

/// Makes the room, or brings one of an older form up to date.
///
/// # Errors
/// When the login does not own the database, or the room is of a newer program.
pub fn prepare(link: &Link) -> Result<(), RoomError> {
    if let Some(there) = form(link)?.filter(|there| *there > FORM) {
        return Err(RoomError::Newer { there, here: FORM });
    }
    link.run_for_long(&format!("BEGIN;\n{SCHEMA}\n{LISTING}\n{ERASING}\n{ALLOWING}\nCOMMIT;"))
        .map_err(|error| error.for_the_owner_of(&link.address().database))
}

fn form(link: &Link) -> Result<Option<i32>, RoomError> {
    let is_there = link.call("SELECT to_regclass('room.about') IS NOT NULL", &[])?;
    if !is_there.first().is_some_and(|row| row.get(0)) {
        return Ok(None);
    }
    Ok(link.call("SELECT form FROM room.about", &[])?.first().map(|row| row.get(0)))
}

/// Lets a login of the database do what a role may, at one site or, where none is named, at every one.
///
/// # Errors
/// When there is no such login, or whoever asks does not own the room.
pub fn allow(link: &Link, login: &str, role: Role, site: Option<&str>) -> Result<(), RoomError> {
    link.call("SELECT room.allow($1, $2, $3)", &[&login, &role.name(), &site])
        .map(|_| ())
        .map_err(|error| error.for_the_owner_of(&link.address().database))
}

/// A month whose exams are older than what is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OldMonth {
    /// Its first day, `2021-03-01`; months are those of the universal time.
    pub first_day: String,
    /// How many exams came in it.
    pub exams: i64,
}

/// The whole months that are older than so many years and whose exams a room still keeps, the oldest first.
///
/// # Errors
/// When it is less than a year, or whoever asks does not own the room.
pub fn months_older_than(link: &Link, years: i32) -> Result<Vec<OldMonth>, RoomError> {
    let sql = "SELECT month::text, exams FROM room.months_older_than($1)";
    let rows = link.call(sql, &[&years]).map_err(|error| error.for_the_owner_of(&link.address().database))?;
    Ok(rows.iter().map(|row| OldMonth { first_day: row.get(0), exams: row.get(1) }).collect())
}

/// Lets go of the bodies of the exams of a month, and of what was added to exams in it: all of them, or none where it fails.
///
/// # Errors
/// When the month is not older than so many years, or the room is away or refuses.
pub fn let_go(link: &Link, month: &OldMonth, years: i32) -> Result<(), RoomError> {
    // what came while the room had no partition for it is put into one first
    let statements =
        format!("BEGIN; SELECT room.make_months(); SELECT room.let_go('{}', {years}); COMMIT", month.first_day);
    link.run_for_long(&statements).map_err(|error| error.for_the_owner_of(&link.address().database))
}
