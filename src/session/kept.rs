//! An exam in a logbook, with the claim on its box.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::box_now::{BagOut, BoxKnown, BoxNow, BoxOnRecord, ToNote, of_the_exam};
use super::boxes_kept::{Boxes, BoxesSeen};
use super::day_kept;
use super::days::DayNow;
use super::drilling::{DrillSitting, DrilledSoFar};
use super::erasing::erase_what_was_agreed;
use super::error::{RecordError, SaveError, StepError};
use super::fresh::{Fresh, KeptBox, Sources};
use super::glasses;
use super::journal::{Journal, Sitting};
use super::known::KnownBox;
use super::meanwhile::without_what_went_away;
use super::note::Note;
use super::practising::{self, Sat, practice_logbook};
use super::procedures::take_over;
use super::records::{ExamLine, ListedExam, ListedExams, OpenedRecord, Words, bare_line, line, unreadable_line};
use super::writing::{Writing, exam_number, number};
use crate::day::{Caller, DayEvent, DayPerson};
use crate::exam::came_back::asked::GlassesDraft;
use crate::exam::came_back::found::last_standing;
use crate::exam::{CheckedStep, Event, Exam, Opening, ReadyMadeLimits, Repeats};
use crate::export::saving::save_beside;
use crate::export::{RecordForm, listing};
use crate::frame::{DeclaredFrame, FittedFrame, read_frame};
use crate::guide::PROCEDURES_VERSION;
use crate::kit::document::load::from_anywhere;
use crate::kit::shelf::DeclaredShelf;
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, StockTake};
use crate::logbook::parcels::error::ParcelError;
use crate::logbook::parcels::others::{BareExam, Elsewhere, Others};
use crate::logbook::{
    BeganWith, BoxClaim, BoxKey, ExamInDay, Holder, Indexed, LastUsed, Logbook, LogbookError, NamedBox, OpenExam,
    StoredExam,
};
use crate::optics::{CylinderForm, Power};
use crate::practice::drills::Answered;
use crate::sharing::Heads;

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
    /// The frame of the next exam, where that is another than the frame of this one.
    next_frame: Option<DeclaredFrame>,
    /// Whether it is a practice logbook.
    is_practice: bool,
    /// The exams of other seats, as they were when they were looked for last.
    others: RefCell<Option<OthersRead>>,
}

/// The exams of other seats, and by what each is looked for.
struct OthersRead {
    others: Others,
    index: Vec<(Elsewhere, Indexed)>,
    /// Those of which no more than that they were is left.
    bare: HashMap<Elsewhere, BareExam>,
}

