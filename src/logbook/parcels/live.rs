//! An exam that is still open, as others may follow it.

use std::path::Path;

use super::error::ParcelError;
use crate::exam::Exam;
use crate::logbook::beginning::{box_state_of, decode_sent};
use crate::logbook::engine::{StepRow, Which};
use crate::logbook::names::{ExamId, ExamNumber};
use crate::logbook::once::Written;
use crate::logbook::row::Stored;
use crate::logbook::store::Logbook;
use crate::sharing::Hash;

/// An open exam.
#[derive(Debug)]
pub struct LiveExam {
    /// Its identity.
    pub id: ExamId,
    /// Its number in this file.
    pub number: ExamNumber,
    /// When it began.
    pub opened: String,
    /// Who examines.
    pub by: Option<String>,
    /// How it began.
    pub opening: Stored,
    /// The state of the box with which it began, deflated, under the hash of the content.
    pub box_state: Option<(Hash, Vec<u8>)>,
    /// Its steps, in the order of their numbers.
    pub steps: Vec<StepRow>,
}

/// An exam of another seat that is still open, from how it began and its steps so far.
///
/// # Errors
/// With what cannot be read here: a newer program may be able to.
pub fn replayed(
    opening: &Stored,
    box_state: impl FnOnce(Hash) -> Option<Vec<u8>>,
    steps: &[StepRow],
) -> Result<Exam, String> {
    let (begun, _) = decode_sent(opening, box_state)?;
    let mut written = Written::default();
    let decoded = steps.iter().map(|step| written.decode(&step.events, Path::new(""), "a step"));
    let history = decoded.collect::<Result<Vec<_>, _>>().map_err(|error| error.to_string())?;
    Exam::replay(begun, history).map_err(|(step, error)| format!("step {step}: {error}"))
}

impl Logbook {
    /// An exam with its steps; none where it is closed or put aside.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn live(&self, number: ExamNumber) -> Result<Option<LiveExam>, ParcelError> {
        let lines = self.engine.summaries(Which::One(number))?;
        let open = lines.into_iter().filter_map(|(_, line)| line.ok());
        if !open.into_iter().any(|line| line.finished.is_none() && line.put_aside.is_none()) {
            return Ok(None);
        }
        let rows = self.engine.exam(number)?;
        let hash = box_state_of(&rows.opening);
        let content = hash.map(|hash| self.engine.box_state(hash)).transpose()?.flatten();
        Ok(Some(LiveExam {
            id: rows.id,
            number,
            opened: rows.opened,
            by: rows.by,
            opening: rows.opening,
            box_state: hash.zip(content),
            steps: rows.steps,
        }))
    }
}
