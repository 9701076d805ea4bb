//! Our own JSON: the whole record in full precision, with a format name and a version.

use serde::Serialize;

use super::error::ExportError;
use super::record::Record;

/// The record as indented JSON with a newline at the end.
///
/// # Errors
/// When the writer fails, which it does for no record that an exam makes.
pub fn json(record: &Record) -> Result<String, ExportError> {
    let text = serde_json::to_string_pretty(record);
    text.map(|text| text + "\n").map_err(|source| ExportError::Json { exam: record.exam, source })
}

/// The same of an exam of another seat, whose number is one of that seat.
///
/// # Errors
/// As [`json`].
pub fn json_of_seat(record: &Record, seat: &str) -> Result<String, ExportError> {
    #[derive(Serialize)]
    struct OfSeat<'a> {
        seat: &'a str,
        #[serde(flatten)]
        record: &'a Record,
    }
    let text = serde_json::to_string_pretty(&OfSeat { seat, record });
    text.map(|text| text + "\n").map_err(|source| ExportError::Json { exam: record.exam, source })
}
