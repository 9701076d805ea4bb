//! A day of many people: values in, values out.
//!
//! - [`settings`]: what holds for everybody of the day; [`event`]: what can happen in a day;
//! - [`people`]: what the events add up to: who waits, who is in an exam, how long each took; [`calling`]: calling somebody in;
//! - [`shelf`]: the shelf of the day and what is left on it; [`ready_made`]: the pair of it that would serve somebody;
//! - [`list`]: the same with what their exams came to, as it is shown; [`figures`]: the running figures.
//!
//! No clock is read here: every time is handed in.

pub mod calling;
pub mod event;
pub mod figures;
pub mod list;
pub mod people;
pub mod ready_made;
pub mod settings;
pub mod shelf;

pub use calling::CalledIn;
pub use event::{Caller, DayEvent, NewPerson};
pub use figures::DayFigures;
pub use list::{DayLine, ExamOfPerson, PersonState};
pub use people::{Day, DayPerson, DayRefusal};
pub use ready_made::{Against, NotKnown, Offer, OfferedEye, Wearer, WearerEye};
pub use settings::DaySettings;
pub use shelf::{DayShelf, DayShelfLine, PairGiven, ShelfLeft};
