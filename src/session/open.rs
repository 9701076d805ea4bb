//! The open exam with its guide and its journal.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::box_now::{BagOut, BoxKnown, BoxNow, BoxOnRecord, ToNote};
use super::days::DayNow;
use super::drilling::{DrillSitting, DrilledSoFar};
use super::error::{RecordError, StepError};
use super::in_memory::InMemory;
use super::journal::Journal;
use super::note::Note;
use super::records::{ExamLine, ListedExam, ListedExams, OpenedRecord};
use super::step::Step;
use crate::day::{Caller, DayEvent};
use crate::exam::came_back::asked::GlassesDraft;
use crate::exam::{
    CheckedStep, EarlierExams, EarlierRetinoscopy, Event, Exam, ExamError, Opening, ReadyMadeLimits, State,
};
use crate::export::RecordForm;
use crate::frame::DeclaredFrame;
use crate::guide::{Guide, retinoscopy_bias};
use crate::kit::shelf::read_shelf;
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, StockTake};
use crate::optics::CylinderForm;
use crate::practice::drills::Answered;

/// The open exam, the guide that follows it, and where it is kept: in a logbook with a claim on its box, or in memory alone.
///
/// The exam changes through [`Session::take`] only, so that what is shown has been saved.
pub struct Session {
    exam: Exam,
    guide: Guide,
    journal: Box<dyn Journal>,
    /// Read when an exam begins, not while a key is handled.
    earlier: Result<Earlier, RecordError>,
}

/// What the examiner's earlier exams say.
#[derive(Debug, Clone, Copy)]
struct Earlier {
    exams: EarlierExams,
    /// The steady difference of retinoscopy, where there is one.
    retinoscopy: Option<EarlierRetinoscopy>,
}

impl Session {
    /// An exam whose further steps go into a journal.
    pub fn new(exam: Exam, journal: Box<dyn Journal>) -> Self {
        Self { guide: Guide::of(&exam), earlier: earlier(journal.as_ref()), exam, journal }
    }

    /// An exam that is kept in memory alone.
    pub fn in_memory(exam: Exam) -> Self {
        Self::new(exam, Box::new(InMemory::default()))
    }

    /// The exam of another seat, which is kept there, for whoever looks on.
    pub fn looked_on(exam: Exam) -> Self {
        Self::new(exam, Box::new(InMemory::of_another()))
    }

    /// The open exam: its standing steps and the state they add up to.
    pub fn exam(&self) -> &Exam {
        &self.exam
    }

    /// The guide of the exam as it stands.
    pub fn guide(&self) -> &Guide {
        &self.guide
    }

    /// The state of the exam now.
    pub fn state(&self) -> &State {
        self.exam.state()
    }

