//! Whether the entries of one writer follow each other.

use thiserror::Error;

use super::body::Hash;
use super::entry::Sealed;
use super::writer::WriterId;

/// A chain in which something was changed, left out or put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum BrokenChain {
    /// A number is missing.
    #[error("entry {number} of writer {writer} is not there")]
    Gap {
        /// Whose chain.
        writer: WriterId,
        /// The number that should come.
        number: i64,
    },
    /// An entry is not what was written, or does not follow the one before it.
    #[error("entry {number} of writer {writer} is not as it was written")]
    Altered {
        /// Whose chain.
        writer: WriterId,
        /// The number of the first entry at fault.
        number: i64,
    },
}

/// Checks all entries of one writer, from the first, in the order of their numbers.
///
/// # Errors
/// At the first that is not there or not as it was written.
pub fn check_chain<'a>(writer: WriterId, entries: impl IntoIterator<Item = &'a Sealed>) -> Result<(), BrokenChain> {
    let mut before = Hash::NONE;
    for (number, sealed) in (1..).zip(entries) {
        if sealed.number != number {
            return Err(BrokenChain::Gap { writer, number });
        }
        if sealed.writer != writer || !sealed.follows(before) {
            return Err(BrokenChain::Altered { writer, number });
        }
        before = sealed.hash;
    }
    Ok(())
}
