//! The glasses that an exam was made for: their order, and what is noted when they come back.

use jiff::Timestamp;

use super::error::{RecordError, StepError};
use super::records::stored_exam;
use super::writing::{name_of, number};
use crate::exam::came_back::asked::GlassesDraft;
use crate::exam::came_back::found::{CameBack, CameBackTakenBack, RefractedAgain, last_standing};
use crate::exam::order::Order;
use crate::exam::{Event, ExamError, Prescription};
use crate::logbook::{Logbook, StoredExam};
use crate::optics::Eyes;

/// The order of a closed exam.
///
/// # Errors
/// When it is not closed, for its powers may still change, or no power is written in it.
pub fn order_of(stored: &StoredExam) -> Result<Order, RecordError> {
    let (state, exam) = (stored.exam.state(), name_of(stored));
    if !state.finished {
        return Err(RecordError::NotClosed { exam });
    }
    Order::of(state, &Prescription::of(state, 1)).ok_or(RecordError::NothingWritten { exam })
}

/// What is added to an exam when its glasses came back.
///
/// # Errors
/// When nothing was measured, nothing was ordered by the exam, or the exam of a further refraction is not another closed one
/// with a written power.
pub fn came_back(
    logbook: &Logbook,
    stored: &StoredExam,
    draft: &GlassesDraft,
    at: Timestamp,
    by: Option<&str>,
) -> Result<Event, RecordError> {
    order_of(stored)?;
    let exam = number(stored.number());
    if draft.found.is_empty() && draft.again.is_none() {
        return Err(RecordError::NothingMeasured);
    }
    let again = draft.again.map(|again| {
        if again == exam { Err(RecordError::SameExam { exam }) } else { refracted_again(&stored_exam(logbook, again)?) }
    });
    let came_back = CameBack { at, by: by.map(str::to_owned), found: draft.found.clone(), again: again.transpose()? };
    Ok(Event::CameBack(Box::new(came_back)))
}

fn refracted_again(stored: &StoredExam) -> Result<RefractedAgain, RecordError> {
    order_of(stored)?;
    let prescription = Prescription::of(stored.exam.state(), 1);
    Ok(RefractedAgain {
        exam: stored.id().uuid(),
        number: number(stored.number()),
        far: Eyes::from_fn(|eye| prescription.eye(eye).map(|of_eye| of_eye.planned)),
        additions: prescription.additions.map(|addition| addition.map(|addition| addition.0)),
        vertex: prescription.planned_vertex,
    })
}

/// What takes the last of the glasses that came back to an exam back; it stays readable.
///
/// # Errors
/// When none stand in it.
pub fn taken_back(stored: &StoredExam, at: Timestamp, by: Option<&str>) -> Result<Event, RecordError> {
    let number = last_standing(&stored.exam.state().came_back).ok_or(StepError::from(ExamError::NoneCameBack))?;
    Ok(Event::CameBackTakenBack(CameBackTakenBack { number, at, by: by.map(str::to_owned) }))
}