impl OthersRead {
    fn of(others: Others) -> Result<Self, ParcelError> {
        let bare = others.bare()?.into_iter().map(|bare| (bare.name.clone(), bare)).collect();
        Ok(Self { index: others.index()?, bare, others })
    }
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
        Self {
            logbook,
            open,
            in_box,
            claim,
            sources,
            writing,
            next_frame: None,
            is_practice: false,
            others: RefCell::new(None),
        }
    }

    /// Saves the further steps of an exam of a practice eye, from where nothing is learnt.
    ///
    /// # Errors
    /// When today's procedures cannot take it over.
    pub fn sat(sat: Sat, writing: Writing) -> Result<(Exam, Self), StepError> {
        let Sat { logbook, open, in_box, claim, mut exam, procedures_version } = sat;
        let kept = Self::new(logbook, open, in_box, claim, Sources::default(), writing);
        let mut kept = Self { is_practice: true, ..kept };
        take_over(&mut exam, &mut kept, procedures_version)?;
        Ok((exam, kept))
    }

    /// The real logbook, where this is the practice logbook beside it: what was drilled is of the student, whoever sits there.
    fn where_drills_are(&self) -> Result<Option<Logbook>, LogbookError> {
        self.is_practice.then(|| Logbook::open(&practising::real_logbook(self.logbook.path()))).transpose()
    }

    /// The practice logbook that belongs to this one.
    fn practice_logbook(&self) -> PathBuf {
        let path = self.logbook.path();
        if self.is_practice { path.to_owned() } else { practice_logbook(path) }
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
    /// The exams of other seats with these words, as they are now.
    fn others_found(&self, words: &Words) -> Result<Vec<ListedExam>, ParcelError> {
        let is_current = self.others.borrow().as_ref().is_some_and(|read| read.others.is_current());
        if !is_current {
            let others = Others::beside(self.logbook.path())?;
            *self.others.borrow_mut() = others.map(OthersRead::of).transpose()?;
        }
        let others = self.others.borrow();
        let index = others.iter().flat_map(|read| &read.index);
        let found = index.filter(|(_, exam)| words.find(exam, &self.writing));
        Ok(found.map(|(name, _)| ListedExam::Elsewhere(name.clone())).collect())
    }

    /// An exam, to be read.
    fn stored(&self, exam: &ListedExam) -> Result<StoredExam, RecordError> {
        Ok(match exam {
            ListedExam::Own(number) => self.logbook.read_exam(exam_number(*number))?,
            ListedExam::Elsewhere(name) => {
                let others = Others::beside(self.logbook.path())?;
                others.ok_or_else(|| ParcelError::NoSuchExam { name: name.to_string() })?.read_exam(name)?
            }
        })
    }

    /// Notes in the open day that the person is not in this exam any more. Where the day does not take it, the exam itself says
    /// when it was closed, and the list reads it there.
    fn note_end_of_visit(&mut self, event: impl Fn(u32) -> DayEvent, at: Timestamp) {
        if let Some((day, number)) = day_kept::of_exam(&self.logbook, &self.open) {
            let _ = self.logbook.note_in_day(day, &[event(number)], self.writing.examiner(), at);
        }
    }

    /// Takes the last step of this exam, before another is gone over to.
    fn leave(&mut self, last_step: Option<&CheckedStep>, at: Timestamp) -> Result<(), StepError> {
        if let Some(step) = last_step {
            self.save(step)?;
        }
        if last_step.is_none_or(|step| !step.after().finished) {
            self.note_end_of_visit(|number| DayEvent::Aside { number }, at);
        }
        Ok(())
    }

    fn boxes_seen(&self) -> BoxesSeen<'_> {
        let Self { logbook, in_box, sources, writing, .. } = self;
        BoxesSeen { logbook, in_box, sources, writing }
    }

    fn began_with(&self, in_box: NamedBox, applied: Heads) -> BeganWith {
        let by = self.writing.examiner().map(str::to_owned);
        BeganWith { in_box, applied, by, procedures_version: PROCEDURES_VERSION }
    }

    /// Further steps are of an exam that has begun.
    fn go_over_to(&mut self, next: OpenExam, with: BeganWith) -> Result<(), LogbookError> {
        self.open = next;
        self.next_frame = None;
        self.in_box = KeptBox { in_box: with.in_box, applied: Some(with.applied), began_with: None };
        self.logbook.note_exam(&self.claim, self.open.number())
    }

    fn boxes_kept(&mut self) -> Boxes<'_> {
        let Self { logbook, in_box, sources, writing, .. } = self;
        Boxes { logbook, in_box, sources, writing }
    }
}

