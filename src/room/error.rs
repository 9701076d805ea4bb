//! Why a room is not reached, or refuses: where, what, and what to do.

use std::path::PathBuf;

use thiserror::Error;

use super::address::{NotAnAddress, WHERE_TO_PUT_IT};
use crate::logbook::LogbookError;
use crate::logbook::parcels::error::ParcelError;
use crate::sharing::NotASeat;

/// Something that a room could not do.
#[derive(Debug, Error)]
pub enum RoomError {
    /// It is not there, or did not answer in time; later it may.
    #[error("the room at {host} is away ({reason}): what is done is kept here and sent later")]
    Away {
        /// The computer.
        host: String,
        /// What was seen of it.
        reason: String,
    },
    /// It is there and refuses who calls.
    #[error(
        "the room at {host} does not let {user} in ({reason}): check the login, and the password: {WHERE_TO_PUT_IT}"
    )]
    NotLetIn {
        /// The computer.
        host: String,
        /// The login.
        user: String,
        /// As the server says it.
        reason: String,
    },
    /// Who answers is not shown to be the room.
    #[error(
        "the connection to {host} is not safe ({reason}): nothing was sent. Name the certificate of the clinic, or of whoever signed \
         it, with --certificate FILE, and the computer by the name that is in it"
    )]
    NotSafe {
        /// The computer.
        host: String,
        /// What is wrong.
        reason: String,
    },
    /// There is no room in the database.
    #[error(
        "the database {database} at {host} has no room, or one of an older Dioptray: its owner makes it, or brings it up to date, with `dioptray room prepare`"
    )]
    NotPrepared {
        /// The computer.
        host: String,
        /// The database.
        database: String,
    },
    /// The room is of a newer program.
    #[error(
        "the room has form {there}, and this program knows form {here}: update Dioptray here. Nothing was sent, and what is done is kept here"
    )]
    Newer {
        /// Its form.
        there: i32,
        /// The form of this program.
        here: i32,
    },
    /// The owner of the room did not allow the login anything.
    #[error(
        "the login {login} is not allowed in this room: whoever keeps the room allows it with `dioptray room allow`"
    )]
    NotAllowed {
        /// The login.
        login: String,
    },
    /// Somebody else owns the database.
    #[error("{login} does not own the database {database}: do this with the login that does")]
    NotTheOwner {
        /// The login.
        login: String,
        /// The database.
        database: String,
    },
    /// The login has another role.
    #[error(
        "the role {role} may not do this in the room: whoever keeps it can give the login another one with `dioptray room allow`"
    )]
    NotOfThisRole {
        /// Which it has.
        role: String,
    },
    /// The seat is not in the room.
    #[error("this logbook has no seat in the room any more: join it again with `dioptray room join`")]
    NoSeat,
    /// The login is of another site.
    #[error("this login belongs to the site {site}: leave --site away, or ask whoever keeps the room")]
    AnotherSite {
        /// The site.
        site: String,
    },
    /// The name of the seat was given before.
    #[error(
        "the seat {seat} is taken: no name is ever given twice, since exams are spoken of by it. Take another with --seat; a logbook that \
         was copied to this computer needs one of its own too"
    )]
    SeatTaken {
        /// The name.
        seat: String,
    },
    /// The seat was joined with another login.
    #[error("this seat joined with the login {login}: use that one")]
    AnotherLogin {
        /// That one.
        login: String,
    },
    /// The logbook joined under another name before.
    #[error("this logbook is {seat} in the room, and exams are spoken of by that: join with --seat {seat}")]
    HasAName {
        /// That name.
        seat: String,
    },
    /// A list was to go on after an exam that is not there.
    #[error("the room has no exam {name} of a seat that this login sees: name one that it listed")]
    NoSuchExamThere {
        /// Seat and number.
        name: String,
    },
    /// Exams were to be let go of before they are a year old.
    #[error("a room keeps exams for a year at least: nothing was let go of")]
    NotBelowAYear,
    /// There is no closed exam of that name.
    #[error(
        "the room has no closed exam {exam} that this login may see: `dioptray exam list` lists those that are known here"
    )]
    NoSuchExam {
        /// Its seat and number.
        exam: String,
    },
    /// Two exams have one name.
    #[error("the room has several exams {exam}: which is meant cannot be said by it, and nothing was done")]
    NamedTwice {
        /// Their seat and number.
        exam: String,
    },
    /// No reason was said.
    #[error("say why with --why TEXT, in at most 1000 characters: the reason stays when the exam is gone")]
    NoReason,
    /// Somebody asked before.
    #[error("{by} has asked for that already: somebody else agrees with `dioptray room erase EXAM --agree`")]
    AskedAlready {
        /// The login.
        by: String,
    },
    /// The exam is gone.
    #[error("{exam} is erased already")]
    ErasedAlready {
        /// Its seat and number.
        exam: String,
    },
    /// Nobody asked.
    #[error(
        "nobody asks that this exam be erased: a keeper does, with `dioptray room erase EXAM --why TEXT`, and `dioptray room` lists what is asked"
    )]
    NotAskedFor,
    /// One person is not two.
    #[error("{login} asked for it: another login has to agree, an examiner's, a keeper's or a teacher's")]
    AskedByTheSame {
        /// The login.
        login: String,
    },
    /// Another one asked.
    #[error("{by} asked for it, who alone takes it back")]
    AskedByAnother {
        /// The login.
        by: String,
    },
    /// Something is larger than what a room takes.
    #[error("the room does not take anything that large; it is kept here")]
    TooLarge,
    /// The room knows other entries of this logbook than the logbook.
    #[error(
        "the room has another entry {number} of this logbook than the logbook: it was copied, or an old copy of it was put back, and both \
         went on. Nothing was sent. Give the copy that goes on a name of its own: `dioptray room join ADDRESS --seat NEW --as-new`"
    )]
    Parted {
        /// The number of the first that is known to differ.
        number: i64,
    },
    /// The logbook joined no room.
    #[error("this logbook has joined no room: `dioptray room join ADDRESS --seat NAME` does")]
    NotJoined,
    /// The logbook is in another room.
    #[error("this logbook is in the room {address} already: `dioptray room leave` first")]
    JoinedAnother {
        /// Which.
        address: String,
    },
    /// The file with what was joined cannot be read or written.
    #[error("{}: {reason}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The file with the password.
    #[error("the password of the room in {}: {reason}", path.display())]
    Secret {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The room sent what no room sends.
    #[error(
        "the room sent something that cannot be read ({what}): it may have been changed by hand. Nothing of it was taken"
    )]
    Unreadable {
        /// What.
        what: String,
    },
    /// The server says something of its own.
    #[error("the room refuses: {reason}")]
    Server {
        /// As it says it.
        reason: String,
    },
    /// An address.
    #[error(transparent)]
    Address(#[from] NotAnAddress),
    /// A seat's name.
    #[error(transparent)]
    NotASeat(#[from] NotASeat),
    /// What came of others cannot be taken in.
    #[error(transparent)]
    Arriving(#[from] ParcelError),
    /// The logbook.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
}

impl RoomError {
    /// Whether it may be there again by itself.
    pub fn is_away(&self) -> bool {
        matches!(self, Self::Away { .. })
    }

    /// The same said to whoever prepares a database: that they do not own it, not that nobody allowed them anything.
    #[must_use]
    pub fn for_the_owner_of(self, database: &str) -> Self {
        match self {
            Self::NotAllowed { login } => Self::NotTheOwner { login, database: database.to_owned() },
            other => other,
        }
    }
}
