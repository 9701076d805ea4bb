//! An exam in a logbook, with the claim on its box.

use std::path::PathBuf;

use jiff::Timestamp;

use super::error::{RecordError, SaveError, StepError};
use super::journal::Journal;
use super::records::{ExamLine, OpenedRecord, line};
use super::writing::{Writing, exam_id, number};
use crate::exam::prescription::CylinderForm;
use crate::exam::{CheckedStep, Event, Exam, Opening};
use crate::export::saving::save_beside;
use crate::export::{RecordForm, listing};
use crate::frame::FittedFrame;
use crate::logbook::{BoxClaim, ExamId, Holder, Logbook, LogbookError, StoredExam};
use crate::optics::Power;

/// That many of the latest closed exams show how an examiner's retinoscopy is now.
const LATEST_EXAMS: usize = 40;

/// Saves the steps of one exam in the logbook, and claims the box for as long as it lives.
pub struct KeptExam {
    logbook: Logbook,
    stored: StoredExam,
    /// Dropped with the rest, it lets other programs have the box.
    claim: BoxClaim,
    writing: Writing,
}

impl KeptExam {
    /// Saves the further steps of an exam.
    pub fn new(logbook: Logbook, stored: StoredExam, claim: BoxClaim, writing: Writing) -> Self {
        Self { logbook, stored, claim, writing }
    }

    /// Who has an exam open, when it is another program.
    fn held_elsewhere(&self, exam: ExamId, box_name: &str) -> Result<Option<Holder>, LogbookError> {
        let holder = self.logbook.holder_of(box_name)?;
        Ok(holder.filter(|holder| holder.exam == Some(exam) && holder.process != Some(std::process::id())))
    }

    /// The empty frame with the box as it is now.
    fn fitted_again(&self) -> Result<FittedFrame, RecordError> {
        let before = self.stored.exam().opening().fitted.clone();
        let mut stock = before.stock;
        for change in self.logbook.box_changes(&stock.box_name)? {
            if change.at > self.stored.opened()
                && let Err(why) = stock.change(&change.change)
            {
                return Err(RecordError::BoxChanged { at: change.at, why });
            }
        }
        Ok(FittedFrame::new(before.frame, stock))
    }
}

impl Journal for KeptExam {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        self.logbook.append(&mut self.stored, step.events(), Timestamp::now()).map_err(SaveError::new)
    }

    fn lasts(&self) -> bool {
        true
    }

    fn exam_number(&self) -> Option<u64> {
        Some(number(self.stored.id()))
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Ok(self.logbook.retinoscopy_pairs(LATEST_EXAMS)?)
    }

    fn exams(&self, form: CylinderForm) -> Result<Vec<ExamLine>, RecordError> {
        let writing = self.writing.in_form(form);
        let lines = self.logbook.exams()?.into_iter().map(|summary| {
            // one that cannot be read is listed all the same; opening it says why
            let stored = self.logbook.read_exam(summary.id).ok();
            let record = stored.map(|stored| writing.record(&stored));
            line(&summary, record.as_ref(), &writing)
        });
        Ok(lines.collect())
    }

    fn read(&self, exam: u64, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        let stored = self.logbook.read_exam(exam_id(exam))?;
        let state = stored.exam().state();
        let text = listing::show(&self.writing.in_form(form).record(&stored), &state.trail);
        Ok(OpenedRecord {
            exam,
            closed: state.finished,
            held: self.held_elsewhere(stored.id(), &state.fitted.stock.box_name)?.map(|holder| holder.to_string()),
            lines: text.lines().map(str::to_owned).collect(),
        })
    }

    fn amend(&mut self, exam: u64, text: &str) -> Result<(), RecordError> {
        let mut stored = self.logbook.read_exam(exam_id(exam))?;
        if let Some(holder) = self.held_elsewhere(stored.id(), &stored.exam().state().fitted.stock.box_name)? {
            return Err(RecordError::OpenElsewhere { exam, holder });
        }
        Ok(self.logbook.append(&mut stored, &[Event::Amended(text.to_owned())], Timestamp::now())?)
    }

    fn export(&self, exam: u64, form: CylinderForm, as_form: RecordForm) -> Result<PathBuf, RecordError> {
        let record = self.writing.in_form(form).record(&self.logbook.read_exam(exam_id(exam))?);
        Ok(save_beside(&format!("exam-{exam}"), as_form.ending(), &as_form.write(&record)?)?)
    }

    fn begin_another(&mut self, exam: &Exam, last_step: Option<&CheckedStep>) -> Result<Exam, RecordError> {
        let now = Timestamp::now();
        let next = self.logbook.begin_exam(Opening { fitted: self.fitted_again()? }, now)?;
        if let Some(step) = last_step
            && let Err(error) = self.save(step)
        {
            self.logbook.put_aside(next.id(), now)?;
            return Err(StepError::NotSaved(error).into());
        }
        if last_step.is_none() && exam.is_untouched() {
            self.logbook.put_aside(self.stored.id(), now)?;
        }
        self.stored = next;
        self.logbook.note_exam(&self.claim, self.stored.id())?;
        Ok(self.stored.exam().clone())
    }
}
