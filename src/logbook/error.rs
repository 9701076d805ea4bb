//! What can go wrong with the logbook: where, what, and what to do.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

use super::claim::Holder;
use super::exams::ExamId;
use crate::exam::ExamError;
use crate::kit::StockError;

/// A logbook that cannot be opened, read or written. Whatever it is, nothing that was in the file has been overwritten.
#[derive(Debug, Error)]
pub enum LogbookError {
    /// There is no home folder to keep the logbook in.
    #[error("this user has no home folder to keep a logbook in: name a file with --logbook FILE")]
    NoHome,
    /// No such file, and it was only to be read.
    #[error("{}: there is no such logbook", path.display())]
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// A folder or a device stands where the file should be.
    #[error("{}: this is {found}, not a file: name a file with --logbook FILE", path.display())]
    NotAFile {
        /// What was named.
        path: PathBuf,
        /// What it is.
        found: &'static str,
    },
    /// Another kind of file.
    #[error("{}: this is {found}, not a Dioptray logbook; nothing in it was changed. Name another file with --logbook FILE", path.display())]
    NotALogbook {
        /// The file.
        path: PathBuf,
        /// What it is.
        found: &'static str,
    },
    /// The file, or a part of it, no longer holds what SQLite wrote.
    #[error(
        "{}: this logbook is damaged ({detail}); nothing in it was changed. Keep a copy of it, together with the files beside it whose \
         names begin alike, for rescue, and go on with another file: --logbook FILE",
        path.display()
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        detail: String,
    },
    /// Written by a later version of the program.
    #[error(
        "{}: this logbook has form {found}, written by a newer Dioptray; this one knows forms up to {known}. Nothing in it was changed. \
         Use the newer Dioptray, or another file: --logbook FILE",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its form.
        found: i64,
        /// The newest form that this program knows.
        known: i64,
    },
    /// A row that this version cannot read: written by a later version, or altered by hand.
    #[error(
        "{}: {what} cannot be read: {reason}. It was left as it is; a newer Dioptray may be able to read it",
        path.display()
    )]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Which row.
        what: String,
        /// Why.
        reason: String,
    },
    /// The file or its folder is read-only.
    #[error(
        "{}: this logbook can be read but not written: the file or its folder is read-only. Make both writable, or name another file with \
         --logbook FILE",
        path.display()
    )]
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// Something was to be written to a logbook that was opened for reading.
    #[error("{}: this logbook was opened for reading only", path.display())]
    OpenedForReading {
        /// The file.
        path: PathBuf,
    },
    /// The user may not open the file, or may not create it or its companions in the folder.
    #[error(
        "{}: this logbook cannot be opened: this user may not read and write it, or may not write in its folder. Ask its owner, or name \
         another file with --logbook FILE",
        path.display()
    )]
    NoPermission {
        /// The file.
        path: PathBuf,
    },
    /// No room is left.
    #[error("{}: the disk is full: what was last entered was not kept. Make room and enter it again", path.display())]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// The disk failed in writing or reading.
    #[error(
        "{}: the disk failed ({source}): what was last entered was not kept. See that there is room and that the disk is sound, and enter \
         it again",
        path.display()
    )]
    Disk {
        /// The file.
        path: PathBuf,
        /// SQLite's words.
        source: rusqlite::Error,
    },
    /// Another program keeps the file locked.
    #[error(
        "{}: another program has kept this logbook locked for {seconds} seconds: what was last entered was not kept. Close that program, \
         and enter it again",
        path.display()
    )]
    Busy {
        /// The file.
        path: PathBuf,
        /// How long this program waited.
        seconds: u64,
    },
    /// Another program has the box open.
    #[error("the box {box_name} is open elsewhere: {holder}. Close it there, or choose another box")]
    BoxOpen {
        /// The box.
        box_name: String,
        /// Who has it.
        holder: Holder,
    },
    /// There is no exam with this number.
    #[error("{}: there is no exam {exam} in this logbook", path.display())]
    NoSuchExam {
        /// The file.
        path: PathBuf,
        /// The number that was asked for.
        exam: ExamId,
    },
    /// Another program added to the exam meanwhile.
    #[error("exam {exam} was continued by another program meanwhile: open it again to see how it stands")]
    ContinuedElsewhere {
        /// The exam.
        exam: ExamId,
    },
    /// A value that would not read back as it is.
    #[error("{what} cannot be kept: {reason}")]
    NotStorable {
        /// What it is.
        what: String,
        /// Why.
        reason: String,
    },
    /// The exam refuses the step.
    #[error(transparent)]
    Exam(#[from] ExamError),
    /// The box refuses the change.
    #[error(transparent)]
    Stock(#[from] StockError),
    /// The system refused.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// The system's words.
        source: io::Error,
    },
    /// SQLite refused for a reason that has no words of its own here.
    #[error("{}: {source}", path.display())]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// SQLite's words.
        source: rusqlite::Error,
    },
}

impl LogbookError {
    /// Puts what SQLite says into words for the user.
    pub(super) fn sqlite(path: &Path, source: rusqlite::Error) -> Self {
        let path = path.to_owned();
        match source.sqlite_error_code() {
            Some(ErrorCode::NotADatabase) => {
                Self::NotALogbook { path, found: "no SQLite file, or one with a damaged beginning" }
            }
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged { path, detail: source.to_string() },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                Self::Busy { path, seconds: super::store::BUSY_TIMEOUT.as_secs() }
            }
            Some(ErrorCode::DiskFull) => Self::Full { path },
            Some(ErrorCode::SystemIoFailure) => Self::Disk { path, source },
            Some(ErrorCode::ReadOnly) => Self::ReadOnly { path },
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => Self::NoPermission { path },
            _ => match source {
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::Utf8Error(..)
                | rusqlite::Error::IntegralValueOutOfRange(..) => Self::Damaged { path, detail: source.to_string() },
                _ => Self::Sqlite { path, source },
            },
        }
    }

    /// Puts what the system says into words for the user.
    pub(super) fn io(path: &Path, source: io::Error) -> Self {
        let path = path.to_owned();
        match source.kind() {
            io::ErrorKind::PermissionDenied => Self::NoPermission { path },
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full { path },
            _ => Self::Io { path, source },
        }
    }
}
