//! A journal that keeps nothing: what happens to the box holds as long as the exam does.

use std::collections::HashMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::box_now::{BoxNow, Happened, LastCount, OnLoan, ToNote, with_the_frame_of};
use super::day_in_memory::DayInMemory;
use super::days::DayNow;
use super::drilling::{DrillSitting, DrilledSoFar};
use super::error::{RecordError, SaveError, StepError};
use super::journal::{Journal, Sitting};
use super::meanwhile::with_the_box_as_it_is;
use super::note::Note;
use crate::day::{Caller, DayEvent, DayShelf};
use crate::exam::{CheckedStep, Event, Exam, Opening, ReadyMadeLimits};
use crate::kit::shelf::DeclaredShelf;
use crate::kit::stock_take::Ending;
use crate::kit::{BoxChange, OwnMarks, Stock, StockTake, Tray};
use crate::practice::drills::progress::Sitting as Sat;
use crate::practice::drills::{Answered, Progress};

/// Saves nothing: for an exam that was asked to run without a logbook. What happens to its box holds as long as it does.
#[derive(Debug, Clone, Default)]
pub struct InMemory {
    /// The time that counts as now; the clock's where none is given.
    now: Option<Timestamp>,
    /// Whether whoever examines keeps it: here somebody looks on.
    is_kept_elsewhere: bool,
    /// The box as the exam began with it, once something happened to it.
    began_with: Option<Stock>,
    /// What happened, entry by entry.
    happened: Vec<Vec<BoxChange>>,
    /// What was taken back of it.
    slips: Vec<Vec<BoxChange>>,
    take: Option<StockTake>,
    day: DayInMemory,
    last_counted: Option<LastCount>,
    /// Each sitting at a drill, with its answers so far.
    drilled: Vec<(DrillSitting, Sat)>,
}

impl InMemory {
    /// One whose clock stands.
    pub fn at(now: Timestamp) -> Self {
        Self { now: Some(now), ..Self::default() }
    }

    /// One of an exam that whoever examines keeps.
    pub fn of_another() -> Self {
        Self { is_kept_elsewhere: true, ..Self::default() }
    }

    fn now(&self) -> Timestamp {
        self.now.unwrap_or_else(Timestamp::now)
    }

    /// The exam once it has taken its last step.
    fn after(&mut self, exam: &Exam, last_step: Option<&CheckedStep>) -> Result<Exam, RecordError> {
        let mut after = exam.clone();
        if let Some(step) = last_step {
            self.save(step).map_err(StepError::from)?;
            after.accept(step.clone());
        }
        Ok(after)
    }

    fn today(&self) -> jiff::civil::Date {
        self.now().to_zoned_datetime(TimeZone::UTC).date()
    }

    fn stock(&self, exam: &Exam) -> Result<Stock, RecordError> {
        let mut stock = self.began_with.clone().unwrap_or_else(|| exam.opening().fitted.stock.clone());
        for change in self.happened.iter().flatten() {
            stock.change(change)?;
        }
        Ok(stock)
    }
}

/// There is no box but that of the exam.
fn of_the_exam(other: Option<&str>) -> Result<(), RecordError> {
    if other.is_some() { Err(RecordError::NoLogbook) } else { Ok(()) }
}

