//! Earlier exams as they are listed and read.

use std::fmt;

use super::error::RecordError;
use super::writing::{Writing, exam_number};
use crate::exam::{Order, Outcome, OutcomeKind};
pub use crate::export::listing::ExamLine;
use crate::export::words;
use crate::logbook::parcels::others::{BareExam, Elsewhere};
use crate::logbook::{ExamSummary, Found, Indexed, Logbook, StoredExam};
use crate::optics::{Eye, Eyes};

/// An exam as the list of earlier exams has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ListedExam {
    /// One of this logbook, by its number.
    Own(u64),
    /// One of another seat: it is only read.
    Elsewhere(Elsewhere),
}

impl ListedExam {
    /// Whether it is one of this logbook.
    pub fn is_own(&self) -> bool {
        match self {
            Self::Own(_) => true,
            Self::Elsewhere(_) => false,
        }
    }
}

impl fmt::Display for ListedExam {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Own(number) => number.fmt(f),
            Self::Elsewhere(name) => name.fmt(f),
        }
    }
}

/// The earlier exams that were looked for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ListedExams {
    /// One's own, the latest first, then those of other seats, by seat.
    pub exams: Vec<ListedExam>,
    /// Why those of other seats are left out, where they cannot be read.
    pub others_left_out: Option<String>,
}

/// The record of one exam, to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenedRecord {
    /// The exam.
    pub exam: ListedExam,
    /// A closed exam is added to only by amendments.
    pub closed: bool,
    /// What was ordered by it, once it is closed and a power is written.
    pub order: Option<Box<Order>>,
    /// Whether glasses stand in it that came back.
    pub came_back: bool,
    /// Who else has it open; it can only be read then.
    pub held: Option<String>,
    /// The record as text.
    pub lines: Vec<String>,
}

/// One exam of a logbook by its number.
///
/// # Errors
/// [`RecordError::NoSuchExam`] with those that there are, or when it cannot be read.
pub fn stored_exam(logbook: &Logbook, exam: u64) -> Result<StoredExam, RecordError> {
    match logbook.read_exam(exam_number(exam)) {
        Err(error) if error.is_of_no_such_exam() => {
            let path = logbook.path().to_owned();
            let there = those_there(&logbook.index()?);
            Err(RecordError::NoSuchExam { path, exam, there })
        }
        read => Ok(read?),
    }
}

/// Which exams there are, in words: `it has exams 1 to 4 and 7`.
fn those_there(exams: &[Indexed]) -> String {
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for exam in exams.iter().rev() {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == exam.number.0 => *last = exam.number.0,
            _ => runs.push((exam.number.0, exam.number.0)),
        }
    }
    let words: Vec<String> = runs
        .iter()
        .map(|(first, last)| if first == last { first.to_string() } else { format!("{first} to {last}") })
        .collect();
    match words.as_slice() {
        [] => "it has no exam yet".to_owned(),
        [only] => format!("it has exam{} {only}", if exams.len() == 1 { "" } else { "s" }),
        [before @ .., last] => format!("it has exams {} and {last}", before.join(", ")),
    }
}

/// By what exams are searched: each word stands in the label, or is the number, or begins the seat of another (`lane3`, `lane3-14`), or the beginning of a date as lists write
/// it, `2026-03` or `2026-03-14`, or begins a word of the outcome.
#[derive(Debug, Default)]
pub struct Words(Vec<String>);

impl Words {
    /// The words of a search.
    pub fn of(search: &str) -> Self {
        Self(search.split_whitespace().map(str::to_lowercase).collect())
    }

    /// Whether an exam has them all.
    pub fn find(&self, exam: &Indexed, writing: &Writing) -> bool {
        let label = exam.label.as_deref().unwrap_or_default().to_lowercase();
        let began =
            || exam.opened.map(|at| writing.local(at).strftime("%Y-%m-%d %H:%M").to_string()).unwrap_or_default();
        let of_seat = exam.seat.as_ref().map(|seat| format!("{seat}-{}", exam.number).to_lowercase());
        let has = |word: &String| {
            // figures alone are a number, or of a label, until they are enough for a year
            let may_be_a_date = word.len() >= 4 && word.starts_with(|c: char| c.is_ascii_digit());
            label.contains(word.as_str())
                || *word == exam.number.to_string()
                || of_seat.as_ref().is_some_and(|of_seat| of_seat.starts_with(word.as_str()))
                || may_be_a_date && began().starts_with(word.as_str())
                || exam.outcome.as_ref().is_some_and(|outcome| self.is_in(outcome, word))
        };
        self.0.iter().all(has)
    }

