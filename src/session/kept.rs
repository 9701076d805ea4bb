//! An exam in a logbook, with the claim on its box.

use std::path::PathBuf;

use jiff::Timestamp;

use super::error::{RecordError, SaveError, StepError};
use super::fresh::{Fresh, KeptBox, Sources};
use super::journal::Journal;
use super::note::Note;
use super::records::{ExamLine, OpenedRecord, line, unreadable_line};
use super::writing::{Writing, exam_number, number};
use crate::exam::{CheckedStep, Event, Exam, Opening, Repeats};
use crate::export::saving::save_beside;
use crate::export::{RecordForm, listing};
use crate::guide::PROCEDURES_VERSION;
use crate::logbook::{BeganWith, BoxClaim, BoxKey, Holder, Logbook, LogbookError, OpenExam, StoredExam};
use crate::optics::{CylinderForm, Power};

/// That many of the latest closed exams show how an examiner's retinoscopy is now.
const LATEST_EXAMS: usize = 40;

/// Saves the steps of one exam in the logbook, and claims the box for as long as it lives.
pub struct KeptExam {
    logbook: Logbook,
    open: OpenExam,
    in_box: KeptBox,
    /// Dropped with the rest, it lets other programs have the box.
    claim: BoxClaim,
    sources: Sources,
    writing: Writing,
}

impl KeptExam {
    /// Saves the further steps of an exam.
    pub fn new(
        logbook: Logbook,
        open: OpenExam,
        in_box: KeptBox,
        claim: BoxClaim,
        sources: Sources,
        writing: Writing,
    ) -> Self {
        Self { logbook, open, in_box, claim, sources, writing }
    }

    /// Who has an exam open, when it is another program.
    fn held_elsewhere(&self, stored: &StoredExam) -> Result<Option<Holder>, LogbookError> {
        let exam = stored.number();
        let by_name = || BoxKey::of_name(&stored.exam.opening().fitted.stock.box_name);
        let holder = self.logbook.holder_of(&stored.beginning.box_key.clone().unwrap_or_else(by_name))?;
        Ok(holder.filter(|holder| holder.exam == Some(exam) && holder.process != Some(std::process::id())))
    }
}

impl Journal for KeptExam {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        let now = Timestamp::now();
        let saved = if step.events().iter().any(Event::is_amendment) {
            self.logbook.amend(&self.open, step.events(), self.writing.examiner(), now)
        } else {
            self.logbook.append(&mut self.open, step, now)
        };
        saved.map_err(SaveError::new)
    }

    fn lasts(&self) -> bool {
        true
    }

    fn exam_number(&self) -> Option<u64> {
        Some(number(self.open.number()))
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Ok(self.logbook.retinoscopy_pairs(LATEST_EXAMS, self.writing.examiner())?)
    }

    fn repeats(&self) -> Result<Repeats, RecordError> {
        Ok(self.logbook.repeats(LATEST_EXAMS, self.writing.examiner())?)
    }

    fn exams(&self, form: CylinderForm) -> Result<Vec<ExamLine>, RecordError> {
        let writing = self.writing.in_form(form);
        let list = self.logbook.exams()?;
        let mut lines: Vec<ExamLine> = list.exams.iter().map(|summary| line(summary, &writing)).collect();
        lines.extend(list.passed_over.iter().map(|passed_over| unreadable_line(passed_over.number)));
        lines.sort_by_key(|line| std::cmp::Reverse(line.exam));
        Ok(lines)
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
        Ok(save_beside(&format!("exam-{exam}"), as_form.ending(), &as_form.files(&record)?)?)
    }

    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        let now = Timestamp::now();
        let Fresh { in_box, applied, fitted, notes } =
            Fresh::after(&exam.opening().fitted, &self.in_box, &self.sources, &self.logbook)?;
        let opening = Opening { fitted };
        let with = BeganWith {
            in_box,
            applied,
            by: self.writing.examiner().map(str::to_owned),
            procedures_version: PROCEDURES_VERSION,
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
        self.in_box = KeptBox { in_box: with.in_box, applied: Some(with.applied) };
        self.logbook.note_exam(&self.claim, self.open.number())?;
        Ok((Exam::open(opening), notes))
    }
}
