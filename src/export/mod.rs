//! The record of an exam, and one file per form in which it leaves the program. Every form is a function of [`Record`].
//!
//! - [`record`]: the plain data of a record, built from the state of an exam;
//! - [`words`]: how figures are written for people, shared by card, page and screen;
//! - [`card`]: a printable card in plain text; [`pdf`]: the same on a page;
//! - [`csv`]: one row per eye; [`json`]: everything in full precision;
//! - [`fhir`]: a bundle for other record systems, with [`fhir_check`] in front of it;
//! - [`form`]: these forms by name, as a command or a key asks for them;
//! - [`saving`]: files that are written whole or not at all;
//! - [`listing`]: earlier exams one a line, and one exam in full with its trail.

use thiserror::Error;

pub mod card;
pub mod csv;
pub mod fhir;
pub mod fhir_check;
pub mod form;
pub mod json;
pub mod listing;
pub mod pdf;
pub mod record;
pub mod saving;
pub mod words;

pub use form::RecordForm;
pub use record::{EyeRecord, Record, RecordHead};

/// A record that cannot be written in the form that was asked for.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The bundle does not pass our own checks, so nothing is written.
    #[error("exam {exam} cannot be written as FHIR: {}", list(problems))]
    Fhir {
        /// The exam's number.
        exam: u64,
        /// Everything that is wrong.
        problems: Vec<fhir_check::Problem>,
    },
    /// The CSV writer failed.
    #[error("exam {exam} cannot be written as CSV: {source}")]
    Csv {
        /// The exam's number.
        exam: u64,
        /// Why.
        source: ::csv::Error,
    },
    /// The JSON writer failed.
    #[error("exam {exam} cannot be written as JSON: {source}")]
    Json {
        /// The exam's number.
        exam: u64,
        /// Why.
        source: serde_json::Error,
    },
}

fn list(problems: &[fhir_check::Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
