//! The record and every form in which it leaves the program.

mod acuities;
mod agreement;
mod deviation;
pub mod exams;
mod fhir;
mod forms;
mod markdown;
mod prescription;
pub mod read_back;
mod received;
mod under_frame;

/// What a check returns: any error fails it.
pub type Checked = Result<(), Box<dyn std::error::Error>>;
