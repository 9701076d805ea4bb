//! What an exam is judged by.

use super::replay::Replayed;
use crate::exam::State;
use crate::optics::Eyes;
use crate::practice::off::Off;
use crate::practice::people::Person;

/// What an exam is judged by.
pub(super) struct Judged<'a> {
    /// The truth.
    pub person: &'a Person,
    /// What the exam adds up to.
    pub state: &'a State,
    /// Its steps.
    pub steps: &'a [Replayed],
    /// What is written beside what is needed.
    pub off: Eyes<Option<Off>>,
}
