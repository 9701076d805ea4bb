//! How events are written into a row and read back.

use std::path::Path;

use jiff::Timestamp;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::error::LogbookError;

/// The form in which events are written into a row, as JSON.
///
/// Raise it when a field gets another meaning or a new field must not be overlooked; then [`Stored::decode`] has to read
/// the older forms too. A new kind of event needs no new form: older programs refuse a kind they do not know.
pub const FORMAT: i64 = 1;

/// A value as a row holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// The form of the text.
    pub format: i64,
    /// JSON.
    pub text: String,
}

impl Stored {
    /// Writes a value as JSON, and refuses one that would not read back as it is: NaN, for example, has no JSON.
    ///
    /// # Errors
    /// When it would not.
    pub fn encode<T: Serialize + DeserializeOwned + PartialEq>(value: &T, what: &str) -> Result<Self, LogbookError> {
        let refused = |reason: String| LogbookError::NotStorable { what: what.to_owned(), reason };
        let text = serde_json::to_string(value).map_err(|error| refused(error.to_string()))?;
        let back: T = serde_json::from_str(&text)
            .map_err(|error| refused(format!("it holds something that is not a number or not a text ({error})")))?;
        if back != *value {
            return Err(refused("it would not read back as it was entered".to_owned()));
        }
        Ok(Self { format: FORMAT, text })
    }

    /// Reads the value; `what` names the row in an error.
    ///
    /// # Errors
    /// When it is of a newer form, or not such a value.
    pub fn decode<T: DeserializeOwned>(&self, path: &Path, what: &str) -> Result<T, LogbookError> {
        let refused = |reason| LogbookError::unreadable(path, what, reason);
        if self.format != FORMAT {
            return Err(refused(format!("it has row form {}, and this program knows form {FORMAT}", self.format)));
        }
        serde_json::from_str(&self.text).map_err(|error| refused(error.to_string()))
    }
}

/// Reads a time, kept as RFC 3339 text in UTC.
pub fn time(path: &Path, what: &str, text: &str) -> Result<Timestamp, LogbookError> {
    text.parse().map_err(|error| LogbookError::unreadable(path, what, format!("`{text}` is not a time ({error})")))
}
