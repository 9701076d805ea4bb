//! What SQLite says, in words for the user.

use std::path::Path;
use std::time::Duration;

use rusqlite::ErrorCode;

use crate::logbook::error::{FileError, LogbookError, no_more_files};
use crate::logbook::files::may_not_grow;

/// How long to wait for another program that is writing. A write takes milliseconds, so that this is never seen unless
/// something keeps the file locked.
pub const BUSY_TIMEOUT: Duration = Duration::from_secs(2);

/// Puts what SQLite says into words for the user.
pub fn sqlite(path: &Path, source: rusqlite::Error) -> LogbookError {
    let error = match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => {
            FileError::NotALogbook { found: "another kind of file, or an SQLite file with a damaged beginning" }
        }
        Some(ErrorCode::DatabaseCorrupt) => FileError::Damaged { detail: source.to_string() },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            FileError::Busy { seconds: BUSY_TIMEOUT.as_secs() }
        }
        Some(ErrorCode::DiskFull) => FileError::Full,
        // to SQLite a file that may not grow is a disk that fails
        Some(ErrorCode::SystemIoFailure) if may_not_grow(path) => FileError::Full,
        Some(ErrorCode::SystemIoFailure) => FileError::Disk(Box::new(source)),
        Some(ErrorCode::ReadOnly) => FileError::ReadOnly,
        Some(ErrorCode::CannotOpen) if no_more_files() => FileError::TooManyOpen,
        Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => FileError::NoPermission,
        _ => match source {
            rusqlite::Error::FromSqlConversionFailure(..)
            | rusqlite::Error::InvalidColumnType(..)
            | rusqlite::Error::Utf8Error(..)
            | rusqlite::Error::IntegralValueOutOfRange(..) => FileError::Damaged { detail: source.to_string() },
            _ => FileError::Engine(Box::new(source)),
        },
    };
    error.at(path)
}
