//! What was read from parcels of other seats. It stands in a file of its own beside the logbook, a logbook too: nothing of
//! one's own, no list of what is open, no pair of retinoscopy, rests on it; what others noted of one's own boxes counts there
//! (`from_others`).

use std::collections::HashMap;
use std::ffi::OsString;
use std::fmt;
use std::path::{Path, PathBuf};

use super::error::ParcelError;
use crate::logbook::engine::SpokenRow;
use crate::logbook::exams::StoredExam;
use crate::logbook::names::{ExamId, ExamNumber};
use crate::logbook::store::Logbook;
use crate::logbook::summary::{ExamSummary, PassedOver};
use crate::sharing::{SeatName, WriterId};

/// What the name of the file begins with, before the name of the logbook.
const BEFORE_ITS_NAME: &str = "others-";

/// The file beside a logbook that holds what was read of others.
pub fn others_of(logbook: &Path) -> PathBuf {
    let mut name = OsString::from(BEFORE_ITS_NAME);
    name.push(logbook.file_name().unwrap_or_default());
    logbook.with_file_name(name)
}

/// Whether a file is called as one that holds what was read of others.
pub fn is_of_others(logbook: &Path) -> bool {
    logbook.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(BEFORE_ITS_NAME.as_bytes()))
}

/// An exam of another seat as people speak of it: `lane3-14`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Elsewhere {
    /// The seat.
    pub seat: SeatName,
    /// The number of the exam there.
    pub number: ExamNumber,
}

impl Elsewhere {
    /// From what was typed; none where it is not a seat and a number.
    pub fn from_text(text: &str) -> Option<Self> {
        let (seat, number) = text.split_once('-')?;
        let number = number.parse().ok().filter(|number| *number > 0)?;
        Some(Self { seat: SeatName::new(seat).ok()?, number: ExamNumber(number) })
    }
}

impl fmt::Display for Elsewhere {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.seat, self.number)
    }
}

/// The exams of other seats.
#[derive(Debug)]
pub struct Others {
    logbook: Logbook,
    names: HashMap<ExamId, Elsewhere>,
}

/// The lines of exams of other seats, with the seat and number of each in place of one's own.
#[derive(Debug, Default)]
pub struct OthersList {
    /// Those that can be read, by seat, the latest number first.
    pub exams: Vec<(Elsewhere, ExamSummary)>,
    /// Those that cannot.
    pub passed_over: Vec<PassedOver>,
}

impl Others {
    /// What was read of others beside a logbook, to be looked at; none where nothing was.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn beside(logbook: &Path) -> Result<Option<Self>, ParcelError> {
        let logbook = match Logbook::open_read_only(&others_of(logbook)) {
            Err(error) if error.is_missing() => return Ok(None),
            opened => opened?,
        };
        let names = names(&logbook.engine.spoken()?, &logbook.engine.writers()?);
        Ok(Some(Self { logbook, names }))
    }

    /// A line for each exam.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn exams(&self) -> Result<OthersList, ParcelError> {
        let list = self.logbook.exams()?;
        let named = list.exams.into_iter().filter_map(|line| Some((self.names.get(&line.id)?.clone(), line)));
        let mut exams: Vec<(Elsewhere, ExamSummary)> = named
            .map(|(name, line)| {
                let number = name.number;
                (name, ExamSummary { number, ..line })
            })
            .collect();
        exams.sort_by(|(one, _), (other, _)| one.seat.cmp(&other.seat).then(other.number.cmp(&one.number)));
        Ok(OthersList { exams, passed_over: list.passed_over })
    }

    /// One exam, with the number that it has at its seat; nothing can be added to it here.
    ///
    /// # Errors
    /// When there is none, or it cannot be read.
    pub fn read_exam(&self, name: &Elsewhere) -> Result<StoredExam, ParcelError> {
        let none = || ParcelError::NoSuchExam { name: name.to_string() };
        let (id, _) = self.names.iter().find(|(_, known)| *known == name).ok_or_else(none)?;
        let here = self.logbook.engine.number_of(*id)?.ok_or_else(none)?;
        let unreadable = |error| ParcelError::Unreadable { name: name.to_string(), error: Box::new(error) };
        let stored = self.logbook.read_exam(here).map_err(unreadable)?;
        Ok(stored.spoken_of_as(name.number))
    }

    /// Looks through the whole file.
    ///
    /// # Errors
    /// With what is damaged.
    pub fn check(&self) -> Result<(), ParcelError> {
        Ok(self.logbook.check()?)
    }
}

/// By what each exam is spoken of.
pub(super) fn names(spoken: &[SpokenRow], writers: &[(WriterId, String)]) -> HashMap<ExamId, Elsewhere> {
    let seat =
        |writer| writers.iter().find(|(known, _)| *known == writer).and_then(|(_, seat)| SeatName::new(seat).ok());
    let name =
        |row: &SpokenRow| Some((row.exam, Elsewhere { seat: seat(row.writer)?, number: ExamNumber(row.number) }));
    spoken.iter().filter_map(name).collect()
}
