//! The forms in which a record leaves the program: the one list of them.

use std::fmt;

use super::error::ExportError;
use super::fhir::{Release, bundle};
use super::record::Record;
use super::{card, csv, dicom, json, markdown, pdf};

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
    Dicom: "DICOM objects: the refraction, and the acuities beside it", "dicom", ".dcm", Binary;
    Csv: "A table for spreadsheets, one row per eye", "csv", ".csv", Text;
    Json: "Everything in full precision", "json", ".json", Json;
}

impl fmt::Display for RecordForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl RecordForm {
    /// The record in this form, as the files that it makes: most forms make one.
    ///
    /// # Errors
    /// When a bundle does not pass our own checks, or there is nothing that DICOM has a place for; the other forms can be made
    /// of every record.
    pub fn files(self, record: &Record) -> Result<FormFiles, ExportError> {
        let one = |bytes| FormFiles { first: bytes, beside: Vec::new() };
        if record.practice && self.is_for_programs() {
            return Err(ExportError::Practice { exam: record.exam_name() });
        }
        Ok(match self {
            Self::Card => one(card::card(record).into_bytes()),
            Self::Pdf => one(pdf::pdf(record)?),
            Self::Markdown => one(markdown::markdown(record).into_bytes()),
            Self::Fhir => one(indented(record, Release::R5)?),
            Self::FhirR4b => one(indented(record, Release::R4B)?),
            Self::Dicom => {
                let mut files = dicom::dicom(record)?.into_iter();
                let first = files.next().map(|file| file.bytes).unwrap_or_default();
                FormFiles { first, beside: files.map(|file| (file.name, file.bytes)).collect() }
            }
            Self::Csv => one(csv::csv(record)?.into_bytes()),
            Self::Json => one(json::json(record)?.into_bytes()),
        })
    }

    /// Whether other programs take it in by themselves.
    fn is_for_programs(self) -> bool {
        match self {
            Self::Fhir | Self::FhirR4b | Self::Dicom => true,
            Self::Card | Self::Pdf | Self::Markdown | Self::Csv | Self::Json => false,
        }
    }

    /// The record in this form, as the bytes of its first file.
    ///
    /// # Errors
    /// As [`RecordForm::files`].
    pub fn write(self, record: &Record) -> Result<Vec<u8>, ExportError> {
        Ok(self.files(record)?.first)
    }

    /// What this form cannot hold as it is, in words; the form says so itself too.
    pub fn falls_short(self, record: &Record) -> Vec<String> {
        match self {
            Self::Pdf => pdf::lacking(record).into_iter().collect(),
            Self::Dicom => {
                dicom::only_in_words(record).into_iter().map(|text| format!("in words alone: {text}")).collect()
            }
            Self::Card | Self::Markdown | Self::Fhir | Self::FhirR4b | Self::Csv | Self::Json => Vec::new(),
        }
    }
}

/// The files of a record in one form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormFiles {
    /// The bytes of the one that has the name of the record.
    pub first: Vec<u8>,
    /// The others: what the name of each has beside that, and its bytes.
    pub beside: Vec<(&'static str, Vec<u8>)>,
}

fn indented(record: &Record, release: Release) -> Result<Vec<u8>, ExportError> {
    let failed = |source| ExportError::Json { exam: record.exam_name(), source };
    let mut text = serde_json::to_vec_pretty(&bundle(record, release)?).map_err(failed)?;
    text.push(b'\n');
    Ok(text)
}
