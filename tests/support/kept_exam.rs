//! An exam in a logbook as a session holds it: the exam, and what its steps are added with.

use dioptray::exam::{Event, Exam};
use dioptray::logbook::{BeganWith, ExamNumber, Logbook, LogbookError, NamedBox, OpenExam, StoredStep};
use dioptray::sharing::Heads;
use jiff::Timestamp;

use crate::invented::opening;

/// An exam and everything that was kept of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub open: OpenExam,
    pub exam: Exam,
    pub steps: Vec<StoredStep>,
}

/// A box without an id.
pub fn named(name: &str) -> NamedBox {
    NamedBox::new(None, name)
}

/// Begins an exam with the invented box under this name.
pub fn begin(logbook: &mut Logbook, box_name: &str, at: Timestamp) -> Result<Kept, LogbookError> {
    let opening = opening(box_name);
    let with = BeganWith { in_box: named(box_name), applied: Heads::default(), by: None, procedures_version: 3 };
    let open = logbook.begin_exam(&opening, &with, at)?;
    Ok(Kept { open, exam: Exam::open(opening), steps: Vec::new() })
}

/// Checks a step, which the exam must take, has it kept, and takes it.
pub fn append(logbook: &mut Logbook, kept: &mut Kept, step: &[Event], at: Timestamp) -> Result<(), LogbookError> {
    let checked = kept.exam.check(step.to_vec()).unwrap();
    logbook.append(&mut kept.open, &checked, None, at)?;
    kept.exam.accept(checked);
    if !step.is_empty() {
        kept.steps.push(StoredStep { at, events: step.to_vec() });
    }
    Ok(())
}

/// Reads an exam back.
pub fn read(logbook: &Logbook, number: ExamNumber) -> Result<Kept, LogbookError> {
    let read = logbook.read_exam(number)?;
    Ok(Kept { open: read.open, exam: read.exam, steps: read.steps })
}
