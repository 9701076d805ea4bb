//! Drills beside the open exam: what was drilled so far, and what is answered now.

use jiff::ZonedDateTime;

use crate::logbook::SittingId;
use crate::practice::drills::Progress;

/// One sitting at a drill: its answers belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DrillSitting(pub(super) SittingId);

/// What was drilled so far, as of now.
#[derive(Debug, Clone)]
pub struct DrilledSoFar {
    /// What is known of each skill.
    pub progress: Progress,
    /// Now, where this computer is.
    pub now: ZonedDateTime,
    /// What the logbook says to answers that cannot be read: the progress is without them.
    pub unread: Vec<String>,
}
