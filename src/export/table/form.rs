//! The forms in which a table leaves the program.

use std::fmt;
use std::path::Path;

use thiserror::Error;

use super::Table;
use super::{csv, text};
use crate::export::form::Content;
use crate::export::pdf::{FaceError, pdf_of_table};

/// A form of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableForm {
    /// Text, 80 columns wide.
    Text,
    /// For spreadsheets.
    Csv,
    /// A4 pages, to be filled in and signed.
    Pdf,
}

/// A table that cannot be written.
#[derive(Debug, Error)]
pub enum TableError {
    /// The CSV writer failed.
    #[error("this sheet cannot be written as CSV: {0}")]
    Csv(#[from] ::csv::Error),
    /// A face of the page cannot be used.
    #[error("this sheet cannot be written as PDF: {0}")]
    Face(#[from] FaceError),
}

impl TableForm {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Text, Self::Csv, Self::Pdf];

    /// Its name on the command line, which is also how the name of such a file ends, but for text.
    pub fn name(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Csv => "csv",
            Self::Pdf => "pdf",
        }
    }

    /// The form of a file, by the end of its name.
    pub fn of_file(file: &Path) -> Option<Self> {
        let ending = file.extension()?.to_str()?.to_lowercase();
        Self::ALL.into_iter().find(|form| form.name() == ending || form.ending() == ending)
    }

    /// How the name of such a file ends.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Text => "txt",
            Self::Csv | Self::Pdf => self.name(),
        }
    }

    /// What it is, for people.
    pub fn about(self) -> &'static str {
        match self {
            Self::Text => "Plain text, 80 columns",
            Self::Csv => "A table for spreadsheets",
            Self::Pdf => "A4 pages, to be filled in and signed",
        }
    }

    /// What its bytes are.
    pub fn content(self) -> Content {
        match self {
            Self::Text | Self::Csv => Content::Text,
            Self::Pdf => Content::Binary,
        }
    }

    /// The bytes of a table in this form.
    ///
    /// # Errors
    /// When a writer fails, which none does for a table whose rows have a cell for each column.
    pub fn write(self, table: &Table) -> Result<Vec<u8>, TableError> {
        Ok(match self {
            Self::Text => text::text(table).into_bytes(),
            Self::Csv => csv::csv(table)?.into_bytes(),
            Self::Pdf => pdf_of_table(table)?,
        })
    }
}

impl fmt::Display for TableForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
