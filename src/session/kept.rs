//! An exam in a logbook, with the claim on its box.

use std::path::PathBuf;

use jiff::Timestamp;

use super::error::{RecordError, SaveError, StepError};
use super::journal::Journal;
use super::records::{ExamLine, OpenedRecord, line};
use super::writing::{Writing, exam_number, number};
use crate::exam::prescription::CylinderForm;
use crate::exam::{CheckedStep, Event, Exam, Opening};
use crate::export::saving::save_beside;
use crate::export::{RecordForm, listing};
use crate::frame::FittedFrame;
use crate::logbook::{
    BEFORE_VERSIONS, BeganWith, BoxClaim, BoxKey, Holder, Logbook, LogbookError, NamedBox, OpenExam, StoredExam,
};
use crate::optics::Power;
use crate::sharing::Heads;

/// That many of the latest closed exams show how an examiner's retinoscopy is now.
const LATEST_EXAMS: usize = 40;

/// The box of the open exam as the logbook knows it.
pub struct KeptBox {
    /// By what it is known.
    pub in_box: NamedBox,
    /// The last changes of it that the exam began with; `None` where that was not noted.
    pub applied: Option<Heads>,
}

/// Saves the steps of one exam in the logbook, and claims the box for as long as it lives.
pub struct KeptExam {
    logbook: Logbook,
    open: OpenExam,
    in_box: KeptBox,
    /// Dropped with the rest, it lets other programs have the box.
    claim: BoxClaim,
    writing: Writing,
}

impl KeptExam {
    /// Saves the further steps of an exam.
    pub fn new(logbook: Logbook, open: OpenExam, in_box: KeptBox, claim: BoxClaim, writing: Writing) -> Self {
        Self { logbook, open, in_box, claim, writing }
    }

    /// Who has an exam open, when it is another program.
    fn held_elsewhere(&self, stored: &StoredExam) -> Result<Option<Holder>, LogbookError> {
        let exam = stored.number();
        let by_name = || BoxKey::of_name(&stored.exam.opening().fitted.stock.box_name);
        let holder = self.logbook.holder_of(&stored.beginning.box_key.clone().unwrap_or_else(by_name))?;
        Ok(holder.filter(|holder| holder.exam == Some(exam) && holder.process != Some(std::process::id())))
    }

    /// The empty frame with the box as it is now.
    fn fitted_again(&self, exam: &Exam) -> Result<(FittedFrame, Heads), RecordError> {
        let before = exam.opening().fitted.clone();
        let mut stock = before.stock;
        let KeptBox { in_box, applied } = &self.in_box;
        let since = self.logbook.changes_since(&in_box.key, applied.as_ref(), &stock)?;
        for change in since.later {
            if let Err(why) = stock.change(&change.change) {
                return Err(RecordError::BoxChanged { at: change.at, why });
            }
        }
        Ok((FittedFrame::new(before.frame, stock), since.all))
    }
}

impl Journal for KeptExam {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        self.logbook.append(&mut self.open, step, Timestamp::now()).map_err(SaveError::new)
    }

    fn lasts(&self) -> bool {
        true
    }

    fn exam_number(&self) -> Option<u64> {
        Some(number(self.open.number()))
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Ok(self.logbook.retinoscopy_pairs(LATEST_EXAMS)?)
    }

    fn exams(&self, form: CylinderForm) -> Result<Vec<ExamLine>, RecordError> {
        let writing = self.writing.in_form(form);
        Ok(self.logbook.exams()?.exams.iter().map(|summary| line(summary, &writing)).collect())
    }

    fn read(&self, exam: u64, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        let state = stored.exam.state();
        let text = listing::show(&self.writing.in_form(form).record(&stored), &state.trail);
        Ok(OpenedRecord {
            exam,
            closed: state.finished,
            held: self.held_elsewhere(&stored)?.map(|holder| holder.to_string()),
            lines: text.lines().map(str::to_owned).collect(),
        })
    }

    fn amend(&mut self, exam: u64, text: &str) -> Result<(), RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        if let Some(holder) = self.held_elsewhere(&stored)? {
            return Err(RecordError::OpenElsewhere { exam, holder });
        }
        let amended = vec![Event::Amended(text.to_owned())];
        let checked = stored.exam.check(amended).map_err(StepError::from)?;
        Ok(self.logbook.amend(&stored.open, checked.events(), self.writing.examiner(), Timestamp::now())?)
    }

    fn export(&self, exam: u64, form: CylinderForm, as_form: RecordForm) -> Result<PathBuf, RecordError> {
        let record = self.writing.in_form(form).record(&self.logbook.read_exam(exam_number(exam))?);
        Ok(save_beside(&format!("exam-{exam}"), as_form.ending(), &as_form.write(&record)?)?)
    }

    fn begin_another(&mut self, exam: &Exam, last_step: Option<&CheckedStep>) -> Result<Exam, RecordError> {
        let now = Timestamp::now();
        let (fitted, applied) = self.fitted_again(exam)?;
        let opening = Opening { fitted };
        let with = BeganWith {
            in_box: self.in_box.in_box.clone(),
            applied,
            by: self.writing.examiner().map(str::to_owned),
            procedures_version: BEFORE_VERSIONS,
        };
        let next = self.logbook.begin_exam(&opening, &with, now)?;
        if let Some(step) = last_step
            && let Err(error) = self.save(step)
        {
            self.logbook.put_aside(next.number(), now)?;
            return Err(StepError::NotSaved(error).into());
        }
        if last_step.is_none() && exam.is_untouched() {
            self.logbook.put_aside(self.open.number(), now)?;
        }
        self.open = next;
        self.in_box.applied = Some(with.applied);
        self.logbook.note_exam(&self.claim, self.open.number())?;
        Ok(Exam::open(opening))
    }
}
