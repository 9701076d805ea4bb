//! The logbook: one SQLite file that keeps exams and what happened to boxes, as events that are only ever added.
//!
//! - [`store`]: opening the file, and refusing what is not a sound logbook without touching it;
//! - `schema`: its tables, and how older files are brought up to date;
//! - [`exams`]: exams and their steps;
//! - [`boxes`]: what happened to the pieces of a box;
//! - [`claim`]: which program has which box open;
//! - [`last_used`]: the box and frame files to begin with next time;
//! - `disk`: what was committed goes on to the disk, against power cuts;
//! - `row`: how an event is written into a row and read back;
//! - [`error`]: everything that can go wrong, in words.
//!
//! A step is in the file before [`Logbook::append`] returns, and the exam in memory changes only after that: what the
//! screen shows is always in the file. No clock is read here: every time is handed in.

pub mod boxes;
pub mod claim;
mod disk;
pub mod error;
pub mod exams;
pub mod last_used;
mod row;
mod schema;
pub mod store;

pub use boxes::{RefusedChange, StockOnRecord, StoredBoxChange};
pub use claim::{BoxClaim, Holder};
pub use error::LogbookError;
pub use exams::{ExamId, ExamSummary, StoredExam, StoredStep};
pub use last_used::LastUsed;
pub use store::Logbook;
