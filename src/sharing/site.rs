//! The place that a seat belongs to.

use std::fmt;

use thiserror::Error;

/// The most characters of a site's name.
const MOST_CHARACTERS: usize = 40;

/// The name of a place with seats, such as a clinic: at most forty characters, none of which is a line break or another control
/// character.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteName(String);

/// A text that is not the name of a site.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("this is not the name of a site: write 1 to {MOST_CHARACTERS} characters in one line, as in hillside")]
pub struct NotASite;

impl SiteName {
    /// From what was typed or kept; spaces around it are left out.
    ///
    /// # Errors
    /// When it is not one.
    pub fn new(text: &str) -> Result<Self, NotASite> {
        let text = text.trim();
        let fits = (1..=MOST_CHARACTERS).contains(&text.chars().count());
        if fits && !text.chars().any(char::is_control) { Ok(Self(text.to_owned())) } else { Err(NotASite) }
    }

    /// As it is kept.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for SiteName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
