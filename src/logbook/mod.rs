//! The logbook: what keeps exams and what happened to boxes, as events that are only ever added.
//!
//! - [`store`]: opening, checking and copying one;
//! - [`exams`]: exams and their steps; `beginning`: how they began; [`summary`]: the list of them;
//! - [`boxes`]: what happened to the pieces of a box; [`happened`]: how that is kept; [`noting`]: how it is noted and taken back;
//!   [`history`]: what is known of a piece from it; [`counting`]: stock-takes;
//!   [`frames`]: which of them stand before an eye; `applied`: what of it a box already has in it;
//! - [`from_others`]: what other seats say of it; [`told`]: what all together say, and what somebody has to settle;
//!   `handing_over`: a box that goes out to another seat;
//! - [`parcels`]: what is carried to other seats in files, and what was read of theirs;
//! - [`days`]: days of many people;
//! - [`erasing`]: exams that were erased;
//! - [`claim`]: which program has which box open;
//! - [`last_used`]: the box and frame files to begin with next time;
//! - [`names`]: by what exams, boxes and their holders are called;
//! - `engine`: what is asked of the engine that stores it all; `sqlite`: the first, one file;
//! - `row`: how an event is written into a row and read back; `once`: how a step is, what is shown only once; `files`: the file and its companions;
//! - [`network`]: whether its folder is on another computer;
//! - [`error`]: everything that can go wrong, in words.
//!
//! A step is in the file before [`Logbook::append`] returns; only then does the exam accept it, so that what the screen
//! shows is always in the file. No clock is read here: every time is handed in, and nothing is ordered by one.

mod applied;
pub mod bags;
mod beginning;
pub mod boxes;
pub mod claim;
pub mod counting;
pub mod days;
pub mod drills;
mod engine;
pub mod erasing;
pub mod error;
pub mod exams;
mod files;
pub mod frames;
pub mod from_others;
mod handing_over;
pub mod happened;
pub mod history;
pub mod last_used;
pub mod names;
pub mod network;
pub mod noting;
mod once;
pub mod parcels;
mod row;
mod sqlite;
pub mod store;
pub mod summary;
pub mod told;

pub use bags::{OfBag, about_bag, goes_out};
pub use beginning::{BEFORE_VERSIONS, Beginning};
pub use boxes::{ChangesSince, Later, RefusedChange, SameId, StockOnRecord};
pub use claim::BoxClaim;
pub use counting::KeptStockTake;
pub use days::{DayEntry, DayOnRecord, ExamInDay, StoredDayEntry};
pub use drills::{DrillEntry, Drilled};
pub use engine::{EntryRow, ParcelRows, SpokenRow, StepRow, WriterRow};
pub use erasing::ErasedHere;
pub use error::{FileError, LogbookError};
pub use exams::{BeganWith, OpenExam, StoredExam, StoredStep};
pub use frames::BeforeAnEye;
pub use from_others::{FromOthers, FromSeat};
pub use happened::{BoxEntries, BoxEntry, EntryRef, StoredBoxChange, StoredBoxEntry};
pub use history::{HistoryLine, Loan, MeasuredAt, PieceKnown};
pub use last_used::LastUsed;
pub use names::{BoxKey, DayId, ExamId, ExamNumber, Holder, NamedBox, SittingId};
pub use noting::{NewChanges, Noted, TakenBack};
pub use parcels::live::LiveExam;
pub use row::Stored;
pub use sqlite::{Ground, SendOn};
pub use store::Logbook;
pub use summary::{ExamList, ExamSummary, Found, Indexed, PassedOver};
pub use told::{HandedOver, SaidOfPiece, Unsettled, settled_at};
