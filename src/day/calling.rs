//! Calling somebody in: the events of a day that it takes, and what the exam of that person begins with.

use jiff::Timestamp;
use uuid::Uuid;

use super::event::{Caller, DayEvent, NewPerson};
use super::people::{Day, DayRefusal};
use crate::exam::{Detail, Event};

/// Somebody who is called in.
#[derive(Debug, Clone, PartialEq)]
pub struct CalledIn {
    /// The running number.
    pub number: u32,
    /// What is to be noted in the day, in this order.
    pub events: Vec<DayEvent>,
    /// The first step of the exam: the room of the day, and what was entered of the person. Empty where nothing is known.
    pub beginning: Vec<Event>,
}

impl Day {
    /// Checks events one after the other as they would happen now; who comes without a number gets the next.
    ///
    /// # Errors
    /// [`DayRefusal`] of the first that cannot be.
    pub fn checked(&self, events: &[DayEvent], at: Timestamp) -> Result<Vec<DayEvent>, DayRefusal> {
        let mut day = self.clone();
        let mut noted = Vec::with_capacity(events.len());
        for event in events {
            let event = match event.without_number() {
                Some(person) => DayEvent::Waits(NewPerson { number: Some(day.next_number()), ..person.clone() }),
                None => event.clone(),
            };
            day.check(&event)?;
            day.apply(&event, at);
            noted.push(event);
        }
        Ok(noted)
    }

    /// Calls somebody in to an exam that begins.
    ///
    /// # Errors
    /// [`DayRefusal::SeenAlready`] where somebody by the number has had an exam, unless it is said that another begins; or
    /// what [`Day::check`] refuses.
    pub fn call(&self, caller: &Caller, exam: Uuid, at: Timestamp) -> Result<CalledIn, DayRefusal> {
        let number = match caller {
            Caller::Number(number) | Caller::Again(number) => *number,
            Caller::New(person) => person.number.unwrap_or_else(|| self.next_number()),
        };
        let known = self.person(number).map(|person| (&person.entered, !person.visits.is_empty()));
        let called = DayEvent::Called { number, exam };
        let (events, entered) = match (caller, known) {
            (Caller::Number(_), Some((_, true))) => {
                // one that goes on says so itself
                self.check(&called)?;
                return Err(DayRefusal::SeenAlready { number });
            }
            (Caller::Number(_) | Caller::Again(_), known) => (vec![called], known.map(|(entered, _)| entered)),
            (Caller::New(person), _) => {
                (vec![DayEvent::Waits(NewPerson { number: Some(number), ..person.clone() }), called], Some(person))
            }
        };
        let events = self.checked(&events, at)?;
        let beginning = entered.map(|entered| self.beginning(entered)).unwrap_or_default();
        Ok(CalledIn { number, events, beginning })
    }

    /// The room is that of the day, not that of the exam before: there it may have held for one alone.
    fn beginning(&self, entered: &NewPerson) -> Vec<Event> {
        let room = self.settings.room.iter().cloned();
        let person = [
            entered.label.clone().map(Detail::Label),
            entered.age_years.map(Detail::AgeYears),
            entered.complaint.map(Detail::Complaint),
        ];
        let details = room.chain(person.into_iter().flatten()).map(Event::Detail);
        details.chain(entered.note.clone().map(Event::Note)).collect()
    }
}
