//! Pages that stand in the place of the eyes: the details of an exam, and earlier exams.

use super::field::Field;
use crate::exam::Through;
use crate::optics::Eye;
use crate::session::{ExamLine, OpenedRecord};

/// What stands in the place of the eyes.
#[derive(Debug, Clone, PartialEq)]
pub enum Page {
    /// The details of this exam; the chosen one of [`rows`].
    Details(usize),
    /// Earlier exams.
    Records(Records),
}

/// Earlier exams: the list, and the one that is open.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Records {
    /// The list, latest first.
    pub list: Vec<ExamLine>,
    /// The number of the exam on the screen.
    pub current: u64,
    /// The chosen line of the list.
    pub chosen: usize,
    /// The exam that is open to be read.
    pub open: Option<OpenedRecord>,
    /// The first line of it that is shown, as far as there are lines behind it.
    pub top: usize,
}

/// A question that a key must answer before anything is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Confirmation {
    /// Go on with the exam that was not closed?
    GoOn,
    /// Close the exam?
    Close,
    /// Close the exam before another begins?
    CloseBefore {
        /// The label of the other.
        label: String,
    },
}

/// A row of the details: one value, or one for each eye.
#[derive(Debug, Clone, Copy)]
pub enum DetailRow {
    /// One value.
    One(Field),
    /// One for each eye.
    Eyes(fn(Eye) -> Field),
}

impl DetailRow {
    /// What is typed into the row, for one of the eyes where it has two.
    pub fn field(self, eye: Eye) -> Field {
        match self {
            Self::One(field) => field,
            Self::Eyes(of) => of(eye),
        }
    }
}

const fn acuity(through: Through, eye: Eye) -> Field {
    Field::Acuity(through, Some(eye))
}

/// The rows, under their headings.
pub const GROUPS: [(&str, &[DetailRow]); 4] = [
    (
        "person",
        &[
            DetailRow::One(Field::Label),
            DetailRow::One(Field::Age),
            DetailRow::One(Field::Complaint),
            DetailRow::One(Field::DominantEye),
            DetailRow::Eyes(Field::EyePd),
            DetailRow::Eyes(Field::OldGlasses),
            DetailRow::One(Field::OldAddition),
        ],
    ),
    (
        "room and frame",
        &[
            DetailRow::Eyes(Field::FramePd),
            DetailRow::One(Field::PlannedVertex),
            DetailRow::One(Field::Chart),
            DetailRow::One(Field::Near),
            DetailRow::One(Field::Working),
        ],
    ),
    (
        "acuity",
        &[
            DetailRow::Eyes(|eye| acuity(Through::Unaided, eye)),
            DetailRow::Eyes(|eye| acuity(Through::Pinhole, eye)),
            DetailRow::Eyes(|eye| acuity(Through::OldGlasses, eye)),
            DetailRow::Eyes(|eye| acuity(Through::Frame, eye)),
            DetailRow::One(Field::Acuity(Through::Frame, None)),
        ],
    ),
    (
        "for the record",
        &[
            DetailRow::Eyes(Field::Accepted),
            DetailRow::Eyes(Field::Prism),
            DetailRow::One(Field::Addition),
            DetailRow::One(Field::ChartAllowance),
            DetailRow::One(Field::Note),
        ],
    ),
];

/// The rows in order, without the headings.
pub fn rows() -> impl Iterator<Item = DetailRow> {
    GROUPS.iter().flat_map(|(_, rows)| rows.iter().copied())
}

/// How many rows there are.
pub fn row_count() -> usize {
    rows().count()
}
