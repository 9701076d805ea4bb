//! What can be refused here.

use std::error::Error;
use std::path::PathBuf;

use crate::exam::ExamError;
use crate::export::ExportError;
use crate::export::saving::SaveFileError;
use crate::export::table::TableError;
use crate::kit::StockError;
use crate::kit::change::bare;
use crate::kit::document::Faults;
use crate::logbook::parcels::error::ParcelError;
use crate::logbook::{Holder, LogbookError};

/// A step that could not be saved; it counts as not done.
#[derive(Debug, thiserror::Error)]
#[error(transparent)]
pub struct SaveError(Box<dyn Error + Send + Sync>);

impl SaveError {
    /// With the reason, in words for the person at the screen.
    pub fn new(reason: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self(reason.into())
    }
}

/// A step that was not taken; the exam is as before.
#[derive(Debug, thiserror::Error)]
pub enum StepError {
    /// The exam refuses it.
    #[error(transparent)]
    Refused(#[from] ExamError),
    /// It could not be saved.
    #[error("not saved, so not done: {0}")]
    NotSaved(#[from] SaveError),
}

impl StepError {
    /// Whether it could have been done, but not kept.
    pub fn is_not_kept(&self) -> bool {
        match self {
            Self::NotSaved(_) => true,
            Self::Refused(_) => false,
        }
    }
}

/// Something asked of the records that was not done.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// There is no logbook.
    #[error("nothing is saved: there is no logbook")]
    NoLogbook,
    /// No exam has this number.
    #[error("{}: there is no exam {exam}: {there}", path.display())]
    NoSuchExam {
        /// The logbook.
        path: PathBuf,
        /// The number.
        exam: u64,
        /// Which exams there are, in words.
        there: String,
    },
    /// An exam that has to be closed is not.
    #[error("exam {exam} is not closed, so what is written may still change: close it first")]
    NotClosed {
        /// Its number, with the seat where that is another one.
        exam: String,
    },
    /// No power is written in an exam.
    #[error("exam {exam} has no written power for either eye: no glasses are ordered by it")]
    NothingWritten {
        /// Its number, with the seat where that is another one.
        exam: String,
    },
    /// Nothing was said of glasses that came back.
    #[error(
        "nothing was measured: say at least one power, centre or distance, or the exam in which the person was refracted again"
    )]
    NothingMeasured,
    /// The exam of a further refraction is the exam itself.
    #[error("exam {exam} is the one that these glasses were made by: name the later one")]
    SameExam {
        /// The number.
        exam: u64,
    },
    /// Another program has the exam open.
    #[error("exam {exam} can only be read: it is open elsewhere, in {holder}")]
    OpenElsewhere {
        /// The number.
        exam: u64,
        /// Who has it.
        holder: Holder,
    },
    /// The exam takes no such step, or it could not be saved.
    #[error(transparent)]
    Step(#[from] StepError),
    /// What was read of other seats cannot be read again.
    #[error(transparent)]
    Elsewhere(#[from] ParcelError),
    /// The logbook cannot be read or written.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// The box refuses what happened to it.
    #[error(transparent)]
    Box(#[from] StockError),
    /// The file of the box has faults, or is not there.
    #[error(transparent)]
    BoxFile(#[from] Faults),
    /// No box is known by this.
    #[error("no box is known by {}", bare(.0))]
    NoSuchBox(String),
    /// Nothing was noted that could be taken back.
    #[error("nothing was noted that could be taken back")]
    NothingNoted,
    /// Nobody said from which file a box is read.
    #[error("it is not known in which file {0} is declared: name it once with --box")]
    NoBoxFile(String),
    /// The file of a box has become that of another.
    #[error("the file of {0} declares {1} by now: name the box with --box")]
    AnotherBox(String, String),
    /// No day is open.
    #[error("no day is open: begin one first")]
    NoDay,
    /// Somebody of the day has no open exam that this screen can go over to.
    #[error("number {number} has no open exam with this box")]
    NoOpenExam {
        /// The running number.
        number: u32,
    },
    /// A box with an `id` is perhaps one that is known by its name.
    #[error("{} has an id, and a box is known by the name {name}: start once with --box to say whether it is the same", file.display())]
    PerhapsKnown {
        /// The file.
        file: PathBuf,
        /// What the box is called.
        name: String,
    },
    /// The whole path of a file is not known.
    #[error("{}: {error}", file.display())]
    NoPath {
        /// The file.
        file: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// The record cannot be written in this form.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// The file cannot be written.
    #[error(transparent)]
    File(#[from] SaveFileError),
    /// The file that was named for a sheet cannot be written.
    #[error("{}", .0.where_it_is_typed())]
    SheetFile(SaveFileError),
    /// The sheet cannot be written in this form.
    #[error(transparent)]
    Sheet(#[from] TableError),
}

impl RecordError {
    /// Whether it could have been done, but for the logbook: whatever was typed after it was meant for another screen.
    pub fn is_not_kept(&self) -> bool {
        match self {
            Self::Step(step) => step.is_not_kept(),
            Self::Logbook(error) => !error.is_a_refusal_of_a_box() && !error.is_of_an_erased_exam(),
            Self::NoLogbook
            | Self::NoSuchExam { .. }
            | Self::NotClosed { .. }
            | Self::Elsewhere(_)
            | Self::NothingWritten { .. }
            | Self::NothingMeasured
            | Self::SameExam { .. }
            | Self::OpenElsewhere { .. }
            | Self::Box(_)
            | Self::BoxFile(_)
            | Self::NoSuchBox(_)
            | Self::NoBoxFile(_)
            | Self::NothingNoted
            | Self::NoDay
            | Self::NoOpenExam { .. }
            | Self::AnotherBox(..)
            | Self::PerhapsKnown { .. }
            | Self::NoPath { .. }
            | Self::Export(_)
            | Self::File(_)
            | Self::SheetFile(_)
            | Self::Sheet(_) => false,
        }
    }

    /// Whether the exam was erased, or is kept no longer.
    pub fn is_of_what_is_gone(&self) -> bool {
        match self {
            Self::Logbook(error) => error.is_of_an_erased_exam(),
            Self::Elsewhere(error) => error.is_of_what_is_gone(),
            _ => false,
        }
    }
}
