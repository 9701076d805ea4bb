//! Where the steps of an exam are saved before they count, and earlier exams with them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::box_now::{BagOut, BoxKnown, BoxNow, BoxOnRecord, ToNote};
use super::days::DayNow;
use super::drilling::{DrillSitting, DrilledSoFar};
use super::error::{RecordError, SaveError, StepError};
use super::note::Note;
use super::records::{ExamLine, ListedExam, ListedExams, OpenedRecord, unreadable_line};
use crate::day::{Caller, DayEvent};
use crate::exam::came_back::asked::GlassesDraft;
use crate::exam::{CheckedStep, Event, Exam, Opening, ReadyMadeLimits, Repeats};
use crate::export::RecordForm;
use crate::frame::DeclaredFrame;
use crate::kit::shelf::DeclaredShelf;
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, StockTake};
use crate::logbook::Logbook;
use crate::optics::{CylinderForm, Power};
use crate::practice::drills::Answered;

/// An exam of a practice eye, and where its steps are saved.
pub type Sitting = (Exam, Box<dyn Journal>);

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

    /// What counts as now: the time of the clock.
    fn clock(&self) -> Timestamp {
        Timestamp::now()
    }

    /// A time of the day as people here say it; in UTC where no zone is known.
    fn local_time(&self, at: Timestamp) -> String {
        at.strftime("%H:%M").to_string()
    }

    /// Under what the answers of a sitting at a drill are kept.
    fn begin_drill(&self) -> DrillSitting {
        DrillSitting(Logbook::begin_sitting(self.clock()))
    }

    /// Keeps an answer of a sitting at a drill.
    ///
    /// # Errors
    /// When it cannot be kept.
    fn note_drill(&mut self, _sitting: DrillSitting, _answered: &Answered) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// What was drilled so far.
    ///
    /// # Errors
    /// When it cannot be read.
    fn drilled(&self) -> Result<DrilledSoFar, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// How long the exam was worked at, in minutes; `None` where no times are kept.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    fn minutes(&self) -> Result<Option<f64>, RecordError> {
        Ok(None)
    }

    /// The number of the exam, where it has one.
    fn exam_number(&self) -> Option<u64> {
        None
    }

    /// By what other seats know the box: none where its file has no `id`.
    fn key_for_others(&self) -> Option<String> {
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

    /// Begins an exam of a practice eye, kept apart from everything that is kept here.
    ///
    /// # Errors
    /// When it cannot be kept.
    fn sit(&self, _opening: Opening) -> Result<Sitting, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Which of several practice eyes, from 1, have sat and ended by a text.
    ///
    /// # Errors
    /// When it cannot be read.
    fn ended(&self, _who: &str) -> Result<BTreeSet<u16>, RecordError> {
        Ok(BTreeSet::new())
    }

    /// The practice exam that was begun last and has not ended.
    ///
    /// # Errors
    /// When it cannot be read.
    fn last_sitting(&self) -> Result<Option<Sitting>, RecordError> {
        Ok(None)
    }

    /// The exams that have every word in their label, number, date or outcome, or its seat, the latest first; every exam where no word
    /// is named.
    ///
    /// # Errors
    /// When one's own cannot be read.
    fn exams(&self, _search: &str) -> Result<ListedExams, RecordError> {
        Ok(ListedExams::default())
    }

    /// The line of one exam in a list; what cannot be read is said in it.
    fn line(&self, exam: &ListedExam, _form: CylinderForm) -> ExamLine {
        unreadable_line(exam)
    }

    /// One exam to be read.
    ///
    /// # Errors
    /// When it cannot be read.
    fn read(&self, _exam: &ListedExam, _form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Why an exam that was read is not to be read any more, where it was erased since then or is kept no longer.
    fn gone(&self, _exam: &ListedExam) -> Option<RecordError> {
        None
    }

    /// Adds to a closed exam other than this one.
    ///
    /// # Errors
    /// When it is not closed, open elsewhere, or cannot be written.
    fn amend(&mut self, _exam: u64, _added: Event) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// What is added to a closed exam when its glasses came back.
    ///
    /// # Errors
    /// When nothing was measured or ordered, or the exam of a further refraction is not another closed one.
    fn glasses_came_back(&self, _exam: u64, _draft: &GlassesDraft) -> Result<Event, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// What takes the last of the glasses that came back to an exam back.
    ///
    /// # Errors
    /// When none stand in it.
    fn glasses_taken_back(&self, _exam: u64) -> Result<Event, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Writes the record of an exam into a file of its own in the present folder and returns its whole path.
    ///
    /// # Errors
    /// When it cannot be written.
    fn export(&self, _exam: &ListedExam, _form: CylinderForm, _as_form: RecordForm) -> Result<PathBuf, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// A box as it is now: the one of the exam, or another that is known, by what it is known.
    ///
    /// # Errors
    /// When it is not known, or cannot be read.
    fn box_now(&self, _exam: &Exam, _other: Option<&str>) -> Result<BoxNow, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// A box with all that was noted of it: the one of the exam, or another that is known, by what it is known.
    ///
    /// # Errors
    /// When it is not known, or cannot be read.
    fn box_on_record(&self, _other: Option<&str>) -> Result<BoxOnRecord, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Every box that is known.
    ///
    /// # Errors
    /// When they cannot be read.
    fn boxes(&self) -> Result<Vec<BoxKnown>, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Notes what happened to a box, all of it or nothing.
    ///
    /// # Errors
    /// When the box refuses it, or it cannot be saved; nothing is noted then.
    fn change_box(&mut self, _exam: &Exam, _other: Option<&str>, _to_note: &ToNote) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Takes back what was noted of a box last, and gives what that was.
    ///
    /// # Errors
    /// When there is nothing, something rests on it, or it cannot be saved.
    fn take_back_of_box(&mut self, _exam: &Exam, _other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Writes a new box of a template that comes with the program. Returns by what it is known, and the whole path of its file.
    ///
    /// # Errors
    /// When there is no such template, or the file cannot be written.
    fn new_box(&mut self, _name: &str, _template: &str) -> Result<(String, PathBuf), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Learns of a box by its file. Returns by what it is known.
    ///
    /// # Errors
    /// When the file has faults, or it has to be asked first whether it is a box that is known by its name.
    fn know_box(&mut self, _file: &Path) -> Result<String, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// An exam on another box that is known, in place of this one, in which nothing was done; later exams and starts are on it
    /// too. What has to be said comes with it.
    ///
    /// # Errors
    /// When it is not known, cannot be read, or another program has it; this exam goes on then.
    fn go_over_to_box(&mut self, _exam: &Exam, _other: &str) -> Result<(Exam, Vec<Note>), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Writes a new frame, on which exams are from the next one on. Returns the whole path of its file.
    ///
    /// # Errors
    /// When the file cannot be written.
    fn new_frame(&mut self, _frame: &DeclaredFrame) -> Result<PathBuf, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Has exams be on the frame of a file from the next one on.
    ///
    /// # Errors
    /// When the file has faults.
    fn use_frame(&mut self, _file: &Path) -> Result<DeclaredFrame, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Checks a bag out: it is written as a box of its own, and its pieces are lent. Returns the whole path of its file.
    ///
    /// # Errors
    /// When the file cannot be written, the box refuses it, or it cannot be saved; nothing is noted then.
    fn check_out(&mut self, _other: Option<&str>, _bag: &BagOut) -> Result<PathBuf, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// The open exam as it goes on with its box as it is by now; `None` where it goes on as it is.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    fn with_box_by_now(&mut self, _exam: &Exam) -> Result<Option<Exam>, RecordError> {
        Ok(None)
    }

    /// The stock-take of a box that goes on, or a new one.
    ///
    /// # Errors
    /// When the box is not known, or cannot be read.
    fn stock_take(&self, _exam: &Exam, _other: Option<&str>) -> Result<StockTake, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Keeps a stock-take that goes on; without one, what was kept is given up.
    ///
    /// # Errors
    /// When it cannot be saved.
    fn keep_stock_take(&mut self, _other: Option<&str>, _take: Option<&StockTake>) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Ends a stock-take: what it came to is noted, all of it or nothing.
    ///
    /// # Errors
    /// When the box refuses it, or it cannot be saved; it goes on then.
    fn end_stock_take(&mut self, _exam: &Exam, _other: Option<&str>, _ending: &Ending) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Begins another exam on the box and frame of this one, which takes its last step first if it has one; no exam is
    /// closed for the sake of one that cannot be begun. It is that of somebody of the open day, where a caller is named. What
    /// has to be said of the other comes with it.
    ///
    /// # Errors
    /// When the other cannot be begun or the last step cannot be saved; this exam goes on then.
    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        _caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        if let Some(step) = last_step {
            self.save(step).map_err(StepError::from)?;
        }
        Ok((Exam::open(exam.opening().clone()), Vec::new()))
    }

    /// The open day, or the one that ended last, as it stands now; `None` where no day ever began.
    ///
    /// # Errors
    /// When it cannot be read.
    fn day(&self, _exam: &Exam) -> Result<Option<DayNow>, RecordError> {
        Ok(None)
    }

    /// Begins a day on the box and frame of the exam.
    ///
    /// # Errors
    /// When another day has not ended, or it cannot be saved.
    fn begin_day(&mut self, _exam: &Exam, _place: Option<String>) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Notes what happened in the open day, all of it or nothing.
    ///
    /// # Errors
    /// When the day refuses it, none is open, or it cannot be saved; nothing is noted then.
    fn note_in_day(&mut self, _events: &[DayEvent]) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Has ready-made pairs be given from a shelf in the open day, without those that earlier days gave off it.
    ///
    /// # Errors
    /// When no day is open, or it cannot be saved.
    fn use_shelf(&mut self, _shelf: &DeclaredShelf, _limits: ReadyMadeLimits) -> Result<(), RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// Takes back what was noted last of the day, and gives what that was in words.
    ///
    /// # Errors
    /// When there is nothing to take back, or it cannot be saved.
    fn undo_in_day(&mut self) -> Result<String, RecordError> {
        Err(RecordError::NoLogbook)
    }

    /// The running number of the person of the open day whose exam this is.
    fn person(&self) -> Option<u32> {
        None
    }

    /// Goes over to the exam of somebody of the open day that stands open, once this one has taken its last step, if it has one.
    ///
    /// # Errors
    /// When that person has no open exam with this box, or the last step cannot be saved; this exam goes on then.
    fn take_up(
        &mut self,
        _exam: &Exam,
        _last_step: Option<&CheckedStep>,
        _number: u32,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        Err(RecordError::NoLogbook)
    }
}
