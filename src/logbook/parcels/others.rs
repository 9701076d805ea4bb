//! What was read of other seats, from parcels or a room. It stands in a file of its own beside the logbook, a logbook too: nothing of
//! one's own, no list of what is open, no pair of retinoscopy, rests on it; what others noted of one's own boxes counts there
//! (`from_others`).

use std::cmp::Ordering;
use std::collections::{HashMap, HashSet};
use std::ffi::OsString;
use std::fmt;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::error::ParcelError;
use crate::logbook::engine::{Seen, SpokenRow, WriterRow};
use crate::logbook::error::LogbookError;
use crate::logbook::exams::StoredExam;
use crate::logbook::names::{ExamId, ExamNumber};
use crate::logbook::store::Logbook;
use crate::logbook::summary::{ExamSummary, Indexed, PassedOver};
use crate::sharing::{Erasure, SeatName, SiteName, WriterId};

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

    /// The order in which lists have them: by seat, the latest number first.
    pub fn listed_before(&self, other: &Self) -> Ordering {
        self.seat.cmp(&other.seat).then(other.number.cmp(&self.number))
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
    /// The state in which it was read.
    seen: Seen,
    seats: HashMap<WriterId, SeatName>,
    names: HashMap<ExamId, Elsewhere>,
    ids: HashMap<Elsewhere, ExamId>,
    sites: HashMap<SeatName, SiteName>,
}

/// An exam of another seat as lists show it.
#[derive(Debug, Clone, PartialEq)]
pub struct OthersLine {
    /// By what it is spoken of.
    pub name: Elsewhere,
    /// The place that its seat belongs to, where that is known.
    pub site: Option<SiteName>,
    /// Its line, with the number that it has at its seat.
    pub line: ExamSummary,
}

/// The lines of exams of other seats.
#[derive(Debug, Default)]
pub struct OthersList {
    /// Those that can be read, by seat, the latest number first.
    pub exams: Vec<OthersLine>,
    /// Those that cannot.
    pub passed_over: Vec<PassedOver>,
    /// Those of which no more than that they were is left, by seat, the latest number first.
    pub bare: Vec<BareExam>,
}

/// An exam of another seat of which no more is left than that it was closed: it was erased before it came here, or is kept no longer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BareExam {
    /// By what it is spoken of.
    pub name: Elsewhere,
    /// The place that its seat belongs to, where that is known.
    pub site: Option<SiteName>,
    /// Who examined, if that was said.
    pub by: Option<String>,
    /// When it was closed; `None` where that cannot be read.
    pub closed: Option<Timestamp>,
    /// Who asked that it be erased, who agreed and why; `None` where the record is kept no longer.
    pub erased: Option<Erasure>,
}

impl BareExam {
    /// By what it is looked for: its seat and number alone.
    pub fn indexed(&self) -> Indexed {
        let Elsewhere { seat, number } = self.name.clone();
        Indexed { number, id: None, seat: Some(seat), opened: None, label: None, outcome: None }
    }
}

