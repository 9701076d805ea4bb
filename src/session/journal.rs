//! Where the steps of an exam are saved before they count, and earlier exams with them.

use std::path::PathBuf;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::box_now::{BoxNow, Happened, with_the_frame_of};
use super::error::{RecordError, SaveError, StepError};
use super::meanwhile::with_the_box_as_it_is;
use super::note::Note;
use super::records::{ExamLine, OpenedRecord, unreadable_line};
use crate::exam::{CheckedStep, Exam, Repeats};
use crate::export::RecordForm;
use crate::kit::{BoxChange, Stock};
use crate::optics::{CylinderForm, Power};

/// Saves every step of one exam before it counts, and knows the exams before it.
pub trait Journal {
    /// Saves one step for good.
    ///
    /// # Errors
    /// [`SaveError`] with the reason; the step counts as not done.
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError>;

    /// Whether steps outlive the program.
    fn lasts(&self) -> bool;

    /// What the disk said when it did not take what was saved, once it did not.
    fn disk_failure(&self) -> Option<String> {
        None
    }

    /// Has somebody told once the disk does not take what was saved, from another thread.
    fn when_the_disk_fails(&self, _tell: Box<dyn FnOnce() + Send>) {}

    /// The number of the exam, where it has one.
    fn exam_number(&self) -> Option<u64> {
        None
    }

    /// What retinoscopy gave and what was then found, one pair for each eye of the latest closed exams.
    ///
    /// # Errors
    /// When earlier exams cannot be read.
    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        Ok(Vec::new())
    }

    /// How often a question that was asked again got another answer, in the same exams.
    ///
    /// # Errors
    /// When earlier exams cannot be read.
    fn repeats(&self) -> Result<Repeats, RecordError> {
        Ok(Repeats::default())
    }

    /// The numbers of the exams that have every word in their label, number or date, the latest first; of every exam where
    /// no word is named.
    ///
    /// # Errors
    /// When they cannot be read.
    fn exams(&self, _search: &str) -> Result<Vec<u64>, RecordError> {
        Ok(Vec::new())
    }

    /// The line of one exam in a list; what cannot be read is said in it.
    fn line(&self, exam: u64, _form: CylinderForm) -> ExamLine {
        unreadable_line(exam)
    }

    /// One exam to be read.
    ///
    /// # Errors
    /// When it cannot be read.
    fn read(&self, _exam: u64, _form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Adds to a closed exam other than this one.
    ///
    /// # Errors
    /// When it is not closed, open elsewhere, or cannot be written.
    fn amend(&mut self, _exam: u64, _text: &str) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Writes the record of an exam into a file of its own in the present folder and returns its whole path.
    ///
    /// # Errors
    /// When it cannot be written.
    fn export(&self, _exam: u64, _form: CylinderForm, _as_form: RecordForm) -> Result<PathBuf, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// A box as it is now: the one of the exam, or another that is known, by what it is known.
    ///
    /// # Errors
    /// When it is not known, or cannot be read.
    fn box_now(&self, _exam: &Exam, _other: Option<&str>) -> Result<BoxNow, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Notes what happened to a box, all of it or nothing, and gives the open exam as it goes on with that.
    ///
    /// # Errors
    /// When the box refuses it, or it cannot be saved; nothing is noted then.
    fn change_box(
        &mut self,
        _exam: &Exam,
        _other: Option<&str>,
        _changes: &[BoxChange],
    ) -> Result<Option<Exam>, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Begins another exam on the box and frame of this one, which takes its last step first if it has one; no exam is
    /// closed for the sake of one that cannot be begun. What has to be said of the other comes with it.
    ///
    /// # Errors
    /// When the other cannot be begun or the last step cannot be saved; this exam goes on then.
    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        if let Some(step) = last_step {
            self.save(step).map_err(StepError::from)?;
        }
        Ok((Exam::open(exam.opening().clone()), Vec::new()))
    }
}

/// Saves nothing: for an exam that was asked to run without a logbook. What happens to its box holds as long as it does.
#[derive(Debug, Clone, Default)]
pub struct InMemory {
    /// The time that counts as now; the clock's where none is given.
    now: Option<Timestamp>,
    /// The box as the exam began with it, once something happened to it.
    began_with: Option<Stock>,
    happened: Vec<Happened>,
}

impl InMemory {
    /// One whose clock stands.
    pub fn at(now: Timestamp) -> Self {
        Self { now: Some(now), ..Self::default() }
    }
}

impl Journal for InMemory {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        false
    }

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        if other.is_some() {
            return Err(RecordError::NoLogbook);
        }
        let mut stock = self.began_with.clone().unwrap_or_else(|| exam.opening().fitted.stock.clone());
        for happened in &self.happened {
            stock.change(&happened.change)?;
        }
        let now = self.now.unwrap_or_else(Timestamp::now);
        Ok(BoxNow {
            key: stock.box_name.clone(),
            stock: with_the_frame_of(stock, exam),
            happened: self.happened.clone(),
            today: now.to_zoned_datetime(TimeZone::UTC).date(),
            is_of_the_exam: true,
            notes: Vec::new(),
        })
    }

    fn change_box(
        &mut self,
        exam: &Exam,
        other: Option<&str>,
        changes: &[BoxChange],
    ) -> Result<Option<Exam>, RecordError> {
        let BoxNow { mut stock, today, .. } = self.box_now(exam, other)?;
        changes.iter().try_for_each(|change| stock.change(change))?;
        self.began_with.get_or_insert_with(|| exam.opening().fitted.stock.clone());
        self.happened
            .extend(changes.iter().map(|change| Happened { day: today, by: None, change: change.clone() }));
        let steps: Vec<_> = exam.standing_steps().iter().map(Vec::as_slice).collect();
        Ok(with_the_box_as_it_is(exam, &steps, changes))
    }
}
