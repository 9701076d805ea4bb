//! An exam: the events that make it up and the state they add up to.
//!
//! - [`event`]: what can happen in an exam;
//! - [`answer`]: what can be answered to the guide;
//! - [`state`]: what the events add up to, and undo and redo over them;
//! - [`trail`]: everything tried so far.

pub mod answer;
pub mod event;
pub mod state;
pub mod trail;

pub use answer::{Answer, Given, GuideEvent, Procedure, Shown};
pub use event::{AcuityNote, Complaint, Detail, Event, Opening, Through};
pub use state::{Exam, ExamError, Person, State};
pub use trail::{Judgement, Tried};
