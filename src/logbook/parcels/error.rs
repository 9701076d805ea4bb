//! Why a parcel is not written or not read: where, what, and what to do.

use std::path::PathBuf;

use thiserror::Error;

use crate::logbook::error::LogbookError;
use crate::sharing::{Erasure, NotASeat, NotASite, SeatName};

/// A parcel that cannot be written or taken in. Nothing of it was.
#[derive(Debug, Error)]
pub enum ParcelError {
    /// Something is wrong with a file.
    #[error("{}: {fault}", path.display())]
    At {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        fault: ParcelFault,
    },
    /// This logbook has no name among others yet.
    #[error(
        "this logbook has no seat name yet, by which others speak of its exams: give it one that no other has, with --seat lane3"
    )]
    NoSeat,
    /// A logbook of practice exams, or the one of what was read, has no parcels.
    #[error("{}: this is not a logbook of exams of one's own, and has no parcels: name another with --logbook FILE", path.display())]
    NotOnesOwn {
        /// The logbook.
        path: PathBuf,
    },
    /// What was to be the name of this seat.
    #[error(transparent)]
    NotASeat(#[from] NotASeat),
    /// What was to be the name of the site.
    #[error(transparent)]
    NotASite(#[from] NotASite),
    /// There is no such exam of another seat.
    #[error(
        "there is no exam {name} among those of other seats that are here: `dioptray exam list` lists them. In a room, `dioptray room` \
         fetches what is new, and `dioptray room exams {name}` asks whether the room has it"
    )]
    NoSuchExam {
        /// By what it was asked for.
        name: String,
    },
    /// The room let go of it.
    #[error(
        "the record of exam {name} is kept no longer: the room let go of the exams of its month, and so did this computer. The seat          {seat} may still have it"
    )]
    KeptNoLonger {
        /// By what it was asked for.
        name: String,
        /// Its seat.
        seat: SeatName,
    },
    /// An exam of another seat cannot be read.
    #[error("{name}: {error}")]
    Unreadable {
        /// Its seat and number.
        name: String,
        /// Why.
        error: Box<LogbookError>,
    },
    /// The exam of another seat was erased.
    #[error("{name} was erased: {erasure}. Its number and the hash of what it held are left")]
    Erased {
        /// Its seat and number.
        name: String,
        /// What is left of it.
        erasure: Box<Erasure>,
    },
    /// The logbook.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
}

impl ParcelError {
    /// Whether an exam was erased, or is kept no longer.
    pub fn is_of_what_is_gone(&self) -> bool {
        matches!(self, Self::Erased { .. } | Self::KeptNoLonger { .. })
    }
}

/// What is wrong with a parcel.
#[derive(Debug, Error)]
pub enum ParcelFault {
    /// Another kind of file.
    #[error("this is not a parcel of Dioptray, and not a logbook")]
    NotAParcel,
    /// Bits of it are missing or changed, in none of its entries.
    #[error("this parcel is cut short or was changed: nothing of it was read. Copy it again from where it was written")]
    NotAsWritten,
    /// The signature is not one of what stands before it.
    #[error(
        "the signature does not fit this parcel, which was changed after it was signed: nothing of it was read. Have it written again by \
         the seat it comes from"
    )]
    WronglySigned,
    /// Its key was never seen, and nobody said that it is trusted.
    #[error(
        "{seat} signed this with a key that was never seen here: nothing was read. Ask {seat} for the fingerprint that `dioptray parcel write` \
         says there; if it is {fingerprint}, read again with --trust"
    )]
    NotTrusted {
        /// The seat.
        seat: SeatName,
        /// The fingerprint of the key.
        fingerprint: String,
    },
    /// Its seat had another key before.
    #[error(
        "{seat} had another key before: nothing was read. This is another computer that calls itself {seat}, or {seat} lost its key. Ask there \
         for the fingerprint that `dioptray parcel write` says; if it is {now}, read again with --trust"
    )]
    KeyChanged {
        /// The seat.
        seat: SeatName,
        /// The fingerprint of the key that it signs by now.
        now: String,
    },
    /// Its seat signs, and this is not signed.
    #[error(
        "{seat} signs what it sends, and this is not signed: nothing was read. Have {seat} write a parcel; where you know who gave you \
         this, --trust reads it"
    )]
    SignatureMissing {
        /// The seat.
        seat: SeatName,
    },
    /// The key of this seat stands open.
    #[error(
        "others can read the key by which this seat signs: nothing was written. Take it from them with `chmod 600`; if one of them may have \
         it, remove the file: a new key is made, of which those who read your parcels have to be told"
    )]
    KeyOpenToOthers,
    /// What should be the key of this seat is not.
    #[error(
        "this is not the key of a seat: put it back from a backup, or remove it: a new key is made, of which those who read your \
         parcels have to be told"
    )]
    NotAKey,
    /// An entry is not what was written.
    #[error(
        "entry {number} of {whose} is not as it was written: nothing was read. Copy the parcel again from where it was written"
    )]
    Altered {
        /// The seat, or the writer where it has no name.
        whose: String,
        /// The number of the entry.
        number: i64,
    },
    /// Two different entries have one number: the logbook was copied, and both copies went on.
    #[error(
        "entry {number} of {whose} is another one than the entry {number} that is known here: nothing was read. That logbook was copied, and \
         both copies went on under one name"
    )]
    Parted {
        /// The seat.
        whose: String,
        /// The number of the first entry that differs.
        number: i64,
    },
    /// Entries of this logbook that it does not have.
    #[error(
        "entry {number} was written by this logbook, which does not have it: nothing was read. This is an older copy of the logbook; go on with \
         the newer one"
    )]
    Ahead {
        /// The number of the first.
        number: i64,
    },
    /// An earlier parcel was not read.
    #[error(
        "entries {first} to {last} of {whose} come before these and are not here: nothing was read. Read the parcel with them first, or together \
         with this one; --with-gap does without them"
    )]
    Missing {
        /// The seat.
        whose: String,
        /// The first that is missing.
        first: i64,
        /// The last.
        last: i64,
    },
    /// Two logbooks have one name.
    #[error(
        "two logbooks are called {seat}: nothing was read. Give one of them another name, with `dioptray parcel write --seat NAME`, and \
         write its parcels again"
    )]
    SeatTwice {
        /// The name.
        seat: SeatName,
    },
    /// Exams of practice eyes.
    #[error(
        "this holds exams of practice eyes, which are not carried to others: nothing was read. `dioptray practice hand-in` is for them"
    )]
    OfPractice,
    /// A file that holds what was read of others.
    #[error("this holds what was read of other seats: read the parcels themselves")]
    OfOthers,
    /// A writer without a name.
    #[error("this logbook has no seat name: give it one there, with `dioptray parcel write --seat NAME`")]
    Nameless,
    /// A logbook that is no longer, or never was, this one.
    #[error("this parcel holds nothing of this logbook: name one that it wrote with --since")]
    OfAnother,
}

impl ParcelFault {
    /// The error about this file.
    pub fn at(self, path: &std::path::Path) -> ParcelError {
        ParcelError::At { path: path.to_owned(), fault: self }
    }
}
