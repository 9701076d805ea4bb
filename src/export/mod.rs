//! The record of an exam, and one file per form in which it leaves the program. Every form is a function of [`Record`].
//!
//! - [`record`]: the plain data of a record, built from the state of an exam;
//! - [`glasses`], [`glasses_words`]: the order for glasses and the glasses that came back, as data and in words;
//! - [`exam_name`]: by what people speak of an exam;
//! - [`words`]: how figures are written for people, shared by every form for people and by the screen;
//! - [`wrapping`]: breaking a text into lines, for card, page and screen;
//! - [`document`]: a record as headings, rows and paragraphs, which the forms for people only lay out;
//! - [`form`]: the one list of the forms, each in a file of its own that says what it is;
//! - [`saving`]: files that are written whole or not at all;
//! - [`identity`]: what names the parts of a record for other programs;
//! - [`table`]: a table of anything else that a person keeps or fills in, as text, CSV and PDF;
//! - [`questions`]: written questions whose answers stand apart;
//! - [`formula`]: texts that a spreadsheet would compute;
//! - [`listing`]: earlier exams one a line, and one exam in full with its trail.

pub mod card;
pub mod csv;
pub mod dicom;
pub mod document;
pub mod error;
pub mod exam_name;
pub mod fhir;
pub mod form;
pub mod formula;
pub mod glasses;
pub mod glasses_words;
pub mod identity;
pub mod json;
pub mod listing;
pub mod markdown;
pub mod pdf;
pub mod questions;
pub mod record;
pub mod saving;
pub mod table;
pub mod words;
pub mod wrapping;

pub use error::ExportError;
pub use form::RecordForm;
pub use record::{EyeRecord, Record, RecordHead};
