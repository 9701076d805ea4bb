//! DICOM objects for image archives and practice systems: a Subjective Refraction Measurements object with the prescription,
//! and a Visual Acuity Measurements object for each way in which acuities were read.
//!
//! What these objects have no place for goes into the comments in words: notes, cautions, what is seen without a letter, and
//! an eye that has a prism and no power, as a sphere is required there. Explicit little endian, text in UTF-8; every UID
//! follows from the exam's identity, so the same record always gives the same bytes.

mod acuity;
mod comments;
mod object;
mod refraction;
mod ways;

use crate::export::error::ExportError;
use crate::export::record::Record;

pub use comments::only_in_words;
pub use object::DicomFile;

/// The DICOM files of a record, the prescription first; never none.
///
/// # Errors
/// When there is neither a power nor an acuity, so that there is nothing to write.
pub fn dicom(record: &Record) -> Result<Vec<DicomFile>, ExportError> {
    let refraction = refraction::refraction(record)?;
    let files: Vec<DicomFile> = refraction.into_iter().chain(acuity::acuities(record)?).collect();
    if files.is_empty() {
        return Err(ExportError::NothingForDicom { exam: record.exam_name() });
    }
    Ok(files)
}