impl Others {
    /// What was read of others beside a logbook, to be looked at; none where nothing was.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn beside(logbook: &Path) -> Result<Option<Self>, ParcelError> {
        let logbook = match Logbook::open_read_only(&others_of(logbook)) {
            Err(error) if error.is_not_begun() => return Ok(None),
            opened => opened?,
        };
        let seen = logbook.engine.seen()?;
        let writers = logbook.engine.writers()?;
        let named = || writers.iter().filter_map(|writer| Some((writer, SeatName::new(&writer.seat).ok()?)));
        let seats: HashMap<WriterId, SeatName> = named().map(|(writer, seat)| (writer.id, seat)).collect();
        let site = |(writer, seat): (&WriterRow, SeatName)| Some((seat, SiteName::new(writer.site.as_ref()?).ok()?));
        let sites = named().filter_map(site).collect();
        let names = names(&logbook.engine.spoken()?, |writer| seats.get(&writer).cloned());
        let ids = names.iter().map(|(id, name)| (name.clone(), *id)).collect();
        Ok(Some(Self { logbook, seen, seats, names, ids, sites }))
    }

    /// Whether nothing has come since it was read.
    pub fn is_current(&self) -> bool {
        self.logbook.engine.seen().is_ok_and(|seen| seen == self.seen)
    }

    /// A line for each exam.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn exams(&self) -> Result<OthersList, ParcelError> {
        let list = self.logbook.exams()?;
        let named = list.exams.into_iter().filter_map(|line| Some(self.named(self.names.get(&line.id)?, line)));
        let mut exams: Vec<OthersLine> = named.collect();
        exams.sort_by(|one, other| one.name.listed_before(&other.name));
        Ok(OthersList { exams, passed_over: list.passed_over, bare: self.bare()? })
    }

    /// By what each exam is looked for, in the order of [`Others::exams`], without reading any further.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn index(&self) -> Result<Vec<(Elsewhere, Indexed)>, ParcelError> {
        let named = self.logbook.index()?.into_iter().filter_map(|exam| {
            let name = self.names.get(&exam.id?)?;
            Some((name.clone(), Indexed { number: name.number, seat: Some(name.seat.clone()), ..exam }))
        });
        let mut exams: Vec<(Elsewhere, Indexed)> = named.collect();
        exams.extend(self.bare()?.into_iter().map(|bare| (bare.name.clone(), bare.indexed())));
        exams.sort_by(|(one, _), (other, _)| one.listed_before(other));
        Ok(exams)
    }

    /// The line of one exam.
    ///
    /// # Errors
    /// When there is none, or its line cannot be read.
    pub fn exam_line(&self, name: &Elsewhere) -> Result<OthersLine, ParcelError> {
        let line = self.logbook.exam_line(self.here(name)?).map_err(|error| unreadable(name, error))?;
        Ok(self.named(name, line))
    }

    /// One exam, with the number that it has at its seat; nothing can be added to it here.
    ///
    /// # Errors
    /// When there is none, or it cannot be read.
    pub fn read_exam(&self, name: &Elsewhere) -> Result<StoredExam, ParcelError> {
        self.refuse_if_erased(name)?;
        let stored = self.logbook.read_exam(self.here(name)?).map_err(|error| unreadable(name, error))?;
        Ok(stored.spoken_of_as(name.seat.clone(), name.number))
    }

    /// The exams of which no more than that they were is left, by seat, the latest number first.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn bare(&self) -> Result<Vec<BareExam>, ParcelError> {
        let erased = self.logbook.engine.erased()?;
        let mut erased: HashMap<ExamId, Erasure> =
            erased.into_iter().map(|erasure| (ExamId::new(erasure.exam), erasure)).collect();
        if erased.is_empty() && self.logbook.engine.let_go()?.is_empty() {
            return Ok(Vec::new());
        }
        let mut seen = HashSet::new();
        let rows = self.logbook.engine.bare_exams()?.into_iter();
        let mut bare: Vec<BareExam> = rows
            .filter_map(|row| {
                let named = |erasure: &Erasure| {
                    let seat = self.seats.get(&row.writer).filter(|seat| seat.as_str() == erasure.seat)?;
                    Some(Elsewhere { seat: seat.clone(), number: ExamNumber(erasure.number) })
                };
                let erased_as = erased.get(&row.exam).map(named);
                let name = erased_as.unwrap_or_else(|| self.names.get(&row.exam).cloned())?;
                if !seen.insert(row.exam) {
                    return None;
                }
                let (site, closed) = (self.sites.get(&name.seat).cloned(), row.closed.parse().ok());
                Some(BareExam { name, site, by: row.by, closed, erased: erased.remove(&row.exam) })
            })
            .collect();
        bare.sort_by(|one, other| one.name.listed_before(&other.name));
        Ok(bare)
    }

    /// Refuses an exam of which no more than that it was is left, without reading it.
    ///
    /// # Errors
    /// With why nothing else is left of it, or when the file cannot be read.
    pub fn refuse_if_bare(&self, name: &Elsewhere) -> Result<(), ParcelError> {
        self.refuse_if_erased(name)?;
        self.here(name).map(|_| ())
    }

    /// One that came here without its content has no number in this file.
    fn refuse_if_erased(&self, name: &Elsewhere) -> Result<(), ParcelError> {
        let is_it = |erasure: &Erasure| erasure.seat == name.seat.as_str() && erasure.number == name.number.0;
        match self.logbook.engine.erased()?.into_iter().find(is_it) {
            Some(erasure) => Err(ParcelError::Erased { name: name.to_string(), erasure: Box::new(erasure) }),
            None => Ok(()),
        }
    }

    fn named(&self, name: &Elsewhere, line: ExamSummary) -> OthersLine {
        let site = self.sites.get(&name.seat).cloned();
        OthersLine { name: name.clone(), site, line: ExamSummary { number: name.number, ..line } }
    }

    /// The number of an exam in the file of what was read.
    fn here(&self, name: &Elsewhere) -> Result<ExamNumber, ParcelError> {
        let none = || ParcelError::NoSuchExam { name: name.to_string() };
        let here = self.logbook.engine.number_of(*self.ids.get(name).ok_or_else(none)?)?;
        // its number is still known, and its rows are gone
        here.ok_or_else(|| ParcelError::KeptNoLonger { name: name.to_string(), seat: name.seat.clone() })
    }

    /// Looks through the whole file.
    ///
    /// # Errors
    /// With what is damaged.
    pub fn check(&self) -> Result<(), ParcelError> {
        Ok(self.logbook.check()?)
    }
}

fn unreadable(name: &Elsewhere, error: LogbookError) -> ParcelError {
    ParcelError::Unreadable { name: name.to_string(), error: Box::new(error) }
}

/// By what each exam is spoken of.
pub(super) fn names(spoken: &[SpokenRow], seat: impl Fn(WriterId) -> Option<SeatName>) -> HashMap<ExamId, Elsewhere> {
    let name =
        |row: &SpokenRow| Some((row.exam, Elsewhere { seat: seat(row.writer)?, number: ExamNumber(row.number) }));
    spoken.iter().filter_map(name).collect()
}
