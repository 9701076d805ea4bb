//! Earlier exams one a line, and one exam in full with everything that was tried.

use unicode_width::UnicodeWidthStr;

use super::card::card;
use super::record::Record;
use super::words;
use crate::exam::{Judgement, Tried};
use crate::optics::Eyes;

/// One exam as lists show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExamLine {
    /// By what it is spoken of: its number, with the seat where that is another one.
    pub exam: String,
    /// When it began, to the minute, in the time zone of this computer.
    pub opened: String,
    /// Label or initials; empty when none was given.
    pub label: String,
    /// What the box is called.
    pub box_name: String,
    /// Whether the exam is closed: nothing but amendments is added to it then.
    pub closed: bool,
    /// What is written for each eye, right first; empty when nothing is.
    pub written: Eyes<String>,
    /// The addition; empty when there is none.
    pub addition: String,
    /// What the exam comes to; empty before the examiner chose.
    pub outcome: String,
}

/// Exams one a line below a heading, in the order given.
pub fn list(exams: &[ExamLine]) -> String {
    let heading =
        ["exam", "began", "label", "right eye", "left eye", "addition", "", "outcome", "box"].map(str::to_owned);
    let rows: Vec<[String; 9]> = std::iter::once(heading).chain(exams.iter().map(row)).collect();
    table(&rows)
}

fn row(exam: &ExamLine) -> [String; 9] {
    let or_dash = |text: &String| if text.is_empty() { "–".to_owned() } else { text.clone() };
    [
        exam.exam.clone(),
        exam.opened.clone(),
        or_dash(&words::isolated(&exam.label)),
        or_dash(&exam.written.right),
        or_dash(&exam.written.left),
        or_dash(&exam.addition),
        if exam.closed { "closed" } else { "draft" }.to_owned(),
        or_dash(&words::printable(&exam.outcome)),
        words::isolated(&exam.box_name),
    ]
}

/// One exam in full: its card, then its trail.
pub fn show(record: &Record, trail: &[Tried]) -> String {
    let mut text = card(record);
    if trail.is_empty() {
        return text;
    }
    let heading = ["", "eye", "power before it", "read", "than before", ""].map(str::to_owned);
    let rows = trail.iter().enumerate().map(|(index, tried)| {
        let judgement = tried.judgement.map_or("", |judgement| match judgement {
            Judgement::Better => "clearer",
            Judgement::Same => "the same",
            Judgement::Worse => "worse",
        });
        [
            (index + 1).to_string(),
            tried.eye.to_string(),
            words::figures(tried.power.into(), record.form),
            tried.acuity.map(|read| words::acuity(read, record.acuity_notation)).unwrap_or_default(),
            judgement.to_owned(),
            if tried.kept { "kept" } else { "" }.to_owned(),
        ]
    });
    let rows: Vec<[String; 6]> = std::iter::once(heading).chain(rows).collect();
    text.push_str("\nEverything tried, in order\n");
    text.push_str(&table(&rows));
    text
}

/// Columns as wide as their widest cell, two spaces apart.
pub fn table<const N: usize>(rows: &[[String; N]]) -> String {
    let widths: [usize; N] =
        std::array::from_fn(|column| rows.iter().map(|row| row[column].width()).max().unwrap_or_default());
    let line = |row: &[String; N]| {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(widths) {
            line.push_str(cell);
            line.push_str(&" ".repeat(width - cell.width() + 2));
        }
        line.trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}
