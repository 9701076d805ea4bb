//! The forms in which a record leaves the program, by name.

use super::fhir::{Release, bundle};
use super::{ExportError, Record, card, csv, json, pdf};

/// A form in which a record leaves the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RecordForm {
    /// A card in plain text.
    Card,
    /// The same on A4 pages.
    Pdf,
    /// A FHIR bundle, release 5.
    Fhir,
    /// A FHIR bundle, release 4B.
    FhirR4b,
    /// A table with one row per eye.
    Csv,
    /// Our own JSON.
    Json,
}

impl RecordForm {
    /// The record in this form, as the bytes of a file.
    ///
    /// # Errors
    /// When a bundle does not pass our own checks; the other forms can be made of every record.
    pub fn write(self, record: &Record) -> Result<Vec<u8>, ExportError> {
        Ok(match self {
            Self::Card => card::card(record).into_bytes(),
            Self::Pdf => pdf::pdf(record),
            Self::Fhir => indented(record, Release::R5)?,
            Self::FhirR4b => indented(record, Release::R4B)?,
            Self::Csv => csv::csv(record)?.into_bytes(),
            Self::Json => json::json(record)?.into_bytes(),
        })
    }

    /// How the name of a file in this form ends, behind the number of the exam: `.pdf`, `-fhir-r5.json`.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Card => "-card.txt",
            Self::Pdf => ".pdf",
            Self::Fhir => "-fhir-r5.json",
            Self::FhirR4b => "-fhir-r4b.json",
            Self::Csv => ".csv",
            Self::Json => ".json",
        }
    }
}

fn indented(record: &Record, release: Release) -> Result<Vec<u8>, ExportError> {
    let failed = |source| ExportError::Json { exam: record.exam, source };
    let mut text = serde_json::to_vec_pretty(&bundle(record, release)?).map_err(failed)?;
    text.push(b'\n');
    Ok(text)
}
