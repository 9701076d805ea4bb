//! DICOM objects for image archives and practice systems: a Subjective Refraction Measurements object with the prescription,
//! and a Visual Acuity Measurements object for each way in which acuities were read.
//!
//! What these objects have no place for goes into the comments in words: notes, cautions, what is seen without a letter, and
//! an eye that has a prism and no power, as a sphere is required there. Explicit little endian, text in UTF-8; every UID
//! follows from the exam's identity, so the same record always gives the same bytes.

mod acuity;
mod object;
mod refraction;

use crate::export::error::ExportError;
use crate::export::record::Record;
use crate::export::words;

/// One DICOM file of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DicomFile {
    /// What it holds, as a part of a file name.
    pub name: &'static str,
    /// The bytes of the file.
    pub bytes: Vec<u8>,
}

/// The DICOM files of a record, the prescription first; never none.
///
/// # Errors
/// When there is neither a power nor an acuity, so that there is nothing to write.
pub fn dicom(record: &Record) -> Result<Vec<DicomFile>, ExportError> {
    let refraction = refraction::refraction(record)?;
    let files: Vec<DicomFile> = refraction.into_iter().chain(acuity::acuities(record)?).collect();
    if files.is_empty() {
        return Err(ExportError::NothingForDicom { exam: record.exam });
    }
    Ok(files)
}

/// What stands in the comments of every object, as these have no place of their own for it.
pub fn only_in_words(record: &Record) -> Vec<String> {
    let without_power = record.eyes().into_iter().filter(|eye| eye.written.is_none()).map(|eye| {
        let prism = match eye.prism.as_slice() {
            [] => String::new(),
            parts => format!("; prism {}", words::prism(parts)),
        };
        format!("{}: {}{prism}.", words::sentence(&words::eye(eye.eye)), eye.outcome.shown())
    });
    without_power.chain(acuity::only_in_words(record)).collect()
}

/// The comments of an object.
fn comments(record: &Record) -> String {
    let draft = record.draft.then(|| "DRAFT: this exam is not closed.".to_owned());
    let lines = draft
        .into_iter()
        .chain(only_in_words(record))
        .chain(record.cautions_in_words.iter().cloned())
        .chain(words::circumstances(record))
        .chain(record.notes.iter().map(|note| format!("Note: {note}")))
        .chain(record.amendments.iter().map(|text| format!("Added after closing: {text}")))
        .chain(record.notice.iter().map(|&text| text.to_owned()));
    let lines: Vec<String> = lines.map(|text| words::printable(&text)).collect();
    lines.join("\r\n")
}