impl Journal for KeptExam {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        let (by, at) = (self.writing.examiner(), Timestamp::now());
        // a pair that is given is counted off the shelf with the step by which it is
        match day_kept::of_pair(&self.logbook, &self.open, step).map_err(SaveError::new)? {
            Some(day) => self.logbook.append_with_pair(&mut self.open, step, day, by, at),
            None => self.logbook.append(&mut self.open, step, by, at),
        }
        .map_err(SaveError::new)?;
        if step.events().contains(&Event::Finished) {
            self.note_end_of_visit(|number| DayEvent::Closed { number }, at);
        }
        Ok(())
    }

    fn local_time(&self, at: Timestamp) -> String {
        self.writing.local(at).strftime("%H:%M").to_string()
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

    fn note_drill(&mut self, sitting: DrillSitting, answered: &Answered) -> Result<(), RecordError> {
        let by = self.writing.examiner().map(str::to_owned);
        let mut beside = self.where_drills_are()?;
        let logbook = beside.as_mut().unwrap_or(&mut self.logbook);
        Ok(logbook.note_answer(sitting.0, answered, by.as_deref(), Timestamp::now())?)
    }

    fn drilled(&self) -> Result<DrilledSoFar, RecordError> {
        let beside = self.where_drills_are()?;
        let drilled = beside.as_ref().unwrap_or(&self.logbook).drilled()?;
        let unread = drilled.unread.iter().map(ToString::to_string).collect();
        Ok(DrilledSoFar { progress: drilled.progress(), now: self.writing.local(Timestamp::now()), unread })
    }

    fn minutes(&self) -> Result<Option<f64>, RecordError> {
        Ok(Some(self.logbook.read_exam(self.open.number())?.minutes()))
    }

    fn exam_number(&self) -> Option<u64> {
        Some(number(self.open.number()))
    }

    fn key_for_others(&self) -> Option<String> {
        let key = &self.in_box.in_box.key;
        key.is_id().then(|| key.as_str().to_owned())
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        if self.is_practice {
            return Ok(Vec::new());
        }
        Ok(self.logbook.retinoscopy_pairs(LATEST_EXAMS, self.writing.examiner())?)
    }

    fn repeats(&self) -> Result<Repeats, RecordError> {
        if self.is_practice {
            return Ok(Repeats::default());
        }
        Ok(self.logbook.repeats(LATEST_EXAMS, self.writing.examiner())?)
    }

    fn sit(&self, opening: Opening) -> Result<Sitting, RecordError> {
        let sat = Sat::begin(&self.practice_logbook(), opening, self.writing.examiner())?;
        let (exam, kept) = Self::sat(sat, self.writing.clone())?;
        Ok((exam, Box::new(kept)))
    }

    fn ended(&self, who: &str) -> Result<BTreeSet<u16>, RecordError> {
        practising::ended(&self.practice_logbook(), who)
    }

    fn last_sitting(&self) -> Result<Option<Sitting>, RecordError> {
        let Some(sat) = Sat::last(&self.practice_logbook())? else { return Ok(None) };
        let (exam, kept) = Self::sat(sat, self.writing.clone())?;
        Ok(Some((exam, Box::new(kept))))
    }

    fn exams(&self, search: &str) -> Result<ListedExams, RecordError> {
        let words = Words::of(search);
        let own = self.logbook.index()?;
        let own = own.iter().filter(|exam| words.find(exam, &self.writing));
        let mut exams: Vec<ListedExam> = own.map(|exam| ListedExam::Own(number(exam.number))).collect();
        // whatever is wrong with them keeps nobody from one's own
        let others_left_out = match self.others_found(&words) {
            Ok(others) => {
                exams.extend(others);
                None
            }
            Err(error) => Some(error.to_string()),
        };
        Ok(ListedExams { exams, others_left_out })
    }

    fn line(&self, exam: &ListedExam, form: CylinderForm) -> ExamLine {
        let writing = self.writing.in_form(form);
        let others = self.others.borrow();
        let read = match (exam, others.as_ref()) {
            (ListedExam::Own(number), _) => self.logbook.exam_line(exam_number(*number)).ok(),
            (ListedExam::Elsewhere(_), None) => None,
            (ListedExam::Elsewhere(name), Some(read)) => match read.bare.get(name) {
                Some(bare) => return bare_line(bare),
                None => read.others.exam_line(name).ok().map(|others| others.line),
            },
        };
        read.map_or_else(|| unreadable_line(exam), |summary| line(exam, &summary, &writing))
    }

    fn gone(&self, exam: &ListedExam) -> Option<RecordError> {
        let refused: RecordError = match exam {
            ListedExam::Own(number) => self.logbook.refuse_if_erased(exam_number(*number)).err()?.into(),
            ListedExam::Elsewhere(name) => {
                Others::beside(self.logbook.path()).ok()??.refuse_if_bare(name).err()?.into()
            }
        };
        refused.is_of_what_is_gone().then_some(refused)
    }

    fn read(&self, exam: &ListedExam, form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        let stored = self.stored(exam)?;
        let state = stored.exam.state();
        let text = listing::show(&self.writing.in_form(form).record(&stored), &state.trail);
        Ok(OpenedRecord {
            exam: exam.clone(),
            closed: state.finished,
            order: glasses::order_of(&stored).ok().map(Box::new),
            came_back: last_standing(&state.came_back).is_some(),
            held: match exam {
                ListedExam::Own(_) => self.held_elsewhere(&stored)?.map(|holder| holder.to_string()),
                ListedExam::Elsewhere(_) => None,
            },
            lines: text.lines().map(str::to_owned).chain(stored.unread).collect(),
        })
    }

    fn amend(&mut self, exam: u64, added: Event) -> Result<(), RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        if let Some(holder) = self.held_elsewhere(&stored)? {
            return Err(RecordError::OpenElsewhere { exam, holder });
        }
        let checked = stored.exam.check(vec![added]).map_err(StepError::from)?;
        Ok(self.logbook.amend(&stored.open, checked.events(), self.writing.examiner(), Timestamp::now())?)
    }

    fn glasses_came_back(&self, exam: u64, draft: &GlassesDraft) -> Result<Event, RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        glasses::came_back(&self.logbook, &stored, draft, Timestamp::now(), self.writing.examiner())
    }

    fn glasses_taken_back(&self, exam: u64) -> Result<Event, RecordError> {
        let stored = self.logbook.read_exam(exam_number(exam))?;
        glasses::taken_back(&stored, Timestamp::now(), self.writing.examiner())
    }

    fn export(&self, exam: &ListedExam, form: CylinderForm, as_form: RecordForm) -> Result<PathBuf, RecordError> {
        let record = self.writing.in_form(form).record(&self.stored(exam)?);
        Ok(save_beside(&format!("exam-{exam}"), as_form.ending(), &as_form.files(&record)?)?)
    }

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        let now = self.boxes_seen().now(other)?;
        if !now.is_of_the_exam {
            return Ok(now);
        }
        Ok(of_the_exam(now, exam))
    }

    fn box_on_record(&self, other: Option<&str>) -> Result<BoxOnRecord, RecordError> {
        self.boxes_seen().on_record(other)
    }

    fn boxes(&self) -> Result<Vec<BoxKnown>, RecordError> {
        self.boxes_seen().all()
    }

    fn change_box(&mut self, _exam: &Exam, other: Option<&str>, to_note: &ToNote) -> Result<(), RecordError> {
        self.boxes_kept().note(other, to_note)
    }

    fn take_back_of_box(&mut self, _exam: &Exam, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        self.boxes_kept().take_back(other)
    }

    fn new_box(&mut self, name: &str, template: &str) -> Result<(String, PathBuf), RecordError> {
        self.boxes_kept().new_box(name, template)
    }

    fn know_box(&mut self, file: &Path) -> Result<String, RecordError> {
        self.boxes_kept().know(file)
    }

    fn go_over_to_box(&mut self, exam: &Exam, other: &str) -> Result<(Exam, Vec<Note>), RecordError> {
        let now = Timestamp::now();
        let (named, declared) = self.boxes_seen().declared(Some(other))?;
        let box_file = self.logbook.box_file(&named.key)?;
        let known = KnownBox::of(&self.logbook, named, &declared, box_file.as_deref())?;
        let claim = self.logbook.claim_box(&known.named, now)?;
        let frame = self.next_frame.clone().unwrap_or_else(|| exam.opening().fitted.frame.clone());
        let opening = Opening::of(FittedFrame::new(frame, known.stock));
        let with = self.began_with(known.named, known.applied);
        let next = self.logbook.begin_exam(&opening, &with, now)?;
        self.logbook.put_aside(self.open.number(), now)?;
        self.logbook.remember_last_used(&LastUsed { box_file: box_file.clone(), frame_file: None }, now)?;
        self.sources.box_file = box_file;
        // the box before is free for other programs from here on
        self.claim = claim;
        self.go_over_to(next, with)?;
        Ok((Exam::open(opening), known.notes))
    }

    fn new_frame(&mut self, frame: &DeclaredFrame) -> Result<PathBuf, RecordError> {
        let file = self.boxes_kept().new_frame_file(frame)?;
        self.use_frame(&file)?;
        Ok(file)
    }

    fn use_frame(&mut self, file: &Path) -> Result<DeclaredFrame, RecordError> {
        let frame = read_frame(file)?;
        let file = from_anywhere(file).map_err(|error| RecordError::NoPath { file: file.to_owned(), error })?;
        let used = LastUsed { box_file: None, frame_file: Some(file.clone()) };
        self.logbook.remember_last_used(&used, Timestamp::now())?;
        self.sources.frame_file = Some(file);
        self.next_frame = Some(frame.clone());
        Ok(frame)
    }

    fn check_out(&mut self, other: Option<&str>, bag: &BagOut) -> Result<PathBuf, RecordError> {
        self.boxes_kept().check_out(other, bag)
    }

    fn with_box_by_now(&mut self, exam: &Exam) -> Result<Option<Exam>, RecordError> {
        if exam.state().finished {
            return Ok(None);
        }
        let stored = self.logbook.read_exam(self.open.number())?;
        let began_with = stored.exam.opening().fitted.stock.clone();
        let applied = stored.beginning.applied.as_ref();
        let later = self.logbook.changes_since(&self.in_box.in_box.key, applied, &began_with)?.later;
        let number = number(self.open.number());
        let (by_now, _) = without_what_went_away(stored.exam, &stored.steps, &later, number);
        if by_now.opening() == exam.opening() {
            return Ok(None);
        }
        self.in_box.began_with.get_or_insert(began_with);
        Ok(Some(by_now))
    }

    fn stock_take(&self, _exam: &Exam, other: Option<&str>) -> Result<StockTake, RecordError> {
        self.boxes_seen().stock_take(other)
    }

    fn keep_stock_take(&mut self, other: Option<&str>, take: Option<&StockTake>) -> Result<(), RecordError> {
        match take {
            Some(take) => self.boxes_kept().keep_stock_take(other, take),
            None => self.boxes_kept().give_up_stock_take(other),
        }
    }

    fn end_stock_take(&mut self, _exam: &Exam, other: Option<&str>, ending: &Ending) -> Result<(), RecordError> {
        self.boxes_kept().end_stock_take(other, ending)
    }

    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        let now = Timestamp::now();
        let before = &exam.opening().fitted;
        let frame = self.next_frame.as_ref().unwrap_or(&before.frame);
        let Fresh { in_box, applied, fitted, mut notes } =
            Fresh::after(frame, &before.stock, &self.in_box, &self.sources, &self.logbook)?;
        let opening = Opening::of(fitted);
        let with = self.began_with(in_box, applied);
        let (next, begun) = match caller {
            Some(caller) => {
                let day = day_kept::open(&self.logbook)?.id;
                let ExamInDay { open, exam, .. } = self.logbook.begin_exam_in_day(&opening, &with, day, caller, now)?;
                (open, exam)
            }
            None => (self.logbook.begin_exam(&opening, &with, now)?, Exam::open(opening)),
        };
        if let Err(error) = self.leave(last_step, now) {
            self.logbook.put_aside(next.number(), now)?;
            return Err(error.into());
        }
        if last_step.is_none() && exam.is_untouched() {
            self.logbook.put_aside(self.open.number(), now)?;
        }
        self.go_over_to(next, with)?;
        // nobody is before the frame yet, and what was on the screen is not any more
        notes.extend(erase_what_was_agreed(&mut self.logbook));
        Ok((begun, notes))
    }

    fn day(&self, _exam: &Exam) -> Result<Option<DayNow>, RecordError> {
        day_kept::now(&self.logbook, Timestamp::now())
    }

    fn begin_day(&mut self, exam: &Exam, place: Option<String>) -> Result<(), RecordError> {
        day_kept::begin(&mut self.logbook, exam, place, self.writing.examiner(), Timestamp::now())
    }

    fn note_in_day(&mut self, events: &[DayEvent]) -> Result<(), RecordError> {
        day_kept::note(&mut self.logbook, events, self.writing.examiner(), Timestamp::now())
    }

    fn use_shelf(&mut self, shelf: &DeclaredShelf, limits: ReadyMadeLimits) -> Result<(), RecordError> {
        day_kept::use_shelf(&mut self.logbook, shelf, limits, self.writing.examiner(), Timestamp::now())
    }

    fn undo_in_day(&mut self) -> Result<String, RecordError> {
        day_kept::undo(&mut self.logbook, self.writing.examiner(), Timestamp::now())
    }

    fn person(&self) -> Option<u32> {
        day_kept::of_exam(&self.logbook, &self.open).map(|(_, number)| number)
    }

    fn take_up(
        &mut self,
        _exam: &Exam,
        last_step: Option<&CheckedStep>,
        number: u32,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        let now = Timestamp::now();
        let on_record = day_kept::open(&self.logbook)?;
        let none = || RecordError::NoOpenExam { number };
        let id = on_record.day.person(number).and_then(DayPerson::last_exam).ok_or_else(none)?;
        let lines = self.logbook.exams_of_day(&on_record.day)?;
        let line = lines.into_iter().find(|line| line.id.uuid() == id && line.finished.is_none()).ok_or_else(none)?;
        if !self.logbook.is_same_box(&line.in_box.key, &self.in_box.in_box.key)? {
            return Err(none());
        }
        let stored = self.logbook.read_exam(line.number)?;
        if let Some(holder) = self.held_elsewhere(&stored)? {
            return Err(RecordError::OpenElsewhere { exam: super::writing::number(stored.number()), holder });
        }
        let called = DayEvent::Called { number, exam: id };
        self.logbook.note_in_day(on_record.id, &[called], self.writing.examiner(), now)?;
        if let Err(error) = self.leave(last_step, now) {
            let aside = DayEvent::Aside { number };
            self.logbook.note_in_day(on_record.id, &[aside], self.writing.examiner(), now)?;
            return Err(error.into());
        }
        let applied = stored.beginning.applied;
        let began_with = stored.exam.opening().fitted.stock.clone();
        let later = self.logbook.changes_since(&line.in_box.key, applied.as_ref(), &began_with)?.later;
        let (mut exam, mut notes) =
            without_what_went_away(stored.exam, &stored.steps, &later, super::writing::number(line.number));
        self.open = stored.open;
        self.in_box = KeptBox { in_box: line.in_box, applied, began_with: Some(began_with) };
        self.logbook.note_exam(&self.claim, self.open.number())?;
        let begun = stored.beginning.procedures_version;
        let led_by = take_over(&mut exam, self, begun)?;
        let number = super::writing::number(line.number);
        notes.extend(led_by.map(|begun| Note::OtherProcedures { exam: number, begun, now: PROCEDURES_VERSION }));
        Ok((exam, notes))
    }
}
