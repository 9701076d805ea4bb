//! A day that nothing keeps: it holds as long as the program does.

use std::collections::HashMap;

use jiff::Timestamp;
use uuid::Uuid;

use super::days::DayNow;
use super::error::RecordError;
use crate::day::{CalledIn, Caller, Day, DayEvent, DayRefusal, DaySettings, ExamOfPerson};
use crate::exam::{CheckedStep, Event, Exam, Outcome, drops};
use crate::logbook::{DayId, LogbookError};

/// The day in memory, with the exams of it.
#[derive(Debug, Clone, Default)]
pub(super) struct DayInMemory {
    day: Option<Day>,
    /// What was noted, in order, each entry as it was noted.
    noted: Vec<(Timestamp, Vec<DayEvent>)>,
    /// Each exam of the day that is not the open one, as it stood, and when it was closed.
    exams: HashMap<Uuid, (Exam, Option<Timestamp>)>,
    /// The exams that began, in order, by the places of their identities.
    begun: u128,
    /// When the open exam was closed, if it was.
    closed: Option<Timestamp>,
    /// Whose exam is open.
    pub(super) open: Option<(Uuid, u32)>,
}

impl DayInMemory {
    pub(super) fn begin(&mut self, exam: &Exam, place: Option<String>, at: Timestamp) -> Result<(), RecordError> {
        if let Some(day) = self.day.as_ref().filter(|day| day.ended.is_none()) {
            let (began, place) = (day.began, day.settings.place.clone());
            return Err(LogbookError::DayOpen { began, place }.into());
        }
        let settings = DaySettings::of(exam.state(), place);
        *self = Self { noted: vec![(at, vec![DayEvent::Began(settings.clone())])], ..Self::default() };
        self.day = Some(Day::new(settings, at));
        Ok(())
    }

    pub(super) fn now(&self, open: &Exam, at: Timestamp) -> Option<DayNow> {
        let day = self.day.clone()?;
        let of_person = |id: Uuid| {
            let is_open = self.open.is_some_and(|(exam, _)| exam == id);
            let (exam, closed) = match self.exams.get(&id) {
                Some((exam, closed)) if !is_open => (exam, *closed),
                Some(_) | None => (open, self.closed),
            };
            let state = exam.state();
            ExamOfPerson {
                exam: u64::try_from(id.as_u128()).unwrap_or_default(),
                label: state.person.label.clone(),
                closed,
                outcome: state.outcome.clone(),
                drops_ready: drops::ready(&state.person.drops_put),
            }
        };
        Some(DayNow::made(DayId::new(Uuid::nil()), day, None, Vec::new(), |id| Some(of_person(id)), at))
    }

    pub(super) fn note(&mut self, events: &[DayEvent], at: Timestamp) -> Result<(), RecordError> {
        let day = self.day.as_mut().ok_or(RecordError::NoDay)?;
        let noted = day.checked(events, at).map_err(LogbookError::from)?;
        for event in &noted {
            day.apply(event, at);
        }
        self.noted.push((at, noted));
        Ok(())
    }

    pub(super) fn undo(&mut self) -> Result<String, RecordError> {
        let can = self.noted.last().is_some_and(|(_, events)| events.iter().all(DayEvent::can_be_undone));
        let Some((_, slip)) = self.noted.pop_if(|_| can) else {
            return Err(LogbookError::NothingToTakeBackOfDay.into());
        };
        if let Some(before) = self.day.as_ref() {
            let mut day = Day::new(DaySettings::default(), before.began);
            self.noted.iter().for_each(|(at, events)| events.iter().for_each(|event| day.apply(event, *at)));
            self.day = Some(day);
        }
        Ok(slip.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
    }

    /// The exam before goes away from the screen, closed or not, and that of the caller begins: gives its first step.
    pub(super) fn call(&mut self, before: &Exam, caller: &Caller, at: Timestamp) -> Result<Vec<Event>, RecordError> {
        let day = self.day.as_ref().ok_or(RecordError::NoDay)?;
        let exam = Uuid::from_u128(self.begun + 1);
        let CalledIn { number, events, beginning } = day.call(caller, exam, at).map_err(LogbookError::from)?;
        self.note(&events, at)?;
        self.begun += 1;
        self.leave(before, at)?;
        self.open = Some((exam, number));
        Ok(beginning)
    }

    /// The open exam goes away from the screen: closed, or its person waits.
    pub(super) fn leave(&mut self, exam: &Exam, at: Timestamp) -> Result<(), RecordError> {
        let Some((id, number)) = self.open.take() else { return Ok(()) };
        self.exams.insert(id, (exam.clone(), self.closed.take()));
        if exam.state().finished { Ok(()) } else { self.note(&[DayEvent::Aside { number }], at) }
    }

    /// Notes the pair that the open exam has once it has taken a step, and the one that comes back for it.
    pub(super) fn note_pair(&mut self, step: &CheckedStep, at: Timestamp) -> Result<(), RecordError> {
        let (Some(day), Some((exam, number))) = (self.day.as_ref(), self.open) else { return Ok(()) };
        if !step.events().iter().any(Event::may_change_outcome) {
            return Ok(());
        }
        let off = step.after().outcome.as_ref().and_then(Outcome::off_the_shelf);
        let events = day.pairs_to_note(number, exam, off.as_ref());
        if events.is_empty() { Ok(()) } else { self.note(&events, at) }
    }

    /// The open exam is closed.
    pub(super) fn close(&mut self, at: Timestamp) -> Result<(), RecordError> {
        let Some((_, number)) = self.open else { return Ok(()) };
        self.closed = Some(at);
        self.note(&[DayEvent::Closed { number }], at)
    }

    /// The open exam of somebody, which is gone over to.
    pub(super) fn take_up(&mut self, number: u32, before: &Exam, at: Timestamp) -> Result<Exam, RecordError> {
        let day = self.day.as_ref().ok_or(RecordError::NoDay)?;
        let person = day.person(number).ok_or(LogbookError::from(DayRefusal::Nobody { number }))?;
        let open = person.last_exam().and_then(|id| Some((id, self.exams.get(&id)?.0.clone())));
        let (id, exam) = open.filter(|(_, exam)| !exam.state().finished).ok_or(RecordError::NoOpenExam { number })?;
        self.note(&[DayEvent::Called { number, exam: id }], at)?;
        self.leave(before, at)?;
        self.open = Some((id, number));
        Ok(exam)
    }
}
