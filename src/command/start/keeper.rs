//! The logbook behind the screen.

use jiff::Timestamp;

use crate::command::exams::records::Writing;
use crate::exam::Event;
use crate::logbook::{BoxClaim, Logbook, StoredExam};
use crate::optics::Power;
use crate::screen::archive::Archive;
use crate::screen::{Keeper, NotKept};

/// So many of the latest closed exams tell how an examiner's retinoscopy is now.
const LATEST_EXAMS: usize = 40;

/// Keeps the steps of one exam in the logbook and the box claimed for as long as it lives.
pub struct LogbookKeeper {
    pub(super) logbook: Logbook,
    pub(super) stored: StoredExam,
    /// Dropped with the keeper, it lets other programs have the box.
    pub(super) claim: BoxClaim,
    pub(super) writing: Writing,
}

impl LogbookKeeper {
    /// Keeps the further steps of an exam.
    pub fn new(logbook: Logbook, stored: StoredExam, claim: BoxClaim, writing: Writing) -> Self {
        Self { logbook, stored, claim, writing }
    }
}

impl Keeper for LogbookKeeper {
    fn keep(&mut self, step: &[Event]) -> Result<(), NotKept> {
        self.logbook.append(&mut self.stored, step, Timestamp::now()).map_err(|error| NotKept(error.to_string()))
    }

    fn lasts(&self) -> bool {
        true
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, NotKept> {
        self.logbook.retinoscopy_pairs(LATEST_EXAMS).map_err(|error| NotKept(error.to_string()))
    }

    fn archive(&mut self) -> Option<&mut dyn Archive> {
        Some(self)
    }
}
