//! What keeps the steps of an exam, as the screen asks it to.

use thiserror::Error;

use super::archive::Archive;
use crate::exam::Event;
use crate::optics::Power;

/// A step that could not be kept; the screen then does not show it either.
#[derive(Debug, Error)]
#[error("{0}")]
pub struct NotKept(pub String);

/// Keeps every step before the screen shows it.
pub trait Keeper {
    /// Keeps one step for good.
    ///
    /// # Errors
    /// [`NotKept`] with the reason; the step counts as not done.
    fn keep(&mut self, step: &[Event]) -> Result<(), NotKept>;

    /// Whether steps outlive the program.
    fn lasts(&self) -> bool;

    /// What retinoscopy gave and what was then found, one pair for each eye of the latest closed exams.
    ///
    /// # Errors
    /// [`NotKept`] when earlier exams cannot be read.
    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, NotKept> {
        Ok(Vec::new())
    }

    /// Earlier exams, where there are any to be had.
    fn archive(&mut self) -> Option<&mut dyn Archive> {
        None
    }
}

/// Keeps nothing: for a screen that was asked to run without a logbook.
#[derive(Debug, Clone, Copy, Default)]
pub struct InMemory;

impl Keeper for InMemory {
    fn keep(&mut self, _step: &[Event]) -> Result<(), NotKept> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        false
    }
}
