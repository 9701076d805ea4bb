//! Earlier exams one a line, and one exam in full with everything that was tried.

use unicode_width::UnicodeWidthStr;

use super::card::card;
use super::record::{EyeRecord, Record};
use super::words;
use crate::exam::{Judgement, Tried};

/// Exams one a line below a heading, in the order given.
pub fn list(records: &[Record]) -> String {
    let heading = ["exam", "began", "label", "right eye", "left eye", "addition", "", "box"].map(str::to_owned);
    let rows: Vec<[String; 8]> = std::iter::once(heading).chain(records.iter().map(row)).collect();
    table(&rows)
}

fn row(record: &Record) -> [String; 8] {
    let written = |eye: &EyeRecord| eye.written.map_or_else(|| "–".to_owned(), words::prescription);
    [
        record.exam.to_string(),
        record.opened.strftime("%Y-%m-%d %H:%M").to_string(),
        record.label.as_deref().map_or_else(|| "–".to_owned(), words::printable),
        written(&record.right),
        written(&record.left),
        record.addition.map_or_else(|| "–".to_owned(), words::signed),
        if record.draft { "draft" } else { "closed" }.to_owned(),
        words::printable(&record.box_name),
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
            words::figures(tried.power.into()),
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
fn table<const N: usize>(rows: &[[String; N]]) -> String {
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
