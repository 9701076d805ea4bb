//! What a student hands in: the exams of the stations of a code as they were kept, with their times, under a seal.
//!
//! The file has no answer and no mark in it: whoever reads it computes both from what happened and from the people of the code.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::code::{ClassCode, CodeError};
use super::seal;
use crate::exam::{Event, Exam, Opening};
use crate::frame::FittedFrame;
use crate::practice::seat::{Seat, Who};

/// The version of the file.
pub const VERSION: u32 = 1;

/// How each such file begins.
const BEGINS: &str = "{\"dioptray_hand_in\":";

/// An exam as it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptExam {
    /// When it began.
    pub began: Timestamp,
    /// How.
    pub opening: Opening,
    /// Every step in order, those taken back and the taking back among them.
    pub steps: Vec<KeptStep>,
}

/// A step as it was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptStep {
    /// When.
    pub at: Timestamp,
    /// What happened.
    pub events: Vec<Event>,
}

/// What a student hands in.
#[derive(Debug, Clone, PartialEq)]
pub struct HandIn {
    /// The version of the program that wrote it.
    pub program: String,
    /// The code.
    pub code: ClassCode,
    /// Who.
    pub by: String,
    /// The stations that were ended, by their number.
    pub stations: Vec<Station>,
}

/// One station.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Which, from 1.
    pub number: u16,
    /// How many exams of it were ended: the last one counts.
    pub attempts: u16,
    /// Its exam.
    pub kept: KeptExam,
}

/// A text that is not what a student handed in.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HandInError {
    /// It begins otherwise.
    #[error("this is not a file that `practice hand-in` wrote, or its beginning was changed: ask for the file again")]
    NotOne,
    /// The seal does not fit.
    #[error("this file was changed after it was written: ask for the file itself, as `practice hand-in` wrote it")]
    Changed,
    /// Its version is another.
    #[error(
        "this file has version {has} and this program reads version {VERSION}: use the version of the program that wrote it"
    )]
    AnotherVersion {
        /// Its version.
        has: u32,
    },
    /// The code in it is not one that this program can use.
    #[error("the code in this file: {0}")]
    Code(#[from] CodeError),
    /// It does not read as what was written.
    #[error("this file cannot be read: {0}")]
    Unreadable(String),
}

/// Which version a file has.
#[derive(Deserialize)]
struct VersionInFile {
    dioptray_hand_in: u32,
}

/// The file: the box with the frame stands in it once, however many exams began with it.
#[derive(Serialize, Deserialize)]
struct HandInFile {
    dioptray_hand_in: u32,
    program: String,
    code: String,
    seed: u32,
    by: String,
    kits: Vec<FittedFrame>,
    stations: Vec<StationInFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StationInFile {
    station: u16,
    attempts: u16,
    kit: usize,
    began: Timestamp,
    steps: Vec<KeptStep>,
}

impl KeptExam {
    /// The exam; `None` where its steps do not follow each other.
    pub fn exam(&self) -> Option<Exam> {
        Exam::replay(self.opening.clone(), self.steps.iter().map(|step| step.events.clone())).ok()
    }

    /// The exam before its first step, with every step that stood at its end to be brought again one by one: how it went can be
    /// looked at. That it was closed is left out, since nothing is brought back before that. `None` where its steps do not follow
    /// each other.
    pub fn from_the_beginning(&self) -> Option<Exam> {
        let exam = self.exam()?;
        let without_end = |step: &Vec<Event>| step.iter().filter(|event| **event != Event::Finished).cloned().collect();
        let steps: Vec<Vec<Event>> = exam.standing_steps().iter().map(without_end).collect();
        let taken_back = vec![vec![Event::Undone]; steps.iter().filter(|step| !step.is_empty()).count()];
        Exam::replay(self.opening.clone(), steps.into_iter().chain(taken_back)).ok()
    }

