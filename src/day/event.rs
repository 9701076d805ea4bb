//! What can happen in a day. The logbook keeps these under their names in snake case for ever.

use std::collections::HashSet;
use std::fmt;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::settings::DaySettings;
use super::shelf::{DayShelf, PairGiven};
use crate::exam::{Complaint, Detail, OffTheShelf};
use crate::kit::shelf::ShelfPair;

/// Somebody who waits.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct NewPerson {
    /// The running number in the day, from 1; the logbook gives the next one where none stands here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    /// A label, which may be nothing but a number; no identity is needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Age in whole years.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_years: Option<u8>,
    /// What the person came for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub complaint: Option<Complaint>,
    /// What is to be remembered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Who is called in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Caller {
    /// Somebody of the list who had no exam yet, by the running number.
    Number(u32),
    /// Somebody of the list to another exam, by the running number.
    Again(u32),
    /// Somebody who was not on the list.
    New(NewPerson),
}

/// Something that happened in a day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DayEvent {
    /// The day began.
    Began(DaySettings),
    /// It is held at this place.
    Place(String),
    /// A detail of the room holds from now on.
    Room(Detail),
    /// Somebody waits.
    Waits(NewPerson),
    /// An exam of a person begins, or goes on.
    Called {
        /// The running number of the person.
        number: u32,
        /// The identity of the exam.
        exam: Uuid,
    },
    /// The exam of a person stays open while the person waits.
    Aside {
        /// The running number of the person.
        number: u32,
    },
    /// The exam of a person was closed.
    Closed {
        /// The running number of the person.
        number: u32,
    },
    /// A person went away without being seen.
    Left {
        /// The running number of the person.
        number: u32,
    },
    /// Ready-made pairs are given from this shelf.
    Shelf(DayShelf),
    /// A ready-made pair was given, as the exam of a person has it.
    PairGiven {
        /// The running number of the person.
        number: u32,
        /// The identity of the exam.
        exam: Uuid,
        /// What the shelf is called.
        shelf: String,
        /// The pair.
        pair: ShelfPair,
    },
    /// A pair that was given is back on the shelf.
    PairBack {
        /// The running number of the person.
        number: u32,
        /// The identity of the exam.
        exam: Uuid,
        /// What the shelf is called.
        shelf: String,
        /// The pair.
        pair: ShelfPair,
    },
    /// The day ended.
    Ended,
}

/// In words: `number 12 went away`.
impl fmt::Display for DayEvent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Began(_) => f.write_str("the day began"),
            Self::Place(place) => write!(f, "the place is {place}"),
            Self::Room(_) => f.write_str("a setting of the room, from then on"),
            Self::Waits(person) => match person.number {
                Some(number) => write!(f, "number {number} on the list"),
                None => f.write_str("somebody on the list"),
            },
            Self::Called { number, .. } => write!(f, "number {number} called in"),
            Self::Aside { number } => write!(f, "number {number} waits with an open exam"),
            Self::Closed { number } => write!(f, "the exam of number {number} was closed"),
            Self::Left { number } => write!(f, "number {number} went away"),
            Self::Shelf(shelf) => write!(f, "ready-made pairs from the shelf {}", shelf.name),
            Self::PairGiven { number, pair, .. } => write!(f, "number {number} got a pair, {pair}"),
            Self::PairBack { number, pair, .. } => write!(f, "the pair of number {number} is back, {pair}"),
            Self::Ended => f.write_str("the end of the day"),
        }
    }
}

impl DayEvent {
    /// The running number of the person whom it calls to one of these exams.
    pub fn called_to(&self, exams: &HashSet<Uuid>) -> Option<u32> {
        match self {
            Self::Called { number, exam } => exams.contains(exam).then_some(*number),
            Self::Began(_)
            | Self::Place(_)
            | Self::Room(_)
            | Self::Waits(_)
            | Self::Aside { .. }
            | Self::Closed { .. }
            | Self::Left { .. }
            | Self::Shelf(_)
            | Self::PairGiven { .. }
            | Self::PairBack { .. }
            | Self::Ended => None,
        }
    }

    /// The same without anything that was entered of these people but their numbers.
    #[must_use]
    pub fn without(&self, people: &HashSet<u32>) -> Self {
        match self {
            Self::Waits(person) if person.number.is_some_and(|number| people.contains(&number)) => {
                Self::Waits(NewPerson { number: person.number, ..NewPerson::default() })
            }
            other => other.clone(),
        }
    }

    /// The running number of the person that it is about.
    pub fn number(&self) -> Option<u32> {
        match self {
            Self::Waits(person) => person.number,
            Self::Called { number, .. }
            | Self::Aside { number }
            | Self::Closed { number }
            | Self::Left { number }
            | Self::PairGiven { number, .. }
            | Self::PairBack { number, .. } => Some(*number),
            Self::Began(_) | Self::Place(_) | Self::Room(_) | Self::Shelf(_) | Self::Ended => None,
        }
    }

    /// Whether it can be taken back: how a day began stays, and so does what an exam did, which has a life of its own: there the
    /// pair that was given is taken back.
    pub fn can_be_undone(&self) -> bool {
        match self {
            Self::Began(_)
            | Self::Called { .. }
            | Self::Closed { .. }
            | Self::PairGiven { .. }
            | Self::PairBack { .. } => false,
            Self::Place(_)
            | Self::Room(_)
            | Self::Waits(_)
            | Self::Aside { .. }
            | Self::Left { .. }
            | Self::Shelf(_)
            | Self::Ended => true,
        }
    }

    /// The pair that is back.
    pub fn pair_back(&self) -> Option<PairGiven> {
        match self {
            Self::PairBack { number, exam, shelf, pair } => {
                let off = OffTheShelf { shelf: shelf.clone(), pair: *pair };
                Some(PairGiven { number: *number, exam: *exam, off })
            }
            Self::Began(_)
            | Self::Place(_)
            | Self::Room(_)
            | Self::Waits(_)
            | Self::Called { .. }
            | Self::Aside { .. }
            | Self::Closed { .. }
            | Self::Left { .. }
            | Self::Shelf(_)
            | Self::PairGiven { .. }
            | Self::Ended => None,
        }
    }

    /// Somebody who came without a number: the logbook gives the next one.
    pub fn without_number(&self) -> Option<&NewPerson> {
        match self {
            Self::Waits(person) => Some(person).filter(|person| person.number.is_none()),
            Self::Began(_)
            | Self::Place(_)
            | Self::Room(_)
            | Self::Called { .. }
            | Self::Aside { .. }
            | Self::Closed { .. }
            | Self::Left { .. }
            | Self::Shelf(_)
            | Self::PairGiven { .. }
            | Self::PairBack { .. }
            | Self::Ended => None,
        }
    }
}
