//! The open exam with its journal.

use std::path::PathBuf;

use super::error::{RecordError, StepError};
use super::journal::{InMemory, Journal};
use super::note::Note;
use super::records::{ExamLine, OpenedRecord};
use crate::exam::prescription::CylinderForm;
use crate::exam::{Event, Exam, State};
use crate::export::RecordForm;
use crate::optics::Power;

/// The open exam, and where it is kept: in a logbook with a claim on its box, or in memory alone.
///
/// The exam changes through [`Session::take`] only, so that what is shown has been saved.
pub struct Session {
    exam: Exam,
    journal: Box<dyn Journal>,
}

impl Session {
    /// An exam whose further steps go into a journal.
    pub fn new(exam: Exam, journal: Box<dyn Journal>) -> Self {
        Self { exam, journal }
    }

    /// An exam that is kept in memory alone.
    pub fn in_memory(exam: Exam) -> Self {
        Self::new(exam, Box::new(InMemory))
    }

    /// The exam.
    pub fn exam(&self) -> &Exam {
        &self.exam
    }

    /// The state of the exam now.
    pub fn state(&self) -> &State {
        self.exam.state()
    }

    /// Whether steps outlive the program.
    pub fn lasts(&self) -> bool {
        self.journal.lasts()
    }

    /// The number of the exam in its logbook.
    pub fn exam_number(&self) -> Option<u64> {
        self.journal.exam_number()
    }

    /// What names the exam: `Exam 14`, or `Exam` where it has no number.
    pub fn heading(&self) -> String {
        self.exam_number().map_or_else(|| "Exam".to_owned(), |number| format!("Exam {number}"))
    }

    /// Takes one step: checked once, saved, and only then accepted. An empty step is none.
    ///
    /// # Errors
    /// When the exam refuses it or it cannot be saved.
    pub fn take(&mut self, step: Vec<Event>) -> Result<(), StepError> {
        if step.is_empty() {
            return Ok(());
        }
        let checked = self.exam.check(step)?;
        self.journal.save(&checked)?;
        self.exam.accept(checked);
        Ok(())
    }

    /// What retinoscopy gave and what was then found, one pair for each eye of the latest closed exams.
    ///
    /// # Errors
    /// When earlier exams cannot be read.
    pub fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        self.journal.retinoscopy_pairs()
    }

    /// Every exam of the logbook, the latest first; none without a logbook.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn exams(&self, form: CylinderForm) -> Result<Vec<ExamLine>, RecordError> {
        self.journal.exams(form)
    }

    /// One exam of the logbook, to be read.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(&self, exam: u64, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        self.journal.read(exam, form)
    }

    /// Adds to a closed exam other than the open one.
    ///
    /// # Errors
    /// When it is not closed, open elsewhere, or cannot be written.
    pub fn amend(&mut self, exam: u64, text: &str) -> Result<(), RecordError> {
        self.journal.amend(exam, text)
    }

    /// Writes the record of an exam into a file of its own and returns its whole path.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn export(&self, exam: u64, form: CylinderForm, as_form: RecordForm) -> Result<PathBuf, RecordError> {
        self.journal.export(exam, form, as_form)
    }

    /// Begins another exam with the same box and frame, as their files are now, and goes over to it, once the one before
    /// has taken its last step; an empty one leaves it as it is. Returns what has to be said of box and frame.
    ///
    /// # Errors
    /// When the other cannot be begun, or the last step cannot be taken: the exam before goes on then as it was.
    pub fn begin_another(&mut self, last_step: Vec<Event>) -> Result<Vec<Note>, RecordError> {
        let last = (!last_step.is_empty()).then(|| self.exam.check(last_step)).transpose().map_err(StepError::from)?;
        let (exam, notes) = self.journal.begin_another(&self.exam, last.as_ref())?;
        self.exam = exam;
        Ok(notes)
    }
}
