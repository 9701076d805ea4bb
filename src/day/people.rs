//! What the events of a day add up to.

use jiff::{SignedDuration, Timestamp};
use thiserror::Error;
use uuid::Uuid;

use super::event::{DayEvent, NewPerson};
use super::settings::DaySettings;
use super::shelf::{PairGiven, ShelfLeft};
use crate::exam::OffTheShelf;
use crate::kit::shelf::ShelfPair;

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
    /// The ready-made pairs that were given and are not back, the first ones first.
    pub given: Vec<PairGiven>,
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
    /// The day has no such shelf.
    #[error("no pairs are given from the shelf {shelf} in this day")]
    NoSuchShelf {
        /// What it is called.
        shelf: String,
    },
    /// The shelf has no such pair.
    #[error("the shelf {shelf} has no pair {pair}")]
    NotOnTheShelf {
        /// What the shelf is called.
        shelf: String,
        /// The pair, in words.
        pair: String,
    },
    /// The last of them was given.
    #[error("no pair {pair} is left on the shelf {shelf}: choose another, or another outcome")]
    NoneLeft {
        /// What the shelf is called.
        shelf: String,
        /// The pair, in words.
        pair: String,
    },
    /// Nobody got that pair.
    #[error("number {number} has no pair off the shelf")]
    NoPairGiven {
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
        Self { settings, began, ended: None, people: Vec::new(), given: Vec::new() }
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
        // a pair comes back whenever it does
        if self.ended.is_some() && event.pair_back().is_none() {
            return Err(DayRefusal::Ended);
        }
        let person = |number: u32| self.person(number).ok_or(DayRefusal::Nobody { number });
        match event {
            DayEvent::Began(_) => Err(DayRefusal::BegunAlready),
            DayEvent::Room(detail) if !detail.holds_for_a_day() => Err(DayRefusal::NotOfTheRoom),
            DayEvent::Place(_) | DayEvent::Room(_) | DayEvent::Shelf(_) | DayEvent::Ended => Ok(()),
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
            DayEvent::PairGiven { number, shelf, pair, .. } => {
                person(*number)?;
                self.check_given(shelf, pair)
            }
            DayEvent::PairBack { number, .. } => {
                let given = event.pair_back().is_some_and(|back| self.given.contains(&back));
                if given { Ok(()) } else { Err(DayRefusal::NoPairGiven { number: *number }) }
            }
        }
    }

    /// Whether a pair is left to be given.
    fn check_given(&self, shelf: &str, pair: &ShelfPair) -> Result<(), DayRefusal> {
        let named = self.settings.shelf.as_ref().filter(|named| named.name == shelf);
        let shelf = shelf.to_owned();
        let Some(named) = named else { return Err(DayRefusal::NoSuchShelf { shelf }) };
        match named.left(&self.given).iter().find(|kind| kind.pair == *pair) {
            None => Err(DayRefusal::NotOnTheShelf { shelf, pair: pair.to_string() }),
            Some(kind) if kind.left() == 0 => Err(DayRefusal::NoneLeft { shelf, pair: pair.to_string() }),
            Some(_) => Ok(()),
        }
    }

    /// What is left on the shelf, if the day has one.
    pub fn left_on_shelf(&self) -> Vec<ShelfLeft> {
        self.settings.shelf.as_ref().map_or_else(Vec::new, |shelf| shelf.left(&self.given))
    }

    /// The pair that was given in an exam, if one was.
    pub fn given_in(&self, exam: Uuid) -> Option<&PairGiven> {
        self.given.iter().rfind(|given| given.exam == exam)
    }

    /// What has to be noted so that an exam has this pair and no other: a pair that comes back before one that is given.
    pub fn pairs_to_note(&self, number: u32, exam: Uuid, off: Option<&OffTheShelf>) -> Vec<DayEvent> {
        let before = self.given_in(exam);
        if before.map(|given| &given.off) == off {
            return Vec::new();
        }
        let back = before.map(|given| DayEvent::PairBack {
            number: given.number,
            exam,
            shelf: given.off.shelf.clone(),
            pair: given.off.pair,
        });
        let given = off.map(|off| DayEvent::PairGiven { number, exam, shelf: off.shelf.clone(), pair: off.pair });
        back.into_iter().chain(given).collect()
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
            DayEvent::Shelf(shelf) => self.settings.shelf = Some(shelf.clone()),
            DayEvent::PairGiven { number, exam, shelf, pair } => {
                let off = OffTheShelf { shelf: shelf.clone(), pair: *pair };
                self.given.push(PairGiven { number: *number, exam: *exam, off });
            }
            DayEvent::PairBack { .. } => {
                let back = event.pair_back();
                if let Some(at) = self.given.iter().rposition(|given| Some(given) == back.as_ref()) {
                    self.given.remove(at);
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
