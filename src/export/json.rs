//! Our own JSON: the whole record in full precision, with a format name and a version.

use super::error::ExportError;
use super::record::Record;

/// The record as indented JSON with a newline at the end.
///
/// # Errors
/// When the writer fails, which it does for no record that an exam makes.
pub fn json(record: &Record) -> Result<String, ExportError> {
    let text = serde_json::to_string_pretty(record);
    text.map(|text| text + "\n").map_err(|source| ExportError::Json { exam: record.exam_name(), source })
}
