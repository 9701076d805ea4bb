//! Earlier exams, as the screen asks for them, and what a key asks of them beside steps of the exam.

use crate::optics::Eyes;
use std::path::PathBuf;

use thiserror::Error;

use super::settings::Form;
use crate::exam::Exam;
use crate::export::RecordForm;

/// Something asked of the archive that was not done, in words for the person at the screen.
#[derive(Debug, Error)]
#[error("{0}")]
pub struct NotDone(pub String);

/// One exam as the list shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number.
    pub exam: u64,
    /// When it began, to the minute, in the time zone of this computer.
    pub opened: String,
    /// Label or initials; empty when none was given.
    pub label: String,
    /// The box.
    pub box_name: String,
    /// Whether it is closed.
    pub closed: bool,
    /// What is written for each eye, right first; empty when nothing is.
    pub written: Eyes<String>,
    /// The addition; empty when there is none.
    pub addition: String,
}

/// The record of one exam, to be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// Its number.
    pub exam: u64,
    /// Whether it is closed.
    pub closed: bool,
    /// Who else has it open; it can only be read then.
    pub held: Option<String>,
    /// The record as text.
    pub lines: Vec<String>,
}

/// An exam that was begun.
#[derive(Debug)]
pub struct Begun {
    /// The exam.
    pub exam: Exam,
    /// What names it on the top line.
    pub heading: String,
}

/// Earlier exams. An exam is never edited here: it is read, exported, or amended.
pub trait Archive {
    /// The number of the exam on the screen.
    fn current(&self) -> u64;

    /// Every exam, the latest first, prescriptions in a form.
    ///
    /// # Errors
    /// When they cannot be read.
    fn list(&self, form: Form) -> Result<Vec<Line>, NotDone>;

    /// One exam to be read.
    ///
    /// # Errors
    /// When it cannot be read.
    fn read(&self, exam: u64, form: Form) -> Result<Opened, NotDone>;

    /// Adds to a closed exam other than the one on the screen.
    ///
    /// # Errors
    /// When it is open, open elsewhere, or cannot be written.
    fn amend(&mut self, exam: u64, text: &str) -> Result<(), NotDone>;

    /// Writes the record of an exam into a file of its own and tells its whole path.
    ///
    /// # Errors
    /// When it cannot be written.
    fn export(&self, exam: u64, form: Form, record_form: RecordForm) -> Result<PathBuf, NotDone>;

    /// Begins another exam with the same box and frame. The one before stays as it is.
    ///
    /// # Errors
    /// When it cannot be begun; the exam before goes on then.
    fn begin(&mut self) -> Result<Begun, NotDone>;
}

/// What a key asks beside a step of the exam.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    /// Show the list of exams.
    List,
    /// Show one exam.
    Read(u64),
    /// Add to a closed exam.
    Amend {
        /// Its number.
        exam: u64,
        /// What to add.
        text: String,
    },
    /// Write the record of an exam into a file.
    Export {
        /// Its number.
        exam: u64,
        /// In which form.
        form: RecordForm,
    },
    /// Begin another exam.
    Begin {
        /// Its label; none when empty.
        label: String,
    },
}
