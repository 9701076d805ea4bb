//! An exam in a logbook, with the claim on its box.

use std::path::PathBuf;

use jiff::Timestamp;

use super::box_now::{BoxNow, Happened, with_the_frame_of};
use super::error::{RecordError, SaveError, StepError};
use super::fresh::{Fresh, KeptBox, Sources};
use super::journal::Journal;
use super::known::named as known_as;
use super::meanwhile::with_the_box_as_it_is;
use super::note::Note;
use super::records::{ExamLine, OpenedRecord, Words, line, unreadable_line};
use super::writing::{Writing, exam_number, number};
use crate::exam::{CheckedStep, Event, Exam, Opening, Repeats};
use crate::export::saving::save_beside;
use crate::export::{RecordForm, listing};
use crate::guide::PROCEDURES_VERSION;
use crate::kit::shipped::demo_box;
use crate::kit::{BoxChange, DeclaredBox, read_box};
use crate::logbook::{BeganWith, BoxClaim, BoxKey, Holder, Logbook, LogbookError, NamedBox, OpenExam, StoredExam};
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

impl KeptExam {
    /// The box of the exam, or another, as its file declares it now.
    fn declared_box(&self, other: Option<&str>) -> Result<(NamedBox, DeclaredBox), RecordError> {
        if let Some(other) = other {
            return Err(RecordError::NoSuchBox(other.to_owned()));
        }
        let declared = self.sources.box_file.as_deref().map_or_else(demo_box, read_box)?;
        if !self.logbook.is_same_box(&known_as(&declared).key, &self.in_box.in_box.key)? {
            return Err(RecordError::NoSuchBox(declared.name));
        }
        Ok((self.in_box.in_box.clone(), declared))
    }

    /// The same with what the logbook knows of it. The box of the exam stays as the exam has it where its file cannot be read.
    fn kept_box(&self, exam: &Exam, other: Option<&str>) -> Result<(NamedBox, Fresh), RecordError> {
        if other.is_some() {
            let (named, _) = self.declared_box(other)?;
            return Err(RecordError::NoSuchBox(named.name));
        }
        let fresh = Fresh::after(&exam.opening().fitted, &self.in_box, &self.sources, &self.logbook)?;
        Ok((self.in_box.in_box.clone(), fresh))
    }
}

impl Journal for KeptExam {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        let by = self.writing.examiner();
        self.logbook.append(&mut self.open, step, by, Timestamp::now()).map_err(SaveError::new)
    }

    fn lasts(&self) -> bool {
        true
    }

    fn disk_failure(&self) -> Option<String> {
        self.logbook.disk_failure()
    }

    fn when_the_disk_fails(&self, tell: Box<dyn FnOnce() + Send>) {
        self.logbook.when_the_disk_fails(tell);
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

    fn exams(&self, search: &str) -> Result<Vec<u64>, RecordError> {
        let words = Words::of(search);
        let index = self.logbook.index()?;
        Ok(index.iter().filter(|exam| words.find(exam, &self.writing)).map(|exam| number(exam.number)).collect())
    }

    fn line(&self, exam: u64, form: CylinderForm) -> ExamLine {
        let read = self.logbook.exam_line(exam_number(exam));
        read.map_or_else(|_| unreadable_line(exam), |summary| line(&summary, &self.writing.in_form(form)))
    }

    fn read(&self, exam: u64, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        let state = stored.exam.state();
        let text = listing::show(&self.writing.in_form(form).record(&stored), &state.trail);
        Ok(OpenedRecord {
            exam,
            closed: state.finished,
            held: self.held_elsewhere(&stored)?.map(|holder| holder.to_string()),
            lines: text.lines().map(str::to_owned).chain(stored.unread).collect(),
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

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        let (named, known) = self.kept_box(exam, other)?;
        let happened = self.logbook.box_changes(&named.key)?.into_iter();
        let day = |at| self.writing.local(at).date();
        let happened = happened.map(|stored| Happened { day: day(stored.at), by: None, change: stored.change });
        let is_of_the_exam = other.is_none();
        Ok(BoxNow {
            key: named.key.as_str().to_owned(),
            stock: if is_of_the_exam { with_the_frame_of(known.fitted.stock, exam) } else { known.fitted.stock },
            happened: happened.collect(),
            today: day(Timestamp::now()),
            is_of_the_exam,
            notes: known.notes.iter().map(ToString::to_string).collect(),
        })
    }

    fn change_box(
        &mut self,
        exam: &Exam,
        other: Option<&str>,
        changes: &[BoxChange],
    ) -> Result<Option<Exam>, RecordError> {
        let (named, declared) = self.declared_box(other)?;
        let mut stock = self.box_now(exam, other)?.stock;
        changes.iter().try_for_each(|change| stock.change(change))?;
        let by = self.writing.examiner().map(str::to_owned);
        for change in changes {
            self.logbook.change_box(&named, &declared, change, by.as_deref(), Timestamp::now()).map_err(|error| {
                RecordError::Step(StepError::NotSaved(SaveError::new(error)))
            })?;
        }
        if other.is_some() {
            return Ok(None);
        }
        let stored = self.logbook.read_exam(self.open.number())?;
        let steps: Vec<&[Event]> = stored.steps.iter().map(|step| step.events.as_slice()).collect();
        let went_on = with_the_box_as_it_is(exam, &steps, changes);
        if went_on.is_some() {
            self.in_box.began_with.get_or_insert_with(|| stored.exam.opening().fitted.stock.clone());
        }
        Ok(went_on)
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
        self.in_box = KeptBox { in_box: with.in_box, applied: Some(with.applied), began_with: None };
        self.logbook.note_exam(&self.claim, self.open.number())?;
        Ok((Exam::open(opening), notes))
    }
}
