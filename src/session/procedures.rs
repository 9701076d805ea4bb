//! An exam that another version of the guide's procedures has led goes on with today's.

use super::error::StepError;
use super::journal::Journal;
use crate::exam::{Event, Exam, GuideEvent};
use crate::guide::PROCEDURES_VERSION;

/// Has today's procedures take over an exam that others led last, and returns the version of those others; an exam that
/// today's led last stays as it is.
///
/// It is a step of its own: today's procedures begin afresh on what was accepted and what stands in the frame, and read
/// nothing of what the others asked. Undo goes back no further, for the same reason.
///
/// # Errors
/// When the step cannot be saved; the exam is as before then.
pub fn take_over(exam: &mut Exam, journal: &mut dyn Journal, begun_with: u32) -> Result<Option<u32>, StepError> {
    let led_by = exam.state().guide.iter().rev().find_map(GuideEvent::procedures_version).unwrap_or(begun_with);
    if led_by == PROCEDURES_VERSION {
        return Ok(None);
    }
    let changed = GuideEvent::ProceduresChanged { version: PROCEDURES_VERSION };
    let checked = exam.check(vec![Event::Guide(changed)])?;
    journal.save(&checked)?;
    exam.accept(checked);
    Ok(Some(led_by))
}
