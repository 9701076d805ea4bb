//! The forms in which a record leaves the program: the one list of them.

use std::fmt;

use super::error::ExportError;
use super::fhir::{Release, bundle};
use super::record::Record;
use super::{card, csv, json, markdown, pdf};

/// What the bytes of a form are, for whoever has to show or carry them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// Text in UTF-8.
    Text,
    /// JSON.
    Json,
    /// Bytes that are not text.
    Binary,
}

/// Declares the forms from one row each: the variant, its words, its name, the ending of its files, and what its bytes are.
macro_rules! record_forms {
    ($($form:ident: $about:literal, $name:literal, $ending:literal, $content:ident;)+) => {
        /// A form in which a record leaves the program.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum RecordForm {
            $(#[doc = $about] $form,)+
        }

        impl RecordForm {
            /// All forms, in the order in which they are listed.
            pub const ALL: &'static [Self] = &[$(Self::$form),+];

            /// Its name on the command line.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$form => $name,)+ }
            }

            /// What it is, for people.
            pub const fn about(self) -> &'static str {
                match self { $(Self::$form => $about,)+ }
            }

            /// How the name of a file in this form ends, after the number of the exam: `.pdf`, `-fhir-r5.json`.
            pub const fn ending(self) -> &'static str {
                match self { $(Self::$form => $ending,)+ }
            }

            /// What its bytes are.
            pub const fn content(self) -> Content {
                match self { $(Self::$form => Content::$content,)+ }
            }
        }
    };
}

record_forms! {
    Card: "A card in plain text, 72 columns", "card", "-card.txt", Text;
    Pdf: "The same on A4 pages", "pdf", ".pdf", Binary;
    Markdown: "The same as Markdown, with tables", "markdown", ".md", Text;
    Fhir: "A FHIR bundle, release 5", "fhir", "-fhir-r5.json", Json;
    FhirR4b: "A FHIR bundle, release 4B", "fhir-r4b", "-fhir-r4b.json", Json;
    Csv: "A table for spreadsheets, one row per eye", "csv", ".csv", Text;
    Json: "Everything in full precision", "json", ".json", Json;
}

impl fmt::Display for RecordForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
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
            Self::Markdown => markdown::markdown(record).into_bytes(),
            Self::Fhir => indented(record, Release::R5)?,
            Self::FhirR4b => indented(record, Release::R4B)?,
            Self::Csv => csv::csv(record)?.into_bytes(),
            Self::Json => json::json(record)?.into_bytes(),
        })
    }
}

fn indented(record: &Record, release: Release) -> Result<Vec<u8>, ExportError> {
    let failed = |source| ExportError::Json { exam: record.exam, source };
    let mut text = serde_json::to_vec_pretty(&bundle(record, release)?).map_err(failed)?;
    text.push(b'\n');
    Ok(text)
}