    /// How long it took in minutes, from its beginning to its last step.
    pub fn minutes(&self) -> Option<f64> {
        let last = self.steps.last()?;
        Some(last.at.duration_since(self.began).as_secs_f64() / 60.0)
    }
}

impl HandIn {
    /// Collects the stations of a code from exams, the earliest first; of several of one station that were ended the last one
    /// counts.
    pub fn collect(program: &str, code: ClassCode, by: &str, exams: impl IntoIterator<Item = KeptExam>) -> Self {
        let who = Who::Coded(code).to_string();
        let mut stations: Vec<Station> = Vec::new();
        for kept in exams {
            let Some(sitter) = kept.opening.sitter.clone().filter(|sitter| sitter.who == who) else { continue };
            let ended =
                kept.exam().is_some_and(|exam| exam.state().practised.as_ref().is_some_and(|of| of.ended.is_some()));
            if !ended || !(1..=code.of).contains(&sitter.number) {
                continue;
            }
            match stations.iter_mut().find(|station| station.number == sitter.number) {
                Some(station) => (station.attempts, station.kept) = (station.attempts + 1, kept),
                None => stations.push(Station { number: sitter.number, attempts: 1, kept }),
            }
        }
        stations.sort_by_key(|station| station.number);
        Self { program: program.to_owned(), code, by: by.to_owned(), stations }
    }

    /// The stations that are missing.
    pub fn missing(&self) -> Vec<u16> {
        (1..=self.code.of).filter(|number| self.stations.iter().all(|station| station.number != *number)).collect()
    }

    /// The file, sealed.
    ///
    /// # Errors
    /// When something in it has no JSON, which nothing has that was kept.
    pub fn write(&self) -> Result<String, serde_json::Error> {
        let mut kits: Vec<FittedFrame> = Vec::new();
        let stations = self.stations.iter().map(|station| {
            let fitted = &station.kept.opening.fitted;
            let kit = kits.iter().position(|kit| kit == fitted).unwrap_or_else(|| {
                kits.push(fitted.clone());
                kits.len() - 1
            });
            let Station { number, attempts, kept } = station;
            StationInFile { station: *number, attempts: *attempts, kit, began: kept.began, steps: kept.steps.clone() }
        });
        let stations = stations.collect();
        let file = HandInFile {
            dioptray_hand_in: VERSION,
            program: self.program.clone(),
            code: self.code.to_string(),
            seed: self.code.seed,
            by: self.by.clone(),
            kits,
            stations,
        };
        Ok(seal::sealed(&serde_json::to_string(&file)?))
    }

    /// Reads a file.
    ///
    /// # Errors
    /// When it was changed by as much as one character, or this version cannot read it.
    pub fn read(text: &str) -> Result<Self, HandInError> {
        if !text.starts_with(BEGINS) {
            return Err(HandInError::NotOne);
        }
        if !seal::is_as_it_was_sealed(text) {
            return Err(HandInError::Changed);
        }
        let unreadable = |error: serde_json::Error| HandInError::Unreadable(error.to_string());
        let VersionInFile { dioptray_hand_in: has } = serde_json::from_str(text).map_err(unreadable)?;
        if has != VERSION {
            return Err(HandInError::AnotherVersion { has });
        }
        let file: HandInFile = serde_json::from_str(text).map_err(unreadable)?;
        let code = ClassCode::read(&file.code)?;
        let stations = file.stations.into_iter().map(|of| {
            let StationInFile { station: number, attempts, kit, began, steps } = of;
            let because = |why: String| HandInError::Unreadable(format!("station {number}: {why}"));
            let fitted = file.kits.get(kit).ok_or_else(|| because("its box and frame are missing".to_owned()))?.clone();
            code.fits(&fitted.stock, &fitted.frame).map_err(|misfit| because(misfit.to_string()))?;
            let seat = Seat::coded(code, number).map_err(|error| because(error.to_string()))?;
            let opening = Opening { fitted, sitter: Some(seat.sitter()) };
            Ok(Station { number, attempts, kept: KeptExam { began, opening, steps } })
        });
        let stations = stations.collect::<Result<_, HandInError>>()?;
        Ok(Self { program: file.program, code, by: file.by, stations })
    }
}
