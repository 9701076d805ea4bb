//! A box as it is now, for whoever keeps it: every piece in its place, and what happened to each.

use jiff::civil::Date;

use crate::exam::Exam;
use crate::kit::{BoxChange, Stock};

/// Something that happened to a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Happened {
    /// On which day, here.
    pub day: Date,
    /// Who noted it, if that is known.
    pub by: Option<String>,
    /// What happened.
    pub change: BoxChange,
}

/// A box as it is now.
#[derive(Debug, Clone, PartialEq)]
pub struct BoxNow {
    /// By what it is known, as it is kept.
    pub key: String,
    /// Its pieces; those before the eyes of the open exam stand there.
    pub stock: Stock,
    /// What happened to them, in the order in which it came here.
    pub happened: Vec<Happened>,
    /// The day on which it was looked at.
    pub today: Date,
    /// Whether the open exam is made with it.
    pub is_of_the_exam: bool,
    /// What has to be said of it.
    pub notes: Vec<String>,
}

/// The pieces of a box, those that stand before an eye in an exam there.
///
/// A piece that went away although it stands there is where the box has it.
pub fn with_the_frame_of(mut stock: Stock, exam: &Exam) -> Stock {
    for stocked in exam.state().fitted.stock.before_eyes() {
        // what the box does not have in its place any more stays as the box has it
        let _ = stock.place(&stocked.piece, stocked.place.clone());
    }
    stock
}