impl Journal for InMemory {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        self.day.note_pair(step, self.now()).map_err(SaveError::new)?;
        if step.events().contains(&Event::Finished) {
            self.day.close(self.now()).map_err(SaveError::new)?;
        }
        Ok(())
    }

    fn note_drill(&mut self, sitting: DrillSitting, answered: &Answered) -> Result<(), RecordError> {
        let now = self.now();
        match self.drilled.iter_mut().find(|(known, _)| *known == sitting) {
            Some((_, sat)) => sat.add(answered, now),
            None => self.drilled.push((sitting, Sat::begin(answered, now))),
        }
        Ok(())
    }

    fn drilled(&self) -> Result<DrilledSoFar, RecordError> {
        let progress = Progress::of(self.drilled.iter().map(|(_, sat)| sat));
        Ok(DrilledSoFar { progress, now: self.now().to_zoned_datetime(TimeZone::UTC), unread: Vec::new() })
    }

    fn sit(&self, opening: Opening) -> Result<Sitting, RecordError> {
        Ok((Exam::open(opening), Box::new(Self { now: self.now, ..Self::default() })))
    }

    fn begin_another(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        let (left, now) = (self.after(exam, last_step)?, self.now());
        let mut begun = Exam::open(exam.opening().clone());
        match caller {
            Some(caller) => {
                let beginning = self.day.call(&left, caller, now)?;
                if !beginning.is_empty() {
                    begun.apply(&beginning).map_err(StepError::from)?;
                }
            }
            None => self.day.leave(&left, now)?,
        }
        Ok((begun, Vec::new()))
    }

    fn day(&self, exam: &Exam) -> Result<Option<DayNow>, RecordError> {
        Ok(self.day.now(exam, self.now()))
    }

    fn begin_day(&mut self, exam: &Exam, place: Option<String>) -> Result<(), RecordError> {
        self.day.begin(exam, place, self.now())
    }

    fn note_in_day(&mut self, events: &[DayEvent]) -> Result<(), RecordError> {
        self.day.note(events, self.now())
    }

    fn use_shelf(&mut self, shelf: &DeclaredShelf, limits: ReadyMadeLimits) -> Result<(), RecordError> {
        self.day.note(&[DayEvent::Shelf(DayShelf::of(shelf, limits, &[]))], self.now())
    }

    fn undo_in_day(&mut self) -> Result<String, RecordError> {
        self.day.undo()
    }

    fn person(&self) -> Option<u32> {
        self.day.open.map(|(_, number)| number)
    }

    fn take_up(
        &mut self,
        exam: &Exam,
        last_step: Option<&CheckedStep>,
        number: u32,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        let (left, now) = (self.after(exam, last_step)?, self.now());
        Ok((self.day.take_up(number, &left, now)?, Vec::new()))
    }

    fn clock(&self) -> Timestamp {
        self.now()
    }

    fn lasts(&self) -> bool {
        self.is_kept_elsewhere
    }

    fn box_now(&self, exam: &Exam, other: Option<&str>) -> Result<BoxNow, RecordError> {
        of_the_exam(other)?;
        let (stock, today) = (self.stock(exam)?, self.today());
        let lent = |change: &BoxChange| {
            let BoxChange::Lent { piece, to, until } = change else { return None };
            let loan = OnLoan { piece: piece.clone(), to: to.clone(), since: today, until: *until };
            stock.get(piece).is_some_and(|stocked| stocked.place.is_lent()).then_some(loan)
        };
        let mut loans: Vec<OnLoan> = Vec::new();
        for loan in self.happened.iter().flatten().rev().filter_map(lent) {
            if loans.iter().all(|later| later.piece != loan.piece) {
                loans.push(loan);
            }
        }
        loans.sort_by(|one, other| (&one.to, one.until).cmp(&(&other.to, other.until)));
        let slip = |change| Happened { is_slip: true, ..Happened::of(change, today, None) };
        let happened = self.happened.iter().flatten().map(|change| Happened::of(change, today, None));
        Ok(BoxNow {
            key: stock.box_name.clone(),
            tray: Tray::of(&[], &stock).rows,
            tray_is_declared: false,
            happened: self.slips.iter().flatten().map(slip).chain(happened).collect(),
            own_marks: OwnMarks::of(self.happened.iter().flatten().cloned()),
            looked: self.happened.iter().flatten().filter(|change| change.looked().is_some()).cloned().collect(),
            loans,
            unsettled: Vec::new(),
            noted_at: HashMap::new(),
            last_counted: self.last_counted.clone(),
            is_being_counted: self.take.is_some(),
            today,
            is_of_the_exam: true,
            notes: Vec::new(),
            stock: with_the_frame_of(stock, exam),
        })
    }

    fn change_box(&mut self, exam: &Exam, other: Option<&str>, to_note: &ToNote) -> Result<(), RecordError> {
        self.box_now(exam, other)?.stock.note_all(&to_note.changes).map_err(|(_, why)| why)?;
        self.began_with.get_or_insert_with(|| exam.opening().fitted.stock.clone());
        self.happened.push(to_note.changes.clone());
        Ok(())
    }

    fn take_back_of_box(&mut self, _exam: &Exam, other: Option<&str>) -> Result<Vec<BoxChange>, RecordError> {
        of_the_exam(other)?;
        let slip = self.happened.pop().ok_or(RecordError::NothingNoted)?;
        self.slips.push(slip.clone());
        Ok(slip)
    }

    fn with_box_by_now(&mut self, exam: &Exam) -> Result<Option<Exam>, RecordError> {
        let Some(began_with) = &self.began_with else { return Ok(None) };
        Ok(with_the_box_as_it_is(exam, began_with, &self.happened.concat()))
    }

    fn stock_take(&self, exam: &Exam, other: Option<&str>) -> Result<StockTake, RecordError> {
        of_the_exam(other)?;
        if let Some(take) = &self.take {
            return Ok(take.clone());
        }
        let stock = self.stock(exam)?;
        Ok(StockTake::begin(&Tray::of(&[], &stock), &stock))
    }

    fn keep_stock_take(&mut self, other: Option<&str>, take: Option<&StockTake>) -> Result<(), RecordError> {
        of_the_exam(other)?;
        self.take = take.cloned();
        Ok(())
    }

    fn end_stock_take(&mut self, exam: &Exam, other: Option<&str>, ending: &Ending) -> Result<(), RecordError> {
        self.change_box(exam, other, &ToNote { changes: ending.changes.clone(), note: None })?;
        self.take = None;
        self.last_counted = Some(LastCount { day: self.today(), count: ending.count.clone() });
        Ok(())
    }
}