    /// Begins an exam of a practice eye, kept apart from this one: neither knows of the other.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn sit(&self, opening: Opening) -> Result<Self, RecordError> {
        let (exam, journal) = self.journal.sit(opening)?;
        Ok(Self::new(exam, journal))
    }

    /// Which of several practice eyes, from 1, have sat and ended by a text.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn ended(&self, who: &str) -> Result<BTreeSet<u16>, RecordError> {
        self.journal.ended(who)
    }

    /// The practice exam that was begun last and has not ended, where there is one.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn last_sitting(&self) -> Result<Option<Self>, RecordError> {
        Ok(self.journal.last_sitting()?.map(|(exam, journal)| Self::new(exam, journal)))
    }

    /// Whether steps outlive the program.
    pub fn lasts(&self) -> bool {
        self.journal.lasts()
    }

    /// What the disk said when it did not take what was saved, once it did not.
    pub fn disk_failure(&self) -> Option<String> {
        self.journal.disk_failure()
    }

    /// Has somebody told once [`Session::disk_failure`] has something to say, from another thread.
    pub fn when_the_disk_fails(&self, tell: Box<dyn FnOnce() + Send>) {
        self.journal.when_the_disk_fails(tell);
    }

    /// A time of the day in the time zone of this computer, like `10:40`.
    pub fn local_time(&self, at: Timestamp) -> String {
        self.journal.local_time(at)
    }

    /// What counts as now.
    pub fn clock(&self) -> Timestamp {
        self.journal.clock()
    }

    /// A sitting at a drill that begins; nothing is kept before its first answer.
    pub fn begin_drill(&self) -> DrillSitting {
        self.journal.begin_drill()
    }

    /// Keeps an answer of a sitting at a drill.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn note_drill(&mut self, sitting: DrillSitting, answered: &Answered) -> Result<(), RecordError> {
        self.journal.note_drill(sitting, answered)
    }

    /// What was drilled so far.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn drilled(&self) -> Result<DrilledSoFar, RecordError> {
        self.journal.drilled()
    }

    /// How long the exam was worked at, in minutes; `None` where no times are kept.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn minutes(&self) -> Result<Option<f64>, RecordError> {
        self.journal.minutes()
    }

    /// The number of the exam in its logbook.
    pub fn exam_number(&self) -> Option<u64> {
        self.journal.exam_number()
    }

    /// By what other seats know the box: none where its file has no `id`, or nothing is kept.
    pub fn key_for_others(&self) -> Option<String> {
        self.journal.key_for_others()
    }

    /// What names the exam: `Exam 14`, or `Exam` where it has no number.
    pub fn heading(&self) -> String {
        self.exam_number().map_or_else(|| "Exam".to_owned(), |number| format!("Exam {number}"))
    }

    /// Takes one step: checked once, by the guide's doors or here, saved, and only then accepted. An empty step is none.
    ///
    /// # Errors
    /// When the exam refuses it or it cannot be saved.
    ///
    /// # Panics
    /// When the step was checked by another exam, or before the last step of this one: nothing is saved then.
    pub fn take(&mut self, step: impl Into<Step>) -> Result<(), StepError> {
        if let Some(checked) = self.checked(step.into())? {
            self.journal.save(&checked)?;
            self.exam.accept(checked);
            self.guide.follow(&self.exam);
        }
        Ok(())
    }

    /// The step as the exam takes it; `None` when nothing is in it.
    fn checked(&self, step: Step) -> Result<Option<CheckedStep>, ExamError> {
        if step.events().is_empty() {
            return Ok(None);
        }
        match step {
            Step::Events(events) => self.exam.check(events).map(Some),
            Step::Checked(checked) => {
                checked.must_be_next_of(&self.exam);
                Ok(Some(*checked))
            }
        }
    }

    /// How the examiner's retinoscopy in the latest closed exams differs steadily from what was then found, where it does.
    ///
    /// # Errors
    /// When those exams could not be read as this one began.
    pub fn earlier_retinoscopy(&self) -> Result<Option<EarlierRetinoscopy>, &RecordError> {
        self.earlier.as_ref().map(|earlier| earlier.retinoscopy)
    }

    /// What the examiner's latest closed exams say: bias and spread of retinoscopy, and how often an answer changed.
    ///
    /// # Errors
    /// When those exams could not be read as this one began.
    pub fn earlier_exams(&self) -> Result<EarlierExams, &RecordError> {
        self.earlier.as_ref().map(|earlier| earlier.exams)
    }

    /// The exams that have every word in their label, number, date or outcome, or its seat, the latest first, those of other seats
    /// last; every exam where no word is named, and none without a logbook.
    ///
    /// # Errors
    /// When one's own cannot be read.
    pub fn exams(&self, search: &str) -> Result<ListedExams, RecordError> {
        self.journal.exams(search)
    }

    /// The line of one exam in a list; what cannot be read is said in it.
    pub fn line(&self, exam: &ListedExam, form: CylinderForm) -> ExamLine {
        self.journal.line(exam, form)
    }

    /// One exam, to be read.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(&self, exam: &ListedExam, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        self.journal.read(exam, form)
    }

    /// Why an exam that was read is not to be read any more, where it was erased since then or is kept no longer.
    pub fn gone(&self, exam: &ListedExam) -> Option<RecordError> {
        self.journal.gone(exam)
    }

    /// Adds to a closed exam other than the open one.
    ///
    /// # Errors
    /// When it is not closed, open elsewhere, or cannot be written.
    pub fn amend(&mut self, exam: u64, text: &str) -> Result<(), RecordError> {
        self.journal.amend(exam, Event::Amended(text.to_owned()))
    }

    /// Notes that the glasses of a closed exam came back, this one too.
    ///
    /// # Errors
    /// When nothing was measured or ordered, it is not closed, open elsewhere, or cannot be written.
    pub fn glasses_came_back(&mut self, exam: u64, draft: &GlassesDraft) -> Result<(), RecordError> {
        let event = self.journal.glasses_came_back(exam, draft)?;
        self.add_to(exam, event)
    }

    /// Takes back what was noted last of glasses that came back; it stays readable.
    ///
    /// # Errors
    /// When none stand in the exam, it is open elsewhere, or cannot be written.
    pub fn take_back_glasses(&mut self, exam: u64) -> Result<(), RecordError> {
        let event = self.journal.glasses_taken_back(exam)?;
        self.add_to(exam, event)
    }

    /// Adds to a closed exam: to the open one as a step of it.
    fn add_to(&mut self, exam: u64, event: Event) -> Result<(), RecordError> {
        if self.exam_number() == Some(exam) {
            return Ok(self.take(vec![event])?);
        }
        self.journal.amend(exam, event)
    }

    /// Writes the record of an exam into a file of its own and returns its whole path.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn export(&self, exam: &ListedExam, form: CylinderForm, as_form: RecordForm) -> Result<PathBuf, RecordError> {
        self.journal.export(exam, form, as_form)
    }

    /// A box as it is now: the one of the exam, or another that is known, by what it is known.
    ///
    /// # Errors
    /// When it is not known, or cannot be read.
    pub fn box_now(&self, other: Option<&str>) -> Result<BoxNow, RecordError> {
        self.journal.box_now(&self.exam, other)
    }

    /// A box with all that was noted of it: the one of the exam, or another that is known, by what it is known.
    ///
    /// # Errors
    /// When it is not known, or cannot be read.
    pub fn box_on_record(&self, other: Option<&str>) -> Result<BoxOnRecord, RecordError> {
        self.journal.box_on_record(other)
    }

    /// Every box that is known.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn boxes(&self) -> Result<Vec<BoxKnown>, RecordError> {
        self.journal.boxes()
    }

    /// Notes what happened to a box, all of it or nothing. The open exam goes on without what went away: what stands in its
    /// frame cannot.
    ///
    /// # Errors
    /// When the box refuses it, or it cannot be saved; nothing is noted then.
    pub fn change_box(&mut self, other: Option<&str>, to_note: &ToNote) -> Result<(), RecordError> {
        self.journal.change_box(&self.exam, other, to_note)?;
        self.learn_of_the_box()
    }

    /// Takes back what was noted of a box last, and gives what that was.
    ///
    /// # Errors
    /// When there is nothing, something rests on it, or it cannot be saved.
    pub fn take_back_of_box(&mut self, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        let slip = self.journal.take_back_of_box(&self.exam, other)?;
        self.learn_of_the_box()?;
        Ok(slip)
    }

    /// Writes a new box of a template that comes with the program. Returns by what it is known, and the whole path of its file.
    ///
    /// # Errors
    /// When there is no such template, or the file cannot be written.
    pub fn new_box(&mut self, name: &str, template: &str) -> Result<(String, PathBuf), RecordError> {
        self.journal.new_box(name, template)
    }

    /// Learns of a box by its file. Returns by what it is known.
    ///
    /// # Errors
    /// When the file has faults, or it has to be asked first whether it is a box that is known by its name.
    pub fn know_box(&mut self, file: &Path) -> Result<String, RecordError> {
        self.journal.know_box(file)
    }

    /// Has exams be on another box that is known, this one too where nothing was done in it; `None` where something was, and
    /// nothing is changed then. Else returns what has to be said of the box.
    ///
    /// # Errors
    /// When it is not known, cannot be read, or another program has it; this exam goes on then.
    pub fn go_over_to_box(&mut self, other: &str) -> Result<Option<Vec<Note>>, RecordError> {
        if !self.exam.is_untouched() {
            return Ok(None);
        }
        let (exam, notes) = self.journal.go_over_to_box(&self.exam, other)?;
        self.exam = exam;
        self.guide.follow(&self.exam);
        Ok(Some(notes))
    }

    /// Writes a new frame and has exams be on it: this one too where nothing was done in it, else the next. Returns the whole
    /// path of its file, and whether this exam is on it.
    ///
    /// # Errors
    /// When the file cannot be written, or this exam cannot begin again.
    pub fn new_frame(&mut self, frame: &DeclaredFrame) -> Result<(PathBuf, bool), RecordError> {
        let file = self.journal.new_frame(frame)?;
        Ok((file, self.begin_again_if_untouched()?))
    }

    /// Has exams be on the frame of a file, as [`Session::new_frame`]. Returns what it is called, and whether this exam is on it.
    ///
    /// # Errors
    /// When the file has faults, or this exam cannot begin again.
    pub fn use_frame(&mut self, file: &Path) -> Result<(String, bool), RecordError> {
        let frame = self.journal.use_frame(file)?;
        Ok((frame.name, self.begin_again_if_untouched()?))
    }

    fn begin_again_if_untouched(&mut self) -> Result<bool, RecordError> {
        let untouched = self.exam.is_untouched();
        if untouched {
            self.begin_another(Step::default(), None)?;
        }
        Ok(untouched)
    }

    /// Checks a bag out: it is written as a box of its own, and its pieces are lent. Returns the whole path of its file.
    ///
    /// # Errors
    /// When the file cannot be written, the box refuses it, or it cannot be saved; nothing is noted then.
    pub fn check_out(&mut self, other: Option<&str>, bag: &BagOut) -> Result<PathBuf, RecordError> {
        let file = self.journal.check_out(other, bag)?;
        self.learn_of_the_box()?;
        Ok(file)
    }

    /// The stock-take of a box that goes on, or a new one, of which nothing is kept yet.
    ///
    /// # Errors
    /// When the box is not known, or cannot be read.
    pub fn stock_take(&self, other: Option<&str>) -> Result<StockTake, RecordError> {
        self.journal.stock_take(&self.exam, other)
    }

    /// Keeps a stock-take that goes on; without one, what was kept is given up.
    ///
    /// # Errors
    /// When it cannot be saved.
    pub fn keep_stock_take(&mut self, other: Option<&str>, take: Option<&StockTake>) -> Result<(), RecordError> {
        self.journal.keep_stock_take(other, take)
    }

    /// Ends a stock-take: what it came to is noted, all of it or nothing.
    ///
    /// # Errors
    /// When the box refuses it, or it cannot be saved; it goes on then.
    pub fn end_stock_take(&mut self, other: Option<&str>, ending: &Ending) -> Result<(), RecordError> {
        self.journal.end_stock_take(&self.exam, other, ending)?;
        self.learn_of_the_box()
    }

    /// The exam goes on with its box as it is by now.
    fn learn_of_the_box(&mut self) -> Result<(), RecordError> {
        if let Some(exam) = self.journal.with_box_by_now(&self.exam)? {
            self.exam = exam;
            self.guide.follow(&self.exam);
        }
        Ok(())
    }

    /// Begins another exam with the same box and frame, as their files are now, and goes over to it, once the one before
    /// has taken its last step; an empty one leaves it as it is. Returns what has to be said of box and frame.
    ///
    /// # Errors
    /// When the other cannot be begun, or the last step cannot be taken: the exam before goes on then as it was.
    pub fn begin_another(
        &mut self,
        last_step: impl Into<Step>,
        caller: Option<&Caller>,
    ) -> Result<Vec<Note>, RecordError> {
        let last = self.checked(last_step.into()).map_err(StepError::from)?;
        let (exam, notes) = self.journal.begin_another(&self.exam, last.as_ref(), caller)?;
        self.go_over_to(exam);
        Ok(notes)
    }

    /// Goes over to the exam of somebody of the open day that stands open, once this one has taken its last step. Returns what
    /// has to be said of it.
    ///
    /// # Errors
    /// When that person has no open exam with this box, or the last step cannot be taken: this exam goes on then.
    pub fn take_up(&mut self, last_step: impl Into<Step>, number: u32) -> Result<Vec<Note>, RecordError> {
        let last = self.checked(last_step.into()).map_err(StepError::from)?;
        let (exam, notes) = self.journal.take_up(&self.exam, last.as_ref(), number)?;
        self.go_over_to(exam);
        Ok(notes)
    }

    fn go_over_to(&mut self, exam: Exam) {
        self.exam = exam;
        self.guide.follow(&self.exam);
        self.earlier = earlier(self.journal.as_ref());
    }

    /// The open day, or the one that ended last, as it stands now; `None` where no day ever began.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn day(&self) -> Result<Option<DayNow>, RecordError> {
        self.journal.day(&self.exam)
    }

    /// Begins a day on the box, the frame and the room of the exam.
    ///
    /// # Errors
    /// When another day has not ended, or it cannot be saved.
    pub fn begin_day(&mut self, place: Option<String>) -> Result<(), RecordError> {
        self.journal.begin_day(&self.exam, place)
    }

    /// Notes what happened in the open day, all of it or nothing.
    ///
    /// # Errors
    /// When the day refuses it, none is open, or it cannot be saved; nothing is noted then.
    pub fn note_in_day(&mut self, events: &[DayEvent]) -> Result<(), RecordError> {
        self.journal.note_in_day(events)
    }

    /// Has ready-made pairs be given from the shelf of a file in the open day.
    ///
    /// # Errors
    /// When the file has faults, no day is open, or it cannot be saved. Returns what the shelf is called.
    pub fn use_shelf(&mut self, file: &Path, limits: ReadyMadeLimits) -> Result<String, RecordError> {
        let shelf = read_shelf(file)?;
        self.journal.use_shelf(&shelf, limits)?;
        Ok(shelf.name)
    }

    /// Takes back what was noted last of the day, and gives what that was in words.
    ///
    /// # Errors
    /// When there is nothing to take back, or it cannot be saved.
    pub fn undo_in_day(&mut self) -> Result<String, RecordError> {
        self.journal.undo_in_day()
    }

    /// The running number of the person of the open day whose exam this is.
    pub fn person_of_day(&self) -> Option<u32> {
        self.journal.person()
    }
}

fn earlier(journal: &dyn Journal) -> Result<Earlier, RecordError> {
    let pairs = journal.retinoscopy_pairs()?;
    let bias = retinoscopy_bias(&pairs);
    let exams = EarlierExams {
        eyes: pairs.len(),
        differs: bias.map(|bias| bias.mean).unwrap_or_default(),
        spread: bias.map(|bias| bias.spread).unwrap_or_default(),
        repeats: journal.repeats()?,
    };
    Ok(Earlier { exams, retinoscopy: bias.and_then(|bias| bias.earlier()) })
}
