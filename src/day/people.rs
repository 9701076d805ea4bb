//! What the events of a day add up to.

use jiff::{SignedDuration, Timestamp};
use thiserror::Error;
use uuid::Uuid;

use super::event::{DayEvent, NewPerson};
use super::settings::DaySettings;

/// An exam of a person, or a part of one between two waits.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// The identity of the exam.
    pub exam: Uuid,
    /// Since when.
    pub from: Timestamp,
    /// Until when; `None` while it goes on.
    pub until: Option<Timestamp>,
}

/// Somebody of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayPerson {
    /// The running number, from 1.
    pub number: u32,
    /// Who, as it was entered beforehand: a label, the age, a note.
    pub entered: NewPerson,
    /// Since when the person is on the list.
    pub since: Timestamp,
    /// The exams, the first one first.
    pub visits: Vec<Visit>,
    /// Whether the person went away without being seen.
    pub left: bool,
}

impl DayPerson {
    /// The exam that began or went on last.
    pub fn last_exam(&self) -> Option<Uuid> {
        self.visits.last().map(|visit| visit.exam)
    }

    /// Whether an exam of the person goes on.
    pub fn is_in_exam(&self) -> bool {
        self.visits.last().is_some_and(|visit| visit.until.is_none())
    }

    /// The time in exams until now, waits between them left out: the last one goes on until it was closed, if it was. A clock
    /// that was set back takes nothing off.
    pub fn time_in_exams(&self, closed: Option<Timestamp>, now: Timestamp) -> SignedDuration {
        let until = |visit: &Visit| visit.until.or(closed).unwrap_or(now);
        let each = self.visits.iter().map(|visit| until(visit).duration_since(visit.from));
        each.map(|took| took.max(SignedDuration::ZERO)).sum()
    }
}

/// A day as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// What holds for everybody from now on.
    pub settings: DaySettings,
    /// When it began.
    pub began: Timestamp,
    /// When it ended, once it did.
    pub ended: Option<Timestamp>,
    /// Everybody, in the order of their numbers.
    pub people: Vec<DayPerson>,
}

/// Why something cannot be noted in a day.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DayRefusal {
    /// The day has ended.
    #[error("this day has ended: begin another")]
    Ended,
    /// It began already.
    #[error("this day has begun already")]
    BegunAlready,
    /// Nobody has this number.
    #[error("nobody of this day has the number {number}")]
    Nobody {
        /// The number.
        number: u32,
    },
    /// The number is somebody else's.
    #[error("the number {number} is taken: leave it out, and the next one is given")]
    Taken {
        /// The number.
        number: u32,
    },
    /// The person is in an exam.
    #[error("number {number} is in an exam: close that, or have the person wait")]
    InExam {
        /// The number.
        number: u32,
    },
    /// The person had an exam, perhaps in another program.
    #[error("number {number} was seen already: call in again for another exam")]
    SeenAlready {
        /// The number.
        number: u32,
    },
    /// The person is in no exam.
    #[error("number {number} is not in an exam")]
    NotInExam {
        /// The number.
        number: u32,
    },
    /// The detail is not of the room.
    #[error("this is of a person, and cannot hold for a day")]
    NotOfTheRoom,
}

impl Day {
    /// A day that begins.
    pub fn new(settings: DaySettings, began: Timestamp) -> Self {
        Self { settings, began, ended: None, people: Vec::new() }
    }

    /// Somebody by the running number.
    pub fn person(&self, number: u32) -> Option<&DayPerson> {
        self.people.iter().find(|person| person.number == number)
    }

    /// Whose exam this is.
    pub fn person_of(&self, exam: Uuid) -> Option<&DayPerson> {
        self.people.iter().find(|person| person.visits.iter().any(|visit| visit.exam == exam))
    }

    /// The number that the next person gets.
    pub fn next_number(&self) -> u32 {
        self.people.iter().map(|person| person.number).max().unwrap_or(0) + 1
    }

    /// Who has waited longest without having been in an exam.
    pub fn next_waiting(&self) -> Option<&DayPerson> {
        self.people.iter().find(|person| person.visits.is_empty() && !person.left)
    }

    /// Whether something can be noted now.
    ///
    /// # Errors
    /// [`DayRefusal`] with the reason.
    pub fn check(&self, event: &DayEvent) -> Result<(), DayRefusal> {
        if self.ended.is_some() {
            return Err(DayRefusal::Ended);
        }
        let person = |number: u32| self.person(number).ok_or(DayRefusal::Nobody { number });
        match event {
            DayEvent::Began(_) => Err(DayRefusal::BegunAlready),
            DayEvent::Room(detail) if !detail.holds_for_a_day() => Err(DayRefusal::NotOfTheRoom),
            DayEvent::Place(_) | DayEvent::Room(_) | DayEvent::Ended => Ok(()),
            DayEvent::Waits(new) => match new.number {
                Some(number) if self.person(number).is_some() => Err(DayRefusal::Taken { number }),
                Some(_) | None => Ok(()),
            },
            DayEvent::Called { number, .. } | DayEvent::Left { number } => {
                if person(*number)?.is_in_exam() {
                    Err(DayRefusal::InExam { number: *number })
                } else {
                    Ok(())
                }
            }
            DayEvent::Aside { number } | DayEvent::Closed { number } => {
                if person(*number)?.is_in_exam() {
                    Ok(())
                } else {
                    Err(DayRefusal::NotInExam { number: *number })
                }
            }
        }
    }

    /// Applies something that was noted; what is so already stays as it is.
    pub fn apply(&mut self, event: &DayEvent, at: Timestamp) {
        match event {
            DayEvent::Began(settings) => self.settings = settings.clone(),
            DayEvent::Place(place) => self.settings.place = Some(place.clone()),
            DayEvent::Room(detail) => self.settings.set_room(detail),
            DayEvent::Waits(new) => self.add(new, at),
            DayEvent::Called { number, exam } => {
                if let Some(person) = self.person_mut(*number) {
                    person.left = false;
                    end_visit(person, at);
                    person.visits.push(Visit { exam: *exam, from: at, until: None });
                }
            }
            DayEvent::Aside { number } | DayEvent::Closed { number } => {
                if let Some(person) = self.person_mut(*number) {
                    end_visit(person, at);
                }
            }
            DayEvent::Left { number } => {
                if let Some(person) = self.person_mut(*number) {
                    person.left = true;
                }
            }
            DayEvent::Ended => {
                self.people.iter_mut().for_each(|person| end_visit(person, at));
                self.ended = Some(at);
            }
        }
    }

    fn add(&mut self, new: &NewPerson, since: Timestamp) {
        let number = new.number.unwrap_or_else(|| self.next_number());
        if self.person(number).is_none() {
            let place = self.people.partition_point(|person| person.number < number);
            let entered = NewPerson { number: Some(number), ..new.clone() };
            self.people.insert(place, DayPerson { number, entered, since, visits: Vec::new(), left: false });
        }
    }

    fn person_mut(&mut self, number: u32) -> Option<&mut DayPerson> {
        self.people.iter_mut().find(|person| person.number == number)
    }
}

fn end_visit(person: &mut DayPerson, at: Timestamp) {
    if let Some(visit) = person.visits.last_mut() {
        visit.until.get_or_insert(at);
    }
}
