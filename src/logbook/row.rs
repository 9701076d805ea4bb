//! How events are written into a row and read back.

use std::path::Path;

use jiff::Timestamp;
use rusqlite::Row;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::LogbookError;

/// The form in which events are written into a row, as JSON.
///
/// Raise it when a field gets another meaning or a new field must not be overlooked; then [`decode`] has to read the
/// older forms too. A new kind of event needs no new form: older programs refuse a kind they do not know.
pub const FORMAT: i64 = 1;

/// Writes a value as JSON, and refuses one that would not read back as it is: NaN, for example, has no JSON.
pub fn encode<T: Serialize + DeserializeOwned + PartialEq>(value: &T, what: &str) -> Result<String, LogbookError> {
    let refused = |reason: String| LogbookError::NotStorable { what: what.to_owned(), reason };
    let text = serde_json::to_string(value).map_err(|error| refused(error.to_string()))?;
    let back: T = serde_json::from_str(&text)
        .map_err(|error| refused(format!("it holds something that is not a number or not a text ({error})")))?;
    if back != *value {
        return Err(refused("it would not read back as it was entered".to_owned()));
    }
    Ok(text)
}

/// A value as a row holds it.
pub struct Stored {
    format: i64,
    text: String,
}

impl Stored {
    /// Takes the two columns of a value out of a row.
    pub fn from_row(row: &Row<'_>, format: &str, text: &str) -> rusqlite::Result<Self> {
        Ok(Self { format: row.get(format)?, text: row.get(text)? })
    }

    /// Reads the value; `what` names the row in an error.
    pub fn decode<T: DeserializeOwned>(&self, path: &Path, what: &str) -> Result<T, LogbookError> {
        let refused = |reason| unreadable(path, what, reason);
        if self.format != FORMAT {
            return Err(refused(format!("it has row form {}, and this program knows form {FORMAT}", self.format)));
        }
        serde_json::from_str(&self.text).map_err(|error| refused(error.to_string()))
    }
}

/// The error for a row that cannot be read.
pub fn unreadable(path: &Path, what: &str, reason: String) -> LogbookError {
    LogbookError::Unreadable { path: path.to_owned(), what: what.to_owned(), reason }
}

/// Reads a time, kept as RFC 3339 text in UTC.
pub fn time(path: &Path, what: &str, text: &str) -> Result<Timestamp, LogbookError> {
    text.parse().map_err(|error| unreadable(path, what, format!("`{text}` is no time ({error})")))
}
