//! A box as it is now, for whoever keeps it: every piece in its place, what happened to each, and who has what.

use std::collections::HashMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::exam::Exam;
use crate::kit::stock_take::{Difference, Ending, LensCounted, differences};
use crate::kit::{BoxChange, Lens, OwnMarks, Piece, Place, Stock, StockedPiece, Tray, TrayRow};
use crate::logbook::StockOnRecord;
use crate::sheets::OfBox;

/// Something that happened to a piece of a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happened {
    /// On which day, here.
    pub day: Date,
    /// Who noted it, if that is known.
    pub by: Option<String>,
    /// What, in a word.
    pub event: &'static str,
    /// The lens.
    pub lens: Lens,
    /// The piece, where its number is known.
    pub piece: Option<Piece>,
    /// What it was held together with, in a look.
    pub with: Vec<Piece>,
    /// What more was said of it.
    pub says: Option<String>,
    /// What is to be remembered of it.
    pub note: Option<String>,
    /// Whether it was a slip.
    pub is_slip: bool,
    /// The other seat where it was noted, if it was noted there.
    pub seat: Option<String>,
}

impl Happened {
    /// A change of this day.
    pub fn of(change: &BoxChange, day: Date, by: Option<&str>) -> Self {
        Self {
            day,
            by: by.map(str::to_owned),
            event: change.word(),
            lens: change.lens().clone(),
            piece: change.piece(),
            with: change.pieces().into_iter().skip(1).collect(),
            says: change.details(),
            note: None,
            is_slip: false,
            seat: None,
        }
    }

    /// Whether it happened to a piece of this lens.
    pub fn is_about(&self, lens: &Lens) -> bool {
        self.lens == *lens || self.with.iter().any(|piece| piece.lens == *lens)
    }
}

/// A piece of which seats say different things.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotSettled {
    /// The piece.
    pub piece: Piece,
    /// What somebody has to say, in a few words.
    pub question: &'static str,
    /// Whether it is where the piece is; otherwise damage or power, which is noted once more.
    pub is_of_the_place: bool,
    /// What is said, each with where it was noted.
    pub said: Vec<String>,
}

/// A piece that somebody has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnLoan {
    /// The piece.
    pub piece: Piece,
    /// Who has it, if that was said.
    pub to: Option<String>,
    /// Since which day.
    pub since: Date,
    /// The day by which it should be back.
    pub until: Option<Date>,
}

impl OnLoan {
    /// How many days it is over on a day; none where it is not.
    pub fn days_over(&self, today: Date) -> Option<i32> {
        let days = |until: Date| today.since(until).map_or(0, |span| span.get_days());
        self.until.map(days).filter(|days| *days > 0)
    }
}

/// A stock-take that was noted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastCount {
    /// On which day.
    pub day: Date,
    /// What it found of each lens that it counted.
    pub count: Vec<LensCounted>,
}

impl LastCount {
    /// What another stock-take found otherwise.
    pub fn differences(&self, ending: &Ending) -> Vec<Difference> {
        differences(&self.count, &ending.count)
    }
}

/// A box as it is now.
#[derive(Debug, Clone, PartialEq)]
pub struct BoxNow {
    /// By what it is known, as it is kept.
    pub key: String,
    /// Its pieces; those before the eyes of the open exam stand there.
    pub stock: Stock,
    /// The rows in which it lies.
    pub tray: Vec<TrayRow>,
    /// Whether its file says how it lies.
    pub tray_is_declared: bool,
    /// What happened to its pieces, in the order in which it came here.
    pub happened: Vec<Happened>,
    /// How pieces are marked by their keeper.
    pub own_marks: OwnMarks,
    /// Lenses that were held together before a line, as they were noted and not taken back.
    pub looked: Vec<BoxChange>,
    /// What somebody has, by borrower.
    pub loans: Vec<OnLoan>,
    /// Of what seats say different things.
    pub unsettled: Vec<NotSettled>,
    /// Pieces that are where they are as another seat noted, with that seat.
    pub noted_at: HashMap<Piece, String>,
    /// The last stock-take.
    pub last_counted: Option<LastCount>,
    /// Whether a stock-take is begun and not ended.
    pub is_being_counted: bool,
    /// The day on which it was looked at.
    pub today: Date,
    /// Whether the open exam is made with it.
    pub is_of_the_exam: bool,
    /// What has to be said of it.
    pub notes: Vec<String>,
}

/// A box with all that was noted of it, for a sheet.
#[derive(Debug)]
pub struct BoxOnRecord {
    /// Its pieces, those before an eye in an open exam there, and what was noted.
    pub record: StockOnRecord,
    /// Its rows.
    pub tray: Tray,
    /// The day on which it was looked at.
    pub today: Date,
    /// Where days begin.
    pub zone: TimeZone,
    /// The file that declares it, in words.
    pub file: String,
}

impl BoxOnRecord {
    /// What a sheet is made of.
    pub fn of_box(&self) -> OfBox<'_> {
        let Self { record, tray, today, zone, file: _ } = self;
        OfBox { record, own_marks: record.own_marks(), tray, on: *today, zone: zone.clone() }
    }
}

/// A box in the list of all that are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxKnown {
    /// By what it is known, as it is kept.
    pub key: String,
    /// What people call it.
    pub name: String,
    /// The file from which it was last read.
    pub file: Option<String>,
    /// Whether the open exam is made with it.
    pub is_of_the_exam: bool,
}

/// A bag that goes out: a box of its own until it is back.
#[derive(Debug, Clone, PartialEq)]
pub struct BagOut {
    /// What it is called.
    pub name: String,
    /// What is in it.
    pub pieces: Vec<StockedPiece>,
    /// Who has it.
    pub to: String,
    /// The day by which it should be back.
    pub until: Option<Date>,
}

/// What is to be noted of a box, all of it or nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ToNote {
    /// What happened, in this order.
    pub changes: Vec<BoxChange>,
    /// What is to be remembered of it.
    pub note: Option<String>,
}

/// A box of the exam: what stands before an eye stands there, whatever other seats noted of it, and that is said.
pub fn of_the_exam(mut now: BoxNow, exam: &Exam) -> BoxNow {
    for stocked in exam.state().fitted.stock.before_eyes() {
        let piece = &stocked.piece;
        let noted_at = now.noted_at.remove(piece);
        let Some(there) = now.stock.get(piece).cloned() else { continue };
        let where_noted = match &noted_at {
            Some(seat) => format!("{}, noted at {seat}", there.place),
            None if there.place.is_in_two_places() => there.place.to_string(),
            None => continue,
        };
        let here = stocked.place.why_not_free().map(|place| place.to_string()).unwrap_or_default();
        now.notes.push(format!("{piece} is {here}, and {where_noted}: it counts here"));
        // it is there, as was just seen
        let _ = now.stock.put_back(&StockedPiece { place: Place::Box, ..there });
    }
    BoxNow { stock: with_the_frame_of(now.stock, exam), ..now }
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
