//! The list of a day as it is shown: everybody with their state, minutes and outcome.

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;

use super::people::{Day, DayPerson};
use crate::exam::{GivenPair, Outcome};

/// What the list needs to know of an exam.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ExamOfPerson {
    /// Its number in the logbook.
    pub exam: u64,
    /// Label or initials, if any were entered in it.
    pub label: Option<String>,
    /// When it was closed, if it was.
    pub closed: Option<Timestamp>,
    /// What it comes to, once the examiner chose.
    pub outcome: Option<Outcome>,
    /// When drops that were put in are ready, where any were.
    pub drops_ready: Option<Timestamp>,
}

/// How it stands with somebody of the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PersonState {
    /// Waits for the exam.
    Waits,
    /// Is in an exam.
    InExam,
    /// Waits until drops are ready.
    DropsUntil(Timestamp),
    /// Waits, and the drops are ready.
    DropsReady,
    /// Waits to go on with an exam that is open.
    Aside,
    /// Has been seen, and is to see somebody else.
    Refer,
    /// Has been seen.
    Done,
    /// Went away without being seen.
    Left,
}

impl PersonState {
    /// Its name where programs read it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Waits => "waits",
            Self::InExam => "in_exam",
            Self::DropsUntil(_) => "drops",
            Self::DropsReady => "drops_ready",
            Self::Aside => "aside",
            Self::Refer => "refer",
            Self::Done => "done",
            Self::Left => "left",
        }
    }

    /// Whether the exam of the person was closed.
    pub const fn was_seen(self) -> bool {
        match self {
            Self::Refer | Self::Done => true,
            Self::Waits | Self::InExam | Self::DropsUntil(_) | Self::DropsReady | Self::Aside | Self::Left => false,
        }
    }

    /// Whether the person waits for the first exam.
    pub const fn waits(self) -> bool {
        match self {
            Self::Waits => true,
            Self::InExam
            | Self::DropsUntil(_)
            | Self::DropsReady
            | Self::Aside
            | Self::Refer
            | Self::Done
            | Self::Left => false,
        }
    }

    /// Whether the person waits with drops that are ready.
    pub const fn has_ready_drops(self) -> bool {
        match self {
            Self::DropsReady => true,
            Self::Waits | Self::InExam | Self::DropsUntil(_) | Self::Aside | Self::Refer | Self::Done | Self::Left => {
                false
            }
        }
    }

    /// Whether the person went away.
    pub const fn has_left(self) -> bool {
        match self {
            Self::Left => true,
            Self::Waits
            | Self::InExam
            | Self::DropsUntil(_)
            | Self::DropsReady
            | Self::Aside
            | Self::Refer
            | Self::Done => false,
        }
    }

    /// Whether the person can be called in.
    pub const fn can_be_called(self) -> bool {
        match self {
            Self::Waits | Self::DropsUntil(_) | Self::DropsReady | Self::Aside | Self::Left => true,
            Self::InExam | Self::Refer | Self::Done => false,
        }
    }
}

/// Somebody of the day with what the exam came to.
#[derive(Debug, Clone, PartialEq)]
pub struct DayLine {
    /// The running number.
    pub number: u32,
    /// The label, from the exam, else as it was entered beforehand.
    pub label: Option<String>,
    /// The age in whole years as it was entered beforehand.
    pub age_years: Option<u8>,
    /// What is to be remembered.
    pub note: Option<String>,
    /// How it stands.
    pub state: PersonState,
    /// The time in exams.
    pub took: SignedDuration,
    /// The number of the last exam in the logbook.
    pub exam: Option<u64>,
    /// What it comes to.
    pub outcome: Option<Outcome>,
}

impl DayLine {
    /// Somebody of the day at a moment.
    pub fn of(person: &DayPerson, exam: Option<&ExamOfPerson>, now: Timestamp) -> Self {
        let entered = &person.entered;
        Self {
            number: person.number,
            label: exam.and_then(|exam| exam.label.clone()).or_else(|| entered.label.clone()),
            age_years: entered.age_years,
            note: entered.note.clone(),
            state: state(person, exam, now),
            took: person.time_in_exams(exam.and_then(|exam| exam.closed), now),
            exam: exam.map(|exam| exam.exam),
            outcome: exam.and_then(|exam| exam.outcome.clone()),
        }
    }

    /// The time in exams in minutes, to a tenth.
    pub fn minutes(&self) -> f64 {
        (self.took.as_secs_f64() / 6.0).round() / 10.0
    }
}

fn state(person: &DayPerson, exam: Option<&ExamOfPerson>, now: Timestamp) -> PersonState {
    let Some(exam) = exam else {
        return if person.left { PersonState::Left } else { PersonState::Waits };
    };
    match (exam.closed, exam.drops_ready) {
        (Some(_), _) => match exam.outcome.as_ref().and_then(Outcome::referred) {
            Some(_) => PersonState::Refer,
            None => PersonState::Done,
        },
        (None, _) if person.is_in_exam() => PersonState::InExam,
        (None, _) if person.left => PersonState::Left,
        (None, Some(ready)) if ready > now => PersonState::DropsUntil(ready),
        (None, Some(_)) => PersonState::DropsReady,
        (None, None) => PersonState::Aside,
    }
}

/// A line for everybody, in the order of their numbers.
pub fn lines(day: &Day, exams: impl Fn(&DayPerson) -> Option<ExamOfPerson>, now: Timestamp) -> Vec<DayLine> {
    day.people.iter().map(|person| DayLine::of(person, exams(person).as_ref(), now)).collect()
}

/// A line as programs read it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineRecord<'a> {
    /// The running number.
    pub number: u32,
    /// The label, if any.
    pub label: Option<&'a str>,
    /// How it stands.
    pub state: &'static str,
    /// The time in exams in minutes.
    pub minutes: f64,
    /// The kind of outcome in snake case, if one was chosen.
    pub outcome: Option<crate::exam::OutcomeKind>,
    /// The sphere of a ready-made pair in dioptres, and what is known of it where it is off a shelf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pair: Option<PairRecord<'a>>,
}

/// A ready-made pair as programs read it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairRecord<'a> {
    /// The sphere of both eyes in dioptres.
    pub sphere: f64,
    /// Whether it is for near.
    pub near: bool,
    /// What is known of it where it is counted off a shelf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given: Option<&'a GivenPair>,
}

impl<'a> From<&'a DayLine> for LineRecord<'a> {
    fn from(line: &'a DayLine) -> Self {
        Self {
            number: line.number,
            label: line.label.as_deref(),
            state: line.state.name(),
            minutes: line.minutes(),
            outcome: line.outcome.as_ref().map(Outcome::kind),
            pair: line.outcome.as_ref().and_then(|outcome| {
                let (sphere, near) = outcome.ready_made()?;
                Some(PairRecord { sphere, near, given: outcome.given() })
            }),
        }
    }
}
