//! An exam as it is named on the command line: `14`, or `lane3-14` at another seat.

use thiserror::Error;

use crate::logbook::parcels::others::Elsewhere;

/// Which exam is meant.
#[derive(Debug, Clone)]
pub enum ExamName {
    /// One of this logbook, by its number.
    Own(u64),
    /// One of another seat.
    Elsewhere(Elsewhere),
}

/// An exam of another seat, which is not added to here.
#[derive(Debug, Error)]
#[error("{0} is an exam of the seat {seat}, and can only be read here: add to it at {seat}", seat = .0.seat)]
pub struct OnlyRead(Elsewhere);

impl ExamName {
    /// The number of an exam that is to be added to.
    ///
    /// # Errors
    /// When it is one of another seat.
    pub fn added_to_here(self) -> Result<u64, OnlyRead> {
        match self {
            Self::Own(number) => Ok(number),
            Self::Elsewhere(name) => Err(OnlyRead(name)),
        }
    }
}

/// Reads the name of an exam.
///
/// # Errors
/// When it is neither a number nor a seat with a number.
pub fn exam_name(text: &str) -> Result<ExamName, String> {
    match (text.parse(), Elsewhere::from_text(text)) {
        (_, Some(elsewhere)) => Ok(ExamName::Elsewhere(elsewhere)),
        (Ok(number), None) => Ok(ExamName::Own(number)),
        (Err(why), None) if text.starts_with(|first: char| first.is_ascii_digit()) => Err(why.to_string()),
        (Err(_), None) => Err("name an exam by its number, as 14, or by seat and number, as lane3-14".to_owned()),
    }
}
