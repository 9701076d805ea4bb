//! Which pieces of a box stand before an eye in exams that are still open.

use super::error::LogbookError;
use super::names::{BoxKey, ExamNumber};
use super::store::Logbook;
use crate::kit::{Piece, Place};

/// A piece before an eye in an open exam.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeforeAnEye {
    /// The exam.
    pub exam: ExamNumber,
    /// The piece.
    pub piece: Piece,
    /// The cell or the hand where it is.
    pub place: Place,
}

impl BeforeAnEye {
    /// Why it cannot go away.
    pub fn refusal(&self) -> LogbookError {
        let Self { exam, piece, place } = self.clone();
        LogbookError::InAFrame { exam, piece, place }
    }
}

impl Logbook {
    /// The pieces of a box that stand before an eye in exams that are still open. An exam that cannot be read has none.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn before_eyes(&self, key: &BoxKey) -> Result<Vec<BeforeAnEye>, LogbookError> {
        let mut all = Vec::new();
        for summary in self.open_exams()?.exams {
            if !self.is_same_box(&summary.in_box.key, key)? {
                continue;
            }
            let Ok(stored) = self.read_exam(summary.number) else { continue };
            let stock = &stored.exam.state().fitted.stock;
            all.extend(stock.before_eyes().map(|stocked| BeforeAnEye {
                exam: summary.number,
                piece: stocked.piece.clone(),
                place: stocked.place.clone(),
            }));
        }
        Ok(all)
    }
}
