//! A record that cannot be written in the form that was asked for.

use thiserror::Error;

use super::fhir::check::BundleFlaw;
use super::pdf::FaceError;

/// A record that cannot be written in the form that was asked for.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The bundle does not pass our own checks, so nothing is written.
    #[error("exam {exam} cannot be written as FHIR: {}", in_one_line(flaws))]
    Fhir {
        /// The exam's number.
        exam: String,
        /// Everything that is wrong.
        flaws: Vec<BundleFlaw>,
    },
    /// What other programs would take for a person's is not written of a practice eye.
    #[error(
        "exam {exam} is practice: another program would take it for a person's, so it is written as card, pdf, markdown, csv or json \
         alone, which say PRACTICE"
    )]
    Practice {
        /// The exam's number.
        exam: String,
    },
    /// The CSV writer failed.
    #[error("exam {exam} cannot be written as CSV: {source}")]
    Csv {
        /// The exam's number.
        exam: String,
        /// Why.
        source: csv::Error,
    },
    /// There is nothing that a DICOM object could hold.
    #[error("exam {exam} cannot be written as DICOM: no power is written and no line was read")]
    NothingForDicom {
        /// The exam's number.
        exam: String,
    },
    /// The DICOM writer failed.
    #[error("exam {exam} cannot be written as DICOM: {why}")]
    Dicom {
        /// The exam's number.
        exam: String,
        /// Why.
        why: String,
    },
    /// A face of the page cannot be used.
    #[error("exam {exam} cannot be written as PDF: {source}")]
    Face {
        /// The exam's number.
        exam: String,
        /// Why.
        source: FaceError,
    },
    /// The JSON writer failed.
    #[error("exam {exam} cannot be written as JSON: {source}")]
    Json {
        /// The exam's number.
        exam: String,
        /// Why.
        source: serde_json::Error,
    },
}

fn in_one_line(flaws: &[BundleFlaw]) -> String {
    flaws.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
