//! Glasses that a person has, from the file of another system: a FHIR `VisionPrescription` or a Bundle with one, or a DICOM
//! object of lensometry or subjective refraction. Nothing is guessed: what could be two things, or is not as the standard has
//! it, is an error with its place.
//!
//! - [`glasses`]: what such a file says, and the events that it becomes;
//! - [`mod@file`]: which kind of file it is, and its bytes;
//! - [`fhir`], [`dicom`]: the two kinds.

pub mod dicom;
pub mod fhir;
pub mod file;
pub mod glasses;

pub use file::{ImportError, glasses_of, read_glasses};
pub use glasses::{Flaw, Glasses, GlassesLens};
