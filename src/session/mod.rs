//! The open exam, its claim on the box and its logbook as one value, [`Session`]: what the screen and the commands both hold.
//!
//! - [`open`]: [`Session`] itself, with the guide that follows the exam, and how it takes a [`step`];
//! - [`journal`]: where steps are saved before they count, and how earlier exams are reached;
//! - [`kept`]: the journal in a logbook, with the claim on the box;
//! - [`beginning`]: with which exam to begin, and how another one begins; [`procedures`]: how an exam goes on that another
//!   version of the guide's procedures has led;
//! - [`records`]: earlier exams as they are listed and read; [`writing`]: how records are written;
//! - [`known`]: a box with what the logbook knows of it; [`fresh`]: box and frame for the exam after this one;
//! - [`practising`]: exams of practice eyes, kept apart;
//! - [`meanwhile`]: what happened to the box while an exam was not open; [`box_now`], `boxes_kept`: boxes for
//!   whoever keeps them; `in_memory`: the journal that keeps nothing;
//! - [`erasing`]: exams that two people of a room had erased;
//! - [`error`]: what can be refused; [`note`]: what has to be said although nothing is.
//!
//! The clock is read here and handed down; nothing is printed, and nothing ends the program.

pub mod beginning;
pub mod box_now;
mod boxes_kept;
mod day_in_memory;
mod day_kept;
pub mod days;
mod drilling;
pub mod erasing;
pub mod error;
pub mod fresh;
pub mod glasses;
mod in_memory;
pub mod journal;
pub mod kept;
pub mod known;
pub mod meanwhile;
pub mod note;
pub mod open;
pub mod practising;
pub mod procedures;
pub mod records;
pub mod step;
pub mod writing;

pub use beginning::{BeginError, Beginning, Begun};
pub use box_now::{BagOut, BoxKnown, BoxNow, BoxOnRecord, Happened, LastCount, NotSettled, OnLoan, ToNote};
pub use days::DayNow;
pub use drilling::{DrillSitting, DrilledSoFar};
pub use error::{RecordError, SaveError, StepError};
pub use in_memory::InMemory;
pub use journal::Journal;
pub use kept::KeptExam;
pub use known::KnownBox;
pub use note::Note;
pub use open::Session;
pub use records::{ExamLine, ListedExam, ListedExams, OpenedRecord};
pub use step::Step;
pub use writing::Writing;
