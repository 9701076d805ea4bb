//! What people call a logbook among others.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The most characters of a seat's name.
const MOST_CHARACTERS: usize = 12;

/// The name of a seat, one logbook on one computer: a letter, then letters or digits, at most twelve in all.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String")]
pub struct SeatName(String);

/// A text that is not the name of a seat.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{text}` is not the name of a seat: a letter, then letters or digits without accents, at most {MOST_CHARACTERS} in all, as in lane3"
)]
pub struct NotASeat {
    /// The text.
    pub text: String,
}

impl SeatName {
    /// From what was typed or kept.
    ///
    /// # Errors
    /// When it is not one.
    pub fn new(text: &str) -> Result<Self, NotASeat> {
        let begins = text.starts_with(|first: char| first.is_ascii_alphabetic());
        let fits = text.len() <= MOST_CHARACTERS && text.chars().all(|each| each.is_ascii_alphanumeric());
        if begins && fits { Ok(Self(text.to_owned())) } else { Err(NotASeat { text: text.to_owned() }) }
    }

    /// As it is kept.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for SeatName {
    type Error = NotASeat;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        Self::new(&text)
    }
}

impl fmt::Display for SeatName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
