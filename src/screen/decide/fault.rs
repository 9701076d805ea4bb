//! Why a typed line cannot be read.

use crate::optics::notation::NotationError;

/// Why a typed line cannot be read, and where it is at fault.
pub struct LineFault {
    /// What is wrong and what would be right.
    pub problem: String,
    /// The character at fault, from 0.
    pub place: Option<usize>,
}

impl LineFault {
    /// A fault of the whole line.
    pub fn plain(problem: impl Into<String>) -> Self {
        Self { problem: problem.into(), place: None }
    }
}

impl From<NotationError> for LineFault {
    fn from(error: NotationError) -> Self {
        let place = error.text()[..error.place().start].chars().count();
        Self { problem: error.problem().to_owned(), place: Some(place) }
    }
}