    /// Whether a word begins one of an outcome. Who looks for glasses alone does not look for *no glasses needed*.
    fn is_in(&self, outcome: &Outcome, word: &str) -> bool {
        let only_without = outcome.kind() == OutcomeKind::NoGlasses && "glasses".starts_with(word);
        let asked = !only_without || self.0.iter().any(|other| other == "no");
        let written = outcome.to_string().to_lowercase();
        asked && written.split([' ', ',', '(', ')']).any(|of| of.starts_with(word))
    }
}

/// In place of a power that was found over something that stayed on: the record says it in full.
const OVER_WHAT_STAYS_ON: &str = "over what is worn";

/// In place of the label of a practice exam, which is of no person.
const OF_PRACTICE: &str = "PRACTICE";

/// In place of what is not known of an exam.
const NOT_KNOWN: &str = "–";

/// In place of the label of an exam that was erased, whose outcome is why it was.
const ERASED: &str = "erased";

/// A line of the list, by the name of the exam; what an unreadable exam has written is left empty.
pub fn line(exam: &ListedExam, summary: &ExamSummary, writing: &Writing) -> ExamLine {
    let found = summary.found.as_ref();
    // a bare figure would be taken for the whole power
    let of_eye = |found: &Found, eye: Eye| match (found.written[eye], found.over.is_some_and(|over| over[eye])) {
        (Some(_), true) => Some(OVER_WHAT_STAYS_ON.to_owned()),
        (written, _) => written.map(|written| words::prescription(writing.form().write(written))),
    };
    let written = found.map(|found| Eyes::from_fn(|eye| of_eye(found, eye)));
    ExamLine {
        exam: exam.to_string(),
        opened: writing.local(summary.opened).strftime("%Y-%m-%d %H:%M").to_string(),
        label: if summary.erased.is_some() {
            ERASED.to_owned()
        } else if found.is_some_and(|found| found.practice == Some(true)) {
            OF_PRACTICE.to_owned()
        } else {
            summary.label.as_deref().map(words::printable).unwrap_or_default()
        },
        box_name: words::printable(&summary.in_box.name),
        closed: summary.finished.is_some(),
        written: written.unwrap_or_default().map(Option::unwrap_or_default),
        addition: found.map(additions).unwrap_or_default(),
        outcome: match &summary.erased {
            Some(erasure) => words::printable(&erasure.to_string()),
            None => found.and_then(|found| found.outcome.as_ref()).map(ToString::to_string).unwrap_or_default(),
        },
    }
}

/// In place of the label of an exam that is kept no longer, and of its outcome.
const KEPT_NO_LONGER: [&str; 2] = ["not kept", "kept no longer"];

/// A line of the list for an exam of which no more than that it was is left.
pub fn bare_line(bare: &BareExam) -> ExamLine {
    let [label, outcome] = match &bare.erased {
        Some(erasure) => [ERASED.to_owned(), words::printable(&erasure.to_string())],
        None => KEPT_NO_LONGER.map(str::to_owned),
    };
    ExamLine {
        exam: bare.name.to_string(),
        opened: NOT_KNOWN.to_owned(),
        label,
        box_name: NOT_KNOWN.to_owned(),
        closed: true,
        written: Eyes::default(),
        addition: String::new(),
        outcome,
    }
}

/// The addition of both eyes, or the right and the left one where they differ.
fn additions(found: &Found) -> String {
    let left = found.addition_of_left.map(|left| format!("left {}", words::signed(left)));
    let parts: Vec<String> = found.addition.map(words::signed).into_iter().chain(left).collect();
    parts.join(", ")
}

/// A line for an exam whose own line cannot be read; opening it says why.
pub(super) fn unreadable_line(exam: &ListedExam) -> ExamLine {
    ExamLine {
        exam: exam.to_string(),
        opened: String::new(),
        label: "cannot be read".to_owned(),
        box_name: String::new(),
        closed: false,
        written: Eyes::default(),
        addition: String::new(),
        outcome: String::new(),
    }
}
