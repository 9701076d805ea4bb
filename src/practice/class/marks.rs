//! What a student's stations came to, held against the people of the code: by the residual, and by the teacher's own pass line.

use thiserror::Error;

use super::hand_in::{HandIn, KeptExam};
use crate::exam::ExamError;
use crate::optics::Eyes;
use crate::practice::feedback::{Ended, Feedback};
use crate::practice::off::ROUNDING_D;
use crate::practice::seat::{Seat, SeatError};

/// What a teacher asks of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassLine {
    /// The most that may be left in any meridian of either eye, in dioptres.
    pub residual_d: f64,
    /// How long a station may take, in minutes; `None` for as long as it takes.
    pub minutes: Option<f64>,
}

/// The pass line where a teacher says none, in dioptres: two quarter steps. Ours, no source.
pub const USUAL_RESIDUAL_D: f64 = 0.50;

/// How a station ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passed {
    /// Both eyes are within the line, in time.
    Yes,
    /// An eye is beyond the line.
    Beyond,
    /// No power is written for an eye.
    NotRefracted,
    /// Within the line, but it took too long.
    TooLong,
    /// It was given up.
    GaveUp,
}

impl Passed {
    /// In a word or two.
    pub fn said(self) -> &'static str {
        match self {
            Self::Yes => "passed",
            Self::Beyond => "beyond the line",
            Self::NotRefracted => "an eye not refracted",
            Self::TooLong => "took too long",
            Self::GaveUp => "gave up",
        }
    }
}

/// A station that was handed in.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    /// Which, from 1.
    pub station: u16,
    /// How many exams of it were ended.
    pub attempts: u16,
    /// What is said of it.
    pub feedback: Feedback,
    /// Whether it was given up.
    pub gave_up: bool,
}

/// A station that cannot be marked.
#[derive(Debug, Error)]
pub enum MarkError {
    /// Its steps do not follow each other.
    #[error("the steps of this station do not follow each other: this version of the program leads exams otherwise")]
    Steps,
    /// A step is refused.
    #[error(transparent)]
    Exam(#[from] ExamError),
    /// Nobody sits there.
    #[error(transparent)]
    Seat(#[from] SeatError),
}

impl Marked {
    /// What is left in any meridian of each eye at most, in dioptres; `None` where no power is written.
    pub fn residuals_d(&self) -> Eyes<Option<f64>> {
        self.feedback.eyes.map(|of_eye| of_eye.off.map(|off| off.residual_d()))
    }

    /// How it stands to a pass line.
    pub fn passed(&self, line: PassLine) -> Passed {
        let residuals = self.residuals_d();
        let too_long = line.minutes.zip(self.feedback.cost.minutes).is_some_and(|(most, took)| took > most);
        if self.gave_up {
            Passed::GaveUp
        } else if residuals.iter().any(|(_, residual)| residual.is_none()) {
            Passed::NotRefracted
        } else if residuals.iter().any(|(_, residual)| residual.is_some_and(|of| of > line.residual_d + ROUNDING_D)) {
            Passed::Beyond
        } else if too_long {
            Passed::TooLong
        } else {
            Passed::Yes
        }
    }
}

/// Marks each station that was handed in, from what happened in it.
///
/// # Errors
/// When the steps of one do not follow each other.
pub fn marked(hand_in: &HandIn) -> Result<Vec<Marked>, (u16, MarkError)> {
    let each = hand_in.stations.iter().map(|station| {
        let seat = Seat::coded(hand_in.code, station.number);
        let marks = seat.map_err(MarkError::from).and_then(|seat| of_one(&seat, &station.kept));
        let (feedback, gave_up) = marks.map_err(|error| (station.number, error))?;
        Ok(Marked { station: station.number, attempts: station.attempts, feedback, gave_up })
    });
    each.collect()
}

fn of_one(seat: &Seat, kept: &KeptExam) -> Result<(Feedback, bool), MarkError> {
    let exam = kept.exam().ok_or(MarkError::Steps)?;
    let minutes = kept.minutes();
    let feedback = Feedback::of(&Ended { person: &seat.person, exam: &exam, minutes, guide: None })?;
    let gave_up = exam.state().practised.as_ref().and_then(|practised| practised.ended).unwrap_or(true);
    Ok((feedback, gave_up))
}
