//! What others find in an exported file: readers that share nothing with the writers.

pub mod dicom;
pub mod pdf;
pub mod spreadsheet;
